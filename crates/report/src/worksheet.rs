//! The sheet beside the machine: threads in the order they are needed, how long
//! and how much of each, and what to mind.

use crate::{
    Report, Step, Verdict,
    text::{table, time},
};
use std::fmt::Write;

/// What to mind beside the machine.
pub const CAUTIONS: [&str; 4] = [
    "Trace the outline with the needle up before sewing: a needle that meets the hoop breaks and flies. \
     Wear eye protection and keep hands clear.",
    "Sew a test on a scrap of the same fabric first.",
    "Follow the machine's manual and the fabric's care label.",
    "On clothing for children follow local flammability rules, and cover scratchy backs next to skin.",
];

/// Columns of text on the sheet.
const WIDTH: usize = 80;

impl Report {
    /// The worksheet as plain text.
    pub fn to_worksheet(&self) -> String {
        let mut out = String::new();
        // Writing to a string does not fail.
        let _ = self.write_worksheet(&mut out);
        out
    }

    fn write_worksheet(&self, out: &mut String) -> std::fmt::Result {
        writeln!(out, "{}", self.title.as_deref().unwrap_or("Worksheet"))?;
        if let Some(size) = self.size {
            write!(out, "{:.1} x {:.1} mm", size.width, size.height)?;
            if let Some(hoop) = self.hoop {
                write!(out, " in a hoop of {:.1} x {:.1} mm", hoop.width, hoop.height)?;
            }
            writeln!(out)?;
        }
        writeln!(out, "{} stitches, about {}\n", self.total.stitches, time(self.total.seconds))?;
        let rows = (1..).zip(&self.steps).map(|(number, step)| self.step(number, step)).collect();
        let head = ["step", "thread", "colour", "name", "stitches", "top m", "bobbin m", "trims", "time", "pieces"];
        table(&head, &[2, 3, 9], rows, out)?;
        let worries = self.checks.iter().filter(|check| check.verdict != Verdict::Ok);
        let worries =
            worries.map(|check| format!("{} ({}): {}", check.name, check.verdict.word(), check.found_where()));
        section("Look out for", worries, out)?;
        section("Before you sew", CAUTIONS.iter().map(ToString::to_string), out)
    }

    fn step(&self, number: usize, step: &Step) -> Vec<String> {
        let thread = self.threads.iter().find(|thread| thread.number == step.thread);
        let named = (step.first_piece..=step.last_piece).zip(self.pieces.iter().skip(step.first_piece - 1));
        let pieces: Vec<&str> = named.map(|(_, piece)| piece.name.as_str()).collect();
        let pieces = match pieces[..] {
            [first, _, .., last] => format!("{first} ... {last} ({})", pieces.len()),
            _ => pieces.join(", "),
        };
        vec![
            number.to_string(),
            step.thread.to_string(),
            thread.map(|thread| thread.color.clone()).unwrap_or_default(),
            thread.and_then(|thread| thread.name.clone()).unwrap_or_default(),
            step.tally.stitches.to_string(),
            format!("{:.1}", step.tally.top_m),
            format!("{:.1}", step.tally.bobbin_m),
            step.tally.trims.to_string(),
            time(step.tally.seconds),
            pieces,
        ]
    }
}

/// A heading and its items, wrapped; nothing without items.
fn section(heading: &str, items: impl Iterator<Item = String>, out: &mut String) -> std::fmt::Result {
    for (i, item) in items.enumerate() {
        if i == 0 {
            writeln!(out, "\n{heading}")?;
        }
        let mut line = String::from("  -");
        for word in item.split_whitespace() {
            if line.chars().count() + 1 + word.chars().count() > WIDTH {
                writeln!(out, "{line}")?;
                line = String::from("   ");
            }
            line.push(' ');
            line.push_str(word);
        }
        writeln!(out, "{line}")?;
    }
    Ok(())
}
