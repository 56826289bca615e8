//! Free ends of limbs, cut back to where the axis still tells the direction.
//!
//! Near the end of a bar the axis turns into one of its corners. A limb is cut
//! back to the innermost chord beyond which everything would have been pruned,
//! and farther where its last stretch still hooks; what lies beyond is covered
//! by going straight on from there.

use super::axis::Axis;
use super::graph::Limb;
use super::prune::Significance;
use kurbo::{Point, Vec2};

/// Cutting back goes this many widths in, at most.
const DEEPEST: f64 = 1.3;

/// A last stretch of half a width that turns by more than this is a hook, degrees.
const HOOK: f64 = 18.0;

/// Cuts the free ends of every limb back.
pub(crate) fn trim_caps(axis: &Axis, limbs: &mut [Limb]) {
    for limb in limbs.iter_mut().filter(|limb| !limb.closed) {
        for end in [1, 0] {
            if limb.nodes[end].is_some() {
                continue;
            }
            if end == 0 {
                limb.flip();
            }
            let keep = cap(axis, limb);
            limb.chords.truncate(keep + 1);
            limb.triangles.truncate(keep);
            if end == 0 {
                limb.flip();
            }
        }
    }
}

/// The chord to end a limb with whose last end is free.
fn cap(axis: &Axis, limb: &Limb) -> usize {
    let last = limb.chords.len().saturating_sub(1);
    let walked = limb.walked(axis);
    let at = |i: usize| walked.get(i).copied().unwrap_or(0.0);
    let mut beyond: Vec<Point> = Vec::new();
    let add = |triangle: Option<&usize>, beyond: &mut Vec<Point>| {
        let triangles = triangle.into_iter().flat_map(|t| axis.with_taken(*t));
        beyond.extend(triangles.flat_map(|t| axis.corners(t)).map(|c| axis.point(c)));
    };
    add(limb.tips[1].as_ref(), &mut beyond);
    let mut keep = last;
    let mut index = last;
    while index > 0 {
        let Some(&inner) = limb.triangles.get(index - 1) else { break };
        let disc = axis.disc(inner);
        if at(last) - at(index) > DEEPEST * 2.0 * disc.radius.max(0.2) {
            break;
        }
        let reach = beyond.iter().map(|p| p.distance(disc.centre)).fold(0.0, f64::max) - disc.radius;
        let usual = Significance::USUAL;
        if reach < (usual.reach_radii * disc.radius).max(usual.reach / 2.0) {
            keep = index;
        }
        add(Some(&inner), &mut beyond);
        index -= 1;
    }
    unhook(axis, limb, &walked, keep)
}

/// Goes farther in while the last half width turns away from what comes before it.
fn unhook(axis: &Axis, limb: &Limb, walked: &[f64], keep: usize) -> usize {
    let mut keep = keep;
    for _ in 0..3 {
        let (Some(chord), Some(&end)) = (limb.chords.get(keep), walked.get(keep)) else { return keep };
        let width = axis.width(*chord);
        let back = |distance: f64| walked.partition_point(|w| *w < end - distance).min(keep);
        let (near, far) = (back(0.5 * width), back(1.5 * width));
        if end < 1.2 * width || near <= far || near >= keep {
            return keep;
        }
        let middle = |i: usize| limb.chords.get(i).map(|c| axis.middle(*c)).unwrap_or_default();
        let (last, before): (Vec2, Vec2) = (middle(keep) - middle(near), middle(near) - middle(far));
        if last.dot(before).atan2(last.cross(before).abs()).to_degrees() > 90.0 - HOOK {
            return keep;
        }
        keep = back(0.3 * width);
    }
    keep
}
