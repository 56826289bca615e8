//! What was found, as a row of the materials table and as text.

use crate::files::{number, quoted};
use crate::fit::{Estimate, Findings, Term};
use laidwork_plan::Method;
use std::fmt::Write;

/// Widths of columns that the text tells of, mm.
const WIDTHS: [f64; 4] = [1.5, 3.0, 5.0, 7.0];

/// The widest column, mm: no limit may cut its compensation.
const WIDEST: f64 = 11.0;

/// What a row lets an end be lengthened by at least, mm.
const LIMIT: f64 = 1.0;

/// The highest limit that a recipe may set, mm.
const MOST_LIMIT: f64 = 3.0;

impl Findings {
    /// Rows for a recipe: `name` for columns of any direction, `name-fill` for
    /// fills when they were measured, and when the direction matters the rows
    /// `-along` and `-across` of each for shapes whose threads run so. `from` is
    /// the file the measurements stand in.
    pub fn to_rows(&self, name: &str, from: &str) -> String {
        let mut text = format!(
            "# From {} readings of {} cells in {}. Intervals are of 95 %: the cloth's own value lies\n\
             # outside one time in 20. Sew another swatch with this row to see that it holds.\n",
            self.readings,
            self.cells,
            one_line(from)
        );
        self.main_row(name, &mut text);
        if self.column_width.is_some() {
            self.directions(name, Method::Satin, &mut text);
        }
        if let Some(size) = self.fill_size.filter(|_| self.column_width.is_some()) {
            let name = format!("{name}-fill");
            let pull = self.mean_pull_at(size, Method::Fill);
            let _ = write!(text, "\n# Fills, in rules with `material = {}`.\n", quoted(&name));
            row(
                &name,
                name.strip_suffix("-fill").unwrap_or_default(),
                &[("pull_compensation", pull, "mm at each end")],
                &mut text,
            );
            self.directions(&name, Method::Fill, &mut text);
        } else if self.fill_size.is_some() {
            self.directions(name, Method::Fill, &mut text);
        }
        text
    }

    fn main_row(&self, name: &str, text: &mut String) {
        let method = if self.column_width.is_some() { Method::Satin } else { Method::Fill };
        let width = self.width_of_rows(method);
        let mut keys = vec![("pull_compensation", self.mean_pull_at(width, method), "mm at each end")];
        keys.extend(self.pull_percent().map(|percent| ("pull_percent", percent, "% of the thread's length besides")));
        keys.extend(
            self.push_at(None, None).map(|push| ("push_compensation", push, "mm at each open end of a column")),
        );
        let own = [
            (Term::Grain, "pull_grain", "mm more along the grain, and less across it"),
            (Term::Density, "pull_density", "mm more where threads lie twice as close"),
            (Term::Stitch, "pull_stitch", "mm more where stitches of a fill are half as long"),
        ];
        for (term, key, words) in own {
            keys.extend(self.pull.coefficient(term).map(|found| (key, found, words)));
        }
        row(name, &self.material, &keys, text);
        if self.pull_percent().is_none() {
            text.push_str("pull_percent = 0.0\n");
        }
        let most = self.mean_pull_at(WIDEST, Method::Satin).value;
        if most > LIMIT {
            let _ = writeln!(text, "pull_limit = {}", number(((most * 10.0).ceil() / 10.0).min(MOST_LIMIT)));
        }
    }

    /// The width that rows tell the compensation of: nothing where `pull_percent` adds what grows with it, else the
    /// mean of what was measured.
    fn width_of_rows(&self, method: Method) -> f64 {
        match method {
            Method::Fill => self.fill_size.unwrap_or(0.0),
            _ if self.pull_percent().is_some() => 0.0,
            _ => self.column_width.unwrap_or(0.0),
        }
    }

    /// Rows for threads along and across the grain, when that makes a difference.
    fn directions(&self, name: &str, method: Method, text: &mut String) {
        let Some(grain) = self.pull.coefficient(Term::Grain).filter(Estimate::differs_from_nothing) else { return };
        let _ = write!(
            text,
            "\n# The grain matters: an end is drawn in {:.2} mm ± {:.2} mm more along it than the mean, and less across.\n\
             # For shapes whose threads all run one way.\n",
            grain.value, grain.margin
        );
        let width = self.width_of_rows(method);
        let grows = method == Method::Satin && self.pull.coefficient(Term::GrainGrowth).is_some();
        for (ending, from_grain) in [("along", 0.0), ("across", 90.0)] {
            let percent = self.pull_percent_at(from_grain).filter(|_| grows);
            let stops_growing = grows && percent.is_none() && self.pull_percent().is_some();
            let width = if stops_growing { self.column_width.unwrap_or(width) } else { width };
            let mut keys = vec![("pull_compensation", self.pull_at(width, from_grain, method), "mm at each end")];
            keys.extend(percent.map(|percent| ("pull_percent", percent, "% of the thread's length besides")));
            row(&format!("{name}-{ending}"), name, &keys, text);
            if stops_growing {
                text.push_str("pull_percent = 0.0\n");
            }
        }
    }

    /// What was found, for people.
    pub fn to_text(&self) -> String {
        let mut text = format!(
            "{} readings of {} cells. A cell scatters by {:.2} mm at each end about what is fitted.\n",
            self.readings,
            self.cells,
            self.pull.scatter()
        );
        let shown = |estimate: Estimate| format!("{:5.2} ± {:.2}", estimate.value, estimate.margin);
        let ways: &[(&str, f64)] = match self.pull.coefficient(Term::Grain) {
            Some(_) => &[("along the grain", 0.0), ("across the grain", 90.0)],
            None => &[("any direction", 45.0)],
        };
        let _ = writeln!(text, "\nPull compensation at each end, mm, with its 95 % interval");
        let _ = write!(text, "    {:<18}", "threads run");
        ways.iter().for_each(|(way, _)| {
            let _ = write!(text, "{way:>20}");
        });
        text.push('\n');
        let columns = WIDTHS
            .iter()
            .filter(|_| self.column_width.is_some())
            .map(|width| (format!("column {width:.1} mm"), *width, Method::Satin));
        let fills = self.fill_size.map(|size| (format!("fill {size:.0} mm"), size, Method::Fill));
        for (what, width, method) in columns.chain(fills) {
            let _ = write!(text, "    {what:<18}");
            for (_, from_grain) in ways {
                let _ = write!(text, "{:>20}", shown(self.pull_at(width, *from_grain, method)));
            }
            text.push('\n');
        }
        for (term, words) in [
            (Term::Density, "where threads lie twice as close"),
            (Term::Stitch, "where stitches of a fill are half as long"),
            (Term::Bare, "without underlay"),
        ] {
            if let Some(found) = self.pull.coefficient(term) {
                let _ = writeln!(text, "    {words}: {:+.2} ± {:.2}", found.value, found.margin);
            }
        }
        match self.push_at(None, None) {
            Some(mean) => {
                let _ = writeln!(
                    text,
                    "\nPush compensation at each open end of a column: {:.2} ± {:.2} mm",
                    mean.value, mean.margin
                );
                let push = self.push.as_ref();
                let grown = push
                    .and_then(|push| push.coefficient(Term::Growth))
                    .map(|slope| Estimate { value: slope.value / 2.0, margin: slope.margin / 2.0 });
                let grain = push.and_then(|push| push.coefficient(Term::Grain));
                for (found, words) in
                    [(grown, "for each mm of width"), (grain, "where threads run along the grain, less across")]
                {
                    if let Some(found) = found {
                        let _ = writeln!(text, "    {words}: {:+.2} ± {:.2}", found.value, found.margin);
                    }
                }
            }
            None => text.push_str("\nPush compensation was not measured.\n"),
        }
        text
    }
}

fn row(name: &str, based_on: &str, keys: &[(&str, Estimate, &str)], text: &mut String) {
    let bare = !name.is_empty() && name.chars().all(|letter| letter.is_ascii_alphanumeric() || "-_".contains(letter));
    let _ = writeln!(text, "\n[material.{}]", if bare { name.to_owned() } else { quoted(name) });
    if !based_on.is_empty() && based_on != name {
        let _ = writeln!(text, "based_on = {}", quoted(based_on));
    }
    for (key, Estimate { value, margin }, words) in keys {
        let written = format!("{key} = {}", number(*value));
        let _ = writeln!(text, "{written:<30}# {words}; {:.3} to {:.3}", value - margin, value + margin);
    }
}

fn one_line(text: &str) -> String {
    text.chars().map(|letter| if letter.is_control() { ' ' } else { letter }).collect()
}
