//! Rings cut to a rectangle, much faster than a boolean operation.
//!
//! Sutherland and Hodgman's way ("Reentrant polygon clipping", CACM 17, 1974): the ring is cut to one side of the
//! rectangle after the other. What falls apart stays one ring, joined along the sides, which changes no number of turns
//! inside. O(n).

use crate::Ring;
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
    let mut points = ring.points;
    for inside in half_planes {
        let mut kept = Vec::with_capacity(points.len());
        let previous = points.iter().cycle().skip(points.len().saturating_sub(1));
        for (&a, &b) in previous.zip(&points) {
            let (da, db) = (inside(a, bounds), inside(b, bounds));
            if (da < 0.0) != (db < 0.0) {
                kept.push(a.lerp(b, da / (da - db)));
            }
            if db >= 0.0 {
                kept.push(b);
            }
        }
        points = kept;
    }
    Ring::new(points)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{FillRule, Region};

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
}
