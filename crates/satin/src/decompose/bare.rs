//! What the columns leave bare, as small parallel patches.

use super::block::block;
use super::prepare::{FLATNESS, thinned};
use crate::network::Part;
use crate::{Column, SatinSettings};
use kurbo::{Point, Rect};
use laidwork_geometry::{Crossing, FillRule, Join, Polygon, Region, Ring, clip_ring};
use std::borrow::Cow;

/// Thread covers this much more than the lines across a column do, mm.
const REACH: f64 = 0.2;

/// Narrower lines are left out, mm.
const NARROWEST: f64 = 0.05;

/// Sides are rounded to this, mm.
const GRID: f64 = 0.02;

/// Smaller bare spots get no threads across them, mm², ...
const SMALLEST: f64 = 0.2;

/// ... but lines along them when they are as large as this, mm², ...
const LEAST: f64 = 0.05;

/// ... and a disc of this radius has room in them, mm: such spots catch the eye.
const ROOM: f64 = 0.08;

/// A patch of parallel threads covers no notch and no second arm of its spot: what it leaves bare is patched again,
/// so many times in all.
const ROUNDS: usize = 3;

/// A patch reaches this far under its neighbours, mm.
const OVERLAP: f64 = 0.35;

/// The parts of a shape that no band of crossings covers.
fn bare(shape: &Region, bands: &[(&[Crossing], bool)]) -> Region {
    if let &[(band, closed)] = bands
        && shape.lies_within(&sides(&widened(band, closed), closed))
    {
        return Region::default();
    }
    let rings: Vec<Ring> = bands.iter().map(|(band, closed)| outline(&widened(band, *closed))).collect();
    let mut left = shape.without(&rings);
    left.polygons.retain(|p| p.area() >= SMALLEST || p.area() >= LEAST && has_room(p));
    left
}

fn has_room(spot: &Polygon) -> bool {
    !Region::from(spot.clone()).offset(-ROOM, Join::Mitre { limit: 2.0 }).is_empty()
}

/// Lines reach so far beyond a spot, mm.
const LINED: f64 = 0.2;

/// The band as far as its thread reaches; a ring ends where it begins.
fn widened(band: &[Crossing], closed: bool) -> Vec<Crossing> {
    let wider = |c: &Crossing| {
        let along = c.direction() * REACH;
        Crossing::new(c.left - along, c.right + along)
    };
    // What is next to nothing wide covers next to nothing, and has no direction.
    let mut wide: Vec<Crossing> = band.iter().filter(|c| c.width() > NARROWEST).map(wider).collect();
    if closed {
        wide.extend(wide.first().copied());
        return wide;
    }
    let beyond = |end: Option<&Crossing>, inner: Option<&Crossing>| {
        let (end, inner) = (end?, inner?);
        let out = crate::line::unit(end.middle() - inner.middle()) * REACH;
        Some(Crossing::new(end.left + out, end.right + out))
    };
    let before = beyond(wide.first(), wide.get(1));
    let after = beyond(wide.last(), wide.len().checked_sub(2).and_then(|i| wide.get(i)));
    before.into_iter().chain(wide.iter().copied()).chain(after).collect()
}

/// Parts over what the bands leave bare of `shape`; they reach under their neighbours within `whole`.
pub(crate) fn patches(
    shape: &Region,
    whole: &Region,
    bands: &[(&[Crossing], bool)],
    settings: &SatinSettings,
) -> Vec<Part> {
    let part = |spot: &Polygon| {
        if spot.area() > settings.max_width * settings.max_width {
            return Some(Part::Fill(spot.clone()));
        }
        if spot.area() < SMALLEST {
            return patch(spot, whole, LINED).map(Part::Run);
        }
        patch(spot, whole, OVERLAP).map(Part::Column)
    };
    let mut parts = Vec::new();
    let mut spots = bare(shape, bands).polygons;
    for _ in 0..ROUNDS {
        let (before, mut patched) = (parts.len(), Region::default());
        for spot in spots {
            let Some(part) = part(&spot) else { continue };
            if matches!(part, Part::Column(_)) {
                patched.polygons.push(spot);
            }
            parts.push(part);
        }
        let columns = parts[before..].iter().filter_map(|part: &Part| match part {
            Part::Column(column) => Some((column.crossings.as_slice(), false)),
            Part::Run(_) | Part::Fill(_) => None,
        });
        let bands: Vec<(&[Crossing], bool)> = columns.collect();
        spots = if bands.is_empty() { Vec::new() } else { bare(&patched, &bands).polygons };
    }
    parts
}

/// Both sides of a band as one ring; where it overlaps or turns over, any winding counts.
fn outline(band: &[Crossing]) -> Ring {
    let right = band.iter().rev().map(|c| c.right);
    ring(band.iter().map(|c| c.left).chain(right).collect())
}

/// Both sides of a band: one ring, or two of a closed one, which has no ends.
fn sides(band: &[Crossing], closed: bool) -> Vec<Ring> {
    if !closed {
        return vec![outline(band)];
    }
    vec![ring(band.iter().map(|c| c.left).collect()), ring(band.iter().rev().map(|c| c.right).collect())]
}

/// A ring on a coarse grid, so that sides that nearly touch do not cross each other a hundred times.
fn ring(points: Vec<Point>) -> Ring {
    let snapped = |p: Point| Point::new((p.x / GRID).round() * GRID, (p.y / GRID).round() * GRID);
    let mut points: Vec<Point> = thinned(&points, FLATNESS).into_iter().map(snapped).collect();
    points.dedup();
    Ring::new(points)
}

/// A patch over one bare spot of `shape`; `None` when it is too small to sew.
fn patch(spot: &Polygon, shape: &Region, overlap: f64) -> Option<Column> {
    let join = Join::Mitre { limit: 2.0 };
    let grown = Region::from(spot.clone()).offset(overlap, join);
    let grown = grown.intersection(&about(shape, grown.bounds()?));
    let largest = grown.polygons.iter().max_by(|a, b| a.area().total_cmp(&b.area()))?;
    let mut column = Column::open(block(largest));
    column.ends = [crate::ColumnEnd::Joined; 2];
    (column.crossings.len() > 2 && column.length() > 0.3).then_some(column)
}

/// What of a shape of many edges lies about `bounds`: it may be asked for at a thousand places.
fn about(shape: &Region, bounds: Rect) -> Cow<'_, Region> {
    let edges: usize = shape.rings().map(|ring| ring.points.len()).sum();
    if edges < MANY {
        return Cow::Borrowed(shape);
    }
    let room = bounds.inflate(OVERLAP, OVERLAP);
    let near = shape.rings().filter(|ring| ring.bounds().is_some_and(|own| own.overlaps(room)));
    let rings: Vec<Ring> = near.map(|ring| clip_ring(ring.clone(), room)).collect();
    Cow::Owned(Region::from_rings(&rings, FillRule::NonZero))
}

/// A shape with fewer edges is taken whole.
const MANY: usize = 1_000;

#[cfg(test)]
mod tests {
    use super::*;

    fn square() -> Region {
        let corners = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(Point::from);
        Polygon { outer: Ring::new(corners.to_vec()), holes: Vec::new() }.into()
    }

    #[test]
    fn what_no_band_covers_is_bare() {
        let band: Vec<Crossing> =
            (0..=60).map(|i| i as f64 / 10.0).map(|y| Crossing::new(Point::new(0.0, y), Point::new(10.0, y))).collect();
        let left = bare(&square(), &[(&band, false)]);
        assert!((left.area() - (4.0 - REACH) * 10.0).abs() < 1e-3);
        let patch = patch(&left.polygons[0], &square(), OVERLAP).unwrap();
        assert!((patch.length() - 10.0).abs() < 0.1 && patch.greatest_width() > 4.0);
    }

    #[test]
    fn nothing_is_bare_under_a_full_band() {
        let band: Vec<Crossing> = (0..=100)
            .map(|i| i as f64 / 10.0)
            .map(|y| Crossing::new(Point::new(0.0, y), Point::new(10.0, y)))
            .collect();
        assert!(bare(&square(), &[(&band, false)]).is_empty());
    }

    #[test]
    fn both_arms_of_a_bare_spot_are_covered() {
        let corners =
            [(0., 0.), (6., 0.), (6., 6.), (4., 6.), (4., 1.5), (2., 1.5), (2., 4.), (0., 4.)].map(Point::from);
        let shape = Region::from(Polygon { outer: Ring::new(corners.to_vec()), holes: Vec::new() });
        let parts = patches(&shape, &shape, &[], &SatinSettings { max_width: 7.0, ..SatinSettings::default() });
        let bands: Vec<(&[Crossing], bool)> = parts
            .iter()
            .filter_map(|part| match part {
                Part::Column(column) | Part::Run(column) => Some((column.crossings.as_slice(), false)),
                Part::Fill(_) => None,
            })
            .collect();
        assert!(bands.len() > 1 && bare(&shape, &bands).is_empty(), "{parts:?}");
        assert!(!bare(&shape, &bands[..1]).is_empty());
    }

    #[test]
    fn a_small_spot_gets_lines_and_a_speck_nothing() {
        // What is left bare at the end of a band, `end` mm of it beyond the reach of its threads.
        let parts = |width: f64, end: f64| {
            let corners = [(0.0, 0.0), (width, 0.0), (width, 10.0), (0.0, 10.0)].map(Point::from);
            let shape = Region::from(Polygon { outer: Ring::new(corners.to_vec()), holes: Vec::new() });
            let last = 10.0 - REACH - end;
            let at = |i: u32| last * f64::from(i) / 50.0;
            let band: Vec<Crossing> =
                (0..=50).map(|i| Crossing::new(Point::new(0.0, at(i)), Point::new(width, at(i)))).collect();
            patches(&shape, &shape, &[(&band, false)], &SatinSettings::default())
        };
        assert!(matches!(parts(0.5, 0.3).as_slice(), [Part::Run(_)]));
        assert!(matches!(parts(2.0, 0.5).as_slice(), [Part::Column(_)]));
        assert!(parts(0.5, 0.05).is_empty());
    }
}
