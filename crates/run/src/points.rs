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
    places(&path, &settings).iter().map(|place| place.at).collect()
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
    laying.put(start, true);
    let (mut asked, mut given) = (Ahead::default(), Ahead::default());
    let mut from = 0.0;
    for &corner in corners.iter().skip(1) {
        let to = need.up_to(corner, &mut asked);
        // A stitch over by a hundred-thousandth is one that rounding made.
        let stitches = (to - from - 1e-5).ceil().max(1.0);
        for i in 1..stitches as usize {
            let along = need.place_of(from + (to - from) * i as f64 / stitches, &mut given);
            laying.go_to(along, false);
        }
        laying.go_to(corner, true);
        from = to;
    }
    drop_near(laying.places, |place| Hole { at: place.at, fixed: place.fixed }, settings.shortest_stitch)
}

/// Start, end and the corners between that get a needle point, the sharpest
/// first, none nearer than `shortest` to another along the path.
fn corners(path: &Path, turns: &[f64], shortest: f64) -> Vec<f64> {
    let sharp = CORNER.to_radians();
    let last = path.points().len() - 1;
    let found = (1..last).filter(|&i| turns[i] > sharp);
    let all: Vec<usize> = std::iter::once(0).chain(found).chain([last]).collect();
    if all.windows(2).all(|pair| all.len() == 2 || path.along(pair[1]) - path.along(pair[0]) >= shortest) {
        return all.into_iter().map(|i| path.along(i)).collect();
    }
    let mut found = all[1..all.len() - 1].to_vec();
    found.sort_by(|&a, &b| turns[b].total_cmp(&turns[a]).then(a.cmp(&b)));
    let mut kept = BTreeSet::from([0, last]);
    for i in found {
        let before = kept.range(..i).next_back().map_or(0.0, |&k| path.along(k));
        let after = kept.range(i..).next().map_or(path.length(), |&k| path.along(k));
        let here = path.along(i);
        if here - before >= shortest && after - here >= shortest {
            kept.insert(i);
        }
    }
    kept.into_iter().map(|i| path.along(i)).collect()
}

/// The needle points so far, and where the last of them is.
struct Laying<'a> {
    path: &'a Path,
    shortest: f64,
    places: Vec<Place>,
    last: Spot,
}

impl Laying<'_> {
    fn put(&mut self, spot: Spot, fixed: bool) {
        self.places.push(Place { along: spot.along, at: spot.at, fixed });
    }

    /// Adds the needle points after the last up to and with that at `along`.
    fn go_to(&mut self, along: f64, fixed: bool) {
        let spot = self.path.spot(along, self.last.edge);
        self.halve(self.last, spot);
        self.put(spot, fixed);
        self.last = spot;
    }

    /// Adds the needle points strictly between two that keep the path within [`CHORD_ERROR`].
    fn halve(&mut self, from: Spot, to: Spot) {
        // The doubled shortest stitch bounds the depth: lengths halve.
        if to.along - from.along < 2.0 * self.shortest || self.path.chord_error(from, to) <= CHORD_ERROR {
            return;
        }
        let here = self.path.spot((from.along + to.along) / 2.0, from.edge);
        if here.at.distance(from.at) < self.shortest || here.at.distance(to.at) < self.shortest {
            return;
        }
        self.halve(from, here);
        self.put(here, false);
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
    drop_near(holes, |hole| *hole, shortest)
}

/// Of two that are near the first stays, unless only the second is fixed. Both ends stay.
fn drop_near<T>(all: Vec<T>, hole: impl Fn(&T) -> Hole, shortest: f64) -> Vec<T> {
    let distance = |a: &T, b: &T| hole(a).at.distance(hole(b).at);
    let mut kept: Vec<T> = Vec::with_capacity(all.len());
    let count = all.len();
    for (i, one) in all.into_iter().enumerate() {
        let is_end = i + 1 == count;
        let gives_way =
            |last: &T| distance(last, &one) < shortest - 1e-9 && (is_end || hole(&one).fixed && !hole(last).fixed);
        while kept.len() > 1 && kept.last().is_some_and(gives_way) {
            kept.pop();
        }
        let gap = kept.last().map_or(f64::INFINITY, |last| distance(last, &one));
        if gap >= shortest - 1e-9 || (is_end && gap > 1e-6) {
            kept.push(one);
        }
    }
    kept
}

/// How many stitches a path asks for from its start to any place: a broken line.
struct Need {
    along: Vec<f64>,
    stitches: Vec<f64>,
}

/// How far a rising row of questions has come.
#[derive(Clone, Copy, Debug, Default)]
struct Ahead(usize);

impl Need {
    fn new(path: &Path, turns: &[f64], settings: &RunSettings) -> Need {
        let mut bends = Bends::new(path, turns);
        let count = path.points().len() * 4;
        let mut need = Need { along: Vec::with_capacity(count), stitches: Vec::with_capacity(count) };
        need.along.push(0.0);
        need.stitches.push(0.0);
        let mut total = 0.0;
        for i in 0..path.points().len() - 1 {
            let (from, to) = (path.along(i), path.along(i + 1));
            // Pieces of half a window, and no more of them than stitches could tell apart on a long edge.
            let parts = ((to - from) / (WINDOW / 2.0)).ceil().clamp(1.0, 4096.0);
            let piece = (to - from) / parts;
            let mut k = 0.0;
            while k < parts {
                let a = from + piece * k;
                // All that is far from any bend is one piece.
                let straight = ((bends.next_after(a) - from) / piece).floor().min(parts);
                let (next, length) = if straight > k {
                    (straight, settings.stitch_length)
                } else {
                    (k + 1.0, asked_length(bends.curvature(a + piece / 2.0), settings))
                };
                let b = if next < parts { from + piece * next } else { to };
                total += (b - a) / length;
                need.along.push(b);
                need.stitches.push(total);
                k = next;
            }
        }
        need
    }

    /// All of them.
    fn stitches(&self) -> f64 {
        self.stitches.last().copied().unwrap_or(0.0)
    }

    fn up_to(&self, along: f64, ahead: &mut Ahead) -> f64 {
        interpolate(&self.along, &self.stitches, along, ahead)
    }

    fn place_of(&self, stitches: f64, ahead: &mut Ahead) -> f64 {
        interpolate(&self.stitches, &self.along, stitches, ahead)
    }
}

/// The value at `x` of the broken line through (`xs`, `ys`), `xs` rising; `x` must not
/// fall from question to question.
fn interpolate(xs: &[f64], ys: &[f64], x: f64, ahead: &mut Ahead) -> f64 {
    let i = &mut ahead.0;
    while *i + 2 < xs.len() && xs[*i + 1] <= x {
        *i += 1;
    }
    match (xs.get(*i..*i + 2), ys.get(*i..*i + 2)) {
        (Some(&[x0, x1]), Some(&[y0, y1])) if x1 > x0 => y0 + (y1 - y0) * ((x - x0) / (x1 - x0)).clamp(0.0, 1.0),
        _ => ys.last().copied().unwrap_or(0.0),
    }
}

/// The stitch length a path of this curvature (1/mm) asks for: a chord of
/// length l leaves an arc by l² curvature / 8.
fn asked_length(curvature: f64, settings: &RunSettings) -> f64 {
    let fits = (8.0 * CHORD_ERROR / curvature.max(1e-9)).sqrt();
    if fits >= settings.stitch_length {
        settings.stitch_length
    } else {
        fits.clamp(settings.shortest_stitch, settings.curve_stitch_length)
    }
}

/// How much a path turns, corners that get a needle point of their own left out. Asked
/// about places that rise along the path.
struct Bends {
    along: Vec<f64>,
    turned: Vec<f64>,
    length: f64,
    /// The first bends beyond the beginning and the end of the window.
    first: usize,
    last: usize,
}

impl Bends {
    fn new(path: &Path, turns: &[f64]) -> Bends {
        let count = turns.len();
        let (along, mut turned) = (Vec::with_capacity(count), Vec::with_capacity(count));
        turned.push(0.0);
        let mut bends = Bends { along, turned, length: path.length(), first: 0, last: 0 };
        let mut total = 0.0;
        for (i, &turn) in turns.iter().enumerate().take(path.points().len() - 1).skip(1) {
            if turn > 0.0 && turn <= CORNER.to_radians() {
                total += turn;
                bends.along.push(path.along(i));
                bends.turned.push(total);
            }
        }
        bends
    }

    /// From `at` on to there no window reaches a bend; `at` itself where one does.
    fn next_after(&mut self, at: f64) -> f64 {
        let ahead = |bends: &Bends, i: usize| bends.along.get(i).copied().unwrap_or(f64::INFINITY);
        while ahead(self, self.first) <= at - WINDOW {
            self.first += 1;
        }
        (ahead(self, self.first) - WINDOW).max(at)
    }

    /// Mean curvature about a place, 1/mm.
    fn curvature(&mut self, at: f64) -> f64 {
        let (from, to) = ((at - WINDOW).max(0.0), (at + WINDOW).min(self.length));
        while self.along.get(self.first).is_some_and(|&a| a <= from) {
            self.first += 1;
        }
        while self.along.get(self.last).is_some_and(|&a| a <= to) {
            self.last += 1;
        }
        let turned = |i: usize| self.turned.get(i).copied().unwrap_or(0.0);
        if to > from { (turned(self.last) - turned(self.first)) / (to - from) } else { 0.0 }
    }
}
