//! One ring, measured along.

use kurbo::Point;
use laidwork_geometry::{Locator, Ring, closest_on_segment};
use std::cell::OnceCell;

/// Rings with more corners are searched by a locator.
const FEW: usize = 40;

pub(super) struct Loop {
    pub(super) points: Vec<Point>,
    /// Distance along to each point, and all round.
    pub(super) along: Vec<f64>,
    pub(super) level: usize,
    locator: OnceCell<Locator>,
}

impl Loop {
    pub(super) fn new(ring: &Ring, level: usize) -> Loop {
        let mut along = vec![0.0];
        let mut total = 0.0;
        for (a, b) in ring.edges() {
            total += a.distance(b);
            along.push(total);
        }
        Loop { points: ring.points.clone(), along, level, locator: OnceCell::new() }
    }

    pub(super) fn length(&self) -> f64 {
        self.along[self.along.len() - 1]
    }

    /// The place along that is nearest to a point.
    pub(super) fn nearest(&self, to: Point) -> f64 {
        if self.points.len() > FEW {
            let locator = || Locator::from_rings(std::iter::once(&Ring::new(self.points.clone())));
            let nearest = self.locator.get_or_init(locator).nearest(to);
            return nearest.map_or(0.0, |on| self.along[on.edge] + self.points[on.edge].distance(on.point));
        }
        let mut best = (f64::INFINITY, 0.0);
        for i in 0..self.points.len() {
            let (a, b) = (self.points[i], self.points[(i + 1) % self.points.len()]);
            let on = closest_on_segment(to, a, b);
            if on.distance_squared(to) < best.0 {
                best = (on.distance_squared(to), self.along[i] + a.distance(on));
            }
        }
        best.1
    }

    pub(super) fn at(&self, place: f64) -> Point {
        let place = place.rem_euclid(self.length().max(1e-9));
        let i = self.along.partition_point(|&a| a <= place).clamp(1, self.points.len()) - 1;
        let (a, b) = (self.points[i], self.points[(i + 1) % self.points.len()]);
        let edge = self.along[i + 1] - self.along[i];
        if edge > 0.0 { a.lerp(b, (place - self.along[i]) / edge) } else { a }
    }

    /// The way from a place `by` mm on (back when negative), both ends included.
    pub(super) fn way(&self, from: f64, by: f64) -> Vec<Point> {
        let mut way = vec![self.at(from)];
        let (total, count) = (self.length(), self.points.len());
        let start = from.rem_euclid(total.max(1e-9));
        let first = self.along[..count].partition_point(|&a| a <= start);
        for step in 0..count {
            let (i, ahead) = if by >= 0.0 {
                let i = (first + step) % count;
                (i, (self.along[i] - start).rem_euclid(total))
            } else {
                let i = (first + 2 * count - 1 - step) % count;
                (i, (start - self.along[i]).rem_euclid(total))
            };
            if ahead >= by.abs() {
                break;
            }
            way.push(self.points[i]);
        }
        way.push(self.at(from + by));
        way
    }

    /// How far from one place to another, the shorter way round.
    pub(super) fn between(&self, from: f64, to: f64) -> f64 {
        let ahead = (to - from).rem_euclid(self.length().max(1e-9));
        if ahead * 2.0 <= self.length() { ahead } else { ahead - self.length() }
    }

    /// Places about `step` mm apart all round, `least` to `most` of them.
    pub(super) fn places(&self, step: f64, least: usize, most: usize) -> impl Iterator<Item = f64> + use<> {
        let count = ((self.length() / step).ceil() as usize).clamp(least, most);
        let each = self.length() / count as f64;
        (0..count).map(move |i| each * i as f64)
    }

    /// The nearest point of the ring.
    pub(super) fn beside(&self, to: Point) -> Point {
        self.at(self.nearest(to))
    }

    /// Where a line square to the ring at a place, on the side of the shape, is `by` mm away.
    pub(super) fn aside(&self, place: f64, by: f64) -> Point {
        let along = self.at(place + 0.02) - self.at(place - 0.02);
        self.at(place) + along.turn_90() * (by / along.hypot().max(1e-9))
    }
}
