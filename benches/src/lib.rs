//! Inputs shared by the benches: outlines by formula, so that every machine measures the same.

pub mod drawn;

use laidwork_geometry::{FillRule, Polygon, Region, Ring};
use laidwork_plan::{Pass, Point};
use std::f64::consts::TAU;

/// A wavy ring of `corners` corners about `centre`; `turns` waves of a tenth of its radius.
pub fn wavy(centre: Point, radius: f64, corners: usize, turns: f64) -> Ring {
    let at = |i: usize| {
        let angle = TAU * i as f64 / corners as f64;
        let reach = radius * (1.0 + 0.1 * (turns * angle).sin());
        Point::new(centre.x + reach * angle.cos(), centre.y + reach * angle.sin())
    };
    Ring::new((0..corners).map(at).collect())
}

/// Case a: one shape of 64 corners, about `stitches` stitches of the usual spacing and length.
pub fn one_shape(stitches: f64) -> Vec<Polygon> {
    let radius = (stitches * AREA_OF_A_STITCH / std::f64::consts::PI).sqrt();
    polygons(&[wavy(Point::ZERO, radius, 64, 5.0)])
}

/// Case b: 14,600 corners and 400 holes, about `stitches` stitches.
pub fn many_holes(stitches: f64) -> Vec<Polygon> {
    let radius = (stitches * 1.35 * AREA_OF_A_STITCH / std::f64::consts::PI).sqrt();
    let mut rings = vec![wavy(Point::ZERO, radius, 1_000, 25.0)];
    let step = radius * 1.2 / 20.0;
    for row in 0..20 {
        for column in 0..20 {
            let centre = Point::new((f64::from(row) - 9.5) * step, (f64::from(column) - 9.5) * step);
            rings.push(wavy(centre, step * 0.3, 34, 3.0));
        }
    }
    polygons(&rings)
}

/// Case c: 10,000 small shapes of about `stitches` stitches together.
pub fn many_shapes(stitches: f64) -> Vec<Polygon> {
    let radius = (stitches / 10_000.0 * AREA_OF_A_STITCH / std::f64::consts::PI).sqrt();
    let step = radius * 2.4;
    let ring = |i: usize| wavy(Point::new((i % 100) as f64 * step, (i / 100) as f64 * step), radius, 24, 5.0);
    polygons(&(0..10_000).map(ring).collect::<Vec<_>>())
}

/// Area that a stitch covers: 0.22 mm spacing, 4 mm long, mm².
const AREA_OF_A_STITCH: f64 = 0.88;

fn polygons(rings: &[Ring]) -> Vec<Polygon> {
    Region::from_rings(rings, FillRule::EvenOdd).polygons
}

/// The needle points of passes, one after the other.
pub fn points(chains: &[Vec<Pass>]) -> Vec<Point> {
    chains.iter().flatten().flat_map(|pass| pass.points.iter().copied()).collect()
}

/// The points as lines of a list, formatted by `itoa` on whole hundredths: what
/// the cost of laying stitches is held against.
pub fn formatted(points: &[Point]) -> Vec<u8> {
    let mut text = Vec::with_capacity(points.len() * 16);
    let mut buffer = itoa::Buffer::new();
    let mut number = |value: f64, text: &mut Vec<u8>| {
        let hundredths = (value * 100.0).round() as i64;
        if hundredths < 0 {
            text.push(b'-');
        }
        text.extend_from_slice(buffer.format(hundredths.abs() / 100).as_bytes());
        text.push(b'.');
        let rest = hundredths.abs() % 100;
        text.push(b'0' + (rest / 10) as u8);
        text.push(b'0' + (rest % 10) as u8);
    };
    for point in points {
        number(point.x, &mut text);
        text.push(b' ');
        number(point.y, &mut text);
        text.push(b'\n');
    }
    text
}
