//! Paths of the resolved tree in double precision.

use kurbo::{Affine, BezPath, PathEl, Point, Rect};
use laidwork_geometry::{PenLine, Ring, flatten};
use usvg::tiny_skia_path::{self, PathSegment};

/// An affine of the resolved tree.
pub(crate) fn affine(t: usvg::Transform) -> Affine {
    Affine::new([t.sx, t.ky, t.kx, t.sy, t.tx, t.ty].map(f64::from))
}

/// A path of the resolved tree, in its own coordinates.
pub(crate) fn bez_path(path: &tiny_skia_path::Path) -> BezPath {
    let at = |p: tiny_skia_path::Point| Point::new(f64::from(p.x), f64::from(p.y));
    path.segments()
        .map(|segment| match segment {
            PathSegment::MoveTo(p) => PathEl::MoveTo(at(p)),
            PathSegment::LineTo(p) => PathEl::LineTo(at(p)),
            PathSegment::QuadTo(a, p) => PathEl::QuadTo(at(a), at(p)),
            PathSegment::CubicTo(a, b, p) => PathEl::CurveTo(at(a), at(b), at(p)),
            PathSegment::Close => PathEl::ClosePath,
        })
        .collect()
}

/// The subpaths of `path` as lines for a pen: straight pieces within
/// `tolerance` of it, the points between its own pieces marked as corners.
///
/// A chord at the end of a curve points a little off the curve's own
/// direction there, and caps and mitres would show it. So curves begin and end
/// with a piece of a tenth of the tolerance along their tangents.
pub(crate) fn pen_lines(path: &BezPath, tolerance: f64) -> Vec<PenLine> {
    let mut lines: Vec<PenLine> = Vec::new();
    let mut line = PenLine::default();
    let (mut start, mut last) = (Point::ZERO, Point::ZERO);
    for &element in path.elements() {
        match element {
            PathEl::MoveTo(p) => {
                finish(&mut line, &mut lines);
                (start, last) = (p, p);
            }
            PathEl::ClosePath => {
                begin(&mut line, last);
                line.closed = true;
                finish(&mut line, &mut lines);
                last = start;
            }
            _ => {
                begin(&mut line, last);
                let piece = BezPath::from_vec(vec![PathEl::MoveTo(last), element]);
                let points = flatten(&piece, tolerance).into_iter().flat_map(|part| part.points);
                let chords: Vec<Point> = points.collect();
                let (out, back) = end_pieces(last, element, &chords, tolerance * 0.1);
                line.points.extend(out);
                line.points.extend(chords.iter().skip(1).take(chords.len().saturating_sub(2)));
                line.points.extend(back);
                last = element.end_point().unwrap_or(last);
                if line.points.last() != Some(&last) {
                    line.points.push(last);
                }
                line.corners.resize(line.points.len(), false);
                if let Some(corner) = line.corners.last_mut() {
                    *corner = true;
                }
            }
        }
    }
    finish(&mut line, &mut lines);
    lines
}

/// Points a little along a curve's tangents from its two ends; none for straight pieces.
fn end_pieces(from: Point, curve: PathEl, chords: &[Point], step: f64) -> (Option<Point>, Option<Point>) {
    let controls = match curve {
        PathEl::QuadTo(a, to) => [from, a, a, to],
        PathEl::CurveTo(a, b, to) => [from, a, b, to],
        _ => return (None, None),
    };
    let short = |pair: Option<&[Point]>| pair.is_none_or(|pair| pair[0].distance(pair[1]) < step * 4.0);
    if short(chords.windows(2).next()) || short(chords.windows(2).next_back()) {
        return (None, None);
    }
    let along = |end: Point, others: [Point; 3]| {
        let next = others.into_iter().find(|other| other.distance(end) > step * 1e-3)?;
        Some(end + (next - end).normalize() * step)
    };
    let [start, a, b, end] = controls;
    (along(start, [a, b, end]), along(end, [b, a, start]))
}

fn begin(line: &mut PenLine, at: Point) {
    if line.points.is_empty() {
        line.points.push(at);
        line.corners.push(true);
    }
}

fn finish(line: &mut PenLine, lines: &mut Vec<PenLine>) {
    let line = std::mem::take(line);
    if !line.points.is_empty() {
        lines.push(line);
    }
}

/// `ring` cut to `bounds`, which keeps the number of turns about every point
/// inside: Sutherland and Hodgman, "Reentrant polygon clipping", 1974.
pub(crate) fn clip_ring(ring: Ring, bounds: Rect) -> Ring {
    let Some(extent) = ring.bounds() else { return ring };
    if bounds.contains_rect(extent) {
        return ring;
    }
    let half_planes: [fn(Point, Rect) -> f64; 4] =
        [|p, r| p.x - r.x0, |p, r| r.x1 - p.x, |p, r| p.y - r.y0, |p, r| r.y1 - p.y];
    let mut points = ring.points;
    for inside in half_planes {
        let mut kept = Vec::with_capacity(points.len());
        let previous = points.iter().cycle().skip(points.len().saturating_sub(1));
        for (&a, &b) in previous.zip(&points) {
            let (da, db) = (inside(a, bounds), inside(b, bounds));
            if (da < 0.0) != (db < 0.0) {
                kept.push(a.lerp(b, da / (da - db)));
            }
            if db >= 0.0 {
                kept.push(b);
            }
        }
        points = kept;
    }
    Ring::new(points)
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_geometry::{FillRule, Region};

    #[test]
    fn points_between_pieces_are_corners() {
        let path = BezPath::from_svg("M0 0 H4 C4 2 6 4 8 4 Z").unwrap();
        let lines = pen_lines(&path, 0.01);
        assert_eq!(lines.len(), 1);
        let line = &lines[0];
        assert!(line.closed && line.points.len() == line.corners.len());
        assert_eq!(line.corners.iter().filter(|corner| **corner).count(), 3);
        assert!(line.corners[1] && !line.corners[2]);
    }

    #[test]
    fn a_dot_and_a_part_after_a_close() {
        let lines = pen_lines(&BezPath::from_svg("M1 1 L1 1 M2 2 L5 2 Z L9 9").unwrap(), 0.01);
        assert_eq!(lines.iter().map(|line| line.points.len()).collect::<Vec<_>>(), [1, 2, 2]);
        assert_eq!(lines[2].points[0], Point::new(2.0, 2.0));
    }

    #[test]
    fn a_ring_around_the_moon_is_cut_to_the_bounds() {
        let far = 1e12;
        let ring = Ring::new([(-far, 0.0), (0.0, -far), (far, 0.0), (0.0, far)].map(Point::from).to_vec());
        let cut = clip_ring(ring, Rect::new(-10.0, -10.0, 10.0, 10.0));
        assert!((Region::from_rings(&[cut], FillRule::EvenOdd).area() - 400.0).abs() < 1e-6);
    }

    #[test]
    fn cutting_keeps_turns_apart() {
        // Two turns around the middle: even-odd leaves a hole, also after the cut.
        let twice = [(-9.0, -9.0), (9.0, -9.0), (9.0, 9.0), (-9.0, 9.0)];
        let small = [(-8.0, -2.0), (2.0, -2.0), (2.0, 2.0), (-8.0, 2.0)];
        let ring = |corners: [(f64, f64); 4]| Ring::new(corners.map(Point::from).to_vec());
        let bounds = Rect::new(-5.0, -5.0, 5.0, 5.0);
        let rings = [clip_ring(ring(twice), bounds), clip_ring(ring(small), bounds)];
        assert!((Region::from_rings(&rings, FillRule::EvenOdd).area() - (100.0 - 28.0)).abs() < 1e-6);
    }
}
