//! Outlines with fewer points.
//!
//! Every ring is thinned by Douglas and Peucker's method ("Algorithms for the
//! reduction of the number of points required to represent a digitized line",
//! 1973): points are left out as long as each stays within the tolerance of the edge
//! that replaces it. When rings would cross or vanish, the tolerance
//! is halved, so that the region keeps its polygons and holes.
//!
//! O(n log n) as a rule. Runs are cut every 4096 points, which bounds the worst case.

use crate::{FillRule, Locator, Region, Ring, closest_on_segment};
use kurbo::Point;

/// Longest run of points that is looked at as a whole.
const LONGEST_RUN: usize = 4096;

/// How often the tolerance is halved before everything is kept.
const HALVINGS: usize = 6;

impl Region {
    /// This region with fewer points: each left-out corner is within `tolerance` mm of the new
    /// outline, and there are as many polygons and holes as before.
    pub fn simplify(&self, tolerance: f64) -> Region {
        let count = |region: &Region| (region.polygons.len(), region.rings().count());
        let asked = tolerance;
        let mut tolerance = tolerance;
        for _ in 0..HALVINGS {
            if !(tolerance > 0.0 && tolerance.is_finite()) {
                break;
            }
            let rings: Vec<Ring> = self.rings().map(|ring| ring.simplify(tolerance)).collect();
            let region = Region::from_rings(&rings, FillRule::NonZero);
            let corners = |rings: &mut dyn Iterator<Item = &Ring>| rings.map(|ring| ring.points.len()).sum::<usize>();
            let fewer = corners(&mut region.rings()) <= corners(&mut rings.iter());
            // Rings that came to overlap may have swallowed parts of each other's outlines.
            if fewer && count(&region) == count(self) && self.is_near_outline_of(&region, asked) {
                return region;
            }
            tolerance /= 2.0;
        }
        self.clone()
    }

    /// Whether every corner lies within `distance` mm of the outline of `other`.
    fn is_near_outline_of(&self, other: &Region, distance: f64) -> bool {
        let outline = Locator::new(other);
        self.rings().flat_map(|ring| &ring.points).all(|point| outline.distance_to_outline(*point) <= distance)
    }
}

impl Ring {
    /// This ring with fewer points: each left-out point is within `tolerance` mm of the edge that
    /// replaces it. It may cross itself where it nearly did; see [`Region::simplify`].
    pub fn simplify(&self, tolerance: f64) -> Ring {
        let points: Vec<Point> = self.points.iter().copied().filter(|point| point.is_finite()).collect();
        let Some(&first) = points.first() else { return Ring::default() };
        let far = |a: &(usize, &Point), b: &(usize, &Point)| {
            a.1.distance_squared(first).total_cmp(&b.1.distance_squared(first)).then(b.0.cmp(&a.0))
        };
        let Some(farthest) = points.iter().enumerate().max_by(far).map(|(i, _)| i) else { return Ring::default() };
        let mut closed = points;
        closed.push(first);
        let mut keep = vec![false; closed.len()];
        thin(&closed, 0, farthest, tolerance, &mut keep);
        thin(&closed, farthest, closed.len() - 1, tolerance, &mut keep);
        closed.pop();
        Ring::new(closed.into_iter().zip(keep).filter(|(_, keep)| *keep).map(|(point, _)| point).collect())
    }
}

/// Marks in `keep` the points from `from` to `to`, both kept, that are needed.
fn thin(points: &[Point], from: usize, to: usize, tolerance: f64, keep: &mut [bool]) {
    let mut runs = vec![(from, to)];
    while let Some((from, to)) = runs.pop() {
        keep[from] = true;
        keep[to] = true;
        if to - from > LONGEST_RUN {
            let middle = from + (to - from) / 2;
            runs.extend([(from, middle), (middle, to)]);
            continue;
        }
        let off = |i: usize| closest_on_segment(points[i], points[from], points[to]).distance(points[i]);
        let farthest = (from + 1..to).map(|i| (i, off(i))).max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
        if let Some((farthest, distance)) = farthest
            && distance > tolerance
        {
            runs.extend([(from, farthest), (farthest, to)]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{self, Kind};
    use proptest::prelude::*;

    #[test]
    fn a_dense_circle_needs_few_points() {
        let angle = |i: i32| f64::from(i) / 2000.0 * std::f64::consts::TAU;
        let ring = Ring::new((0..2000).map(|i| (kurbo::Vec2::from_angle(angle(i)) * 10.0).to_point()).collect());
        let thin = ring.simplify(0.02);
        assert!(thin.points.len() < 120 && thin.points.len() > 30, "{}", thin.points.len());
        assert!((thin.signed_area() - ring.signed_area()).abs() < 0.02 * ring.length());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(150))]

        #[test]
        fn simpler_regions_keep_their_parts_and_their_place(
            kind in 0..Kind::ALL.len(), size in 3usize..60, seed: u64, tolerance in 0.001..2.0,
        ) {
            let region = testing::region(Kind::ALL[kind], size, seed);
            let simple = region.simplify(tolerance);
            prop_assert_eq!(simple.polygons.len(), region.polygons.len());
            prop_assert_eq!(simple.rings().count(), region.rings().count());
            let outline = Locator::new(&simple);
            for point in region.rings().flat_map(|ring| &ring.points) {
                prop_assert!(outline.distance_to_outline(*point) <= tolerance + 1e-5);
            }
        }
    }
}
