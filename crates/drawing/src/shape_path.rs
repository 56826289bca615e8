//! Paths of the resolved tree in double precision.

use kurbo::{Affine, BezPath, ParamCurve, PathEl, PathSeg, Point, Vec2};
use laidwork_geometry::{PenLine, flatten};
use usvg::tiny_skia_path::{self, PathSegment};

/// How often the chord at the end of a curve is halved at most.
const HALVINGS: u32 = 8;
/// The corner of a cap may lie off its place by this share of the tolerance, a mitre's by a little more.
const CAP: f64 = 0.25;
/// Cosine of the turn above which a corner is sharp: about 1°.
const SHARP: f64 = 0.999_85;

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
/// A chord at the end of a curve points a little off the curve's own direction
/// there, and caps and mitres would show it. So towards an end or a sharp
/// corner chords get shorter by halves, the more the wider the pen is.
pub(crate) fn pen_lines(path: &BezPath, tolerance: f64, width: f64) -> Vec<PenLine> {
    let fine = Fine { tolerance, turn: CAP * tolerance / (width / 2.0) };
    let mut lines: Vec<PenLine> = Vec::new();
    let mut pieces: Vec<PathSeg> = Vec::new();
    let (mut start, mut last) = (Point::ZERO, Point::ZERO);
    for &element in path.elements() {
        match element {
            PathEl::MoveTo(p) => {
                lines.extend(pen_line(&std::mem::take(&mut pieces), false, fine));
                (start, last) = (p, p);
            }
            PathEl::ClosePath => {
                if pieces.is_empty() || last != start {
                    pieces.push(PathSeg::Line(kurbo::Line::new(last, start)));
                }
                lines.extend(pen_line(&std::mem::take(&mut pieces), true, fine));
                last = start;
            }
            PathEl::LineTo(p) => pieces.push(PathSeg::Line(kurbo::Line::new(last, p))),
            PathEl::QuadTo(a, p) => pieces.push(PathSeg::Quad(kurbo::QuadBez::new(last, a, p))),
            PathEl::CurveTo(a, b, p) => pieces.push(PathSeg::Cubic(kurbo::CubicBez::new(last, a, b, p))),
        }
        last = element.end_point().unwrap_or(last);
    }
    lines.extend(pen_line(&pieces, false, fine));
    lines
}

/// How near the pieces of a line follow its curves.
#[derive(Clone, Copy, Debug)]
struct Fine {
    /// Farthest from them.
    tolerance: f64,
    /// Farthest off their direction at an end, as a sine.
    turn: f64,
}

/// One subpath.
fn pen_line(pieces: &[PathSeg], closed: bool, fine: Fine) -> Option<PenLine> {
    let first = pieces.first()?;
    let mut line = PenLine { points: vec![first.start()], corners: vec![true], closed };
    let before = pieces.iter().cycle().skip(pieces.len() - 1);
    let after = pieces.iter().cycle().skip(1);
    for (i, ((piece, before), after)) in pieces.iter().zip(before).zip(after).enumerate() {
        let chords: Vec<Point> = match piece {
            PathSeg::Line(straight) => vec![straight.p0, straight.p1],
            curve => {
                let mut path = BezPath::from_vec(vec![PathEl::MoveTo(curve.start())]);
                path.push(curve.as_path_el());
                flatten(&path, fine.tolerance).into_iter().flat_map(|part| part.points).collect()
            }
        };
        let at_start = (i == 0 && !closed) || is_sharp(before, piece);
        let at_end = (i + 1 == pieces.len() && !closed) || is_sharp(piece, after);
        if at_start {
            line.points.extend(halves(piece, &chords, fine.turn));
        }
        line.points.extend(chords.iter().skip(1).take(chords.len().saturating_sub(2)));
        if at_end {
            let reversed: Vec<Point> = chords.iter().rev().copied().collect();
            line.points.extend(halves(&piece.reverse(), &reversed, fine.turn).into_iter().rev());
        }
        line.points.push(piece.end());
        line.corners.resize(line.points.len(), false);
        if let Some(corner) = line.corners.last_mut() {
            *corner = true;
        }
    }
    if closed && line.points.len() > 1 {
        line.points.pop();
        line.corners.pop();
    }
    Some(line)
}

/// Points on a curve that halve its first chord again and again, the nearest to its start first, until it leaves
/// within `turn` of the curve's direction.
fn halves(curve: &PathSeg, chords: &[Point], turn: f64) -> Vec<Point> {
    let (PathSeg::Quad(_) | PathSeg::Cubic(_), [start, next, ..]) = (curve, chords) else { return Vec::new() };
    let Some(leaves) = direction(controls(curve)) else { return Vec::new() };
    let reach = start.distance(*next);
    let share = 1.0 / (chords.len() - 1) as f64;
    let mut points = Vec::new();
    let mut last = *next;
    for k in 1..=HALVINGS {
        let chord = (last - *start).normalize();
        if chord.dot(leaves) > 0.0 && chord.cross(leaves).abs() <= turn {
            break;
        }
        last = curve.eval(share / f64::from(1 << k));
        if last.is_finite() && last.distance(*start) < reach * 0.75 {
            points.push(last);
        }
    }
    points.reverse();
    points
}

/// Whether the line turns where one piece follows another.
fn is_sharp(before: &PathSeg, after: &PathSeg) -> bool {
    let [a, b, c, d] = controls(before);
    match (direction([d, c, b, a]), direction(controls(after))) {
        (Some(from), Some(to)) => (-from).dot(to) < SHARP,
        _ => true,
    }
}

/// Four control points, the middle ones doubled where there are fewer.
fn controls(piece: &PathSeg) -> [Point; 4] {
    match *piece {
        PathSeg::Line(line) => [line.p0, line.p0, line.p1, line.p1],
        PathSeg::Quad(quad) => [quad.p0, quad.p1, quad.p1, quad.p2],
        PathSeg::Cubic(cubic) => [cubic.p0, cubic.p1, cubic.p2, cubic.p3],
    }
}

/// The direction in which a curve leaves its first control point.
fn direction([start, rest @ ..]: [Point; 4]) -> Option<Vec2> {
    let next = rest.into_iter().find(|point| *point != start)?;
    Some((next - start).normalize()).filter(|direction| direction.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_between_pieces_are_corners() {
        let path = BezPath::from_svg("M0 0 H4 C4 2 6 4 8 4 Z").unwrap();
        let lines = pen_lines(&path, 0.01, 1.0);
        assert_eq!(lines.len(), 1);
        let line = &lines[0];
        assert!(line.closed && line.points.len() == line.corners.len());
        assert_eq!(line.corners.iter().filter(|corner| **corner).count(), 3);
        assert!(line.corners[1] && !line.corners[2]);
    }

    #[test]
    fn a_dot_and_a_part_after_a_close() {
        let lines = pen_lines(&BezPath::from_svg("M1 1 L1 1 M2 2 L5 2 Z L9 9").unwrap(), 0.01, 1.0);
        assert_eq!(lines.iter().map(|line| line.points.len()).collect::<Vec<_>>(), [2, 2, 2]);
        assert_eq!(lines[2].points[0], Point::new(2.0, 2.0));
    }
}
