//! Union, intersection and difference of regions, and the clean-up of any rings.
//!
//! Coordinates are rounded to [`RESOLUTION`] first, the same for every call,
//! and the arrangement is then exact in integers (`i_overlay`).

use crate::{Polygon, Region, Ring};
use i_overlay::core::fill_rule::FillRule as OverlayFill;
use i_overlay::core::overlay::{Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;
use i_overlay::i_shape::int::shape::IntShapes;
use kurbo::Point;

/// Every coordinate that comes out of an operation is within this of the exact one, mm.
pub const RESOLUTION: f64 = 1e-6;

/// Which turns of a ring around a point put the point inside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FillRule {
    /// Any number of turns but zero.
    NonZero,
    /// An odd number of crossings.
    EvenOdd,
}

impl Region {
    /// The area that `rings` enclose under `rule`: crossings resolved, holes
    /// found and oriented, doubled edges and slivers without area gone.
    pub fn from_rings(rings: &[Ring], rule: FillRule) -> Region {
        overlay(rings.iter(), [].iter(), OverlayRule::Subject, rule)
    }

    /// The area that any of `rings` encloses; they must all turn the same way.
    ///
    /// Neighbours in the list are united first, so that a long chain of rings
    /// of which each overlaps only those near it takes n log n time, where all
    /// at once would meet every crossing inside.
    pub fn union_of_chain(rings: &[Ring]) -> Region {
        const FEW: usize = 24;
        if rings.len() <= FEW {
            return Region::from_rings(rings, FillRule::NonZero);
        }
        let (before, after) = rings.split_at(rings.len() / 2);
        Region::union_of_chain(before).union(&Region::union_of_chain(after))
    }

    /// What lies in either region.
    pub fn union(&self, other: &Region) -> Region {
        self.combine(other, OverlayRule::Union)
    }

    /// What lies in both regions.
    pub fn intersection(&self, other: &Region) -> Region {
        self.combine(other, OverlayRule::Intersect)
    }

    /// What lies in this region and not in the other.
    pub fn difference(&self, other: &Region) -> Region {
        self.combine(other, OverlayRule::Difference)
    }

    fn combine(&self, other: &Region, rule: OverlayRule) -> Region {
        overlay(self.rings(), other.rings(), rule, FillRule::NonZero)
    }
}

/// A ring in steps of [`RESOLUTION`]; points that are no numbers are left out.
pub(crate) fn to_grid(ring: &Ring) -> Vec<IntPoint<i64>> {
    let step = |v: f64| (v / RESOLUTION).round() as i64;
    ring.points.iter().filter(|p| p.is_finite()).map(|p| IntPoint::new(step(p.x), step(p.y))).collect()
}

/// Shapes in steps of [`RESOLUTION`] as a region.
pub(crate) fn from_grid(shapes: IntShapes<i64>) -> Region {
    let ring = |contour: Vec<IntPoint<i64>>| {
        Ring::new(contour.iter().map(|p| Point::new(p.x as f64 * RESOLUTION, p.y as f64 * RESOLUTION)).collect())
    };
    let polygon = |shape: Vec<Vec<IntPoint<i64>>>| {
        let mut rings = shape.into_iter().map(ring);
        Some(Polygon { outer: rings.next()?, holes: rings.collect() })
    };
    Region { polygons: shapes.into_iter().filter_map(polygon).collect() }
}

fn overlay<'a>(
    subject: impl Iterator<Item = &'a Ring>,
    clip: impl Iterator<Item = &'a Ring>,
    operation: OverlayRule,
    rule: FillRule,
) -> Region {
    let mut overlay = Overlay::<i64>::new(64);
    for ring in subject {
        overlay.add_contour(&to_grid(ring), ShapeType::Subject);
    }
    for ring in clip {
        overlay.add_contour(&to_grid(ring), ShapeType::Clip);
    }
    let fill = match rule {
        FillRule::NonZero => OverlayFill::NonZero,
        FillRule::EvenOdd => OverlayFill::EvenOdd,
    };
    from_grid(overlay.overlay(operation, fill))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(from: f64, to: f64) -> Ring {
        Ring::new([(from, from), (to, from), (to, to), (from, to)].map(Point::from).to_vec())
    }

    #[test]
    fn doubled_rings_follow_the_fill_rule() {
        let rings = [square(0.0, 3.0), square(1.0, 2.0)];
        assert!((Region::from_rings(&rings, FillRule::NonZero).area() - 9.0).abs() < 1e-9);
        let ring = Region::from_rings(&rings, FillRule::EvenOdd);
        assert!((ring.area() - 8.0).abs() < 1e-9);
        assert_eq!(ring.polygons[0].holes.len(), 1);
        assert!(ring.polygons[0].outer.signed_area() > 0.0 && ring.polygons[0].holes[0].signed_area() < 0.0);
    }

    #[test]
    fn two_squares_that_share_a_corner_square() {
        let (a, b) = (square(0.0, 2.0), square(1.0, 3.0));
        let region = |ring: &Ring| Region::from_rings(std::slice::from_ref(ring), FillRule::NonZero);
        let (a, b) = (region(&a), region(&b));
        assert!((a.union(&b).area() - 7.0).abs() < 1e-9);
        assert!((a.intersection(&b).area() - 1.0).abs() < 1e-9);
        assert!((a.difference(&b).area() - 3.0).abs() < 1e-9);
    }
}
