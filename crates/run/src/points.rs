//! Needle points along a path.
//!
//! Method: corners that turn by more than [`CORNER`] get a needle point first,
//! the sharpest first. Between two of them the path asks everywhere for a
//! stitch length, full where it is straight and short where it bends; the sum
//! of path over asked length is cut into equal parts, so the stitches are even
//! and change gently. A stitch that still leaves the path by more than
//! [`CHORD_ERROR`] is halved while the halves stay long enough.
//!
//! Bounds: the path lies within [`CHORD_ERROR`] of the stitches wherever that does
//! not take stitches under the shortest. A stitch is longer than asked only where
//! a short neighbour was left out, and then by the shortest stitch at most. None is
//! shorter than the shortest but for one case: a path whose ends are nearer to
//! each other than that, and which goes nowhere, is one stitch.
//!
//! Time: in proportion to the path's corners and needle points, times the logarithm
//! of the corners where corners lie nearer to each other than a stitch.

use crate::RunSettings;
use crate::path::{Path, Spot};
use kurbo::Point;
use std::collections::BTreeSet;

/// Farthest a path may lie from its stitches, mm. Half the width of a sewn
/// No. 40 thread would be 0.15; this is safely under it.
pub const CHORD_ERROR: f64 = 0.1;

/// A corner that turns by more than this always gets a needle point, degrees.
pub const CORNER: f64 = 30.0;

/// [`CORNER`] as [`Path::turns`] measures it: twice the tangent of half of it.
const SHARP: f64 = 0.535_898_384_862_245_4;

/// Curvature is looked at over this much of the path to each side, mm.
const WINDOW: f64 = 0.5;

/// Needle points along `path` in mm, from its exact start to its exact end (a
/// closed path ends where it starts). `path` may hold repeats and points that
/// are no numbers; both are left out. Fewer than two different points give
/// back what is there; a closed path too small for two stitches gives one point.
pub fn points(path: &[Point], closed: bool, settings: &RunSettings) -> Vec<Point> {
    let settings = settings.checked();
    let Some(path) = Path::new(path, closed) else {
        return path.iter().copied().find(|p| p.is_finite()).into_iter().collect();
    };
    places(&path, &settings).into_iter().map(|place| place.at).collect()
}

/// A needle point on a path.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Place {
    /// Distance from the start of the path, mm.
    pub(crate) along: f64,
    /// Where it lies.
    pub(crate) at: Point,
    /// Whether it is the start, the end or a corner, which stay.
    pub(crate) fixed: bool,
}

/// Needle points along a path; settings must be [checked](RunSettings::checked).
pub(crate) fn places(path: &Path, settings: &RunSettings) -> Vec<Place> {
    let turns = path.turns();
    let need = Need::new(path, &turns, settings);
    let corners = corners(path, &turns, settings.shortest_stitch);
    let start = path.spot(0.0, 0);
    let mut laying = Laying {
        path,
        shortest: settings.shortest_stitch,
        places: Vec::with_capacity(need.stitches() as usize + corners.len() + 8),
        last: start,
    };
    laying.put(start, true, false);
    let (mut asked, mut given) = (Ahead::default(), Ahead::default());
    let mut from = 0.0;
    for (i, &corner) in corners.iter().enumerate().skip(1) {
        let is_end = i + 1 == corners.len();
        let to = need.up_to(corner, &mut asked);
        // A stitch over by a hundred-thousandth is one that rounding made.
        let stitches = (to - from - 1e-5).ceil().max(1.0);
        for i in 1..stitches as usize {
            let along = need.place_of(from + (to - from) * i as f64 / stitches, &mut given);
            laying.go_to(along, false, false);
        }
        laying.go_to(corner, true, is_end);
        from = to;
    }
    laying.places
}

/// Start, end and the corners between that get a needle point, the sharpest
/// first, none nearer than `shortest` to another along the path.
fn corners(path: &Path, turns: &[f64], shortest: f64) -> Vec<f64> {
    let whole = path.length();
    let mut kept = Vec::with_capacity(turns.len() + 2);
    kept.push(0.0);
    // Corners nearer to each other than a stitch, or to an end: only among them is there a choice.
    let mut crowd: Vec<usize> = Vec::new();
    let settle = |crowd: &mut Vec<usize>, kept: &mut Vec<f64>| {
        match crowd[..] {
            [] => {}
            [one] if path.along(one) >= shortest && whole - path.along(one) >= shortest => kept.push(path.along(one)),
            _ => sharpest(crowd, path, turns, shortest, kept),
        }
        crowd.clear();
    };
    for (i, _) in turns.iter().enumerate().filter(|(_, turn)| **turn > SHARP) {
        if crowd.last().is_some_and(|&last| path.along(i) - path.along(last) >= shortest) {
            settle(&mut crowd, &mut kept);
        }
        crowd.push(i);
    }
    settle(&mut crowd, &mut kept);
    kept.push(whole);
    kept
}

/// Adds those of a crowd of corners that are kept, the sharpest first.
fn sharpest(crowd: &mut [usize], path: &Path, turns: &[f64], shortest: f64, kept: &mut Vec<f64>) {
    crowd.sort_unstable_by(|&a, &b| turns[b].total_cmp(&turns[a]).then(a.cmp(&b)));
    let mut chosen = BTreeSet::new();
    for &mut i in crowd {
        let before = chosen.range(..i).next_back().map_or(0.0, |&k| path.along(k));
        let after = chosen.range(i..).next().map_or(path.length(), |&k| path.along(k));
        let here = path.along(i);
        if here - before >= shortest && after - here >= shortest {
            chosen.insert(i);
        }
    }
    kept.extend(chosen.into_iter().map(|i| path.along(i)));
}

/// The needle points so far, no two of them too near, and the place that was asked for last.
struct Laying<'a> {
    path: &'a Path,
    shortest: f64,
    places: Vec<Place>,
    last: Spot,
}

impl Laying<'_> {
    fn put(&mut self, spot: Spot, fixed: bool, is_end: bool) {
        let place = Place { along: spot.along, at: spot.at, fixed };
        push_apart(&mut self.places, place, is_end, self.shortest, |place| Hole { at: place.at, fixed: place.fixed });
    }

    /// Adds the needle points after the last up to and with that at `along`.
    fn go_to(&mut self, along: f64, fixed: bool, is_end: bool) {
        let spot = self.path.spot(along, self.last.edge);
        // On one edge there is no corner to come near.
        if spot.edge > self.last.edge {
            self.halve(self.last, spot);
        }
        self.put(spot, fixed, is_end);
        self.last = spot;
    }

    /// Adds the needle points strictly between two that keep the path within [`CHORD_ERROR`].
    fn halve(&mut self, from: Spot, to: Spot) {
        // The doubled shortest stitch bounds the depth: lengths halve.
        if to.along - from.along < 2.0 * self.shortest || self.path.keeps_to(from, to, CHORD_ERROR) {
            return;
        }
        let here = self.path.spot((from.along + to.along) / 2.0, from.edge);
        if here.at.distance(from.at) < self.shortest || here.at.distance(to.at) < self.shortest {
            return;
        }
        self.halve(from, here);
        self.put(here, false, false);
        self.halve(here, to);
    }
}

/// A needle point, and whether it stays where it can.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hole {
    pub(crate) at: Point,
    pub(crate) fixed: bool,
}

/// Leaves out needle points nearer than `shortest` to the one before.
pub(crate) fn thinned(holes: Vec<Hole>, shortest: f64) -> Vec<Hole> {
    let count = holes.len();
    let mut kept = Vec::with_capacity(count);
    for (i, one) in holes.into_iter().enumerate() {
        push_apart(&mut kept, one, i + 1 == count, shortest, |hole| *hole);
    }
    kept
}

/// Adds a needle point where the last is `shortest` away: of two that are nearer the first stays, unless only the
/// second is fixed. Both ends stay.
#[inline]
fn push_apart<T>(kept: &mut Vec<T>, one: T, is_end: bool, shortest: f64, hole: impl Fn(&T) -> Hole) {
    let Hole { at, fixed } = hole(&one);
    let near = (shortest - 1e-9) * (shortest - 1e-9);
    let away = |last: Option<&T>| last.map_or(f64::INFINITY, |last| hole(last).at.distance_squared(at));
    if is_end || fixed {
        let stays = |last: Option<&T>| last.is_some_and(|last| hole(last).fixed) && !is_end;
        while kept.len() > 1 && !stays(kept.last()) && away(kept.last()) < near {
            kept.pop();
        }
    }
    let gap = away(kept.last());
    if gap >= near || (is_end && gap > 1e-12) {
        kept.push(one);
    }
}

/// How many stitches a path asks for from its start to any place: a broken line.
struct Need {
    /// Places along the path and the stitches up to them.
    line: Vec<(f64, f64)>,
    /// The stitch length asked for last.
    length: f64,
}

/// How far a rising row of questions has come.
#[derive(Clone, Copy, Debug, Default)]
struct Ahead(usize);

impl Need {
    /// The path in pieces over which the same bends lie within the window about each place.
    fn new(path: &Path, turns: &[f64], settings: &RunSettings) -> Need {
        let whole = path.length();
        let bend_from = |i: usize| {
            let bend = turns[i..].iter().position(|&turn| turn > 0.0 && turn <= SHARP);
            bend.map_or(turns.len(), |after| i + after)
        };
        let mut need = Need { line: Vec::with_capacity(turns.len() + 4), length: 0.0 };
        need.line.push((0.0, 0.0));
        // The bends from `left` to before `come` lie in the window.
        let mut come = bend_from(0);
        let (mut left, mut turned) = (come, 0.0);
        let mut at = 0.0;
        while at < whole {
            let comes = if come < turns.len() { path.along(come) - WINDOW } else { f64::INFINITY };
            let leaves = if left < come { path.along(left) + WINDOW } else { f64::INFINITY };
            if comes <= at {
                turned += turns[come];
                come = bend_from(come + 1);
            } else if leaves <= at {
                let gone = turns[left];
                left = bend_from(left + 1);
                // None left is none, whatever the rounding.
                turned = if left == come { 0.0 } else { turned - gone };
            } else {
                // The window is cut off at the ends of the path, so that it changes there.
                let cut = if at < WINDOW {
                    WINDOW
                } else if at < whole - WINDOW {
                    whole - WINDOW
                } else {
                    whole
                };
                let to = comes.min(leaves).min(if left == come { whole } else { cut }).min(whole);
                let middle = (at + to) / 2.0;
                let window = (middle + WINDOW).min(whole) - (middle - WINDOW).max(0.0);
                need.go_to(to, asked_length(turned / window, settings));
                at = to;
            }
        }
        need
    }

    /// The next piece of the path, all of which asks for stitches of one length.
    fn go_to(&mut self, along: f64, length: f64) {
        let Some(last) = self.line.last_mut() else { return };
        let place = (along, last.1 + (along - last.0) / length);
        // Pieces of one length are one piece.
        if length.to_bits() == self.length.to_bits() {
            *last = place;
        } else {
            self.line.push(place);
            self.length = length;
        }
    }

    /// All of them.
    fn stitches(&self) -> f64 {
        self.line.last().map_or(0.0, |last| last.1)
    }

    fn up_to(&self, along: f64, ahead: &mut Ahead) -> f64 {
        interpolate(&self.line, |place| place, along, ahead)
    }

    fn place_of(&self, stitches: f64, ahead: &mut Ahead) -> f64 {
        interpolate(&self.line, |(along, stitches)| (stitches, along), stitches, ahead)
    }
}

/// The value at `x` of a broken line whose places `seen` as (x, y) rise in x; `x` must not fall from question to
/// question.
#[inline]
fn interpolate(line: &[(f64, f64)], seen: impl Fn((f64, f64)) -> (f64, f64), x: f64, ahead: &mut Ahead) -> f64 {
    let i = &mut ahead.0;
    while *i + 2 < line.len() && seen(line[*i + 1]).0 <= x {
        *i += 1;
    }
    let last = line.last().map_or(0.0, |last| seen(*last).1);
    let Some(&[from, to]) = line.get(*i..*i + 2) else { return last };
    let ((x0, y0), (x1, y1)) = (seen(from), seen(to));
    if x1 > x0 { y0 + (y1 - y0) * ((x - x0) / (x1 - x0)).clamp(0.0, 1.0) } else { last }
}

/// The stitch length a path of this curvature (1/mm) asks for: a chord of
/// length l leaves an arc by l² curvature / 8.
fn asked_length(curvature: f64, settings: &RunSettings) -> f64 {
    let longest = settings.stitch_length;
    if curvature * longest * longest <= 8.0 * CHORD_ERROR {
        longest
    } else {
        (8.0 * CHORD_ERROR / curvature).sqrt().clamp(settings.shortest_stitch, settings.curve_stitch_length)
    }
}
