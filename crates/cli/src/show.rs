//! What the command says on standard error: warnings, and errors with their place.

use crate::output;
use laidwork_plan::Warning;
use laidwork_recipe::Diagnostics;
use std::collections::BTreeMap;
use std::fmt::Write;

/// No more errors of one file are shown than this.
const MOST_ERRORS: usize = 12;

/// No more of a line is shown than this, characters.
const WIDEST_LINE: usize = 100;

/// So many warnings that differ in their place alone are shown one by one; of more, the first stands for all.
const MOST_ALIKE: usize = 3;

/// Shows warnings on lines of their own.
pub fn warnings(warnings: &[Warning]) {
    for (warning, others) in folded(warnings) {
        let more = if others == 0 { String::new() } else { format!(" (and {others} more like it)") };
        output::say(&format!("warning: {warning}{more}\n"));
    }
}

/// The warnings in order, with how many more the last of them stands for.
fn folded(warnings: &[Warning]) -> Vec<(&Warning, usize)> {
    let mut alike: BTreeMap<(&str, &str), Vec<usize>> = BTreeMap::new();
    for (index, warning) in warnings.iter().enumerate() {
        alike.entry((&warning.what, &warning.advice)).or_default().push(index);
    }
    let mut shown: Vec<(usize, usize)> = Vec::new();
    for places in alike.values() {
        let ones = if places.len() > MOST_ALIKE { 1 } else { places.len() };
        let others = places.len() - ones;
        shown.extend(places.iter().take(ones).map(|place| (*place, others)));
    }
    shown.sort_unstable();
    shown.into_iter().filter_map(|(place, others)| Some((warnings.get(place)?, others))).collect()
}

/// An error and what caused it, as one block of text.
pub fn error(report: &miette::Report) -> String {
    let mut text = format!("error: {report}");
    for cause in report.chain().skip(1) {
        let _ = write!(text, "\n  because: {cause}");
    }
    if let Some(help) = report.help() {
        let _ = write!(text, "\n  help: {help}");
    }
    text
}

/// What is wrong with a recipe: each error with its line, marked, and the way out.
pub fn diagnostics(found: &Diagnostics) -> String {
    let mut text = String::new();
    for error in found.errors.iter().take(MOST_ERRORS) {
        if !text.is_empty() {
            text.push('\n');
        }
        let _ = writeln!(text, "{}:{}:{}: {}", found.file, error.line, error.column, error.message);
        let line = found.text.lines().nth(error.line - 1).unwrap_or_default();
        if line.chars().count() <= WIDEST_LINE {
            let marked = found.text.get(error.span.clone()).and_then(|span| span.lines().next()).unwrap_or_default();
            let before = " ".repeat(error.column - 1);
            let marks = "^".repeat(marked.chars().count().max(1));
            let number = error.line;
            let margin = " ".repeat(number.to_string().len());
            let _ = writeln!(text, "  {number} | {}", line.replace('\t', " "));
            let _ = writeln!(text, "  {margin} | {before}{marks}");
        }
        let _ = write!(text, "  help: {}", error.advice);
    }
    if found.errors.len() > MOST_ERRORS {
        let _ = write!(text, "\nand {} more", found.errors.len() - MOST_ERRORS);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flood_of_warnings_is_one_line() {
        let speck = |i: usize| Warning::at(format!("speck-{i}"), "it is too small", "leave it out");
        let mut all: Vec<Warning> = (0..500).map(speck).collect();
        all.insert(1, Warning::new("no fonts", "name some"));
        let told = folded(&all);
        assert_eq!(told.len(), 2);
        assert_eq!((told[0].1, told[1].1), (499, 0));
        assert_eq!(folded(&all[..4]).len(), 4);
    }
}
