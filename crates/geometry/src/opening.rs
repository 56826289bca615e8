//! What discs of one size reach of a region: it is shrunk and grown again.
//!
//! An outline of thousands of spikes, shrunk at once by a hundred times their width, crosses itself a hundred times at
//! each. It is shrunk in steps instead, the first about as long as the spikes are wide: they are gone before they meet
//! those beyond their neighbours. Shrinking by steps is the same as shrinking at once, but for the tolerance of arcs.

use crate::offset::has_room;
use crate::{Join, Polygon, Region};
use std::f64::consts::PI;

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
        // What is too small for the whole way is not worth the steps.
        shrunk.polygons.retain(|polygon| has_room(polygon, by));
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

impl Polygon {
    /// The least area, mm², that this polygon can have when it is shrunk by `by` mm, told by its area, its perimeter
    /// and the number of its holes alone; 0 where they tell nothing.
    ///
    /// For each mm of the way the outline grows longer by at most 2π for each hole but one (B. Sz.-Nagy, "Über
    /// Parallelmengen nichtkonvexer ebener Bereiche", *Acta Scientiarum Mathematicarum* 20, 1959; from memory).
    pub fn least_shrunk_area(&self, by: f64) -> f64 {
        let bend = PI * (1.0 - self.holes.len() as f64);
        let falls = self.perimeter() > 2.0 * bend * by;
        if falls { (self.area() - self.perimeter() * by + bend * by * by).max(0.0) } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Ring;
    use crate::testing::{self, Kind};
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
    fn no_polygon_shrinks_to_less_than_the_least() {
        let mut told = 0;
        for seed in 0..600 {
            let kind = Kind::ALL[seed as usize % Kind::ALL.len()];
            for polygon in testing::region(kind, 24, seed).polygons {
                for by in [0.05, 0.3, 1.0, 3.0, 20.0] {
                    let least = polygon.least_shrunk_area(by);
                    let shrunk = Region::from(polygon.clone()).shrunk(by, 0.001);
                    let rounding = 0.002 * polygon.perimeter();
                    assert!(least <= shrunk.area() + rounding, "{kind:?} {seed} {by}: {least} {}", shrunk.area());
                    told += usize::from(least > 0.0);
                }
            }
        }
        assert!(told > 500, "{told}");
        // Of a disc it is all there is.
        let disc = star(400, 5.0, 5.0).polygons.remove(0);
        let exact = PI * 16.0;
        assert!((disc.least_shrunk_area(1.0) / exact - 1.0).abs() < 0.002);
        assert!(disc.least_shrunk_area(5.1) < 1e-9);
    }

    #[test]
    fn nothing_stays_nothing() {
        assert!(Region::default().opened(1.0, 0.02).is_empty());
        assert!(star(40, 0.4, 0.5).opened(1.0, 0.02).is_empty());
    }
}
