//! Rays as rows: farther out there are more of them, and nowhere do many end together.
//!
//! In the plane of the rows `u` is the distance from a point and `v` counts rays. Rays come in pairs, as rows are sewn
//! to and fro, and each pair begins where there is room for it: pairs are numbered in the order of van der Corput's
//! sequence ("Verteilungsfunktionen", 1935: the bits of their place turned about), and as many have begun at any
//! distance as fit there. So beginnings are spread over the whole shape, and the others run on past them.
//!
//! At every distance the rays that have begun share the angle evenly. A pair is thin where it begins and reaches its
//! full width over a short way, in which its neighbours make room: rays swing a little to both sides. Pairs that have
//! not begun are thinner than any thread, so that the map stays one-to-one; their rows are passed over when sewn.

use kurbo::{Point, Vec2};
use std::f64::consts::TAU;

/// Over how long a way a pair gets its full width, mm, and as a share of the distance from the point where that is less.
const WIDENING: (f64, f64) = (6.0, 0.4);

/// How wide a pair is where it begins, and where it has not, as a share of its full width.
const BEGINNING: f64 = 0.1;
const NOT_BEGUN: f64 = 2e-4;

/// From one distance that is looked at to the next, mm; and most numbers kept.
const STEP: f64 = 0.25;
const MOST_KEPT: f64 = 4e6;

/// Most pairs.
const MOST_PAIRS: f64 = 3e5;

/// Rays within an angle about a point.
#[derive(Clone, Debug)]
pub(crate) struct Rays {
    centre: Point,
    /// Where the angle begins, and how wide it is, radians.
    angle: (f64, f64),
    /// `v` from ray to ray, mm.
    spacing: f64,
    /// Which pair is the how many-th to begin.
    numbers: Vec<u32>,
    /// The least distance looked at and from one to the next, mm.
    first: f64,
    step: f64,
    /// For each distance the share of the angle below every pair, and 1.
    below: Vec<f64>,
}

impl Rays {
    /// Rays about `spacing` mm apart, from `near` to `far` mm away from `centre`. The pairs of `early`, in order, begin
    /// before all others.
    pub(crate) fn new(
        centre: Point,
        angle: (f64, f64),
        (near, far): (f64, f64),
        spacing: f64,
        early: &[usize],
    ) -> Rays {
        let fit = angle.1 * far / (2.0 * spacing);
        let pairs = fit.ceil().clamp(1.0, MOST_PAIRS) as usize;
        let count = ((far - near) / STEP).min(MOST_KEPT / pairs as f64).ceil().clamp(2.0, 4000.0);
        let step = ((far - near) / count).max(1e-6);
        let mut places: Vec<(u32, u32)> = (0..pairs as u32).map(|number| (number.reverse_bits(), number)).collect();
        places.sort_unstable();
        let mut numbers: Vec<u32> = places.into_iter().map(|(_, number)| number).collect();
        if !early.is_empty() {
            // Those come first; the others keep their order.
            let mut order: Vec<usize> = (0..pairs).collect();
            order.sort_unstable_by_key(|&pair| (early.binary_search(&pair).is_err(), numbers[pair]));
            for (number, pair) in order.into_iter().enumerate() {
                numbers[pair] = number as u32;
            }
        }
        let mut rays = Rays { centre, angle, spacing, numbers, first: near, step, below: Vec::new() };
        rays.below.reserve((count as usize + 1) * (pairs + 1));
        for i in 0..=count as usize {
            let r = near + step * i as f64;
            let start = rays.below.len();
            let mut sum = 0.0;
            rays.below.push(0.0);
            for pair in 0..pairs {
                sum += rays.width(pair, r);
                rays.below.push(sum);
            }
            rays.below[start..].iter_mut().for_each(|share| *share /= sum);
        }
        rays
    }

    /// How far out the rays have room for a pair, and over how long a way it widens there.
    fn room_for(&self, pair: usize) -> (f64, f64) {
        let room = (f64::from(self.numbers[pair]) + 0.5) * 2.0 * self.spacing / self.angle.1;
        (room, WIDENING.0.min(WIDENING.1 * room).max(1e-6))
    }

    /// How wide a pair is at a distance, as a share of its full width.
    fn width(&self, pair: usize, r: f64) -> f64 {
        let (room, way) = self.room_for(pair);
        if self.numbers[pair] == 0 { 1.0 } else { ((r - room) / way + 0.5).clamp(NOT_BEGUN, 1.0) }
    }

    /// `v` from row to row.
    pub(crate) fn spacing(&self) -> f64 {
        self.spacing
    }

    /// The pair that the row at `v` belongs to.
    pub(crate) fn pair(&self, v: f64) -> usize {
        ((v / (2.0 * self.spacing)).max(0.0) as usize).min(self.numbers.len() - 1)
    }

    /// How far from the point a pair begins, mm.
    pub(crate) fn begins(&self, pair: usize) -> f64 {
        let (room, way) = self.room_for(pair);
        if self.numbers[pair] == 0 { 0.0 } else { room + (BEGINNING - 0.5) * way }
    }

    /// By how much `v` grows over the whole angle.
    pub(crate) fn across(&self) -> f64 {
        2.0 * self.spacing * self.numbers.len() as f64
    }

    /// The same once round the point, where they go all round.
    pub(crate) fn round(&self) -> Option<f64> {
        (self.angle.1 > TAU - 1e-9).then_some(self.across())
    }

    /// The shares at the two distances beside `r`, and how far it is from the first to the second.
    fn beside(&self, r: f64) -> (&[f64], &[f64], f64) {
        let each = self.numbers.len() + 1;
        let count = self.below.len() / each;
        let t = ((r - self.first) / self.step).clamp(0.0, count as f64 - 1.0);
        let i = (t as usize).min(count.saturating_sub(2));
        let at = |i: usize| &self.below[i * each..(i + 1) * each];
        (at(i), at(i + 1), t - i as f64)
    }

    /// `v` at a distance and angle within the one of the rays.
    pub(crate) fn v_at(&self, r: f64, angle: f64) -> f64 {
        let share = (angle - self.angle.0) / self.angle.1;
        let (a, b, t) = self.beside(r);
        let below = |pair: usize| a[pair] * (1.0 - t) + b[pair] * t;
        let (mut low, mut high) = (0, self.numbers.len() - 1);
        while low < high {
            let middle = (low + high).div_ceil(2);
            if below(middle) <= share { low = middle } else { high = middle - 1 }
        }
        let (from, to) = (below(low), below(low + 1));
        (low as f64 + (share - from) / (to - from)) * 2.0 * self.spacing
    }

    pub(crate) fn to_rows(&self, point: Point) -> Point {
        let away = point - self.centre;
        // The angle that lies in the middle of those outside is where it is cut open.
        let open = self.angle.0 - (TAU - self.angle.1) / 2.0;
        let angle = open + (away.atan2() - open).rem_euclid(TAU);
        Point::new(away.hypot(), self.v_at(away.hypot(), angle))
    }

    pub(crate) fn on_fabric(&self, uv: Point) -> Point {
        let (a, b, t) = self.beside(uv.x);
        let place = uv.y / (2.0 * self.spacing);
        let pair = (place.max(0.0) as usize).min(self.numbers.len() - 1);
        let below = |pair: usize| a[pair] * (1.0 - t) + b[pair] * t;
        let share = below(pair) + (below(pair + 1) - below(pair)) * (place - pair as f64);
        self.centre + Vec2::from_angle(self.angle.0 + share * self.angle.1) * uv.x
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_and_rows_belong_to_each_other() {
        let centre = Point::new(3.0, -2.0);
        for (angle, early) in [((0.0, TAU), &[][..]), ((0.4, 1.9), &[2, 3][..])] {
            let rays = Rays::new(centre, angle, (3.0, 30.0), 0.22, early);
            for i in 0..60 {
                for j in 1..40 {
                    let r = 3.0 + 27.0 * f64::from(i) / 60.0;
                    let place = centre + Vec2::from_angle(angle.0 + angle.1 * f64::from(j) / 40.0) * r;
                    let there = rays.to_rows(place);
                    assert!((0.0..=rays.across()).contains(&there.y), "{there}");
                    assert!(rays.on_fabric(there).distance(place) < 1e-6, "{place}");
                }
            }
        }
    }

    #[test]
    fn rays_that_have_begun_share_the_angle() {
        let rays = Rays::new(Point::ZERO, (0.0, TAU), (3.0, 30.0), 0.22, &[]);
        let pairs = rays.numbers.len();
        for r in [8.0, 15.0, 30.0] {
            let widths: Vec<f64> = (0..pairs)
                .filter(|&pair| rays.begins(pair) < r - WIDENING.0)
                .map(|pair| [pair, pair + 1].map(|pair| 2.0 * rays.spacing() * pair as f64))
                .map(|ends| ends.map(|v| rays.on_fabric(Point::new(r, v))))
                .map(|[a, b]| a.distance(b))
                .collect();
            let (least, most) = widths.iter().fold((f64::MAX, 0.0_f64), |(l, m), w| (l.min(*w), m.max(*w)));
            // As wide as each other, and two rays at about their spacing.
            assert!(!widths.is_empty() && most - least < 0.01, "{r}: {least} {most}");
            assert!((0.36..0.52).contains(&most), "{r}: {most}");
        }
    }
}
