//! Shapes piled on one another by the hundred: which of them show, and what hides the rest.
//!
//! To unite all that lies over each shape of a pile takes time with the square of its height, mostly for crossings far from
//! the shape. So covers are taken from a shape one by one, the largest first, each cut to a rectangle about the shape, and
//! only those that meet what is left: most shapes of a pile are gone after a few. Shapes are looked at from the top down,
//! and what is found to be hidden needs not be asked for what it hides: that lies under what hides it.
//!
//! Time: for each shape O(k log k) for the k covers about it that show themselves, and one difference for each that
//! takes something from it, [`MOST_TAKEN`] at most.

use super::{Covers, Entry, HAIR, SEAM, box_of, opened, rim};
use laidwork_geometry::{Region, Ring, TurnedRect, clip_ring_turned, smallest_rectangle};
use laidwork_plan::{Point, Rect};
use rayon::prelude::*;
use rstar::RTree;
use std::f64::consts::PI;

/// A shape under more polygons than this lies in a pile.
pub(super) const MANY: usize = 48;

/// So many shapes of a drawing are looked at side by side.
const SIDE_BY_SIDE: usize = 64;

/// So many covers are put in order by what they hide at once.
const AT_ONCE: usize = 64;

/// Covers taken from one shape at most.
const MOST_TAKEN: usize = 512;

/// A cover hides more than this, mm².
const LEAST: f64 = 1e-4;

/// Covers are cut to a rectangle so much larger than the shape, mm: more than stitches reach beyond it.
const ABOUT: f64 = 2.0;

/// ... and each to one so much larger than the last, mm: rings cut along one line, which runs beside the grid of
/// coordinates, would cross each other there again and again.
const APART: f64 = 0.01;

/// What hides a shape.
#[derive(Clone, Debug)]
pub(super) enum Above {
    /// Not told: the shape lies under few others, or stays whole.
    Few,
    /// These hide some of it, in drawing order; no others do.
    Some(Vec<(usize, usize)>),
    /// All of it is hidden.
    All,
}

/// What hides each shape that lies in a pile.
pub(super) fn piles(covers: &Covers<'_>) -> Vec<Above> {
    let count = covers.shapes.len();
    let is_piled = |i: usize| covers.shapes[i].may_be_cut && covers.about(i).take(MANY + 1).count() > MANY;
    let piled: Vec<bool> = (0..count).into_par_iter().map(is_piled).collect();
    let mut above = vec![Above::Few; count];
    if !piled.contains(&true) {
        return above;
    }
    let mut showing: RTree<Entry> = RTree::new();
    for from in (0..count).step_by(SIDE_BY_SIDE).rev() {
        let block = from..(from + SIDE_BY_SIDE).min(count);
        block.clone().flat_map(|i| covers.entries(i)).for_each(|entry| showing.insert(entry));
        let found =
            block.clone().into_par_iter().map(|i| if piled[i] { hidden_by(covers, &showing, i) } else { Above::Few });
        let found: Vec<Above> = found.collect();
        for (i, found) in block.zip(found) {
            if matches!(found, Above::All) {
                covers.entries(i).for_each(|entry| {
                    showing.remove(&entry);
                });
            }
            above[i] = found;
        }
    }
    above
}

fn hidden_by(covers: &Covers<'_>, showing: &RTree<Entry>, i: usize) -> Above {
    let shape = &covers.shapes[i];
    let (Some(bounds), Some(frame)) = (shape.region.bounds().filter(|b| b.is_finite()), frame(&shape.region, ABOUT))
    else {
        return Above::Few;
    };
    let found = showing.locate_in_envelope_intersecting(box_of(bounds, i + 1)).map(|entry| entry.data);
    let mut found: Vec<(f64, (usize, usize))> = found.map(|cover| (covers.area_within(cover, bounds), cover)).collect();
    found.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut rest = Rest::new(shape.region.clone());
    let mut taken = Vec::new();
    'looking: for found in found.chunks(AT_ONCE) {
        let cut = |&(_, cover): &(f64, (usize, usize))| {
            let polygon = covers.polygon(cover)?;
            if !rest.meets(polygon.bounds()?) {
                return None;
            }
            let rings = polygon.rings().map(|ring| clip_ring_turned(ring, &frame));
            let rings: Vec<Ring> = rings.filter(|ring| ring.points.len() > 2).collect();
            let area: f64 = rings.iter().map(Ring::signed_area).sum();
            (area > LEAST).then_some((area, cover, rings))
        };
        let mut near: Vec<(f64, (usize, usize), Vec<Ring>)> = found.iter().filter_map(cut).collect();
        near.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        for (_, cover, rings) in near {
            if taken.len() >= MOST_TAKEN {
                break 'looking;
            }
            if rest.take(&rings) {
                taken.push(cover);
            }
            if rest.region.is_empty() {
                return Above::All;
            }
        }
    }
    if opened(&rest.region, HAIR).is_empty() {
        return Above::All;
    }
    taken.sort_unstable();
    Above::Some(taken)
}

/// What shows of a shape, as far as is known.
struct Rest {
    region: Region,
    bounds: Vec<Rect>,
    area: f64,
}

impl Rest {
    /// Pieces too small to hold a disc of [`HAIR`] are left out.
    fn new(mut region: Region) -> Rest {
        region.polygons.retain(|polygon| polygon.area() >= PI * HAIR * HAIR / 4.0);
        let bounds = region.polygons.iter().filter_map(laidwork_geometry::Polygon::bounds).collect();
        Rest { bounds, area: region.area(), region }
    }

    fn meets(&self, bounds: Rect) -> bool {
        self.bounds.iter().any(|own| own.overlaps(bounds))
    }

    /// Takes away what `rings` hide; `false` where that is nothing.
    fn take(&mut self, rings: &[Ring]) -> bool {
        let bounds = rings.iter().filter_map(Ring::bounds).reduce(|a, b| a.union(b));
        if !bounds.is_some_and(|bounds| self.meets(bounds)) {
            return false;
        }
        let left = Rest::new(self.region.without(rings));
        let some = left.area < self.area - LEAST;
        if some {
            *self = left;
        }
        some
    }
}

/// The rectangle that covers of `region` are cut to, `more` mm larger than it is.
fn frame(region: &Region, more: f64) -> Option<TurnedRect> {
    let corners: Vec<Point> = region.polygons.iter().flat_map(|polygon| polygon.outer.points.iter().copied()).collect();
    Some(smallest_rectangle(&corners)?.inflate(more))
}

impl Covers<'_> {
    /// The rings of `above` cut to what lies about shape `i`.
    pub(super) fn about_shape<'b>(&self, i: usize, rings: impl Iterator<Item = &'b Ring>) -> Vec<Ring> {
        let shape = &self.shapes[i];
        match frame(&shape.region, rim(shape).max(SEAM) + ABOUT) {
            Some(frame) => {
                let cut = |(k, ring): (usize, &Ring)| clip_ring_turned(ring, &frame.inflate(APART * k as f64));
                rings.enumerate().map(cut).filter(|ring| ring.points.len() > 2).collect()
            }
            None => rings.cloned().collect(),
        }
    }
}
