//! Moves of the local search: what each would save, and whether it keeps every precedence.

use super::{Precedence, Transitions, Visit};

/// Savings below this are rounding.
pub(super) const LEAST_GAIN: f64 = 1e-7;

/// Longest stretch that is turned round when every edge inside has to be looked at.
const LONGEST_TURN: usize = 300;

/// A change of a sequence; positions, stretches with both ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Move {
    /// The stretch goes right behind position `after`, which lies outside it, turned round if `turned`.
    Shift { from: usize, to: usize, after: usize, turned: bool },
    /// The stretch is turned round where it is.
    Turn { from: usize, to: usize },
}

/// The best move so far and what it saves.
pub(super) type Best = Option<(f64, Move)>;

/// A sequence under change. Its first and last visits stay where they are.
#[derive(Clone, Debug)]
pub(super) struct Tour<'a, C: Transitions> {
    pub(super) costs: &'a C,
    pub(super) bonds: &'a Precedence,
    pub(super) visits: Vec<Visit>,
    places: Vec<usize>,
    /// What each step from a visit to the next costs, and what it would turned round; no number where that is not known.
    known: Vec<[f64; 2]>,
    /// Room for the positions of one look.
    room: Vec<usize>,
    /// Cost evaluations so far, those that were known included.
    pub(super) steps: u64,
}

const NOWHERE: usize = usize::MAX;

const UNKNOWN: [f64; 2] = [f64::NAN; 2];

impl<'a, C: Transitions> Tour<'a, C> {
    pub(super) fn new(costs: &'a C, bonds: &'a Precedence, visits: Vec<Visit>) -> Tour<'a, C> {
        let known = vec![UNKNOWN; visits.len()];
        let mut tour =
            Tour { costs, bonds, visits, places: vec![NOWHERE; costs.count()], known, room: Vec::new(), steps: 0 };
        tour.note_places(0, tour.visits.len());
        tour
    }

    /// Position of the last visit.
    pub(super) fn last(&self) -> usize {
        self.visits.len().saturating_sub(1)
    }

    /// Notes that other visits are at the positions from `from` to before `end`.
    pub(super) fn note_places(&mut self, from: usize, end: usize) {
        if let Some(known) = self.known.get_mut(from.saturating_sub(1)..end) {
            known.fill(UNKNOWN);
        }
        for (i, visit) in self.visits.iter().enumerate().take(end).skip(from) {
            if let Some(place) = self.places.get_mut(visit.node) {
                *place = i;
            }
        }
    }

    /// Where a node is in the sequence.
    pub(super) fn place(&self, node: usize) -> Option<usize> {
        self.places.get(node).copied().filter(|&place| place != NOWHERE)
    }

    fn cost(&mut self, from: Visit, to: Visit) -> f64 {
        self.steps += 1;
        self.costs.cost(from, to)
    }

    /// What the step from a position to the next costs, ...
    fn edge(&mut self, from: usize) -> f64 {
        self.step(from, 0)
    }

    /// ... and what it would turned round.
    fn turned_edge(&mut self, from: usize) -> f64 {
        self.step(from, 1)
    }

    fn step(&mut self, from: usize, way: usize) -> f64 {
        self.steps += 1;
        let known = self.known[from][way];
        if !known.is_nan() {
            return known;
        }
        let (a, b) = (self.visits[from], self.visits[from + 1]);
        let cost = if way == 0 { self.costs.cost(a, b) } else { self.costs.cost(b.reversed(), a.reversed()) };
        self.known[from][way] = cost;
        cost
    }

    /// Position of the first node beyond `edge` that is bound to come after the one at `i`.
    fn bound_after(&self, i: usize, edge: usize) -> usize {
        let bound = self.bonds.after(self.visits[i].node).iter().filter_map(|&node| self.place(node));
        bound.filter(|&place| place > edge).min().unwrap_or(NOWHERE)
    }

    /// Position of the last node short of `edge` that is bound to come before the one at `i`.
    fn bound_before(&self, i: usize, edge: usize) -> usize {
        let bound = self.bonds.before(self.visits[i].node).iter().filter_map(|&node| self.place(node));
        bound.filter(|&place| place < edge).max().unwrap_or(0)
    }

    /// Whether a node inside the stretch is bound to the one at its own end `i`.
    fn is_bound_within(&self, i: usize, from: usize, to: usize) -> bool {
        if self.bonds.is_empty() {
            return false;
        }
        let node = self.visits[i].node;
        let bound = self.bonds.after(node).iter().chain(self.bonds.before(node));
        bound.filter_map(|&other| self.place(other)).any(|place| (from..=to).contains(&place))
    }

    /// The move that saves most among those of a stretch that ends or begins at `here`.
    pub(super) fn best_move(&mut self, here: usize, longest: usize) -> Best {
        let mut best = None;
        if here > 0 && here < self.last() {
            self.shifts_forward(here, longest, &mut best);
            self.shifts_back(here, longest, &mut best);
            self.turns(here, &mut best);
        }
        best
    }

    /// Stretches that end at `to` and go to the right of it. They grow to the
    /// left, so that what bounds them only tightens.
    fn shifts_forward(&mut self, to: usize, longest: usize, best: &mut Best) {
        let mut ceiling = NOWHERE;
        let mut turning = Some(0.0);
        for from in (1..=to).rev().take(longest) {
            ceiling = ceiling.min(self.bound_after(from, to));
            turning = self.turning_grown(turning, from, from + 1, to, from);
            if ceiling <= to + 1 {
                return;
            }
            let saved = self.saved_by_removal(from, to);
            if saved > LEAST_GAIN {
                for turned in [false, true] {
                    let Some(turning) = (if turned { turning } else { Some(0.0) }) else { continue };
                    let (head, tail) = self.ends(from, to, turned);
                    let gates = self.gates_for(head, tail);
                    for &q in gates.iter().filter(|&&q| q > to && q < ceiling) {
                        self.try_shift(from, to, q, turned, saved - turning, best);
                    }
                    self.room = gates;
                }
            }
        }
    }

    /// Stretches that begin at `from` and go to the left of it.
    fn shifts_back(&mut self, from: usize, longest: usize, best: &mut Best) {
        let mut floor = 0;
        let mut turning = Some(0.0);
        for to in (from..self.last()).take(longest) {
            floor = floor.max(self.bound_before(to, from));
            turning = self.turning_grown(turning, to, from, to.saturating_sub(1), to.saturating_sub(1));
            if floor + 1 >= from {
                return;
            }
            let saved = self.saved_by_removal(from, to);
            if saved > LEAST_GAIN {
                for turned in [false, true] {
                    let Some(turning) = (if turned { turning } else { Some(0.0) }) else { continue };
                    let (head, tail) = self.ends(from, to, turned);
                    let gates = self.gates_for(head, tail);
                    for &q in gates.iter().filter(|&&q| q + 1 < from && q >= floor) {
                        self.try_shift(from, to, q, turned, saved - turning, best);
                    }
                    self.room = gates;
                }
            }
        }
    }

    /// What turning a stretch round costs after it has grown by the position
    /// `grown` at the inner edge `edge`; `None` when bonds within forbid it.
    fn turning_grown(&mut self, before: Option<f64>, grown: usize, from: usize, to: usize, edge: usize) -> Option<f64> {
        let before = before?;
        if from > to {
            return Some(before); // a stretch of one
        }
        if self.is_bound_within(grown, from, to) {
            return None;
        }
        if self.costs.is_symmetric() {
            return Some(before);
        }
        Some(before + self.turned_edge(edge) - self.edge(edge))
    }

    fn saved_by_removal(&mut self, from: usize, to: usize) -> f64 {
        self.edge(from - 1) + self.edge(to) - self.cost(self.visits[from - 1], self.visits[to + 1])
    }

    /// First and last visit of a stretch once it is placed.
    fn ends(&self, from: usize, to: usize, turned: bool) -> (Visit, Visit) {
        let (a, b) = (self.visits[from], self.visits[to]);
        if turned { (b.reversed(), a.reversed()) } else { (a, b) }
    }

    /// Positions behind which a stretch with these ends might go cheaply, in the room that is to be given back.
    fn gates_for(&mut self, head: Visit, tail: Visit) -> Vec<usize> {
        let mut gates = std::mem::take(&mut self.room);
        gates.clear();
        let before = self.costs.near_before(head.node).iter().filter_map(|&node| self.place(node));
        let after = self.costs.near_after(tail.node).iter().filter_map(|&node| self.place(node));
        let places = before.chain(after.filter_map(|place| place.checked_sub(1)));
        let last = self.last();
        gates.extend(places.filter(|&place| place < last));
        gates
    }

    fn try_shift(&mut self, from: usize, to: usize, after: usize, turned: bool, saved: f64, best: &mut Best) {
        let (head, tail) = self.ends(from, to, turned);
        let opened = saved + self.edge(after);
        let first = self.cost(self.visits[after], head);
        if opened - first <= LEAST_GAIN {
            return;
        }
        let gain = opened - first - self.cost(tail, self.visits[after + 1]);
        keep_better(best, gain, Move::Shift { from, to, after, turned });
    }

    /// Stretches with an end at `here`, turned round in place.
    fn turns(&mut self, here: usize, best: &mut Best) {
        if self.costs.can_flip(self.visits[here].node) {
            self.try_turn(here, here, 0.0, best);
        }
        let mut room = std::mem::take(&mut self.room);
        room.clear();
        // Right ends for a stretch that begins at `here`, then left ends for one that ends there.
        let before = self.visits[here - 1].node;
        let behind = self.visits[here + 1].node;
        let own = self.visits[here].node;
        let near_ends = self.costs.near_after(before).iter().filter_map(|&node| self.place(node));
        let near_exits =
            self.costs.near_after(own).iter().filter_map(|&node| self.place(node)).filter_map(|p| p.checked_sub(1));
        room.extend(near_ends.chain(near_exits).filter(|&p| p > here && p < self.last()));
        let ends = room.len();
        let near_starts = self.costs.near_before(behind).iter().filter_map(|&node| self.place(node));
        let near_entries = self.costs.near_before(own).iter().filter_map(|&node| self.place(node)).map(|p| p + 1);
        room.extend(near_starts.chain(near_entries).filter(|&p| p > 0 && p < here));
        let (ends, starts) = room.split_at(ends);
        ends.iter().for_each(|&to| self.try_turn_between(here, to, best));
        starts.iter().for_each(|&from| self.try_turn_between(from, here, best));
        self.room = room;
    }

    fn try_turn_between(&mut self, from: usize, to: usize, best: &mut Best) {
        // The outer edges say first whether the rest is worth a look.
        if self.costs.is_symmetric() && self.turn_gain(from, to, 0.0) <= best.map_or(LEAST_GAIN, |b| b.0) {
            return;
        }
        if !(self.costs.is_symmetric() && self.bonds.is_empty()) {
            if to - from > LONGEST_TURN {
                return;
            }
            let mut turning = Some(0.0);
            for at in from + 1..=to {
                turning = self.turning_grown(turning, at, from, at - 1, at - 1);
            }
            if let Some(turning) = turning {
                self.try_turn(from, to, turning, best);
            }
            return;
        }
        self.try_turn(from, to, 0.0, best);
    }

    fn turn_gain(&mut self, from: usize, to: usize, turning: f64) -> f64 {
        let (before, behind) = (self.visits[from - 1], self.visits[to + 1]);
        let (head, tail) = self.ends(from, to, true);
        self.edge(from - 1) + self.edge(to) - self.cost(before, head) - self.cost(tail, behind) - turning
    }

    fn try_turn(&mut self, from: usize, to: usize, turning: f64, best: &mut Best) {
        let gain = self.turn_gain(from, to, turning);
        keep_better(best, gain, Move::Turn { from, to });
    }

    /// Carries a move out; gives back the positions it touched (first and last).
    pub(super) fn apply(&mut self, change: Move) -> (usize, usize) {
        let (low, high) = match change {
            Move::Turn { from, to } => {
                self.turn_round(from, to);
                (from, to)
            }
            Move::Shift { from, to, after, turned } => {
                let length = to - from + 1;
                let (low, high) = if after > to { (from, after) } else { (after + 1, to) };
                if let Some(window) = self.visits.get_mut(low..=high) {
                    if after > to { window.rotate_left(length) } else { window.rotate_right(length) }
                }
                if turned {
                    let start = if after > to { after + 1 - length } else { after + 1 };
                    self.turn_round(start, start + length - 1);
                }
                (low, high)
            }
        };
        self.note_places(low, high + 1);
        (low, high)
    }

    fn turn_round(&mut self, from: usize, to: usize) {
        if let Some(stretch) = self.visits.get_mut(from..=to) {
            stretch.reverse();
            stretch.iter_mut().for_each(|visit| *visit = visit.reversed());
        }
    }

    /// The exchange of two neighbouring stretches, if bonds allow it.
    pub(super) fn exchange(&self, from: usize, middle: usize, to: usize) -> Option<Move> {
        let fits = from > 0 && from < middle && middle <= to && to < self.last();
        let free = fits && (from..middle).all(|i| self.bound_after(i, middle - 1) > to);
        free.then_some(Move::Shift { from, to: middle - 1, after: to, turned: false })
    }
}

fn keep_better(best: &mut Best, gain: f64, change: Move) {
    if gain > best.map_or(LEAST_GAIN, |b| b.0) {
        *best = Some((gain, change));
    }
}
