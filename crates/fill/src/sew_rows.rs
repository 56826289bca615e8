//! A walk over rows as needle points.

use crate::chain::{Chain, SHORTEST};
use crate::pattern::Pattern;
use crate::row_map::{Pair, RowMap};
use crate::rows::Rows;
use crate::travel::{CLEAR, way_through};
use kurbo::Point;
use laidwork_geometry::{Corridor, Polygon, RowStep, RowWalk, Side, closest_on_segment};
use laidwork_plan::PassKind;

/// Longest stitch of a travel, mm.
pub(crate) const TRAVEL_STITCH: f64 = 2.5;

/// How far a travel under a row keeps to the side where rows are laid later, mm.
const ASIDE: f64 = 0.05;

/// Farthest a row that bends may lie from its stitches, mm; and a ray, beside which others swing alike.
const CHORD: f64 = 0.04;
const RAY_CHORD: f64 = 0.05;

/// Farthest a travel under a row that bends may lie from it, mm.
const TRAVEL_CHORD: f64 = 0.04;

/// How much longer than asked a stitch may get where rows part from their line.
const LONGER: f64 = 1.3;

/// Rows that begin so near to their other end are left out, mm.
const LEAST_BEGUN: f64 = 0.5;

/// A row of a corridor, and the pair it belongs to where rows come in pairs.
#[derive(Clone, Copy, Debug)]
struct Begun {
    span: u32,
    pair: Option<Pair>,
}

impl<M: RowMap> Rows<M> {
    /// Sews a walk.
    pub(crate) fn sew(&self, walk: &RowWalk, polygon: &Polygon, pattern: &Pattern, chain: &mut Chain) {
        for (i, step) in walk.steps.iter().enumerate() {
            if walk.breaks.binary_search(&i).is_ok() {
                chain.go_under(polygon, None, None, self.beginning(step));
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
        let Some(last) = chain.last().map(|p| self.map.to_rows(p)) else { return from };
        let foot = self.map.foot(last, self.line_of(span));
        let width = foot.turn_width();
        if (from - foot.u).abs() >= width {
            return from;
        }
        if to >= from { foot.u + width } else { foot.u - width }
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
        let length = pattern.length();
        if let Some(last) = chain.last().filter(|last| last.distance_squared(goal) > 0.99 * length * length) {
            let parts = (last.distance(goal) / length).ceil();
            for i in 1..parts as usize {
                chain.pass_by(PassKind::Top, last.lerp(goal, i as f64 / parts));
            }
        }
        chain.put(PassKind::Top, goal);
    }

    /// The points between the ends of a row.
    fn row(&self, span: u32, from: f64, to: f64, pattern: &Pattern, chain: &mut Chain) {
        let row = self.rows.spans[span as usize].row;
        if !M::STRAIGHT {
            return self.bent_row(span, from, to, pattern, chain);
        }
        let origin = self.frame.from_frame(Point::new(0.0, self.line(row)));
        let along = self.frame.along();
        let points = chain.pass_mut(PassKind::Top);
        pattern.between(row, from, to, |u| origin + along * u, points);
    }

    /// As [`Rows::row`]; stitches that would leave the row or get too long are parted evenly.
    fn bent_row(&self, span: u32, from: f64, to: f64, pattern: &Pattern, chain: &mut Chain) {
        let mut ends = Vec::new();
        pattern.between(self.rows.spans[span as usize].row, from, to, |u| u, &mut ends);
        ends.push(to);
        let mut last = from;
        for (i, &end) in ends.iter().enumerate() {
            let parts = self.parts(span, last, end, (pattern.length() * LONGER, self.chord()));
            let own = usize::from(i + 1 == ends.len());
            for part in 1..=parts - own {
                chain.pass_by(PassKind::Top, self.place(span, last + (end - last) * part as f64 / parts as f64));
            }
            last = end;
        }
    }

    /// Farthest a row that bends may lie from its stitches, mm.
    fn chord(&self) -> f64 {
        if self.map.pitch().is_some() { RAY_CHORD } else { CHORD }
    }

    /// Into how many stitches a stretch of a row that bends has to be parted.
    fn parts(&self, span: u32, from: f64, to: f64, (longest, chord): (f64, f64)) -> usize {
        let at = |share: f64| self.place(span, from + (to - from) * share);
        let fits = |low: f64, high: f64| {
            let (a, b) = (at(low), at(high));
            let near = |share: f64| {
                let p = at(low + (high - low) * share);
                closest_on_segment(p, a, b).distance_squared(p) <= chord * chord
            };
            a.distance(b) <= longest && [0.25, 0.5, 0.75].into_iter().all(near)
        };
        let length = at(0.0).distance(at(0.5)) + at(0.5).distance(at(1.0));
        let most = (length / (2.0 * SHORTEST)).max(length / longest).ceil().max(1.0) as usize;
        let mut parts = 1;
        while parts < most && !(0..parts).all(|i| fits(i as f64 / parts as f64, (i + 1) as f64 / parts as f64)) {
            parts += 1;
        }
        parts
    }

    fn weave(&self, corridor: Corridor, side: Side, pattern: &Pattern, chain: &mut Chain) {
        let spans = self.begun(corridor);
        let [first, last] = match &spans[..] {
            [] => return,
            [first, .., last] => [first.span, last.span],
            [only] => [only.span; 2],
        };
        let toward = if corridor.upward { 1 } else { -1 };
        let under = self.changes_side(&spans, side);
        let exit = if spans.len().is_multiple_of(2) { side } else { side.other() };
        let mut side = side;
        if let Some(under) = under {
            self.slip(under, self.end_of(under, side), self.end_of(under, side.other()), toward, chain);
            side = side.other();
        }
        let mut start = self.begin(first, self.end_of(first, side), self.end_of(first, side.other()), chain);
        for (i, &Begun { span, .. }) in spans.iter().enumerate() {
            let far = side.other();
            if under.is_some() && span == last {
                // To the end of the last row that the walk goes on from, before it is laid.
                self.slip(span, start, self.end_of(span, far), 0, chain);
                self.weave_row(span, self.end_of(span, exit.other()), self.end_of(span, exit), pattern, chain);
                return;
            }
            let mut end = self.end_of(span, far);
            let mut next_start = end;
            let next = spans.get(i + 1).map(|next| next.span);
            // Where a pair begins its rows are so near to each other that they share a needle point.
            let begins = self.beginning_of(&spans, i).filter(|_| far == Side::From);
            if let Some(begins) = begins {
                (end, next_start) = (begins, begins);
            } else if let Some(next) = next {
                (end, next_start) = self.turn(span, next, far);
            }
            // A row is never shorter than a stitch, nor turned round.
            let way = if far == Side::To { 1.0 } else { -1.0 };
            if (end - start) * way < SHORTEST {
                end = start + way * SHORTEST;
            }
            self.weave_row(span, start, end, pattern, chain);
            let Some(next) = next else { break };
            let foot = self.foot(span, end, next);
            if begins.is_none() && (next_start - foot.u).abs() < foot.turn_width() {
                next_start = foot.u - way * foot.turn_width();
            }
            (side, start) = (far, next_start);
        }
    }

    fn weave_row(&self, span: u32, start: f64, end: f64, pattern: &Pattern, chain: &mut Chain) {
        self.turn_to(span, start, pattern, chain);
        self.row(span, start, end, pattern, chain);
        chain.put(PassKind::Top, self.place(span, end));
    }

    /// How many rows there are, less the pairs that have not begun where they end.
    pub(crate) fn sewn(&self) -> usize {
        let begins = |row: u32| self.map.pair(self.line(row)).map_or(f64::NEG_INFINITY, |pair| pair.begins);
        self.rows.spans.iter().filter(|span| span.to - begins(span.row) >= LEAST_BEGUN).count()
    }

    /// The rows of a corridor, less the pairs that have not begun where it ends.
    fn begun(&self, corridor: Corridor) -> Vec<Begun> {
        let mut spans = Vec::with_capacity(corridor.rows as usize);
        let mut next = Some(corridor.first);
        for _ in 0..corridor.rows {
            let Some(span) = next else { break };
            spans.push(Begun { span, pair: self.map.pair(self.line_of(span)) });
            next = self.rows.next_in_corridor(span, corridor.upward);
        }
        let waits =
            |row: &Begun| row.pair.is_some_and(|pair| self.end_of(row.span, Side::To) - pair.begins < LEAST_BEGUN);
        let mut begun = Vec::with_capacity(spans.len());
        for rows in spans.chunk_by(|a, b| a.pair.is_some() && a.pair == b.pair) {
            if rows.len() < 2 || !rows.iter().all(waits) {
                begun.extend_from_slice(rows);
            }
        }
        // The way from one side to the other is laid where that is all there is.
        if begun.is_empty() && spans.len() % 2 == 1 {
            begun.extend(spans.first());
        }
        begun
    }

    /// Where the pair of a row and the next begins, if it does so inside.
    fn beginning_of(&self, spans: &[Begun], row: usize) -> Option<f64> {
        let (here, next) = (spans.get(row)?, spans.get(row + 1)?);
        let begins = here.pair.filter(|pair| next.pair == Some(*pair))?.begins;
        let [from, to] = [Side::From, Side::To].map(|side| [here, next].map(|row| self.end_of(row.span, side)));
        let inside = begins > from[0].min(from[1]) + LEAST_BEGUN && begins < to[0].min(to[1]) - LEAST_BEGUN;
        inside.then_some(begins)
    }

    /// Where a corridor entered at a side turns between the pairs that begin inside, not where they do, the other side
    /// is better: the row to go there under, which is laid from end to end.
    fn changes_side(&self, spans: &[Begun], side: Side) -> Option<u32> {
        // The first turn is at the other side.
        let first = usize::from(side == Side::From);
        let length = |row: &Begun| self.rows.spans[row.span as usize].length();
        let mut lost = 0.0;
        for i in 0..spans.len() {
            if let Some(begins) = self.beginning_of(spans, i) {
                let waits = 2.0 * (begins - self.end_of(spans[i].span, Side::From));
                lost += if i % 2 == first { -waits } else { waits };
            }
        }
        let under = (0..spans.len()).step_by(2).find(|&i| i % 2 == first || self.beginning_of(spans, i).is_none())?;
        (lost > length(&spans[under]) + length(&spans[spans.len() - 1])).then_some(spans[under].span)
    }

    /// Where one row ends and the next begins at a side, a stitch apart: the
    /// one moves out and the other in.
    fn turn(&self, span: u32, next: u32, side: Side) -> (f64, f64) {
        let (a, b) = (self.end_of(span, side), self.end_of(next, side));
        let foot = self.foot(span, a, next);
        let lacking = foot.turn_width() - (b - foot.u).abs();
        if lacking <= 0.0 {
            return (a, b);
        }
        let out = if side == Side::To { 1.0 } else { -1.0 };
        let b_is_out = (b - foot.u) * out >= 0.0;
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
        let height = self.cuts[here.row as usize + 1] - self.cuts[here.row as usize];
        let aside = if M::STRAIGHT { ASIDE } else { height * 0.2 };
        let line = self.line(here.row) + aside * f64::from(toward);
        let beside = |u: f64| self.map.on_fabric(Point::new(u, line));
        // Coming from another row, this is a turn like any other.
        match chain.turned() {
            true => chain.put(PassKind::Top, self.place(span, start)),
            false => chain.pass_by(PassKind::Travel, beside(start)),
        }
        if (end - start) * (to - from) > 0.0 {
            let parts = ((end - start).abs() / TRAVEL_STITCH).ceil().max(1.0);
            let parts =
                if M::STRAIGHT { parts } else { self.parts(span, start, end, (TRAVEL_STITCH, TRAVEL_CHORD)) as f64 };
            for i in 1..=parts as usize {
                chain.pass_by(PassKind::Travel, beside(start + (end - start) * i as f64 / parts));
            }
        }
    }

    fn travel(&self, corridor: Corridor, places: (f64, f64), chain: &mut Chain) {
        let way = way_through(&self.rows, corridor, places, |row| self.line(row));
        let way = if M::STRAIGHT { way } else { in_short_steps(&way) };
        let way: Vec<Point> = way.into_iter().map(|uv| self.map.on_fabric(uv)).collect();
        chain.run_along(PassKind::Travel, &way, TRAVEL_STITCH);
    }
}

/// A way with corners at most 0.5 apart.
fn in_short_steps(way: &[Point]) -> Vec<Point> {
    let mut fine: Vec<Point> = way.first().copied().into_iter().collect();
    for pair in way.windows(2) {
        let parts = (pair[0].distance(pair[1]) / 0.5).ceil().max(1.0);
        fine.extend((1..=parts as usize).map(|i| pair[0].lerp(pair[1], i as f64 / parts)));
    }
    fine
}
