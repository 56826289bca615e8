//! Curves as chains of straight edges.
//!
//! Each quadratic or cubic is cut at equal steps of its parameter, as many as
//! Wang's bound asks for (`lyon_geom`; G. Wang, "The subdivision method for
//! finding the intersection between two Bézier curves or surfaces", 1984).
//! Unlike methods that estimate, that bound is a guarantee: every point of the
//! curve is within the tolerance of the point of its chord at the same
//! parameter, so the one-sided Hausdorff distance from curve to chords, and the
//! Fréchet distance, are within it as well. Chords end on the curve.
//!
//! A small circle would come out as a pentagon then, true to the tolerance, but
//! its corners make bad normals, and mitred borders enlarge them. So a chord
//! never turns by more than [`MAX_TURN`] from the start of its arc to the end,
//! unless it would become shorter than the tolerance.
//!
//! Points that are no numbers are left out together with their piece of curve.
//! Linear in the number of points that come out.

use crate::Ring;
use kurbo::{BezPath, CubicBez, ParamCurve, ParamCurveDeriv, PathEl, PathSeg, Point, QuadBez, Vec2};
use lyon_geom::{CubicBezierSegment, LineSegment, QuadraticBezierSegment};
use std::f64::consts::PI;
use std::ops::Range;

/// How far curves may lie from their chords unless told otherwise, mm.
pub const FLATTEN_TOLERANCE: f64 = 0.01;

/// How far the tangent turns along one chord at most, radians.
pub const MAX_TURN: f64 = PI / 12.0;

/// One part of a path as straight edges.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Polyline {
    /// Its points, mm; neighbours differ. A closed one does not repeat its first point.
    pub points: Vec<Point>,
    /// Whether the last point is joined to the first.
    pub closed: bool,
}

impl Polyline {
    /// Length, mm, the closing edge included.
    pub fn length(&self) -> f64 {
        let open: f64 = self.points.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
        match (self.points.first(), self.points.last()) {
            (Some(first), Some(last)) if self.closed => open + last.distance(*first),
            _ => open,
        }
    }
}

/// The parts of `path` as chains of straight edges within `tolerance` mm of it.
///
/// A part of no length gives a single point (a stroke's dot). Tolerances below
/// a billionth of the curve's size are raised to that.
pub fn flatten(path: &BezPath, tolerance: f64) -> Vec<Polyline> {
    let mut chain = Chain { parts: Vec::new(), part: Polyline::default(), tolerance };
    let mut start = Point::ZERO;
    for element in path.elements() {
        let from = chain.part.points.last().copied().unwrap_or(start);
        match *element {
            PathEl::MoveTo(to) => {
                chain.finish();
                if to.is_finite() {
                    start = to;
                    chain.part.points.push(to);
                }
            }
            PathEl::LineTo(to) => chain.line(from, to),
            PathEl::QuadTo(control, to) => chain.quad(QuadBez::new(from, control, to)),
            PathEl::CurveTo(a, b, to) => chain.cubic(CubicBez::new(from, a, b, to)),
            PathEl::ClosePath => {
                chain.part.closed = true;
                start = chain.part.points.first().copied().unwrap_or(start);
                chain.finish();
            }
        }
    }
    chain.finish();
    chain.parts
}

/// About how many straight pieces [`flatten`] makes of `path`, by Wang's bound, without making them. Curves that are no
/// numbers are left out, as they are there.
pub fn chords(path: &BezPath, tolerance: f64) -> f64 {
    let pieces = path.segments().map(|segment| {
        // How far the control points bend, and the square of the pieces for each mm of it.
        let (bend, share, within) = match segment {
            PathSeg::Line(_) => return 1.0,
            PathSeg::Quad(q) => {
                ((q.p0 - q.p1 + (q.p2 - q.p1)).hypot(), 0.25, tolerance_for(tolerance, &[q.p0, q.p1, q.p2]))
            }
            PathSeg::Cubic(c) => {
                let bend = (c.p0 - c.p1 + (c.p2 - c.p1)).hypot().max((c.p1 - c.p2 + (c.p3 - c.p2)).hypot());
                (bend, 0.75, tolerance_for(tolerance, &[c.p0, c.p1, c.p2, c.p3]))
            }
        };
        (bend * share / within).sqrt().max(1.0)
    });
    pieces.filter(|pieces| pieces.is_finite()).sum()
}

/// What curves with these controls are flattened within, mm: of huge ones no more than numbers can tell apart.
fn tolerance_for(tolerance: f64, controls: &[Point]) -> f64 {
    let size = controls.windows(2).map(|pair| pair[0].distance(pair[1])).sum::<f64>();
    tolerance.max(size * 1e-9).max(1e-12)
}

/// The parts of `path` as rings, open ones closed as fills close them; parts
/// of fewer than three points enclose nothing and are left out.
pub fn flatten_to_rings(path: &BezPath, tolerance: f64) -> Vec<Ring> {
    let parts = flatten(path, tolerance).into_iter().map(|mut part| {
        part.closed = true;
        part.drop_repeated_end();
        part
    });
    parts.filter(|part| part.points.len() > 2).map(|part| Ring::new(part.points)).collect()
}

impl Polyline {
    fn drop_repeated_end(&mut self) {
        while self.closed && self.points.len() > 1 && self.points.first() == self.points.last() {
            self.points.pop();
        }
    }
}

/// The parts so far and the one being drawn.
struct Chain {
    parts: Vec<Polyline>,
    part: Polyline,
    tolerance: f64,
}

impl Chain {
    fn finish(&mut self) {
        let mut part = std::mem::take(&mut self.part);
        part.drop_repeated_end();
        if !part.points.is_empty() {
            self.parts.push(part);
        }
    }

    fn push(&mut self, point: Point) {
        if self.part.points.last() != Some(&point) {
            self.part.points.push(point);
        }
    }

    fn line(&mut self, from: Point, to: Point) {
        if to.is_finite() {
            self.push(from);
            self.push(to);
        }
    }

    fn quad(&mut self, curve: QuadBez) {
        if !curve.is_finite() {
            return;
        }
        self.push(curve.p0);
        let tolerance = tolerance_for(self.tolerance, &[curve.p0, curve.p1, curve.p2]);
        let lyon = QuadraticBezierSegment { from: lyon(curve.p0), ctrl: lyon(curve.p1), to: lyon(curve.p2) };
        let slope = curve.deriv();
        lyon.for_each_flattened_with_t(tolerance, &mut |chord, range| {
            self.chord(chord, range, tolerance, |t| slope.eval(t).to_vec2(), |t| curve.eval(t));
        });
    }

    fn cubic(&mut self, curve: CubicBez) {
        if !curve.is_finite() {
            return;
        }
        self.push(curve.p0);
        let tolerance = tolerance_for(self.tolerance, &[curve.p0, curve.p1, curve.p2, curve.p3]);
        let lyon = CubicBezierSegment {
            from: lyon(curve.p0),
            ctrl1: lyon(curve.p1),
            ctrl2: lyon(curve.p2),
            to: lyon(curve.p3),
        };
        let slope = curve.deriv();
        lyon.for_each_flattened_with_t(tolerance, &mut |chord, range| {
            self.chord(chord, range, tolerance, |t| slope.eval(t).to_vec2(), |t| curve.eval(t));
        });
    }

    /// A chord that holds the tolerance, cut further where its arc turns too far.
    fn chord(
        &mut self,
        chord: &LineSegment<f64>,
        range: Range<f64>,
        tolerance: f64,
        slope: impl Fn(f64) -> Vec2,
        eval: impl Fn(f64) -> Point,
    ) {
        let (from, to) = (slope(range.start), slope(range.end));
        let turn = from.cross(to).atan2(from.dot(to)).abs();
        let by_turn = (turn / MAX_TURN - 1e-9).ceil();
        let by_length = (chord.length() / tolerance).floor();
        let steps = by_turn.min(by_length).max(1.0) as usize;
        for step in 1..steps {
            self.push(eval(range.start + (range.end - range.start) * step as f64 / steps as f64));
        }
        self.push(Point::new(chord.to.x, chord.to.y));
    }
}

fn lyon(point: Point) -> lyon_geom::Point<f64> {
    lyon_geom::Point::new(point.x, point.y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{Circle, Shape};
    use proptest::prelude::*;

    #[test]
    fn a_square_keeps_its_corners_once() {
        let path = BezPath::from_svg("M0 0 H4 V4 H0 V0 Z").unwrap();
        let parts = flatten(&path, FLATTEN_TOLERANCE);
        assert_eq!(parts.len(), 1);
        assert!(parts[0].closed && parts[0].points.len() == 4);
    }

    #[test]
    fn a_part_goes_on_where_a_closed_one_began() {
        let path = BezPath::from_svg("M1 1 H4 V4 Z L9 9").unwrap();
        let parts = flatten(&path, FLATTEN_TOLERANCE);
        assert_eq!(parts[1].points, [Point::new(1.0, 1.0), Point::new(9.0, 9.0)]);
        assert!(!parts[1].closed);
    }

    #[test]
    fn a_dot_stays_a_point_and_is_no_ring() {
        let path = BezPath::from_svg("M1 1 Z M5 5 L5 5 M7 7").unwrap();
        let parts = flatten(&path, FLATTEN_TOLERANCE);
        assert_eq!(parts.iter().map(|part| part.points.len()).collect::<Vec<_>>(), [1, 1, 1]);
        assert!(flatten_to_rings(&path, FLATTEN_TOLERANCE).is_empty());
    }

    #[test]
    fn a_small_circle_is_no_pentagon() {
        let ring = &flatten_to_rings(&Circle::new((0.0, 0.0), 0.2).to_path(1e-6), FLATTEN_TOLERANCE)[0];
        assert!(ring.points.len() >= 20, "{}", ring.points.len());
    }

    #[test]
    fn what_is_no_number_is_left_out() {
        let mut path = BezPath::new();
        path.move_to((0.0, 0.0));
        path.line_to((f64::NAN, 1.0));
        path.curve_to((1.0, 0.0), (f64::INFINITY, 0.0), (3.0, 0.0));
        path.line_to((2.0, 2.0));
        assert_eq!(flatten(&path, 0.01)[0].points, [Point::new(0.0, 0.0), Point::new(2.0, 2.0)]);
    }

    #[test]
    fn a_huge_curve_does_not_explode() {
        let mut path = BezPath::new();
        path.move_to((0.0, 0.0));
        path.curve_to((1e200, 1e200), (-1e200, 1e200), (0.0, -1e200));
        assert!(flatten(&path, 1e-12)[0].points.len() < 200_000);
    }

    /// Farthest a dense sample of the curve lies from the chords.
    fn deviation(curve: CubicBez, points: &[Point]) -> f64 {
        let near = |p: Point| {
            let to_chord = |pair: &[Point]| crate::closest_on_segment(p, pair[0], pair[1]).distance(p);
            points.windows(2).map(to_chord).fold(f64::INFINITY, f64::min)
        };
        (0..=2000).map(|i| near(curve.eval(i as f64 / 2000.0))).fold(0.0, f64::max)
    }

    fn point() -> impl Strategy<Value = Point> {
        (-30.0..30.0, -30.0..30.0).prop_map(Point::from)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        #[test]
        fn curves_lie_within_the_tolerance_of_their_chords(
            p0 in point(), p1 in point(), p2 in point(), p3 in point(),
            tolerance in prop_oneof![Just(0.01), Just(0.1), Just(0.002)],
        ) {
            let curve = CubicBez::new(p0, p1, p2, p3);
            let mut path = BezPath::new();
            path.move_to(p0);
            path.curve_to(p1, p2, p3);
            let part = &flatten(&path, tolerance)[0];
            let deviation = deviation(curve, &part.points);
            prop_assert!(deviation <= tolerance * (1.0 + 1e-9), "{deviation}");
            prop_assert_eq!(part.points.last(), Some(&p3));
        }
    }
}
