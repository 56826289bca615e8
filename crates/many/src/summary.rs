//! The summary: one line for each row of the table, as CSV.

use crate::Figures;

/// What became of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Sewn now.
    Sewn,
    /// Sewn by an earlier run, and nothing has changed since.
    Kept,
    /// Not sewn.
    Bad,
}

impl State {
    /// The word for it in summaries.
    pub const fn word(self) -> &'static str {
        match self {
            State::Sewn => "sewn",
            State::Kept => "kept",
            State::Bad => "bad",
        }
    }
}

/// One row of the summary.
#[derive(Clone, Debug, PartialEq)]
pub struct SummaryRow {
    /// Number of the table's row, from 1.
    pub row: usize,
    /// The name of its files without ending; empty when it got none.
    pub name: String,
    /// What became of it.
    pub state: State,
    /// What was sewn; none for a bad row.
    pub figures: Option<Figures>,
    /// What is wrong with a bad row.
    pub message: String,
}

/// The columns of a summary.
const COLUMNS: [&str; 13] = [
    "row",
    "name",
    "state",
    "stitches",
    "width_mm",
    "height_mm",
    "threads",
    "thread_changes",
    "trims",
    "minutes",
    "top_thread_m",
    "failed_checks",
    "message",
];

/// The summary as CSV (RFC 4180, lines end in LF).
pub fn summary_csv(rows: &[SummaryRow]) -> String {
    let mut text = COLUMNS.join(",") + "\n";
    for row in rows {
        let figures = row.figures.as_ref();
        let number = |value: &dyn Fn(&Figures) -> String| figures.map(value).unwrap_or_default();
        let message = if row.message.is_empty() {
            figures.map(|figures| figures.warnings.join(" | ")).unwrap_or_default()
        } else {
            row.message.clone()
        };
        let fields = [
            row.row.to_string(),
            row.name.clone(),
            row.state.word().to_owned(),
            number(&|figures| figures.stitches.to_string()),
            number(&|figures| format!("{:.2}", figures.width_mm)),
            number(&|figures| format!("{:.2}", figures.height_mm)),
            number(&|figures| figures.threads.to_string()),
            number(&|figures| figures.thread_changes.to_string()),
            number(&|figures| figures.trims.to_string()),
            number(&|figures| format!("{:.1}", figures.minutes)),
            number(&|figures| format!("{:.2}", figures.top_thread_m)),
            number(&|figures| figures.failed_checks.join(" | ")),
            message,
        ];
        let fields: Vec<String> = fields.iter().map(|field| quoted(field)).collect();
        text.push_str(&fields.join(","));
        text.push('\n');
    }
    text
}

/// A field, in quotes where it needs them.
fn quoted(field: &str) -> String {
    let bare = !field.contains(['"', ',', '\n', '\r']);
    if bare { field.to_owned() } else { format!("\"{}\"", field.replace('"', "\"\"")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_summary_reads_back_as_csv() {
        let figures = Figures { stitches: 12, warnings: vec!["a, \"b\"".into()], ..Figures::default() };
        let rows = [
            SummaryRow {
                row: 1,
                name: "bean".into(),
                state: State::Kept,
                figures: Some(figures),
                message: String::new(),
            },
            SummaryRow { row: 2, name: String::new(), state: State::Bad, figures: None, message: "two\nlines".into() },
        ];
        let text = summary_csv(&rows);
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let read: Vec<_> = reader.records().map(Result::unwrap).collect();
        assert_eq!(read.len(), 2);
        assert_eq!((&read[0][3], &read[0][12]), ("12", "a, \"b\""));
        assert_eq!((&read[1][2], &read[1][3], &read[1][12]), ("bad", "", "two\nlines"));
    }
}
