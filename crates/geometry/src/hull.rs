//! Convex hulls and the smallest rectangle around points.
//!
//! The hull is Andrew's monotone chain (A. M. Andrew, "Another efficient
//! algorithm for convex hulls in two dimensions", 1979), O(n log n). The
//! smallest rectangle lies along one edge of the hull (H. Freeman and R. Shapira, 1975)
//! and is found by turning calipers around it (G. Toussaint, 1983), O(n) more.

use crate::{Polygon, Ring};
use kurbo::{Point, Vec2};

/// A rectangle that may be turned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TurnedRect {
    /// Its middle, mm.
    pub centre: Point,
    /// Unit vector along its longer sides.
    pub along: Vec2,
    /// Length of the longer sides, mm.
    pub length: f64,
    /// Length of the shorter sides, mm.
    pub width: f64,
}

impl TurnedRect {
    /// Its corners, the way a ring of positive area turns.
    pub fn corners(&self) -> [Point; 4] {
        let (along, across) = (self.along * (self.length / 2.0), self.along.turn_90() * (self.width / 2.0));
        [-along - across, along - across, along + across, across - along].map(|corner| self.centre + corner)
    }

    /// The same with `by` mm more on every side.
    pub fn inflate(&self, by: f64) -> TurnedRect {
        TurnedRect { length: self.length + 2.0 * by, width: self.width + 2.0 * by, ..*self }
    }

    /// Its area, mm².
    pub fn area(&self) -> f64 {
        self.length * self.width
    }
}

/// The corners of the convex hull of `points`, the way a ring of positive area
/// turns, without corners on straight edges. Fewer than three when all points lie on a line.
pub fn convex_hull(points: &[Point]) -> Vec<Point> {
    let mut sorted: Vec<Point> = points.iter().copied().filter(|point| point.is_finite()).collect();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let mut hull = half_hull(sorted.iter().copied());
    hull.pop();
    hull.extend(half_hull(sorted.iter().rev().copied()));
    hull.pop();
    hull
}

fn half_hull(points: impl Iterator<Item = Point>) -> Vec<Point> {
    let mut hull: Vec<Point> = Vec::new();
    for point in points {
        while let [.., a, b] = hull[..]
            && (b - a).cross(point - b) <= 0.0
        {
            hull.pop();
        }
        hull.push(point);
    }
    hull
}

/// The rectangle of smallest area around `points`; `None` when they lie on a line.
pub fn smallest_rectangle(points: &[Point]) -> Option<TurnedRect> {
    let hull = convex_hull(points);
    let count = hull.len();
    if count < 3 {
        return None;
    }
    let at = |i: usize| hull[i % count].to_vec2();
    // The corners farthest along, across and against the edge that lies on the rectangle.
    let (mut ahead, mut far, mut behind) = (1, 1, 1);
    let mut best: Option<TurnedRect> = None;
    for edge in 0..count {
        let side = at(edge + 1) - at(edge);
        if side.hypot() <= 0.0 {
            continue;
        }
        let along = side.normalize();
        let across = along.turn_90();
        let climb = |mut i: usize, way: Vec2| {
            while at(i + 1).dot(way) > at(i).dot(way) && i < edge + 2 * count {
                i += 1;
            }
            i
        };
        ahead = climb(ahead.max(edge + 1), along);
        far = climb(far.max(ahead), across);
        behind = climb(behind.max(far), -along);
        let (from, to) = (at(behind).dot(along), at(ahead).dot(along));
        let (near, away) = (at(edge).dot(across), at(far).dot(across));
        let (length, width) = (to - from, away - near);
        let centre = (along * ((from + to) / 2.0) + across * ((near + away) / 2.0)).to_point();
        let rect = if length >= width {
            TurnedRect { centre, along, length, width }
        } else {
            TurnedRect { centre, along: across, length: width, width: length }
        };
        if best.is_none_or(|best| rect.area() < best.area()) {
            best = Some(rect);
        }
    }
    best
}

impl Ring {
    /// Its convex hull.
    pub fn convex_hull(&self) -> Ring {
        Ring::new(convex_hull(&self.points))
    }
}

impl Polygon {
    /// The rectangle of smallest area around it; `None` without area.
    pub fn smallest_rectangle(&self) -> Option<TurnedRect> {
        smallest_rectangle(&self.outer.points)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::Random;
    use proptest::prelude::*;

    #[test]
    fn a_turned_rectangle_is_found_again() {
        let turned =
            TurnedRect { centre: Point::new(3.0, -2.0), along: Vec2::from_angle(0.4), length: 7.0, width: 2.0 };
        let mut points = turned.corners().to_vec();
        points.push(turned.centre);
        let found = smallest_rectangle(&points).unwrap();
        assert!((found.length - 7.0).abs() < 1e-9 && (found.width - 2.0).abs() < 1e-9, "{found:?}");
        assert!(found.centre.distance(turned.centre) < 1e-9);
        assert!(found.along.cross(turned.along).abs() < 1e-9);
    }

    #[test]
    fn points_on_a_line_have_no_rectangle() {
        let points: Vec<Point> = (0..5).map(|i| Point::new(f64::from(i), 2.0 * f64::from(i))).collect();
        assert!(smallest_rectangle(&points).is_none());
        assert!(smallest_rectangle(&[]).is_none());
        assert_eq!(convex_hull(&points).len(), 2);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        #[test]
        fn hull_and_rectangle_hold_every_point(seed: u64, count in 3usize..60) {
            let mut random = Random(seed);
            let points: Vec<Point> =
                (0..count).map(|_| Point::new(random.between(-9.0, 9.0), random.between(-3.0, 3.0))).collect();
            let hull = Ring::new(convex_hull(&points));
            prop_assert!(hull.signed_area() > 0.0);
            for point in &points {
                for (a, b) in hull.edges() {
                    prop_assert!((b - a).cross(*point - a) > -1e-9);
                }
            }
            let rect = smallest_rectangle(&points).unwrap();
            prop_assert!(rect.length >= rect.width && rect.area() >= hull.signed_area() - 1e-9);
            for point in &points {
                let from_centre = *point - rect.centre;
                prop_assert!(from_centre.dot(rect.along).abs() <= rect.length / 2.0 + 1e-9);
                prop_assert!(from_centre.cross(rect.along).abs() <= rect.width / 2.0 + 1e-9);
            }
            // No direction of a fine fan gives a smaller one.
            for i in 0..180 {
                let along = Vec2::from_angle(f64::from(i).to_radians());
                let spread = |way: Vec2| {
                    let places = points.iter().map(|p| p.to_vec2().dot(way));
                    places.clone().fold(f64::MIN, f64::max) - places.fold(f64::MAX, f64::min)
                };
                prop_assert!(spread(along) * spread(along.turn_90()) >= rect.area() - 1e-9);
            }
        }
    }
}
