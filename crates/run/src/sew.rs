//! One line as a piece.

use crate::path::Path;
use crate::points::{Place, places};
use crate::{RunSettings, RunStyle};
use kurbo::Point;
use laidwork_plan::{Pass, PassKind, Warned, Warning};

/// Sews `path` (mm) as one unbroken chain of one `top` pass.
///
/// A single or triple run starts at the end nearest to `start`; one there and
/// back returns to where it began, landing between its own holes on the way. A
/// closed path starts at its place nearest to `start` and ends there. A path
/// too short for one stitch gives no passes and a warning that names `name`.
pub fn sew(
    name: &str,
    path: &[Point],
    closed: bool,
    settings: &RunSettings,
    start: Option<Point>,
) -> Warned<Vec<Pass>> {
    let settings = settings.checked();
    let sewn = turned_to(path, closed, &settings, start).map(|path| styled(&path, &settings)).unwrap_or_default();
    if !is_stitched(&sewn, &settings) {
        return Warned { value: Vec::new(), warnings: vec![too_short(name)] };
    }
    Warned::quiet(vec![Pass::new(PassKind::Top, sewn)])
}

/// Whether there is a stitch that is long enough. Only a path that is one short stitch has one too short.
pub(crate) fn is_stitched(points: &[Point], settings: &RunSettings) -> bool {
    matches!(points, [a, b, ..] if a.distance(*b) > settings.shortest_stitch - 1e-6)
}

pub(crate) fn too_short(name: &str) -> Warning {
    Warning::at(name, "the line is too short for a stitch, so it is not sewn", "make it longer or leave it out")
}

/// The path from where it is to start.
fn turned_to(points: &[Point], closed: bool, settings: &RunSettings, start: Option<Point>) -> Option<Path> {
    let path = Path::new(points, closed)?;
    let Some(start) = start.filter(|p| p.is_finite()) else { return Some(path) };
    if closed {
        return Path::new(&ring_from(&path, path.nearest(start), settings.shortest_stitch), true);
    }
    let corners = path.points();
    let (first, last) = (corners.first()?, corners.last()?);
    if first.distance(start) <= last.distance(start) {
        return Some(path);
    }
    let back: Vec<Point> = corners.iter().rev().copied().collect();
    Path::new(&back, false)
}

/// A closed path from its place `s`, or from a corner within `snap` mm of it.
fn ring_from(path: &Path, s: f64, snap: f64) -> Vec<Point> {
    let ring = path.points().get(..path.points().len() - 1).unwrap_or_default();
    let edge = path.edge_at(s);
    let (before, after) = (s - path.along(edge), path.along(edge + 1) - s);
    let (skip, own) = if before.min(after) > snap {
        (edge + 1, Some(path.at(s)))
    } else {
        (if before <= after { edge } else { edge + 1 }, None)
    };
    own.into_iter().chain(ring.iter().cycle().skip(skip).take(ring.len()).copied()).collect()
}

/// Needle points in the style asked for.
fn styled(path: &Path, settings: &RunSettings) -> Vec<Point> {
    let there = places(path, settings);
    let forward: Vec<Point> = there.iter().map(|place| place.at).collect();
    match settings.style {
        RunStyle::Single => forward,
        RunStyle::Triple => tripled(&forward),
        RunStyle::ThereAndBack => {
            let back = between(path, &there, settings.shortest_stitch);
            forward.into_iter().chain(back.into_iter().rev().skip(1)).collect()
        }
    }
}

/// Each stitch forward, back and forward again.
pub(crate) fn tripled(points: &[Point]) -> Vec<Point> {
    let stitches = points.iter().zip(points.iter().skip(1)).flat_map(|(&a, &b)| [b, a, b]);
    points.first().copied().into_iter().chain(stitches).collect()
}

/// The same path sewn through other holes: corners stay, every other hole lies
/// half-way between two of `there`. Where those are too near to each other for
/// that, every second one of them is taken.
pub(crate) fn between(path: &Path, there: &[Place], shortest: f64) -> Vec<Point> {
    let mut places: Vec<Point> = there.first().map(|place| place.at).into_iter().collect();
    let mut is_shared = true;
    for pair in there.windows(2) {
        let &[a, b] = pair else { continue };
        let (middle, end) = (path.at((a.along + b.along) / 2.0), b.at);
        if middle.distance(a.at) >= shortest && middle.distance(end) >= shortest {
            places.push(middle);
            is_shared = false;
        }
        let is_far = places.last().is_some_and(|last| last.distance(end) >= shortest);
        let is_short = a.at.distance(end) < 2.0 * shortest;
        if is_far && (b.fixed || is_short && !is_shared) {
            places.push(end);
            is_shared = true;
        } else if is_short {
            is_shared = false;
        }
    }
    // The end stays, and what is nearer to it than a stitch gives way.
    if let Some(end) = there.last().map(|place| place.at) {
        while places.len() > 1 && places.last().is_some_and(|last| last.distance(end) < shortest) {
            places.pop();
        }
        places.push(end);
    }
    places
}
