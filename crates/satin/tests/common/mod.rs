//! Figures of sewn shapes, and simple letters.

// Every test file uses its own part of this.
#![allow(dead_code, unused_imports, reason = "shared by several test files")]

pub mod figures;

pub use figures::{figures, points};

use kurbo::{Affine, Point};
use laidwork_geometry::{FillRule, Polygon, Region, Ring};

/// Rings as one polygon under the non-zero rule.
pub fn polygon(rings: &[Vec<(f64, f64)>]) -> Polygon {
    let rings: Vec<Ring> =
        rings.iter().map(|ring| Ring::new(ring.iter().copied().map(Point::from).collect())).collect();
    Region::from_rings(&rings, FillRule::EvenOdd).polygons.into_iter().next().unwrap()
}

/// A straight bar: from, to and width, mm.
pub type Bar = ((f64, f64), (f64, f64), f64);

/// The union of bars.
pub fn bars(bars: &[Bar]) -> Polygon {
    let bar = |&(from, to, width): &Bar| {
        let (a, b) = (Point::from(from), Point::from(to));
        let side = (b - a).normalize() * (width / 2.0);
        let side = kurbo::Vec2::new(-side.y, side.x);
        let mut points = vec![a + side, a - side, b - side, b + side];
        if Ring::new(points.clone()).signed_area() < 0.0 {
            points.reverse();
        }
        Ring::new(points)
    };
    let rings: Vec<Ring> = bars.iter().map(bar).collect();
    Region::from_rings(&rings, FillRule::NonZero).polygons.into_iter().next().unwrap()
}

/// A letter of 20 mm, as it is cut out of bars of 3.4 mm, and how many columns a person would draw.
pub fn letters() -> Vec<(char, Polygon, usize)> {
    let w = 3.4;
    let (left, right) = (1.7, 13.0);
    let flat = |polygon: Polygon| {
        // Cut off above 0 and below 20, as drawn letters are.
        let frame = bars(&[((-40.0, 10.0), (60.0, 10.0), 20.0)]);
        Region::from(polygon).intersection(&Region::from(frame)).polygons.remove(0)
    };
    let ring = |r: f64| {
        (0..120).map(|i| i as f64 * std::f64::consts::TAU / 120.0).map(|a| (r * a.cos(), r * a.sin())).collect()
    };
    vec![
        (
            'E',
            bars(&[
                ((left, 0.0), (left, 20.0), w),
                ((left, 1.7), (right, 1.7), w),
                ((left, 10.0), (right - 1.0, 10.0), w),
                ((left, 18.3), (right, 18.3), w),
            ]),
            4,
        ),
        ('T', bars(&[((0.0, 1.7), (16.0, 1.7), w), ((8.0, 1.7), (8.0, 20.0), w)]), 2),
        (
            'A',
            flat(bars(&[
                ((0.6, 21.0), (9.4, -1.0), w),
                ((17.4, 21.0), (8.6, -1.0), w),
                ((4.0, 14.0), (14.0, 14.0), 3.0),
            ])),
            3,
        ),
        (
            'M',
            flat(bars(&[
                ((left, 0.0), (left, 20.0), w),
                ((19.0, 0.0), (19.0, 20.0), w),
                ((1.0, -1.0), (11.0, 16.0), w),
                ((19.7, -1.0), (9.7, 16.0), w),
            ])),
            4,
        ),
        ('O', polygon(&[ring(10.0), ring(6.6)]), 1),
        (
            'H',
            bars(&[((left, 0.0), (left, 20.0), w), ((right, 0.0), (right, 20.0), w), ((left, 10.0), (right, 10.0), w)]),
            3,
        ),
        (
            'K',
            flat(bars(&[
                ((left, 0.0), (left, 20.0), w),
                ((2.5, 12.5), (15.5, -1.0), w),
                ((6.5, 8.0), (15.5, 21.0), w),
            ])),
            3,
        ),
        ('X', flat(bars(&[((0.0, -1.0), (15.0, 21.0), w), ((15.0, -1.0), (0.0, 21.0), w)])), 2),
        // A heavy stem between thin slabs.
        (
            'I',
            bars(&[((6.0, 0.0), (6.0, 20.0), 5.2), ((0.0, 0.9), (12.0, 0.9), 1.8), ((0.0, 19.1), (12.0, 19.1), 1.8)]),
            3,
        ),
        // The bar lies on the stem at one end of the slant and under it at the other.
        (
            '4',
            flat(bars(&[
                ((11.0, 0.0), (11.0, 20.0), 4.0),
                ((0.0, 14.6), (15.0, 14.6), 3.1),
                ((10.2, -1.0), (0.0, 15.4), 1.8),
            ])),
            3,
        ),
    ]
}

/// The same shape turned by some degrees.
pub fn turned(polygon: &Polygon, degrees: f64) -> Polygon {
    let turn = Affine::rotate(degrees.to_radians());
    let ring = |ring: &Ring| Ring::new(ring.points.iter().map(|p| turn * *p).collect());
    Polygon { outer: ring(&polygon.outer), holes: polygon.holes.iter().map(ring).collect() }
}
