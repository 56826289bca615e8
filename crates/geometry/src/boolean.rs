//! Union, intersection and difference of regions, and the clean-up of any rings.
//!
//! Coordinates are rounded to [`RESOLUTION`] first, the same for every call,
//! and the arrangement is then exact in integers (`i_overlay`).

use crate::{Polygon, Region, Ring, pinch};
pub(crate) use i_overlay::core::fill_rule::FillRule as Rule;
use i_overlay::core::overlay::{IntOverlayOptions, Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;
use i_overlay::i_shape::int::shape::IntShapes;
use kurbo::Point;

/// Every coordinate that comes out of an operation is within this of the exact one, mm.
pub const RESOLUTION: f64 = 1e-6;

/// Coordinates beyond this are taken as this, mm: one kilometre, farther than any
/// drawing and near enough for every sum and product to be exact.
pub const FARTHEST: f64 = 1e6;

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
        let rule = match rule {
            FillRule::NonZero => Rule::NonZero,
            FillRule::EvenOdd => Rule::EvenOdd,
        };
        clean(rings, rule)
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

    /// What lies in any of `regions`, in one sweep.
    pub fn union_all(regions: &[Region]) -> Region {
        overlay(regions.iter().flat_map(Region::rings), [].iter(), OverlayRule::Subject, Rule::NonZero)
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

    /// What lies in this region and where `rings` do not turn around it, or as often to the left as to the right.
    pub fn without(&self, rings: &[Ring]) -> Region {
        overlay(self.rings(), rings.iter(), OverlayRule::Difference, Rule::NonZero)
    }

    fn combine(&self, other: &Region, rule: OverlayRule) -> Region {
        overlay(self.rings(), other.rings(), rule, Rule::NonZero)
    }
}

/// A ring in steps of [`RESOLUTION`]; points that are no numbers are left out.
fn to_grid(ring: &Ring) -> Vec<IntPoint<i64>> {
    let step = |v: f64| (v.clamp(-FARTHEST, FARTHEST) / RESOLUTION).round() as i64;
    ring.points.iter().filter(|p| p.is_finite()).map(|p| IntPoint::new(step(p.x), step(p.y))).collect()
}

/// Shapes in steps of [`RESOLUTION`] as a region, each connected face a polygon.
fn from_grid(shapes: IntShapes<i64>) -> Region {
    let point = |p: IntPoint<i64>| Point::new(p.x as f64 * RESOLUTION, p.y as f64 * RESOLUTION);
    let mut region = Region::default();
    for shape in shapes {
        let touching = repeated_corners(&shape);
        let ring = |contour| Ring::new(without_straight_corners(contour, &touching).into_iter().map(point).collect());
        let mut rings = shape.into_iter().map(ring);
        let Some(outer) = rings.next() else { continue };
        let polygon = Polygon { outer, holes: rings.collect() };
        if touching.is_empty() {
            region.polygons.push(polygon);
        } else {
            region.polygons.extend(pinch::split(&polygon));
        }
    }
    region
}

/// The corners that appear more than once, in order.
fn repeated_corners(shape: &[Vec<IntPoint<i64>>]) -> Vec<IntPoint<i64>> {
    let mut corners: Vec<IntPoint<i64>> = shape.iter().flatten().copied().collect();
    corners.sort_unstable();
    let mut repeated: Vec<_> = corners.windows(2).filter(|pair| pair[0] == pair[1]).map(|pair| pair[0]).collect();
    repeated.dedup();
    repeated
}

/// The ring without the corners at which it goes straight on, but for those in `keep`.
fn without_straight_corners(ring: Vec<IntPoint<i64>>, keep: &[IntPoint<i64>]) -> Vec<IntPoint<i64>> {
    let is_straight = |a: IntPoint<i64>, b: IntPoint<i64>, c: IntPoint<i64>| {
        let cross = |p: i64, q: i64, r: i64, s: i64| i128::from(p) * i128::from(s) - i128::from(q) * i128::from(r);
        cross(b.x - a.x, b.y - a.y, c.x - b.x, c.y - b.y) == 0 && keep.binary_search(&b).is_err()
    };
    let mut kept: Vec<IntPoint<i64>> = Vec::with_capacity(ring.len());
    for (i, &corner) in ring.iter().enumerate() {
        let before = kept.last().or(ring.last()).copied().unwrap_or(corner);
        let after = ring.get(i + 1).or(kept.first()).copied().unwrap_or(corner);
        if !is_straight(before, corner, after) {
            kept.push(corner);
        }
    }
    kept
}

/// The area around which `rings` turn as `rule` says.
pub(crate) fn clean(rings: &[Ring], rule: Rule) -> Region {
    overlay(rings.iter(), [].iter(), OverlayRule::Subject, rule)
}

fn overlay<'a>(
    subject: impl Iterator<Item = &'a Ring>,
    clip: impl Iterator<Item = &'a Ring>,
    operation: OverlayRule,
    rule: Rule,
) -> Region {
    // Corners at which a face touches itself may lie on a straight edge and must not be lost.
    let mut overlay = Overlay::<i64>::new_custom(64, IntOverlayOptions::keep_output_points(), Default::default());
    for ring in subject {
        overlay.add_contour(&to_grid(ring), ShapeType::Subject);
    }
    for ring in clip {
        overlay.add_contour(&to_grid(ring), ShapeType::Clip);
    }
    from_grid(overlay.overlay(operation, rule))
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
