//! Two reports side by side: what a change of the recipe changed.

use crate::{Report, Verdict};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// One figure before and after.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Change {
    /// What it measures, with its unit.
    pub figure: String,
    /// Before.
    pub before: f64,
    /// After.
    pub after: f64,
}

/// A check that came out differently.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Turn {
    /// The check.
    pub check: String,
    /// Before; none when it was not made.
    pub before: Option<Verdict>,
    /// After; none when it was not made.
    pub after: Option<Verdict>,
}

/// What changed between two reports.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Comparison {
    /// The main figures, changed or not.
    pub figures: Vec<Change>,
    /// Checks that came out differently.
    pub checks: Vec<Turn>,
}

/// The main figures of two reports side by side, and the checks that came out differently.
pub fn compare(before: &Report, after: &Report) -> Comparison {
    let figures = figures(before).into_iter().zip(figures(after));
    let figures = figures.map(|((figure, before), (_, after))| Change { figure: figure.into(), before, after });
    let mut names: Vec<&str> = before.checks.iter().map(|check| check.name.as_str()).collect();
    for check in &after.checks {
        if !names.contains(&check.name.as_str()) {
            names.push(&check.name);
        }
    }
    let verdict =
        |report: &Report, name: &str| report.checks.iter().find(|check| check.name == name).map(|check| check.verdict);
    let turns = names.into_iter().map(|name| Turn {
        check: name.into(),
        before: verdict(before, name),
        after: verdict(after, name),
    });
    Comparison { figures: figures.collect(), checks: turns.filter(|turn| turn.before != turn.after).collect() }
}

/// The main figures of a report, always the same and in the same order.
fn figures(report: &Report) -> Vec<(&'static str, f64)> {
    let total = &report.total;
    let density = report.density.as_ref();
    let most = |spot: Option<&crate::Spot>| spot.map_or(0.0, |spot| spot.value);
    vec![
        ("pieces", report.pieces.len() as f64),
        ("stitches", total.stitches as f64),
        ("trims", total.trims as f64),
        ("jumps", total.jumps as f64),
        ("thread changes", total.thread_changes as f64),
        ("top thread, m", total.top_m),
        ("bobbin thread, m", total.bobbin_m),
        ("sewing time, s", total.seconds),
        ("width, mm", report.size.map_or(0.0, |size| size.width)),
        ("height, mm", report.size.map_or(0.0, |size| size.height)),
        ("thread, mean, mm/mm²", density.map_or(0.0, |density| density.thread_mean)),
        ("thread, most, mm/mm²", most(density.map(|density| &density.thread_most))),
        ("needle points, mean, 1/mm²", density.map_or(0.0, |density| density.needle_mean)),
        ("needle points, most, 1/mm²", most(density.map(|density| &density.needle_most))),
        ("longest stitch, mm", most(report.stitches.longest.as_ref())),
        ("short stitches", report.stitches.short as f64),
        ("floats over 2 mm", report.stitches.long_floats as f64),
        ("broken promises", report.broken_count as f64),
    ]
}

impl fmt::Display for Comparison {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{:<28} {:>12} {:>12} {:>12}", "", "before", "after", "change")?;
        for Change { figure, before, after } in &self.figures {
            let digits = if figure.contains(',') { 2 } else { 0 };
            let change = after - before;
            writeln!(f, "{figure:<28} {before:>12.digits$} {after:>12.digits$} {change:>+12.digits$}")?;
        }
        for turn in &self.checks {
            let word = |verdict: Option<Verdict>| verdict.map_or("not made", Verdict::word);
            writeln!(f, "{}: {} -> {}", turn.check, word(turn.before), word(turn.after))?;
        }
        Ok(())
    }
}
