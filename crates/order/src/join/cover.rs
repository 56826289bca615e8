//! What hides a thread: the regions sewn after it.

use super::UnjoinedPiece;
use laidwork_geometry::Polygon;
use laidwork_plan::Point;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

/// A way is looked at every so many mm.
const STEP: f64 = 0.1;

/// This much of a way may show, mm: about the width of a sewn thread.
const MAY_SHOW: f64 = 0.35;

type Entry = GeomWithData<Rectangle<[f64; 2]>, (usize, usize)>;

/// The covers of all pieces, indexed by place.
pub(super) struct Cover<'a> {
    pieces: &'a [UnjoinedPiece],
    index: RTree<Entry>,
}

impl<'a> Cover<'a> {
    pub(super) fn new(pieces: &'a [UnjoinedPiece]) -> Cover<'a> {
        let mut entries = Vec::new();
        for (i, piece) in pieces.iter().enumerate() {
            for (k, polygon) in piece.cover.polygons.iter().enumerate() {
                if let Some(bounds) = polygon.bounds().filter(|b| b.is_finite()) {
                    let corners = Rectangle::from_corners([bounds.x0, bounds.y0], [bounds.x1, bounds.y1]);
                    entries.push(GeomWithData::new(corners, (i, k)));
                }
            }
        }
        Cover { pieces, index: RTree::bulk_load(entries) }
    }

    /// Whether the straight way between two points is hidden by piece `first` and those after it.
    pub(super) fn hides(&self, from: Point, to: Point, first: usize) -> bool {
        let envelope = AABB::from_corners([from.x, from.y], [to.x, to.y]);
        let found = self.index.locate_in_envelope_intersecting(envelope).filter(|entry| entry.data.0 >= first);
        let over: Vec<&Polygon> =
            found.filter_map(|entry| self.pieces.get(entry.data.0)?.cover.polygons.get(entry.data.1)).collect();
        if over.is_empty() {
            return false;
        }
        let steps = (from.distance(to) / STEP).ceil().max(1.0);
        let mut shown = 0.0;
        for k in 0..=steps as usize {
            let at = from.lerp(to, k as f64 / steps);
            shown = if over.iter().any(|polygon| holds(polygon, at)) { 0.0 } else { shown + STEP };
            if shown > MAY_SHOW {
                return false;
            }
        }
        true
    }
}

/// Whether a polygon holds a point: a ray from it crosses its rings an odd number of times.
fn holds(polygon: &Polygon, point: Point) -> bool {
    let mut inside = false;
    for (a, b) in polygon.rings().flat_map(|ring| ring.edges()) {
        if (a.y > point.y) != (b.y > point.y) && point.x < a.x + (b.x - a.x) * (point.y - a.y) / (b.y - a.y) {
            inside = !inside;
        }
    }
    inside
}
