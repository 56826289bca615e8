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
//! than [`DEEPEST`], only the largest of them cut, but in piles (see `piles`) all that hide something; a shape under
//! more than [`MOST_EDGES`] edges stays whole: that costs thread, not coverage.

mod piles;

use laidwork_geometry::{FillRule, Join, Polygon, Region, Ring};
use laidwork_plan::Rect;
use piles::{Above, piles};
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
    /// Whether all of it is kept, though cut back, while any of it shows.
    pub stays_whole: bool,
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
    let piled = piles(&covers);
    let above = |(i, piled): (usize, &Above)| match piled {
        Above::All => Vec::new(),
        Above::Some(above) => above.clone(),
        Above::Few => covers.above(i),
    };
    let asked: Vec<Vec<(usize, usize)>> = piled.par_iter().enumerate().map(above).collect();
    let mut edges_left = 5 * MOST_EDGES;
    let mut cut_by = |above: Vec<(usize, usize)>| {
        let edges: usize = above.iter().map(|&cover| covers.edges(cover)).sum();
        if edges > MOST_EDGES.min(edges_left) {
            return Vec::new();
        }
        edges_left -= edges;
        above
    };
    let cut_by: Vec<Vec<(usize, usize)>> = asked.into_iter().map(&mut cut_by).collect();
    covers.shrink(&cut_by);
    let cut = |i: usize| match (&piled[i], cut_by[i].as_slice()) {
        (Above::All, _) => Cut::default(),
        (_, []) => Cut { region: shapes[i].region.clone(), hidden_by: Region::default() },
        (Above::Some(_), above) => covers.cut(i, above, true),
        (Above::Few, above) => covers.cut(i, above, false),
    };
    (0..shapes.len()).into_par_iter().map(cut).collect()
}

/// The rim of a shape under what hides it, mm.
fn rim(shape: &CoverShape) -> f64 {
    if shape.overlap.is_finite() { shape.overlap.max(0.0) } else { 1.0 }
}

/// A polygon of a cover by its bounds and the place of its shape among all, so that those after another are found alone.
type Entry = GeomWithData<Rectangle<[f64; 3]>, (usize, usize)>;

/// Where entries of shapes from `first` on lie that meet `bounds`.
fn box_of(bounds: Rect, first: usize) -> AABB<[f64; 3]> {
    AABB::from_corners([bounds.x0, bounds.y0, first as f64 - 0.5], [bounds.x1, bounds.y1, f64::MAX])
}

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
        let mut covers = Covers { shapes, sizes, shrunk: Vec::new(), index: RTree::new() };
        covers.index = RTree::bulk_load((0..shapes.len()).flat_map(|i| covers.entries(i)).collect());
        covers
    }

    /// The polygons of a shape as the index knows them.
    fn entries(&self, shape: usize) -> impl Iterator<Item = Entry> {
        let entry = move |(k, (_, bounds)): (usize, &(f64, Option<Rect>))| {
            let b = bounds.filter(|b| b.is_finite())?;
            let at = shape as f64;
            Some(GeomWithData::new(Rectangle::from_corners([b.x0, b.y0, at], [b.x1, b.y1, at]), (shape, k)))
        };
        self.sizes[shape].iter().enumerate().filter_map(entry)
    }

    /// The polygons (shape, polygon) after shape `i` that its bounds meet, in no order.
    fn about(&self, i: usize) -> impl Iterator<Item = (usize, usize)> {
        let bounds = self.shapes[i].region.bounds().filter(|b| b.is_finite());
        let found = bounds.map(|bounds| self.index.locate_in_envelope_intersecting(box_of(bounds, i + 1)));
        found.into_iter().flatten().map(|entry| entry.data)
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

    /// The largest polygons after shape `i` that its bounds meet, in drawing order.
    fn above(&self, i: usize) -> Vec<(usize, usize)> {
        let shape = &self.shapes[i];
        let Some(bounds) = shape.region.bounds().filter(|_| shape.may_be_cut) else { return Vec::new() };
        let mut above: Vec<(f64, (usize, usize))> =
            self.about(i).map(|cover| (self.area_within(cover, bounds), cover)).collect();
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

    /// Shape `i` without what the polygons `above` hide of it, but for a rim. In a pile they are cut to what lies about it.
    fn cut(&self, i: usize, above: &[(usize, usize)], in_pile: bool) -> Cut {
        let region = &self.shapes[i].region;
        let over = above.iter().filter_map(|&cover| self.polygon(cover)).flat_map(Polygon::rings);
        let hidden_by = match in_pile {
            true => Region::from_rings(&self.about_shape(i, over), FillRule::NonZero),
            false => joined(over, region),
        };
        let region = self.without(i, &hidden_by, above, in_pile);
        Cut { region, hidden_by }
    }

    fn without(&self, i: usize, hidden_by: &Region, above: &[(usize, usize)], in_pile: bool) -> Region {
        let shape = &self.shapes[i];
        let (region, rim) = (&shape.region, rim(shape));
        let visible = || opened(&region.difference(hidden_by), HAIR);
        // What shows somewhere is never cut away whole.
        if shape.stays_whole && (in_pile || !visible().is_empty()) {
            return region.clone();
        }
        let mut covers: Vec<usize> = above.iter().map(|cover| cover.0).collect();
        covers.dedup();
        let seam = rim.min(SEAM);
        let hidden = covers.iter().filter_map(|&shape| self.shrunk(seam, shape)).flat_map(Region::rings);
        let hidden = match in_pile {
            true => Region::from_rings(&self.about_shape(i, hidden), FillRule::NonZero),
            false => joined_within(hidden, region, rim),
        };
        let hidden = hidden.offset(seam - rim, Join::Round { tolerance: TOLERANCE });
        if hidden.is_empty() {
            return region.clone();
        }
        let visible = visible();
        if visible.is_empty() {
            return Region::default();
        }
        without_slivers(region, &region.difference(&hidden), &visible)
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
