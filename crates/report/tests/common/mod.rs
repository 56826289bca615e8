//! A sound plan for the tests of this crate, to be spoilt by each.
#![allow(dead_code, reason = "every test binary uses its own part of these")]

use laidwork_plan::{Color, Hoop, Method, Pass, PassKind, Piece, Plan, Point, Thread};

pub fn points(points: &[(f64, f64)]) -> Vec<Point> {
    points.iter().map(|&(x, y)| Point::new(x, y)).collect()
}

/// Rows 20 mm long and `spacing` apart from (left, 0) down, in stitches of up to 4 mm.
pub fn rows(left: f64, spacing: f64, rows: i32) -> Vec<Point> {
    let mut all = Vec::new();
    for row in 0..rows {
        let shift = f64::from(row % 3);
        // A row begins 0.8 mm inside, so that no turn is a short stitch.
        let mut xs = vec![0.8];
        xs.extend((0..5).map(|i| f64::from(i) * 4.0 + 2.0 + shift).filter(|&x| x < 19.2));
        xs.push(20.0);
        let turned = |x: f64| if row % 2 == 1 { 20.0 - x } else { x };
        all.extend(xs.into_iter().map(|x| Point::new(left + turned(x), f64::from(row) * spacing)));
    }
    all
}

/// A piece tied in and off around its top points.
pub fn piece(name: &str, method: Method, thread: usize, top: Vec<Point>) -> Piece {
    let along = laidwork_plan::Vec2::new(0.8, 0.0);
    let (first, last) = (top[0], top[top.len() - 1]);
    let tie_in = Pass::after_jump(PassKind::Tie, vec![first, first + along]);
    let mut tie_off = Pass::new(PassKind::Tie, vec![last - along, last]);
    tie_off.trim = true;
    Piece { name: name.into(), method, thread, passes: vec![tie_in, Pass::new(PassKind::Top, top), tie_off] }
}

/// Two fills of 20 x 20 mm side by side in two threads.
pub fn sound() -> Plan {
    let thread = |red, name: &str| Thread { color: Color::new(red, 0x40, 0x20), name: Some(name.into()) };
    Plan {
        title: Some("Two squares".into()),
        hoop: Some(Hoop { width: 100.0, height: 80.0 }),
        threads: vec![thread(0xe0, "Marigold"), thread(0x20, "Yew")],
        pieces: vec![
            piece("left", Method::Fill, 0, rows(-25.0, 0.22, 91)),
            piece("right", Method::Fill, 1, rows(5.0, 0.22, 91)),
        ],
        ..Plan::default()
    }
}
