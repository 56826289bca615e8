//! What the command says on standard error: warnings, and errors with their place.

use crate::output;
use laidwork_plan::Warning;
use laidwork_recipe::Diagnostics;
use std::fmt::Write;

/// No more errors of one file are shown than this.
const MOST_ERRORS: usize = 12;

/// No more of a line is shown than this, characters.
const WIDEST_LINE: usize = 100;

/// Shows every warning on a line of its own.
pub fn warnings(warnings: &[Warning]) {
    for warning in warnings {
        output::say(&format!("warning: {warning}\n"));
    }
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
