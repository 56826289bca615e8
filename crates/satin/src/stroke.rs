//! Columns along drawn lines: a stroke's two sides are known.
//!
//! A line is split at its sharp corners. One of the two columns that meet
//! there goes on to the outer edge of the corner, the other ends under it; both
//! are cut off at the painted area, so that round, bevelled and mitred joins
//! and caps are covered as drawn.

use crate::hide::Hidden;
use crate::line::{clean, directions, length, resample, right_of, unit};
use crate::network::{Joint, Network, Part, Place};
use crate::rays::{Rays, untangle};
use crate::walk::walk;
use crate::{Column, ColumnEnd, SatinSettings};
use kurbo::{Point, Vec2};
use laidwork_geometry::{Crossing, Pen, PenCap, PenJoin, PenLine, Polygon};
use laidwork_plan::{Pass, Warned};
use laidwork_run::Ends;

/// Crossings along a line are this far apart, mm.
const STEP: f64 = 0.1;

/// Lines made longer end this far inside the painted area, mm: a thread along its very edge would not be cut off at it.
const SHY: f64 = 0.02;

/// A corner that turns by more than this splits the line, degrees.
const CORNER: f64 = 50.0;

/// Sews strokes with `pen` (mm) along `lines` as one unbroken chain.
///
/// `region` is the connected area they paint; threads are cut off at its
/// outline. Lines that do not touch are joined by hidden ways when `region` allows. What lies in
/// `hidden` is sewn over later: threads there are left out or thin out.
pub fn from_stroke(
    name: &str,
    lines: &[PenLine],
    pen: &Pen,
    (region, hidden): (&Polygon, Option<&Hidden>),
    settings: &SatinSettings,
    ends: Ends,
) -> Warned<Vec<Pass>> {
    let settings = settings.checked();
    let rays = Rays::of_polygon(region);
    let mut network = network(lines, pen, &rays, &settings);
    crate::decompose::cover(&mut network, region, &settings);
    crate::hide::find_covered(&mut network, hidden, settings.overlap);
    walk(name, network, region, &settings, ends)
}

/// The columns of strokes, and where they meet.
fn network(lines: &[PenLine], pen: &Pen, rays: &Rays, settings: &SatinSettings) -> Network {
    let width = if pen.width.is_finite() { pen.width.clamp(0.01, 1000.0) } else { 1.0 };
    let mut network = Network::default();
    for line in lines {
        let mut points = clean(&line.points);
        if line.closed
            && points.len() > 1
            && points.first().zip(points.last()).is_some_and(|(a, b)| a.distance(*b) < 1e-6)
        {
            points.pop();
        }
        if points.len() < 2 {
            continue;
        }
        let closed = line.closed && points.len() > 2;
        let corners = corners(&points, closed);
        if closed && corners.is_empty() {
            points.extend(points.first().copied());
            let mut even = resample(&points, STEP);
            even.pop();
            network.parts.push(part(band(&even, width, true, rays), true, [ColumnEnd::Joined; 2], settings));
            continue;
        }
        let pieces = split(&points, closed, &corners);
        let first = network.parts.len();
        let count = pieces.len();
        for (i, piece) in pieces.iter().enumerate() {
            // At every corner the piece that begins there goes through, the one that ends there abuts.
            let starts_free = !closed && i == 0;
            let ends_free = !closed && i + 1 == count;
            let reach = |turn: f64| match pen.join {
                PenJoin::Mitre { limit } | PenJoin::MitreClip { limit } => {
                    (turn / 2.0).tan().clamp(1.0, limit.max(1.0)) * width / 2.0
                }
                _ => width / 2.0,
            };
            let at_cap = if pen.cap == PenCap::Butt { 0.0 } else { width / 2.0 };
            let before = if starts_free { at_cap } else { reach(piece.turn) };
            let after = if ends_free { at_cap } else { 0.0 };
            let shy = |reach: f64| if reach > 0.0 { (reach - SHY).max(0.0) } else { 0.0 };
            let longer = prolonged(&piece.points, shy(before), shy(after));
            let ends = [
                if starts_free { ColumnEnd::Open } else { ColumnEnd::Joined },
                if ends_free { ColumnEnd::Open } else { ColumnEnd::Joined },
            ];
            network.parts.push(part(band(&resample(&longer, STEP), width, false, rays), false, ends, settings));
        }
        let corner_joints = if closed { count } else { count.saturating_sub(1) };
        for i in 0..corner_joints {
            let (a, b) = (first + i, first + (i + 1) % count);
            let last = match network.parts.get(a) {
                Some(Part::Column(column) | Part::Run(column)) => column.last_place(),
                _ => 0.0,
            };
            let point = pieces.get(i).and_then(|p| p.points.last()).copied().unwrap_or_default();
            let places = vec![Place { part: a, at: last, point }, Place { part: b, at: 0.0, point }];
            network.joints.push(Joint { places, owner: Some(b) });
        }
    }
    network
}

fn part(band: Vec<Crossing>, closed: bool, ends: [ColumnEnd; 2], settings: &SatinSettings) -> Part {
    let column = Column { crossings: band, closed, ends };
    if column.greatest_width() < settings.min_width { Part::Run(column) } else { Part::Column(column) }
}

/// A piece of a line between two corners.
struct Piece {
    points: Vec<Point>,
    /// How much the line turns where the piece begins, radians.
    turn: f64,
}

/// Places of the sharp corners and how much they turn, radians.
fn corners(points: &[Point], closed: bool) -> Vec<(usize, f64)> {
    let count = points.len();
    let inner = if closed { 0..count } else { 1..count.saturating_sub(1) };
    let turn = |i: usize| {
        let at = |k: usize| points.get(k % count.max(1)).copied().unwrap_or_default();
        let (a, b) = (at(i) - at(i + count - 1), at(i + 1) - at(i));
        a.cross(b).atan2(a.dot(b)).abs()
    };
    inner.map(|i| (i, turn(i))).filter(|(_, turn)| turn.to_degrees() > CORNER).collect()
}

fn split(points: &[Point], closed: bool, corners: &[(usize, f64)]) -> Vec<Piece> {
    let last = points.len().saturating_sub(1);
    let mut cuts: Vec<(usize, f64)> = Vec::new();
    if !closed {
        cuts.push((0, 0.0));
    }
    cuts.extend_from_slice(corners);
    let end = if closed { corners.first().map_or(last, |c| c.0 + points.len()) } else { last };
    let stops: Vec<usize> = cuts.iter().map(|c| c.0).skip(1).chain([end]).collect();
    let between = |from: usize, to: usize| (from..=to).filter_map(|i| points.get(i % points.len()).copied()).collect();
    cuts.iter().zip(stops).map(|(&(from, turn), to)| Piece { points: between(from, to), turn }).collect()
}

/// A line made longer at both ends, straight on.
fn prolonged(points: &[Point], before: f64, after: f64) -> Vec<Point> {
    let mut longer = points.to_vec();
    if let [a, b, ..] = points {
        longer.insert(0, *a + unit(*a - *b) * before);
    }
    if let [.., a, b] = points {
        longer.push(*b + unit(*b - *a) * after);
    }
    clean(&longer)
}

/// Crossings of a stroke along evenly spaced points, cut off at the painted area.
fn band(points: &[Point], width: f64, closed: bool, rays: &Rays) -> Vec<Crossing> {
    let step = length(points) / (points.len().max(2) - 1) as f64;
    let along = directions(points, 0.2 * width / step.max(1e-6), closed);
    let half = width / 2.0 + 0.005;
    let crossing = |(p, along): (&Point, &Vec2)| rays.crossing(*p, right_of(*along), [half; 2]);
    let mut band: Vec<Crossing> = points.iter().zip(&along).filter_map(crossing).collect();
    untangle(&mut band);
    band
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_geometry::Ring;
    use laidwork_plan::PassKind;

    fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Polygon {
        let corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)];
        Polygon { outer: Ring::new(corners.map(Point::from).to_vec()), holes: Vec::new() }
    }

    #[test]
    fn a_straight_stroke_is_one_column() {
        let lines = [PenLine { points: vec![Point::ZERO, Point::new(20.0, 0.0)], ..PenLine::default() }];
        let pen = Pen { width: 3.0, cap: PenCap::Butt, join: PenJoin::Bevel, tolerance: 0.01 };
        let region = rectangle(0.0, -1.5, 20.0, 1.5);
        let settings = SatinSettings::default();
        let sewn = from_stroke("s", &lines, &pen, (&region, None), &settings, Ends::default());
        assert!(sewn.warnings.is_empty());
        let top: Vec<Point> =
            sewn.value.iter().filter(|p| p.kind == PassKind::Top).flat_map(|p| p.points.clone()).collect();
        assert!(top.len() > 95);
        assert!(top.iter().all(|p| (p.y.abs() - 1.7).abs() < 0.01), "{top:?}");
    }

    #[test]
    fn a_corner_splits_a_line_in_two() {
        let points = [Point::ZERO, Point::new(10.0, 0.0), Point::new(10.0, 10.0)];
        let corners = corners(&points, false);
        assert_eq!(corners.len(), 1);
        assert_eq!(split(&points, false, &corners).len(), 2);
        let square = [Point::ZERO, Point::new(10.0, 0.0), Point::new(10.0, 10.0), Point::new(0.0, 10.0)];
        let pieces = split(&square, true, &super::corners(&square, true));
        assert_eq!(pieces.len(), 4);
        assert_eq!(pieces[3].points, [square[3], square[0]]);
    }

    #[test]
    fn the_first_thread_at_a_bevelled_corner_is_cut_off() {
        let square = [(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0)].map(Point::from);
        let lines = [PenLine { points: square.to_vec(), closed: true, ..PenLine::default() }];
        let pen = Pen { width: 3.0, cap: PenCap::Butt, join: PenJoin::Bevel, tolerance: 0.01 };
        let outer = [(0.0, -1.5), (20.0, -1.5), (21.5, 0.0), (21.5, 20.0)];
        let outer = outer.into_iter().chain([(20.0, 21.5), (0.0, 21.5), (-1.5, 20.0), (-1.5, 0.0)]);
        let outer = Ring::new(outer.map(Point::from).collect());
        let inner = Ring::new([(1.5, 1.5), (1.5, 18.5), (18.5, 18.5), (18.5, 1.5)].map(Point::from).to_vec());
        let region = Polygon { outer, holes: vec![inner] };
        let network = network(&lines, &pen, &Rays::of_polygon(&region), &SatinSettings::default());
        for part in &network.parts {
            let Part::Column(column) = part else { panic!("{part:?}") };
            // Nothing reaches the corner that the bevel takes away.
            assert!(column.crossings[0].width() < 2.0, "{:?}", column.crossings[0]);
        }
    }
}
