//! The edges of outlines in a tree of boxes: which lies nearest, which meet a box, whether two outlines come near.
//!
//! The tree is a packed one along a Hilbert curve (the `static_aabb2d_index` crate): a few flat lists, made in
//! O(n log n). A few edges are sorted into strips instead, in next to no time.

use crate::strips::{FEW_EDGES, Strips};
use kurbo::{Point, Rect};
use static_aabb2d_index::{AABB, Control, StaticAABB2DIndex, StaticAABB2DIndexBuilder};

/// Boxes in a box.
const FAN: usize = 8;

/// An edge of the outline and its place in it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    pub(crate) from: Point,
    pub(crate) to: Point,
    pub(crate) index: usize,
}

impl Edge {
    fn bounds(&self) -> Rect {
        Rect::from_points(self.from, self.to)
    }

    fn distance_squared(&self, point: Point) -> f64 {
        closest_on_segment(point, self.from, self.to).distance_squared(point)
    }
}

/// The point of the segment `from`-`to` nearest to `point`.
pub fn closest_on_segment(point: Point, from: Point, to: Point) -> Point {
    let along = to - from;
    let share = (point - from).dot(along) / along.hypot2();
    if share >= 1.0 {
        to
    } else if share > 0.0 {
        from + along * share
    } else {
        from
    }
}

/// Edges, and where they lie.
#[derive(Clone, Debug, Default)]
pub(crate) struct EdgeTree {
    edges: Vec<Edge>,
    places: Places,
}

/// Where the edges lie.
#[derive(Clone, Debug, Default)]
enum Places {
    /// There are none.
    #[default]
    Nowhere,
    /// In which strips a few of them are.
    Strips(Strips),
    /// In boxes.
    Boxes(StaticAABB2DIndex<f64>),
}

impl EdgeTree {
    /// Puts edges, whose points must be finite, into a tree.
    pub(crate) fn new(edges: Vec<Edge>) -> EdgeTree {
        if edges.is_empty() {
            return EdgeTree::default();
        }
        if edges.len() <= FEW_EDGES {
            let ends: Vec<(Point, Point)> = edges.iter().map(|edge| (edge.from, edge.to)).collect();
            return EdgeTree { places: Places::Strips(Strips::new(&ends)), edges };
        }
        let mut boxes = StaticAABB2DIndexBuilder::new_with_node_size(edges.len(), FAN);
        for edge in &edges {
            let bounds = edge.bounds();
            boxes.add(bounds.x0, bounds.y0, bounds.x1, bounds.y1);
        }
        EdgeTree { places: boxes.build().map_or(Places::Nowhere, Places::Boxes), edges }
    }

    /// The edge nearest to `point` whose distance squared is no more than `most`, with that; of equals the first.
    pub(crate) fn nearest(&self, point: Point, most: f64) -> Option<(&Edge, f64)> {
        if !point.is_finite() {
            return None;
        }
        let mut best: Option<(&Edge, f64)> = None;
        let mut look_at = |index: usize| {
            let edge = &self.edges[index];
            let distance = edge.distance_squared(point);
            let is_nearer = match best {
                Some((known, least)) => distance < least || distance <= least && edge.index < known.index,
                None => distance <= most,
            };
            if is_nearer {
                best = Some((edge, distance));
            }
            best.map_or(most, |(_, distance)| distance)
        };
        match &self.places {
            Places::Nowhere => (),
            Places::Strips(strips) => strips.visit_from(point.y, most, |edge| look_at(edge as usize)),
            Places::Boxes(boxes) => {
                let mut least = most;
                boxes.visit_neighbors(point.x, point.y, &mut |index: usize, bound: f64| {
                    if bound > least {
                        return Control::Break(());
                    }
                    least = look_at(index);
                    Control::Continue
                });
            }
        }
        best
    }

    /// The edges whose bounds meet `bounds`, in no order.
    pub(crate) fn about(&self, bounds: Rect) -> impl Iterator<Item = &Edge> {
        let (strips, boxes) = match &self.places {
            Places::Nowhere => (None, None),
            Places::Strips(strips) => (Some(strips), None),
            Places::Boxes(boxes) => (None, Some(boxes)),
        };
        let in_strips = strips.into_iter().flat_map(move |strips| {
            let range = strips.between(bounds.y0, bounds.y1);
            let first = range.start;
            let members = range.flat_map(move |strip| strips.members(strip).iter().map(move |edge| (strip, *edge)));
            // An edge lies in several strips and counts in one of them.
            members.filter_map(move |(strip, edge)| {
                let edge = &self.edges[edge as usize];
                let is_first = || strips.between(edge.from.y, edge.to.y).start.max(first) == strip;
                (do_meet(edge.bounds(), bounds) && is_first()).then_some(edge)
            })
        });
        let in_boxes = boxes
            .into_iter()
            .flat_map(move |boxes| boxes.query_iter(bounds.x0, bounds.y0, bounds.x1, bounds.y1))
            .map(|edge| &self.edges[edge]);
        in_strips.chain(in_boxes)
    }

    /// The bounds of all edges.
    fn bounds(&self) -> Option<Rect> {
        match &self.places {
            Places::Boxes(boxes) => boxes.bounds().map(rect),
            _ => self.edges.iter().map(Edge::bounds).reduce(|all, edge| all.union(edge)),
        }
    }

    /// Whether an edge may come within `reach` of an edge of `other`: always said where one does, and where one does
    /// not only if it comes within a hundredth more.
    pub(crate) fn may_come_near(&self, other: &EdgeTree, reach: f64) -> bool {
        let (few, many) = if self.edges.len() <= other.edges.len() { (self, other) } else { (other, self) };
        let Some(all) = many.bounds() else { return false };
        few.edges.iter().any(|edge| {
            let about = edge.bounds().inflate(reach, reach);
            do_meet(about, all) && many.about(about).any(|beside| are_near(edge, beside, reach))
        })
    }
}

fn rect(bounds: AABB<f64>) -> Rect {
    Rect::new(bounds.min_x, bounds.min_y, bounds.max_x, bounds.max_y)
}

/// Whether two boxes have a point in common.
fn do_meet(a: Rect, b: Rect) -> bool {
    a.x0 <= b.x1 && b.x0 <= a.x1 && a.y0 <= b.y1 && b.y0 <= a.y1
}

/// Whether two edges cross or one has an end within `reach` of the other.
fn are_near(a: &Edge, b: &Edge, reach: f64) -> bool {
    let side = |from: Point, to: Point, point: Point| (to - from).cross(point - from);
    let parts = |a: &Edge, b: &Edge| side(a.from, a.to, b.from) * side(a.from, a.to, b.to) <= 0.0;
    let ends = |a: &Edge, b: &Edge| a.distance_squared(b.from).min(a.distance_squared(b.to));
    parts(a, b) && parts(b, a) || ends(a, b).min(ends(b, a)) <= 1.01 * reach * reach
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn edges(points: &[(f64, f64)]) -> Vec<Edge> {
        let edge = |(index, pair): (usize, &[(f64, f64)])| Edge { from: pair[0].into(), to: pair[1].into(), index };
        points.windows(2).enumerate().map(edge).collect()
    }

    fn lines() -> impl Strategy<Value = Vec<(f64, f64)>> {
        // Few and many.
        prop::collection::vec((0.0..30.0, 0.0..30.0), 2..2 * FEW_EDGES)
    }

    proptest! {
        #[test]
        fn answers_are_those_of_looking_at_all(points in lines(), others in lines(), x in -5.0..35.0, y in -5.0..35.0, reach in 0.01..5.0) {
            let (all, point) = (edges(&points), Point::new(x, y));
            let tree = EdgeTree::new(all.clone());
            let least = all.iter().min_by(|a, b| a.distance_squared(point).total_cmp(&b.distance_squared(point))).unwrap();
            let (nearest, distance) = tree.nearest(point, f64::INFINITY).unwrap();
            prop_assert_eq!((nearest.index, distance), (least.index, least.distance_squared(point)));
            prop_assert_eq!(tree.nearest(point, distance).map(|found| found.0.index), Some(least.index));
            prop_assert!(tree.nearest(point, distance * 0.999).is_none() || distance <= 0.0);
            let bounds = Rect::new(x, y, x + reach, y + 2.0 * reach);
            let mut about: Vec<usize> = tree.about(bounds).map(|edge| edge.index).collect();
            about.sort_unstable();
            let meet: Vec<usize> = all.iter().filter(|edge| do_meet(edge.bounds(), bounds)).map(|edge| edge.index).collect();
            prop_assert_eq!(about, meet);
            let away: Vec<(f64, f64)> = others.iter().map(|(a, b)| (a + x, b + y)).collect();
            let beside = edges(&away);
            let near = all.iter().any(|a| beside.iter().any(|b| are_near(a, b, reach)));
            prop_assert_eq!(tree.may_come_near(&EdgeTree::new(beside), reach), near);
        }
    }

    #[test]
    fn nothing_is_near_nothing() {
        let none = EdgeTree::new(Vec::new());
        let some = EdgeTree::new(edges(&[(0.0, 0.0), (1.0, 1.0)]));
        assert!(none.nearest(Point::ZERO, f64::INFINITY).is_none());
        assert!(some.nearest(Point::new(f64::NAN, 0.0), f64::INFINITY).is_none());
        assert_eq!(none.about(Rect::new(0.0, 0.0, 1.0, 1.0)).count(), 0);
        assert!(!none.may_come_near(&some, 1.0));
    }
}
