//! The threads of a piece: its top stitches joined where the thread goes on.
//!
//! A row of a fill is many stitches and one thread, and so is a split thread of a
//! column. A thread ends where the way turns by more than [`TURN`], at travel, jump
//! or cut. What is shorter than [`SHORTEST`] only leads from one to the next.

use crate::Target;
use crate::field::Field;
use laidwork_plan::{PassKind, Plan, Point, Vec2};

/// Cosine of the turn that ends a thread, 40°: zigzags turn by more than 90°, bent rows by far less.
const TURN: f64 = 0.766_044_443_118_978;

/// Shorter ones are no threads, mm.
const SHORTEST: f64 = 0.5;

/// One thread: points, mm, and how far along it each lies.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    pub points: Vec<Point>,
    pub along: Vec<f64>,
}

impl Line {
    fn new(points: Vec<Point>) -> Option<Line> {
        let mut sum = 0.0;
        let mut along = Vec::with_capacity(points.len());
        let mut last = *points.first()?;
        for point in &points {
            sum += point.distance(last);
            along.push(sum);
            last = *point;
        }
        (sum >= SHORTEST && sum.is_finite()).then_some(Line { points, along })
    }

    /// Its length, mm.
    pub fn length(&self) -> f64 {
        self.along.last().copied().unwrap_or(0.0)
    }

    /// Its two ends, and which way is out there.
    pub fn ends(&self) -> [(Point, Vec2); 2] {
        let (Some(first), Some(last)) = (self.points.first(), self.points.last()) else { return Default::default() };
        let second = self.points.get(1).unwrap_or(first);
        let before = self.points.iter().rev().nth(1).unwrap_or(last);
        [(*first, unit(*first - *second)), (*last, unit(*last - *before))]
    }

    /// Which way the thread runs at a point.
    fn way(&self, index: usize) -> Vec2 {
        let before = index.checked_sub(1).and_then(|before| self.points.get(before));
        let (here, after) = (self.points.get(index), self.points.get(index + 1));
        match (before.or(here), after.or(here)) {
            (Some(from), Some(to)) => unit(*to - *from),
            _ => Vec2::ZERO,
        }
    }

    /// How its own pull moves each of its points: the ends towards the middle, those between in proportion.
    pub fn own_moves(&self, target: &Target, grain: Vec2) -> Vec<Vec2> {
        let length = self.length();
        (0..self.points.len())
            .map(|index| {
                let way = self.way(index);
                let along = 2.0 * way.dot(grain) * way.dot(grain) - 1.0;
                let each = target.cloth.drawn_in(length, along, &target.sewing);
                let share = 1.0 - 2.0 * self.along.get(index).copied().unwrap_or(0.0) / length;
                way * (each * share)
            })
            .collect()
    }

    /// Where it comes to lie: moved by its own pull and by what is sewn later.
    pub fn moved(&self, target: &Target, grain: Vec2, later: &Field) -> Line {
        let own = self.own_moves(target, grain);
        let points = self.points.iter().zip(own).map(|(point, own)| *point + own + later.at(*point)).collect();
        Line { points, along: self.along.clone() }
    }
}

fn unit(way: Vec2) -> Vec2 {
    let length = way.hypot();
    if length > 0.0 { way / length } else { Vec2::ZERO }
}

/// The threads of each piece of a plan.
pub fn of_pieces(plan: &Plan) -> Vec<Vec<Line>> {
    let mut pieces = vec![Vec::new(); plan.pieces.len()];
    let mut points: Vec<Point> = Vec::new();
    let mut owner = 0;
    let mut finish = |owner: usize, points: &mut Vec<Point>| {
        if let Some(lines) = pieces.get_mut(owner) {
            lines.extend(Line::new(std::mem::take(points)));
        }
    };
    plan.for_each_segment(|segment| {
        if segment.kind != PassKind::Top || segment.float || !segment.from.is_finite() || !segment.to.is_finite() {
            finish(owner, &mut points);
            return;
        }
        let way = unit(segment.to - segment.from);
        let goes_on = segment.piece == owner
            && points.last() == Some(&segment.from)
            && points.len() > 1
            && unit(segment.from - points[points.len() - 2]).dot(way) >= TURN;
        if !goes_on {
            finish(owner, &mut points);
            points.push(segment.from);
        }
        owner = segment.piece;
        points.push(segment.to);
    });
    finish(owner, &mut points);
    pieces
}
