//! Fewer needle points where they crowd.
//!
//! Each needle point tears at the fabric, and where many ways meet there are more than it bears. There a point
//! that its neighbours can do without is left out: the longer stitch stays so near to the way that what is sewn over
//! it hides it still, and what it covers stays covered.
//!
//! Time: O(points x points near each).

use kurbo::Point;
use laidwork_geometry::{NearPoints, closest_on_segment};
use laidwork_plan::{Pass, PassKind};

/// Points are crowded where there are more than this within that distance, mm: four on a mm².
const CROWD: (usize, f64) = (12, 1.0);

/// Longest stitch that comes of leaving points out, mm.
const LONGEST: f64 = 4.8;

/// Most points left out in turn.
const MOST_LEFT_OUT: usize = 12;

/// Leaves out points of the passes, each kind of which may lie so far from its way, mm, as `chord` says; `None`
/// where all of its points are needed.
pub(crate) fn thin_out(passes: &mut [Pass], chord: impl Fn(PassKind) -> Option<f64>) {
    let mut near = NearPoints::within(CROWD.1);
    for point in passes.iter().flat_map(|pass| &pass.points) {
        near.add(*point);
    }
    let mut last = None;
    for pass in passes {
        if let Some(chord) = chord(pass.kind) {
            thin_pass(&mut pass.points, last, chord, &mut near);
        }
        last = pass.points.last().copied().or(last);
    }
}

/// The same for the points of one pass, to which the needle comes from `before`.
fn thin_pass(points: &mut Vec<Point>, before: Option<Point>, chord: f64, near: &mut NearPoints) {
    let mut kept: Vec<Point> = Vec::with_capacity(points.len());
    let mut left_out: Vec<Point> = Vec::new();
    for (i, &point) in points.iter().enumerate() {
        let from = kept.last().copied().or(before);
        if let (Some(from), Some(&to)) = (from, points.get(i + 1))
            && left_out.len() < MOST_LEFT_OUT
            && from.distance_squared(to) <= LONGEST * LONGEST
            && left_out.iter().chain([&point]).all(|p| is_near(*p, from, to, chord))
            && goes_on(from, point, to)
            && near.about(point).take(CROWD.0 + 1).count() > CROWD.0
        {
            near.take(point);
            left_out.push(point);
        } else {
            kept.push(point);
            left_out.clear();
        }
    }
    *points = kept;
}

/// Whether a point lies so near to a stitch.
fn is_near(point: Point, from: Point, to: Point, chord: f64) -> bool {
    closest_on_segment(point, from, to).distance_squared(point) <= chord * chord
}

/// Whether a way does not turn back at a point.
fn goes_on(from: Point, at: Point, to: Point) -> bool {
    (at - from).dot(to - at) > 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(y: f64, count: usize, step: f64, kind: PassKind) -> Pass {
        Pass::new(kind, (0..count).map(|i| Point::new(i as f64 * step, y)).collect())
    }

    #[test]
    fn crowded_points_of_straight_ways_are_left_out() {
        let mut passes: Vec<Pass> = (0..9).map(|i| row(f64::from(i) * 0.1, 20, 0.5, PassKind::Travel)).collect();
        thin_out(&mut passes, |_| Some(0.05));
        let points: usize = passes.iter().map(|pass| pass.points.len()).sum();
        assert!(points < 90, "{points}");
        for pass in &passes {
            let ends = [pass.points.first(), pass.points.last()].map(|point| point.map(|point| point.x));
            assert_eq!(ends, [Some(0.0), Some(9.5)]);
            assert!(pass.points.windows(2).all(|pair| pair[0].distance(pair[1]) <= LONGEST));
        }
    }

    #[test]
    fn points_with_room_and_points_of_corners_stay() {
        let mut alone = vec![row(0.0, 20, 0.5, PassKind::Top)];
        let zigzag = (0..60).map(|i| Point::new(f64::from(i) * 0.05, f64::from(i % 2))).collect();
        let mut corners = vec![Pass::new(PassKind::Top, zigzag)];
        let before = (alone.clone(), corners.clone());
        thin_out(&mut alone, |_| Some(0.05));
        thin_out(&mut corners, |_| Some(0.05));
        assert_eq!((alone, corners), before);
    }
}
