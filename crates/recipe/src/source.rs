//! The text of a recipe, and what is wrong with it.

use std::{fmt, ops::Range, sync::Arc};

/// Faults that are told, at most: nobody reads more, and a hostile text has
/// one at every byte.
const MOST_FAULTS: usize = 1000;

/// A text with its name and where its lines begin.
#[derive(Clone, Debug, Default)]
pub(crate) struct Source {
    pub(crate) file: Arc<str>,
    text: Arc<str>,
    line_starts: Arc<[usize]>,
}

impl Source {
    pub(crate) fn new(file: &str, text: &str) -> Source {
        let ends = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n');
        let starts = std::iter::once(0).chain(ends.map(|(end, _)| end + 1));
        Source { file: file.into(), text: text.into(), line_starts: starts.collect() }
    }

    pub(crate) fn text(&self) -> &str {
        &self.text
    }

    /// The line of a byte, from 1.
    pub(crate) fn line(&self, byte: usize) -> usize {
        self.line_starts.partition_point(|start| *start <= byte).max(1)
    }

    /// `file:line`, the place of warnings.
    pub(crate) fn place(&self, byte: usize) -> String {
        format!("{}:{}", self.file, self.line(byte))
    }

    /// The nearest character boundaries around a span.
    fn whole(&self, span: &Range<usize>) -> Range<usize> {
        let start = (0..=span.start.min(self.text.len())).rev().find(|at| self.text.is_char_boundary(*at));
        let start = start.unwrap_or(0);
        let end = span.end.clamp(start, self.text.len());
        start..(end..=self.text.len()).find(|at| self.text.is_char_boundary(*at)).unwrap_or(end)
    }
}

/// Something wrong, before its line and column are counted.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Fault {
    start: usize,
    end: usize,
    message: String,
    advice: String,
}

/// What was found wrong so far.
#[derive(Debug, Default)]
pub(crate) struct Faults {
    list: Vec<Fault>,
    left_out: usize,
}

impl Faults {
    pub(crate) fn add(&mut self, span: Range<usize>, message: impl Into<String>, advice: impl Into<String>) {
        if !self.is_full() {
            let (message, advice) = (message.into(), advice.into());
            self.list.push(Fault { start: span.start, end: span.end, message, advice });
        } else {
            self.left_out += 1;
        }
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// Whether further faults are but counted.
    pub(crate) fn is_full(&self) -> bool {
        self.list.len() >= MOST_FAULTS
    }

    /// Every line with a fault, ascending.
    pub(crate) fn lines(&self, source: &Source) -> Vec<usize> {
        let mut lines: Vec<_> = self.list.iter().map(|fault| source.line(fault.start)).collect();
        lines.sort_unstable();
        lines
    }

    /// Takes out faults that begin in one of these lines.
    pub(crate) fn leave_out(&mut self, lines: &[usize], source: &Source) {
        self.list.retain(|fault| lines.binary_search(&source.line(fault.start)).is_err());
    }

    pub(crate) fn append(&mut self, mut other: Faults) {
        self.left_out += other.left_out;
        self.list.append(&mut other.list);
        self.left_out += self.list.len().saturating_sub(MOST_FAULTS);
        self.list.truncate(MOST_FAULTS);
    }

    /// `value`, if nothing is wrong.
    pub(crate) fn or<T>(mut self, value: T, source: &Source) -> Result<T, Diagnostics> {
        if self.is_empty() {
            return Ok(value);
        }
        self.list.sort();
        self.list.dedup();
        let mut counter = Counter { source, line: 1, byte: 0, column: 1 };
        let errors = self.list.into_iter().map(|fault| counter.count(fault)).collect();
        Err(Diagnostics { file: source.file.clone(), text: source.text.clone(), errors, left_out: self.left_out })
    }
}

/// Counts columns from fault to fault, so that a long line is walked but once.
struct Counter<'s> {
    source: &'s Source,
    line: usize,
    byte: usize,
    column: usize,
}

impl Counter<'_> {
    fn count(&mut self, fault: Fault) -> Diagnostic {
        let span = self.source.whole(&(fault.start..fault.end));
        let line = self.source.line(span.start);
        if line != self.line {
            let start = self.source.line_starts.get(line - 1).copied().unwrap_or(0);
            (self.line, self.byte, self.column) = (line, start, 1);
        }
        self.column += self.source.text.get(self.byte..span.start).map_or(0, |between| between.chars().count());
        self.byte = span.start;
        Diagnostic { line, column: self.column, span, message: fault.message, advice: fault.advice }
    }
}

/// One thing that is wrong with a text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// The bytes concerned; on character boundaries of the text.
    pub span: Range<usize>,
    /// Their line, from 1.
    pub line: usize,
    /// The first of them within its line, in characters, from 1.
    pub column: usize,
    /// What is wrong, as a sentence without its full stop.
    pub message: String,
    /// The way out, as a sentence without its full stop.
    pub advice: String,
}

/// Everything that is wrong with a text, in the order it stands there; not empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostics {
    /// What the text is called.
    pub file: Arc<str>,
    /// The text.
    pub text: Arc<str>,
    /// What is wrong with it.
    pub errors: Vec<Diagnostic>,
    /// How many more there are, past the first thousand.
    pub left_out: usize,
}

impl fmt::Display for Diagnostics {
    /// One line for each: `file:line:column: what is wrong; the way out`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, error) in self.errors.iter().enumerate() {
            let Diagnostic { line, column, message, advice, .. } = error;
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{}:{line}:{column}: {message}; {advice}", self.file)?;
        }
        if self.left_out > 0 {
            write!(f, "\nand {} more", self.left_out)?;
        }
        Ok(())
    }
}

impl std::error::Error for Diagnostics {}

#[cfg(test)]
mod tests {
    use super::*;

    fn wrong(text: &str, spans: &[(usize, usize)]) -> Vec<(usize, usize, (usize, usize))> {
        let source = Source::new("patch.toml", text);
        let mut faults = Faults::default();
        for (start, end) in spans {
            faults.add(*start..*end, "wrong", "mend it");
        }
        let wrong = faults.or((), &source).unwrap_err();
        wrong.errors.into_iter().map(|error| (error.line, error.column, (error.span.start, error.span.end))).collect()
    }

    #[test]
    fn lines_and_columns_count_from_one_in_characters() {
        let text = "ab\nçé = 1, x\r\n\nlast";
        let found = wrong(text, &[(17, 20), (0, 1), (3, 5), (13, 14), (8, 9)]);
        assert_eq!(found, [(1, 1, (0, 1)), (2, 1, (3, 5)), (2, 4, (8, 9)), (2, 9, (13, 14)), (4, 1, (17, 20))]);
    }

    #[test]
    fn spans_are_mended_to_whole_characters() {
        assert_eq!(wrong("é", &[(1, 1)]), [(1, 1, (0, 2))]);
        assert_eq!(wrong("é", &[(7, 9)]), [(1, 2, (2, 2))]);
        assert_eq!(wrong("", &[(0, 0)]), [(1, 1, (0, 0))]);
    }

    #[test]
    fn many_faults_of_one_long_line_are_cut_short() {
        let text = "=".repeat(200_000);
        let source = Source::new("long.toml", &text);
        let mut faults = Faults::default();
        (0..text.len()).for_each(|at| faults.add(at..at + 1, "wrong", "mend it"));
        let wrong = faults.or((), &source).unwrap_err();
        assert_eq!((wrong.errors.len(), wrong.left_out), (1000, 199_000));
        assert_eq!(wrong.errors.last().map(|error| error.column), Some(1000));
        assert!(wrong.to_string().ends_with("and 199000 more"));
    }
}
