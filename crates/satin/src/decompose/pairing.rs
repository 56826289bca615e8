//! Which limbs go on as one column through a node.
//!
//! Limbs are paired by continuity: how much the way through the zone turns, how
//! much the width changes. The best pair owns the zone, the others end at its
//! side; a second pair goes on underneath.

use super::axis::Axis;
use super::graph::{Graph, Limb};
use kurbo::{Point, Vec2};

/// No pair turns by more than this, degrees.
const TURN: f64 = 62.0;

/// A doubling of the width counts as this many degrees of turn.
const WIDTH: f64 = 8.0;

/// Every mm of the way through the zone makes up for this many degrees, ...
const LENGTH: f64 = 0.3;

/// Closing a ring makes up for this many degrees.
const RING: f64 = 15.0;

/// ... 15 mm at most.
const LONGEST: f64 = 15.0;

/// The direction of a limb is taken over at least this much of it, mm.
const TANGENT: f64 = 0.8;

/// A limb's end: its index and which end (0 the beginning, 1 the end).
pub(crate) type LimbEnd = (usize, usize);

/// Two limbs that are one column, in order of how well they go together.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pair {
    pub(crate) node: usize,
    pub(crate) ends: [LimbEnd; 2],
}

/// What the end of a limb looks like from its node.
#[derive(Clone, Copy, Debug)]
struct Mouth {
    end: LimbEnd,
    point: Point,
    /// Away from the node.
    out: Vec2,
    width: f64,
}

/// The pairs at every node, the best of each node first.
pub(crate) fn pairs(axis: &Axis, graph: &Graph) -> Vec<Pair> {
    let mut found = Vec::new();
    for (node, ends) in graph.limbs_at_nodes().iter().enumerate() {
        if graph.nodes.get(node).is_none_or(|n| n.corner) {
            continue;
        }
        let mouths: Vec<Mouth> = ends.iter().filter_map(|end| mouth(axis, &graph.limbs, *end)).collect();
        let mut ranked: Vec<(f64, Pair)> = Vec::new();
        for (i, a) in mouths.iter().enumerate() {
            for b in mouths.iter().skip(i + 1) {
                ranked.extend(rank(a, b).map(|rank| (rank, Pair { node, ends: [a.end, b.end] })));
            }
        }
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.ends.cmp(&b.1.ends)));
        let mut taken: Vec<LimbEnd> = Vec::new();
        for (_, pair) in ranked {
            if pair.ends.iter().all(|end| !taken.contains(end)) {
                taken.extend(pair.ends);
                found.push(pair);
            }
        }
    }
    found
}

fn mouth(axis: &Axis, limbs: &[Limb], end: LimbEnd) -> Option<Mouth> {
    let limb = limbs.get(end.0)?;
    let inner: Vec<Point> = limb.chords.iter().map(|c| axis.middle(*c)).collect();
    let (chord, line): (_, Vec<Point>) = match end.1 {
        0 => (*limb.chords.first()?, inner),
        _ => (*limb.chords.last()?, inner.into_iter().rev().collect()),
    };
    let width = axis.width(chord);
    let point = *line.first()?;
    let reach = width.max(TANGENT);
    let far = line.iter().find(|p| p.distance(point) >= reach).or(line.last())?;
    // A limb of one chord has only the chord to tell its direction.
    let away = if end.1 == 0 { axis.along(chord) } else { -axis.along(chord) };
    let out = if far.distance(point) > 0.25 * width { crate::line::unit(*far - point) } else { away };
    Some(Mouth { end, point, out, width })
}

/// How well two limbs go together, the less the better; `None` when they turn too much.
fn rank(a: &Mouth, b: &Mouth) -> Option<f64> {
    let angle = |u: Vec2, v: Vec2| u.cross(v).abs().atan2(u.dot(v)).to_degrees();
    let joint = b.point - a.point;
    let direct = angle(-a.out, b.out);
    let bends = if joint.hypot() > 0.1 * a.width.min(b.width) {
        (angle(-a.out, joint) + angle(joint, b.out)) / 2.0
    } else {
        direct
    };
    let turn = (bends + direct) / 2.0;
    let change = (a.width / b.width.max(1e-9)).log2().abs().min(4.0);
    // A limb whose two ends meet is a ring.
    let ring = if a.end.0 == b.end.0 { RING } else { 0.0 };
    (turn < TURN).then_some(turn - ring + WIDTH * change - LENGTH * joint.hypot().min(LONGEST))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mouth(x: f64, y: f64, angle: f64, width: f64) -> Mouth {
        Mouth { end: (angle as usize, 0), point: Point::new(x, y), out: Vec2::from_angle(angle.to_radians()), width }
    }

    #[test]
    fn straight_on_is_better_than_round_a_bend() {
        let (left, right, down) = (mouth(-1.5, 0.0, 180.0, 3.0), mouth(1.5, 0.0, 0.0, 3.0), mouth(0.0, 1.5, 90.0, 3.0));
        assert!(rank(&left, &right).unwrap() < 0.0);
        assert!(rank(&left, &down).is_none());
    }

    #[test]
    fn a_change_of_width_counts_against_a_pair() {
        let (left, right) = (mouth(-1.5, 0.0, 180.0, 3.0), mouth(1.5, 0.0, 0.0, 3.0));
        let thin = mouth(1.5, 0.0, 0.0, 0.75);
        assert!((rank(&left, &thin).unwrap() - rank(&left, &right).unwrap() - 16.0).abs() < 1e-9);
    }
}
