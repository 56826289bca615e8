//! Zones: where rows spread, further out there are more of them.
//!
//! In the plane of the rows a shape is parted by how far rows have spread. From
//! one zone to the next the spread grows by a ratio; each zone has rows of its own,
//! so that nowhere is their spacing off by more than that. Borders across rows are
//! jagged, or the ends of rows would line up. Parts of zones too small to be worth an end
//! of their own join a neighbour.

use crate::row_map::Bent;
use kurbo::{Point, Vec2};
use laidwork_geometry::{Join, Polygon, Region, Samples, touching};

/// How much a border between zones goes back and forth, in zones.
const JAG: f64 = 0.12;

/// Smaller parts of zones join a neighbour, mm².
const LEAST_PART: f64 = 4.0;

/// So do parts that are thinner on the average, mm.
const LEAST_WIDTH: f64 = 0.6;

/// Part of a shape in one zone: polygon, plane and spacing of its rows.
#[derive(Clone, Debug)]
pub(crate) struct Cell {
    /// What it covers, mm.
    pub(crate) polygon: Polygon,
    /// The same in the plane of its rows.
    pub(crate) flat: Polygon,
    /// Where that plane lies on the fabric.
    pub(crate) map: Bent,
    /// Distance of its rows in their plane.
    pub(crate) spacing: f64,
}

/// How far a border is moved at a place `v` mm along it, in zones.
pub(crate) fn jag(v: f64) -> f64 {
    JAG / 2.0 * ((v * 2.3).sin() + (v * 3.7 + 1.0).sin())
}

/// The parts of `flat` in each zone, `field` rounded being the number of a
/// place's zone, and `lowest` the first there is. `on_fabric` gives a part in mm.
pub(crate) fn parted(
    flat: &Region,
    step: Vec2,
    field: impl Fn(Point) -> f64,
    lowest: i32,
    on_fabric: impl Fn(&Polygon) -> Polygon,
) -> Vec<(i32, Polygon)> {
    let Some(bounds) = flat.bounds() else { return Vec::new() };
    let (from, to) = (bounds.origin() - step * 2.0, Point::new(bounds.x1, bounds.y1) + step * 2.0);
    let samples = Samples::of(from, to, step, field);
    let range = samples
        .values
        .iter()
        .filter(|v| v.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |r, &v| (r.0.min(v), r.1.max(v)));
    let first = (range.0.round().clamp(-1e6, 1e6) as i32).max(lowest);
    let last = range.1.round().clamp(-1e6, 1e6) as i32;
    let mut rest = flat.clone();
    let mut parts: Vec<(i32, Polygon)> = Vec::new();
    for level in first..last {
        let beyond = samples.at_least(f64::from(level) + 0.5);
        parts.extend(rest.difference(&beyond).polygons.into_iter().map(|part| (level, part)));
        rest = rest.intersection(&beyond);
    }
    parts.extend(rest.polygons.into_iter().map(|part| (last.max(first), part)));
    without_small(parts, lowest, on_fabric)
}

/// Joins parts that are too small to the neighbour that they share most with, the smallest first.
fn without_small(
    parts: Vec<(i32, Polygon)>,
    lowest: i32,
    on_fabric: impl Fn(&Polygon) -> Polygon,
) -> Vec<(i32, Polygon)> {
    let (levels, mut polygons): (Vec<i32>, Vec<Polygon>) = parts.into_iter().unzip();
    let touches = touching(&polygons, 1e-3);
    // The area of a part that is small or thin.
    let smallness = |part: &Polygon| {
        let part = on_fabric(part);
        let area = part.area();
        (area < LEAST_PART || 2.0 * area < LEAST_WIDTH * part.perimeter()).then_some(area)
    };
    let mut small: Vec<(f64, usize)> =
        polygons.iter().enumerate().filter_map(|(i, p)| Some((smallness(p)?, i))).collect();
    small.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    // Which part each has become part of.
    let mut home: Vec<usize> = (0..polygons.len()).collect();
    let find = |home: &[usize], mut i: usize| {
        while home[i] != i {
            i = home[i];
        }
        i
    };
    let mut beside: Vec<Vec<(usize, f64)>> = vec![Vec::new(); polygons.len()];
    for touch in touches {
        beside[touch.a].push((touch.b, touch.length));
        beside[touch.b].push((touch.a, touch.length));
    }
    for (_, part) in small {
        if home[part] != part || smallness(&polygons[part]).is_none() {
            continue;
        }
        let others = beside[part].iter().map(|&(other, length)| (find(&home, other), length));
        // The first zone may grow, but is not given up to the next; nor are those where rows have spread to those where
        // they have drawn together.
        let near = |other: usize| {
            let alike = (levels[other] < 0) == (levels[part] < 0);
            levels[other].abs_diff(levels[part]) <= 1 && (alike || levels[other] == lowest)
        };
        let best = others.filter(|&(other, _)| other != part && near(other)).max_by(|a, b| a.1.total_cmp(&b.1));
        let Some((other, _)) = best else { continue };
        let grown = Region::from(polygons[part].clone()).offset(1e-3, Join::Bevel);
        let mut joined = grown.union(&Region::from(polygons[other].clone())).polygons;
        if joined.len() == 1
            && let Some(whole) = joined.pop()
        {
            polygons[other] = whole;
            home[part] = other;
            let moved = std::mem::take(&mut beside[part]);
            beside[other].extend(moved);
        }
    }
    let kept = levels.into_iter().zip(polygons).enumerate();
    kept.filter(|(i, _)| home[*i] == *i).map(|(_, part)| part).collect()
}
