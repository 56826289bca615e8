//! The figures of a report, against sums made by hand.

mod common;

use common::{piece, points, rows, sound};
use laidwork_plan::{Color, Hoop, Method, Pass, PassKind, Piece, Plan, Point, Thread};
use laidwork_report::{MaterialFigures, OrderFigures, ReportSettings, compare, report, schema};
use proptest::prelude::*;

fn settings() -> ReportSettings {
    ReportSettings::default()
}

/// Two pieces in two threads and one more in the first.
fn small() -> Plan {
    let thread = |red| Thread { color: Color::new(red, 0, 0), name: None };
    Plan {
        threads: vec![thread(1), thread(2)],
        pieces: vec![
            piece("a", Method::Run, 0, points(&[(0.0, 0.0), (3.0, 4.0)])),
            piece("b", Method::Run, 1, points(&[(10.0, 0.0), (14.0, 0.0), (14.0, 2.0)])),
            piece("c", Method::Run, 0, points(&[(0.0, 10.0), (1.0, 10.0)])),
        ],
        ..Plan::default()
    }
}

#[test]
fn the_whole_is_the_sum_of_its_steps_and_threads() {
    let report = report(&small(), &settings());
    assert_eq!((report.total.stitches, report.total.trims, report.total.jumps), (19, 3, 3));
    assert_eq!(report.total.thread_changes, 2);
    let by_step: Vec<_> = report.steps.iter().map(|s| (s.thread, s.first_piece, s.last_piece)).collect();
    assert_eq!(by_step, [(1, 1, 1), (2, 2, 2), (1, 3, 3)]);
    let by_thread: Vec<_> = report.threads.iter().map(|t| (t.pieces, t.tally.stitches)).collect();
    assert_eq!(by_thread, [(2, 12), (1, 7)]);
    let seconds: f64 = report.threads.iter().map(|thread| thread.tally.seconds).sum();
    assert!((seconds - report.total.seconds).abs() < 1e-9);
    // 19 stitches at 700 a minute, three trims of 8 s, two changes of 75 s.
    assert!((report.total.seconds - (19.0 * 60.0 / 700.0 + 24.0 + 150.0)).abs() < 0.01);
}

#[test]
fn thread_used_follows_from_thread_laid() {
    let report = report(&small(), &settings());
    // Piece b: 0.8 tied in, 0.8 back, 4 and 2 along, 0.8 and 0.8 tied off.
    let b = &report.pieces[1];
    let off = (14.0_f64 - 13.2).hypot(0.0);
    assert!((b.laid.top - (0.8 + 4.0 + 2.0)).abs() < 1e-9, "{b:?}");
    assert!((b.laid.tie - (0.8 + off + 0.8)).abs() < 1e-9, "{b:?}");
    let laid = report.threads[1].tally.laid_mm;
    assert!((laid - b.laid.sum()).abs() < 1e-9);
    assert!((report.threads[1].tally.top_m - (laid * 1.15 + 7.0 * 0.6) / 1000.0).abs() < 6e-4);
}

#[test]
fn stitches_of_a_piece_are_measured_without_its_ties() {
    let b = &report(&small(), &settings()).pieces[1];
    assert_eq!((b.shortest, b.longest, b.stitches), (Some(0.8), Some(4.0), 7));
    assert!((b.mean.unwrap() - 6.8 / 3.0).abs() < 1e-3);
}

#[test]
fn the_hoop_says_how_much_room_there_is() {
    let fit = report(&sound(), &settings()).hoop.unwrap();
    assert!((fit.left - 25.0).abs() < 1e-9 && (fit.right - 25.0).abs() < 1e-9, "{fit:?}");
    assert!((fit.above - 40.0).abs() < 1e-9 && (fit.below - 20.2).abs() < 1e-9, "{fit:?}");
}

#[test]
fn an_even_fill_is_as_dense_as_its_spacing_says() {
    let density = report(&sound(), &settings()).density.unwrap();
    // 1 / 0.22 mm of thread on a square millimetre; cells at the edge are not full.
    assert!((4.0..4.7).contains(&density.thread_mean), "{density:?}");
    assert!((1.0..1.8).contains(&density.needle_mean), "{density:?}");
    assert!(density.thread_p99 <= density.thread_most.value);
    let squares = 2.0 * 20.0 * 20.0 / 4.0;
    assert!((density.covered_cells as f64 - squares).abs() <= 0.15 * squares, "{density:?}");
}

#[test]
fn spacings_are_told_or_measured() {
    let told = ReportSettings { spacings: vec![Some(0.22)], ..settings() };
    let report = report(&sound(), &told);
    let text = "0.22 mm (4.5 lines/mm, 0.44 mm there-and-back)";
    assert_eq!(report.pieces[0].spacing.unwrap().to_string(), text);
    assert_eq!(report.pieces[1].spacing, None);
    assert_eq!(report.pieces[1].measured_spacing.unwrap().to_string(), text);
}

/// Holds `text` against the golden file `name`; with LAIDWORK_UPDATE set, writes it and fails.
#[track_caller]
fn golden(name: &str, text: &str) {
    let path = format!("{}/tests/{name}", env!("CARGO_MANIFEST_DIR"));
    if std::env::var_os("LAIDWORK_UPDATE").is_some() {
        std::fs::write(&path, text).unwrap();
        panic!("{name} was written; run again without LAIDWORK_UPDATE");
    }
    assert_eq!(text, std::fs::read_to_string(&path).unwrap(), "{name}");
    assert!(!text.contains('\u{1b}'));
    assert!(text.lines().all(|line| line.trim_end() == line));
}

#[test]
fn a_round_hoop_is_left_at_its_corners() {
    let mut plan = sound();
    plan.hoop = plan.bounds().map(|bounds| Hoop { width: 2.0 * bounds.x1.max(bounds.y1), height: 400.0 });
    let round = ReportSettings { round_hoop: true, ..settings() };
    let fit = report(&plan, &round).hoop.unwrap();
    let points = plan.passes().flat_map(|(_, pass)| &pass.points);
    let farthest = points.map(|point| point.to_vec2().hypot()).fold(0.0, f64::max);
    assert!((fit.rim.unwrap() - (fit.width / 2.0 - farthest)).abs() < 1e-3);
    assert!(fit.rim.unwrap() < 0.0 && fit.least() <= fit.rim.unwrap());
    assert!(!report(&plan, &round).passed());
    let hoop = report(&plan, &round).checks.into_iter().find(|check| check.name == "hoop").unwrap();
    assert!(hoop.found.contains("over the round rim"), "{}", hoop.found);
}

#[test]
fn order_and_material_are_told() {
    let told = ReportSettings {
        order: Some(OrderFigures { seconds: 60.0, drawing_order_seconds: 90.0, lower_bound: 50.0 }),
        materials: vec![
            MaterialFigures { name: "jersey".into(), effects: vec!["pull 0.35".into()] },
            MaterialFigures { name: "towel".into(), effects: vec!["topping: film".into()] },
        ],
        ..settings()
    };
    let text = report(&sound(), &told).to_text();
    assert!(text.contains("as drawn 1 min 30 s"), "{text}");
    assert!(text.contains("\nMaterial: jersey\n  pull 0.35\n\nMaterial: towel\n  topping: film\n"), "{text}");
}

#[test]
fn the_text_is_plain_and_aligned() {
    golden("two-squares.txt", &report(&sound(), &settings()).to_text());
}

#[test]
fn the_text_says_what_to_do() {
    let mut plan = sound();
    plan.pieces.push(piece("border", Method::Satin, 0, rows(12.0, 0.05, 60)));
    plan.hoop = Some(laidwork_plan::Hoop { width: 52.0, height: 60.0 });
    golden("too-much.txt", &report(&plan, &settings()).to_text());
}

#[test]
fn the_worksheet_has_all_that_is_needed_beside_the_machine() {
    let mut plan = sound();
    plan.pieces.push(piece("border", Method::Satin, 0, rows(12.0, 0.05, 60)));
    golden("worksheet.txt", &report(&plan, &settings()).to_worksheet());
}

#[test]
fn a_report_comes_back_from_json() {
    let report = report(&sound(), &settings());
    let json = serde_json::to_string(&report).unwrap();
    assert!(json.contains("\"verdict\":\"ok\"") && json.contains("\"where\":"), "{json}");
    assert_eq!(serde_json::from_str::<laidwork_report::Report>(&json).unwrap(), report);
}

#[test]
fn the_published_schema_is_the_one_in_the_code() {
    let published: serde_json::Value = serde_json::from_str(include_str!("../../../docs/report.schema.json")).unwrap();
    assert_eq!(published, schema().to_value());
}

#[test]
fn an_empty_plan_has_an_empty_report() {
    let report = report(&Plan::default(), &settings());
    assert!(report.passed() && report.size.is_none() && report.density.is_none());
    assert!(!report.to_text().is_empty());
}

#[test]
fn a_change_is_seen_in_the_comparison() {
    let mut after = sound();
    after.pieces[1] = piece("right", Method::Fill, 1, rows(32.0, 0.3, 67));
    let comparison = compare(&report(&sound(), &settings()), &report(&after, &settings()));
    let stitches = comparison.figures.iter().find(|change| change.figure == "stitches").unwrap();
    assert!(stitches.after < stitches.before);
    let turned: Vec<&str> = comparison.checks.iter().map(|turn| turn.check.as_str()).collect();
    assert_eq!(turned, ["hoop"]);
    assert!(comparison.to_string().ends_with("hoop: ok -> too much\n"), "{comparison}");
}

fn any_piece() -> impl Strategy<Value = Piece> {
    let number = || prop_oneof![-50.0..50.0_f64, Just(f64::NAN), Just(f64::INFINITY), Just(1e300), Just(0.0)];
    let point = (number(), number()).prop_map(|(x, y)| Point::new(x, y));
    let pass = (prop::sample::select(PassKind::ALL.to_vec()), prop::collection::vec(point, 0..12), any::<bool>());
    let pass = pass.prop_map(
        |(kind, points, jump)| {
            if jump { Pass::after_jump(kind, points) } else { Pass::new(kind, points) }
        },
    );
    let thread = prop_oneof![0..3usize, Just(usize::MAX)];
    (prop::sample::select(Method::ALL.to_vec()), thread, prop::collection::vec(pass, 0..4))
        .prop_map(|(method, thread, passes)| Piece { name: "any".into(), method, thread, passes })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn no_plan_makes_the_report_panic(pieces in prop::collection::vec(any_piece(), 0..4)) {
        let plan = Plan { pieces, ..small() };
        let report = report(&plan, &settings());
        let json = serde_json::to_value(&report).unwrap();
        prop_assert_eq!(serde_json::from_value::<laidwork_report::Report>(json).unwrap(), report.clone());
        prop_assert!(report.to_text().lines().count() > 5);
    }
}
