//! Chains written out as the pieces and passes of a plan.

use super::chain::{Chain, Needle};
use super::tie::{tie_in, tie_off};
use super::{Gap, Head, JoinSettings, Joined, UnjoinedPiece, names};
use laidwork_plan::{Pass, PassKind, Piece, Plan, Thread, Warning};

/// The passes of each of `pieces` pieces: `chains` with `gaps` between them.
pub(super) fn passes(chains: &[Chain], gaps: &[Gap], pieces: usize, settings: &JoinSettings) -> Vec<Vec<Pass>> {
    let mut sewn: Vec<Vec<Pass>> = vec![Vec::new(); pieces];
    let mut before = Gap::Trim;
    for (i, chain) in chains.iter().enumerate() {
        let after = gaps.get(i).copied().unwrap_or(Gap::Trim);
        for (piece, pass) in chain_passes(chain, before, after, settings) {
            if let Some(passes) = sewn.get_mut(piece) {
                passes.push(pass);
            }
        }
        before = after;
    }
    sewn
}

/// The passes of one chain, each with the index of its piece.
fn chain_passes(chain: &Chain, before: Gap, after: Gap, settings: &JoinSettings) -> Vec<(usize, Pass)> {
    let (Some(&first), Some(&last)) = (chain.needles.first(), chain.needles.last()) else { return Vec::new() };
    let places = || chain.needles.iter().map(|needle| needle.at);
    let mut passes = Vec::new();
    let mut rest = chain.needles.as_slice();
    if before == Gap::Trim && !chain.manual {
        // The tie ends on the first needle point and stands for it.
        let mut tie = Pass::new(PassKind::Tie, tie_in(places(), settings));
        tie.stop = first.stop;
        passes.push((first.piece, tie));
        rest = rest.get(1..).unwrap_or_default();
    }
    for needles in rest.chunk_by(goes_on) {
        passes.extend(pass_of(needles));
    }
    if after == Gap::Trim && !chain.manual {
        let tie = Pass::new(PassKind::Tie, tie_off(places().rev(), settings));
        let halts = passes.last_mut().is_some_and(|(_, pass)| std::mem::take(&mut pass.stop));
        passes.push((last.piece, Pass { stop: halts, ..tie }));
    }
    if let Some((_, pass)) = passes.first_mut() {
        pass.jumps = pass.points.first().copied().into_iter().collect();
    }
    if let Some((_, pass)) = passes.last_mut() {
        pass.trim = after == Gap::Trim;
    }
    passes
}

/// Whether `b` belongs to the same pass as `a` before it.
fn goes_on(a: &Needle, b: &Needle) -> bool {
    a.piece == b.piece && a.pass == b.pass && !a.stop
}

/// The pass of needle points that belong together.
fn pass_of(needles: &[Needle]) -> Option<(usize, Pass)> {
    let (first, last) = (needles.first()?, needles.last()?);
    let pass = Pass::new(first.kind, needles.iter().map(|needle| needle.at).collect());
    Some((first.piece, Pass { stop: last.stop, ..pass }))
}

/// The plan of `pieces` sewn as `sewn`; a warning for each of which nothing is left.
pub(super) fn plan(
    pieces: Vec<UnjoinedPiece>,
    head: Head,
    sewn: Vec<Vec<Pass>>,
    warnings: &mut Vec<Warning>,
) -> Joined {
    let mut threads = Threads { known: head.threads, places: Vec::new(), in_order: Vec::new() };
    let mut sources = Vec::with_capacity(pieces.len());
    threads.places.resize(threads.known.len(), None);
    let mut plan = Plan {
        title: head.title.as_deref().and_then(names::clean_or_none),
        drawing: head.drawing,
        hoop: head.hoop,
        ..Plan::default()
    };
    for (index, (piece, passes)) in pieces.into_iter().zip(sewn).enumerate() {
        let name = names::clean(&piece.name);
        if piece.thread >= threads.known.len() {
            warnings.push(Warning::at(name, "its thread is not in the list, so it is not sewn", "give it another"));
        } else if passes.is_empty() {
            let what = "it holds no stitch that is long enough, so it is not sewn";
            warnings.push(Warning::at(name, what, "make it larger or skip it in the recipe"));
        } else if let Some(thread) = threads.place_of(piece.thread) {
            plan.pieces.push(Piece { name, method: piece.method, thread, passes });
            sources.push(index);
        }
    }
    let mut used: Vec<(usize, usize)> =
        threads.places.iter().enumerate().filter_map(|(known, place)| Some(((*place)?, known))).collect();
    used.sort_unstable();
    plan.threads = threads.in_order;
    Joined { plan, pieces: sources, threads: used.into_iter().map(|(_, known)| known).collect() }
}

/// Threads, put into the order of first use.
struct Threads {
    known: Vec<Thread>,
    places: Vec<Option<usize>>,
    in_order: Vec<Thread>,
}

impl Threads {
    /// Place of a known thread in the plan; the first call gives it one.
    fn place_of(&mut self, thread: usize) -> Option<usize> {
        let place = self.places.get_mut(thread)?;
        if place.is_none() {
            let known = self.known.get(thread)?.clone();
            let name = known.name.as_deref().and_then(names::clean_or_none);
            *place = Some(self.in_order.len());
            self.in_order.push(Thread { color: known.color, name });
        }
        *place
    }
}
