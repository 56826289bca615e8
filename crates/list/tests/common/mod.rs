//! Plans for the tests of this crate.
#![allow(dead_code, reason = "every test binary uses its own part of these")]

pub mod abnf;

use laidwork_plan::{Color, Hoop, Method, Pass, PassKind, Piece, Plan, Point, Rect, Thread};
use proptest::{collection::vec, option, prelude::*, sample::select};

/// Two pieces in two threads, with everything a list can say.
pub fn example() -> Plan {
    let at = |points: &[(f64, f64)]| points.iter().map(|&(x, y)| Point::new(x, y)).collect::<Vec<_>>();
    let underlay = Pass::after_jump(PassKind::Underlay, at(&[(-12.0, 4.3), (-11.2, 4.3)]));
    let mut top = Pass::new(PassKind::Top, at(&[(-11.0, 4.1)]));
    top.trim = true;
    top.stop = true;
    let stem = Pass::after_jump(PassKind::Top, at(&[(3.0, 9.0)]));
    let thread = |color, name: &str| Thread { color, name: Some(name.into()) };
    let piece = |name: &str, method, thread, passes| Piece { name: name.into(), method, thread, passes };
    Plan {
        title: Some("Allotment patch".into()),
        drawing: Some(Rect::new(-40.0, -32.1, 40.0, 32.1)),
        hoop: Some(Hoop { width: 100.0, height: 100.0 }),
        threads: vec![
            thread(Color::new(0xe0, 0xa2, 0x1b), "Marigold"),
            thread(Color::new(0x2f, 0x5d, 0x34), "Leaf green"),
        ],
        pieces: vec![
            piece("flower/petal-1", Method::Fill, 0, vec![underlay, top]),
            piece("stem", Method::Satin, 1, vec![stem]),
        ],
    }
}

/// One line of text, with spaces, quotes, commas, signs and letters from afar.
fn text() -> impl Strategy<Value = String> {
    "[ -~éßж縫🧵]{1,12}"
}

/// Points on a grid of so many lines a millimetre.
fn point(grid: i32) -> impl Strategy<Value = Point> {
    let number = prop_oneof![
        (-200 * grid..=200 * grid).prop_map(move |n| f64::from(n) / f64::from(grid)),
        Just(0.0),
        Just(-0.0),
        Just(laidwork_list::FARTHEST),
    ];
    (number.clone(), number).prop_map(|(x, y)| Point::new(x, y))
}

fn pass(grid: i32) -> impl Strategy<Value = Pass> {
    let kind = select(PassKind::ALL.to_vec());
    (kind, vec(point(grid), 0..3), vec(point(grid), 0..6), any::<bool>(), any::<bool>())
        .prop_map(|(kind, jumps, points, trim, stop)| Pass { kind, jumps, points, trim, stop })
}

fn piece(grid: i32, threads: usize) -> impl Strategy<Value = Piece> {
    (text(), select(Method::ALL.to_vec()), 0..threads, vec(pass(grid), 0..4))
        .prop_map(|(name, method, thread, passes)| Piece { name, method, thread, passes })
}

fn drawing() -> impl Strategy<Value = Rect> {
    (-90_000..90_000i32, -90_000..90_000i32, 0..90_000i32, 0..90_000i32).prop_map(|(x, y, width, height)| {
        let at = |n: i32| f64::from(n) / 1000.0;
        Rect::new(at(x), at(y), at(x + width), at(y + height))
    })
}

fn hoop() -> impl Strategy<Value = Hoop> {
    (0..400_000i32, 0..400_000i32)
        .prop_map(|(width, height)| Hoop { width: f64::from(width) / 1000.0, height: f64::from(height) / 1000.0 })
}

fn thread() -> impl Strategy<Value = Thread> {
    (any::<[u8; 3]>(), option::of(text()))
        .prop_map(|([red, green, blue], name)| Thread { color: Color::new(red, green, blue), name })
}

/// Any plan a list can carry, its points on a grid of so many lines a millimetre.
pub fn plans(grid: i32) -> impl Strategy<Value = Plan> {
    vec(thread(), 0..4).prop_flat_map(move |threads| {
        let most = if threads.is_empty() { 0 } else { 4 };
        let pieces = vec(piece(grid, threads.len().max(1)), 0..=most);
        (option::of(text()), option::of(drawing()), option::of(hoop()), pieces).prop_map(
            move |(title, drawing, hoop, pieces)| Plan { title, drawing, hoop, threads: threads.clone(), pieces },
        )
    })
}
