//! Which polygons lie side by side, and where.
//!
//! Every outline is sampled, and each sample asks a tree of all edges for those
//! of other polygons near it. O(samples log edges) while few polygons meet in a place.

use crate::Polygon;
use kurbo::Point;
use rstar::RTree;
use rstar::primitives::{GeomWithData, Line};

/// Two polygons that share a stretch of their outlines.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Touch {
    /// Index of the one.
    pub a: usize,
    /// Index of the other, which comes later in the list.
    pub b: usize,
    /// About the middle of what they share, mm.
    pub at: Point,
    /// About how long it is, mm.
    pub length: f64,
}

/// Most pairs of samples are this far apart, mm.
const STEP: f64 = 0.3;

/// The pairs of `polygons` whose outlines come within `within` mm of each other,
/// by rising indices. Stretches shorter than 0.3 mm may be missed.
pub fn touching(polygons: &[Polygon], within: f64) -> Vec<Touch> {
    let edges = polygons.iter().enumerate().flat_map(|(index, polygon)| {
        let edges = polygon.rings().flat_map(|ring| ring.edges()).filter(|(a, b)| a.is_finite() && b.is_finite());
        edges.map(move |(a, b)| GeomWithData::new(Line::new([a.x, a.y], [b.x, b.y]), index))
    });
    let tree = RTree::bulk_load(edges.collect());
    let mut found: Vec<(usize, usize, usize, Point, f64)> = Vec::new();
    let mut count = 0;
    for (a, polygon) in polygons.iter().enumerate() {
        for (from, to) in polygon.rings().flat_map(|ring| ring.edges()).filter(|(p, q)| p.is_finite() && q.is_finite())
        {
            let length = from.distance(to);
            let parts = (length / STEP).ceil().clamp(1.0, 1e4);
            for part in 0..parts as usize {
                let at = from.lerp(to, (part as f64 + 0.5) / parts);
                count += 1;
                let near = tree.locate_within_distance([at.x, at.y], within * within);
                let mut others: Vec<usize> = near.map(|edge| edge.data).filter(|&b| b > a).collect();
                others.sort_unstable();
                others.dedup();
                found.extend(others.into_iter().map(|b| (a, b, count, at, length / parts)));
            }
        }
    }
    found.sort_by_key(|&(a, b, order, ..)| (a, b, order));
    let pairs = found.chunk_by(|p, q| (p.0, p.1) == (q.0, q.1));
    let middle = |pair: &[(usize, usize, usize, Point, f64)]| {
        let (a, b, _, at, _) = *pair.get(pair.len() / 2)?;
        Some(Touch { a, b, at, length: pair.iter().map(|sample| sample.4).sum() })
    };
    pairs.filter_map(middle).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Ring;

    fn square(x: f64, y: f64) -> Polygon {
        let corners = [(x, y), (x + 2.0, y), (x + 2.0, y + 2.0), (x, y + 2.0)];
        Polygon { outer: Ring::new(corners.map(Point::from).to_vec()), holes: vec![] }
    }

    #[test]
    fn squares_side_by_side_touch_in_the_middle() {
        let found = touching(&[square(0.0, 0.0), square(5.0, 0.0), square(2.0, 0.0)], 0.01);
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].a, found[0].b), (0, 2));
        assert!(found[0].at.distance(Point::new(2.0, 1.0)) < 0.31 && (found[0].length - 2.0).abs() < 1e-9);
    }

    #[test]
    fn a_polygon_does_not_touch_itself() {
        assert!(touching(&[square(0.0, 0.0), square(3.0, 0.0)], 0.5).is_empty());
    }
}
