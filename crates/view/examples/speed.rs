//! Times a big plan.
use laidwork_plan::{Color, Method, Pass, PassKind, Piece, Plan, Point, Thread};
use laidwork_view::{Look, png};
fn main() {
    let mut points = vec![];
    for layer in 0..2 {
        for row in 0..500 {
            for i in 0..100 {
                let i = if row % 2 == 0 { i } else { 99 - i };
                let (u, v) = (f64::from(i) * 1.1, f64::from(row) * 0.22);
                points.push(if layer == 0 { Point::new(v, u) } else { Point::new(u, v) });
            }
        }
    }
    let plan = Plan {
        threads: vec![Thread { color: Color::new(30, 90, 160), name: None }],
        pieces: vec![Piece {
            name: "x".into(),
            method: Method::Fill,
            thread: 0,
            passes: vec![Pass::after_jump(PassKind::Top, points)],
        }],
        ..Plan::default()
    };
    for scale in [3.0, 10.0, 20.0] {
        let t = std::time::Instant::now();
        let data = png(&plan, &Look { pixels_per_mm: scale, ..Look::default() }).unwrap();
        println!("{scale}: {} stitches, {:?}, {} kB", plan.stitches(), t.elapsed(), data.len() / 1000);
    }
}
