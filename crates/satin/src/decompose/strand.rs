//! Limbs put together into strands: the middle lines that columns follow.

use super::axis::{Axis, Chord};
use super::graph::{Graph, Limb};
use super::pairing::{LimbEnd, Pair};
use std::collections::BTreeMap;

/// A row of limbs that go on through nodes.
#[derive(Clone, Debug, Default)]
pub(crate) struct Strand {
    /// Chords in order; between two pieces lies the zone of a node.
    pub(crate) pieces: Vec<Vec<Chord>>,
    /// By which end of which limb each piece begins, and by which it ends.
    pub(crate) limbs: Vec<[LimbEnd; 2]>,
    /// The node between each piece and the next one (of a ring: also after the last).
    pub(crate) passed: Vec<usize>,
    /// The nodes it ends at; `None` for free ends.
    pub(crate) nodes: [Option<usize>; 2],
    /// Comes back to its beginning.
    pub(crate) closed: bool,
}

impl Strand {
    /// Length of its limbs and of the zones between them, mm.
    pub(crate) fn length(&self, axis: &Axis) -> f64 {
        let middles: Vec<_> = self.pieces.iter().flatten().map(|c| axis.middle(*c)).collect();
        crate::line::length(&middles)
    }
}

/// The strands that limbs make when they are joined pair by pair.
pub(crate) fn strands(graph: &Graph, pairs: &[Pair]) -> Vec<Strand> {
    let mut partner: BTreeMap<LimbEnd, (LimbEnd, usize)> = BTreeMap::new();
    for pair in pairs {
        let [a, b] = pair.ends;
        partner.insert(a, (b, pair.node));
        partner.insert(b, (a, pair.node));
    }
    let mut used = vec![false; graph.limbs.len()];
    let mut found = Vec::new();
    // From limbs with an end that is not paired, then round the rings that are left.
    for rings in [false, true] {
        for index in 0..graph.limbs.len() {
            if used[index] {
                continue;
            }
            let start = if rings { Some(0) } else { [0, 1].into_iter().find(|e| !partner.contains_key(&(index, *e))) };
            if let Some(start) = start {
                found.push(follow(graph, &partner, (index, start), &mut used));
            }
        }
    }
    found
}

fn follow(graph: &Graph, partner: &BTreeMap<LimbEnd, (LimbEnd, usize)>, start: LimbEnd, used: &mut [bool]) -> Strand {
    let node_at = |(limb, end): LimbEnd| graph.limbs.get(limb).and_then(|l| l.nodes[end]);
    let mut strand = Strand { nodes: [node_at(start), None], ..Strand::default() };
    let mut entered = start;
    loop {
        let Some(limb) = graph.limbs.get(entered.0) else { return strand };
        used[entered.0] = true;
        strand.pieces.push(chords_from(limb, entered.1));
        let left_by = (entered.0, 1 - entered.1);
        strand.limbs.push([entered, left_by]);
        if limb.closed {
            strand.closed = true;
            return strand;
        }
        match partner.get(&left_by) {
            Some(&(next, node)) => {
                strand.passed.push(node);
                if used[next.0] {
                    strand.closed = true;
                    strand.nodes = [None; 2];
                    return strand;
                }
                entered = next;
            }
            None => {
                strand.nodes[1] = node_at(left_by);
                return strand;
            }
        }
    }
}

fn chords_from(limb: &Limb, end: usize) -> Vec<Chord> {
    match end {
        0 => limb.chords.clone(),
        _ => limb.chords.iter().rev().map(|c| c.flipped()).collect(),
    }
}
