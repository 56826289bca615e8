//! The solver: the cheapest sequence of nodes under precedence.
//!
//! The problem is the sequential ordering problem (Escudero 1988): visit every
//! node once, from a fixed first to a fixed last one, at the least sum of
//! costs between neighbours, which may differ by direction, with some nodes
//! bound to come before others. Nodes may also be *flipped* (sewn from their
//! other end), which changes what it costs to reach and to leave them.
//!
//! Method: a greedy start, then local search by moves that keep every
//! precedence: a stretch moved elsewhere, turned round or not (Or 1976; with
//! stretches of any length this is the path-preserving 3-exchange of Gambardella
//! and Dorigo 2000), and a stretch turned round in place (2-opt, Croes 1958).
//! Candidates come from short lists of cheap neighbours. From each local
//! optimum the search goes on by small random exchanges that are taken back
//! when they do not pay (Lourenço, Martin and Stützle 2003). Randomness comes
//! from a fixed seed and effort is counted in steps, not in time, so the result
//! is the same on every machine.
//!
//! Precedence of a move is checked in O(1) amortised: as the moved stretch
//! grows by a node, the nearest successor (or predecessor) of the stretch is
//! kept, which bounds how far it may go.
//!
//! Errors: none. A precedence with a cycle cannot be kept: [`greedy`] breaks it
//! at the node of lowest index, and the search then keeps what can be kept.

mod moves;
mod search;

pub use search::{improve, total_cost};

/// What it costs to go from node to node.
pub trait Transitions {
    /// Number of nodes.
    fn count(&self) -> usize;

    /// The cost of `to` right after `from`.
    fn cost(&self, from: Visit, to: Visit) -> f64;

    /// Nodes that are cheap right after `node`, the cheapest first.
    fn near_after(&self, node: usize) -> &[usize];

    /// Nodes that are cheap right before `node`, the cheapest first.
    fn near_before(&self, node: usize) -> &[usize];

    /// Whether flipping changes anything for this node.
    fn can_flip(&self, node: usize) -> bool {
        let _ = node;
        false
    }

    /// Whether a sequence costs the same backwards, with every node flipped.
    fn is_symmetric(&self) -> bool {
        false
    }
}

/// A node in a sequence.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Visit {
    /// The node.
    pub node: usize,
    /// Whether it is passed from its other end.
    pub flipped: bool,
}

impl Visit {
    /// A node as it stands.
    pub fn of(node: usize) -> Visit {
        Visit { node, flipped: false }
    }

    /// The same node the other way round.
    pub fn reversed(self) -> Visit {
        Visit { flipped: !self.flipped, ..self }
    }
}

/// Which nodes must come before which.
#[derive(Clone, Debug, Default)]
pub struct Precedence {
    after: Vec<Vec<usize>>,
    before: Vec<Vec<usize>>,
    bonds: usize,
}

impl Precedence {
    /// No bonds between `count` nodes.
    pub fn new(count: usize) -> Precedence {
        Precedence { after: vec![Vec::new(); count], before: vec![Vec::new(); count], bonds: 0 }
    }

    /// Binds `first` to come before `then`. Bonds of a node to itself or to none are left out.
    pub fn bind(&mut self, first: usize, then: usize) {
        if first == then || first.max(then) >= self.after.len() {
            return;
        }
        if let (Some(after), Some(before)) = (self.after.get_mut(first), self.before.get_mut(then)) {
            after.push(then);
            before.push(first);
            self.bonds += 1;
        }
    }

    /// Number of nodes.
    pub fn count(&self) -> usize {
        self.after.len()
    }

    /// Whether nothing is bound.
    pub fn is_empty(&self) -> bool {
        self.bonds == 0
    }

    /// The nodes bound directly to come after `node`.
    pub fn after(&self, node: usize) -> &[usize] {
        self.after.get(node).map_or(&[], Vec::as_slice)
    }

    /// The nodes bound directly to come before `node`.
    pub fn before(&self, node: usize) -> &[usize] {
        self.before.get(node).map_or(&[], Vec::as_slice)
    }

    /// Whether a sequence keeps every bond between its nodes.
    pub fn is_kept_by(&self, sequence: &[Visit]) -> bool {
        let mut place = vec![usize::MAX; self.count()];
        for (i, visit) in sequence.iter().enumerate() {
            if let Some(place) = place.get_mut(visit.node) {
                *place = i;
            }
        }
        let at = |node: usize| place.get(node).copied().unwrap_or(usize::MAX);
        (0..self.count()).all(|node| self.after(node).iter().all(|&then| at(node) < at(then) || at(node) == usize::MAX))
    }
}

/// A start for [`improve`]: from `first` on always the cheapest node whose
/// predecessors are all placed, `last` at the end. Takes O(n²) steps.
pub fn greedy(costs: &impl Transitions, bonds: &Precedence, first: usize, last: usize) -> Vec<Visit> {
    let count = costs.count();
    let mut waits: Vec<usize> = (0..count).map(|node| bonds.before(node).len()).collect();
    let mut left: Vec<usize> = (0..count).filter(|&node| node != first && node != last).collect();
    let mut sequence = vec![Visit::of(first)];
    let release = |node: usize, waits: &mut Vec<usize>| {
        for &then in bonds.after(node) {
            if let Some(waits) = waits.get_mut(then) {
                *waits = waits.saturating_sub(1);
            }
        }
    };
    release(first, &mut waits);
    let mut here = Visit::of(first);
    while !left.is_empty() {
        let ready = |node: usize| waits.get(node).is_none_or(|&waits| waits == 0);
        let ways = left.iter().enumerate().filter(|&(_, &node)| ready(node)).flat_map(|(at, &node)| {
            let flips: &[bool] = if costs.can_flip(node) { &[false, true] } else { &[false] };
            flips.iter().map(move |&flipped| (at, Visit { node, flipped }))
        });
        let best = ways.min_by(|a, b| costs.cost(here, a.1).total_cmp(&costs.cost(here, b.1)).then(a.1.cmp(&b.1)));
        // Without a ready node the bonds form a cycle.
        let (at, next) = best.unwrap_or((0, Visit::of(left[0])));
        left.remove(at);
        release(next.node, &mut waits);
        sequence.push(next);
        here = next;
    }
    if last != first {
        sequence.push(Visit::of(last));
    }
    sequence
}
