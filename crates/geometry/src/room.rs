//! Whether a disc fits into a shape: asked before an outline of many edges is shrunk, where the answer is often no.
//!
//! Squares over the shape, the largest first: the depth inside changes no faster than the way, so a square whose middle
//! is not deep enough for its size holds no centre of such a disc; the others are quartered. This is the way of
//! "polylabel" (V. Agafonkin, 2016) and of branch and bound before it. At most as many squares are looked at as the
//! outline has edges, or a few: O(n log² n).

use crate::{Locator, Polygon};
use kurbo::Point;
use std::collections::VecDeque;

/// So many squares are looked at in any case.
const FEW: usize = 100;

/// Whether a disc of `radius` mm may fit into `polygon`: `false` only when none does.
pub(crate) fn may_hold(polygon: &Polygon, radius: f64) -> bool {
    let Some(bounds) = polygon.bounds() else { return false };
    let edges: usize = polygon.rings().map(|ring| ring.points.len()).sum();
    let locator = Locator::from_rings(polygon.rings());
    let half = bounds.width().max(bounds.height()) / 2.0;
    let mut squares = VecDeque::from([(bounds.center(), half)]);
    for _ in 0..edges.max(FEW) {
        let Some((centre, half)) = squares.pop_front() else { return false };
        // Beyond the corners of the square there is nothing to ask for.
        let corner = half * std::f64::consts::SQRT_2;
        let Some(depth) = locator.depth_within(centre, corner) else { continue };
        if depth >= radius {
            return true;
        }
        if depth + corner >= radius {
            let quarter = half / 2.0;
            let signs = [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)];
            squares.extend(signs.map(|(x, y)| (Point::new(centre.x + x * quarter, centre.y + y * quarter), quarter)));
        }
    }
    !squares.is_empty()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{self, Kind, Random};
    use crate::{Join, Region};

    #[test]
    fn no_disc_is_lost() {
        let mut none = 0;
        for seed in 0..300 {
            let mut random = Random(seed);
            let region = testing::region(Kind::ALL[random.below(11)], 8 + random.below(60), random.bits());
            let radius = [0.1, 0.3, 1.0, 3.0][random.below(4)];
            for polygon in &region.polygons {
                // Bevels cut less away than arcs do, mitres more.
                let left = Region::from(polygon.clone()).offset(-radius, Join::Round { tolerance: 1e-4 });
                let widest = left.polygons.iter().map(Polygon::area).fold(0.0, f64::max);
                let may = may_hold(polygon, radius);
                assert!(may || widest < 1e-3, "seed {seed}: {widest} mm² are left");
                none += usize::from(!may);
            }
        }
        assert!(none > 20, "{none}");
    }

    #[test]
    fn a_comb_has_no_room() {
        let teeth = (0..2_000).flat_map(|i| {
            let x = 100.0 - f64::from(i) * 0.05;
            [(x, 1.0), (x - 0.02, 1.0), (x - 0.02, 60.0), (x - 0.04, 60.0)]
        });
        let points = [(0.0, 0.0), (100.0, 0.0)].into_iter().chain(teeth).map(Point::from).collect();
        let comb = Polygon { outer: crate::Ring::new(points), holes: Vec::new() };
        assert!(!may_hold(&comb, 2.0));
        assert!(may_hold(&comb, 0.4));
    }
}
