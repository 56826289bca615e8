//! A lower bound on the time of any order that keeps the drawing's depth.
//!
//! Every item but those that begin a run is reached from one of its own thread,
//! at no less than the cheapest link that any could offer; runs begin as often
//! as threads must change at least. One change more costs more than any link
//! saves, so the sum holds for every order. Travel hidden by a cover is taken
//! to cost nothing here.

use super::meets::Meetings;
use super::runs::fewest_changes;
use super::{Costs, Item};
use crate::sequence::Precedence;
use laidwork_plan::Rect;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};
use std::collections::BTreeMap;

/// The least time that any order takes, s.
pub(super) fn lower_bound(items: &[Item], meetings: &Meetings, costs: &Costs) -> f64 {
    let mut order = Precedence::new(items.len());
    for (i, item) in items.iter().enumerate() {
        let above = |other: usize| items.get(other).is_some_and(|other| other.depth > item.depth);
        meetings.of(i).iter().filter(|m| m.overlap && above(m.other)).for_each(|m| order.bind(i, m.other));
    }
    let threads: Vec<usize> = items.iter().map(|item| item.thread).collect();
    let changes = fewest_changes(&threads, &order);
    let mut links = cheapest_links(items, meetings, costs);
    links.sort_by(|a, b| b.total_cmp(a));
    let own: f64 = items.iter().map(|item| item.seconds).sum();
    let reached: f64 = links.iter().skip(changes + 1).sum();
    own + reached + costs.trim + changes as f64 * (costs.thread_change + costs.trim)
}

type Entry = GeomWithData<Rectangle<[f64; 2]>, usize>;

/// For each item at least what any item of its thread must pay to reach it: a
/// trim when none is near and nothing could hide the way.
fn cheapest_links(items: &[Item], meetings: &Meetings, costs: &Costs) -> Vec<f64> {
    let mut by_thread: BTreeMap<usize, Vec<Entry>> = BTreeMap::new();
    let bounds: Vec<Option<Rect>> = items.iter().map(reach).collect();
    for (i, (item, bounds)) in items.iter().zip(&bounds).enumerate() {
        if let Some(b) = bounds {
            let corners = Rectangle::from_corners([b.x0, b.y0], [b.x1, b.y1]);
            by_thread.entry(item.thread).or_default().push(Entry::new(corners, i));
        }
    }
    let index: BTreeMap<usize, RTree<Entry>> =
        by_thread.into_iter().map(|(thread, entries)| (thread, RTree::bulk_load(entries))).collect();
    let least = |(i, item): (usize, &Item)| {
        let may_hide = item.hides && !meetings.of(i).is_empty()
            || meetings.of(i).iter().any(|m| items.get(m.other).is_some_and(|other| other.hides));
        let Some(b) = bounds[i].filter(|_| !may_hide) else { return 0.0 };
        let near = costs.trim_over.max(0.3);
        let around = AABB::from_corners([b.x0 - near, b.y0 - near], [b.x1 + near, b.y1 + near]);
        let mut found = index.get(&item.thread).into_iter().flat_map(|t| t.locate_in_envelope_intersecting(around));
        if found.any(|entry| entry.data != i) { 0.0 } else { costs.trim }
    };
    items.iter().enumerate().map(least).collect()
}

/// Where an item may begin or end: its bounds with all its gates.
fn reach(item: &Item) -> Option<Rect> {
    let gates = item.gates.iter().filter(|gate| gate.is_finite()).map(|&gate| Rect::from_points(gate, gate));
    let region = item.region.bounds().filter(|bounds| bounds.is_finite());
    // An item without either begins at the origin.
    region.into_iter().chain(gates).reduce(|a, b| a.union(b)).or(Some(Rect::ZERO))
}
