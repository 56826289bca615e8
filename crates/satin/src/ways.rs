//! Ways inside a shape: straight ones are found without triangles, which are made when a way has to bend,
//! of the outline with the fewest points.

use crate::decompose::thin;
use kurbo::Point;
use laidwork_geometry::{OutlineWays, Polygon, Walker};

/// A shape to go about in.
pub(crate) struct Ways<'a> {
    ground: &'a Polygon,
    straight: Option<OutlineWays<'a>>,
    walker: Option<Walker>,
}

impl<'a> Ways<'a> {
    pub(crate) fn new(ground: &'a Polygon) -> Ways<'a> {
        Ways { ground, straight: None, walker: None }
    }

    /// `point` itself where it lies inside, else the nearest one of the outline.
    pub(crate) fn snap(&self, point: Point) -> Point {
        if self.ground.contains(point) {
            return point;
        }
        self.ground.nearest_on_outline(point).map_or(point, |nearest| nearest.point)
    }

    /// The shortest way from one place to another, both included; those outside are moved to the outline.
    pub(crate) fn path(&mut self, from: Point, to: Point) -> Vec<Point> {
        let ground = self.ground;
        if self.straight.get_or_insert_with(|| OutlineWays::new(ground)).sees(from, to) {
            return vec![from, to];
        }
        // The ends stay what they are on the outline as it is.
        let (from, to) = (self.snap(from), self.snap(to));
        let walker = self.walker.get_or_insert_with(|| Walker::new(&thin(ground)));
        let mut way = walker.path(from, to);
        if let [first, .., last] = way.as_mut_slice() {
            (*first, *last) = (from, to);
        }
        way
    }
}
