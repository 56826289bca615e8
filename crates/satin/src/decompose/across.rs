//! Lines across a column: from its middle line to its sides.
//!
//! Every sample looks left and right, square to the smoothed middle line, for
//! the outline. Where other limbs open into a node's zone, their cuts are walls,
//! and no look goes farther than the sides of the column's own limbs, prolonged, would
//! be. At a flat free end the lines turn gradually until they lie along it.

use super::track::{Ground, STEP, Sample};
use super::walls::Walls;
use crate::line::right_of;
use crate::rays::Rays;
use kurbo::{Point, Vec2};
use laidwork_geometry::Crossing;

/// Directions are smoothed over this share of the width.
const SMOOTHING: f64 = 0.25;

/// In a zone a side may lie farther out than the prolonged sides of the limbs by this share and this much, mm.
const SLACK: [f64; 2] = [1.12, 0.1];

/// In a limb each half is at most this share of the chord, and this much more, mm.
const LIMB: [f64; 2] = [0.8, 0.3];

/// Beyond a free end each half is at most this many times what it is before.
const FLARE: f64 = 2.5;

/// What is known of one strand besides its samples.
#[derive(Clone, Debug, Default)]
pub(crate) struct Surroundings<'a> {
    /// For every piece: walls near its beginning and its end.
    pub(crate) walls: Vec<Walls<'a>>,
    /// Whether what lies beyond the beginning and the end is the open end of a shape.
    pub(crate) free: [bool; 2],
    /// The direction of the flat end that the beginning and the end run into.
    pub(crate) flats: [Option<Vec2>; 2],
}

/// Crossings through `samples`; those outside the shape are left out, and
/// with them their samples.
pub(crate) fn across(
    rays: &Rays,
    samples: &mut Vec<Sample>,
    closed: bool,
    surroundings: &Surroundings<'_>,
) -> Vec<Crossing> {
    samples.retain(|s| rays.contains(s.point));
    let mut along = directions(samples, closed);
    for end in [0, 1] {
        let tip = if end == 0 { samples.first() } else { samples.last() };
        if let (Some(flat), Some(tip)) = (surroundings.flats[end], tip) {
            turn_to_end(&mut along, end, flat, tip.width);
        }
    }
    let mut halves: Vec<[f64; 2]> =
        samples.iter().zip(&along).map(|(sample, along)| look(rays, sample, right_of(*along), surroundings)).collect();
    limit_zones(samples, &mut halves, closed, surroundings.free);
    let crossing = |((sample, along), [left, right]): ((&Sample, &Vec2), &[f64; 2])| {
        let across = right_of(*along);
        Crossing::new(sample.point - across * *left, sample.point + across * *right)
    };
    samples.iter().zip(&along).zip(&halves).map(crossing).collect()
}

/// Smoothed directions along the samples.
fn directions(samples: &[Sample], closed: bool) -> Vec<Vec2> {
    let points: Vec<Point> = samples.iter().map(|s| s.point).collect();
    let width = super::track::mean_width(samples);
    crate::line::directions(&points, (SMOOTHING * width / STEP).max(1.0), closed)
}

/// How far the sides are to the left and to the right of a sample.
fn look(rays: &Rays, sample: &Sample, across: Vec2, surroundings: &Surroundings<'_>) -> [f64; 2] {
    let longest = match sample.ground {
        Ground::Limb => LIMB[0] * sample.width + LIMB[1],
        _ => 2.5 * sample.width + 2.0,
    };
    [-across, across].map(|way| {
        let walls = [Some(sample.piece), matches!(sample.ground, Ground::Zone(_)).then_some(sample.piece + 1)];
        let count = surroundings.walls.len().max(1);
        let walls = walls.into_iter().flatten().filter_map(|p| surroundings.walls.get(p % count));
        let outline = rays.reach(sample.point, way, longest);
        walls.fold(outline, |nearest, walls| walls.reach(sample.point, way, nearest))
    })
}

/// In zones and beyond the ends no side lies farther out than the limbs' sides, prolonged.
fn limit_zones(samples: &[Sample], halves: &mut [[f64; 2]], closed: bool, free: [bool; 2]) {
    let count = samples.len();
    let is_limb = |i: usize| samples.get(i).is_some_and(|s| s.ground == Ground::Limb);
    let mut start = 0;
    while start < count {
        if is_limb(start) {
            start += 1;
            continue;
        }
        let mut end = start;
        while end < count && !is_limb(end) {
            end += 1;
        }
        let before = start.checked_sub(1).or(closed.then(|| count - 1).filter(|i| is_limb(*i)));
        let after = (end < count).then_some(end).or(closed.then_some(0).filter(|i| is_limb(*i)));
        let known = |i: Option<usize>, side: usize| {
            let i = i?;
            let width = samples.get(i)?.width;
            Some(halves.get(i)?.get(side)?.min(width * 0.62 + 0.1))
        };
        let edges = [0, 1].map(|side| match (known(before, side), known(after, side)) {
            (Some(a), Some(b)) => Some((a, b)),
            (Some(a), None) | (None, Some(a)) => Some((a, a)),
            (None, None) => None,
        });
        for i in start..end {
            let share = (i - start + 1) as f64 / (end - start + 1) as f64;
            let is_free =
                matches!(samples.get(i).map(|s| s.ground), Some(Ground::Beyond(e)) if free.get(e) == Some(&true));
            let slack = if is_free { [FLARE, 0.5] } else { SLACK };
            for (side, edge) in edges.iter().enumerate() {
                if let (Some((a, b)), Some(half)) = (edge, halves.get_mut(i).and_then(|h| h.get_mut(side))) {
                    *half = half.min((a + (b - a) * share) * slack[0] + slack[1]);
                }
            }
        }
        start = end;
    }
}

/// Directions along a band and its free ends: lines turn gradually until they
/// lie along a flat end.
fn turn_to_end(along: &mut [Vec2], end: usize, flat: Vec2, width: f64) {
    // The direction along the column for which the crossing lies along the end.
    let Some(&here) = (if end == 0 { along.first() } else { along.last() }) else { return };
    let mut square = Vec2::new(flat.y, -flat.x);
    if square.dot(here) < 0.0 {
        square = -square;
    }
    let turn = here.cross(square).atan2(here.dot(square));
    let reach = (width * (0.6 + 1.4 * turn.abs()) / STEP).round().max(1.0) as usize;
    let count = along.len();
    for i in 0..reach.min(count) {
        let index = if end == 0 { i } else { count - 1 - i };
        let share = 1.0 - i as f64 / reach as f64;
        let eased = share * share * (3.0 - 2.0 * share);
        if let Some(slot) = along.get_mut(index) {
            *slot = Vec2::from_angle(slot.atan2() + turn * eased);
        }
    }
}
