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
//! Time: in proportion to the path's corners and needle points, times the
//! logarithm of the corners.

use crate::RunSettings;
use crate::path::Path;
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
    let places = places(&path, &settings);
    places.iter().map(|place| path.at(place.along)).collect()
}

/// A needle point on a path.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Place {
    /// Distance from the start of the path, mm.
    pub(crate) along: f64,
    /// Whether it is the start, the end or a corner, which stay.
    pub(crate) fixed: bool,
}

/// Needle points along a path; settings must be [checked](RunSettings::checked).
pub(crate) fn places(path: &Path, settings: &RunSettings) -> Vec<Place> {
    let need = Need::new(path, settings);
    let mut places = vec![Place { along: 0.0, fixed: true }];
    let corners = corners(path, settings.shortest_stitch);
    for pair in corners.windows(2) {
        if let &[from, to] = pair {
            fill_stretch(path, &need, settings, from, to, &mut places);
        }
    }
    drop_short(path, settings.shortest_stitch, places)
}

/// Start, end and the corners between that get a needle point, the sharpest
/// first, none nearer than `shortest` to another along the path.
fn corners(path: &Path, shortest: f64) -> Vec<f64> {
    let sharp = CORNER.to_radians();
    let inner = 1..path.points().len() - 1;
    let mut found: Vec<(usize, f64)> = inner.map(|i| (i, path.turn(i))).filter(|c| c.1 > sharp).collect();
    found.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let last = path.points().len() - 1;
    let mut kept = BTreeSet::from([0, last]);
    for (i, _) in found {
        let before = kept.range(..i).next_back().map_or(0.0, |&k| path.along(k));
        let after = kept.range(i..).next().map_or(path.length(), |&k| path.along(k));
        let here = path.along(i);
        if here - before >= shortest && after - here >= shortest {
            kept.insert(i);
        }
    }
    kept.into_iter().map(|i| path.along(i)).collect()
}

/// Adds the needle points after `from` up to and with `to`.
fn fill_stretch(path: &Path, need: &Need, settings: &RunSettings, from: f64, to: f64, places: &mut Vec<Place>) {
    let (start, end) = (need.up_to(from), need.up_to(to));
    // A stitch over by a hundred-thousandth is one that rounding made.
    let stitches = (end - start - 1e-5).ceil().max(1.0);
    let mut last = from;
    for i in 1..=stitches as usize {
        let is_end = i as f64 >= stitches;
        let along = if is_end { to } else { need.place_of(start + (end - start) * i as f64 / stitches) };
        halve(path, settings.shortest_stitch, last, along, places);
        places.push(Place { along, fixed: is_end });
        last = along;
    }
}

/// Adds the needle points strictly between `from` and `to` that keep the path within [`CHORD_ERROR`].
fn halve(path: &Path, shortest: f64, from: f64, to: f64, places: &mut Vec<Place>) {
    // The doubled shortest stitch bounds the depth: lengths halve.
    if to - from < 2.0 * shortest || path.chord_error(from, to) <= CHORD_ERROR {
        return;
    }
    let middle = (from + to) / 2.0;
    let here = path.at(middle);
    if here.distance(path.at(from)) < shortest || here.distance(path.at(to)) < shortest {
        return;
    }
    halve(path, shortest, from, middle, places);
    places.push(Place { along: middle, fixed: false });
    halve(path, shortest, middle, to, places);
}

/// A needle point, and whether it stays where it can.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hole {
    pub(crate) at: Point,
    pub(crate) fixed: bool,
}

/// Leaves out needle points nearer than `shortest` to the one before.
fn drop_short(path: &Path, shortest: f64, places: Vec<Place>) -> Vec<Place> {
    let hole = |place: &Place| Hole { at: path.at(place.along), fixed: place.fixed };
    drop_near(places, hole, shortest)
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

/// How many stitches a path asks for from its start to any place.
struct Need {
    along: Vec<f64>,
    stitches: Vec<f64>,
}

impl Need {
    fn new(path: &Path, settings: &RunSettings) -> Need {
        let bends = Bends::new(path);
        let mut need = Need { along: vec![0.0], stitches: vec![0.0] };
        let mut total = 0.0;
        for i in 0..path.points().len() - 1 {
            let (from, to) = (path.along(i), path.along(i + 1));
            // Pieces of half a window, and no more of them than stitches could tell apart on a long edge.
            let parts = ((to - from) / (WINDOW / 2.0)).ceil().clamp(1.0, 4096.0);
            for k in 1..=parts as usize {
                let (a, b) = (from + (to - from) * (k - 1) as f64 / parts, from + (to - from) * k as f64 / parts);
                total += (b - a) / asked_length(bends.curvature((a + b) / 2.0), settings);
                need.along.push(b);
                need.stitches.push(total);
            }
        }
        need
    }

    fn up_to(&self, along: f64) -> f64 {
        interpolate(&self.along, &self.stitches, along)
    }

    fn place_of(&self, stitches: f64) -> f64 {
        interpolate(&self.stitches, &self.along, stitches)
    }
}

/// The value at `x` of the broken line through (`xs`, `ys`), `xs` rising.
fn interpolate(xs: &[f64], ys: &[f64], x: f64) -> f64 {
    let i = xs.partition_point(|&v| v <= x).clamp(1, xs.len().max(2) - 1);
    match (xs.get(i - 1..=i), ys.get(i - 1..=i)) {
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

/// How much a path turns, corners that get a needle point of their own left out.
struct Bends {
    along: Vec<f64>,
    turned: Vec<f64>,
    length: f64,
}

impl Bends {
    fn new(path: &Path) -> Bends {
        let mut bends = Bends { along: Vec::new(), turned: vec![0.0], length: path.length() };
        let mut total = 0.0;
        for i in 1..path.points().len() - 1 {
            let turn = path.turn(i);
            if turn <= CORNER.to_radians() {
                total += turn;
                bends.along.push(path.along(i));
                bends.turned.push(total);
            }
        }
        bends
    }

    /// Mean curvature about a place, 1/mm.
    fn curvature(&self, at: f64) -> f64 {
        let (from, to) = ((at - WINDOW).max(0.0), (at + WINDOW).min(self.length));
        let turned = |s: f64| self.turned.get(self.along.partition_point(|&a| a <= s)).copied().unwrap_or(0.0);
        if to > from { (turned(to) - turned(from)) / (to - from) } else { 0.0 }
    }
}
