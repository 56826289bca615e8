//! Needle points along a way that bends.

use crate::chain::{Chain, SHORTEST};
use kurbo::Point;
use laidwork_geometry::closest_on_segment;
use laidwork_plan::PassKind;

/// Where a way turns by more than this there is a needle point, degrees.
const CORNER: f64 = 35.0;

/// Needle points along a way: as long as `longest` (the first, the others)
/// where the way is straight, as short as keeps the way within `chord` where it bends.
pub(crate) fn lay(way: &[Point], kind: PassKind, longest: (f64, f64), chord: f64, chain: &mut Chain) {
    let Some(&first) = way.first() else { return };
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
        let parts = (edge.hypot() / 0.4).ceil().max(1.0);
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
            chain.pass_by(kind, fine[next].0);
        }
        longest = then;
        last = next;
    }
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
