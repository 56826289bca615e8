//! What lies over the edges of a part: there its stitches need neither
//! compensation nor underlay.

use laidwork_geometry::{Polygon, Region};
use laidwork_plan::Rect;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

/// The polygons that hide parts of one layer, by where they are.
#[derive(Debug, Default)]
pub(crate) struct Hidden {
    region: Region,
    index: RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>,
}

impl Hidden {
    /// Finds its way about in `region`, mm.
    pub fn new(region: Region) -> Hidden {
        let boxes = region.polygons.iter().enumerate().filter_map(|(index, polygon)| {
            let corners = corners(polygon.bounds()?);
            Some(GeomWithData::new(Rectangle::from_aabb(corners), index))
        });
        let index = RTree::bulk_load(boxes.collect());
        Hidden { region, index }
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

fn corners(bounds: Rect) -> AABB<[f64; 2]> {
    AABB::from_corners([bounds.x0, bounds.y0], [bounds.x1, bounds.y1])
}
