//! A limited palette: at most so many threads of a chart for a whole design.
//!
//! What: choose at most `n` threads and give every wanted colour the nearest of
//! them, so that the sum of differences, each weighted by how much of its
//! colour is sewn, is least. This is the discrete p-median problem. How: threads
//! that no wanted colour has any use for are dropped; when few enough choices
//! remain all are tried and the answer is exact; otherwise threads are added
//! greedily and then swapped while that helps, as in partitioning around medoids
//! (Kaufman and Rousseeuw, *Finding Groups in Data*, 1990; from memory).
//! Deterministic: costs are whole numbers, ties go to the earlier code.
//! Complexity: exact `C(threads, n) x colours` up to 4 million steps; else
//! `n x threads x colours` a round, at most 50 rounds.

use crate::{Chart, Lab, lab_difference, nearest::rank};
use laidwork_plan::Color;

/// A colour of the design.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// The colour.
    pub color: Color,
    /// How much of it there is, in any unit: laid thread, say, or area. Not below 0.
    pub weight: f64,
}

/// The chosen threads and who uses which.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitedPalette {
    /// Indices into [`Chart::threads`], in the order of their codes. Every one is used.
    pub threads: Vec<usize>,
    /// For every wanted colour its thread, an index into [`Chart::threads`].
    pub uses: Vec<usize>,
    /// For every wanted colour the CIEDE2000 to its thread.
    pub differences: Vec<f64>,
    /// True when no other choice has a smaller weighted sum of differences.
    pub exact: bool,
}

/// Exact search is tried when it takes at most this many steps.
const EXACT_STEPS: u64 = 4_000_000;

/// Rounds of swaps after which the search rests.
const ROUNDS: usize = 50;

/// Chooses at most `most` threads of `chart` for the `wanted` colours. `None`
/// when there is nothing to choose from: `most` is 0 or the chart is empty.
pub fn limited_palette(chart: &Chart, wanted: &[Wanted], most: usize) -> Option<LimitedPalette> {
    if most == 0 || chart.threads().is_empty() {
        return None;
    }
    let costs = Costs::new(chart, wanted);
    let most = most.min(costs.candidates.len());
    let exact = steps(costs.candidates.len(), most, wanted.len()).is_some_and(|steps| steps <= EXACT_STEPS);
    let chosen = if exact { costs.best_of_all(most) } else { costs.add_and_swap(most) };
    Some(costs.palette(&chosen, exact))
}

/// Steps that trying all choices takes, unless they are beyond counting.
fn steps(threads: usize, most: usize, colors: usize) -> Option<u64> {
    let mut choices: u64 = 1;
    for i in 0..most as u64 {
        choices = choices.checked_mul(threads as u64 - i)? / (i + 1);
    }
    choices.checked_mul(colors.max(1) as u64)
}

/// What every thread costs every colour, in whole numbers.
struct Costs {
    /// Threads worth choosing, indices into the chart, in the order of their codes.
    candidates: Vec<usize>,
    /// For every candidate the cost to every wanted colour.
    rows: Vec<Vec<u64>>,
    /// For every candidate the difference to every wanted colour.
    differences: Vec<Vec<f64>>,
}

impl Costs {
    fn new(chart: &Chart, wanted: &[Wanted]) -> Costs {
        let threads = chart.threads();
        let mut order: Vec<usize> = (0..threads.len()).collect();
        order.sort_by_key(|&i| threads.get(i).map(|thread| thread.code.as_str()));
        // Weights become whole numbers too: parts in a million of their sum, at least one.
        let sum: f64 = wanted.iter().map(|wanted| wanted.weight.max(0.0)).sum();
        let weight = |weight: f64| if sum > 0.0 { (weight.max(0.0) / sum * 1e6).round().max(1.0) as u64 } else { 1 };
        let weights: Vec<u64> = wanted.iter().map(|wanted| weight(wanted.weight)).collect();
        let colors: Vec<Lab> = wanted.iter().map(|wanted| wanted.color.into()).collect();
        let mut costs = Costs { candidates: Vec::new(), rows: Vec::new(), differences: Vec::new() };
        for i in order {
            let Some(thread) = threads.get(i) else { continue };
            let lab = Lab::from(thread.color);
            let differences: Vec<f64> = colors.iter().map(|&color| lab_difference(color, lab)).collect();
            let row = differences.iter().zip(&weights).map(|(&difference, weight)| rank(difference) * weight);
            costs.rows.push(row.collect());
            costs.differences.push(differences);
            costs.candidates.push(i);
        }
        costs.drop_dominated();
        costs
    }

    /// Drops threads that another thread serves every colour at least as well as.
    /// An optimal choice never needs them: the other may take their place.
    fn drop_dominated(&mut self) {
        let rows = &self.rows;
        let beats = |a: usize, b: usize| rows[a].iter().zip(&rows[b]).all(|(a, b)| a <= b);
        let keep: Vec<bool> = (0..rows.len())
            .map(|b| !(0..rows.len()).any(|a| a != b && beats(a, b) && (a < b || !beats(b, a))))
            .collect();
        let mut flags = keep.iter();
        self.candidates.retain(|_| flags.next() == Some(&true));
        let mut flags = keep.iter();
        self.differences.retain(|_| flags.next() == Some(&true));
        let mut flags = keep.iter();
        self.rows.retain(|_| flags.next() == Some(&true));
    }

    /// The least sum over all choices of `most` candidates.
    fn best_of_all(&self, most: usize) -> Vec<usize> {
        let colors = self.rows.first().map_or(0, Vec::len);
        let mut best = (u64::MAX, Vec::new());
        let mut chosen = Vec::with_capacity(most);
        let mut least = vec![vec![u64::MAX; colors]];
        self.try_all(most, 0, &mut chosen, &mut least, &mut best);
        best.1
    }

    /// Tries all ways to add candidates from `from` on. `least` holds, for every
    /// length of `chosen`, the cost of each colour so far.
    fn try_all(
        &self,
        most: usize,
        from: usize,
        chosen: &mut Vec<usize>,
        least: &mut Vec<Vec<u64>>,
        best: &mut (u64, Vec<usize>),
    ) {
        let now = least[chosen.len()].clone();
        if chosen.len() == most {
            let sum = now.iter().sum();
            if sum < best.0 {
                *best = (sum, chosen.clone());
            }
            return;
        }
        for next in from..=self.rows.len() - (most - chosen.len()) {
            chosen.push(next);
            let with = now.iter().zip(&self.rows[next]).map(|(a, b)| *a.min(b)).collect();
            least.push(with);
            self.try_all(most, next + 1, chosen, least, best);
            least.pop();
            chosen.pop();
        }
    }

    /// A good sum: greedy, then swaps of one chosen thread for another while they help.
    fn add_and_swap(&self, most: usize) -> Vec<usize> {
        let mut chosen: Vec<usize> = Vec::new();
        for _ in 0..most {
            let free = (0..self.rows.len()).filter(|next| !chosen.contains(next));
            let next = free.min_by_key(|&next| self.sum(chosen.iter().copied().chain([next])));
            chosen.extend(next);
        }
        for _ in 0..ROUNDS {
            let now = self.sum(chosen.iter().copied());
            let swaps = (0..chosen.len()).flat_map(|out| (0..self.rows.len()).map(move |into| (out, into)));
            let cost = |&(out, into): &(usize, usize)| {
                self.sum(chosen.iter().enumerate().map(|(i, &thread)| if i == out { into } else { thread }))
            };
            match swaps.map(|swap| (cost(&swap), swap)).min() {
                Some((sum, (out, into))) if sum < now => chosen[out] = into,
                _ => break,
            }
        }
        chosen
    }

    fn sum(&self, chosen: impl Iterator<Item = usize> + Clone) -> u64 {
        let colors = self.rows.first().map_or(0, Vec::len);
        (0..colors).map(|color| chosen.clone().map(|thread| self.rows[thread][color]).min().unwrap_or(u64::MAX)).sum()
    }

    fn palette(&self, chosen: &[usize], exact: bool) -> LimitedPalette {
        let mut chosen = chosen.to_vec();
        chosen.sort_unstable();
        let colors = self.rows.first().map_or(0, Vec::len);
        let nearest = |color: usize| chosen.iter().copied().min_by_key(|&thread| (self.rows[thread][color], thread));
        let uses: Vec<usize> = (0..colors).filter_map(nearest).collect();
        chosen.retain(|thread| uses.contains(thread));
        LimitedPalette {
            threads: chosen.iter().map(|&thread| self.candidates[thread]).collect(),
            differences: uses.iter().enumerate().map(|(color, &thread)| self.differences[thread][color]).collect(),
            uses: uses.iter().map(|&thread| self.candidates[thread]).collect(),
            exact,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ChartThread;
    use proptest::prelude::*;

    fn chart(colors: &[[u8; 3]]) -> Chart {
        let thread = |(i, &[r, g, b]): (usize, &[u8; 3])| ChartThread {
            code: format!("{i:03}"),
            name: format!("thread {i}"),
            color: Color::new(r, g, b),
            tex: None,
            left: None,
        };
        Chart::new(colors.iter().enumerate().map(thread).collect()).unwrap()
    }

    fn wanted(colors: &[([u8; 3], f64)]) -> Vec<Wanted> {
        colors.iter().map(|&([r, g, b], weight)| Wanted { color: Color::new(r, g, b), weight }).collect()
    }

    const THREADS: [[u8; 3]; 4] = [[200, 20, 20], [180, 40, 40], [20, 20, 200], [20, 160, 20]];

    #[test]
    fn enough_threads_give_everyone_its_nearest() {
        let colors = wanted(&[([201, 20, 20], 1.0), ([20, 20, 201], 1.0), ([20, 161, 20], 1.0)]);
        let palette = limited_palette(&chart(&THREADS), &colors, 9).unwrap();
        assert_eq!((palette.threads, palette.uses, palette.exact), (vec![0, 2, 3], vec![0, 2, 3], true));
    }

    #[test]
    fn weight_decides_who_gives_way() {
        let pair = |red, green| wanted(&[([200, 20, 20], red), ([20, 160, 20], green)]);
        assert_eq!(limited_palette(&chart(&THREADS), &pair(9.0, 1.0), 1).unwrap().uses, [0, 0]);
        assert_eq!(limited_palette(&chart(&THREADS), &pair(1.0, 9.0), 1).unwrap().uses, [3, 3]);
    }

    #[test]
    fn nothing_to_choose_from_gives_nothing() {
        assert_eq!(limited_palette(&chart(&THREADS), &[], 0), None);
        assert_eq!(limited_palette(&Chart::default(), &[], 3), None);
        assert_eq!(limited_palette(&chart(&THREADS), &[], 3).unwrap().threads, Vec::<usize>::new());
    }

    #[test]
    fn a_large_chart_is_searched_by_swaps() {
        let mut colors = Vec::new();
        for r in (0..=255).step_by(36) {
            for g in (0..=255).step_by(36) {
                colors.push([r as u8, g as u8, ((r + 2 * g) % 256) as u8]);
            }
        }
        let all: Vec<([u8; 3], f64)> = colors.iter().map(|&c| (c.map(|v: u8| v ^ 9), 1.0)).collect();
        let palette = limited_palette(&chart(&colors), &wanted(&all), 12).unwrap();
        assert!(!palette.exact);
        assert_eq!(palette.threads.len(), 12);
        let one = limited_palette(&chart(&colors), &wanted(&all), 1).unwrap();
        let sum = |palette: &LimitedPalette| palette.differences.iter().sum::<f64>();
        assert!(sum(&palette) < 0.5 * sum(&one), "{} of {}", sum(&palette), sum(&one));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(60))]

        #[test]
        fn swaps_are_never_far_from_the_best(
            threads in prop::collection::vec(any::<[u8; 3]>(), 1..12),
            colors in prop::collection::vec((any::<[u8; 3]>(), 0.1..10.0), 1..8),
            most in 1usize..4,
        ) {
            let costs = Costs::new(&chart(&threads), &wanted(&colors));
            let most = most.min(costs.candidates.len());
            let best = costs.sum(costs.best_of_all(most).into_iter());
            let good = costs.sum(costs.add_and_swap(most).into_iter());
            // Local search over single swaps is within five times the best sum (Arya and others, 2004).
            prop_assert!(best <= good && good <= 5 * best.max(1), "{good} for {best}");
        }

        #[test]
        fn dropping_threads_loses_nothing(
            threads in prop::collection::vec(any::<[u8; 3]>(), 1..9),
            colors in prop::collection::vec((any::<[u8; 3]>(), 0.1..10.0), 1..6),
            most in 1usize..4,
        ) {
            let (chart, colors) = (chart(&threads), wanted(&colors));
            let costs = Costs::new(&chart, &colors);
            let best = costs.sum(costs.best_of_all(most.min(costs.candidates.len())).into_iter());
            // All choices of all threads, without dropping any.
            let weights: Vec<f64> = colors.iter().map(|c| c.weight).collect();
            let sum: f64 = weights.iter().sum();
            let cost = |choice: usize| colors.iter().map(|c| {
                let weight = (c.weight / sum * 1e6).round().max(1.0) as u64;
                let nearest = (0..threads.len()).filter(|t| choice >> t & 1 == 1).map(|t| {
                    rank(crate::difference(chart.threads()[t].color, c.color))
                });
                nearest.min().unwrap() * weight
            }).sum::<u64>();
            let choices = (1usize..1 << threads.len()).filter(|choice| choice.count_ones() as usize <= most);
            let least = choices.map(cost).min().unwrap();
            prop_assert_eq!(best, least);
        }
    }
}
