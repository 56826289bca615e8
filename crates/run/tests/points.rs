//! What needle points along a path promise.

use kurbo::Point;
use laidwork_run::{CHORD_ERROR, CORNER, RunSettings, points};
use proptest::prelude::*;
use std::f64::consts::TAU;

fn lengths(points: &[Point]) -> Vec<f64> {
    points.windows(2).map(|pair| pair[0].distance(pair[1])).collect()
}

fn circle(radius: f64) -> Vec<Point> {
    (0..720).map(|i| Point::ORIGIN + radius * kurbo::Vec2::from_angle(TAU * f64::from(i) / 720.0)).collect()
}

#[test]
fn a_straight_line_has_even_stitches() {
    let sewn = points(&[Point::ZERO, Point::new(11.0, 0.0)], false, &RunSettings::default());
    assert_eq!(sewn.len(), 6);
    assert!(lengths(&sewn).iter().all(|l| (l - 2.2).abs() < 1e-6), "{sewn:?}");
}

#[test]
fn a_whole_number_of_stitches_gets_no_extra_one() {
    let sewn = points(&[Point::ZERO, Point::new(10.0, 0.0)], false, &RunSettings::default());
    assert_eq!(sewn.len(), 5);
}

#[test]
fn a_corner_gets_a_needle_point() {
    let path = [(0.0, 0.0), (3.1, 0.0), (3.1, 7.7)].map(Point::from);
    assert!(points(&path, false, &RunSettings::default()).contains(&path[1]));
}

#[test]
fn a_circle_is_followed_in_curve_stitches() {
    for radius in [0.6, 1.0, 2.0, 4.0, 7.0] {
        let sewn = points(&circle(radius), true, &RunSettings::default());
        assert!(sewn[0].distance(*sewn.last().unwrap()) < 1e-12);
        for pair in sewn.windows(2) {
            let sagitta = radius - pair[0].midpoint(pair[1]).to_vec2().hypot();
            assert!(sagitta <= CHORD_ERROR + 1e-3, "{radius}: {sagitta}");
        }
        let lengths = lengths(&sewn);
        assert!(lengths.iter().all(|&l| (0.4..=1.5 + 1e-6).contains(&l)), "{radius}: {lengths:?}");
    }
}

#[test]
fn a_wide_circle_keeps_long_stitches() {
    let lengths = lengths(&points(&circle(30.0), true, &RunSettings::default()));
    assert!(lengths.iter().all(|&l| l > 2.3 && l <= 2.5), "{lengths:?}");
}

#[test]
fn nothing_comes_of_nothing() {
    let settings = RunSettings::default();
    assert!(points(&[], false, &settings).is_empty());
    assert!(points(&[Point::new(f64::NAN, 0.0)], true, &settings).is_empty());
    assert_eq!(points(&[Point::ZERO; 3], true, &settings), [Point::ZERO]);
}

fn any_path() -> impl Strategy<Value = Vec<Point>> {
    prop::collection::vec((-20.0..20.0, -20.0..20.0).prop_map(Point::from), 2..30)
}

/// Paths with edges of a tenth of a millimetre: flattened scribbles.
fn fine_path() -> impl Strategy<Value = Vec<Point>> {
    prop::collection::vec((0.01..0.4, -1.2..1.2f64), 2..200).prop_map(|steps| {
        let (mut at, mut heading) = (Point::ZERO, 0.0);
        let mut path = vec![at];
        for (length, turn) in steps {
            heading += turn;
            at += length * kurbo::Vec2::from_angle(heading);
            path.push(at);
        }
        path
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn stitches_keep_their_bounds(path in prop_oneof![any_path(), fine_path()], closed: bool) {
        let settings = RunSettings::default();
        let sewn = points(&path, closed, &settings);
        prop_assert!(sewn[0] == path[0]);
        let lengths = lengths(&sewn);
        prop_assert!(lengths.iter().all(|&l| l <= settings.stitch_length + settings.shortest_stitch + 1e-6));
        if lengths.len() > 1 {
            prop_assert!(lengths.iter().all(|&l| l >= settings.shortest_stitch - 1e-6), "{lengths:?}");
        }
        let end = if closed { path[0] } else { path[path.len() - 1] };
        prop_assert!(closed && sewn.len() == 1 || sewn[sewn.len() - 1] == end);
    }

    #[test]
    fn sharp_corners_far_from_others_are_needle_points(path in any_path()) {
        let sewn = points(&path, false, &RunSettings::default());
        for corner in path.windows(3) {
            let (a, b) = (corner[1] - corner[0], corner[2] - corner[1]);
            let turn = a.cross(b).atan2(a.dot(b)).abs().to_degrees();
            if turn > CORNER && turn < 150.0 && a.hypot() > 1.0 && b.hypot() > 1.0 {
                prop_assert!(sewn.contains(&corner[1]));
            }
        }
    }
}
