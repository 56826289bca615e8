//! Rings that need no clean-up, told apart from those that do.
//!
//! Where rings neither cross nor come near each other or themselves, one outer ring holds all others and these
//! are holes beside each other, they are the region that [`clean`](crate::boolean) would make of them, and
//! most outlines moved by a little are of this kind. Edges are compared strip by strip ([`Strips`]), from left to
//! right; in any doubt, or where too many edges lie above each other, the answer is that nothing is known.
//! O(n log n).

use crate::strips::{Edge, Strips, is_left};
use crate::{FARTHEST, Polygon, RESOLUTION, Ring};
use kurbo::Point;

/// Edges nearer than this to each other are left to the exact method, mm.
const APART: f64 = 10.0 * RESOLUTION;

/// Pairs of edges looked at for each edge before the search is given up.
const PATIENCE: usize = 40;

/// The polygon that rings are, the first of them the outer one, on the grid of [`RESOLUTION`]; `None` where they
/// need the exact method.
pub(crate) fn as_polygon(rings: &[Ring]) -> Option<Polygon> {
    let rings: Vec<Ring> = rings.iter().map(on_grid).collect::<Option<_>>()?;
    let mut edges: Vec<Edge> = Vec::with_capacity(rings.iter().map(|ring| ring.points.len()).sum());
    // For each ring where its edges begin.
    let mut starts = vec![0];
    for ring in &rings {
        edges.extend(ring.edges());
        starts.push(edges.len());
    }
    // Each with its left end and its index, from left to right; and so in every strip.
    let mut order: Vec<(f64, u32)> = edges.iter().zip(0..).map(|((a, b), i)| (a.x.min(b.x), i)).collect();
    order.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let sorted: Vec<Edge> = order.iter().map(|&(_, edge)| edges[edge as usize]).collect();
    let strips = Strips::new(&sorted);
    if !are_apart(&sorted, &order, &starts, &strips) {
        return None;
    }
    let (outer, holes) = rings.split_first()?;
    if outer.signed_area() <= 0.0 {
        return None;
    }
    for (hole, bounds) in holes.iter().zip(starts.windows(2).skip(1)) {
        let first = *hole.points.first()?;
        let (mut in_outer, mut in_holes) = (false, false);
        for &member in strips.members(strips.at(first.y)) {
            let edge = order[member as usize].1 as usize;
            if !(bounds[0]..bounds[1]).contains(&edge) && is_left(edges[edge], first) {
                if edge < starts[1] { in_outer = !in_outer } else { in_holes = !in_holes }
            }
        }
        if !in_outer || in_holes || hole.signed_area() >= 0.0 {
            return None;
        }
    }
    let mut rings = rings.into_iter().map(from_leftmost);
    Some(Polygon { outer: rings.next()?, holes: rings.collect() })
}

/// A ring on the grid, without repeats, straight corners and spikes of any kind; `None` where less than a triangle is left.
fn on_grid(ring: &Ring) -> Option<Ring> {
    let step = |v: f64| whole(v.clamp(-FARTHEST, FARTHEST) / RESOLUTION);
    let mut grid = ring.points.iter().map(|p| Point::new(step(p.x), step(p.y)));
    let last = ring.points.last().map(|p| Point::new(step(p.x), step(p.y)))?;
    let first = grid.next()?;
    let mut points = Vec::with_capacity(ring.points.len());
    let (mut corner, mut into) = (first, first - last);
    for next in grid.chain([first]) {
        let out = next - corner;
        let (cross, dot) = (into.cross(out), into.dot(out));
        // A fold, a repeat or a point that is no number, and so short an edge that its direction is rounding.
        if dot.is_nan() || dot < 0.0 && dot * dot > 0.81 * into.hypot2() * out.hypot2() || into.hypot2() < 100.0 {
            return None;
        }
        if cross.abs() > 0.0 {
            points.push((corner.to_vec2() * RESOLUTION).to_point());
        }
        (corner, into) = (next, out);
    }
    (points.len() > 2).then(|| Ring::new(points))
}

/// The nearest whole number, of those halfway the even one: the digits after the point have no room beside this
/// constant. For numbers below 2⁵¹.
fn whole(v: f64) -> f64 {
    const NO_DIGITS: f64 = 1.5 * (1u64 << 52) as f64;
    (v + NO_DIGITS) - NO_DIGITS
}

/// Whether no two edges but neighbours come near each other; they lie in the given order from left to right.
fn are_apart(edges: &[Edge], order: &[(f64, u32)], starts: &[usize], strips: &Strips) -> bool {
    let mut looked_at = 0;
    for strip in 0..strips.len() {
        let members = strips.members(strip);
        for (i, &one) in members.iter().enumerate() {
            let edge = edges[one as usize];
            let right = edge.0.x.max(edge.1.x) + APART;
            for &other in members[i + 1..].iter().take_while(|&&other| order[other as usize].0 <= right) {
                looked_at += 1;
                if is_near(edge, edges[other as usize])
                    && !are_neighbours(order[one as usize].1, order[other as usize].1, starts)
                {
                    return false;
                }
            }
        }
        if looked_at > PATIENCE * edges.len() {
            return false;
        }
    }
    true
}

/// Whether two edges that overlap from left to right may come near each other.
pub(crate) fn is_near((a, b): Edge, (c, d): Edge) -> bool {
    let above = |(a, b): Edge, (c, d): Edge| a.y.max(b.y) + APART < c.y.min(d.y);
    if above((a, b), (c, d)) || above((c, d), (a, b)) {
        return false;
    }
    // Two that do not meet are parted by the line through one of them.
    let parts = |(a, b): Edge, (c, d): Edge| {
        let along = b - a;
        let (near, far) = (along.cross(c - a), along.cross(d - a));
        near.abs().min(far.abs()) > APART * along.hypot() && near * far > 0.0
    };
    !parts((a, b), (c, d)) && !parts((c, d), (a, b))
}

/// Whether two edges follow each other in their ring.
fn are_neighbours(a: u32, b: u32, starts: &[usize]) -> bool {
    let (low, high) = (a.min(b) as usize, a.max(b) as usize);
    if high - low == 1 {
        // The first edge of a ring does not follow the last of the one before.
        return starts.binary_search(&high).is_err();
    }
    let ring = starts.partition_point(|&start| start <= low);
    starts[ring - 1] == low && starts.get(ring) == Some(&(high + 1))
}

/// The ring from its leftmost corner on, as boolean operations give it.
fn from_leftmost(mut ring: Ring) -> Ring {
    let before = |a: &Point, b: &Point| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y));
    if let Some((first, _)) = ring.points.iter().enumerate().min_by(|a, b| before(a.1, b.1)) {
        ring.points.rotate_left(first);
    }
    ring
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Join;
    use crate::boolean::{Rule, clean};
    use crate::testing::{self, Kind, Random};

    /// The same rings in any order, each from its leftmost corner.
    fn sorted(polygon: &Polygon) -> Vec<Vec<(i64, i64)>> {
        let step = |v: f64| (v / RESOLUTION).round() as i64;
        let ring = |ring: &Ring| from_leftmost(ring.clone()).points.iter().map(|p| (step(p.x), step(p.y))).collect();
        let mut rings: Vec<Vec<(i64, i64)>> = polygon.rings().map(ring).collect();
        rings.sort();
        rings
    }

    #[test]
    fn plain_rings_are_what_the_clean_up_makes_of_them() {
        let mut plain = 0;
        for seed in 0..600 {
            let mut random = Random(seed);
            let region = testing::region(Kind::ALL[random.below(Kind::ALL.len())], 3 + random.below(40), random.bits());
            let distance = [0.02, 0.3, 1.0, -0.02, -0.1, -0.5, -1.0][random.below(7)];
            for polygon in &region.polygons {
                let rings = crate::offset::raw(polygon, distance, Join::Round { tolerance: 0.01 });
                let Some(found) = as_polygon(&rings) else { continue };
                let expected = clean(&rings, Rule::Positive);
                assert_eq!(expected.polygons.len(), 1, "seed {seed}");
                assert_eq!(sorted(&found), sorted(&expected.polygons[0]), "seed {seed}");
                plain += 1;
            }
        }
        assert!(plain > 150, "{plain}");
    }

    #[test]
    fn rings_that_touch_cross_or_nest_are_not_plain() {
        let square =
            |from: f64, to: f64| Ring::new([(from, from), (to, from), (to, to), (from, to)].map(Point::from).to_vec());
        let hole = |from: f64, to: f64| Ring::new(square(from, to).points.into_iter().rev().collect());
        assert!(as_polygon(&[square(0.0, 9.0)]).is_some());
        assert!(as_polygon(&[square(0.0, 9.0), hole(1.0, 3.0), hole(4.0, 6.0)]).is_some());
        for holes in [
            vec![square(1.0, 3.0)],
            vec![hole(1.0, 10.0)],
            vec![hole(0.0, 3.0)],
            vec![hole(1.0, 4.0), hole(2.0, 3.0)],
            vec![hole(1.0, 4.0), hole(3.0, 6.0)],
            vec![hole(-1.0, 10.0)],
            vec![hole(10.0, 12.0)],
        ] {
            let rings: Vec<Ring> = [square(0.0, 9.0)].into_iter().chain(holes).collect();
            assert!(as_polygon(&rings).is_none(), "{rings:?}");
        }
        let tie = Ring::new([(0.0, 0.0), (2.0, 2.0), (2.0, 0.0), (0.0, 2.0)].map(Point::from).to_vec());
        assert!(as_polygon(&[tie]).is_none() && as_polygon(&[hole(0.0, 2.0)]).is_none() && as_polygon(&[]).is_none());
    }
}
