//! The edges of outlines in a tree of boxes: which lies nearest, which meet a box, whether two outlines come near.
//!
//! Edges that follow each other are put into leaves of [`LEAF`], leaves into nodes of [`FAN`], these again, each with
//! the box around all below it. Leaves lie along a Hilbert curve through their middles, so that what is near in the
//! plane is near in the tree whatever way the outline winds. All of it is a few flat lists, made in O(n log n).

use kurbo::{Point, Rect};

/// Edges in a leaf.
const LEAF: usize = 4;

/// Boxes in a box.
const FAN: usize = 4;

/// Outlines of so few leaves are kept in their own order.
const FEW: usize = 8;

/// Places on the way down the tree at once: more than [`FAN`] on each level of the largest tree.
const DEEPEST: usize = 64;

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

/// Edges, and the boxes around them.
#[derive(Clone, Debug, Default)]
pub(crate) struct EdgeTree {
    /// Leaf by leaf, [`LEAF`] each but for the last.
    edges: Vec<Edge>,
    /// The boxes of each level from the leaves to the one that holds all.
    boxes: Vec<Rect>,
    /// Where each level begins in `boxes`.
    levels: Vec<usize>,
}

/// A box of a level.
#[derive(Clone, Copy, Debug, Default)]
struct Node {
    level: u32,
    place: u32,
}

impl EdgeTree {
    /// Puts edges, whose points must be finite, into a tree.
    pub(crate) fn new(edges: Vec<Edge>) -> EdgeTree {
        let edges = if edges.len() > FEW * LEAF { along_curve(&edges) } else { edges };
        let mut boxes: Vec<Rect> = Vec::with_capacity(edges.len() / LEAF * 4 / 3 + 2);
        boxes.extend(edges.chunks(LEAF).map(|leaf| around(leaf.iter().map(Edge::bounds))));
        let mut levels = vec![0];
        let mut start = 0;
        while boxes.len() - start > 1 {
            let end = boxes.len();
            for first in (start..end).step_by(FAN) {
                let node = around(boxes[first..end.min(first + FAN)].iter().copied());
                boxes.push(node);
            }
            start = end;
            levels.push(start);
        }
        EdgeTree { edges, boxes, levels }
    }

    fn root(&self) -> Option<Node> {
        (!self.boxes.is_empty()).then(|| Node { level: self.levels.len() as u32 - 1, place: 0 })
    }

    fn bounds(&self, node: Node) -> Rect {
        self.boxes[self.levels[node.level as usize] + node.place as usize]
    }

    /// The boxes in a box; of a leaf there are none.
    fn below(&self, node: Node) -> impl Iterator<Item = Node> {
        let (level, count) = match node.level.checked_sub(1) {
            Some(level) => (level, self.levels[node.level as usize] - self.levels[level as usize]),
            None => (0, 0),
        };
        let first = node.place as usize * FAN;
        (first..count.min(first + FAN)).map(move |place| Node { level, place: place as u32 })
    }

    fn leaf(&self, node: Node) -> &[Edge] {
        let first = node.place as usize * LEAF;
        &self.edges[first..self.edges.len().min(first + LEAF)]
    }

    /// The edge nearest to `point` whose distance squared is no more than `most`, with that; of equals the first.
    pub(crate) fn nearest(&self, point: Point, most: f64) -> Option<(&Edge, f64)> {
        if !point.is_finite() {
            return None;
        }
        let mut best: Option<(&Edge, f64)> = None;
        let mut left = [(0.0, Node::default()); DEEPEST];
        let mut count = 0;
        if let Some(root) = self.root() {
            left[0] = (distance_squared(self.bounds(root), point), root);
            count = 1;
        }
        while count > 0 {
            count -= 1;
            let (bound, node) = left[count];
            let limit = best.map_or(most, |(_, distance)| distance);
            if bound > limit {
                continue;
            }
            if node.level == 0 {
                for edge in self.leaf(node) {
                    let distance = edge.distance_squared(point);
                    let is_nearer = match best {
                        Some((known, least)) => distance < least || distance <= least && edge.index < known.index,
                        None => distance <= most,
                    };
                    if is_nearer {
                        best = Some((edge, distance));
                    }
                }
                continue;
            }
            // The nearest on top.
            let first = count;
            for below in self.below(node) {
                let entry = (distance_squared(self.bounds(below), point), below);
                let mut place = count;
                while place > first && left[place - 1].0 < entry.0 {
                    left[place] = left[place - 1];
                    place -= 1;
                }
                left[place] = entry;
                count += 1;
            }
        }
        best
    }

    /// The edges whose bounds meet `bounds`, in no order.
    pub(crate) fn about(&self, bounds: Rect) -> About<'_> {
        let root = self.root();
        let left = [root.unwrap_or_default(); DEEPEST];
        About { tree: self, bounds, left, count: usize::from(root.is_some()), leaf: &[] }
    }

    /// Whether an edge may come within `reach` of an edge of `other`: always said where one does, and where one does
    /// not only if it comes within twice that.
    pub(crate) fn may_come_near(&self, other: &EdgeTree, reach: f64) -> bool {
        let mut left: Vec<(Node, Node)> = self.root().zip(other.root()).into_iter().collect();
        while let Some((a, b)) = left.pop() {
            let (about, bounds) = (self.bounds(a).inflate(reach, reach), other.bounds(b));
            if !do_meet(about, bounds) {
                continue;
            }
            if a.level == 0 && b.level == 0 {
                let near = |edge: &Edge| {
                    let box_of_edge = edge.bounds().inflate(reach, reach);
                    other
                        .leaf(b)
                        .iter()
                        .any(|beside| do_meet(box_of_edge, beside.bounds()) && are_near(edge, beside, reach))
                };
                if self.leaf(a).iter().any(near) {
                    return true;
                }
            } else if a.level >= b.level {
                left.extend(self.below(a).map(|a| (a, b)));
            } else {
                left.extend(other.below(b).map(|b| (a, b)));
            }
        }
        false
    }
}

/// Edges whose bounds meet a box.
#[derive(Clone, Debug)]
pub(crate) struct About<'a> {
    tree: &'a EdgeTree,
    bounds: Rect,
    left: [Node; DEEPEST],
    count: usize,
    leaf: &'a [Edge],
}

impl<'a> Iterator for About<'a> {
    type Item = &'a Edge;

    fn next(&mut self) -> Option<&'a Edge> {
        loop {
            while let Some((edge, rest)) = self.leaf.split_first() {
                self.leaf = rest;
                if do_meet(edge.bounds(), self.bounds) {
                    return Some(edge);
                }
            }
            self.count = self.count.checked_sub(1)?;
            let node = self.left[self.count];
            if do_meet(self.tree.bounds(node), self.bounds) {
                if node.level == 0 {
                    self.leaf = self.tree.leaf(node);
                } else {
                    for below in self.tree.below(node) {
                        self.left[self.count] = below;
                        self.count += 1;
                    }
                }
            }
        }
    }
}

/// The box around boxes.
fn around(boxes: impl Iterator<Item = Rect>) -> Rect {
    boxes.reduce(|a, b| a.union(b)).unwrap_or_default()
}

/// Whether two boxes have a point in common.
fn do_meet(a: Rect, b: Rect) -> bool {
    a.x0 <= b.x1 && b.x0 <= a.x1 && a.y0 <= b.y1 && b.y0 <= a.y1
}

fn distance_squared(bounds: Rect, point: Point) -> f64 {
    let x = (bounds.x0 - point.x).max(point.x - bounds.x1).max(0.0);
    let y = (bounds.y0 - point.y).max(point.y - bounds.y1).max(0.0);
    x * x + y * y
}

/// Whether two edges cross or one has an end within `reach` of the other.
fn are_near(a: &Edge, b: &Edge, reach: f64) -> bool {
    let side = |from: Point, to: Point, point: Point| (to - from).cross(point - from);
    let parts = |a: &Edge, b: &Edge| side(a.from, a.to, b.from) * side(a.from, a.to, b.to) <= 0.0;
    let ends = |a: &Edge, b: &Edge| a.distance_squared(b.from).min(a.distance_squared(b.to));
    parts(a, b) && parts(b, a) || ends(a, b).min(ends(b, a)) <= 1.01 * reach * reach
}

/// The edges leaf by leaf along a Hilbert curve.
fn along_curve(edges: &[Edge]) -> Vec<Edge> {
    let all = around(edges.iter().map(Edge::bounds));
    let scale = f64::from(u16::MAX) / all.width().max(all.height()).max(f64::MIN_POSITIVE);
    let key = |leaf: &[Edge]| {
        let middle = around(leaf.iter().map(Edge::bounds)).center();
        along((((middle.x - all.x0) * scale) as u32).min(0xffff), (((middle.y - all.y0) * scale) as u32).min(0xffff))
    };
    let mut order: Vec<(u32, u32)> = edges.chunks(LEAF).zip(0..).map(|(leaf, place)| (key(leaf), place)).collect();
    // A leaf that is not full comes last, where it may be short.
    let short = if edges.len().is_multiple_of(LEAF) { None } else { order.pop() };
    order.sort_unstable();
    let leaves = order.into_iter().chain(short);
    leaves.flat_map(|(_, place)| edges.chunks(LEAF).nth(place as usize).unwrap_or_default()).copied().collect()
}

/// How far along the Hilbert curve through all points of 16 bits a point lies.
fn along(mut x: u32, mut y: u32) -> u32 {
    let mut way = 0;
    let mut side = 1 << 15;
    while side > 0 {
        let (right, low) = (u32::from(x & side > 0), u32::from(y & side > 0));
        way = way << 2 | (3 * right) ^ low;
        if low == 0 {
            if right == 1 {
                (x, y) = (0xffff - x, 0xffff - y);
            }
            std::mem::swap(&mut x, &mut y);
        }
        side >>= 1;
    }
    way
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
        prop::collection::vec((0.0..30.0, 0.0..30.0), 2..200)
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
    fn a_grid_is_walked_without_a_jump() {
        let mut places: Vec<(u32, u32, u32)> =
            (0..16).flat_map(|x| (0..16).map(move |y| (along(x << 12, y << 12), x, y))).collect();
        places.sort_unstable();
        for pair in places.windows(2) {
            assert_eq!(pair[0].1.abs_diff(pair[1].1) + pair[0].2.abs_diff(pair[1].2), 1, "{pair:?}");
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
