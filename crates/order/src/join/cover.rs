//! Ways that hide: travel under what is sewn later.
//!
//! Method: the covers sewn later about the gap are united, and the shortest way
//! inside the union is taken ([`Walker`]). Both ends may lie a little outside
//! ([`MAY_SHOW`]): a sewn thread is about as wide as that. Where the straight
//! way is hidden anyway, nothing is united.
//!
//! Time: O(log n) for a gap with nothing over it; else that of uniting the
//! covers about it, which neighbouring gaps under the same covers share.

use super::UnjoinedPiece;
use laidwork_geometry::{FillRule, Locator, Polygon, Region, Ring, Walker, clip_ring};
use laidwork_plan::{Point, Rect};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

/// A straight way is looked at every so many mm.
const STEP: f64 = 0.1;

/// This much of a way may show at its ends, mm: about the width of a sewn
/// thread, and half the width of a gap between neighbours.
const MAY_SHOW: f64 = 0.5;

/// Of covers with more edges than this only what lies about the gap is united.
const MANY_EDGES: usize = 10_000;

/// Covers with more edges than this about one gap are not united.
const MOST_EDGES: usize = 50_000;

type Entry = GeomWithData<Rectangle<[f64; 2]>, usize>;

/// The covers of all pieces, indexed by place.
pub(super) struct Cover<'a> {
    pieces: &'a [UnjoinedPiece],
    locators: Vec<Option<Locator>>,
    index: RTree<Entry>,
    united: Option<United>,
}

/// Covers that were united for a gap.
struct United {
    covers: Vec<usize>,
    parts: Vec<(Polygon, Option<Walker>)>,
}

impl<'a> Cover<'a> {
    pub(super) fn new(pieces: &'a [UnjoinedPiece]) -> Cover<'a> {
        let entry = |(i, piece): (usize, &UnjoinedPiece)| {
            let b = piece.cover.bounds().filter(|b| b.is_finite())?;
            Some(Entry::new(Rectangle::from_corners([b.x0, b.y0], [b.x1, b.y1]), i))
        };
        let index = RTree::bulk_load(pieces.iter().enumerate().filter_map(entry).collect());
        Cover { pieces, locators: pieces.iter().map(|_| None).collect(), index, united: None }
    }

    /// The shortest way between two points hidden by piece `first` and those
    /// after it, both ends included, unless it is longer than `longest` mm.
    pub(super) fn way(&mut self, from: Point, to: Point, first: usize, longest: f64) -> Option<Vec<Point>> {
        if from.distance(to) > longest {
            return None;
        }
        let at_start = self.later(Rect::from_points(from, from).inflate(MAY_SHOW, MAY_SHOW), first);
        let at_end = self.later(Rect::from_points(to, to).inflate(MAY_SHOW, MAY_SHOW), first);
        if !self.any_near(&at_start, from) || !self.any_near(&at_end, to) {
            return None;
        }
        let straight = Rect::from_points(from, to).inflate(MAY_SHOW, MAY_SHOW);
        let over = self.later(straight, first);
        if self.hides_straight(&over, from, to) {
            return Some(vec![from, to]);
        }
        // A way around something is seldom much wider than the gap.
        let room = from.distance(to) / 2.0 + 5.0;
        let about = straight.inflate(room, room);
        let covers = self.later(about, first);
        let way = self.way_under(covers, about, from, to)?;
        let length: f64 = way.iter().zip(way.iter().skip(1)).map(|(a, b)| a.distance(*b)).sum();
        (length <= longest).then_some(way)
    }

    /// Pieces from `first` on whose covers may reach into `bounds`.
    fn later(&self, bounds: Rect, first: usize) -> Vec<usize> {
        let envelope = AABB::from_corners([bounds.x0, bounds.y0], [bounds.x1, bounds.y1]);
        let found = self.index.locate_in_envelope_intersecting(envelope).map(|entry| entry.data);
        let mut later: Vec<usize> = found.filter(|&piece| piece >= first).collect();
        later.sort_unstable();
        later
    }

    fn locator(&mut self, piece: usize) -> Option<&Locator> {
        let cover = &self.pieces.get(piece)?.cover;
        Some(self.locators.get_mut(piece)?.get_or_insert_with(|| Locator::new(cover)))
    }

    fn any_near(&mut self, covers: &[usize], point: Point) -> bool {
        covers.iter().any(|&piece| self.locator(piece).is_some_and(|locator| locator.is_within(point, MAY_SHOW)))
    }

    fn hides_straight(&mut self, covers: &[usize], from: Point, to: Point) -> bool {
        let steps = (from.distance(to) / STEP).ceil().max(1.0);
        let mut shown = 0.0;
        for k in 0..=steps as usize {
            let at = from.lerp(to, k as f64 / steps);
            let hidden = covers.iter().any(|&piece| self.locator(piece).is_some_and(|locator| locator.contains(at)));
            shown = if hidden { 0.0 } else { shown + STEP };
            if shown > MAY_SHOW {
                return false;
            }
        }
        true
    }

    /// The shortest way inside the union of `covers`; where they have many edges, inside what of it lies in `about`.
    fn way_under(&mut self, covers: Vec<usize>, about: Rect, from: Point, to: Point) -> Option<Vec<Point>> {
        let covered = covers.iter().filter_map(|&piece| self.pieces.get(piece));
        let edges: usize = covered.map(|piece| edges(&piece.cover)).sum();
        let mut local = None;
        let parts = if edges > MANY_EDGES {
            local.insert(united(self.pieces, &covers, Some(about))?)
        } else {
            if self.united.as_ref().is_none_or(|united| united.covers != covers) {
                self.united = Some(United { parts: united(self.pieces, &covers, None)?, covers });
            }
            &mut self.united.as_mut()?.parts
        };
        let near = |polygon: &Polygon, point: Point| {
            polygon.bounds().is_some_and(|bounds| bounds.inflate(MAY_SHOW, MAY_SHOW).contains(point))
        };
        for (polygon, walker) in parts.iter_mut().filter(|part| near(&part.0, from) && near(&part.0, to)) {
            let walker = walker.get_or_insert_with(|| Walker::new(polygon));
            let is_off = |point: Point| walker.snap(point).distance(point) > MAY_SHOW;
            if !walker.has_ground() || is_off(from) || is_off(to) {
                continue;
            }
            if let Some(mut way) = walker.try_path(from, to) {
                way.insert(0, from);
                way.push(to);
                return Some(way);
            }
        }
        None
    }
}

/// How many edges a region has.
fn edges(region: &Region) -> usize {
    region.rings().map(|ring| ring.points.len()).sum()
}

/// The connected parts of a union of covers, or of what of it lies in `about`; `None` when it would take too long.
fn united(pieces: &[UnjoinedPiece], covers: &[usize], about: Option<Rect>) -> Option<Vec<(Polygon, Option<Walker>)>> {
    let covers = covers.iter().filter_map(|&piece| pieces.get(piece)).map(|piece| &piece.cover);
    let rings = covers.flat_map(Region::rings);
    let rings: Vec<Ring> = match about {
        Some(about) => {
            let near = rings.filter(|ring| ring.bounds().is_some_and(|bounds| bounds.overlaps(about)));
            near.map(|ring| clip_ring(ring.clone(), about)).collect()
        }
        None => rings.cloned().collect(),
    };
    if rings.iter().map(|ring| ring.points.len()).sum::<usize>() > MOST_EDGES {
        return None;
    }
    let union = Region::from_rings(&rings, FillRule::NonZero);
    Some(union.polygons.into_iter().map(|polygon| (polygon, None)).collect())
}
