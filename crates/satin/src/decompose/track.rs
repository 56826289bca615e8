//! The middle line of a column, sampled evenly, with what is known at every place.
//!
//! Inside limbs the middles of the chords are followed; zones are bridged
//! straight; a bell of 0.3 widths takes the zigzag of the chords out. Ends go
//! straight on: free ones to the outline, others into their node's zone.

use super::axis::Axis;
use super::strand::Strand;
use crate::line::{smooth, unit};
use kurbo::{Point, Vec2};

/// Samples are this far apart, mm.
pub(crate) const STEP: f64 = 0.1;

/// The middle line is smoothed over this share of the width.
const SMOOTHING: f64 = 0.3;

/// The direction of an end is taken over this share of the width.
const END_WINDOW: f64 = 0.7;

/// What a sample lies in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ground {
    /// A limb: both sides are its own.
    Limb,
    /// The zone of the n-th node passed.
    Zone(usize),
    /// Beyond the beginning (0) or the end (1) of the strand.
    Beyond(usize),
}

/// A place on the middle line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sample {
    pub(crate) point: Point,
    /// Length of the chord there, mm; in zones between those at the cuts.
    pub(crate) width: f64,
    pub(crate) ground: Ground,
    /// The n-th piece of the strand, or the one before a zone.
    pub(crate) piece: usize,
}

/// The samples along a strand's limbs and the zones it passes.
pub(crate) fn track(axis: &Axis, strand: &Strand) -> Vec<Sample> {
    let mut raw: Vec<Sample> = Vec::new();
    for (piece, chords) in strand.pieces.iter().enumerate() {
        let last = chords.len().saturating_sub(1);
        for (i, chord) in chords.iter().enumerate() {
            // The ground is that of the way on from here.
            let goes_on = piece < strand.passed.len();
            let ground = if i == last && goes_on { Ground::Zone(piece) } else { Ground::Limb };
            raw.push(Sample { point: axis.middle(*chord), width: axis.width(*chord), ground, piece });
        }
    }
    if strand.closed {
        raw.extend(raw.first().copied());
    }
    let mut even = resample(&raw);
    if strand.closed {
        even.pop();
    }
    let width = mean_width(&even);
    let points: Vec<Vec2> = even.iter().map(|s| s.point.to_vec2()).collect();
    let smoothed = smooth(&points, SMOOTHING * width / STEP, strand.closed);
    for (sample, point) in even.iter_mut().zip(smoothed) {
        sample.point = point.to_point();
    }
    even
}

/// The direction in which a track leaves its beginning (0) or its end (1).
pub(crate) fn leaving(samples: &[Sample], end: usize) -> Vec2 {
    let ordered = |i: usize| samples.get(if end == 0 { i } else { samples.len() - 1 - i });
    let Some(tip) = samples.len().checked_sub(1).and(ordered(0)) else { return Vec2::ZERO };
    let window = ((END_WINDOW * tip.width / STEP).round().max(3.0) as usize).min(samples.len() - 1);
    // The mean of the directions, the outer half of the window counting double.
    let mut sum = Vec2::ZERO;
    for i in 0..window {
        if let (Some(a), Some(b)) = (ordered(i), ordered(i + 1)) {
            sum += (a.point - b.point) * if i < window / 2 { 2.0 } else { 1.0 };
        }
    }
    unit(sum)
}

/// Samples straight on from an end, `reach` mm far.
pub(crate) fn beyond(samples: &[Sample], end: usize, way: Vec2, reach: f64) -> Vec<Sample> {
    let tip = if end == 0 { samples.first() } else { samples.last() };
    let Some(&tip) = tip else { return Vec::new() };
    let steps = (reach / STEP).ceil().clamp(0.0, 1e5) as usize;
    let at = |i: usize| (i as f64 * STEP).min(reach);
    (1..=steps).map(|i| Sample { point: tip.point + way * at(i), ground: Ground::Beyond(end), ..tip }).collect()
}

/// The mean width, mm.
pub(crate) fn mean_width(samples: &[Sample]) -> f64 {
    samples.iter().map(|s| s.width).sum::<f64>() / samples.len().max(1) as f64
}

fn resample(raw: &[Sample]) -> Vec<Sample> {
    let mut even: Vec<Sample> = raw.first().copied().into_iter().collect();
    let mut left = STEP; // to the next sample
    for pair in raw.windows(2) {
        let &[a, b] = pair else { continue };
        let length = a.point.distance(b.point);
        let mut at = left;
        while at <= length && length > 0.0 {
            let share = at / length;
            even.push(Sample {
                point: a.point.lerp(b.point, share),
                width: a.width + (b.width - a.width) * share,
                ..a
            });
            at += STEP;
        }
        left = at - length;
    }
    // The very end stays, however near it is to the sample before.
    if let Some(last) = raw.last().filter(|_| raw.len() > 1) {
        if left > STEP * 0.5 && even.len() > 1 {
            even.pop();
        }
        even.push(Sample { ground: Ground::Limb, ..*last });
    }
    even
}
