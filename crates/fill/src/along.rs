//! Needle points along a way that bends.

use crate::chain::{Chain, SHORTEST};
use kurbo::Point;
use laidwork_geometry::{NearPoints, closest_on_segment};
use laidwork_plan::PassKind;

/// Long edges are looked at this far apart, mm.
const STEP: f64 = 0.25;

/// Where a way turns by more than this there is a needle point, degrees.
const CORNER: f64 = 35.0;

/// Farther from any other a needle point need not be, mm.
pub(crate) const APART: f64 = 0.5;

/// A stitch may be so much shorter, as a share of what it could be, for its needle point to lie apart from others.
const GIVEN_UP: f64 = 0.25;

/// A shorter stitch has to be farther from others by more than this, mm.
const WORTH: f64 = 0.02;

/// Needle points along a way: as long as `longest` (the first, the others)
/// where the way is straight, as short as keeps the way within `chord` where it bends.
pub(crate) fn lay(way: &[Point], kind: PassKind, longest: (f64, f64), chord: f64, chain: &mut Chain) {
    put_along(way, kind, longest, chord, None, chain);
}

/// As [`lay`], with needle points apart from those of ways laid before, which these join.
pub(crate) fn lay_apart(
    way: &[Point],
    kind: PassKind,
    longest: (f64, f64),
    chord: f64,
    needles: &mut NearPoints,
    chain: &mut Chain,
) {
    for point in put_along(way, kind, longest, chord, Some(needles), chain) {
        needles.add(point);
    }
}

/// As [`lay_apart`] where there are others to keep apart from; the needle points.
fn put_along(
    way: &[Point],
    kind: PassKind,
    longest: (f64, f64),
    chord: f64,
    others: Option<&NearPoints>,
    chain: &mut Chain,
) -> Vec<Point> {
    let mut own = Vec::new();
    let Some(&first) = way.first() else { return own };
    chain.put(kind, first);
    // Long edges are cut, so that the way can be left between its corners.
    let mut fine: Vec<(Point, bool)> = vec![(first, false)];
    let mut along = None;
    for pair in way.windows(2) {
        let edge = pair[1] - pair[0];
        if edge.hypot() < 1e-6 {
            continue;
        }
        if let (Some(along), Some(last)) = (along.replace(edge), fine.last_mut()) {
            let along: kurbo::Vec2 = along;
            last.1 = along.cross(edge).atan2(along.dot(edge)).abs() > CORNER.to_radians();
        }
        let parts = (edge.hypot() / STEP).ceil().max(1.0);
        fine.extend((1..=parts as usize).map(|i| (pair[0] + edge * (i as f64 / parts), false)));
    }
    let (mut longest, then) = longest;
    let mut last = 0;
    while last + 1 < fine.len() {
        let from = chain.last().unwrap_or(first);
        let mut next = last + 1;
        while next + 1 < fine.len() && !fine[next].1 && fits(from, &fine[last..=next + 1], longest, chord) {
            next += 1;
        }
        if fine[next].1 || next + 1 == fine.len() {
            chain.put(kind, fine[next].0);
        } else {
            next = others.map_or(next, |others| most_apart(from, &fine[..=next], last + 1, others));
            chain.pass_by(kind, fine[next].0);
        }
        own.push(fine[next].0);
        longest = then;
        last = next;
    }
    own
}

/// Which of the places from the `first` to the last of a way is farthest from needle points laid before, without giving
/// up too much of the stitch to the last.
fn most_apart(from: Point, way: &[(Point, bool)], first: usize, others: &NearPoints) -> usize {
    let last = way.len() - 1;
    let clearance = |place: Point| others.about(place).map(|other| other.distance(place)).fold(APART, f64::min);
    let least = (from.distance(way[last].0) * (1.0 - GIVEN_UP)).max(SHORTEST + 0.1);
    let mut best = (last, clearance(way[last].0));
    for i in (first..last).rev() {
        if best.1 >= APART || from.distance(way[i].0) < least {
            break;
        }
        let here = clearance(way[i].0);
        if here > best.1 + WORTH {
            best = (i, here);
        }
    }
    best.0
}

/// Whether one stitch may stand for a stretch of a way.
fn fits(from: Point, way: &[(Point, bool)], longest: f64, chord: f64) -> bool {
    let Some(&(to, _)) = way.last() else { return false };
    let length = from.distance(to);
    if length < SHORTEST + 0.1 {
        return way.len() < 40;
    }
    length <= longest && way.iter().all(|&(p, _)| closest_on_segment(p, from, to).distance_squared(p) <= chord * chord)
}
