//! How many edges lie to the left of a point: a segment tree over the heights of the corners.
//!
//! Each edge is kept at the O(log n) nodes that it spans from top to bottom, in order from left to right, so that one
//! binary search per level counts the edges to the left of a point. Made in O(n log n), a question takes O(log² n), also
//! for combs, spirals and other shapes whose edges all span the same heights. The edges must not cross.

use crate::edge_tree::Edge;
use kurbo::Point;

/// The segment tree.
#[derive(Clone, Debug, Default)]
pub(crate) struct HeightTree {
    /// The heights of all ends of edges, ascending.
    heights: Vec<f64>,
    /// Slabs between them, rounded up to a power of two.
    leaves: usize,
    /// Where the edges of each node start in `edges` (one more than there are nodes).
    starts: Vec<usize>,
    /// Edges (upper end, lower end) of every node from left to right.
    edges: Vec<(Point, Point)>,
}

impl HeightTree {
    /// Sorts edges that do not cross.
    pub(crate) fn new(outline: &[Edge]) -> HeightTree {
        let mut heights: Vec<f64> = outline.iter().flat_map(|edge| [edge.from.y, edge.to.y]).collect();
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
        HeightTree { leaves, starts, edges: keyed.into_iter().map(|(.., edge)| edge).collect(), heights }
    }

    /// How many edges lie to the left of a point at its height.
    pub(crate) fn left_of(&self, point: Point) -> usize {
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
