//! Knock-out: what a later shape hides is not sewn.
//!
//! Method: what all covers hide together is shrunk by the overlap, and what lies
//! under it is taken from the shapes before them. So nothing is left under the
//! edge of a cover that lies on another one. Covers that overlap each other by
//! less than twice [`SEAM`] are shrunk each for itself: their edges may part.
//! A cover narrower than twice the
//! overlap shrinks to nothing, so outlines and thin strokes cut nothing. Of what
//! is left of a shape, parts that do not show anywhere are dropped; parts that
//! show and were cut too thin to sew get back what was taken beside them.
//!
//! No gap opens: what is taken from a shape lies under covers, at least the
//! overlap inside the outline of what they hide together and [`SEAM`] inside that
//! of one of them, and a part is dropped only where all of it that shows is
//! thinner than [`HAIR`].
//!
//! Defects handled: shapes in any number above each other, shapes hidden
//! whole, covers that meet along a line, slivers.
//!
//! Time: O(n log n) to find neighbours, and for every shape one clipping of its
//! outline with the covers that meet its bounds, shapes side by side. Where covers are stacked deeper
//! than [`DEEPEST`], only the largest of them cut, and a shape under more than
//! [`MOST_EDGES`] edges stays whole: that costs thread, not coverage.

use laidwork_geometry::{FillRule, Join, Polygon, Region, Ring};
use laidwork_plan::Rect;
use rayon::prelude::*;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};
use std::cmp::Ordering;

/// Parts thinner than this are not left over by a cut, mm: a column or fill of
/// less width cannot be sewn well. Common practice, no source.
pub const THINNEST: f64 = 0.8;

/// What shows no wider than this does not count as showing, mm: a sewn thread is 0.3 wide.
pub const HAIR: f64 = 0.05;

/// Covers that overlap by twice as much hide as one, mm: more than pulled fabric lays bare between them.
/// Common practice, no source.
pub const SEAM: f64 = 0.3;

/// Layers of covers that cut one shape at most, the largest first.
pub const DEEPEST: f64 = 6.0;

/// Edges of covers that one shape is clipped with at most, and all shapes of a
/// drawing together five times as many.
pub const MOST_EDGES: usize = 200_000;

/// Thin parts smaller than this are the tips of corners, mm².
const TIP: f64 = 0.3;

/// Arcs of offsets are this exact, mm.
const TOLERANCE: f64 = 0.02;

/// A shape as knock-out sees it; shapes come in drawing order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CoverShape {
    /// What it is drawn over, mm.
    pub region: Region,
    /// Whether its stitches hide what lies under them (fills and columns do,
    /// runs and open rows do not).
    pub hides: bool,
    /// Whether what later shapes hide of it may be taken away.
    pub may_be_cut: bool,
    /// How far what is left reaches under what hides it, mm.
    pub overlap: f64,
}

/// What is left of a shape.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cut {
    /// What is to be sewn, mm. Empty where nothing of the shape shows.
    pub region: Region,
    /// What hides parts of it: under this lie only rims. Empty where nothing was to be cut.
    pub hidden_by: Region,
}

/// What to sew of each shape: what later shapes hide taken away, but for a rim
/// under their outlines.
pub fn knock_out(shapes: &[CoverShape]) -> Vec<Cut> {
    let mut covers = Covers::new(shapes);
    let asked: Vec<(Vec<(usize, usize)>, usize)> = shapes
        .par_iter()
        .enumerate()
        .map(|(i, shape)| {
            let above = if shape.may_be_cut { covers.above(i, &shape.region) } else { Vec::new() };
            let edges = above.iter().map(|&cover| covers.edges(cover)).sum();
            (above, edges)
        })
        .collect();
    let mut edges_left = 5 * MOST_EDGES;
    let mut cut_by = |(above, edges): (Vec<(usize, usize)>, usize)| {
        if edges > MOST_EDGES.min(edges_left) {
            return Vec::new();
        }
        edges_left -= edges;
        above
    };
    let cut_by: Vec<Vec<(usize, usize)>> = asked.into_iter().map(&mut cut_by).collect();
    covers.shrink(&cut_by);
    let cut = |(shape, above): (&CoverShape, &Vec<(usize, usize)>)| match above.as_slice() {
        [] => Cut { region: shape.region.clone(), hidden_by: Region::default() },
        above => covers.cut(&shape.region, above, rim(shape)),
    };
    shapes.par_iter().zip(&cut_by).map(cut).collect()
}

/// The rim of a shape under what hides it, mm.
fn rim(shape: &CoverShape) -> f64 {
    if shape.overlap.is_finite() { shape.overlap.max(0.0) } else { 1.0 }
}

type Entry = GeomWithData<Rectangle<[f64; 2]>, (usize, usize)>;

/// The polygons of all shapes that hide others.
struct Covers<'a> {
    shapes: &'a [CoverShape],
    /// The area and bounds of every polygon of those that hide others.
    sizes: Vec<Vec<(f64, Option<Rect>)>>,
    /// Shapes made smaller, by how much and their index; those that cut something.
    shrunk: Vec<((f64, usize), Region)>,
    index: RTree<Entry>,
}

impl<'a> Covers<'a> {
    fn new(shapes: &'a [CoverShape]) -> Covers<'a> {
        let size = |polygon: &Polygon| (polygon.area(), polygon.bounds());
        let of_shape = |shape: &CoverShape| match shape.hides {
            true => shape.region.polygons.iter().map(size).collect(),
            false => Vec::new(),
        };
        let sizes: Vec<Vec<(f64, Option<Rect>)>> = shapes.par_iter().map(of_shape).collect();
        let mut entries = Vec::new();
        for (i, sizes) in sizes.iter().enumerate() {
            for (k, (_, bounds)) in sizes.iter().enumerate() {
                if let Some(b) = bounds.filter(|b| b.is_finite()) {
                    entries.push(GeomWithData::new(Rectangle::from_corners([b.x0, b.y0], [b.x1, b.y1]), (i, k)));
                }
            }
        }
        Covers { shapes, sizes, shrunk: Vec::new(), index: RTree::bulk_load(entries) }
    }

    /// Makes the shapes that each is cut by smaller, as the rim it asks for needs it.
    fn shrink(&mut self, cut_by: &[Vec<(usize, usize)>]) {
        let asked = self.shapes.iter().zip(cut_by);
        let mut rims: Vec<(f64, usize)> = asked
            .flat_map(|(shape, above)| {
                let rim = rim(shape);
                above.iter().map(move |cover| (rim.min(SEAM), cover.0))
            })
            .collect();
        rims.sort_by(by_rim);
        rims.dedup_by(|a, b| by_rim(a, b).is_eq());
        let shrink = |(rim, shape): (f64, usize)| {
            let region = self.shapes.get(shape).map(|shape| &shape.region);
            let shrunk = region.map(|region| region.offset(-rim, Join::Round { tolerance: TOLERANCE }));
            ((rim, shape), shrunk.unwrap_or_default())
        };
        self.shrunk = rims.into_par_iter().map(shrink).collect();
    }

    /// A shape made smaller by `rim`.
    fn shrunk(&self, rim: f64, shape: usize) -> Option<&Region> {
        let found = self.shrunk.binary_search_by(|(key, _)| by_rim(key, &(rim, shape)));
        Some(&self.shrunk.get(found.ok()?)?.1)
    }

    /// The polygons (shape, polygon) after shape `i` that its bounds meet, in drawing order.
    fn above(&self, i: usize, region: &Region) -> Vec<(usize, usize)> {
        let Some(bounds) = region.bounds().filter(|b| b.is_finite()) else { return Vec::new() };
        let envelope = AABB::from_corners([bounds.x0, bounds.y0], [bounds.x1, bounds.y1]);
        let found = self.index.locate_in_envelope_intersecting(envelope).map(|entry| entry.data);
        let mut above: Vec<(f64, (usize, usize))> =
            found.filter(|cover| cover.0 > i).map(|cover| (self.area_within(cover, bounds), cover)).collect();
        above.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let mut left = DEEPEST * bounds.area();
        above.retain(|(area, _)| {
            left -= area;
            left >= 0.0
        });
        let mut above: Vec<(usize, usize)> = above.into_iter().map(|(_, cover)| cover).collect();
        above.sort_unstable();
        above
    }

    /// At most how much of `bounds` a cover takes up, mm².
    fn area_within(&self, (shape, polygon): (usize, usize), bounds: Rect) -> f64 {
        let size = self.sizes.get(shape).and_then(|sizes| sizes.get(polygon));
        size.map_or(0.0, |(area, own)| area.min(own.map_or(0.0, |own| own.intersect(bounds).area())))
    }

    fn polygon(&self, (shape, polygon): (usize, usize)) -> Option<&Polygon> {
        self.shapes.get(shape)?.region.polygons.get(polygon)
    }

    fn edges(&self, cover: (usize, usize)) -> usize {
        self.polygon(cover).map_or(0, |polygon| polygon.rings().map(|ring| ring.points.len()).sum())
    }

    /// `region` without what the polygons `above` hide of it, but for a rim.
    fn cut(&self, region: &Region, above: &[(usize, usize)], rim: f64) -> Cut {
        let over = above.iter().filter_map(|&cover| self.polygon(cover)).flat_map(Polygon::rings);
        let hidden_by = joined(over, region);
        let region = self.without(region, &hidden_by, above, rim);
        Cut { region, hidden_by }
    }

    fn without(&self, region: &Region, hidden_by: &Region, above: &[(usize, usize)], rim: f64) -> Region {
        let mut covers: Vec<usize> = above.iter().map(|cover| cover.0).collect();
        covers.dedup();
        let seam = rim.min(SEAM);
        let hidden = covers.iter().filter_map(|&shape| self.shrunk(seam, shape)).flat_map(Region::rings);
        let hidden = joined_within(hidden, region, rim);
        let hidden = hidden.offset(seam - rim, Join::Round { tolerance: TOLERANCE });
        if hidden.is_empty() {
            return region.clone();
        }
        let kept = region.difference(&hidden);
        let visible = opened(&region.difference(hidden_by), HAIR);
        without_slivers(region, &kept, &visible)
    }
}

/// The order of [`Covers::shrunk`].
fn by_rim(a: &(f64, usize), b: &(f64, usize)) -> Ordering {
    a.0.total_cmp(&b.0).then(a.1.cmp(&b.1))
}

/// The union of those of `rings` that meet the bounds of `region`.
fn joined<'a>(rings: impl Iterator<Item = &'a Ring>, region: &Region) -> Region {
    joined_within(rings, region, 0.0)
}

/// The union of those of `rings` that meet the bounds of `region` or are as near to them as `reach`.
fn joined_within<'a>(rings: impl Iterator<Item = &'a Ring>, region: &Region, reach: f64) -> Region {
    let Some(bounds) = region.bounds().map(|b| b.inflate(reach, reach)) else { return Region::default() };
    let meets = |ring: &&Ring| ring.bounds().is_some_and(|b| b.overlaps(bounds));
    let rings: Vec<Ring> = rings.filter(meets).cloned().collect();
    Region::from_rings(&rings, FillRule::NonZero)
}

/// `kept` of `region` without the parts that show nowhere, and with more of
/// `region` about those that show but are thin.
fn without_slivers(region: &Region, kept: &Region, visible: &Region) -> Region {
    let shows = |part: &Polygon| !Region::from(part.clone()).intersection(visible).is_empty();
    let showing = Region { polygons: kept.polygons.iter().filter(|part| shows(part)).cloned().collect() };
    let thin = showing.difference(&opened(&showing, THINNEST));
    let (bare, hidden): (Vec<Polygon>, Vec<Polygon>) =
        thin.polygons.into_iter().filter(|part| part.area() > TIP).partition(shows);
    let mut result = showing;
    if !bare.is_empty() {
        let about = Region { polygons: bare }.offset(THINNEST, Join::Round { tolerance: TOLERANCE });
        result = result.union(&about.intersection(region));
    }
    if !hidden.is_empty() {
        result = result.difference(&Region { polygons: hidden });
    }
    result.polygons.retain(shows);
    result
}

/// What of `region` is at least `width` wide.
fn opened(region: &Region, width: f64) -> Region {
    let round = Join::Round { tolerance: TOLERANCE / 4.0 };
    region.offset(-width / 2.0, round).offset(width / 2.0, round).intersection(region)
}
