//! Every check passes on a sound plan and fails on one that breaks it.

mod common;

use common::{piece, points, rows, sound};
use laidwork_plan::{Method, Pass, PassKind, Plan, Point};
use laidwork_report::{Check, Report, ReportSettings, Verdict, report};

fn check(name: &str, spoil: impl FnOnce(&mut Plan)) -> Check {
    let mut plan = sound();
    spoil(&mut plan);
    let report = report(&plan, &ReportSettings::default());
    let check = report.checks.iter().find(|check| check.name == name);
    check.unwrap_or_else(|| panic!("no check {name}:\n{}", report.to_text())).clone()
}

fn pieces(check: &Check) -> &[usize] {
    check.place.as_ref().map_or(&[], |place| &place.pieces)
}

fn figures(plan: &Plan) -> Report {
    report(plan, &ReportSettings::default())
}

#[test]
fn a_sound_plan_passes_everything() {
    let report = figures(&sound());
    assert_eq!(report.checks.len(), 10);
    for check in &report.checks {
        assert_eq!(check.verdict, Verdict::Ok, "{check:?}");
        assert_eq!(check.advice, None);
    }
    assert!(report.passed());
}

#[test]
fn a_design_must_fit_its_hoop() {
    let check = check("hoop", |plan| plan.pieces[1] = piece("right", Method::Fill, 1, rows(32.0, 0.22, 91)));
    assert_eq!(check.verdict, Verdict::TooMuch);
    assert_eq!(check.found, "sticks out 2.0 mm at the right");
    assert_eq!(check.allowed, "100.0 x 80.0 mm");
    assert!(check.advice.is_some());
}

#[test]
fn thread_may_not_pile_up() {
    let twice = |times: usize| {
        check("thread density", move |plan| {
            let top = rows(-25.0, 0.22, 91);
            plan.pieces.extend((1..times).map(|_| piece("again", Method::Fill, 0, top.clone())));
        })
    };
    assert_eq!(twice(1).verdict, Verdict::Ok);
    assert_eq!(twice(2).verdict, Verdict::Warn);
    let check = twice(3);
    assert_eq!(check.verdict, Verdict::TooMuch, "{check:?}");
    assert_eq!(pieces(&check), [1, 3, 4]);
    assert!(check.found.starts_with("up to 1"), "{}", check.found);
}

#[test]
fn needle_points_may_not_pile_up() {
    let dense = |spacing: f64| {
        check("needle density", move |plan| {
            // Stitches of 1 mm in rows `spacing` apart.
            let top: Vec<Point> = (0..40 * 21)
                .map(|i| {
                    let (row, x) = (i / 21, i % 21);
                    Point::new(f64::from(if row % 2 == 0 { x } else { 20 - x }), f64::from(row) * spacing - 20.0)
                })
                .collect();
            plan.pieces.push(piece("dots", Method::Fill, 0, top));
        })
    };
    assert_eq!(dense(0.3).verdict, Verdict::Ok);
    assert_eq!(dense(0.2).verdict, Verdict::Warn);
    let check = dense(0.12);
    assert_eq!(check.verdict, Verdict::TooMuch);
    assert_eq!(pieces(&check), [3]);
}

#[test]
fn a_design_beyond_all_hoops_is_broken() {
    let check = check("density", |plan| {
        plan.pieces.push(piece("far", Method::Run, 0, points(&[(9e4, 9e4), (9e4 + 2.0, 9e4)])));
    });
    assert_eq!(check.verdict, Verdict::Broken);
}

#[test]
fn wide_rows_are_thin() {
    let check = check("cover", |plan| plan.pieces[1] = piece("right", Method::Fill, 1, rows(5.0, 0.4, 50)));
    assert_eq!((check.verdict, pieces(&check)), (Verdict::Thin, &[2][..]));
    assert_eq!(check.found, "threads up to 0.40 mm apart");
}

#[test]
fn a_spacing_that_is_told_goes_before_the_measured_one() {
    let settings = ReportSettings { spacings: vec![None, Some(0.5)], ..ReportSettings::default() };
    let report = report(&sound(), &settings);
    let cover = report.checks.iter().find(|check| check.name == "cover").unwrap();
    assert_eq!((cover.verdict, pieces(cover)), (Verdict::Thin, &[2][..]));
    assert!(report.passed(), "what is thin passes");
}

#[test]
fn needle_points_may_not_crowd() {
    let star = |rays: u32| {
        check("needle points", move |plan| {
            let ray = |i: u32| {
                let angle = f64::from(i) * std::f64::consts::TAU / f64::from(rays);
                let direction = laidwork_plan::Vec2::from_angle(angle);
                let middle = Point::new(0.0, -20.0);
                [middle + direction * 0.35, middle + direction * 8.0]
            };
            let top = (0..rays).flat_map(ray).collect();
            plan.pieces.push(piece("star", Method::Run, 0, top));
        })
    };
    assert_eq!(star(7).verdict, Verdict::Ok);
    assert_eq!(star(24).verdict, Verdict::Warn);
    let check = star(40);
    assert_eq!(check.verdict, Verdict::TooMuch);
    assert_eq!(pieces(&check), [3]);
}

#[test]
fn a_stitch_may_not_be_too_long() {
    let check = check("longest stitch", |plan| {
        plan.pieces.push(piece("long", Method::Run, 1, points(&[(-10.0, -20.0), (2.5, -20.0)])));
    });
    assert_eq!((check.verdict, check.found.as_str()), (Verdict::TooMuch, "12.50 mm"));
    let place = check.place.unwrap();
    assert_eq!((place.x, place.y, place.pieces), (Some(2.5), Some(-20.0), vec![3]));
}

#[test]
fn stitches_may_not_be_too_short() {
    let short = |count: usize| {
        check("short stitches", move |plan| {
            let passes = &mut plan.pieces[0].passes;
            for i in 0..count {
                let at = passes[1].points[i * 4 + 1];
                passes[1].points.insert(i * 4 + 2, at + laidwork_plan::Vec2::new(0.1, 0.1));
            }
        })
    };
    assert_eq!(short(0).verdict, Verdict::Ok);
    assert_eq!(short(3).verdict, Verdict::Warn);
    assert_eq!(short(60).verdict, Verdict::TooMuch);
    assert!(short(3).found.starts_with("3 under 0.3 mm"));
}

#[test]
fn ties_may_be_short() {
    let check = check("short stitches", |plan| {
        let tie = &mut plan.pieces[0].passes[0].points;
        let at = tie[1];
        tie.push(at - laidwork_plan::Vec2::new(0.2, 0.0));
        tie.push(at);
    });
    assert_eq!(check.verdict, Verdict::Ok);
}

#[test]
fn a_stitch_has_length() {
    let check = check("stitches of no length", |plan| {
        let top = &mut plan.pieces[0].passes[1].points;
        let again = top[7];
        top.insert(7, again);
    });
    assert_eq!((check.verdict, check.found.as_str()), (Verdict::Broken, "1"));
}

#[test]
fn threads_may_not_be_dragged_far() {
    let float = |length: f64| {
        check("floats", move |plan| {
            let last = *plan.pieces[1].passes[1].points.last().unwrap();
            let from = last + laidwork_plan::Vec2::new(length, 0.0);
            plan.pieces[1].passes[2].trim = false;
            plan.pieces.push(piece("next", Method::Run, 1, vec![from, from + laidwork_plan::Vec2::new(3.0, 0.0)]));
        })
    };
    assert_eq!(float(1.9).verdict, Verdict::Ok);
    assert_eq!(float(2.5).verdict, Verdict::Warn);
    let check = float(5.0);
    assert_eq!(check.verdict, Verdict::TooMuch);
    assert_eq!(check.found, "1 over 2 mm, the longest 5.0 mm");
    assert_eq!(pieces(&check), [3]);
}

#[test]
fn a_plan_must_keep_its_promises() {
    let check = check("promises of the plan", |plan| {
        plan.pieces[0].passes.remove(0);
        plan.pieces[1].passes.push(Pass::new(PassKind::Top, Vec::new()));
    });
    assert_eq!(check.verdict, Verdict::Broken);
    assert!(check.found.starts_with("2 broken, the first: "), "{}", check.found);
}

#[test]
fn one_check_that_fails_fails_the_report() {
    let mut plan = sound();
    plan.hoop = Some(laidwork_plan::Hoop { width: 30.0, height: 30.0 });
    assert!(!figures(&plan).passed());
}
