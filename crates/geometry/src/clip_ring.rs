//! Rings cut to a rectangle, much faster than a boolean operation.
//!
//! Sutherland and Hodgman's way ("Reentrant polygon clipping", CACM 17, 1974): the ring is cut to one side of the
//! rectangle after the other. What falls apart stays one ring, joined along the sides, which changes no number of turns
//! inside. O(n).

use crate::Ring;
use crate::hull::TurnedRect;
use kurbo::{Point, Rect};

/// `ring` cut to `bounds`, which keeps the number of turns about every point
/// inside.
pub fn clip_ring(ring: Ring, bounds: Rect) -> Ring {
    let Some(extent) = ring.bounds() else { return ring };
    if bounds.contains_rect(extent) {
        return ring;
    }
    let half_planes: [fn(Point, Rect) -> f64; 4] =
        [|p, r| p.x - r.x0, |p, r| r.x1 - p.x, |p, r| p.y - r.y0, |p, r| r.y1 - p.y];
    Ring::new(half_planes.into_iter().fold(ring.points, |points, inside| cut(&points, |point| inside(point, bounds))))
}

/// The same for a rectangle that may be turned. Nothing is left of a ring beside it.
pub fn clip_ring_turned(ring: &Ring, to: &TurnedRect) -> Ring {
    let (along, across) = (to.along, to.along.turn_90());
    let sides = [(along, to.length), (-along, to.length), (across, to.width), (-across, to.width)];
    let mut points = None;
    for (way, size) in sides {
        let from = points.as_ref().unwrap_or(&ring.points);
        if from.is_empty() {
            break;
        }
        points = Some(cut(from, |point| size / 2.0 - (point - to.centre).dot(way)));
    }
    Ring::new(points.unwrap_or_default())
}

/// The ring of corners `points` cut to where `inside` is not below 0; it must be linear.
fn cut(points: &[Point], inside: impl Fn(Point) -> f64) -> Vec<Point> {
    let mut kept = Vec::with_capacity(points.len());
    let previous = points.iter().cycle().skip(points.len().saturating_sub(1));
    for (&a, &b) in previous.zip(points) {
        let (da, db) = (inside(a), inside(b));
        if (da < 0.0) != (db < 0.0) {
            kept.push(a.lerp(b, da / (da - db)));
        }
        if db >= 0.0 {
            kept.push(b);
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{FillRule, Region, testing};
    use kurbo::Vec2;

    #[test]
    fn a_ring_around_the_moon_is_cut_to_the_bounds() {
        let far = 1e12;
        let ring = Ring::new([(-far, 0.0), (0.0, -far), (far, 0.0), (0.0, far)].map(Point::from).to_vec());
        let cut = clip_ring(ring, Rect::new(-10.0, -10.0, 10.0, 10.0));
        assert!((Region::from_rings(&[cut], FillRule::EvenOdd).area() - 400.0).abs() < 1e-6);
    }

    #[test]
    fn cutting_keeps_turns_apart() {
        // Two turns around the middle: even-odd leaves a hole, also after the cut.
        let twice = [(-9.0, -9.0), (9.0, -9.0), (9.0, 9.0), (-9.0, 9.0)];
        let small = [(-8.0, -2.0), (2.0, -2.0), (2.0, 2.0), (-8.0, 2.0)];
        let ring = |corners: [(f64, f64); 4]| Ring::new(corners.map(Point::from).to_vec());
        let bounds = Rect::new(-5.0, -5.0, 5.0, 5.0);
        let rings = [clip_ring(ring(twice), bounds), clip_ring(ring(small), bounds)];
        assert!((Region::from_rings(&rings, FillRule::EvenOdd).area() - (100.0 - 28.0)).abs() < 1e-6);
    }

    #[test]
    fn a_turned_rectangle_cuts_as_its_outline_does() {
        let ring = testing::ring(&[(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (10.0, 5.0), (0.0, 20.0)]);
        for degrees in [0.0, 20.0, 45.0, 110.0, 200.0] {
            let along = Vec2::from_angle(f64::to_radians(degrees));
            let to = TurnedRect { centre: Point::new(9.0, 8.0), along, length: 17.0, width: 6.0 };
            let whole = Region::from_rings(std::slice::from_ref(&ring), FillRule::NonZero);
            let frame = Region::from_rings(&[Ring::new(to.corners().to_vec())], FillRule::NonZero);
            let cut = Region::from_rings(&[clip_ring_turned(&ring, &to)], FillRule::NonZero);
            assert!((cut.area() - whole.intersection(&frame).area()).abs() < 1e-4, "{degrees}");
        }
        let beside = TurnedRect { centre: Point::new(60.0, 60.0), along: Vec2::new(0.6, 0.8), length: 9.0, width: 9.0 };
        assert!(clip_ring_turned(&ring, &beside).points.is_empty());
    }
}
