//! Gaps that open between neighbours.
//!
//! Along the outline of every drawn piece, once a millimetre, it is looked just
//! outside: where another shape was drawn there, the two are neighbours. Then the
//! way square to the outline is followed through the predicted areas; what is bare
//! between two covered stretches of it is the gap. Ground that lay open as drawn is
//! none. O(length of outlines), each place with two lookups in an index.

use crate::PiecePrediction;
use laidwork_geometry::{Locator, Region};
use laidwork_plan::{Point, Vec2};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Narrower gaps are not seen between threads 0.3 mm wide, mm.
pub const LEAST_GAP: f64 = 0.1;

/// Between the places that are looked at, mm.
const STEP: f64 = 1.0;

/// Shapes this near each other are neighbours, mm.
const NEAR: f64 = 0.15;

/// How far to either side of the outline a gap is looked for, mm.
const FAR: f64 = 1.5;

/// Drawn ground is looked for so far on too, mm: shapes may touch within a hair.
const HAIR: f64 = NEAR;

/// Steps of the look across, mm.
const FINE: f64 = 0.02;

/// A gap between two shapes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Gap {
    /// The two shapes, by name.
    pub between: [String; 2],
    /// Its greatest width, mm.
    pub width: f64,
    /// How long it is, to about a millimetre, mm.
    pub length: f64,
    /// Where it is widest, mm from the centre of the hoop.
    pub x: f64,
    /// Likewise, y down.
    pub y: f64,
}

/// Areas by where they are.
struct Areas {
    index: RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>,
    locators: Vec<Locator>,
    owners: Vec<usize>,
}

impl Areas {
    fn of<'a>(regions: impl Iterator<Item = &'a Region>) -> Areas {
        let (mut boxes, mut locators, mut owners) = (Vec::new(), Vec::new(), Vec::new());
        for (owner, region) in regions.enumerate() {
            for polygon in &region.polygons {
                let Some(bounds) = polygon.bounds() else { continue };
                let corners = AABB::from_corners([bounds.x0, bounds.y0], [bounds.x1, bounds.y1]);
                boxes.push(GeomWithData::new(Rectangle::from_aabb(corners), locators.len()));
                locators.push(Locator::from_rings(polygon.rings()));
                owners.push(owner);
            }
        }
        Areas { index: RTree::bulk_load(boxes), locators, owners }
    }

    /// The areas whose rectangles meet that of two points, by number.
    fn around(&self, one: Point, other: Point) -> Vec<usize> {
        let corners = AABB::from_corners([one.x, one.y], [other.x, other.y]);
        let mut found: Vec<usize> =
            self.index.locate_in_envelope_intersecting(corners).map(|entry| entry.data).collect();
        found.sort_unstable();
        found
    }

    fn contains(&self, area: usize, point: Point) -> bool {
        self.locators.get(area).is_some_and(|locator| locator.contains(point))
    }

    fn owner(&self, area: usize) -> usize {
        self.owners.get(area).copied().unwrap_or(usize::MAX)
    }
}

/// The gaps between the shapes of `pieces`, the widest first.
pub(crate) fn find(pieces: &[PiecePrediction]) -> Vec<Gap> {
    let drawn = Areas::of(pieces.iter().map(|piece| &piece.drawn));
    let predicted = Areas::of(pieces.iter().map(|piece| &piece.predicted));
    let mut gaps: BTreeMap<[&str; 2], Gap> = BTreeMap::new();
    for piece in pieces {
        for (place, out) in piece.drawn.rings().flat_map(|ring| places(ring.edges())) {
            let beside = place + out * NEAR;
            let mut neighbours = drawn.around(beside, beside).into_iter();
            let neighbour = neighbours.find_map(|area| {
                let other = pieces.get(drawn.owner(area))?;
                (other.shape != piece.shape && drawn.contains(area, beside)).then_some(other)
            });
            let Some(other) = neighbour else { continue };
            let Some((width, middle)) = bare(&drawn, &predicted, place, out) else { continue };
            let mut between = [piece.shape.as_str(), other.shape.as_str()];
            between.sort_unstable();
            let gap = gaps.entry(between).or_insert_with(|| Gap {
                between: between.map(str::to_owned),
                width: 0.0,
                length: 0.0,
                x: 0.0,
                y: 0.0,
            });
            gap.length += STEP;
            if width > gap.width {
                let hundredth = |mm: f64| (mm * 100.0).round() / 100.0 + 0.0;
                (gap.width, gap.x, gap.y) = (hundredth(width), hundredth(middle.x), hundredth(middle.y));
            }
        }
    }
    let mut gaps: Vec<Gap> = gaps.into_values().collect();
    gaps.sort_by(|a, b| b.width.total_cmp(&a.width).then_with(|| a.between.cmp(&b.between)));
    gaps
}

/// Places along a ring, and the way out of the region there.
fn places(edges: impl Iterator<Item = (Point, Point)>) -> Vec<(Point, Vec2)> {
    let (mut places, mut done) = (Vec::new(), STEP / 2.0);
    for (from, to) in edges {
        let way = to - from;
        let length = way.hypot();
        if length.is_nan() || length <= 0.0 {
            continue;
        }
        let out = Vec2::new(way.y, -way.x) / length;
        while done <= length {
            places.push((from + way * (done / length), out));
            done += STEP;
        }
        done -= length;
    }
    places
}

/// The widest stretch of drawn ground that lies bare between covered ones, on the way square to the outline, and its middle.
fn bare(drawn: &Areas, predicted: &Areas, place: Point, out: Vec2) -> Option<(f64, Point)> {
    let (start, end) = (place - out * FAR, place + out * FAR);
    let (asked, covering) = (drawn.around(start, end), predicted.around(start, end));
    let steps = (2.0 * FAR / FINE) as usize;
    let mut covered_at: Option<usize> = None;
    let mut widest: Option<(f64, Point)> = None;
    for step in 0..=steps {
        let at = start + out * (step as f64 * FINE);
        if !covering.iter().any(|area| predicted.contains(*area, at)) {
            if !asked.iter().any(|area| drawn.contains(*area, at) || drawn.contains(*area, at + out * HAIR)) {
                covered_at = None; // open ground
            }
            continue;
        }
        if let Some(before) = covered_at {
            let width = (step - before - 1) as f64 * FINE;
            if width >= LEAST_GAP && widest.is_none_or(|(so_far, _)| width > so_far) {
                let middle = start + out * ((step + before) as f64 / 2.0 * FINE);
                widest = Some((width, middle));
            }
        }
        covered_at = Some(step);
    }
    widest
}
