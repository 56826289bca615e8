//! Programs against the rules of NISTIR 6556, and there and back.

use laidwork_gcode::{Block, Error, Hoop, Origin, Settings, Template, read, write};
use laidwork_plan::{Color, Method, Pass, PassKind, Piece, Plan, Point, Thread};
use proptest::prelude::*;

/// The cases of `fixtures/reference/gcode_rs274_cases.json`, which names its source.
fn cases(kind: &str) -> Vec<serde_json::Value> {
    let cases: serde_json::Value =
        serde_json::from_str(include_str!("../../../fixtures/reference/gcode_rs274_cases.json")).unwrap();
    let cases = cases[kind].as_array().unwrap().clone();
    assert!(!cases.is_empty());
    cases
}

#[test]
fn lines_that_mean_the_same_read_the_same() {
    for pair in cases("equivalent_lines") {
        let block = |i: usize| Block::parse(pair[i].as_str().unwrap()).unwrap().words;
        assert_eq!(block(0), block(1), "{pair}");
    }
}

#[test]
fn lines_the_standard_forbids_are_refused() {
    for line in cases("reject") {
        assert!(Block::parse(line.as_str().unwrap()).is_err(), "{line}");
    }
}

#[test]
fn what_else_is_no_line_is_refused() {
    for line in
        ["X1e3", "G", "X", "X1.2.3", "G1.23 X1", "T1.5", "M3.5", "X#1", "X[1+2]", "1", "G90 G91", "M1 M3 M7 M6 M48"]
    {
        assert!(Block::parse(line).is_err(), "{line}");
    }
    assert!(Block::parse(&"(".repeat(300)).is_err());
    for line in ["", "  ", "N5 G1X1", "/ G0 X1", "(a comment)", "g1 x-.5", "G20", "G4 P0.5", "M6 T2"] {
        assert!(Block::parse(line).is_ok(), "{line}");
    }
}

fn hooped() -> Settings {
    Settings { hoop: Some(Hoop::Rectangle { width: 100.0, height: 80.0 }), ..Settings::default() }
}

fn plan_of(pieces: Vec<Piece>) -> Plan {
    let thread = |red, name: &str| Thread { color: Color::new(red, 20, 30), name: Some(name.into()) };
    Plan {
        title: Some("Tool roll".into()),
        threads: vec![thread(1, "Loam"), thread(2, "Pea green")],
        pieces,
        ..Plan::default()
    }
}

fn piece(thread: usize, passes: Vec<Pass>) -> Piece {
    Piece { name: format!("thread {}", thread + 1), method: Method::Manual, thread, passes }
}

fn small() -> Plan {
    let at = |x, y| Point::new(x, y);
    let mut first = Pass::after_jump(PassKind::Top, vec![at(0.0, 0.0), at(2.0, 1.0)]);
    first.trim = true;
    let second = Pass::after_jump(PassKind::Top, vec![at(-5.0, 3.25), at(-5.0, 5.5)]);
    plan_of(vec![piece(0, vec![first]), piece(1, vec![second])])
}

#[test]
fn a_program_without_a_needle_is_told() {
    let settings = Settings { needle: "".parse().unwrap(), ..hooped() };
    let program = write(&small(), &settings).unwrap();
    assert!(program.warnings.iter().any(|warning| warning.to_string().contains("only moves the hoop")));
    assert!(!write(&small(), &hooped()).unwrap().warnings.iter().any(|w| w.to_string().contains("only moves")));
}

#[test]
fn a_misspelt_placeholder_is_told() {
    let error = "T{thred} M0".parse::<Template>().unwrap_err().to_string();
    assert!(error.contains("{thread}"), "{error}");
}

#[test]
fn a_program_is_what_the_standard_says() {
    let program = write(&small(), &hooped()).unwrap().value;
    let wanted = "(Tool roll)\n(hoop 100.0 x 80.0 mm, origin at its centre, y up)\n(thread 1 #01141e Loam)\n\
        (thread 2 #02141e Pea green)\nG21 G90 G94\nF3000\nT1\n(piece 1 manual: thread 1)\n(top)\n\
        G0 X0.000 Y0.000\nG1 X0.000 Y0.000\nG0 Z-5\nG0 Z5\nG1 X2.000 Y-1.000\nG0 Z-5\nG0 Z5\n\
        M0 (MSG, cut the thread)\n(MSG, thread 2 #02141e Pea green)\nT2 M0\n(piece 2 manual: thread 2)\n(top)\n\
        G0 X-5.000 Y-3.250\nG1 X-5.000 Y-3.250\nG0 Z-5\nG0 Z5\nG1 X-5.000 Y-5.500\nG0 Z-5\nG0 Z5\nM2\n";
    assert_eq!(program, wanted);
}

#[test]
fn there_and_back_keeps_points_cuts_and_threads() {
    let read_back = read(&write(&small(), &hooped()).unwrap().value, &hooped()).unwrap().value;
    let mut wanted = small();
    wanted.hoop = Some(laidwork_plan::Hoop { width: 100.0, height: 80.0 });
    assert_eq!(read_back, wanted);
}

#[test]
fn the_needle_is_what_the_user_says() {
    let needle = "M3 S1000 | G4 P0.02 | M5".parse().unwrap();
    let settings = Settings { needle, origin: Origin::Corner, ..hooped() };
    let program = write(&small(), &settings).unwrap().value;
    assert!(program.contains("G1 X52.000 Y39.000\nM3 S1000\nG4 P0.02\nM5\n"), "{program}");
    assert_eq!(read(&program, &settings).unwrap().value.stitches(), 4);
    // With another needle there are no stitches in it.
    let other = read(&program, &hooped()).unwrap_err().to_string();
    assert!(other.contains("works the needle") && other.contains("M3"), "{other}");
}

#[test]
fn nothing_is_written_out_of_the_hoop() {
    let mut plan = small();
    assert_eq!(write(&plan, &Settings::default()), Err(Error::NoHoop));
    plan.pieces[1].passes[0].points[1] = Point::new(-5.0, 43.5);
    match write(&plan, &hooped()) {
        Err(Error::OutOfHoop { piece: 2, by, more: 0, .. }) => assert!((by - 3.5).abs() < 1e-9),
        other => panic!("{other:?}"),
    }
    let round = Settings { hoop: Some(Hoop::Round { diameter: 10.0 }), ..Settings::default() };
    assert!(matches!(write(&small(), &round), Err(Error::OutOfHoop { .. })));
}

#[test]
fn programs_of_others_are_read() {
    let program = "%\nG20 G91\nG0 X1 Y1\nG1 X0 Y0\nG0 Z-5\nG0 Z5\nG1 Y-.1\nG0 Z-5\nG0 Z5\nM0\nG21 G90\nG1 X0 Y0\nG0 Z-5\nG0 Z5\n%\n";
    let plan = read(program, &Settings::default()).unwrap().value;
    let points: Vec<Point> = plan.passes().flat_map(|(_, pass)| pass.points.clone()).collect();
    assert_eq!(points, [Point::new(25.4, -25.4), Point::new(25.4, -22.86), Point::new(0.0, 0.0)]);
    assert!(plan.pieces[0].passes[0].stop);
}

#[test]
fn what_would_be_read_wrongly_is_refused_with_its_line() {
    for (program, line) in [
        ("G21\nG2 X1 Y1 I1 J0\nM2\n", 2),
        ("X1 Y1\nM2\n", 1),
        ("G0 X1\nG92 X0\nM2\n", 2),
        ("G0 X1\n", 1),
        ("%\nG0 X1\n", 2),
        ("G0 X1\nhello\nM2\n", 2),
        ("G0 X9999999\nM2\n", 1),
        ("T1001\nM2\n", 1),
    ] {
        match read(program, &Settings::default()) {
            Err(Error::Line { line: found, .. }) => assert_eq!(found, line, "{program:?}"),
            other => panic!("{program:?}: {other:?}"),
        }
    }
}

#[test]
fn names_cannot_end_a_comment() {
    let mut plan = small();
    plan.title = Some("a) M30 (b \u{e9}".repeat(40));
    plan.pieces[0].name = "x)\nM2".into();
    let program = write(&plan, &hooped()).unwrap().value;
    assert!(program.lines().all(|line| Block::parse(line).is_ok()));
    assert_eq!(read(&program, &hooped()).unwrap().value.stitches(), 4);
}

prop_compose! {
    fn pass()(
        points in prop::collection::vec((-4900..4900i32, -3900..3900i32), 1..8),
        jumps in prop::collection::vec((-4900..4900i32, -3900..3900i32), 0..3),
        trim: bool,
        stop: bool,
    ) -> Pass {
        let points: Vec<Point> = points.iter().map(|&(x, y)| Point::new(f64::from(x) / 100.0, f64::from(y) / 100.0)).collect();
        let mut jumps: Vec<Point> = jumps.iter().map(|&(x, y)| Point::new(f64::from(x) / 100.0, f64::from(y) / 100.0)).collect();
        jumps.extend(points.first());
        Pass { kind: PassKind::Top, jumps, points, trim, stop }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn any_plan_in_the_hoop_comes_back(
        first in prop::collection::vec(pass(), 1..4),
        second in prop::collection::vec(pass(), 1..4),
        corner: bool,
    ) {
        let plan = plan_of(vec![piece(0, first), piece(1, second)]);
        let settings = Settings { origin: if corner { Origin::Corner } else { Origin::Centre }, ..hooped() };
        let program = write(&plan, &settings).unwrap().value;
        prop_assert!(program.lines().all(|line| Block::parse(line).is_ok()));
        let back = read(&program, &settings).unwrap().value;
        prop_assert_eq!(back.pieces, plan.pieces);
        prop_assert_eq!(back.threads, plan.threads);
    }

    #[test]
    fn no_text_makes_the_reader_panic(text in "[GMXYZTFNP0-9 .()%/\n+-]{0,200}") {
        let _ = read(&text, &Settings::default());
    }
}
