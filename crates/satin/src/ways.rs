//! Ways inside a shape: straight ones are found without triangles, which are made when a way has to bend.

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
        self.walker.get_or_insert_with(|| Walker::new(ground)).path(from, to)
    }
}
