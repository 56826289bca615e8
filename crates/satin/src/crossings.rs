//! Columns from drawn crossing lines, which say where the threads lie.
//!
//! Each line is brought to the outline along itself. Between two neighbours the
//! threads turn evenly from one direction to the other along the shortest way
//! inside the shape between their middles; beyond the first and the last they
//! keep their direction to the end of the shape. The lines may be drawn in any
//! order and either way round: they are put in order by their middles.

use crate::line::{clean, resample, smooth, unit};
use crate::network::{Network, Part};
use crate::outline::from_outline;
use crate::rays::{Rays, untangle};
use crate::walk::walk;
use crate::{Column, SatinSettings};
use kurbo::{Point, Vec2};
use laidwork_geometry::{Crossing, Polygon, Walker};
use laidwork_plan::{Pass, Warned, Warning};
use laidwork_run::Ends;

/// Crossings are this far apart, mm.
const STEP: f64 = 0.1;

/// The middle line between drawn lines is smoothed over this much of it, mm.
const SMOOTHING: f64 = 0.5;

/// Sews `polygon` as one column whose threads lie as the `crossings` say (two points each, mm).
///
/// Without a crossing that meets the shape it is sewn as [`from_outline`] does, with a warning.
pub fn from_crossings(
    name: &str,
    polygon: &Polygon,
    crossings: &[[Point; 2]],
    settings: &SatinSettings,
    ends: Ends,
) -> Warned<Vec<Pass>> {
    let checked = settings.checked();
    let rays = Rays::of_polygon(polygon);
    let mut drawn: Vec<Crossing> = crossings.iter().filter_map(|line| fitted(&rays, line)).collect();
    if drawn.is_empty() {
        let mut sewn = from_outline(name, polygon, settings, ends);
        sewn.warnings.push(Warning::at(
            name,
            "none of its crossing lines meets it, so they are not used",
            "draw them across the shape",
        ));
        return sewn;
    }
    put_in_order(&mut drawn);
    let band = band(&drawn, &rays, &mut Walker::new(polygon));
    let mut network = Network { parts: vec![Part::Column(Column::open(band))], ..Network::default() };
    crate::decompose::cover(&mut network, polygon, &checked);
    walk(name, network, polygon, &checked, ends)
}

/// A drawn line brought to the outline; `None` when it misses the shape.
fn fitted(rays: &Rays, line: &[Point; 2]) -> Option<Crossing> {
    let [from, to] = *line;
    if !from.is_finite() || !to.is_finite() || from.distance(to) < 1e-6 {
        return None;
    }
    // The place of the line that lies deepest inside stands for it.
    let places = (1..40).map(|i| from.lerp(to, i as f64 / 40.0)).filter(|p| rays.contains(*p));
    let deepest = places.max_by(|a, b| rays.distance_to_outline(*a).total_cmp(&rays.distance_to_outline(*b)))?;
    rays.crossing(deepest, unit(to - from), [1e4; 2])
}

/// Orders lines along the shape: from one of the two that lie farthest apart, always to the
/// nearest that is left; then turns them so that left and right stay on their sides.
fn put_in_order(drawn: &mut [Crossing]) {
    let middle = |c: &Crossing| c.middle();
    let farthest_from = |p: Point, all: &[Crossing]| {
        let away = |i: &usize| all.get(*i).map_or(0.0, |c| middle(c).distance(p));
        (0..all.len()).max_by(|a, b| away(a).total_cmp(&away(b)).then(b.cmp(a))).unwrap_or(0)
    };
    let Some(some) = drawn.first().map(middle) else { return };
    let first = farthest_from(some, drawn);
    drawn.swap(0, first);
    // A row of lines drawn in order needs no search; a few dozen lines never take long.
    for placed in 1..drawn.len() {
        let Some(last) = drawn.get(placed - 1).copied() else { return };
        let away = |i: &usize| drawn.get(*i).map_or(f64::INFINITY, |c| middle(c).distance(middle(&last)));
        let next = (placed..drawn.len()).min_by(|a, b| away(a).total_cmp(&away(b))).unwrap_or(placed);
        drawn.swap(placed, next);
        if let Some(here) = drawn.get_mut(placed) {
            let straight = here.left.distance(last.left) + here.right.distance(last.right);
            let crossed = here.left.distance(last.right) + here.right.distance(last.left);
            if crossed < straight {
                *here = here.flipped();
            }
        }
    }
}

fn band(drawn: &[Crossing], rays: &Rays, walker: &mut Walker) -> Vec<Crossing> {
    let mut middles: Vec<(Point, Vec2)> = Vec::new();
    for pair in drawn.windows(2) {
        let &[a, b] = pair else { continue };
        let way = resample(&clean(&walker.path(a.middle(), b.middle())), STEP);
        let turn = a.direction().cross(b.direction()).atan2(a.direction().dot(b.direction()));
        let start = a.direction().atan2();
        let steps = way.len().max(2) - 1;
        let skip = usize::from(!middles.is_empty());
        middles.extend(
            way.iter()
                .enumerate()
                .skip(skip)
                .map(|(i, p)| (*p, Vec2::from_angle(start + turn * i as f64 / steps as f64))),
        );
    }
    let points: Vec<Vec2> = middles.iter().map(|m| m.0.to_vec2()).collect();
    let smoothed = smooth(&points, SMOOTHING / STEP, false);
    for (middle, point) in middles.iter_mut().zip(smoothed) {
        middle.0 = point.to_point();
    }
    let (Some(first), Some(last)) = (drawn.first().copied(), drawn.last().copied()) else { return Vec::new() };
    let square = |c: Crossing| Vec2::new(-c.direction().y, c.direction().x);
    let sense = match (middles.first(), middles.last()) {
        (Some(a), Some(b)) if middles.len() > 1 => (b.0 - a.0).dot(square(first)).signum(),
        _ => 1.0,
    };
    if middles.is_empty() {
        middles.push((first.middle(), first.direction()));
    }
    let before = outward(first, square(first) * -sense, rays);
    let after = outward(last, square(last) * sense, rays);
    let inner = middles.iter().filter_map(|(p, across)| rays.crossing(*p, *across, [1e4; 2]));
    let mut band: Vec<Crossing> = before.into_iter().rev().chain(inner).chain(after).collect();
    untangle(&mut band);
    band
}

/// Crossings from a line outwards until the shape ends, keeping its direction.
fn outward(from: Crossing, way: Vec2, rays: &Rays) -> Vec<Crossing> {
    let mut found = Vec::new();
    let mut middle = from.middle();
    for _ in 0..100_000 {
        // The next line goes through the middle of the part of it that is inside.
        let left = rays.reach(middle, way, STEP);
        if left < STEP {
            if left > 2e-3 {
                found.extend(rays.crossing(middle + way * (left - 1e-3), from.direction(), [1e4; 2]));
            }
            return found;
        }
        let Some(next) = rays.crossing(middle + way * STEP, from.direction(), [1e4; 2]) else { return found };
        found.push(next);
        middle = next.middle();
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_geometry::Ring;
    use laidwork_plan::PassKind;

    fn leaf() -> Polygon {
        let at = |i: usize| {
            let angle = std::f64::consts::TAU * i as f64 / 120.0;
            Point::new(10.0 * angle.cos(), 3.0 * angle.sin())
        };
        Polygon { outer: Ring::new((0..120).map(at).collect()), holes: Vec::new() }
    }

    fn slants(degrees: f64) -> Vec<[Point; 2]> {
        let way = Vec2::from_angle(degrees.to_radians()) * 0.5;
        [-5.0, 0.0, 5.0].map(|x| [Point::new(x, 0.0) - way, Point::new(x, 0.0) + way]).to_vec()
    }

    #[test]
    fn threads_lie_as_drawn() {
        for slant in [90.0, 60.0, 120.0] {
            let sewn = from_crossings("leaf", &leaf(), &slants(slant), &SatinSettings::default(), Ends::default());
            let top: Vec<Point> =
                sewn.value.iter().filter(|p| p.kind == PassKind::Top).flat_map(|p| p.points.clone()).collect();
            let wide = top.windows(2).map(|p| p[1] - p[0]).filter(|v| v.hypot() > 4.0);
            let angles: Vec<f64> = wide.map(|v| v.atan2().to_degrees().rem_euclid(180.0)).collect();
            assert!(angles.len() > 40);
            assert!(angles.iter().all(|a| (a - slant).abs() < 4.0), "{slant} {angles:?}");
        }
    }

    #[test]
    fn lines_are_put_in_order() {
        let at = |x: f64| Crossing::new(Point::new(x, -1.0), Point::new(x, 1.0));
        for order in [[0, 1, 2, 3], [2, 0, 3, 1], [3, 1, 0, 2]] {
            let mut lines: Vec<Crossing> = order.iter().map(|&x| at(x as f64)).collect();
            lines[1] = lines[1].flipped();
            put_in_order(&mut lines);
            let steps: Vec<f64> = lines.windows(2).map(|p| p[1].middle().x - p[0].middle().x).collect();
            assert!(steps.iter().all(|s| (s - steps[0]).abs() < 1e-9), "{steps:?}");
            assert!(lines.iter().all(|c| c.direction() == lines[0].direction()));
        }
    }

    #[test]
    fn lines_beside_the_shape_are_told() {
        let far = [[Point::new(50.0, 0.0), Point::new(50.0, 5.0)]];
        let sewn = from_crossings("leaf", &leaf(), &far, &SatinSettings::default(), Ends::default());
        assert_eq!(sewn.warnings.len(), 1);
        assert!(!sewn.value.is_empty());
    }
}
