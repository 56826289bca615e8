//! The ink of a pen drawn along a line, as rings to be united.
//!
//! By SVG's definition a stroke is the union of one rectangle for each
//! straight piece of the line, one join for each corner and one cap for each
//! open end. Built so, it is right where offset curves are not: in bends
//! tighter than half the width, at cusps, and where the line crosses itself.
//! Every ring that comes out turns the same way (positive signed area), so the
//! union is [`Region::union_of_chain`](crate::Region::union_of_chain), also after
//! any affine transform.
//!
//! Most strokes are simple, though: where each bend leaves room for the pen on its inner side, both sides of the line
//! with its caps are the outline, and it only has to be seen whether that crosses itself ([`PenLine::plain_ink`]).
//!
//! Source: W3C, *Scalable Vector Graphics 2*, section 13.7 "Computing the shape
//! of the stroke". Time and rings in proportion to the number of points.

use crate::{Polygon, Ring, plain};
use kurbo::{Affine, Point, Vec2};
use std::f64::consts::{FRAC_PI_2, PI};

/// Pieces reach this share of half the width over each corner, so that joins
/// overlap them instead of touching them along an edge, where rounding would
/// open hairline gaps. A bevel bulges by at most this share.
const LAP: f64 = 1e-3;

/// What an open end looks like (SVG's words).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PenCap {
    /// Cut square at the end point.
    Butt,
    /// A half disc about the end point.
    Round,
    /// Cut square half a width beyond the end point.
    Square,
}

/// What a corner looks like (SVG's words).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PenJoin {
    /// Prolonged edges while the mitre is at most `limit` widths long, else a bevel.
    Mitre {
        /// SVG's mitre limit.
        limit: f64,
    },
    /// Prolonged edges, cut square where the mitre would be `limit` widths long.
    MitreClip {
        /// SVG's mitre limit.
        limit: f64,
    },
    /// An arc about the corner.
    Round,
    /// A straight cut.
    Bevel,
}

/// The pen that strokes a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pen {
    /// Width of the ink, in the line's own unit.
    pub width: f64,
    /// Open ends.
    pub cap: PenCap,
    /// Corners.
    pub join: PenJoin,
    /// Farthest a chord of a round cap or join may lie inside its arc.
    pub tolerance: f64,
}

/// A line of straight pieces that may stand for a smooth curve.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PenLine {
    /// Its points. A closed line does not repeat the first one.
    pub points: Vec<Point>,
    /// For each point whether it is a corner of the drawn line, which takes the
    /// pen's join; the others lie on a curve and are rounded. Missing ones are corners.
    pub corners: Vec<bool>,
    /// Whether the last point is joined to the first.
    pub closed: bool,
}

impl PenLine {
    /// The rings of its stroke with `pen`, each convex or star-shaped and with
    /// a positive signed area. A line of no length is a dot under a round or
    /// square cap and nothing under a butt one.
    pub fn stroke(&self, pen: &Pen) -> Vec<Ring> {
        let radius = pen.width / 2.0;
        if !(radius > 0.0 && radius.is_finite()) {
            return Vec::new();
        }
        let (points, corners) = self.distinct();
        let mut rings = Vec::new();
        let [first, .., last] = points[..] else {
            if let [dot] = points[..] {
                rings.extend(dot_ring(dot, radius, pen));
            }
            return rings;
        };
        let mut steps: Vec<(Point, Point)> = points.windows(2).map(|w| (w[0], w[1])).collect();
        if self.closed {
            steps.push((last, first));
        }
        let direction = |&(a, b): &(Point, Point)| (b - a).normalize();
        for (i, step) in steps.iter().enumerate() {
            let side = turn_right(direction(step)) * radius;
            let more = direction(step) * radius * LAP;
            let from = if self.closed || i > 0 { step.0 - more } else { step.0 };
            let to = if self.closed || i + 1 < steps.len() { step.1 + more } else { step.1 };
            rings.push(Ring::new(vec![from - side, to - side, to + side, from + side]));
        }
        for (i, pair) in steps.windows(2).enumerate() {
            let corner = corners.get(i + 1).copied().unwrap_or(true);
            rings.extend(join_ring(pair[0].1, direction(&pair[0]), direction(&pair[1]), corner, radius, pen));
        }
        if let (Some(a), Some(b)) = (steps.first(), steps.last()) {
            if self.closed {
                let corner = corners.first().copied().unwrap_or(true);
                rings.extend(join_ring(a.0, direction(b), direction(a), corner, radius, pen));
            } else {
                rings.extend(cap_ring(a.0, -direction(a), radius, pen));
                rings.extend(cap_ring(b.1, direction(b), radius, pen));
            }
        }
        for ring in &mut rings {
            if ring.signed_area() < 0.0 {
                ring.points.reverse();
            }
        }
        rings.retain(|ring| ring.signed_area() > 0.0);
        rings
    }

    /// The ink of its stroke with `pen`, carried elsewhere by `to`, where that is one outline that does not come near
    /// itself, with a hole for a closed line. `None` for all others and for dots: [`PenLine::stroke`] has them.
    pub fn plain_ink(&self, pen: &Pen, to: Affine) -> Option<Polygon> {
        let mut rings = self.outline(pen)?;
        for ring in &mut rings {
            ring.points.iter_mut().for_each(|point| *point = to * *point);
        }
        if rings.first()?.signed_area() < 0.0 {
            rings.iter_mut().for_each(|ring| ring.points.reverse());
        }
        plain::as_polygon(&rings)
    }

    /// The outline of its stroke as it is drawn along both sides; whether it crosses itself is not looked at.
    /// The outer ring first, then that of the hole of a closed line, turning the other way. `None` where a bend has no
    /// room for the pen on its inner side, and for dots.
    fn outline(&self, pen: &Pen) -> Option<Vec<Ring>> {
        let radius = pen.width / 2.0;
        let (points, corners) = self.distinct();
        let ([first, .., last], true) = (&points[..], radius > 0.0 && radius.is_finite()) else { return None };
        let pieces = points.windows(2).map(|pair| pair[1] - pair[0]).chain(self.closed.then(|| *first - *last));
        let pieces: Vec<(Vec2, f64)> = pieces.map(|piece| (piece.normalize(), piece.hypot())).collect();
        let sides = Sides { points: &points, corners: &corners, pieces: &pieces, radius, closed: self.closed };
        let [left, mut right] = [sides.draw(-1.0, pen)?, sides.draw(1.0, pen)?];
        if !self.closed {
            let (out, end) = (pieces.first()?.0, pieces.last()?.0);
            right.reverse();
            let parts = [left, cap_points(*last, end, radius, pen), right, cap_points(*first, -out, radius, pen)];
            return Some(vec![Ring::new(parts.concat())]);
        }
        let (mut outer, mut hole) = (Ring::new(left), Ring::new(right));
        if outer.signed_area().abs() < hole.signed_area().abs() {
            std::mem::swap(&mut outer, &mut hole);
        }
        // Both are drawn in the direction of the line, unless the hole is turned inside out.
        let is_sound = outer.signed_area() * hole.signed_area() > 0.0;
        hole.points.reverse();
        is_sound.then(|| vec![outer, hole])
    }

    /// Its points without repeats, and whether each is a corner.
    fn distinct(&self) -> (Vec<Point>, Vec<bool>) {
        let mut points: Vec<Point> = Vec::with_capacity(self.points.len());
        let mut corners = Vec::with_capacity(self.points.len());
        for (i, &point) in self.points.iter().enumerate() {
            let corner = self.corners.get(i).copied().unwrap_or(true);
            if points.last().is_some_and(|last| same(*last, point)) {
                if let Some(last) = corners.last_mut() {
                    *last |= corner;
                }
            } else if point.is_finite() {
                points.push(point);
                corners.push(corner);
            }
        }
        while self.closed && points.len() > 1 && points.last().zip(points.first()).is_some_and(|(a, b)| same(*a, *b)) {
            points.pop();
            let corner = corners.pop().unwrap_or(true);
            if let Some(first) = corners.first_mut() {
                *first |= corner;
            }
        }
        (points, corners)
    }
}

/// A line whose sides are drawn.
struct Sides<'a> {
    points: &'a [Point],
    corners: &'a [bool],
    /// Direction and length of the pieces between the points, the closing one last.
    pieces: &'a [(Vec2, f64)],
    radius: f64,
    closed: bool,
}

impl Sides<'_> {
    /// The right (1) or the left (-1) side, in the direction of the line; that of an open one without its ends.
    fn draw(&self, side: f64, pen: &Pen) -> Option<Vec<Point>> {
        let count = self.pieces.len();
        let beside = |direction: Vec2| turn_right(direction) * (self.radius * side);
        // What the bend at the beginning of each piece cuts off it.
        let mut trims = vec![0.0; count + 1];
        let mut points = Vec::with_capacity(2 * self.points.len());
        for (i, &corner) in self.points.iter().enumerate().skip(usize::from(!self.closed)) {
            let before = self.pieces[(i + count - 1) % count].0;
            let Some(&(after, _)) = self.pieces.get(i) else { break };
            match Bend::new(before, after) {
                None => points.push(corner + beside(after)),
                Some(bend) if bend.outer * side > 0.0 => {
                    points.extend(bend.join(corner, self.corners.get(i).copied().unwrap_or(true), self.radius, pen));
                }
                Some(bend) => {
                    trims[i] = bend.trim(self.radius);
                    let (from, to) = (beside(before), beside(after));
                    points.push(corner + (from + to) * (1.0 / (1.0 + before.dot(after)).max(1e-12)));
                }
            }
        }
        if self.closed {
            trims[count] = trims[0];
        }
        let has_room = |(ends, piece): (&[f64], &(Vec2, f64))| ends[0] + ends[1] < piece.1 * ROOM;
        (trims.windows(2).zip(self.pieces).all(has_room) && points.iter().all(|p| p.is_finite())).then_some(points)
    }
}

/// Bends may cut off this share of a piece.
const ROOM: f64 = 0.999;

/// Whether there is no direction from one point to the other.
fn same(a: Point, b: Point) -> bool {
    let step = b - a;
    let reach = a.to_vec2().hypot().max(b.to_vec2().hypot());
    step.hypot() <= reach * 1e-14 || !step.normalize().is_finite()
}

fn turn_right(v: Vec2) -> Vec2 {
    Vec2::new(-v.y, v.x)
}

/// Points of the arc about `centre` from `start` (a spoke) through `angle` radians, ends included.
fn arc(centre: Point, start: Vec2, angle: f64, tolerance: f64) -> Vec<Point> {
    let radius = start.hypot();
    let step = 2.0 * (1.0 - (tolerance / radius).clamp(1e-9, 0.5)).acos();
    let count = (angle.abs() / step).ceil().clamp(1.0, 100_000.0);
    let at = |i: f64| {
        let (sin, cos) = (angle * i / count).sin_cos();
        centre + Vec2::new(start.x * cos - start.y * sin, start.x * sin + start.y * cos)
    };
    (0..=count as usize).map(|i| at(i as f64)).collect()
}

fn dot_ring(centre: Point, radius: f64, pen: &Pen) -> Option<Ring> {
    match pen.cap {
        PenCap::Butt => None,
        PenCap::Square => {
            let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
            Some(Ring::new(corners.map(|(x, y)| centre + Vec2::new(x, y) * radius).to_vec()))
        }
        PenCap::Round => {
            let mut points = arc(centre, Vec2::new(radius, 0.0), 2.0 * PI, pen.tolerance);
            points.pop();
            Some(Ring::new(points))
        }
    }
}

/// The cap at `end`, where the line leaves in direction `out`.
fn cap_ring(end: Point, out: Vec2, radius: f64, pen: &Pen) -> Option<Ring> {
    Some(Ring::new(cap_points(end, out, radius, pen))).filter(|ring| ring.points.len() > 2)
}

/// The outline of the cap at `end` from the left side of the line to its right.
fn cap_points(end: Point, out: Vec2, radius: f64, pen: &Pen) -> Vec<Point> {
    let side = turn_right(out) * radius;
    match pen.cap {
        PenCap::Butt => vec![end - side, end + side],
        PenCap::Square => {
            let far = out * radius;
            vec![end - side, end - side + far, end + side + far, end + side]
        }
        PenCap::Round => arc(end, -side, PI, pen.tolerance),
    }
}

/// The join at `corner` between a piece of direction `before` and one of direction `after`.
fn join_ring(corner: Point, before: Vec2, after: Vec2, drawn: bool, radius: f64, pen: &Pen) -> Option<Ring> {
    let bend = Bend::new(before, after)?;
    let mut points = vec![corner];
    points.extend(bend.join(corner, drawn, radius, pen));
    points.iter().all(|p| p.is_finite()).then(|| Ring::new(points))
}

/// How a line turns at a corner.
#[derive(Clone, Copy, Debug)]
struct Bend {
    before: Vec2,
    after: Vec2,
    /// The turn, radians.
    angle: f64,
    /// On which side the edges part: 1 to the right of the line, -1 to its left.
    outer: f64,
}

impl Bend {
    /// The turn from one direction to another; `None` for none.
    fn new(before: Vec2, after: Vec2) -> Option<Bend> {
        let angle = before.cross(after).atan2(before.dot(after));
        // The outer side lies opposite to the turn.
        (angle.abs() >= 1e-9).then_some(Bend { before, after, angle, outer: if angle > 0.0 { -1.0 } else { 1.0 } })
    }

    /// The outer side of a join, from the end of the one piece to the beginning of the other.
    fn join(&self, corner: Point, drawn: bool, radius: f64, pen: &Pen) -> Vec<Point> {
        let from = turn_right(self.before) * (radius * self.outer);
        let to = turn_right(self.after) * (radius * self.outer);
        let half = self.angle.abs() / 2.0;
        // SVG: a mitre is 1 / sin(inner angle / 2) widths long, and the inner angle is π less the turn.
        let reach = 1.0 / (FRAC_PI_2 - half).sin().max(1e-12);
        let tip = |reach: f64| (from + to).normalize() * (radius * reach);
        match if drawn { pen.join } else { PenJoin::Round } {
            PenJoin::Round => arc(corner, from, self.angle, pen.tolerance),
            PenJoin::Mitre { limit } | PenJoin::MitreClip { limit } if reach <= limit => {
                vec![corner + from, corner + tip(reach), corner + to]
            }
            PenJoin::MitreClip { limit } => clipped_mitre(corner, from, to, self.before, self.after, radius * limit),
            PenJoin::Mitre { .. } | PenJoin::Bevel => vec![corner + from, corner + to],
        }
    }

    /// How much of both pieces the inner side of the bend cuts off.
    fn trim(&self, radius: f64) -> f64 {
        radius * (self.angle.abs() / 2.0).tan()
    }
}

/// The two edges prolonged up to the line square to the bisector at `distance` from the corner.
fn clipped_mitre(corner: Point, from: Vec2, to: Vec2, before: Vec2, after: Vec2, distance: f64) -> Vec<Point> {
    let middle = (before - after).normalize();
    let along = |start: Vec2, direction: Vec2| {
        let speed = direction.dot(middle);
        let length = if speed.abs() < 1e-12 { 0.0 } else { (distance - start.dot(middle)) / speed };
        corner + start + direction * length.max(0.0)
    };
    vec![corner + from, along(from, before), along(to, -after), corner + to]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::Random;
    use crate::{FillRule, Region};

    fn area(points: &[(f64, f64)], closed: bool, width: f64, cap: PenCap, join: PenJoin) -> f64 {
        let points = points.iter().map(|&p| Point::from(p)).collect();
        let line = PenLine { points, corners: Vec::new(), closed };
        let rings = line.stroke(&Pen { width, cap, join, tolerance: 1e-4 });
        assert!(rings.iter().all(|ring| ring.signed_area() > 0.0));
        Region::union_of_chain(&rings).area()
    }

    fn near(found: f64, expected: f64) {
        assert!((found - expected).abs() < 2e-3, "{found} instead of {expected}");
    }

    const BAR: [(f64, f64); 2] = [(0.0, 0.0), (10.0, 0.0)];
    const RIGHT_ANGLE: [(f64, f64); 3] = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)];
    const MITRE: PenJoin = PenJoin::Mitre { limit: 4.0 };

    #[test]
    fn caps_of_a_bar() {
        near(area(&BAR, false, 2.0, PenCap::Butt, MITRE), 20.0);
        near(area(&BAR, false, 2.0, PenCap::Square, MITRE), 24.0);
        near(area(&BAR, false, 2.0, PenCap::Round, MITRE), 20.0 + PI);
    }

    #[test]
    fn joins_of_a_right_angle() {
        // Two 10 x 2 bars share a 1 x 1 square at the corner; the outer square is the join's.
        near(area(&RIGHT_ANGLE, false, 2.0, PenCap::Butt, PenJoin::Bevel), 39.0 + 0.5);
        near(area(&RIGHT_ANGLE, false, 2.0, PenCap::Butt, MITRE), 39.0 + 1.0);
        near(area(&RIGHT_ANGLE, false, 2.0, PenCap::Butt, PenJoin::Round), 39.0 + PI / 4.0);
        near(area(&RIGHT_ANGLE, false, 2.0, PenCap::Butt, PenJoin::Mitre { limit: 1.4 }), 39.5);
    }

    #[test]
    fn a_clipped_mitre_is_cut_square_to_the_bisector() {
        // The mitre of a right angle reaches √2 half widths; cut at 1.2 it loses a corner
        // of height √2 - 1.2 and base twice that.
        let cut = (2f64.sqrt() - 1.2).powi(2);
        let clip = PenJoin::MitreClip { limit: 1.2 };
        near(area(&RIGHT_ANGLE, false, 2.0, PenCap::Butt, clip), 40.0 - cut);
    }

    #[test]
    fn a_closed_square() {
        let square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)];
        near(area(&square, true, 2.0, PenCap::Butt, MITRE), 144.0 - 64.0);
    }

    #[test]
    fn a_dot_shows_under_round_and_square_caps() {
        for closed in [false, true] {
            let dot = [(3.0, 3.0), (3.0, 3.0)];
            near(area(&dot, closed, 2.0, PenCap::Butt, MITRE), 0.0);
            near(area(&dot, closed, 2.0, PenCap::Round, MITRE), PI);
            near(area(&dot, closed, 2.0, PenCap::Square, MITRE), 4.0);
        }
    }

    #[test]
    fn a_circle_smaller_than_half_the_width_is_a_disc() {
        let points = (0..400).map(|i| {
            let (sin, cos) = (f64::from(i) / 400.0 * 2.0 * PI).sin_cos();
            (cos, sin)
        });
        let points: Vec<_> = points.collect();
        near(area(&points, true, 4.0, PenCap::Butt, PenJoin::Round), PI * 9.0);
    }

    #[test]
    fn a_line_that_turns_back_has_a_round_end_there() {
        let back = [(0.0, 0.0), (10.0, 0.0), (5.0, 0.0)];
        near(area(&back, false, 2.0, PenCap::Butt, PenJoin::Round), 20.0 + PI / 2.0);
        near(area(&back, false, 2.0, PenCap::Butt, MITRE), 20.0);
    }

    #[test]
    fn a_plain_outline_is_the_union_of_its_pieces() {
        let (mut plain, mut others) = (0, 0);
        for seed in 0..3_000 {
            let mut random = Random(seed);
            let count = 2 + random.below(7);
            let smooth = random.below(2) == 0;
            let place = |random: &mut Random| Point::new(random.between(-10.0, 10.0), random.between(-10.0, 10.0));
            let points: Vec<Point> = (0..count).map(|_| place(&mut random)).collect();
            let corners = (0..count).map(|_| !smooth).collect();
            let line = PenLine { points, corners, closed: random.below(3) == 0 };
            let cap = [PenCap::Butt, PenCap::Round, PenCap::Square][random.below(3)];
            let join = [MITRE, PenJoin::Round, PenJoin::Bevel, PenJoin::MitreClip { limit: 1.5 }][random.below(4)];
            let pen = Pen { width: random.between(0.1, 3.0), cap, join, tolerance: 1e-3 };
            let to = [Affine::IDENTITY, Affine::scale_non_uniform(-1.0, 2.0)][random.below(2)];
            let Some(ink) = line.plain_ink(&pen, to) else {
                others += 1;
                continue;
            };
            plain += 1;
            let moved = |ring: &Ring| Ring::new(ring.points.iter().map(|point| to * *point).collect());
            let rings: Vec<Ring> = line.stroke(&pen).iter().map(moved).collect();
            let (ink, union) = (Region::from(ink), Region::from_rings(&rings, FillRule::NonZero));
            let differ = ink.difference(&union).area() + union.difference(&ink).area();
            // What pieces reach over corners is all that differs.
            assert!(
                differ < count as f64 * 4.0 * LAP * pen.width * pen.width + 1e-6,
                "{seed}: {differ} {line:?} {pen:?}"
            );
        }
        assert!(plain > 500 && others > 500, "{plain} {others}");
    }

    #[test]
    fn no_width_and_no_numbers_make_no_rings() {
        assert!(area(&BAR, false, 0.0, PenCap::Round, MITRE).abs() < 1e-12);
        assert!(area(&BAR, false, f64::NAN, PenCap::Round, MITRE).abs() < 1e-12);
        assert!(area(&[(f64::NAN, 0.0)], false, 1.0, PenCap::Butt, MITRE).abs() < 1e-12);
    }
}
