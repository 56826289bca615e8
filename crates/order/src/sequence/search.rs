//! The search: local optima, and small random exchanges between them.

use super::moves::{LEAST_GAIN, Tour};
use super::{Precedence, Transitions, Visit};
use std::collections::VecDeque;

/// Longest stretch that a random exchange moves.
const LONGEST_KICK: usize = 50;

/// Exchanges between two descents at most.
const MOST_KICKS: usize = 2;

/// How much worse than the best a local optimum may be and still be gone on
/// from, in mean costs of one transition, at the beginning.
const LENIENCE: f64 = 1.0;

/// Improves a sequence until `steps` evaluations of a cost are used up. The
/// first and the last visit stay; bonds kept by `start` stay kept; the result
/// never costs more.
pub fn improve<C: Transitions>(costs: &C, bonds: &Precedence, start: Vec<Visit>, steps: u64) -> Vec<Visit> {
    if start.len() < 3 {
        return start;
    }
    let mut search = Search::new(Tour::new(costs, bonds, start));
    for i in 1..search.tour.last() {
        search.wake(i);
    }
    search.descend(steps);
    search.wander(steps)
}

/// The cost of a whole sequence.
pub fn total_cost(costs: &impl Transitions, visits: &[Visit]) -> f64 {
    visits.iter().zip(visits.iter().skip(1)).map(|(&a, &b)| costs.cost(a, b)).sum()
}

struct Search<'a, C: Transitions> {
    tour: Tour<'a, C>,
    /// Nodes whose neighbourhood changed.
    awake: VecDeque<usize>,
    is_awake: Vec<bool>,
    /// First and last position changed since this was last reset.
    touched: (usize, usize),
    /// Longest stretch that local search moves.
    longest: usize,
}

impl<'a, C: Transitions> Search<'a, C> {
    fn new(tour: Tour<'a, C>) -> Search<'a, C> {
        let count = tour.visits.len();
        // Any stretch of a short sequence, and few enough of a long one.
        let longest = (20_000 / count).clamp(3, count);
        let is_awake = vec![false; tour.costs.count()];
        Search { tour, awake: VecDeque::new(), is_awake, touched: (usize::MAX, 0), longest }
    }

    /// Has the visit at a position looked at.
    fn wake(&mut self, position: usize) {
        let Some(visit) = self.tour.visits.get(position) else { return };
        if let Some(awake) = self.is_awake.get_mut(visit.node)
            && !std::mem::replace(awake, true)
        {
            self.awake.push_back(visit.node);
        }
    }

    /// Makes moves that pay until there is none; gives back what they saved.
    fn descend(&mut self, steps: u64) -> f64 {
        let mut saved = 0.0;
        while let Some(node) = self.awake.pop_front() {
            if let Some(awake) = self.is_awake.get_mut(node) {
                *awake = false;
            }
            while self.tour.steps < steps
                && let Some(here) = self.tour.place(node)
                && let Some((gain, change)) = self.tour.best_move(here, self.longest)
            {
                saved += gain;
                self.carry_out(change);
            }
        }
        saved
    }

    fn carry_out(&mut self, change: super::moves::Move) {
        use super::moves::Move;
        let (low, high) = self.tour.apply(change);
        self.touched = (self.touched.0.min(low), self.touched.1.max(high));
        let inner = match change {
            Move::Turn { from, to } => [from, to],
            Move::Shift { from, to, after, .. } if after > to => [after - (to - from), after - (to - from) - 1],
            Move::Shift { from, to, after, .. } => [after + 1 + to - from, after + 2 + to - from],
        };
        for position in [low.saturating_sub(1), low, high, high + 1].into_iter().chain(inner) {
            self.wake(position);
        }
    }

    /// Goes from local optimum to local optimum. One that costs a little more
    /// than the best so far is still gone on from, ever less so as the steps run out.
    fn wander(mut self, steps: u64) -> Vec<Visit> {
        let mut best = self.tour.visits.clone();
        let mut base = best.clone();
        let allowance = LENIENCE * total_cost(self.tour.costs, &base).abs() / base.len() as f64;
        let (first_step, mut over) = (self.tour.steps, 0.0);
        let mut random = Random(0x9E37_79B9_7F4A_7C15);
        while self.tour.steps < steps && self.tour.last() > 3 {
            self.touched = (usize::MAX, 0);
            let mut gained = 0.0;
            for _ in 0..=random.below(MOST_KICKS) {
                gained += self.kick(&mut random);
            }
            gained += self.descend(steps);
            let (low, high) = self.touched;
            if low > high {
                continue;
            }
            let left = 1.0 - (self.tour.steps - first_step) as f64 / (steps - first_step).max(1) as f64;
            if over - gained <= allowance * left.max(0.0) {
                base[low..=high].copy_from_slice(&self.tour.visits[low..=high]);
                over -= gained;
                if over < -LEAST_GAIN {
                    best.copy_from_slice(&base);
                    over = 0.0;
                }
            } else {
                self.tour.visits[low..=high].copy_from_slice(&base[low..=high]);
                self.tour.note_places(low, high + 1);
            }
        }
        best
    }

    /// Exchanges two neighbouring stretches at random; gives back what that saves (mostly less than nothing).
    fn kick(&mut self, random: &mut Random) -> f64 {
        let inner = self.tour.last() - 1;
        let longest = LONGEST_KICK.min(inner / 2).max(1);
        for _ in 0..20 {
            let from = 1 + random.below(inner);
            let middle = from + 1 + random.below(longest);
            let to = middle + random.below(longest);
            self.tour.steps += 1;
            if let Some(change) = self.tour.exchange(from, middle, to) {
                let (low, high) = (from - 1, to + 1);
                let window = |tour: &Tour<'a, C>| {
                    let visit = |i: usize| tour.visits[i];
                    [low, middle - 1, to].iter().map(|&i| tour.costs.cost(visit(i), visit(i + 1))).sum::<f64>()
                };
                let before = window(&self.tour);
                self.carry_out(change);
                let join = low + (to + 1 - middle);
                let visit = |i: usize| self.tour.visits[i];
                let after: f64 =
                    [low, join, high - 1].iter().map(|&i| self.tour.costs.cost(visit(i), visit(i + 1))).sum();
                self.tour.steps += 6;
                return before - after;
            }
        }
        0.0
    }
}

/// Numbers that look random and are the same on every run: `splitmix64`
/// (Steele, Lea and Flood 2014).
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number below `end`, or 0.
    fn below(&mut self, end: usize) -> usize {
        (self.next() % end.max(1) as u64) as usize
    }
}
