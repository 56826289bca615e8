//! Union, intersection and difference of regions, and the clean-up of any rings.
//!
//! Coordinates are rounded to [`RESOLUTION`] first, the same for every call,
//! and the arrangement is then exact in integers (`i_overlay`).

use crate::{Polygon, Region, Ring, pinch};
pub(crate) use i_overlay::core::fill_rule::FillRule as Rule;
use i_overlay::core::integer::OverlayInt;
use i_overlay::core::overlay::{IntOverlayOptions, Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::number::wide_int::WideIntNumber;
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

/// What coordinates are counted in.
trait Steps: OverlayInt {
    /// A whole number of steps.
    fn of(steps: f64) -> Self;
}

impl Steps for i32 {
    fn of(steps: f64) -> i32 {
        steps as i32
    }
}

impl Steps for i64 {
    fn of(steps: f64) -> i64 {
        steps as i64
    }
}

/// A ring in steps of [`RESOLUTION`]; points that are no numbers are left out.
fn to_grid<I: Steps>(ring: &Ring) -> Vec<IntPoint<I>> {
    let step = |v: f64| I::of((v.clamp(-FARTHEST, FARTHEST) / RESOLUTION).round());
    ring.points.iter().filter(|p| p.is_finite()).map(|p| IntPoint::new(step(p.x), step(p.y))).collect()
}

/// Shapes in steps of [`RESOLUTION`] as a region, each connected face a polygon.
fn from_grid<I: Steps>(shapes: IntShapes<I>) -> Region {
    let point = |p: IntPoint<I>| Point::new(p.x.to_f64() * RESOLUTION, p.y.to_f64() * RESOLUTION);
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
fn repeated_corners<I: Steps>(shape: &[Vec<IntPoint<I>>]) -> Vec<IntPoint<I>> {
    let mut corners: Vec<IntPoint<I>> = shape.iter().flatten().copied().collect();
    corners.sort_unstable();
    let mut repeated: Vec<_> = corners.windows(2).filter(|pair| pair[0] == pair[1]).map(|pair| pair[0]).collect();
    repeated.dedup();
    repeated
}

/// The ring without the corners at which it goes straight on, but for those in `keep`.
fn without_straight_corners<I: Steps>(ring: Vec<IntPoint<I>>, keep: &[IntPoint<I>]) -> Vec<IntPoint<I>> {
    let is_straight = |a: IntPoint<I>, b: IntPoint<I>, c: IntPoint<I>| {
        let along = |from: I, to: I| to.to_wide() - from.to_wide();
        let cross = along(a.x, b.x) * along(b.y, c.y) - along(a.y, b.y) * along(b.x, c.x);
        cross == I::Wide::ZERO && keep.binary_search(&b).is_err()
    };
    let mut kept: Vec<IntPoint<I>> = Vec::with_capacity(ring.len());
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

/// Coordinates below this are counted in 32 bits: the arrangement is the same, in three quarters of the time. Half of
/// the limit that `i_overlay` sets for them, mm.
const NEAR: f64 = 536.0;

fn overlay<'a>(
    subject: impl Iterator<Item = &'a Ring> + Clone,
    clip: impl Iterator<Item = &'a Ring> + Clone,
    operation: OverlayRule,
    rule: Rule,
) -> Region {
    let is_near = |ring: &Ring| ring.points.iter().all(|p| p.x.abs() < NEAR && p.y.abs() < NEAR);
    if subject.clone().chain(clip.clone()).all(is_near) {
        arranged::<i32>(subject, clip, operation, rule)
    } else {
        arranged::<i64>(subject, clip, operation, rule)
    }
}

fn arranged<'a, I: Steps>(
    subject: impl Iterator<Item = &'a Ring>,
    clip: impl Iterator<Item = &'a Ring>,
    operation: OverlayRule,
    rule: Rule,
) -> Region {
    // Corners at which a face touches itself may lie on a straight edge and must not be lost.
    let mut overlay = Overlay::<I>::new_custom(64, IntOverlayOptions::keep_output_points(), Default::default());
    for ring in subject {
        overlay.add_contour(&to_grid::<I>(ring), ShapeType::Subject);
    }
    for ring in clip {
        overlay.add_contour(&to_grid::<I>(ring), ShapeType::Clip);
    }
    from_grid(overlay.overlay(operation, rule))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{self, Kind};

    fn square(from: f64, to: f64) -> Ring {
        Ring::new([(from, from), (to, from), (to, to), (from, to)].map(Point::from).to_vec())
    }

    #[test]
    fn both_widths_of_numbers_give_the_same() {
        let mut some = 0;
        for seed in 0..60 {
            let kind = |seed: u64| Kind::ALL[seed as usize % Kind::ALL.len()];
            let (a, b) = (testing::rings(kind(seed), 24, seed), testing::rings(kind(seed / 3), 24, seed + 1));
            let narrow = arranged::<i32>(a.iter(), b.iter(), OverlayRule::Difference, Rule::NonZero);
            assert_eq!(narrow, arranged::<i64>(a.iter(), b.iter(), OverlayRule::Difference, Rule::NonZero), "{seed}");
            some += usize::from(!narrow.is_empty());
        }
        assert!(some > 30, "{some}");
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
