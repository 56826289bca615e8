//! Strokes: dashes, centre lines and ink.
//!
//! A stroke is made in the path's own coordinates and carried to millimetres
//! afterwards, so that an uneven scale bends the pen as SVG has it.

use crate::color::mean_scale;
use crate::shape_path::pen_lines;
use crate::{Cap, Join, Line, Stroke};
use kurbo::{Affine, BezPath, Point, Rect};
use laidwork_geometry::{Pen, PenCap, PenJoin, PenLine, Polygon, Polyline, Region, Ring, clip_ring};

/// The most dashes that one stroke may have.
const MOST_DASHES: f64 = 100_000.0;

/// The share of the tolerance that lines with dashes are flattened to.
const DASHED: f64 = 1.0 / 16.0;

/// A stroke in millimetres, not yet clipped.
pub(crate) struct Ink {
    /// The ink of the lines that do not come near themselves.
    pub plain: Vec<Polygon>,
    /// Rings whose union is the ink of the others; all turn the same way.
    pub rings: Vec<Ring>,
    /// How it runs.
    pub stroke: Stroke,
    /// Whether it has so many dashes that it was drawn without.
    pub too_many_dashes: bool,
}

impl Ink {
    /// How it runs, and all that it covers.
    pub fn into_parts(self) -> (Stroke, Region) {
        let mut parts: Vec<Region> = self.plain.into_iter().map(Region::from).collect();
        if !self.rings.is_empty() {
            parts.push(Region::union_of_chain(&self.rings));
        }
        let region = if parts.len() > 1 { Region::union_all(&parts) } else { parts.pop().unwrap_or_default() };
        (self.stroke, region)
    }
}

/// Draws `path` with `stroke`; `to_mm` carries the path's coordinates to
/// millimetres, `bounds` is what can be seen of them.
pub(crate) fn draw(path: &BezPath, stroke: &usvg::Stroke, to_mm: Affine, tolerance: f64, bounds: Rect) -> Ink {
    let width = f64::from(stroke.width().get());
    let tolerance = tolerance / to_mm.spectral_norm().max(1e-12);
    let mitre_limit = f64::from(stroke.miterlimit().get());
    let (cap, pen_cap) = match stroke.linecap() {
        usvg::LineCap::Butt => (Cap::Butt, PenCap::Butt),
        usvg::LineCap::Round => (Cap::Round, PenCap::Round),
        usvg::LineCap::Square => (Cap::Square, PenCap::Square),
    };
    let (join, pen_join) = match stroke.linejoin() {
        usvg::LineJoin::Miter => (Join::Mitre, PenJoin::Mitre { limit: mitre_limit }),
        usvg::LineJoin::MiterClip => (Join::MitreClip, PenJoin::MitreClip { limit: mitre_limit }),
        usvg::LineJoin::Round => (Join::Round, PenJoin::Round),
        usvg::LineJoin::Bevel => (Join::Bevel, PenJoin::Bevel),
    };
    let pen = Pen { width, cap: pen_cap, join: pen_join, tolerance };
    // A dash may end anywhere on a curve, so its chords must keep the curve's direction.
    let fine = if stroke.dasharray().is_some() { tolerance * DASHED } else { tolerance };
    let mut lines = pen_lines(path, fine, width);
    let mut too_many_dashes = false;
    if let Some(dashes) = stroke.dasharray() {
        let pattern: Vec<f64> = dashes.iter().map(|&dash| f64::from(dash)).collect();
        let length: f64 = lines.iter().map(length).sum();
        let period: f64 = pattern.iter().sum();
        let dashes = length / period * (pattern.len() as f64);
        too_many_dashes = !dashes.is_finite() || dashes >= MOST_DASHES;
        if !too_many_dashes {
            lines = lines.iter().flat_map(|line| dash(line, &pattern, f64::from(stroke.dashoffset()))).collect();
        }
    }
    let to = |points: &[Point]| points.iter().map(|&point| to_mm * point).collect::<Vec<_>>();
    let is_seen = |ink: &Polygon| ink.bounds().is_some_and(|ink| bounds.contains_rect(ink));
    let plain: Vec<Option<Polygon>> = lines.iter().map(|line| line.plain_ink(&pen, to_mm).filter(is_seen)).collect();
    let rings = lines
        .iter()
        .zip(&plain)
        .filter(|(_, plain)| plain.is_none())
        .flat_map(|(line, _)| line.stroke(&pen))
        .map(|ring| clip_ring(Ring::new(to(&ring.points)), bounds))
        .filter(|ring| ring.points.len() > 2)
        .collect();
    let lines = lines.iter().map(|line| Line { points: to(&tidy(&line.points, tolerance * 0.5)), closed: line.closed });
    let lines = lines.collect();
    let plain = plain.into_iter().flatten().collect();
    Ink {
        plain,
        rings,
        stroke: Stroke { lines, width: width * mean_scale(to_mm), cap, join, mitre_limit },
        too_many_dashes,
    }
}

/// The points of a line without those that lie within `near` of the one before;
/// both ends stay.
fn tidy(points: &[Point], near: f64) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::with_capacity(points.len());
    for &point in points {
        if kept.last().is_none_or(|last| last.distance(point) > near) {
            kept.push(point);
        }
    }
    if let Some(&end) = points.last()
        && kept.last().is_some_and(|last| *last != end)
    {
        if kept.len() > 1 {
            kept.pop();
        }
        kept.push(end);
    }
    kept
}

/// Every edge of a line, the closing one last, with the place of its end among the points.
fn edges(line: &PenLine) -> impl Iterator<Item = (Point, Point, usize)> + '_ {
    let closing = line.points.last().zip(line.points.first()).filter(|_| line.closed).map(|(a, b)| (*a, *b, 0));
    line.points.windows(2).enumerate().map(|(i, pair)| (pair[0], pair[1], i + 1)).chain(closing)
}

fn length(line: &PenLine) -> f64 {
    edges(line).map(|(a, b, _)| a.distance(b)).sum()
}

/// The dashes of `line`: `pattern` has dash and gap lengths in turn, an even
/// number of them with a sum above 0, and begins `offset` before the line.
///
/// A dash over the first point of a closed line stays in one part. A dash of
/// no length keeps a direction, so that square caps turn with the line.
fn dash(line: &PenLine, pattern: &[f64], offset: f64) -> Vec<PenLine> {
    let period: f64 = pattern.iter().sum();
    let mut into = offset.rem_euclid(period);
    let mut place = 0;
    // A dash of no length at the very start is still to come.
    let over = |length: f64, into: f64| into >= length && into + length > 0.0;
    while let Some(&length) = pattern.get(place).filter(|&&length| over(length, into) && place + 1 < pattern.len()) {
        into -= length;
        place += 1;
    }
    let mut left = pattern.get(place).map_or(0.0, |length| (length - into).max(0.0));
    let starts_on = place % 2 == 0;
    let mut dashes: Vec<PenLine> = Vec::new();
    let mut part = PenLine::default();
    if starts_on && let Some(&first) = line.points.first() {
        push(&mut part, first, line.corners.first().copied().unwrap_or(true));
    }
    let mut on = starts_on;
    for (from, to, end) in edges(line) {
        let whole = from.distance(to);
        let mut gone = 0.0;
        while whole - gone > left {
            gone += left;
            let at = from.lerp(to, gone / whole);
            if on {
                let dot = part.points.last().is_none_or(|last| last.distance(at) < period * 1e-6);
                if dot && part.points.len() <= 1 {
                    part = PenLine::default();
                    push(&mut part, at - (to - from) * (period * 1e-6 / whole), true);
                }
                push(&mut part, at, true);
                dashes.push(std::mem::take(&mut part));
            } else {
                push(&mut part, at, true);
            }
            on = !on;
            place = (place + 1) % pattern.len().max(1);
            left = pattern.get(place).copied().unwrap_or(f64::INFINITY);
        }
        left -= whole - gone;
        if on {
            push(&mut part, to, line.corners.get(end).copied().unwrap_or(true));
        }
    }
    let unbroken = dashes.is_empty() && starts_on && on;
    if unbroken {
        return vec![line.clone()];
    }
    if !part.points.is_empty() {
        dashes.push(part);
    }
    if line.closed && starts_on && on && dashes.len() > 1 {
        join_ends(&mut dashes);
    }
    dashes
}

/// The last dash of a closed line goes on in the first.
fn join_ends(dashes: &mut Vec<PenLine>) {
    if let Some(mut last) = dashes.pop()
        && let Some(first) = dashes.first_mut()
    {
        last.points.pop();
        last.corners.pop();
        last.points.append(&mut first.points);
        last.corners.append(&mut first.corners);
        *first = last;
    }
}

fn push(line: &mut PenLine, point: Point, corner: bool) {
    line.points.push(point);
    line.corners.push(corner);
}

/// Centre lines inside `clip`, which is a little larger than what is seen.
pub(crate) fn clip_lines(lines: &[Line], clip: &laidwork_geometry::Region) -> Vec<Line> {
    let lines: Vec<Polyline> =
        lines.iter().map(|line| Polyline { points: line.points.clone(), closed: line.closed }).collect();
    let inside = clip.clip_lines(&lines);
    inside.into_iter().map(|line| Line { points: line.points, closed: line.closed }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(points: &[(f64, f64)], closed: bool) -> PenLine {
        PenLine { points: points.iter().map(|&p| Point::from(p)).collect(), corners: vec![], closed }
    }

    fn spans(dashes: &[PenLine]) -> Vec<(f64, f64)> {
        let x = |point: Option<&Point>| point.map_or(f64::NAN, |p| p.x);
        dashes.iter().map(|dash| (x(dash.points.first()), x(dash.points.last()))).collect()
    }

    #[test]
    fn dashes_follow_the_pattern_from_its_offset() {
        let bar = line(&[(0.0, 0.0), (10.0, 0.0)], false);
        assert_eq!(spans(&dash(&bar, &[3.0, 2.0], 0.0)), [(0.0, 3.0), (5.0, 8.0)]);
        assert_eq!(spans(&dash(&bar, &[3.0, 2.0], 1.0)), [(0.0, 2.0), (4.0, 7.0), (9.0, 10.0)]);
        assert_eq!(spans(&dash(&bar, &[3.0, 2.0], -1.0)), [(1.0, 4.0), (6.0, 9.0)]);
        assert_eq!(spans(&dash(&bar, &[3.0, 2.0], 3.5)), [(1.5, 4.5), (6.5, 9.5)]);
        assert_eq!(spans(&dash(&bar, &[30.0, 2.0], 0.0)), [(0.0, 10.0)]);
        assert!(dash(&bar, &[3.0, 20.0], 4.0).is_empty());
    }

    #[test]
    fn a_dash_goes_round_a_corner_and_over_the_start() {
        let square = line(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)], true);
        let dashes = dash(&square, &[6.0, 2.0], 3.0);
        assert_eq!(dashes.len(), 2);
        assert!(dashes.iter().all(|dash| !dash.closed && (length(dash) - 6.0).abs() < 1e-9));
        assert!(dashes.iter().any(|dash| dash.points.contains(&Point::ZERO)));
    }

    #[test]
    fn a_line_within_one_dash_stays_as_it_is() {
        let square = line(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)], true);
        assert_eq!(dash(&square, &[100.0, 2.0], 3.0), [square]);
    }

    #[test]
    fn a_dash_of_no_length_keeps_its_direction() {
        let bar = line(&[(0.0, 0.0), (0.0, 10.0)], false);
        let dots = dash(&bar, &[0.0, 4.0], 0.0);
        assert_eq!(dots.len(), 3);
        let pen = Pen { width: 2.0, cap: PenCap::Square, join: PenJoin::Bevel, tolerance: 0.01 };
        for dot in dots {
            let area: f64 = dot.stroke(&pen).iter().map(Ring::signed_area).sum();
            assert!((area - 4.0).abs() < 1e-3, "{area}");
        }
    }
}
