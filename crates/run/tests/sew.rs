//! What the styles of a run promise.

use kurbo::Point;
use laidwork_run::{RunSettings, RunStyle, sew};
use proptest::prelude::*;

fn sewn(path: &[Point], closed: bool, style: RunStyle, start: Option<Point>) -> Vec<Point> {
    let settings = RunSettings { style, ..RunSettings::default() };
    sew("line", path, closed, &settings, start).value.into_iter().flat_map(|pass| pass.points).collect()
}

const LINE: [Point; 2] = [Point::new(0.0, 0.0), Point::new(10.0, 0.0)];

#[test]
fn a_single_run_starts_at_the_nearer_end() {
    let sewn = sewn(&LINE, false, RunStyle::Single, Some(Point::new(9.0, 3.0)));
    assert_eq!((sewn[0], sewn[sewn.len() - 1]), (LINE[1], LINE[0]));
}

#[test]
fn there_and_back_lands_between_its_holes() {
    let sewn = sewn(&LINE, false, RunStyle::ThereAndBack, None);
    assert_eq!((sewn[0], sewn[sewn.len() - 1]), (LINE[0], LINE[0]));
    let inner = &sewn[1..sewn.len() - 1];
    for (i, a) in inner.iter().enumerate() {
        assert!(inner[i + 1..].iter().all(|b| a.distance(*b) > 0.4), "{sewn:?}");
    }
}

#[test]
fn a_triple_stitch_goes_forward_back_and_forward() {
    let sewn = sewn(&LINE, false, RunStyle::Triple, None);
    let xs: Vec<f64> = sewn.iter().map(|p| (p.x * 100.0).round() / 100.0).collect();
    assert_eq!(xs[..7], [0.0, 2.5, 0.0, 2.5, 5.0, 2.5, 5.0]);
}

#[test]
fn a_closed_path_starts_where_asked() {
    let square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(Point::from);
    let sewn = sewn(&square, true, RunStyle::Single, Some(Point::new(4.0, -1.0)));
    assert!(sewn[0].distance(Point::new(4.0, 0.0)) < 1e-9 && sewn[sewn.len() - 1] == sewn[0]);
    assert!(square.iter().all(|corner| sewn.contains(corner)));
}

#[test]
fn a_start_beside_a_corner_takes_the_corner() {
    let square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(Point::from);
    for start in [(9.9, -1.0), (11.0, 0.1)] {
        let sewn = sewn(&square, true, RunStyle::Single, Some(start.into()));
        assert_eq!(sewn[0], square[1]);
    }
}

#[test]
fn a_dot_gives_a_warning_and_no_stitches() {
    let result = sew("dot", &[Point::ZERO], false, &RunSettings::default(), None);
    assert!(result.value.is_empty() && result.warnings[0].to_string().starts_with("dot: "));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn no_style_makes_a_stitch_under_the_shortest(
        path in prop::collection::vec((-9.0..9.0, -9.0..9.0).prop_map(Point::from), 3..12),
        closed: bool,
        style in prop_oneof![Just(RunStyle::Single), Just(RunStyle::ThereAndBack), Just(RunStyle::Triple)],
        start in prop::option::of((-9.0..9.0, -9.0..9.0).prop_map(Point::from)),
    ) {
        let sewn = sewn(&path, closed, style, start);
        if sewn.len() > 2 {
            for pair in sewn.windows(2) {
                prop_assert!(pair[0].distance(pair[1]) > 0.4 - 1e-6, "{sewn:?}");
            }
        }
        if style == RunStyle::ThereAndBack || closed {
            prop_assert!(sewn[0].distance(sewn[sewn.len() - 1]) < 1e-9);
        }
    }
}
