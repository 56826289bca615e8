//! Free ends of limbs, cut back to where the axis still tells the direction.
//!
//! Near the end of a bar the axis turns into one of its corners, and the discs
//! along it shrink to nothing within a width. A limb is cut back to the outermost place
//! where they are still full; what lies beyond is covered by going straight on. Ends
//! that taper over a longer way keep their axis to the point.

use super::axis::Axis;
use super::graph::Limb;

/// A disc is full at this share of the greatest one near the end.
const FULL: f64 = 0.94;

/// An end is cut back when the outermost full disc is within this many radii of the tip.
const SUDDEN: f64 = 2.7;

/// The cut is this many radii farther in.
const INNER: f64 = 0.4;

/// Discs whose middles are no farther apart than this many radii are one: round ends hold many, and the chords between
/// them turn about instead of going on.
const SAME: f64 = 0.1;

/// Where a round end begins the limb is this many radii wide; a square, whose discs are one too, is narrower.
const AS_WIDE: f64 = 1.8;

/// A limb goes straight on into its round end when it turns by less than this over a radius: the cosine.
const STRAIGHT: f64 = 0.97;

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
    let Some(&end) = walked.last() else { return last };
    // The axis goes on into the tip's triangle.
    let beyond = limb.tips[1].map_or(0.0, |t| axis.width(limb.chords[last]).min(axis.disc(t).radius));
    let from_tip = |i: usize| end - walked.get(i).copied().unwrap_or(0.0) + beyond;
    let radius = |i: usize| i.checked_sub(1).and_then(|t| limb.triangles.get(t)).map_or(0.0, |t| axis.disc(*t).radius);
    let mut greatest: f64 = 0.0;
    for i in (1..=last).rev() {
        if from_tip(i) > SUDDEN * greatest.max(0.1) && greatest > 0.0 {
            break;
        }
        greatest = greatest.max(radius(i));
    }
    let full = (1..=last).rev().find(|i| radius(*i) >= FULL * greatest);
    let Some(full) = full.filter(|i| from_tip(*i) <= SUDDEN * greatest) else { return last };
    // A little farther in, where no chord ends on the end itself.
    let keep = |full: usize| {
        let inner = from_tip(full) + INNER * greatest;
        (1..=full).rev().find(|i| from_tip(*i) >= inner).unwrap_or(full.min(1))
    };
    // Of a round end the innermost disc: the last full one may be any of the same.
    let disc = |i: usize| limb.triangles.get(i - 1).map(|t| axis.disc(*t));
    let Some(end) = disc(full) else { return keep(full) };
    let is_same = |i: &usize| disc(*i).is_some_and(|disc| disc.centre.distance(end.centre) <= SAME * greatest);
    let innermost = (1..=full).rev().take_while(is_same).last().unwrap_or(full);
    let (round, middle) = (keep(innermost), |i: usize| axis.middle(limb.chords[i]));
    let Some(before) = (0..round).rev().find(|i| from_tip(*i) - from_tip(round) >= greatest) else { return keep(full) };
    let (into, on) = (middle(round) - middle(before), end.centre - middle(round));
    let is_straight = into.dot(on) >= STRAIGHT * into.hypot() * on.hypot();
    let is_round = axis.width(limb.chords[innermost - 1]) >= AS_WIDE * greatest;
    keep(if is_straight && is_round { innermost } else { full })
}
