//! The parts of a line that lie inside a region.
//!
//! Every edge of the line is cut where it meets the outline and each piece
//! kept or dropped by whether its middle lies inside. Finding the outline's
//! edges near an edge of the line takes logarithmic time.

use crate::{Locator, Polyline, Region};
use kurbo::Point;
use rstar::primitives::Line;
use rstar::{AABB, RTree};

/// Pieces shorter than this share of their edge are not told apart.
const SHORTEST_SHARE: f64 = 1e-9;

impl Region {
    /// The parts of each of `lines` inside this region, in their own order and direction.
    ///
    /// A closed line that is cut goes on over its first point and is open
    /// then; one that lies inside as a whole comes back as it is. Parts on the
    /// outline itself may count as inside or not.
    pub fn clip_lines(&self, lines: &[Polyline]) -> Vec<Polyline> {
        let locator = Locator::new(self);
        let edges = self.rings().flat_map(|ring| ring.edges());
        let outline = RTree::bulk_load(edges.map(|(a, b)| Line::new([a.x, a.y], [b.x, b.y])).collect());
        lines.iter().flat_map(|line| clip_line(line, &locator, &outline)).collect()
    }
}

fn clip_line(line: &Polyline, locator: &Locator, outline: &RTree<Line<[f64; 2]>>) -> Vec<Polyline> {
    if let [dot] = line.points[..] {
        return if locator.contains(dot) { vec![line.clone()] } else { Vec::new() };
    }
    let mut parts: Vec<Polyline> = Vec::new();
    let mut part: Vec<Point> = Vec::new();
    let mut whole = true;
    let mut finish = |part: &mut Vec<Point>| {
        if part.len() > 1 {
            parts.push(Polyline { points: std::mem::take(part), closed: false });
        }
        part.clear();
    };
    for (from, to) in edges(line) {
        let at = |t: f64| from.lerp(to, t);
        for pair in cuts(from, to, outline).windows(2) {
            let [a, b] = [pair[0], pair[1]];
            if locator.contains(at((a + b) / 2.0)) {
                if part.is_empty() {
                    part.push(at(a));
                }
                part.push(at(b));
            } else {
                whole = false;
                finish(&mut part);
            }
        }
    }
    finish(&mut part);
    if whole {
        return vec![line.clone()];
    }
    if line.closed {
        join_over_start(&mut parts, line.points.first());
    }
    parts
}

/// The edges of a line, the closing one last.
fn edges(line: &Polyline) -> impl Iterator<Item = (Point, Point)> + '_ {
    let closing = line.points.last().zip(line.points.first()).filter(|_| line.closed).map(|(a, b)| (*a, *b));
    line.points.windows(2).map(|pair| (pair[0], pair[1])).chain(closing)
}

/// A part that ends at the first point of a closed line goes on in the part that begins there.
fn join_over_start(parts: &mut Vec<Polyline>, start: Option<&Point>) {
    let begins = parts.first().and_then(|part| part.points.first()) == start;
    let ends = parts.last().and_then(|part| part.points.last()) == start;
    if parts.len() > 1
        && begins
        && ends
        && let Some(mut last) = parts.pop()
        && let Some(first) = parts.first_mut()
    {
        last.points.pop();
        last.points.append(&mut first.points);
        first.points = last.points;
    }
}

/// Where the edge meets the outline, as shares of its length from 0 to 1, both included.
fn cuts(from: Point, to: Point, outline: &RTree<Line<[f64; 2]>>) -> Vec<f64> {
    let along = to - from;
    let mut shares = vec![0.0, 1.0];
    for other in outline.locate_in_envelope_intersecting(AABB::from_corners([from.x, from.y], [to.x, to.y])) {
        let (a, b) = (Point::from((other.from[0], other.from[1])), Point::from((other.to[0], other.to[1])));
        let across = b - a;
        let span = along.cross(across);
        let share = (a - from).cross(across) / span;
        let other_share = (a - from).cross(along) / span;
        if (0.0..=1.0).contains(&share) && (0.0..=1.0).contains(&other_share) {
            shares.push(share);
        }
    }
    shares.sort_by(f64::total_cmp);
    shares.dedup_by(|b, a| *b - *a < SHORTEST_SHARE);
    if let Some(last) = shares.last_mut() {
        *last = 1.0;
    }
    shares
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{FillRule, Ring};

    fn square() -> Region {
        let corners = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(Point::from);
        Region::from_rings(&[Ring::new(corners.to_vec())], FillRule::NonZero)
    }

    fn clipped(points: &[(f64, f64)], closed: bool) -> Vec<Polyline> {
        let points = points.iter().map(|&p| Point::from(p)).collect();
        square().clip_lines(&[Polyline { points, closed }])
    }

    #[test]
    fn a_line_across_is_cut_at_both_sides() {
        let parts = clipped(&[(-5.0, 5.0), (15.0, 5.0)], false);
        assert_eq!(parts.len(), 1);
        assert!((parts[0].length() - 10.0).abs() < 1e-9);
    }

    #[test]
    fn a_line_that_leaves_and_comes_back_makes_two_parts() {
        let parts = clipped(&[(5.0, 5.0), (5.0, 15.0), (8.0, 15.0), (8.0, 5.0)], false);
        assert_eq!(parts.len(), 2);
        assert!(parts.iter().all(|part| (part.length() - 5.0).abs() < 1e-9));
    }

    #[test]
    fn a_closed_line_inside_stays_closed() {
        let parts = clipped(&[(2.0, 2.0), (4.0, 2.0), (4.0, 4.0)], true);
        assert!(parts.len() == 1 && parts[0].closed && parts[0].points.len() == 3);
    }

    #[test]
    fn a_closed_line_that_is_cut_goes_on_over_its_start() {
        let parts = clipped(&[(5.0, 5.0), (15.0, 5.0), (15.0, 8.0), (5.0, 8.0)], true);
        assert_eq!(parts.len(), 1);
        assert!(!parts[0].closed);
        assert!((parts[0].length() - 13.0).abs() < 1e-9);
    }

    #[test]
    fn what_lies_outside_is_gone() {
        assert!(clipped(&[(20.0, 0.0), (20.0, 9.0)], false).is_empty());
        assert!(clipped(&[(20.0, 0.0)], false).is_empty());
        assert_eq!(clipped(&[(2.0, 2.0)], false).len(), 1);
    }
}
