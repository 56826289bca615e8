//! Twigs of the axis that no column should follow: corners of square ends,
//! bumps, the noise of a flattened curve.
//!
//! A twig is a limb with a free end. It is judged by what it reaches beyond the
//! disc of the triangle where it joins the rest: how far, and with how much
//! area. The least significant twig goes first; its triangles stay with the
//! joining one, and what was hidden behind it is judged anew. A right-angled
//! corner reaches 0.41 radii beyond its disc and goes, and so does any corner over
//! 60° that is no more than that; a corner of 45° reaches 1.6 and stays.
//!
//! Every triangle is looked at once for every twig it becomes part of, which
//! is once but for a few, and the queue takes O(n log n).

use super::axis::Axis;
use std::cmp::{Ordering, Reverse};
use std::collections::BinaryHeap;

/// A triangle lower than this over its chord is no twig, mm.
const SLIVER: f64 = 0.005;

/// What a twig must reach to be more than the end of something wider.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Significance {
    /// Beyond the disc, mm.
    pub(crate) reach: f64,
    /// Beyond the disc, in radii.
    pub(crate) reach_radii: f64,
    /// Area beyond the disc, in squared radii.
    pub(crate) area_radii: f64,
    /// Beyond the disc, in radii, for a twig that is all corner: two straight sides that meet.
    pub(crate) corner_radii: f64,
}

/// A twig is a corner when its area is less than this share of its width times its length.
const CORNER: f64 = 0.62;

impl Significance {
    /// For sewing: nothing shorter than a stitch or two.
    pub(crate) const USUAL: Significance =
        Significance { reach: 0.6, reach_radii: 0.45, area_radii: 0.65, corner_radii: 1.05 };
}

/// A limb with a free end, as far as it is known.
#[derive(Clone, Debug, Default)]
struct Twig {
    /// From the free end on.
    triangles: Vec<usize>,
    /// Triangle that joins it to the rest and the one of this limb next to it; none for a whole shape.
    joint: Option<(usize, usize)>,
    area: f64,
    /// The corner found farthest from some joint.
    far: Option<usize>,
}

/// A twig in the queue, the least significant first, ties by index.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Entry {
    reach: f64,
    twig: usize,
    length: usize,
}

impl Eq for Entry {}

impl PartialOrd for Entry {
    fn partial_cmp(&self, other: &Entry) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Entry {
    fn cmp(&self, other: &Entry) -> Ordering {
        self.reach.total_cmp(&other.reach).then(self.twig.cmp(&other.twig)).then(self.length.cmp(&other.length))
    }
}

/// No twig.
const NONE: usize = usize::MAX;

/// Prunes every twig that is not significant.
pub(crate) fn prune(axis: &mut Axis, limits: Significance) {
    drop_slivers(axis);
    let leaves: Vec<usize> = (0..axis.len()).filter(|t| axis.is_alive(*t) && axis.degree(*t) == 1).collect();
    let mut twigs: Vec<Twig> = Vec::with_capacity(leaves.len());
    let mut at_joint = vec![[NONE; 3]; axis.len()];
    let mut queue = BinaryHeap::new();
    for (index, &leaf) in leaves.iter().enumerate() {
        let mut twig = Twig::default();
        grow(&mut twig, axis, leaf, None);
        twigs.push(twig);
        settle(index, &mut twigs, axis, limits, &mut at_joint, &mut queue);
    }
    while let Some(Reverse(entry)) = queue.pop() {
        let Some(twig) = twigs.get_mut(entry.twig) else { continue };
        let Some((joint, _)) = twig.joint.filter(|_| twig.triangles.len() == entry.length) else { continue };
        if !axis.is_alive(joint) || axis.degree(joint) < 3 {
            continue;
        }
        twig.joint = None;
        axis.prune(&twig.triangles, joint);
        let others = at_joint.get(joint).copied().unwrap_or([NONE; 3]);
        for other in others.into_iter().filter(|other| *other != entry.twig) {
            let Some(twig) = twigs.get_mut(other) else { continue };
            // The way on from the joint, away from where this twig comes from.
            if let Some((at, from)) = twig.joint.take().filter(|j| j.0 == joint) {
                grow(twig, axis, at, Some(from));
                settle(other, &mut twigs, axis, limits, &mut at_joint, &mut queue);
            }
        }
    }
}

/// Prunes the slivers that rounding leaves along straight edges: free ends lower than [`SLIVER`].
fn drop_slivers(axis: &mut Axis) {
    let mut free: Vec<usize> = (0..axis.len()).filter(|t| axis.degree(*t) == 1).collect();
    while let Some(triangle) = free.pop() {
        if !axis.is_alive(triangle) {
            continue;
        }
        let mut ways = axis.next(triangle);
        let (Some((next, chord)), None) = (ways.next(), ways.next()) else { continue };
        drop(ways);
        if 2.0 * axis.area(triangle) < SLIVER * axis.width(chord) {
            axis.prune(&[triangle], next);
            free.push(next);
        }
    }
}

/// Follows a limb from `start` (coming from `from`) until it joins others or ends.
fn grow(twig: &mut Twig, axis: &Axis, start: usize, from: Option<usize>) {
    let (mut here, mut before) = (start, from);
    loop {
        if axis.degree(here) > 2 {
            twig.joint = before.map(|before| (here, before));
            return;
        }
        twig.triangles.push(here);
        twig.area += axis.with_taken(here).map(|t| axis.area(t)).sum::<f64>();
        match axis.next(here).map(|n| n.0).find(|n| Some(*n) != before) {
            Some(next) => (here, before) = (next, Some(here)),
            None => {
                twig.joint = None;
                return;
            }
        }
    }
}

/// Puts a twig into the queue when it is not significant at its joint.
fn settle(
    index: usize,
    twigs: &mut [Twig],
    axis: &Axis,
    limits: Significance,
    at_joint: &mut [[usize; 3]],
    queue: &mut BinaryHeap<Reverse<Entry>>,
) {
    let Some(twig) = twigs.get_mut(index) else { return };
    let Some((joint, _)) = twig.joint else { return };
    if let Some(free) = at_joint.get_mut(joint).and_then(|twigs| twigs.iter_mut().find(|twig| **twig == NONE)) {
        *free = index;
    }
    if let Some(reach) = insignificant(twig, axis, limits) {
        queue.push(Reverse(Entry { reach, twig: index, length: twig.triangles.len() }));
    }
}

/// How far a twig reaches beyond its joint's disc in radii, when that is not far enough.
fn insignificant(twig: &mut Twig, axis: &Axis, limits: Significance) -> Option<f64> {
    let (joint, _) = twig.joint?;
    let disc = axis.disc(joint);
    let radius = disc.radius.max(1e-9);
    let beyond = |corner: usize| axis.point(corner).distance(disc.centre) - disc.radius;
    let last = *twig.triangles.last()?;
    let chord = axis.next(last).find(|n| n.0 == joint)?.1;
    // The part of the disc beyond the chord lies in the twig.
    let half = (axis.width(chord) / 2.0).min(radius);
    let centre_inside = (disc.centre - axis.middle(chord)).dot(axis.along(chord)) < 0.0;
    let angle = 2.0 * (half / radius).asin();
    let minor = radius * radius * (angle - angle.sin()) / 2.0;
    let in_disc = if centre_inside { std::f64::consts::PI * radius * radius - minor } else { minor };
    let area = twig.area - in_disc;
    let small = area < limits.area_radii * radius * radius;
    let surely = limits.reach.max(limits.corner_radii * radius);
    if !small && twig.far.is_some_and(|corner| beyond(corner) >= surely) {
        return None;
    }
    let corners = twig.triangles.iter().flat_map(|t| axis.with_taken(*t)).flat_map(|t| axis.corners(t));
    // Of equals the first.
    let farthest = |a: &(f64, usize), b: &(f64, usize)| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1));
    let (reach, far) = corners.map(|corner| (beyond(corner), corner)).max_by(farthest)?;
    twig.far = Some(far);
    let length = (axis.point(far) - axis.middle(chord)).hypot();
    let is_corner = twig.area < CORNER * axis.width(chord) * length;
    let radii = if is_corner { limits.corner_radii } else { limits.reach_radii };
    let far_enough = limits.reach.max(radii * radius);
    (small || reach < far_enough).then_some(reach / radius)
}

#[cfg(test)]
mod tests {
    use super::super::prepare::prepare;
    use super::*;
    use kurbo::Point;
    use laidwork_geometry::{Polygon, Ring};

    fn pruned(points: &[(f64, f64)]) -> (usize, usize) {
        let outer = Ring::new(points.iter().copied().map(Point::from).collect());
        let mut axis = Axis::new(&prepare(&Polygon { outer, holes: Vec::new() }).parted).unwrap();
        let before: f64 = (0..axis.len()).map(|t| axis.area(t)).sum();
        prune(&mut axis, Significance::USUAL);
        let alive: Vec<usize> = (0..axis.len()).filter(|t| axis.is_alive(*t)).collect();
        let after: f64 = alive.iter().flat_map(|t| axis.with_taken(*t)).map(|t| axis.area(t)).sum();
        assert!((before - after).abs() < 1e-6, "nothing is lost: {before} {after}");
        let count = |degree| alive.iter().filter(|t| axis.degree(**t) == degree).count();
        (count(1), count(3))
    }

    #[test]
    fn the_corners_of_a_bar_go() {
        assert_eq!(pruned(&[(0.0, 0.0), (20.0, 0.0), (20.0, 3.0), (0.0, 3.0)]), (2, 0));
    }

    #[test]
    fn the_arms_of_a_tee_stay() {
        let tee = [(0.0, 0.0), (15.0, 0.0), (15.0, 3.0), (9.0, 3.0), (9.0, 20.0), (6.0, 20.0), (6.0, 3.0), (0.0, 3.0)];
        assert_eq!(pruned(&tee), (3, 1));
    }

    #[test]
    fn a_sharp_corner_stays() {
        assert_eq!(pruned(&[(0.0, 0.0), (20.0, 0.0), (24.0, 3.0), (0.0, 3.0)]).0, 2);
        assert_eq!(pruned(&[(0.0, 0.0), (10.0, 0.0), (5.0, 20.0)]).0, 2);
    }
}
