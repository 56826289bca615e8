//! What lies over a part and what it lies on: under the one its stitches need
//! neither compensation nor underlay, the other carries them as underlay would.

use crate::layer::Layer;
use crate::part::Part;
use laidwork_geometry::{FillRule, Locator, Polygon, Region, Ring};
use laidwork_plan::{Method, Rect};
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

/// More edges than this under one part are not looked at.
const MOST_EDGES: usize = 50_000;

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

/// The fills of a drawing, by where they are: rows carry what is sewn over them.
#[derive(Debug)]
pub(crate) struct Ground<'a> {
    /// The layer of each fill, and what it covers.
    fills: Vec<(usize, &'a Polygon)>,
    /// Each fill made ready for questions, once there is one.
    locators: Vec<OnceLock<Locator>>,
    index: RTree<Box>,
}

impl<'a> Ground<'a> {
    /// The fills among `parts` that leave no gaps.
    pub fn new(parts: &'a [Part<'_>], layers: &[Layer<'_>]) -> Ground<'a> {
        let covering = parts.iter().filter(|part| part.method == Method::Fill && layers[part.layer].hides());
        let fills: Vec<_> = covering.map(|part| (part.layer, &part.polygon)).collect();
        let locators = fills.iter().map(|_| OnceLock::new()).collect();
        Ground { index: boxes(fills.iter().map(|fill| fill.1)), fills, locators }
    }

    /// Whether nearly all of `part` lies on the layers before it.
    pub fn carries(&self, part: &Part<'_>) -> bool {
        let shared = self.under(part).map_or(0.0, |under| under.intersection(&part.polygon.clone().into()).area());
        shared > CARRIED_SHARE * part.polygon.area()
    }

    /// What of the layers before `part` lies about it; nothing where they are
    /// too many to tell.
    pub fn under(&self, part: &Part<'_>) -> Option<Region> {
        let around = corners(part.polygon.bounds()?);
        let found = self.index.locate_in_envelope_intersecting(around).map(|entry| entry.data);
        let mut found: Vec<usize> = found.filter(|&fill| self.fills[fill].0 < part.layer).collect();
        found.sort_unstable();
        if found.len() > FEW {
            let own = Locator::from_rings(part.polygon.rings());
            found.retain(|&fill| self.is_near(fill, &part.polygon, &own));
        }
        let rings: Vec<Ring> = found.into_iter().flat_map(|fill| self.fills[fill].1.rings()).cloned().collect();
        let edges: usize = rings.iter().map(|ring| ring.points.len()).sum();
        let few = !rings.is_empty() && edges <= MOST_EDGES;
        few.then(|| Region::from_rings(&rings, FillRule::NonZero))
    }

    /// Whether a fill comes near `polygon`, which `own` knows, or one holds the other.
    fn is_near(&self, fill: usize, polygon: &Polygon, own: &Locator) -> bool {
        let cover = self.fills[fill].1;
        let locator = self.locators[fill].get_or_init(|| Locator::from_rings(cover.rings()));
        let holds = |locator: &Locator, polygon: &Polygon| {
            polygon.outer.points.first().is_some_and(|&point| locator.contains(point))
        };
        own.may_come_near(locator, NEAR) || holds(own, cover) || holds(locator, polygon)
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
