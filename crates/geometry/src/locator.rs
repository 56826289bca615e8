//! Point questions to a region, prepared once and answered fast.
//!
//! *Inside or not* counts the edges to the left of a point: those of a few in its strip ([`Strips`]), those of many
//! with a segment tree ([`HeightTree`]). *Nearest point of the outline* is a tree of boxes around the edges ([`EdgeTree`]).
//!
//! Building takes O(n log n), a question O(log² n), also for combs, spirals and
//! other shapes whose edges all span the same heights. The edges must not cross
//! (a [`Region`] as this crate's operations make it); where they do, answers near
//! the crossings may be wrong, but nothing panics.

pub use crate::edge_tree::closest_on_segment;
use crate::edge_tree::{Edge, EdgeTree};
use crate::height_tree::HeightTree;
use crate::strips::{FEW_EDGES, Strips, is_left};
use crate::{Region, Ring};
use kurbo::{Point, Rect};

/// The nearest point of an outline, as [`Locator::nearest`] finds it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearest {
    /// The point on the outline, mm.
    pub point: Point,
    /// Its distance, mm.
    pub distance: f64,
    /// Which edge it lies on, counted through all rings in order.
    pub edge: usize,
}

/// A region made ready for many point questions.
#[derive(Clone, Debug, Default)]
pub struct Locator {
    crossings: Crossings,
    outline: EdgeTree,
}

impl Locator {
    /// Prepares `region`.
    pub fn new(region: &Region) -> Locator {
        Locator::from_rings(region.rings())
    }

    /// Prepares any rings that do not cross; inside is where an odd number of them wind.
    pub fn from_rings<'a>(rings: impl Iterator<Item = &'a Ring>) -> Locator {
        let edges = edges_of(rings);
        Locator { crossings: Crossings::new(&edges), outline: EdgeTree::new(edges) }
    }

    /// Whether `point` lies inside. Points on the outline count as inside on
    /// its left and upper edges; within rounding (1e-12 of the coordinates) of
    /// an edge the answer may be either.
    pub fn contains(&self, point: Point) -> bool {
        self.crossings.contains(point)
    }

    /// The point of the outline nearest to `point`; `None` without an outline
    /// or when `point` is no number.
    pub fn nearest(&self, point: Point) -> Option<Nearest> {
        if !point.is_finite() {
            return None;
        }
        let (edge, _) = self.outline.nearest(point, f64::INFINITY)?;
        let on = closest_on_segment(point, edge.from, edge.to);
        Some(Nearest { point: on, distance: on.distance(point), edge: edge.index })
    }

    /// How far `point` is from the outline, on whichever side, mm; infinite
    /// without an outline.
    pub fn distance_to_outline(&self, point: Point) -> f64 {
        self.nearest(point).map_or(f64::INFINITY, |nearest| nearest.distance)
    }

    /// As [`Locator::distance_to_outline`], negative outside.
    pub fn depth(&self, point: Point) -> f64 {
        let distance = self.distance_to_outline(point);
        if self.contains(point) { distance } else { -distance }
    }

    /// Whether `point` lies inside, or within `reach` mm of the outline: faster than [`Locator::depth`], above all
    /// where the outline is far off on all sides.
    pub fn is_within(&self, point: Point, reach: f64) -> bool {
        self.contains(point) || self.outside_by(point, reach).is_some()
    }

    /// As [`Locator::depth`], `None` for points outside by more than `reach` mm.
    pub fn depth_within(&self, point: Point, reach: f64) -> Option<f64> {
        if self.contains(point) { Some(self.distance_to_outline(point)) } else { Some(-self.outside_by(point, reach)?) }
    }

    /// The edges whose bounds meet `bounds`, in no order: both ends, and the place among all edges of all rings.
    pub fn edges_about(&self, bounds: Rect) -> impl Iterator<Item = (Point, Point, usize)> + '_ {
        self.outline.about(bounds).map(|edge| (edge.from, edge.to, edge.index))
    }

    /// Whether the outline may come within `reach` mm of that of `other`, or cross it. Said wherever it does; where it does
    /// not, only by rounding.
    pub fn may_come_near(&self, other: &Locator, reach: f64) -> bool {
        self.outline.may_come_near(&other.outline, reach)
    }

    /// The distance to the outline when it is no more than `reach`.
    fn outside_by(&self, point: Point, reach: f64) -> Option<f64> {
        let (edge, _) = self.outline.nearest(point, reach * reach)?;
        Some(closest_on_segment(point, edge.from, edge.to).distance(point))
    }
}

/// The edges between points that are numbers, counted through all rings.
fn edges_of<'a>(rings: impl Iterator<Item = &'a Ring>) -> Vec<Edge> {
    let edges = rings.flat_map(Ring::edges).enumerate().map(|(index, (from, to))| Edge { from, to, index });
    edges.filter(|edge| edge.from.is_finite() && edge.to.is_finite()).collect()
}

/// What counts the edges to the left of a point: all of a [`Locator`] that *inside or not* takes.
#[derive(Clone, Debug)]
pub(crate) enum Crossings {
    /// A few edges, sorted into strips in next to no time.
    Few(Vec<(Point, Point)>, Strips),
    /// Many of them.
    Many(HeightTree),
}

impl Default for Crossings {
    fn default() -> Crossings {
        Crossings::new(&[])
    }
}

impl Crossings {
    /// Prepares any rings that do not cross.
    pub(crate) fn of_rings<'a>(rings: impl Iterator<Item = &'a Ring>) -> Crossings {
        Crossings::new(&edges_of(rings))
    }

    fn new(outline: &[Edge]) -> Crossings {
        if outline.len() > FEW_EDGES {
            return Crossings::Many(HeightTree::new(outline));
        }
        let edges: Vec<(Point, Point)> = outline.iter().map(|edge| (edge.from, edge.to)).collect();
        let strips = Strips::new(&edges);
        Crossings::Few(edges, strips)
    }

    /// As [`Locator::contains`].
    pub(crate) fn contains(&self, point: Point) -> bool {
        let count = match self {
            Crossings::Few(edges, strips) => {
                let near = strips.members(strips.at(point.y)).iter();
                near.filter(|&&edge| is_left(edges[edge as usize], point)).count()
            }
            Crossings::Many(tree) => tree.left_of(point),
        };
        point.is_finite() && count % 2 == 1
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::FillRule;
    use kurbo::Vec2;
    use std::f64::consts::TAU;

    fn frame() -> Region {
        let square = |a: f64, b: f64| Ring::new([(a, a), (b, a), (b, b), (a, b)].map(Point::from).to_vec());
        Region::from_rings(&[square(0.0, 10.0), square(4.0, 6.0)], FillRule::EvenOdd)
    }

    #[test]
    fn within_reach_is_what_the_depth_says() {
        let locator = Locator::new(&frame());
        for (x, y) in (-6..34).flat_map(|x| (-6..31).map(move |y| (x, y))) {
            let point = Point::new(f64::from(x) * 0.37, f64::from(y) * 0.41);
            let depth = locator.depth(point);
            assert_eq!(locator.is_within(point, 0.5), depth >= -0.5, "{point}");
            assert_eq!(locator.depth_within(point, 0.5), (depth >= -0.5).then_some(depth), "{point}");
        }
    }

    #[test]
    fn a_frame_holds_its_band_and_not_its_hole() {
        let locator = Locator::new(&frame());
        assert!(locator.contains(Point::new(2.0, 5.0)));
        assert!(!locator.contains(Point::new(5.0, 5.0)));
        assert!(!locator.contains(Point::new(11.0, 5.0)));
        assert!(!locator.contains(Point::new(5.0, -1.0)));
        assert!(!locator.contains(Point::new(f64::NAN, 1.0)));
    }

    #[test]
    fn the_nearest_point_may_lie_on_a_hole() {
        let locator = Locator::new(&frame());
        let nearest = locator.nearest(Point::new(3.5, 5.0)).unwrap();
        assert!(nearest.point.distance(Point::new(4.0, 5.0)) < 1e-9);
        assert!((locator.depth(Point::new(3.5, 5.0)) - 0.5).abs() < 1e-9);
        assert!((locator.depth(Point::new(5.0, 5.5)) + 0.5).abs() < 1e-9);
    }

    #[test]
    fn a_corner_that_is_no_number_is_left_out() {
        // Many corners, so that they are sorted by height, and the highest beside the one that is none.
        for count in [257, 300, 511, 512, 513, 515] {
            let mut points: Vec<Point> = (0..count)
                .map(|i| (Vec2::from_angle(f64::from(i) * TAU / f64::from(count)) * 10.0).to_point())
                .collect();
            for place in [count / 4, count / 4 + 1, 3 * count / 4] {
                points[place as usize].x = f64::NAN;
            }
            let locator = Locator::from_rings(std::iter::once(&Ring::new(points)));
            assert!(locator.contains(Point::new(1.0, 2.0)), "{count}");
            assert!(!locator.contains(Point::new(11.0, 2.0)), "{count}");
        }
    }

    #[test]
    fn nothing_holds_nothing() {
        let locator = Locator::new(&Region::default());
        assert!(!locator.contains(Point::ZERO));
        assert!(locator.distance_to_outline(Point::ZERO).is_infinite());
    }
}
