//! Straight rows: cutting, compensation, and the walk turned into needle points.

use crate::chain::{Chain, SHORTEST};
use crate::pattern::Pattern;
use crate::travel::{CLEAR, way_through};
use kurbo::Point;
use laidwork_geometry::{Corridor, Frame, Polygon, RowGraph, RowStep, RowWalk, Side, WalkEnds, walk_rows};
use laidwork_plan::PassKind;
use laidwork_run::Ends;

/// Gaps in a row narrower than this are sewn over: no thread could show them, mm.
pub(crate) const BRIDGE: f64 = 0.2;

/// Longest stitch of a travel, mm.
pub(crate) const TRAVEL_STITCH: f64 = 2.5;

/// More rows than any hoop holds.
const MOST_ROWS: f64 = 1e6;

/// How far a travel under a row keeps to the side where rows are laid later, mm.
const ASIDE: f64 = 0.05;

/// Straight rows over a polygon.
pub(crate) struct Straight {
    pub(crate) frame: Frame,
    pub(crate) cuts: Vec<f64>,
    pub(crate) rows: RowGraph,
    spacing: f64,
    /// How far each span end can still be moved out for a turn, mm.
    pub(crate) slack: Vec<[f32; 2]>,
}

impl Straight {
    /// Rows as even as can be, the outermost half a spacing inside: `spacing(t)`
    /// mm apart at the part `t` (0 to 1) of the way across the shape.
    pub(crate) fn new(polygon: &Polygon, frame: Frame, spacing: impl Fn(f64) -> f64) -> Option<Straight> {
        let (low, high) = frame.extent(polygon)?;
        let height = high - low;
        // How many rows fit, by the mean of 1 / spacing over many parts; then each cut where its share is reached.
        const PARTS: usize = 256;
        let middle = |i: usize| (i as f64 + 0.5) / PARTS as f64;
        let mut sums = vec![0.0];
        for i in 0..PARTS {
            sums.push(sums[i] + height / PARTS as f64 / spacing(middle(i)));
        }
        // A last row that would be nearly empty is spread over the others.
        let count = (sums[PARTS] - 0.05).ceil().clamp(1.0, MOST_ROWS) as usize;
        let mut cuts = Vec::with_capacity(count + 1);
        let mut part = 0;
        for i in 0..=count {
            let share = sums[PARTS] * i as f64 / count as f64;
            while part + 1 < PARTS && sums[part + 1] < share {
                part += 1;
            }
            let within =
                if sums[part + 1] > sums[part] { (share - sums[part]) / (sums[part + 1] - sums[part]) } else { 0.0 };
            cuts.push(low + height * (part as f64 + within.clamp(0.0, 1.0)) / PARTS as f64);
        }
        let step = height / count as f64;
        let rows = RowGraph::cut(polygon, frame, &cuts, BRIDGE);
        Some(Straight { frame, cuts, slack: vec![[0.0; 2]; rows.spans.len()], rows, spacing: step })
    }

    pub(crate) fn line(&self, row: u32) -> f64 {
        let row = row as usize;
        (self.cuts[row] + self.cuts[row + 1]) / 2.0
    }

    fn place(&self, span: u32, u: f64) -> Point {
        self.frame.from_frame(Point::new(u, self.line(self.rows.spans[span as usize].row)))
    }

    /// The span nearest to a point, and the place along it.
    pub(crate) fn nearest(&self, point: Point) -> Option<(u32, f64)> {
        let uv = self.frame.to_frame(point);
        let away = |span: &laidwork_geometry::RowSpan| {
            let u = uv.x.clamp(span.from, span.to);
            (uv - Point::new(u, self.line(span.row))).hypot2()
        };
        let nearest = self.rows.spans.iter().enumerate().min_by(|a, b| away(a.1).total_cmp(&away(b.1)))?;
        Some((nearest.0 as u32, uv.x))
    }

    pub(crate) fn walk(&self, ends: Ends) -> RowWalk {
        let at = |point: Option<Point>| point.filter(|p| p.is_finite()).and_then(|p| self.nearest(p));
        walk_rows(&self.rows, self.spacing, WalkEnds { start: at(ends.start), end: at(ends.end) })
    }

    /// Where a walk begins.
    pub(crate) fn start_of(&self, walk: &RowWalk) -> Option<Point> {
        walk.steps.first().map(|step| self.beginning(step))
    }

    fn beginning(&self, step: &RowStep) -> Point {
        match *step {
            RowStep::Lay { span, from, .. } | RowStep::Slip { span, from, .. } => self.place(span, from),
            RowStep::Weave { corridor, side } => self.place(corridor.first, self.end_of(corridor.first, side)),
            RowStep::Travel { corridor, from, .. } => self.place(corridor.first, from),
        }
    }

    fn end_of(&self, span: u32, side: Side) -> f64 {
        let span = &self.rows.spans[span as usize];
        if side == Side::From { span.from } else { span.to }
    }

    /// Sews a walk.
    pub(crate) fn sew(&self, walk: &RowWalk, polygon: &Polygon, pattern: &Pattern, chain: &mut Chain) {
        for (i, step) in walk.steps.iter().enumerate() {
            if walk.breaks.binary_search(&i).is_ok() {
                chain.go_under(polygon, None, self.beginning(step));
            }
            match *step {
                RowStep::Lay { span, from, to } => self.lay(span, from, to, pattern, chain),
                RowStep::Slip { span, from, to, toward } => self.slip(span, from, to, toward, chain),
                RowStep::Weave { corridor, side } => self.weave(corridor, side, pattern, chain),
                RowStep::Travel { corridor, from, to } => self.travel(corridor, (from, to), chain),
            }
        }
    }

    /// `from`, moved towards `to` until it is a stitch away from the needle.
    fn begin(&self, span: u32, from: f64, to: f64, chain: &Chain) -> f64 {
        let Some(last) = chain.last().map(|p| self.frame.to_frame(p)) else { return from };
        let across = last.y - self.line(self.rows.spans[span as usize].row);
        let width = turn_width(across);
        if (from - last.x).abs() >= width {
            return from;
        }
        if to >= from { last.x + width } else { last.x - width }
    }

    fn lay(&self, span: u32, from: f64, to: f64, pattern: &Pattern, chain: &mut Chain) {
        let start = self.begin(span, from, to, chain);
        let too_far = (to - from) * (to - start) <= 0.0 || (to - start).abs() < SHORTEST;
        if too_far {
            self.turn_to(span, to, pattern, chain);
            return;
        }
        self.turn_to(span, start, pattern, chain);
        self.row(span, start, to, pattern, chain);
        chain.put(PassKind::Top, self.place(span, to));
    }

    /// A long way to the beginning of a row is sewn in several stitches.
    fn turn_to(&self, span: u32, start: f64, pattern: &Pattern, chain: &mut Chain) {
        let goal = self.place(span, start);
        if let Some(last) = chain.last() {
            let parts = (last.distance(goal) / pattern.length()).ceil();
            for i in 1..parts as usize {
                chain.pass_by(PassKind::Top, last.lerp(goal, i as f64 / parts));
            }
        }
        chain.put(PassKind::Top, goal);
    }

    /// The points between the ends of a row.
    fn row(&self, span: u32, from: f64, to: f64, pattern: &Pattern, chain: &mut Chain) {
        let row = self.rows.spans[span as usize].row;
        let origin = self.frame.from_frame(Point::new(0.0, self.line(row)));
        let along = self.frame.along();
        let points = chain.pass_mut(PassKind::Top);
        pattern.between(row, from, to, |u| points.push(origin + along * u));
    }

    fn weave(&self, corridor: Corridor, side: Side, pattern: &Pattern, chain: &mut Chain) {
        let (mut span, mut side) = (corridor.first, side);
        let mut start = self.begin(span, self.end_of(span, side), self.end_of(span, side.other()), chain);
        for left in (0..corridor.rows).rev() {
            let far = side.other();
            let mut end = self.end_of(span, far);
            let next = if left > 0 { self.rows.next_in_corridor(span, corridor.upward) } else { None };
            let mut next_start = end;
            if let Some(next) = next {
                (end, next_start) = self.turn(span, next, far);
            }
            // A row is never shorter than a stitch, nor turned round.
            let way = if far == Side::To { 1.0 } else { -1.0 };
            if (end - start) * way < SHORTEST {
                end = start + way * SHORTEST;
            }
            self.turn_to(span, start, pattern, chain);
            self.row(span, start, end, pattern, chain);
            chain.put(PassKind::Top, self.place(span, end));
            let Some(next) = next else { break };
            let width = turn_width(
                self.line(self.rows.spans[next as usize].row) - self.line(self.rows.spans[span as usize].row),
            );
            if (next_start - end).abs() < width {
                next_start = end - way * width;
            }
            (span, side, start) = (next, far, next_start);
        }
    }

    /// Where one row ends and the next begins at a side, a stitch apart: the
    /// one moves out and the other in.
    fn turn(&self, span: u32, next: u32, side: Side) -> (f64, f64) {
        let (a, b) = (self.end_of(span, side), self.end_of(next, side));
        let rows = &self.rows.spans;
        let width = turn_width(self.line(rows[next as usize].row) - self.line(rows[span as usize].row));
        let lacking = width - (b - a).abs();
        if lacking <= 0.0 {
            return (a, b);
        }
        let out = if side == Side::To { 1.0 } else { -1.0 };
        let b_is_out = (b - a) * out >= 0.0;
        let outer = if b_is_out { next } else { span };
        let room = f64::from(self.slack[outer as usize][side as usize]);
        let (outward, inward) = (room.min(lacking / 2.0) * out, (lacking - room.min(lacking / 2.0)) * out);
        if b_is_out { (a - inward, b + outward) } else { (a + outward, b - inward) }
    }

    fn slip(&self, span: u32, from: f64, to: f64, toward: i8, chain: &mut Chain) {
        let here = &self.rows.spans[span as usize];
        if (to - from).abs() < SHORTEST {
            let place = self.place(span, from);
            if chain.last().is_none_or(|last| last.distance(place) > TRAVEL_STITCH) {
                chain.pass_by(PassKind::Travel, place);
            }
            return;
        }
        let start = self.begin(span, from, to, chain);
        let middle = (here.from + here.to) / 2.0;
        let end = to.max((here.from + CLEAR + 0.2).min(middle)).min((here.to - CLEAR - 0.2).max(middle));
        let aside = self.frame.along().turn_90() * (ASIDE * f64::from(toward));
        // Coming from another row, this is a turn like any other.
        match chain.turned() {
            true => chain.put(PassKind::Top, self.place(span, start)),
            false => chain.pass_by(PassKind::Travel, self.place(span, start) + aside),
        }
        if (end - start) * (to - from) > 0.0 {
            let parts = ((end - start).abs() / TRAVEL_STITCH).ceil().max(1.0);
            for i in 1..=parts as usize {
                chain.pass_by(PassKind::Travel, self.place(span, start + (end - start) * i as f64 / parts) + aside);
            }
        }
    }

    fn travel(&self, corridor: Corridor, places: (f64, f64), chain: &mut Chain) {
        let way = way_through(&self.rows, corridor, places, |row| self.line(row));
        let way: Vec<Point> = way.into_iter().map(|uv| self.frame.from_frame(uv)).collect();
        chain.run_along(PassKind::Travel, &way, TRAVEL_STITCH);
    }
}

/// How far apart along the rows two points on rows `v` apart must be, mm.
fn turn_width(across: f64) -> f64 {
    ((SHORTEST + 0.005).powi(2) - across * across).max(0.0).sqrt()
}
