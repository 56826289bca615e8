//! Outlines to try methods on: from tidy ones to every mess a drawing holds.
//!
//! Made from a seed alone, the same on every machine. Behind the feature
//! `testing`, for the tests of this and of other crates:
//!
//! ```
//! use laidwork_geometry::testing::{Kind, region};
//! for kind in Kind::ALL {
//!     assert!(region(kind, 20, 7).area() > 0.0);
//! }
//! ```
//!
//! With `proptest`, draw `kind in 0..Kind::ALL.len()`, `size in 3usize..60` and
//! `seed: u64`; sizes shrink well.

use crate::{FillRule, Region, Ring};
use kurbo::{Point, Vec2};
use std::f64::consts::TAU;

/// A ring through these points, mm.
pub fn ring(points: &[(f64, f64)]) -> Ring {
    Ring::new(points.iter().copied().map(Point::from).collect())
}

/// Length of a way from point to point, mm.
pub fn length(way: &[Point]) -> f64 {
    way.windows(2).map(|pair| pair[0].distance(pair[1])).sum()
}

/// What an outline is like. All lie within 40 mm of the origin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Seen whole from its middle, with a few holes.
    Star,
    /// Convex, without holes.
    Convex,
    /// Random chords: crosses itself everywhere.
    Tangle,
    /// Long parallel teeth.
    Comb,
    /// A band wound up.
    Spiral,
    /// A star with spikes that go out and come back on themselves.
    Spikes,
    /// Much longer than wide, down to some µm.
    Needle,
    /// Squares that share edges and corners.
    Tiles,
    /// A frame whose holes touch the outline and each other at corners.
    TouchingHoles,
    /// Very many very small squares.
    Specks,
    /// Wavy bands that join and part.
    Lattice,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Kind; 11] = [
        Kind::Star,
        Kind::Convex,
        Kind::Tangle,
        Kind::Comb,
        Kind::Spiral,
        Kind::Spikes,
        Kind::Needle,
        Kind::Tiles,
        Kind::TouchingHoles,
        Kind::Specks,
        Kind::Lattice,
    ];
}

/// Random numbers that are the same everywhere (SplitMix64; Steele, Lea and
/// Flood, "Fast splittable pseudorandom number generators", 2014).
#[derive(Clone, Copy, Debug)]
pub struct Random(pub u64);

impl Random {
    /// Any 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From `low` to just under `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// From 0 to just under `count` (0 when that is 0).
    pub fn below(&mut self, count: usize) -> usize {
        (self.between(0.0, count as f64) as usize).min(count.saturating_sub(1))
    }
}

/// Rings of a kind, as a drawing might hold them: not cleaned. `size` is about
/// the number of corners.
pub fn rings(kind: Kind, size: usize, seed: u64) -> Vec<Ring> {
    let size = size.max(3);
    let mut random = Random(seed);
    match kind {
        Kind::Star => star_with_holes(size, &mut random),
        Kind::Convex => vec![star(size, Point::ZERO, 30.0, 30.0, &mut random)],
        Kind::Tangle => vec![Ring::new((0..size.min(40)).map(|_| anywhere(&mut random)).collect())],
        Kind::Comb => vec![comb(size, &mut random)],
        Kind::Spiral => vec![spiral(size, &mut random)],
        Kind::Spikes => vec![spikes(size, &mut random)],
        Kind::Needle => vec![needle(size, &mut random)],
        Kind::Tiles => tiles(size, &mut random),
        Kind::TouchingHoles => touching_holes(size, &mut random),
        Kind::Specks => specks(size, &mut random),
        Kind::Lattice => lattice(size, &mut random),
    }
}

/// The region that [`rings`] of a kind enclose by the even-odd rule.
pub fn region(kind: Kind, size: usize, seed: u64) -> Region {
    Region::from_rings(&rings(kind, size, seed), FillRule::EvenOdd)
}

fn anywhere(random: &mut Random) -> Point {
    Point::new(random.between(-28.0, 28.0), random.between(-28.0, 28.0))
}

/// A ring seen whole from `middle`; convex when both radii are the same.
fn star(corners: usize, middle: Point, inner: f64, outer: f64, random: &mut Random) -> Ring {
    let mut angles: Vec<f64> = (0..corners).map(|_| random.between(0.0, TAU)).collect();
    angles.sort_by(f64::total_cmp);
    let corner = |angle| middle + Vec2::from_angle(angle) * random.between(inner, outer);
    Ring::new(angles.into_iter().map(corner).collect())
}

/// Holes lie in cells of a grid, so that they keep apart; the band between the
/// radii 21 and 30 holds the outline.
fn star_with_holes(size: usize, random: &mut Random) -> Vec<Ring> {
    let even = |corners: usize, middle: Point, inner: f64, outer: f64, random: &mut Random| {
        let corner = |i: usize, random: &mut Random| {
            let angle = TAU * (i as f64 + random.between(-0.3, 0.3)) / corners as f64;
            middle + Vec2::from_angle(angle) * random.between(inner, outer)
        };
        Ring::new((0..corners).map(|i| corner(i, random)).collect())
    };
    let mut rings = vec![even((size / 2).max(8), Point::ZERO, 25.0, 30.0, random)];
    for cell in 0..9 {
        if random.below(3) > 0 {
            let middle = Point::new((cell % 3) as f64 * 8.0 - 8.0, (cell / 3) as f64 * 8.0 - 8.0);
            rings.push(even((size / 12).max(3), middle, 0.5, 3.9, random));
        }
    }
    rings
}

fn comb(size: usize, random: &mut Random) -> Ring {
    let teeth = (size / 4).max(1);
    let pitch = 50.0 / teeth as f64;
    let mut points = vec![Point::new(25.0, 25.0), Point::new(-25.0, 25.0)];
    for tooth in 0..teeth {
        let x = tooth as f64 * pitch - 25.0;
        let width = random.between(0.2, 0.8) * pitch;
        let (top, foot) = (random.between(-25.0, -10.0), random.between(10.0, 24.0));
        points.extend([(x, foot), (x, top), (x + width, top), (x + width, foot)].map(Point::from));
    }
    points.push(Point::new(25.0, 20.0));
    Ring::new(points)
}

fn spiral(size: usize, random: &mut Random) -> Ring {
    let turns = random.between(1.0, 4.0);
    let pitch = 24.0 / turns;
    let width = random.between(0.1, 0.7) * pitch;
    let start = random.between(0.0, TAU);
    let steps = size.max((turns * 12.0) as usize);
    let side = |out: f64| {
        (0..=steps).map(move |i| {
            let turn = turns * i as f64 / steps as f64;
            (Vec2::from_angle(start + turn * TAU) * (3.0 + turn * pitch + out)).to_point()
        })
    };
    let mut points: Vec<Point> = side(0.0).collect();
    let back: Vec<Point> = side(width).collect();
    points.extend(back.into_iter().rev());
    Ring::new(points)
}

fn spikes(size: usize, random: &mut Random) -> Ring {
    let ring = star(size, Point::ZERO, 12.0, 22.0, random);
    let mut points = Vec::new();
    for point in ring.points {
        points.push(point);
        if random.below(3) == 0 {
            points.extend([point + point.to_vec2() * random.between(-0.9, 0.5), point]);
        }
    }
    Ring::new(points)
}

fn needle(size: usize, random: &mut Random) -> Ring {
    let along = Vec2::from_angle(random.between(0.0, TAU));
    let width = 10f64.powf(random.between(-5.0, 0.0));
    let steps = (size / 2).max(1);
    let side = |out: f64| {
        (0..=steps).map(move |i| (along * (60.0 * i as f64 / steps as f64 - 30.0) + along.turn_90() * out).to_point())
    };
    let mut points: Vec<Point> = side(0.0).collect();
    let back: Vec<Point> = side(width).collect();
    points.extend(back.into_iter().rev());
    Ring::new(points)
}

fn square(x: f64, y: f64, side: f64) -> Ring {
    Ring::new([(x, y), (x + side, y), (x + side, y + side), (x, y + side)].map(Point::from).to_vec())
}

fn tiles(size: usize, random: &mut Random) -> Vec<Ring> {
    let mut rings = vec![square(0.0, 0.0, 3.0)];
    for place in 0..size.min(256) {
        if random.below(2) == 0 {
            rings.push(square((place % 16) as f64 * 3.0 - 24.0, (place / 16) as f64 * 3.0 - 24.0, 3.0));
        }
    }
    rings
}

fn touching_holes(size: usize, random: &mut Random) -> Vec<Ring> {
    let mut rings = vec![square(-20.0, -20.0, 40.0)];
    let count = (size / 4).clamp(1, 18);
    for i in 0..count {
        // A diamond from corner to corner of its neighbours, the first at the outline.
        let (x, half) = (-20.0 + (2 * i) as f64 + 1.0, random.between(0.3, 6.0));
        rings.push(Ring::new([(x - 1.0, 0.0), (x, half), (x + 1.0, 0.0), (x, -half)].map(Point::from).to_vec()));
    }
    rings
}

fn specks(size: usize, random: &mut Random) -> Vec<Ring> {
    (0..size * 4)
        .map(|_| {
            let corner = anywhere(random);
            square(corner.x, corner.y, 10f64.powf(random.between(-4.0, 0.3)))
        })
        .collect()
}

fn lattice(size: usize, random: &mut Random) -> Vec<Ring> {
    let outer = Ring::new([(-26.0, -26.0), (26.0, -26.0), (26.0, 26.0), (-26.0, 26.0)].map(Point::from).to_vec());
    let mut rings = vec![outer];
    let across = ((size as f64).sqrt() as usize).clamp(1, 12);
    let cell = 50.0 / across as f64;
    for place in 0..across * across {
        let middle =
            Point::new(((place % across) as f64 + 0.5) * cell - 25.0, ((place / across) as f64 + 0.5) * cell - 25.0);
        rings.push(star(3 + random.below(9), middle, 0.1 * cell, 0.5 * cell, random));
    }
    rings
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_has_area_and_stays_in_the_field() {
        for kind in Kind::ALL {
            for seed in 0..20 {
                let region = region(kind, 3 + 5 * seed as usize, seed);
                assert!(region.area() > 0.0, "{kind:?} {seed}");
                let bounds = region.bounds().unwrap();
                assert!(bounds.x0 > -45.0 && bounds.y0 > -45.0 && bounds.x1 < 45.0 && bounds.y1 < 45.0);
            }
        }
    }

    #[test]
    fn the_same_seed_gives_the_same_rings() {
        assert_eq!(rings(Kind::Star, 30, 5), rings(Kind::Star, 30, 5));
        assert_ne!(rings(Kind::Star, 30, 5), rings(Kind::Star, 30, 6));
    }
}
