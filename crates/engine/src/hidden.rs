//! What lies over a part and what it lies on: under the one its stitches need
//! neither compensation nor underlay, the other carries them as underlay would.

use crate::layer::Layer;
use crate::part::Part;
use laidwork_geometry::{FillRule, Join, Locator, Polygon, Region, Ring};
use laidwork_plan::{Method, Rect};
use rayon::prelude::*;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};
use std::sync::OnceLock;

/// The polygons that hide parts of one layer, by where they are.
#[derive(Debug, Default)]
pub(crate) struct Hidden {
    region: Region,
    index: RTree<Box>,
}

/// A part is carried by what lies under more than this share of its area.
const CARRIED_SHARE: f64 = 0.9;

/// The edge of a part is so wide, mm: where an edge run would lie, and less than the usual rim.
const EDGE: f64 = 0.7;

/// More edges than this under one part are not looked at.
const MOST_EDGES: usize = 50_000;

/// More edges than this under all parts together are not looked at, but for parts with no more than [`FREE_EDGES`].
const MOST_IN_ALL: usize = 300_000;

/// So few edges under one part are always looked at.
const FREE_EDGES: usize = 2_000;

/// Of more fills than this about one part those that only their bounds bring near are left out.
const FEW: usize = 16;

/// A fill comes near a part when it is no farther from it than this, mm: more than compensation reaches.
const NEAR: f64 = 2.0;

impl Hidden {
    /// Finds its way about in `region`, mm.
    pub fn new(region: Region) -> Hidden {
        Hidden { index: boxes(region.polygons.iter()), region }
    }

    /// What lies over `polygon`, if anything does.
    pub fn over(&self, polygon: &Polygon) -> Option<Region> {
        let around = corners(polygon.bounds()?);
        let mut found: Vec<usize> =
            self.index.locate_in_envelope_intersecting(around).map(|entry| entry.data).collect();
        found.sort_unstable();
        let polygons: Vec<Polygon> = found.into_iter().map(|index| self.region.polygons[index].clone()).collect();
        (!polygons.is_empty()).then_some(Region { polygons })
    }
}

/// The fills of a drawing, and which lie under each part: rows carry what is sewn over them.
#[derive(Debug)]
pub(crate) struct Ground<'a> {
    /// What each fill covers.
    fills: Vec<&'a Polygon>,
    /// For each part the fills about it of the layers before it; none where they are too many to tell.
    under: Vec<Vec<usize>>,
}

impl<'a> Ground<'a> {
    /// The fills among `parts` that leave no gaps.
    pub fn new(parts: &'a [Part<'_>], layers: &[Layer<'_>]) -> Ground<'a> {
        let covering = parts.iter().filter(|part| part.method == Method::Fill && layers[part.layer].hides());
        let fills: Vec<(usize, &'a Polygon)> = covering.map(|part| (part.layer, &part.polygon)).collect();
        let index = boxes(fills.iter().map(|fill| fill.1));
        // Each fill made ready for questions, once there is one.
        let locators: Vec<OnceLock<Locator>> = fills.iter().map(|_| OnceLock::new()).collect();
        let is_near = |fill: usize, polygon: &Polygon, own: &Locator| {
            let cover = fills[fill].1;
            let locator = locators[fill].get_or_init(|| Locator::from_rings(cover.rings()));
            let holds = |locator: &Locator, polygon: &Polygon| {
                polygon.outer.points.first().is_some_and(|&point| locator.contains(point))
            };
            own.may_come_near(locator, NEAR) || holds(own, cover) || holds(locator, polygon)
        };
        let asked = |part: &Part<'_>| {
            let Some(bounds) = part.polygon.bounds() else { return Vec::new() };
            let found = index.locate_in_envelope_intersecting(corners(bounds)).map(|entry| entry.data);
            let mut found: Vec<usize> = found.filter(|&fill| fills[fill].0 < part.layer).collect();
            found.sort_unstable();
            if found.len() > FEW {
                let own = Locator::from_rings(part.polygon.rings());
                found.retain(|&fill| is_near(fill, &part.polygon, &own));
            }
            found
        };
        let mut under: Vec<Vec<usize>> = parts.par_iter().map(asked).collect();
        let fills: Vec<&Polygon> = fills.into_iter().map(|fill| fill.1).collect();
        let mut left = MOST_IN_ALL;
        for found in &mut under {
            let edges: usize = found.iter().flat_map(|&fill| fills[fill].rings()).map(|ring| ring.points.len()).sum();
            match edges {
                _ if edges > MOST_EDGES.min(left) => found.clear(),
                _ if edges > FREE_EDGES => left -= edges,
                _ => {}
            }
        }
        Ground { fills, under }
    }

    /// What lies under `part`, the one of index `at`.
    pub fn of<'b>(&'b self, at: usize, part: &'b Part<'b>) -> PartGround<'b> {
        PartGround { part, fills: &self.fills, under: &self.under[at] }
    }
}

/// The fills under one part.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PartGround<'a> {
    part: &'a Part<'a>,
    fills: &'a [&'a Polygon],
    under: &'a [usize],
}

/// How much of a part the rows beneath it carry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Carried {
    /// Next to nothing, or only some of its edge.
    No,
    /// All along its outline: knock-out left their rims there.
    Edges,
    /// Nearly all of it.
    Whole,
}

impl PartGround<'_> {
    /// How much of the part lies on the layers before it.
    pub fn carries(&self) -> Carried {
        let Some(under) = self.under() else { return Carried::No };
        let part = Region::from(self.part.polygon.clone());
        let is_on = |region: &Region| under.intersection(region).area() > CARRIED_SHARE * region.area();
        if is_on(&part) {
            return Carried::Whole;
        }
        let edge = part.difference(&part.offset(-EDGE, Join::Round { tolerance: 0.02 }));
        if is_on(&edge) { Carried::Edges } else { Carried::No }
    }

    /// What of the layers before the part lies about it; nothing where they are too many to tell.
    pub fn under(&self) -> Option<Region> {
        let rings: Vec<Ring> = self.under.iter().flat_map(|&fill| self.fills[fill].rings()).cloned().collect();
        (!rings.is_empty()).then(|| Region::from_rings(&rings, FillRule::NonZero))
    }
}

pub(crate) type Box = GeomWithData<Rectangle<[f64; 2]>, usize>;

/// Polygons by their bounds, each with its place among them.
pub(crate) fn boxes<'a>(polygons: impl Iterator<Item = &'a Polygon>) -> RTree<Box> {
    let boxed = polygons.enumerate().filter_map(|(index, polygon)| {
        Some(GeomWithData::new(Rectangle::from_aabb(corners(polygon.bounds()?)), index))
    });
    RTree::bulk_load(boxed.collect())
}

pub(crate) fn corners(bounds: Rect) -> AABB<[f64; 2]> {
    AABB::from_corners([bounds.x0, bounds.y0], [bounds.x1, bounds.y1])
}
