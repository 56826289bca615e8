//! Ties: tiny stitches that lock a thread, laid along the stitches beside them.

use super::JoinSettings;
use super::chain::rounded;
use laidwork_plan::Point;

/// Penetrations that tie a thread in at the first of `points`: they go back and
/// forth along the first stitches and end on that first point.
pub(super) fn tie_in(points: impl Iterator<Item = Point> + Clone, settings: &JoinSettings) -> Vec<Point> {
    let mut tie = back_and_forth(points, settings.tie_stitches + 1, settings);
    tie.reverse();
    tie
}

/// Penetrations that tie a thread off after the first of `points`, which run
/// backwards from its end.
pub(super) fn tie_off(points: impl Iterator<Item = Point> + Clone, settings: &JoinSettings) -> Vec<Point> {
    back_and_forth(points, settings.tie_stitches + 1, settings).split_off(1)
}

/// `count` penetrations, by turns on the first point and a stitch away from it along the line.
fn back_and_forth(points: impl Iterator<Item = Point> + Clone, count: usize, settings: &JoinSettings) -> Vec<Point> {
    let Some(home) = points.clone().next() else { return Vec::new() };
    let away = away(points, settings).unwrap_or(home + laidwork_plan::Vec2::new(settings.tie_length, 0.0));
    [home, away].into_iter().cycle().take(count).collect()
}

/// The place a tie's length along `points`; where the line doubles back too
/// near to its beginning, the first point that is far enough.
fn away(points: impl Iterator<Item = Point> + Clone, settings: &JoinSettings) -> Option<Point> {
    let home = points.clone().next()?;
    let far_enough = |point: &Point| point.distance(home) >= settings.shortest_stitch.min(settings.tie_length);
    let mut left = settings.tie_length;
    for (a, b) in points.clone().zip(points.clone().skip(1)) {
        let length = a.distance(b);
        if length >= left {
            let place = rounded(a.lerp(b, left / length)).filter(far_enough);
            return place.or_else(|| points.clone().find(far_enough));
        }
        left -= length;
    }
    points.clone().find(far_enough).or_else(|| points.clone().find(|point| point.distance(home) > 0.0))
}
