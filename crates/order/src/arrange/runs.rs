//! The fewest changes of thread under the partial order.
//!
//! A run sews everything in one thread that can be sewn: leaving out what is
//! ready never saves a change later, so an order of runs is given by its
//! threads alone. Those are looked for level by level (one change more each),
//! keeping the most promising few states of each level: a beam search. A state
//! is judged by a lower bound on the changes still to come: the threads not
//! yet done with, and the most changes along any chain of pieces that lie over
//! one another. Where the beam is never full the result is the optimum.
//!
//! With very many items and threads one state is kept, which goes on with the
//! thread at the head of the longest chain.
//!
//! Items pinned together are sewn as one step of the search, entered when
//! nothing outside is waited for.

use super::Item;
use super::bonds::Bonds;
use crate::sequence::Precedence;
use laidwork_plan::Warning;
use std::collections::{BTreeMap, BTreeSet};

/// States kept on each level.
const WIDTH: usize = 12;

/// Items times threads above which the search keeps one state only.
const LARGE: usize = 50_000;

/// Items sewn in one thread without a change.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Run {
    pub(super) thread: usize,
    /// In an order that keeps the bonds.
    pub(super) items: Vec<usize>,
}

/// The runs of all items, in order. Groups that cannot be sewn in one go,
/// because something else must come between, get a warning.
pub(super) fn runs(items: &[Item], bonds: &Bonds, warnings: &mut Vec<Warning>) -> Vec<Run> {
    let threads: Vec<usize> = items.iter().map(|item| item.thread).collect();
    let mut groups = bonds.groups.clone();
    loop {
        let problem = Problem::new(&threads, &bonds.order, &bonds.stages, &groups);
        match problem.solve(None) {
            Ok(runs) => return runs,
            Err(stuck) if groups.iter().flatten().any(|group| stuck.contains(group)) => {
                for group in stuck {
                    let first = groups.iter().position(|own| *own == Some(group));
                    let name = first.and_then(|i| items.get(i)).map_or(String::new(), |item| item.name.clone());
                    let what = "it cannot be sewn in one go with its group: others must be sewn between";
                    warnings.push(Warning::at(name, what, "leave what lies between out of the drawing or the group"));
                    groups.iter_mut().filter(|own| **own == Some(group)).for_each(|own| *own = None);
                }
            }
            // Bonds have no cycle, so without groups there is always a way on.
            Err(_) => return Vec::new(),
        }
    }
}

/// The fewest changes of thread that any order needs, at least.
pub(super) fn fewest_changes(threads: &[usize], order: &Precedence) -> usize {
    let distinct = threads.iter().collect::<BTreeSet<_>>().len();
    chain_changes(threads, order).into_iter().max().unwrap_or(0).max(distinct.saturating_sub(1))
}

/// For each item the most changes of thread along any chain of bonds that begins with it.
fn chain_changes(threads: &[usize], order: &Precedence) -> Vec<usize> {
    let count = threads.len();
    let mut changes = vec![0; count];
    let mut waits: Vec<usize> = (0..count).map(|i| order.after(i).len()).collect();
    let mut ready: Vec<usize> = (0..count).filter(|&i| waits[i] == 0).collect();
    while let Some(item) = ready.pop() {
        for &before in order.before(item) {
            let along = changes[item] + usize::from(threads[before] != threads[item]);
            changes[before] = changes[before].max(along);
            waits[before] -= 1;
            if waits[before] == 0 {
                ready.push(before);
            }
        }
    }
    changes
}

struct Problem<'a> {
    threads: &'a [usize],
    order: &'a Precedence,
    stages: &'a [u8],
    groups: &'a [Option<usize>],
    members: BTreeMap<usize, Vec<usize>>,
    chains: Vec<usize>,
}

/// What is done so far.
#[derive(Clone, Debug)]
struct State {
    waits: Vec<u32>,
    /// Items outside groups that wait for nothing, by thread.
    ready: BTreeMap<usize, BTreeSet<usize>>,
    /// Groups and how many items outside they wait for.
    closed: BTreeMap<usize, usize>,
    /// Items of each stage, and of each thread, still to come.
    left: [usize; 3],
    left_of: BTreeMap<usize, usize>,
    /// Ready, but of a later stage.
    later: BTreeSet<usize>,
    thread: Option<usize>,
    /// Tells sets of items done apart.
    mark: u64,
    /// Last entry of the history.
    last: usize,
}

/// Runs added by one step, and the step before.
struct Step {
    before: usize,
    runs: Vec<Run>,
}

impl<'a> Problem<'a> {
    fn new(threads: &'a [usize], order: &'a Precedence, stages: &'a [u8], groups: &'a [Option<usize>]) -> Problem<'a> {
        let mut members: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (item, group) in groups.iter().enumerate() {
            if let Some(group) = group {
                members.entry(*group).or_default().push(item);
            }
        }
        Problem { threads, order, stages, groups, members, chains: chain_changes(threads, order) }
    }

    /// Runs, or the groups that can never be entered.
    fn solve(&self, thread: Option<usize>) -> Result<Vec<Run>, Vec<usize>> {
        let mut history: Vec<Step> = vec![Step { before: 0, runs: Vec::new() }];
        let start = self.start(thread);
        let distinct = start.left_of.len();
        if self.threads.len().saturating_mul(distinct) > LARGE {
            return self.solve_greedily(start);
        }
        let mut levels: BTreeMap<usize, Vec<State>> = BTreeMap::from([(0, vec![start])]);
        let mut seen = BTreeSet::new();
        let mut stuck = Vec::new();
        while let Some((level, mut states)) = levels.pop_first() {
            states.sort_by_cached_key(|state| (self.promise(state), state.left.iter().sum::<usize>(), state.last));
            states.truncate(WIDTH);
            for state in states {
                if state.left == [0; 3] {
                    return Ok(history_of(&history, state.last));
                }
                let next = self.steps(&state, &mut history);
                if next.is_empty() {
                    stuck = state.closed.keys().copied().collect();
                }
                for (changes, state) in next {
                    if seen.insert((state.mark, state.thread)) {
                        levels.entry(level + changes).or_default().push(state);
                    }
                }
            }
        }
        Err(stuck)
    }

    /// One step after the other, without a way back.
    fn solve_greedily(&self, mut state: State) -> Result<Vec<Run>, Vec<usize>> {
        let mut runs = Vec::new();
        while state.left != [0; 3] {
            let urgency = |items: &BTreeSet<usize>| items.iter().map(|&item| self.chains[item]).max();
            let best = state
                .ready
                .iter()
                .max_by(|a, b| (urgency(a.1), a.1.len()).cmp(&(urgency(b.1), b.1.len())).then(b.0.cmp(a.0)));
            if let Some((&thread, _)) = best {
                runs.extend(self.sew_all(&mut state, thread));
            } else {
                let stuck: Vec<usize> = state.closed.keys().copied().collect();
                let open = stuck.iter().copied().find(|&group| self.may_enter(&state, group));
                let Some(group) = open else { return Err(stuck) };
                runs.extend(self.sew_group(&mut state, group));
                let thread = state.thread.unwrap_or_default();
                runs.extend(self.sew_all(&mut state, thread));
            }
        }
        Ok(joined(runs))
    }

    fn start(&self, thread: Option<usize>) -> State {
        let count = self.threads.len();
        let mut state = State {
            waits: (0..count).map(|item| self.order.before(item).len() as u32).collect(),
            ready: BTreeMap::new(),
            closed: BTreeMap::new(),
            left: [0; 3],
            left_of: BTreeMap::new(),
            later: BTreeSet::new(),
            thread,
            mark: 0,
            last: 0,
        };
        for item in 0..count {
            state.left[self.stage(item)] += 1;
            *state.left_of.entry(self.threads[item]).or_default() += 1;
            if let Some(group) = self.groups[item] {
                let outside = self.order.before(item).iter().filter(|&&before| self.groups[before] != Some(group));
                *state.closed.entry(group).or_default() += outside.count();
            } else if state.waits[item] == 0 {
                state.later.insert(item);
            }
        }
        self.admit(&mut state);
        state
    }

    fn stage(&self, item: usize) -> usize {
        usize::from(self.stages[item]).min(2)
    }

    /// The earliest stage with something left.
    fn current_stage(&self, state: &State) -> usize {
        state.left.iter().position(|&left| left > 0).unwrap_or(2)
    }

    /// Makes an item that waits for nothing ready, if its stage has come.
    fn release(&self, state: &mut State, item: usize) {
        if self.stage(item) <= self.current_stage(state) {
            state.ready.entry(self.threads[item]).or_default().insert(item);
        } else {
            state.later.insert(item);
        }
    }

    /// Makes ready what waited for the stage that has come.
    fn admit(&self, state: &mut State) {
        for item in std::mem::take(&mut state.later) {
            self.release(state, item);
        }
    }

    /// Changes still to come, at least.
    fn promise(&self, state: &State) -> usize {
        let other = |thread: usize| usize::from(Some(thread) != state.thread);
        let distinct = state.left_of.keys().map(|&thread| other(thread)).sum();
        let ready = state.ready.values().flatten();
        ready.map(|&item| self.chains[item] + other(self.threads[item])).max().unwrap_or(0).max(distinct)
    }

    /// Every next state, with the changes of thread it takes.
    fn steps(&self, state: &State, history: &mut Vec<Step>) -> Vec<(usize, State)> {
        let mut next = Vec::new();
        for &thread in state.ready.keys() {
            let mut then = state.clone();
            let changes = usize::from(state.thread.is_some_and(|own| own != thread));
            let runs = self.sew_all(&mut then, thread);
            self.record(&mut then, runs, history);
            next.push((changes, then));
        }
        for (&group, _) in state.closed.iter().filter(|(group, _)| self.may_enter(state, **group)) {
            let mut then = state.clone();
            let mut runs = self.sew_group(&mut then, group);
            let first = runs.first().map(|run| run.thread);
            let entry = usize::from(state.thread.is_some() && first != state.thread);
            let changes = entry + runs.len().saturating_sub(1);
            if let Some(thread) = then.thread {
                runs.extend(self.sew_all(&mut then, thread));
            }
            self.record(&mut then, runs, history);
            next.push((changes, then));
        }
        next
    }

    fn record(&self, state: &mut State, runs: Vec<Run>, history: &mut Vec<Step>) {
        history.push(Step { before: state.last, runs });
        state.last = history.len() - 1;
    }

    fn may_enter(&self, state: &State, group: usize) -> bool {
        let stage = self.current_stage(state);
        state.closed.get(&group) == Some(&0)
            && self.members.get(&group).is_some_and(|items| items.iter().all(|&item| self.stage(item) <= stage))
    }

    /// Sews everything in one thread that is ready or becomes so, groups of that thread too.
    fn sew_all(&self, state: &mut State, thread: usize) -> Vec<Run> {
        let mut items = Vec::new();
        state.thread = Some(thread);
        loop {
            while let Some(item) = state.ready.get_mut(&thread).and_then(BTreeSet::pop_first) {
                self.finish(state, item);
                items.push(item);
            }
            state.ready.remove(&thread);
            let is_plain = |group: &usize| {
                let members = self.members.get(group);
                members.is_some_and(|items| items.iter().all(|&item| self.threads[item] == thread))
            };
            let open = state.closed.keys().copied().filter(|&group| self.may_enter(state, group)).find(is_plain);
            let Some(group) = open else { break };
            items.extend(self.sew_group(state, group).into_iter().flat_map(|run| run.items));
        }
        if items.is_empty() { Vec::new() } else { vec![Run { thread, items }] }
    }

    /// Sews a group from its first item to its last, with the fewest changes inside.
    fn sew_group(&self, state: &mut State, group: usize) -> Vec<Run> {
        let Some(members) = self.members.get(&group) else { return Vec::new() };
        let own = |item: usize| members.binary_search(&item).ok();
        let mut order = Precedence::new(members.len());
        for (i, &item) in members.iter().enumerate() {
            self.order.after(item).iter().filter_map(|&then| own(then)).for_each(|then| order.bind(i, then));
        }
        let threads: Vec<usize> = members.iter().map(|&item| self.threads[item]).collect();
        let stages: Vec<u8> = members.iter().map(|&item| self.stages[item]).collect();
        let groups = vec![None; members.len()];
        let inner = Problem::new(&threads, &order, &stages, &groups).solve(state.thread).unwrap_or_default();
        state.closed.remove(&group);
        let mut runs = Vec::new();
        for run in inner {
            let items: Vec<usize> = run.items.iter().map(|&i| members[i]).collect();
            items.iter().for_each(|&item| self.finish(state, item));
            state.thread = Some(run.thread);
            runs.push(Run { thread: run.thread, items });
        }
        runs
    }

    /// Marks an item as sewn and lets go what waited for it.
    fn finish(&self, state: &mut State, item: usize) {
        state.mark ^= mark_of(item);
        let stage = self.current_stage(state);
        state.left[self.stage(item)] -= 1;
        if let Some(left) = state.left_of.get_mut(&self.threads[item]) {
            *left -= 1;
            if *left == 0 {
                state.left_of.remove(&self.threads[item]);
            }
        }
        for &then in self.order.after(item) {
            state.waits[then] -= 1;
            match self.groups[then] {
                Some(group) if self.groups[item] != Some(group) => {
                    if let Some(waits) = state.closed.get_mut(&group) {
                        *waits -= 1;
                    }
                }
                None if state.waits[then] == 0 => self.release(state, then),
                _ => {}
            }
        }
        if self.current_stage(state) != stage {
            self.admit(state);
        }
    }
}

/// The runs of a history, neighbours of one thread joined.
fn history_of(history: &[Step], last: usize) -> Vec<Run> {
    let mut steps = Vec::new();
    let mut at = last;
    while at != 0 {
        steps.push(&history[at].runs);
        at = history[at].before;
    }
    joined(steps.into_iter().rev().flatten().cloned())
}

/// Runs, neighbours of one thread joined.
fn joined(steps: impl IntoIterator<Item = Run>) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    for run in steps {
        match runs.last_mut() {
            Some(before) if before.thread == run.thread => before.items.extend(run.items),
            _ => runs.push(run),
        }
    }
    runs
}

/// A number that tells items apart in sums (`splitmix64`).
fn mark_of(item: usize) -> u64 {
    let mut z = (item as u64).wrapping_add(1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}
