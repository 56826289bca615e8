//! Draws a made-up plan: `cargo run --example show -- OUT.png [PIXELS_PER_MM]`.
use laidwork_plan::{Color, Method, Pass, PassKind, Piece, Plan, Point, Thread};
use laidwork_view::{Look, png};

fn disc(cx: f64, cy: f64, r: f64, angle: f64, spacing: f64, stitch: f64) -> Vec<Point> {
    let (s, c) = angle.to_radians().sin_cos();
    let mut out = vec![];
    let n = (2.0 * r / spacing) as i32;
    for i in 0..n {
        let v = -r + (f64::from(i) + 0.5) * spacing;
        let h = (r * r - v * v).sqrt();
        let off = f64::from(i % 4) * stitch / 4.0;
        let mut us = vec![-h];
        let mut u = ((-h + off) / stitch).ceil() * stitch - off;
        while u < h {
            if u > -h + 0.8 && u < h - 0.8 {
                us.push(u);
            }
            u += stitch;
        }
        us.push(h);
        if i % 2 == 1 {
            us.reverse();
        }
        out.extend(us.iter().map(|u| Point::new(cx + u * c - v * s, cy + u * s + v * c)));
    }
    out
}
fn ring(cx: f64, cy: f64, r0: f64, r1: f64) -> Vec<Point> {
    let n = (r1 * std::f64::consts::TAU / 0.2) as i32;
    (0..=n)
        .map(|i| {
            let a = f64::from(i) / f64::from(n) * std::f64::consts::TAU;
            let r = if i % 2 == 0 { r0 } else { r1 };
            Point::new(cx + r * a.cos(), cy + r * a.sin())
        })
        .collect()
}
fn wave(x: f64, y: f64, len: f64, amp: f64, step: f64) -> Vec<Point> {
    let n = (len / step) as i32;
    (0..=n)
        .map(|i| {
            let u = f64::from(i) * step;
            Point::new(x + u, y + amp * (u * 0.4).sin())
        })
        .collect()
}

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let thread = |r, g, b| Thread { color: Color::new(r, g, b), name: None };
    let piece = |thread, method, passes| Piece { name: "x".into(), method, thread, passes };
    let top = |p| vec![Pass::after_jump(PassKind::Top, p)];
    let cut = |mut p: Vec<Pass>| {
        if let Some(l) = p.last_mut() {
            l.trim = true;
        }
        p
    };
    let mut ul = Pass::after_jump(PassKind::Underlay, disc(0.0, 0.0, 11.0, 120.0, 2.5, 2.5));
    ul.trim = false;
    let mut passes = vec![ul];
    passes.push(Pass::new(PassKind::Top, disc(0.0, 0.0, 12.0, 30.0, 0.22, 4.0)));
    let plan = Plan {
        threads: vec![
            thread(0x2f, 0x5d, 0x34),
            thread(0xe0, 0xa2, 0x1b),
            thread(0x9c, 0x1f, 0x2e),
            thread(0x20, 0x20, 0x24),
            thread(0xf4, 0xf2, 0xec),
            thread(0x2c, 0x5a, 0x9c),
        ],
        pieces: vec![
            piece(0, Method::Fill, cut(passes)),
            piece(1, Method::Satin, cut(top(ring(0.0, 0.0, 11.0, 14.0)))),
            piece(2, Method::Satin, cut(top(ring(0.0, 0.0, 3.0, 6.0)))),
            piece(5, Method::Fill, cut(top(disc(22.0, -6.0, 7.0, 0.0, 0.22, 4.0)))),
            piece(4, Method::Satin, cut(top(ring(22.0, -6.0, 2.0, 4.5)))),
            piece(3, Method::Fill, cut(top(disc(22.0, 9.0, 6.0, 70.0, 0.25, 3.5)))),
            piece(3, Method::Run, cut(top(wave(-14.0, 17.0, 44.0, 1.0, 2.0)))),
            piece(
                2,
                Method::Run,
                vec![Pass::after_jump(PassKind::Top, wave(-14.0, 19.5, 10.0, 0.0, 2.5)), {
                    let mut p = Pass::after_jump(PassKind::Top, wave(4.0, 19.5, 10.0, 0.0, 2.5));
                    p.trim = true;
                    p
                }],
            ),
            piece(
                5,
                Method::Satin,
                cut(top((0..140)
                    .map(|i| Point::new(-14.0 + f64::from(i) * 0.2, if i % 2 == 0 { 22.0 } else { 23.5 }))
                    .collect())),
            ),
        ],
        ..Plan::default()
    };
    let scale = args.get(2).and_then(|s| s.parse().ok()).unwrap_or(10.0);
    let t = std::time::Instant::now();
    let data = png(&plan, &Look { pixels_per_mm: scale, ..Look::default() }).unwrap();
    println!("{} stitches, {:?}", plan.stitches(), t.elapsed());
    std::fs::write(&args[1], data).unwrap();
}
