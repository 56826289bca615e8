//! Shapes whose middle is known, shapes of all sizes, and shapes nobody would draw.

mod common;

use common::{bars, figures, points, polygon};
use kurbo::Point;
use laidwork_geometry::{FillRule, Region, Ring};
use laidwork_satin::{Ends, SatinSettings, decompose, from_outline};
use proptest::prelude::*;

fn oval(a: f64, b: f64, count: usize) -> Vec<(f64, f64)> {
    (0..count).map(|i| i as f64 * std::f64::consts::TAU / count as f64).map(|t| (a * t.cos(), b * t.sin())).collect()
}

#[test]
fn the_middle_of_a_bar_is_its_axis() {
    // The medial axis of a rectangle is the segment between the points half a
    // width from its ends; straight on from there the column follows the axis too.
    let parts = decompose(&bars(&[((0.0, 0.0), (30.0, 0.0), 4.0)]), &SatinSettings::default());
    assert_eq!(parts.columns.len(), 1);
    let column = &parts.columns[0];
    assert!(column.centre().all(|p| p.y.abs() < 0.03), "{:?}", column.centre().collect::<Vec<_>>());
    assert!(column.crossings.iter().all(|c| (c.width() - 4.0).abs() < 0.05));
    assert!((column.length() - 30.0).abs() < 0.1);
}

#[test]
fn the_threads_of_a_round_end_lie_as_those_of_its_bar() {
    // All discs of a round end are one, and the chords between their triangles turn about it.
    for (radius, count, turn) in [(2.5, 40, 0.0), (2.5, 41, 0.5), (1.2, 24, 1.1), (3.0, 90, 2.0)] {
        let half = |way: f64| {
            let at =
                move |i: i32| -std::f64::consts::FRAC_PI_2 + f64::from(i) * std::f64::consts::PI / f64::from(count);
            (0..=count).map(at).map(move |t| (way * (12.0 + radius * t.cos()), way * radius * t.sin()))
        };
        let (sin, cos) = f64::sin_cos(turn);
        let outline = half(1.0).chain(half(-1.0)).map(|(x, y)| (x * cos - y * sin, x * sin + y * cos)).collect();
        let parts = decompose(&polygon(&[outline]), &SatinSettings::default());
        assert_eq!(parts.columns.len(), 1);
        let across = kurbo::Vec2::new(-sin, cos);
        for crossing in &parts.columns[0].crossings {
            assert!(crossing.direction().cross(across).abs() < 0.1, "{radius} {count}: {crossing:?}");
        }
    }
}

#[test]
fn the_middle_of_an_ellipse_is_its_long_axis() {
    // The medial axis of an ellipse with half-axes a and b is the part of the long axis
    // between the centres of curvature of its ends, a - b²/a from the middle.
    let (a, b) = (12.0, 3.0);
    let parts = decompose(&polygon(&[oval(a, b, 400)]), &SatinSettings::default());
    assert_eq!(parts.columns.len(), 1);
    let reach = a - b * b / a;
    let far = |way: f64| parts.columns[0].centre().map(|p| way * p.x).fold(0.0, f64::max);
    assert!(far(1.0) >= reach && far(-1.0) >= reach, "{} {} {reach}", far(1.0), far(-1.0));
    for crossing in &parts.columns[0].crossings {
        let middle = crossing.middle();
        assert!(middle.y.abs() < 0.06, "{middle}");
        if middle.x.abs() < reach {
            let exact = 2.0 * b * (1.0 - (middle.x / a).powi(2)).sqrt();
            assert!((crossing.width() - exact).abs() < 0.06, "{middle}: {} {exact}", crossing.width());
        }
    }
}

#[test]
fn a_ring_is_one_closed_column_of_even_width() {
    let parts = decompose(&polygon(&[oval(10.0, 10.0, 200), oval(7.0, 7.0, 150)]), &SatinSettings::default());
    assert_eq!(parts.columns.len(), 1);
    assert!(parts.columns[0].closed);
    assert!(parts.columns[0].crossings.iter().all(|c| (c.width() - 3.0).abs() < 0.03));
    assert!((parts.columns[0].length() - std::f64::consts::TAU * 8.5).abs() < 0.1);
}

#[test]
fn compact_shapes_are_sewn_whole() {
    let settings = SatinSettings::default();
    let shapes = [
        polygon(&[oval(3.4, 3.4, 100)]),
        polygon(&[oval(1.0, 1.0, 60)]),
        polygon(&[oval(4.2, 3.0, 100)]),
        bars(&[((0.0, 0.0), (5.0, 0.0), 5.0)]),
        bars(&[((0.0, 0.0), (3.0, 4.0), 4.0)]),
    ];
    for shape in &shapes {
        let sewn = from_outline("blob", shape, &settings, Ends::default());
        let figures = figures(shape, &sewn.value);
        assert!(figures.coverage > 0.985 && figures.showing < 0.01, "{figures:?}");
        assert!(figures.longest <= 8.0 && figures.shortest >= 0.3, "{figures:?}");
    }
}

#[test]
fn neighbouring_threads_turn_by_little() {
    let settings = SatinSettings::default();
    for (letter, shape, _) in common::letters() {
        for column in decompose(&shape, &settings).columns {
            let threads = laidwork_satin::lay(&column.opened_at(0.0), &settings).crossings;
            for pair in threads.windows(2) {
                let (u, v) = (pair[0].direction(), pair[1].direction());
                let turn = u.cross(v).atan2(u.dot(v)).to_degrees().abs();
                // Stubs of threads at slanted ends turn without anybody seeing it.
                let seen = pair.iter().all(|c| c.width() > 1.0);
                assert!(!seen || turn <= 12.0, "{letter}: {turn}");
            }
        }
    }
}

#[test]
fn a_wide_part_is_filled_and_its_handle_is_a_column() {
    let pan = bars(&[((0.0, 0.0), (20.0, 0.0), 20.0), ((15.0, 0.0), (45.0, 0.0), 4.0)]);
    let parts = decompose(&pan, &SatinSettings::default());
    // Which way four corners on a circle are joined is open, and may part a corner of the handle's root from it.
    let long = parts.columns.iter().filter(|column| column.length() > 5.0).count();
    assert_eq!((parts.fills.len(), long), (1, 1));
    assert!(parts.columns.len() <= 2);
    let sewn = from_outline("pan", &pan, &SatinSettings::default(), Ends::default());
    let figures = figures(&pan, &sewn.value);
    assert!(figures.coverage > 0.98 && figures.showing < 0.01, "{figures:?}");
}

#[test]
fn a_thin_line_is_run_along() {
    let line = bars(&[((0.0, 0.0), (30.0, 8.0), 0.5)]);
    let parts = decompose(&line, &SatinSettings::default());
    assert_eq!((parts.runs.len(), parts.columns.len()), (1, 0));
    let sewn = from_outline("line", &line, &SatinSettings::default(), Ends::default());
    let figures = figures(&line, &sewn.value);
    assert!(figures.coverage > 0.9 && figures.stitches < 60, "{figures:?}");
}

#[test]
fn nothing_gives_no_stitches_and_a_warning() {
    for shape in [laidwork_geometry::Polygon::default(), bars(&[((0.0, 0.0), (0.05, 0.0), 0.05)])] {
        let sewn = from_outline("speck", &shape, &SatinSettings::default(), Ends::default());
        assert!(sewn.value.is_empty() && sewn.warnings.len() == 1, "{sewn:?}");
        assert_eq!(sewn.warnings[0].place.as_deref(), Some("speck"));
    }
}

/// Rings of random corners, crossing or not, as the polygons they enclose.
fn random_region() -> impl Strategy<Value = Region> {
    let corner = (-20.0..20.0, -20.0..20.0).prop_map(|(x, y)| Point::new(x, y));
    let ring = prop::collection::vec(corner, 3..12).prop_map(Ring::new);
    prop::collection::vec(ring, 1..3).prop_map(|rings| Region::from_rings(&rings, FillRule::EvenOdd))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    #[test]
    fn any_outline_is_one_chain_of_sound_stitches(region in random_region(), x in -30.0..30.0, y in -30.0..30.0) {
        let settings = SatinSettings::default();
        let ends = Ends { start: Some(Point::new(x, y)), end: Some(Point::new(y, x)) };
        for shape in &region.polygons {
            let sewn = from_outline("random", shape, &settings, ends);
            let points = points(&sewn.value);
            prop_assert!(sewn.value.iter().all(|pass| pass.jumps.is_empty() && !pass.points.is_empty()));
            for pair in points.windows(2) {
                let length = pair[0].1.distance(pair[1].1);
                prop_assert!((0.3..=12.0).contains(&length), "a stitch of {length} mm");
            }
            prop_assert_eq!(&sewn, &from_outline("random", shape, &settings, ends));
        }
    }

    #[test]
    fn any_settings_are_survived(
        spacing in prop::num::f64::ANY, width in prop::num::f64::ANY, push in prop::num::f64::ANY, left in prop::num::f64::ANY,
    ) {
        let pull = laidwork_satin::Pull { left, right: push, percent: width, limit: spacing };
        let settings = SatinSettings { spacing, max_width: width, min_width: left, push, pull, overlap: push, ..SatinSettings::default() };
        let shape = bars(&[((0.0, 0.0), (12.0, 0.0), 3.0), ((6.0, 0.0), (6.0, 9.0), 2.0)]);
        let sewn = from_outline("any", &shape, &settings, Ends::default());
        prop_assert!(points(&sewn.value).iter().all(|p| p.1.is_finite()));
    }
}
