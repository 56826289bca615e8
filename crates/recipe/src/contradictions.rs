//! Wishes about the order that contradict each other: the earlier one holds, and the later one is told with both lines.
//!
//! `first` stands before `last`, and both before the pairs of `before`, whatever their order in the text. What is left
//! of them contradicts nothing, so that no step after this one has to choose between wishes whose lines it does not know.

use crate::pattern::Pattern;
use crate::recipe::{Pins, Recipe, ShapeFacts};
use laidwork_plan::Warning;

/// Shapes sewn before others: the numbers of both, ascending.
type Pair = (Vec<usize>, Vec<usize>);

/// What there is to do about two that contradict each other.
const ADVICE: &str = "take one of the two out; the other one holds meanwhile";

impl Recipe {
    /// Takes out of `pins` what contradicts something before it. Takes time in proportion to the shapes and those that
    /// the pairs name; so much for each pair where some contradict each other.
    pub(crate) fn without_contradictions(
        &self,
        pins: &mut Pins,
        shapes: &[ShapeFacts<'_>],
        warnings: &mut Vec<Warning>,
    ) {
        let name = |shape: usize| shapes.get(shape).map_or("", |shape| shape.name);
        let mut stages = vec![1_u8; shapes.len()];
        put(&pins.first, 0, &mut stages);
        if let Some(both) = pins.last.iter().copied().find(|shape| stages.get(*shape) == Some(&0)) {
            let line = self.line_of(self.order.first.first());
            let what = format!("`last` picks \"{}\", which `first` in line {line} picks too", name(both));
            warnings.push(self.contradicts(self.order.last.first(), what));
        }
        pins.last.retain(|shape| stages.get(*shape) != Some(&0));
        put(&pins.last, 2, &mut stages);

        let mut pairs: Vec<(Pair, &Pattern)> = Vec::with_capacity(pins.before.len());
        for (pair, (pattern, _)) in std::mem::take(&mut pins.before).into_iter().zip(&self.order.before) {
            let Some((a, b)) = against_stages(&pair, &stages) else {
                pairs.push((pair, pattern));
                continue;
            };
            let (list, patterns) = match stages.get(b) {
                Some(0) => ("first", &self.order.first),
                _ => ("last", &self.order.last),
            };
            let line = self.line_of(patterns.first());
            let (a, b) = (name(a), name(b));
            let what = format!("`before` has \"{a}\" sewn before \"{b}\", which `{list}` in line {line} contradicts");
            warnings.push(self.contradicts(Some(pattern), what));
            pairs.extend(as_stages_allow(&pair, &stages).map(|pair| (pair, pattern)));
        }
        let all: Vec<&Pair> = pairs.iter().map(|(pair, _)| pair).collect();
        if come_back(&all, shapes.len()) {
            let mut kept: Vec<(Pair, &Pattern)> = Vec::with_capacity(pairs.len());
            for (pair, pattern) in pairs {
                let with: Vec<&Pair> = kept.iter().map(|(pair, _)| pair).chain([&pair]).collect();
                if !come_back(&with, shapes.len()) {
                    kept.push((pair, pattern));
                    continue;
                }
                let partner = kept.iter().find(|(kept, _)| meet(&kept.1, &pair.0) && meet(&kept.0, &pair.1));
                let told = match partner {
                    Some((_, other)) => format!("the pair in line {} contradicts", self.line_of(Some(other))),
                    None if pair.0 == pair.1 => "contradicts itself".to_owned(),
                    None => "several pairs before it together contradict".to_owned(),
                };
                let [a, b] = [pair.0.first(), pair.1.last()].map(|shape| shape.map_or("", |shape| name(*shape)));
                let what = format!("`before` has \"{a}\" sewn before \"{b}\", which {told}");
                warnings.push(self.contradicts(Some(pattern), what));
            }
            pairs = kept;
        }
        pins.before = pairs.into_iter().map(|(pair, _)| pair).collect();
    }

    fn line_of(&self, pattern: Option<&Pattern>) -> usize {
        pattern.map_or(1, |pattern| self.source.line(pattern.start))
    }

    fn contradicts(&self, pattern: Option<&Pattern>, what: String) -> Warning {
        Warning::at(self.source.place(pattern.map_or(0, |pattern| pattern.start)), what, ADVICE)
    }
}

/// Sewn before all others (0) or after them (2).
fn put(list: &[usize], stage: u8, stages: &mut [u8]) {
    for shape in list {
        if let Some(own) = stages.get_mut(*shape) {
            *own = stage;
        }
    }
}

/// Two shapes of a pair that the stages have the other way round.
fn against_stages(pair: &Pair, stages: &[u8]) -> Option<(usize, usize)> {
    let stage = |shape: &usize| stages.get(*shape).copied().unwrap_or(1);
    let a = *pair.0.iter().max_by_key(|shape| stage(shape))?;
    let b = *pair.1.iter().min_by_key(|shape| stage(shape))?;
    (stage(&a) > stage(&b)).then_some((a, b))
}

/// What the stages leave of a pair.
fn as_stages_allow(pair: &Pair, stages: &[u8]) -> impl Iterator<Item = Pair> {
    let of = |list: &[usize], fits: &dyn Fn(u8) -> bool| -> Vec<usize> {
        list.iter().copied().filter(|shape| fits(stages.get(*shape).copied().unwrap_or(1))).collect()
    };
    let parts = [0, 1, 2].map(|own| (of(&pair.0, &|stage| stage == own), of(&pair.1, &|stage| stage >= own)));
    parts.into_iter().filter(|(earlier, later)| !earlier.is_empty() && !later.is_empty())
}

/// Whether two ascending lists have a shape in common.
fn meet(a: &[usize], b: &[usize]) -> bool {
    a.iter().any(|shape| b.binary_search(shape).is_ok())
}

/// Whether pairs of `shapes` shapes come back to where they began. A pair is a node of its own between the shapes it
/// names, so that it costs their sum and not their product.
fn come_back(pairs: &[&Pair], shapes: usize) -> bool {
    let mut after: Vec<Vec<usize>> = vec![Vec::new(); shapes];
    let mut bind = |earlier: &mut dyn Iterator<Item = usize>, later: &mut dyn Iterator<Item = usize>| {
        let node = after.len();
        after.push(later.collect());
        for shape in earlier {
            if let Some(after) = after.get_mut(shape) {
                after.push(node);
            }
        }
    };
    for (earlier, later) in pairs {
        // A shape that both sides pick is sewn before and after the others, but not before itself.
        let both: Vec<usize> = earlier.iter().copied().filter(|shape| later.binary_search(shape).is_ok()).collect();
        match both[..] {
            [both] => {
                bind(&mut earlier.iter().copied().filter(|shape| *shape != both), &mut later.iter().copied());
                bind(&mut [both].into_iter(), &mut later.iter().copied().filter(|shape| *shape != both));
            }
            _ => bind(&mut earlier.iter().copied(), &mut later.iter().copied()),
        }
    }
    let mut waits = vec![0_usize; after.len()];
    after.iter().flatten().for_each(|then| waits[*then] += 1);
    let mut ready: Vec<usize> = (0..waits.len()).filter(|node| waits[*node] == 0).collect();
    let mut done = 0;
    while let Some(node) = ready.pop() {
        done += 1;
        for &then in &after[node] {
            waits[then] -= 1;
            if waits[then] == 0 {
                ready.push(then);
            }
        }
    }
    done < waits.len()
}
