//! Point questions to a region, prepared once and answered fast.
//!
//! *Inside or not* is a segment tree over the heights of the corners: each
//! edge is kept at the O(log n) nodes it spans from top to bottom, in order
//! from left to right, so that one binary search per level counts the edges to
//! the left of a point. *Nearest point of the outline* is a tree of boxes around the edges ([`EdgeTree`]).
//!
//! Building takes O(n log n), a question O(log² n), also for combs, spirals and
//! other shapes whose edges all span the same heights. The edges must not cross
//! (a [`Region`] as this crate's operations make it); where they do, answers near
//! the crossings may be wrong, but nothing panics.

pub use crate::edge_tree::closest_on_segment;
use crate::edge_tree::{Edge, EdgeTree};
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

/// The segment tree that counts the edges to the left of a point: all of a [`Locator`] that *inside or not* takes.
#[derive(Clone, Debug, Default)]
pub(crate) struct Crossings {
    /// The heights of all corners, ascending.
    heights: Vec<f64>,
    /// Slabs between them, rounded up to a power of two.
    leaves: usize,
    /// Where the edges of each node start in `edges` (one more than there are nodes).
    starts: Vec<usize>,
    /// Edges (upper end, lower end) of every node from left to right.
    edges: Vec<(Point, Point)>,
}

impl Crossings {
    /// Prepares any rings that do not cross.
    pub(crate) fn of_rings<'a>(rings: impl Iterator<Item = &'a Ring>) -> Crossings {
        Crossings::new(&edges_of(rings))
    }

    /// As [`Locator::contains`].
    pub(crate) fn contains(&self, point: Point) -> bool {
        self.left_of(point) % 2 == 1
    }

    fn new(outline: &[Edge]) -> Crossings {
        let mut heights: Vec<f64> = outline.iter().map(|edge| edge.from.y).collect();
        heights.sort_by(f64::total_cmp);
        heights.dedup_by(|a, b| a.total_cmp(b).is_eq());
        let slabs = heights.len().saturating_sub(1);
        let leaves = slabs.next_power_of_two();
        let slab = |y: f64| heights.partition_point(|h| h.total_cmp(&y).is_lt());
        let mut placed: Vec<(usize, (Point, Point))> = Vec::new();
        for edge in outline {
            let (top, foot) = if edge.from.y < edge.to.y { (edge.from, edge.to) } else { (edge.to, edge.from) };
            let (mut low, mut high) = (leaves + slab(top.y), leaves + slab(foot.y));
            while low < high {
                if low % 2 == 1 {
                    placed.push((low, (top, foot)));
                    low += 1;
                }
                if high % 2 == 1 {
                    high -= 1;
                    placed.push((high, (top, foot)));
                }
                low /= 2;
                high /= 2;
            }
        }
        let middle = |node: usize| {
            let depth = node.ilog2();
            let width = leaves >> depth;
            let first = (node << (leaves.ilog2() - depth)) - leaves;
            let last = (first + width).min(slabs);
            match (heights.get(first), heights.get(last)) {
                (Some(a), Some(b)) => (a + b) / 2.0,
                _ => 0.0,
            }
        };
        let mut keyed: Vec<(usize, f64, (Point, Point))> =
            placed.into_iter().map(|(node, edge)| (node, x_at(edge, middle(node)), edge)).collect();
        keyed.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let mut starts = vec![0; 2 * leaves + 1];
        for (node, ..) in &keyed {
            starts[node + 1] += 1;
        }
        for node in 1..starts.len() {
            starts[node] += starts[node - 1];
        }
        Crossings { leaves, starts, edges: keyed.into_iter().map(|(.., edge)| edge).collect(), heights }
    }

    fn left_of(&self, point: Point) -> usize {
        let above = self.heights.partition_point(|h| *h <= point.y);
        if above == 0 || above >= self.heights.len() || !point.is_finite() {
            return 0;
        }
        let mut node = self.leaves + above - 1;
        let mut count = 0;
        while node > 0 {
            if let Some(&[start, end]) = self.starts.get(node..node + 2)
                && let Some(edges) = self.edges.get(start..end)
            {
                count += edges.partition_point(|(top, foot)| (*foot - *top).cross(point - *top) <= 0.0);
            }
            node /= 2;
        }
        count
    }
}

fn x_at((top, foot): (Point, Point), y: f64) -> f64 {
    top.x + (foot.x - top.x) * ((y - top.y) / (foot.y - top.y))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::FillRule;

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
    fn nothing_holds_nothing() {
        let locator = Locator::new(&Region::default());
        assert!(!locator.contains(Point::ZERO));
        assert!(locator.distance_to_outline(Point::ZERO).is_infinite());
    }
}
