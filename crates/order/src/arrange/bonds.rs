//! What must be sewn before what: the drawing's depth where pieces overlap, and pins.

use super::meets::Meetings;
use super::{Item, Pin};
use crate::sequence::{Precedence, Visit};
use laidwork_plan::Warning;
use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap};

/// Pairs that all pins together may ask for.
const MOST_PINNED: usize = 1_000_000;

/// The partial order of items.
#[derive(Debug)]
pub(super) struct Bonds {
    /// What comes before what, without a cycle.
    pub(super) order: Precedence,
    /// 0 for what is pinned first, 2 for what is pinned last, 1 for the rest.
    pub(super) stages: Vec<u8>,
    /// The group that each item is sewn together with.
    pub(super) groups: Vec<Option<usize>>,
}

impl Bonds {
    /// The bonds between `items`. Pins go before the drawing; of pins that
    /// contradict each other the earlier one holds.
    pub(super) fn new(items: &[Item], meetings: &Meetings, pins: &[Pin], warnings: &mut Vec<Warning>) -> Bonds {
        let stages = stages(items, pins, warnings);
        let pinned = pinned_pairs(items, pins, &stages, warnings);
        let mut broken = BTreeSet::new();
        let mut drawn = Vec::new();
        for (i, item) in items.iter().enumerate() {
            let above = |other: usize| items.get(other).is_some_and(|other| other.depth > item.depth);
            let over = meetings.of(i).iter().filter(|meeting| meeting.overlap).map(|meeting| meeting.other);
            for other in over.filter(|&other| above(other)) {
                if stages[i] <= stages[other] {
                    drawn.push((i, other));
                } else {
                    broken.insert(other);
                }
            }
        }
        let order = without_cycles(items.len(), &pinned, &drawn, &mut broken);
        for item in broken.into_iter().filter_map(|i| items.get(i)) {
            let what = "a pin has it sewn before something it is drawn over";
            warnings.push(Warning::at(item.name.clone(), what, "drop the pin if it is to lie as drawn"));
        }
        Bonds { order, stages, groups: groups(items.len(), pins) }
    }

    /// Whether an order of items keeps every bond, stage and group.
    pub(super) fn is_kept_by(&self, order: &[usize]) -> bool {
        let visits: Vec<Visit> = order.iter().map(|&item| Visit::of(item)).collect();
        let stage = |item: usize| self.stages.get(item).copied().unwrap_or(1);
        let group = |item: usize| self.groups.get(item).copied().flatten();
        let mut entered = BTreeSet::new();
        let mut before = None;
        for own in order.iter().map(|&item| group(item)) {
            if own != before && own.is_some_and(|own| !entered.insert(own)) {
                return false;
            }
            before = own;
        }
        self.order.is_kept_by(&visits) && order.iter().zip(order.iter().skip(1)).all(|(&a, &b)| stage(a) <= stage(b))
    }
}

/// The group of each item; an item in several is in the first.
fn groups(count: usize, pins: &[Pin]) -> Vec<Option<usize>> {
    let mut groups: Vec<Option<usize>> = vec![None; count];
    for (group, pin) in pins.iter().enumerate() {
        let Pin::Together(list) = pin else { continue };
        for &item in list {
            if let Some(own) = groups.get_mut(item) {
                own.get_or_insert(group);
            }
        }
    }
    groups
}

fn stages(items: &[Item], pins: &[Pin], warnings: &mut Vec<Warning>) -> Vec<u8> {
    let mut stages = vec![1; items.len()];
    for (list, stage) in pins.iter().filter_map(|pin| match pin {
        Pin::First(list) => Some((list, 0)),
        Pin::Last(list) => Some((list, 2)),
        _ => None,
    }) {
        for &item in list {
            match stages.get_mut(item) {
                Some(own) if *own != 1 && *own != stage => warnings.push(contradicted(items, item)),
                Some(own) => *own = stage,
                None => {}
            }
        }
    }
    stages
}

/// What pins ask for, without what contradicts an earlier pin.
fn pinned_pairs(items: &[Item], pins: &[Pin], stages: &[u8], warnings: &mut Vec<Warning>) -> Vec<(usize, usize)> {
    let mut kept = Precedence::new(items.len());
    let mut pairs = Vec::new();
    for pin in pins {
        if pairs.len().saturating_add(pin.most_pairs()) > MOST_PINNED {
            warnings.push(Warning::new("a pin of the order names too many shapes at once", "name fewer"));
            continue;
        }
        let asked = pin.pairs(items);
        let before = pairs.len();
        let known = asked.into_iter().filter(|&(a, b)| a.max(b) < items.len());
        let (possible, against): (Vec<_>, Vec<_>) = known.partition(|&(a, b)| stages[a] <= stages[b]);
        if let Some(&(item, _)) = against.first() {
            warnings.push(contradicted(items, item));
        }
        for (first, then) in possible {
            kept.bind(first, then);
            pairs.push((first, then));
        }
        if let Some(item) = first_in_cycle(&kept) {
            pairs.truncate(before);
            kept = Precedence::new(items.len());
            pairs.iter().for_each(|&(first, then)| kept.bind(first, then));
            warnings.push(contradicted(items, item));
        }
    }
    pairs
}

fn contradicted(items: &[Item], item: usize) -> Warning {
    let name = items.get(item).map_or(String::new(), |item| item.name.clone());
    Warning::at(name, "a pin of its order contradicts one before it", "drop one of them")
}

/// An item of a cycle, if there is one.
fn first_in_cycle(bonds: &Precedence) -> Option<usize> {
    let mut waits: Vec<usize> = (0..bonds.count()).map(|i| bonds.before(i).len()).collect();
    let mut ready: Vec<usize> = (0..bonds.count()).filter(|&i| waits[i] == 0).collect();
    while let Some(item) = ready.pop() {
        for &then in bonds.after(item) {
            waits[then] -= 1;
            if waits[then] == 0 {
                ready.push(then);
            }
        }
    }
    waits.iter().position(|&waits| waits > 0)
}

/// Both kinds of pairs, without those of the drawing that close a cycle with pins.
fn without_cycles(
    count: usize,
    pinned: &[(usize, usize)],
    drawn: &[(usize, usize)],
    broken: &mut BTreeSet<usize>,
) -> Precedence {
    let (mut pins, mut depth) = (Precedence::new(count), Precedence::new(count));
    pinned.iter().for_each(|&(a, b)| pins.bind(a, b));
    drawn.iter().for_each(|&(a, b)| depth.bind(a, b));
    let mut waits_pin: Vec<usize> = (0..count).map(|i| pins.before(i).len()).collect();
    let mut waits_all: Vec<usize> = (0..count).map(|i| waits_pin[i] + depth.before(i).len()).collect();
    let mut ready: BinaryHeap<Reverse<usize>> = (0..count).filter(|&i| waits_all[i] == 0).map(Reverse).collect();
    // Items that only the drawing holds back: where a cycle can be opened.
    let mut held: BTreeSet<usize> = (0..count).filter(|&i| waits_pin[i] == 0 && waits_all[i] > 0).collect();
    let mut place = vec![usize::MAX; count];
    let mut placed = 0;
    loop {
        let item = match ready.pop() {
            Some(Reverse(item)) => item,
            None => {
                let Some(opened) = held.pop_first() else { break };
                broken.insert(opened);
                opened
            }
        };
        if place[item] != usize::MAX {
            continue;
        }
        place[item] = placed;
        placed += 1;
        held.remove(&item);
        for &then in pins.after(item) {
            waits_pin[then] -= 1;
            waits_all[then] -= 1;
        }
        for &then in depth.after(item) {
            waits_all[then] -= 1;
        }
        for &then in pins.after(item).iter().chain(depth.after(item)).filter(|&&then| place[then] == usize::MAX) {
            if waits_all[then] == 0 {
                held.remove(&then);
                ready.push(Reverse(then));
            } else if waits_pin[then] == 0 {
                held.insert(then);
            }
        }
    }
    let mut pairs: Vec<(usize, usize)> =
        pinned.iter().chain(drawn).copied().filter(|&(a, b)| place[a] < place[b]).collect();
    pairs.sort_unstable();
    pairs.dedup();
    let mut order = Precedence::new(count);
    pairs.into_iter().for_each(|(first, then)| order.bind(first, then));
    order
}
