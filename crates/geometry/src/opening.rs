//! What discs of one size reach of a region: it is shrunk and grown again.
//!
//! An outline of thousands of spikes, shrunk at once by a hundred times their width, crosses itself a hundred times at
//! each. It is shrunk in steps instead, the first about as long as the spikes are wide: they are gone before they meet
//! those beyond their neighbours. Shrinking by steps is the same as shrinking at once, but for the tolerance of arcs.

use crate::{Join, Region};

/// An outline is shrunk in steps when the band beside it, as wide as the way, has this many times the area of the region.
const INTRICATE: f64 = 6.0;

/// Each step is this many times as long as the one before.
const LONGER: f64 = 2.0;

impl Region {
    /// All points of the region that a disc of `radius` mm inside it covers, arcs within `tolerance` mm.
    pub fn opened(&self, radius: f64, tolerance: f64) -> Region {
        self.shrunk(radius, tolerance).offset(radius, Join::Round { tolerance })
    }

    /// The region without what is nearer to its outline than `by` mm, arcs within `tolerance` mm: the middles of all
    /// discs of that radius inside it.
    pub fn shrunk(&self, by: f64, tolerance: f64) -> Region {
        let join = Join::Round { tolerance };
        let (area, perimeter) = (self.area(), self.perimeter());
        if perimeter * by <= INTRICATE * area {
            return self.offset(-by, join);
        }
        let mut shrunk = self.clone();
        let (mut left, mut step) = (by, area / perimeter);
        while left > 0.0 && !shrunk.is_empty() {
            // The last step is not the shortest.
            let now = if step * 1.5 < left { step } else { left };
            shrunk = shrunk.offset(-now, join);
            left -= now;
            step *= LONGER;
        }
        shrunk
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Polygon, Ring};
    use kurbo::Point;

    fn star(corners: usize, inner: f64, outer: f64) -> Region {
        let corner = |i: usize| {
            let reach = if i.is_multiple_of(2) { inner } else { outer };
            let (sin, cos) = (i as f64 * std::f64::consts::TAU / corners as f64).sin_cos();
            Point::new(reach * cos, reach * sin)
        };
        Polygon { outer: Ring::new((0..corners).map(corner).collect()), holes: Vec::new() }.into()
    }

    #[test]
    fn spikes_are_out_of_reach() {
        for corners in [400, 800, 2_000] {
            let opened = star(corners, 20.0, 24.0).opened(3.0, 0.02);
            let inner = std::f64::consts::PI * 20.0 * 20.0;
            assert!((opened.area() / inner - 1.0).abs() < 0.02, "{corners}: {}", opened.area());
            assert_eq!(opened.polygons.len(), 1);
        }
    }

    #[test]
    fn steps_end_where_one_step_does() {
        let star = star(1_000, 20.0, 24.0);
        let (steps, once) = (star.shrunk(3.0, 0.005), star.offset(-3.0, Join::Round { tolerance: 0.005 }));
        assert!(star.perimeter() * 3.0 > INTRICATE * star.area());
        assert!(steps.difference(&once).area() + once.difference(&steps).area() < 0.02 * once.perimeter());
    }

    #[test]
    fn nothing_stays_nothing() {
        assert!(Region::default().opened(1.0, 0.02).is_empty());
        assert!(star(40, 0.4, 0.5).opened(1.0, 0.02).is_empty());
    }
}
