//! How far each row reaches: compensation, what it must keep out of, exact edges.

use crate::row_map::RowMap;
use crate::rows::Rows;
use kurbo::Point;
use laidwork_geometry::{Join, Locator, Polygon, Region, RowGraph, RowSpan};

/// How far a row may be moved out beyond its compensation to make room for a turn, mm.
const TURN_ROOM: f64 = 0.15;

/// How far rows reach into the next zone, so that nothing is bare between, mm.
const SEAM_OVERLAP: f64 = 0.12;

/// A row ends at the outline, not at a seam, when it ends this near to it, mm.
const AT_OUTLINE: f64 = 0.2;

/// A row is not shortened to less than this, mm, nor by a larger share of it than the other.
const LEAST_ROW: f64 = 2.0;
const LEAST_SHARE: f64 = 0.6;

/// Rows that touch still do over this length, mm.
const LEAST_CONTACT: f64 = 0.5;

/// Rows are lengthened by no more than this at an end, mm.
pub(crate) const MOST_PULL: f64 = 3.0;

/// Of a gap, the part that each side may take.
const SHARE: f64 = 1.0 / 3.0;

impl<M: RowMap> Rows<M> {
    /// Moves the ends of every span out by `by` mm, but by no more than a third
    /// of the gap beyond, and not into `keep_out` (where the shape itself
    /// reaches into it, its rows stay).
    pub(crate) fn compensate(&mut self, by: f64, keep_out: Option<&Region>) {
        let by = if by.is_finite() { by.clamp(0.0, MOST_PULL) } else { 0.0 };
        let forbidden = keep_out.map(|region| self.stretches(region)).unwrap_or_default();
        // The row of the span before, and where it ended.
        let mut before = (u32::MAX, 0.0);
        for i in 0..self.rows.spans.len() {
            let next = self.rows.spans.get(i + 1).map_or((u32::MAX, 0.0), |next| (next.row, next.from));
            let span = &mut self.rows.spans[i];
            let [mut low, mut high] = [f64::INFINITY; 2];
            if !forbidden.is_empty() {
                [low, high] = room_beside(&forbidden, span);
            }
            if before.0 == span.row {
                low = low.min((span.from - before.1) * SHARE);
            }
            if next.0 == span.row {
                high = high.min((next.1 - span.to) * SHARE);
            }
            before = (span.row, span.to);
            span.from -= by.min(low);
            span.to += by.min(high);
            let slack = |room: f64| (room - by).clamp(0.0, TURN_ROOM) as f32;
            self.slack[i] = [slack(low), slack(high)];
        }
    }

    /// Thins the rows out under `over`, what is sewn over the rim of `polygon`: two full layers
    /// there are hard and needless. Every second row ends where it lies under it by `sure` mm;
    /// the others reach as far as the polygon.
    pub(crate) fn thin_out(&mut self, polygon: &Polygon, over: &Region, sure: f64) {
        let deep = over.offset(-sure - self.spacing / 2.0, Join::Round { tolerance: 0.02 });
        // Beyond the first and the last row nothing is left of it.
        let deep = self.stretches(&deep.intersection(&Region::from(polygon.clone())));
        let holder = |row: u32, u: f64| {
            let next = deep.partition_point(|d| (d.0, d.1) <= (row, u));
            next.checked_sub(1).and_then(|i| deep.get(i)).filter(|d| d.0 == row && d.2 >= u)
        };
        self.shorten_every_second(|_, (span, _)| {
            let from = holder(span.row, span.from + 1e-6).map_or(span.from, |d| d.2);
            (from, holder(span.row, span.to - 1e-6).map_or(span.to, |d| d.1))
        });
    }

    /// As [`Rows::thin_out`] for part of a shape, rows that bend included: where a row is less than `sure` mm under
    /// `over` is felt for step by step.
    pub(crate) fn thin_out_part(&mut self, over: &Locator, sure: f64) {
        const STEP: f64 = 0.1;
        let sure = sure + self.spacing / 2.0;
        self.shorten_every_second(|map, (span, line)| {
            let is_deep = |u: f64| {
                let place = map.on_fabric(Point::new(u, line));
                over.contains(place) && over.nearest(place).is_some_and(|edge| edge.distance > sure)
            };
            let steps = (span.length() / STEP) as usize;
            let free = |from: f64, step: f64| (0..=steps).map(|i| from + step * i as f64).find(|&u| !is_deep(u));
            (free(span.from, STEP).unwrap_or(span.to), free(span.to, -STEP).unwrap_or(span.from))
        });
    }

    /// Shortens every second row to where `ends` says, but so that it still touches its neighbours and stays long enough.
    fn shorten_every_second(&mut self, ends: impl Fn(&M, (RowSpan, f64)) -> (f64, f64)) {
        // How far each span must reach to touch its neighbours.
        let mut contact: Vec<[f64; 2]> = self.rows.spans.iter().map(|s| [s.to, s.from]).collect();
        for link in &self.rows.links {
            for span in [link.below, link.above] {
                let [from, to] = &mut contact[span as usize];
                *from = from.min(link.to - LEAST_CONTACT);
                *to = to.max(link.from + LEAST_CONTACT);
            }
        }
        for (i, [least_from, least_to]) in contact.into_iter().enumerate() {
            let span = self.rows.spans[i];
            if span.row.is_multiple_of(2) {
                continue;
            }
            let (from, to) = (span.from, span.to);
            let (new_from, new_to) = ends(&self.map, (span, self.line(span.row)));
            let (new_from, new_to) = (new_from.min(least_from).max(from), new_to.max(least_to).min(to));
            if new_to - new_from >= LEAST_ROW.max(LEAST_SHARE * span.length()) {
                (self.rows.spans[i].from, self.rows.spans[i].to) = (new_from, new_to);
            }
        }
        for link in &mut self.rows.links {
            for span in [link.below, link.above].map(|span| self.rows.spans[span as usize]) {
                (link.from, link.to) = (link.from.max(span.from), link.to.min(span.to));
            }
        }
    }

    /// As [`Rows::compensate`] for part of a shape, rows that bend included:
    /// what lies beyond an end is felt for step by step. Where the shape goes
    /// on, in another zone, rows overlap a little with those there.
    pub(crate) fn compensate_part(&mut self, by: f64, shape: &Locator, keep_out: Option<&Locator>) {
        let by = if by.is_finite() { by.clamp(0.0, MOST_PULL) } else { 0.0 };
        for i in 0..self.rows.spans.len() {
            let span = self.rows.spans[i];
            let beside = |other: Option<&RowSpan>| other.filter(|other| other.row == span.row).copied();
            let before = i.checked_sub(1).and_then(|b| beside(self.rows.spans.get(b)));
            let after = beside(self.rows.spans.get(i + 1));
            let gaps = [before.map(|b| span.from - b.to), after.map(|a| a.from - span.to)];
            let mut moved = [0.0; 2];
            for (end, out) in [(0, -1.0), (1, 1.0)] {
                let u = if end == 0 { span.from } else { span.to };
                let at = |away: f64| self.map.on_fabric(Point::new(u + out * away, self.line(span.row)));
                let room = gaps[end].map_or(f64::INFINITY, |gap| gap * SHARE);
                let inside = shape.nearest(at(0.0)).is_none_or(|nearest| nearest.distance > AT_OUTLINE)
                    && shape.contains(at(0.0));
                if inside {
                    moved[end] = SEAM_OVERLAP.min(room);
                    self.slack[i][end] = (room - SEAM_OVERLAP).clamp(0.0, TURN_ROOM) as f32;
                    continue;
                }
                let room = room.min(free_beyond(by + TURN_ROOM, shape, keep_out, at));
                moved[end] = by.min(room);
                self.slack[i][end] = (room - by).clamp(0.0, TURN_ROOM) as f32;
            }
            let span = &mut self.rows.spans[i];
            span.from -= moved[0];
            span.to += moved[1];
        }
    }

    /// The stretches of each row whose band lies partly in a region: row, from, to, in order.
    fn stretches(&self, region: &Region) -> Vec<(u32, f64, f64)> {
        let cut = |polygon: &Polygon| RowGraph::cut(polygon, self.frame, &self.cuts, 0.0).spans;
        // The first and the last row take in what lies beyond them; that is no harm here.
        let mut all: Vec<(u32, f64, f64)> =
            region.polygons.iter().flat_map(cut).map(|span| (span.row, span.from, span.to)).collect();
        all.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        all
    }

    /// Ends every row exactly on the outline, where its line crosses it. Tips
    /// that no line crosses keep their rows.
    pub(crate) fn trim(&mut self, polygon: &Polygon) {
        // The lines of the rows, as the cuts between bands that begin and end on them.
        let last = self.cuts.len().saturating_sub(1) as u32;
        let mut halves = Vec::with_capacity(self.cuts.len() + 1);
        halves.extend(self.cuts.first());
        halves.extend((0..last).map(|row| self.line(row)));
        halves.extend(self.cuts.last());
        let lines = RowGraph::cut(polygon, self.frame, &halves, 0.0);
        let mut links = lines.links.iter().peekable();
        for span in &mut self.rows.spans {
            let mut reach: Option<(f64, f64)> = None;
            // The line of row r lies between bands r and r + 1 of the halves.
            let row_of = |link: &laidwork_geometry::RowLink| lines.spans[link.below as usize].row;
            while links.next_if(|link| (row_of(link), link.to) < (span.row, span.from)).is_some() {}
            while let Some(link) = links.next_if(|link| row_of(link) == span.row && link.from <= span.to) {
                reach = Some(reach.map_or((link.from, link.to), |(from, to)| (from.min(link.from), to.max(link.to))));
            }
            if let Some((from, to)) = reach {
                (span.from, span.to) = (from.max(span.from), to.min(span.to));
            }
        }
    }
}

/// How far a row may be moved out, up to `wanted`, without taking more than its share of a gap
/// in the shape or reaching into `keep_out`; `at(away)` is the place that far beyond its end.
fn free_beyond(wanted: f64, shape: &Locator, keep_out: Option<&Locator>, at: impl Fn(f64) -> Point) -> f64 {
    const STEP: f64 = 0.05;
    let steps = (wanted / SHARE / STEP).ceil() as usize;
    let mut left = false;
    for i in 1..=steps {
        let away = STEP * i as f64;
        let place = at(away);
        if away <= wanted && keep_out.is_some_and(|region| region.contains(place)) {
            return (away - STEP).max(0.0);
        }
        let inside = shape.contains(place);
        if left && inside {
            return (away * SHARE).min(wanted);
        }
        left |= !inside;
    }
    wanted
}

/// How far a span may grow at each end before it meets what is forbidden.
fn room_beside(forbidden: &[(u32, f64, f64)], span: &RowSpan) -> [f64; 2] {
    let first = forbidden.partition_point(|f| f.0 < span.row);
    let mut room = [f64::INFINITY; 2];
    for &(row, from, to) in &forbidden[first..] {
        if row != span.row {
            break;
        }
        // What overlaps the middle of the span says nothing about its ends.
        if from <= span.to && to >= span.to {
            room[1] = 0.0;
        } else if from > span.to {
            room[1] = room[1].min(from - span.to);
        }
        if from <= span.from && to >= span.from {
            room[0] = 0.0;
        } else if to < span.from {
            room[0] = room[0].min(span.from - to);
        }
    }
    room
}
