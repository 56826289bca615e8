//! Paths of the resolved tree as straight pieces in millimetres.

use kurbo::{Affine, BezPath, PathEl, Point};
use laidwork_geometry::{PenLine, Ring};
use usvg::tiny_skia_path::{self, PathSegment};

/// No curve is flattened finer than this share of its own extent, so that
/// one that reaches to the moon does not fall into millions of pieces.
const FINEST_SHARE: f64 = 1e-7;

/// An affine of the resolved tree in double precision.
pub(crate) fn affine(t: usvg::Transform) -> Affine {
    Affine::new([t.sx, t.ky, t.kx, t.sy, t.tx, t.ty].map(f64::from))
}

/// A path of the resolved tree in double precision, in its own coordinates.
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

/// The subpaths of `path` as straight pieces that stray from it by at most
/// `tolerance`, or by [`FINEST_SHARE`] of its extent where that is more.
pub(crate) fn flatten(path: &BezPath, tolerance: f64) -> Vec<PenLine> {
    let extent = path.control_box();
    let tolerance = tolerance.max(extent.width().max(extent.height()) * FINEST_SHARE);
    let mut lines: Vec<PenLine> = Vec::new();
    let mut line = PenLine::default();
    let mut start = Point::ZERO;
    let mut last = Point::ZERO;
    for &element in path.elements() {
        if let PathEl::MoveTo(p) = element {
            finish(&mut line, &mut lines);
            (start, last) = (p, p);
            continue;
        }
        if line.points.is_empty() {
            line.points.push(last);
            line.corners.push(true);
        }
        if let Some(p) = element.end_point() {
            kurbo::flatten([PathEl::MoveTo(last), element], tolerance, |piece| {
                if let PathEl::LineTo(p) = piece {
                    line.points.push(p);
                    line.corners.push(false);
                }
            });
            last = p;
            if let Some(corner) = line.corners.last_mut() {
                *corner = true;
            }
        } else {
            line.closed = true;
            finish(&mut line, &mut lines);
            last = start;
        }
    }
    finish(&mut line, &mut lines);
    lines
}

fn finish(line: &mut PenLine, lines: &mut Vec<PenLine>) {
    let line = std::mem::take(line);
    if !line.points.is_empty() {
        lines.push(line);
    }
}

/// The rings that a fill of `path` has: every subpath, closed.
pub(crate) fn rings(path: &BezPath, tolerance: f64) -> Vec<Ring> {
    flatten(path, tolerance).into_iter().map(|line| Ring::new(line.points)).collect()
}
