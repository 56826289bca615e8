//! Nearest threads of a chart, and substitutes for one that ran out.

use crate::{Chart, Difference, Lab, lab_difference};
use laidwork_plan::Color;

/// A thread of a chart beside the colour that was wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Match {
    /// Index into [`Chart::threads`].
    pub thread: usize,
    /// CIEDE2000.
    pub difference: f64,
    /// The difference in words.
    pub words: Difference,
}

/// A difference in ten-thousandths: threads that agree in it count as equally
/// near, so that the last bits of a platform's mathematics decide nothing.
pub(crate) fn rank(difference: f64) -> u64 {
    (difference * 1e4).round() as u64
}

/// The `most` threads of `chart` nearest to `color`, the nearest first; threads
/// equally near (to 0.0001) in the order of their codes. Linear in the chart.
pub fn nearest(chart: &Chart, color: Color, most: usize) -> Vec<Match> {
    let wanted = Lab::from(color);
    ranked(chart, most, |_| true, |thread| lab_difference(wanted, thread))
}

/// Threads that may stand in for thread `index` of `chart`: at most `most`
/// others whose difference is at most `difference`, the nearest first.
pub fn substitutes(chart: &Chart, index: usize, difference: f64, most: usize) -> Vec<Match> {
    let Some(gone) = chart.threads().get(index) else { return Vec::new() };
    let wanted = Lab::from(gone.color);
    let mut found = ranked(chart, most, |other| other != index, |thread| lab_difference(wanted, thread));
    found.retain(|found| found.difference <= difference);
    found
}

fn ranked(chart: &Chart, most: usize, keep: impl Fn(usize) -> bool, difference: impl Fn(Lab) -> f64) -> Vec<Match> {
    let threads = chart.threads();
    let matches = threads.iter().enumerate().filter(|(i, _)| keep(*i)).map(|(i, thread)| {
        let difference = difference(Lab::from(thread.color));
        Match { thread: i, difference, words: Difference::of(difference) }
    });
    let mut matches: Vec<Match> = matches.collect();
    let code = |found: &Match| threads.get(found.thread).map(|thread| thread.code.as_str());
    matches.sort_by(|a, b| rank(a.difference).cmp(&rank(b.difference)).then_with(|| code(a).cmp(&code(b))));
    matches.truncate(most);
    matches
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ChartThread;
    use proptest::prelude::*;

    fn chart(threads: &[(&str, Color)]) -> Chart {
        let thread = |&(code, color): &(&str, Color)| {
            let code = code.to_string();
            ChartThread { name: code.clone(), code, color, tex: None, left: None }
        };
        Chart::new(threads.iter().map(thread).collect()).unwrap()
    }

    const RED: Color = Color::new(200, 30, 30);
    const ROSE: Color = Color::new(210, 40, 50);
    const BLUE: Color = Color::new(30, 30, 200);

    #[test]
    fn the_nearest_come_first_and_ties_go_by_code() {
        let chart = chart(&[("b", BLUE), ("r2", RED), ("o", ROSE), ("r1", RED)]);
        let found: Vec<usize> = nearest(&chart, RED, 3).into_iter().map(|found| found.thread).collect();
        assert_eq!(found, [3, 1, 2]);
        assert_eq!(nearest(&chart, RED, 1)[0].words, Difference::Unseen);
        assert_eq!(nearest(&chart, RED, 9).len(), 4);
    }

    #[test]
    fn a_substitute_is_another_thread_and_near_enough() {
        let chart = chart(&[("b", BLUE), ("r", RED), ("o", ROSE)]);
        let found: Vec<usize> = substitutes(&chart, 1, 8.0, 9).into_iter().map(|found| found.thread).collect();
        assert_eq!(found, [2]);
        assert_eq!(substitutes(&chart, 1, 0.5, 9), []);
        assert_eq!(substitutes(&chart, 7, 8.0, 9), []);
    }

    proptest! {
        #[test]
        fn no_thread_is_nearer_than_the_first(colors in prop::collection::vec(any::<[u8; 3]>(), 1..20), at: [u8; 3]) {
            let names: Vec<String> = (0..colors.len()).map(|i| format!("t{i}")).collect();
            let color = |[r, g, b]: [u8; 3]| Color::new(r, g, b);
            let threads: Vec<_> = names.iter().map(String::as_str).zip(colors.iter().map(|&c| color(c))).collect();
            let chart = chart(&threads);
            let best = nearest(&chart, color(at), 1)[0].difference;
            for (_, thread) in threads {
                prop_assert!(rank(best) <= rank(crate::difference(thread, color(at))));
            }
        }
    }
}
