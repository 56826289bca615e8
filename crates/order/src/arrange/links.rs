//! What it costs to sew one piece right after another: the sewing order as the
//! solver sees it.
//!
//! Every pair of pieces of one thread that are near, meet, or lie under a
//! common later cover has its cost worked out beforehand over all their gates.
//! Any other pair costs a trim, or a change of thread.

use super::bonds::Bonds;
use super::gates::Route;
use super::meets::Meetings;
use super::runs::Run;
use super::{Item, Passage};
use crate::sequence::{Precedence, Transitions, Visit};
use laidwork_plan::{Point, Rect};
use rayon::prelude::*;
use rstar::RTree;
use rstar::primitives::{GeomWithData, Rectangle};
use std::collections::BTreeSet;

/// What going back to an earlier stage, or into a group once more, costs: more than any order saves.
const FORBIDDEN: f64 = 1e7;

/// Nearest pieces of the same thread that are looked at.
const NEAREST: usize = 8;

/// Pieces under a cover that are linked with each other, nearest first.
const UNDER_COVER: usize = 6;

/// When there are so many links, and so many more for each piece, those under covers are left out: where hundreds of pieces
/// lie over each other one way is as good as the next.
const ENOUGH: usize = 200_000;
const ENOUGH_EACH: usize = 50;

/// The costs between items, and two virtual ends that cost nothing.
#[derive(Debug)]
pub(super) struct Links<'a> {
    items: &'a [Item],
    bonds: &'a Bonds,
    order: Precedence,
    route: &'a Route<'a>,
    bounds: Vec<Rect>,
    /// For each item those it can be linked with, by index, and the cost for
    /// each way round: (as is, as is), (as is, flipped), (flipped, as is), (flipped, flipped).
    table: Vec<Vec<(usize, [f64; 4])>>,
    near_after: Vec<Vec<usize>>,
    near_before: Vec<Vec<usize>>,
}

impl<'a> Links<'a> {
    pub(super) fn new(
        items: &'a [Item],
        meetings: &Meetings,
        route: &'a Route<'a>,
        bonds: &'a Bonds,
        runs: &[Run],
    ) -> Links<'a> {
        let count = items.len();
        let mut rank = vec![0; count];
        for (i, run) in runs.iter().enumerate() {
            run.items.iter().for_each(|&item| rank[item] = i);
        }
        let bounds: Vec<Rect> = (0..count).map(|item| bounds_of(items, route, item)).collect();
        let near = near_pairs(items, &bounds, meetings);
        let mut links = Links {
            items,
            bonds,
            order: with_ends(&bonds.order),
            route,
            bounds,
            table: vec![Vec::new(); count],
            near_after: vec![Vec::new(); count + 2],
            near_before: vec![Vec::new(); count + 2],
        };
        // What comes after an item is in order.
        let is_bound = |a: usize, b: usize| bonds.order.after(a).binary_search(&b).is_ok();
        let cost = |&(a, b): &(usize, usize)| {
            let later = |c: usize| rank[c] > rank[a].max(rank[b]) || is_bound(a, c) && is_bound(b, c);
            (!is_bound(b, a)).then(|| (a, b, links.worked_out(a, b, later)))
        };
        let costs: Vec<_> = near.par_iter().filter_map(cost).collect();
        for (a, b, costs) in costs {
            links.table[a].push((b, costs));
        }
        links.sort_neighbours();
        links
    }

    /// The bonds of items and virtual ends.
    pub(super) fn bonds(&self) -> &Precedence {
        &self.order
    }

    fn worked_out(&self, a: usize, b: usize, later: impl Fn(usize) -> bool) -> [f64; 4] {
        let hiding = self.route.hiding(a, b, later);
        [(false, false), (false, true), (true, false), (true, true)].map(|(from, to)| {
            if (from && !self.is_through(a)) || (to && !self.is_through(b)) {
                return f64::INFINITY;
            }
            let (exits, entries) = (self.route.oriented(a, from, false), self.route.oriented(b, to, true));
            let links = self.route.links(exits, entries, &hiding);
            links.iter().map(|link| link.seconds).fold(f64::INFINITY, f64::min)
        })
    }

    fn is_through(&self, item: usize) -> bool {
        self.items.get(item).is_some_and(|item| item.passage == Passage::Through)
    }

    fn sort_neighbours(&mut self) {
        for list in &mut self.table {
            list.sort_by_key(|entry| entry.0);
        }
        let least = |costs: &[f64; 4]| costs.iter().copied().fold(f64::INFINITY, f64::min);
        let mut before: Vec<Vec<(f64, usize)>> = vec![Vec::new(); self.table.len()];
        for (a, list) in self.table.iter().enumerate() {
            let mut after: Vec<(f64, usize)> = list.iter().map(|(b, costs)| (least(costs), *b)).collect();
            after.iter().for_each(|&(cost, b)| before[b].push((cost, a)));
            self.near_after[a] = cheapest(&mut after);
        }
        for (near, mut list) in self.near_before.iter_mut().zip(before) {
            *near = cheapest(&mut list);
        }
    }

    /// A first sequence: run by run, always on to the cheapest neighbour that is ready.
    pub(super) fn first_sequence(&self, runs: &[Run]) -> Vec<Visit> {
        let count = self.items.len();
        let mut waits: Vec<usize> = (0..count).map(|item| self.bonds.order.before(item).len()).collect();
        let mut sequence = vec![Visit::of(count)];
        for run in runs {
            // Groups stay in one go: each stretch of one group is a run of its own here.
            for stretch in run.items.chunk_by(|&a, &b| self.group(a) == self.group(b)) {
                let mut left: BTreeSet<(u8, usize)> = stretch.iter().map(|&item| (self.stage(item), item)).collect();
                while let Some(&(stage, first)) = left.first() {
                    let here = sequence.last().copied().unwrap_or(Visit::of(count));
                    let ready = |item: &usize| waits[*item] == 0 && left.contains(&(stage, *item));
                    let near = self.near_after(here.node).iter().copied().filter(|item| ready(item));
                    let next = near.flat_map(|item| self.ways(item));
                    let next = next.min_by(|&a, &b| self.cost(here, a).total_cmp(&self.cost(here, b)));
                    let any = || {
                        let mut of_stage = left.iter().take_while(|item| item.0 == stage).map(|item| item.1);
                        Visit::of(of_stage.find(|&item| waits[item] == 0).unwrap_or(first))
                    };
                    let next = next.unwrap_or_else(any);
                    left.remove(&(self.stage(next.node), next.node));
                    for &then in self.bonds.order.after(next.node) {
                        waits[then] = waits[then].saturating_sub(1);
                    }
                    sequence.push(next);
                }
            }
        }
        sequence.push(Visit::of(count + 1));
        sequence
    }

    fn ways(&self, item: usize) -> impl Iterator<Item = Visit> + use<> {
        let flips: &'static [bool] = if self.is_through(item) { &[false, true] } else { &[false] };
        flips.iter().map(move |&flipped| Visit { node: item, flipped })
    }

    /// The items of a sequence, without its virtual ends.
    pub(super) fn items_of(&self, sequence: &[Visit]) -> Vec<usize> {
        sequence.iter().map(|visit| visit.node).filter(|&node| node < self.items.len()).collect()
    }

    fn group(&self, item: usize) -> Option<usize> {
        self.bonds.groups.get(item).copied().flatten()
    }

    fn stage(&self, item: usize) -> u8 {
        self.bonds.stages.get(item).copied().unwrap_or(1)
    }
}

impl Transitions for Links<'_> {
    fn count(&self) -> usize {
        self.items.len() + 2
    }

    fn cost(&self, from: Visit, to: Visit) -> f64 {
        let (a, b) = (from.node, to.node);
        let count = self.items.len();
        if b >= count {
            return 0.0;
        }
        let entered = self.group(b).is_some() && (a >= count || self.group(a) != self.group(b));
        let mut cost = if entered { FORBIDDEN } else { 0.0 };
        if a >= count {
            return cost;
        }
        if self.stage(a) > self.stage(b) {
            cost += FORBIDDEN;
        }
        let known = self.table[a].binary_search_by_key(&b, |entry| entry.0).ok();
        let seconds = match known.and_then(|i| self.table[a].get(i)) {
            Some((_, costs)) => costs[2 * usize::from(from.flipped) + usize::from(to.flipped)],
            None => {
                let gap = gap_between(self.bounds[a], self.bounds[b]);
                if self.route.is_same_thread(a, b) { self.route.cut(gap) } else { self.route.change(gap).seconds }
            }
        };
        cost + seconds
    }

    fn near_after(&self, node: usize) -> &[usize] {
        self.near_after.get(node).map_or(&[], Vec::as_slice)
    }

    fn near_before(&self, node: usize) -> &[usize] {
        self.near_before.get(node).map_or(&[], Vec::as_slice)
    }

    fn can_flip(&self, node: usize) -> bool {
        self.is_through(node)
    }
}

fn cheapest(list: &mut [(f64, usize)]) -> Vec<usize> {
    list.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    list.iter().take(2 * NEAREST).map(|entry| entry.1).collect()
}

/// The same bonds with room for two virtual ends.
fn with_ends(order: &Precedence) -> Precedence {
    let mut all = Precedence::new(order.count() + 2);
    for item in 0..order.count() {
        order.after(item).iter().for_each(|&then| all.bind(item, then));
    }
    all
}

fn bounds_of(items: &[Item], route: &Route<'_>, item: usize) -> Rect {
    let region = items.get(item).and_then(|item| item.region.bounds()).filter(|bounds| bounds.is_finite());
    let gates = route.gates(item).iter().map(|&gate| Rect::from_points(gate, gate));
    region.into_iter().chain(gates).reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO)
}

/// Distance between two rectangles, mm; 0 where they overlap.
fn gap_between(a: Rect, b: Rect) -> f64 {
    let x = (b.x0 - a.x1).max(a.x0 - b.x1).max(0.0);
    let y = (b.y0 - a.y1).max(a.y0 - b.y1).max(0.0);
    x.hypot(y)
}

type Entry = GeomWithData<Rectangle<[f64; 2]>, usize>;

/// Pairs (from, to) of one thread whose cost is worth working out.
fn near_pairs(items: &[Item], bounds: &[Rect], meetings: &Meetings) -> Vec<(usize, usize)> {
    let mut pairs = Pairs::default();
    let join = |pairs: &mut Pairs, a: usize, b: usize| {
        if a != b && items[a].thread == items[b].thread {
            pairs.add(a, b);
        }
    };
    let mut threads: Vec<usize> = items.iter().map(|item| item.thread).collect();
    threads.sort_unstable();
    threads.dedup();
    let mut by_thread: Vec<Vec<Entry>> = vec![Vec::new(); threads.len()];
    for (i, b) in bounds.iter().enumerate() {
        if let Ok(thread) = threads.binary_search(&items[i].thread) {
            by_thread[thread].push(Entry::new(Rectangle::from_corners([b.x0, b.y0], [b.x1, b.y1]), i));
        }
    }
    for entries in by_thread {
        let index = RTree::bulk_load(entries);
        let own: Vec<usize> = index.iter().map(|entry| entry.data).collect();
        let about = |&item: &usize| {
            let middle = bounds[item].center();
            let near = index.nearest_neighbor_iter([middle.x, middle.y]).take(NEAREST + 1);
            near.map(|near| (item, near.data)).collect::<Vec<_>>()
        };
        let near: Vec<(usize, usize)> = own.par_iter().flat_map_iter(about).collect();
        near.into_iter().for_each(|(a, b)| join(&mut pairs, a, b));
    }
    let enough = ENOUGH + ENOUGH_EACH * items.len();
    for (i, item) in items.iter().enumerate() {
        let meets = meetings.of(i);
        for meeting in meets.iter().take(64) {
            join(&mut pairs, i, meeting.other);
        }
        if item.hides && meets.len() > 1 && pairs.len() < enough {
            // No other of a thread, no link.
            let mut own: Vec<usize> = meets.iter().map(|meeting| items[meeting.other].thread).collect();
            own.sort_unstable();
            let is_alone = |thread: usize| {
                let first = own.partition_point(|&other| other < thread);
                own.get(first + 1).is_none_or(|&next| next != thread)
            };
            let at = |p: Point| [p.x, p.y];
            let places = meets.iter().map(|meeting| GeomWithData::new(at(meeting.at), meeting.other)).collect();
            let places: RTree<GeomWithData<[f64; 2], usize>> = RTree::bulk_load(places);
            for meeting in meets.iter().filter(|meeting| !is_alone(items[meeting.other].thread)) {
                let own = items[meeting.other].thread;
                let near = places.nearest_neighbor_iter([meeting.at.x, meeting.at.y]).take(8 * UNDER_COVER);
                for other in near.filter(|other| items[other.data].thread == own).take(UNDER_COVER + 1) {
                    join(&mut pairs, meeting.other, other.data);
                }
            }
        }
    }
    pairs.both_ways()
}

/// Pairs of items, each but once.
#[derive(Debug, Default)]
struct Pairs {
    /// The lower one first; those before `settled` are in order.
    list: Vec<(usize, usize)>,
    settled: usize,
}

/// So many pairs more are kept before they are looked through for repeats.
const UNSETTLED: usize = 100_000;

impl Pairs {
    fn add(&mut self, a: usize, b: usize) {
        self.list.push((a.min(b), a.max(b)));
        if self.list.len() > 2 * self.settled + UNSETTLED {
            self.settle();
        }
    }

    fn settle(&mut self) {
        self.list.sort_unstable();
        self.list.dedup();
        self.settled = self.list.len();
    }

    /// How many there are at most.
    fn len(&self) -> usize {
        self.list.len()
    }

    /// Every pair and its reverse, in order.
    fn both_ways(mut self) -> Vec<(usize, usize)> {
        self.settle();
        let mut pairs: Vec<(usize, usize)> = self.list.iter().flat_map(|&(a, b)| [(a, b), (b, a)]).collect();
        pairs.sort_unstable();
        pairs
    }
}
