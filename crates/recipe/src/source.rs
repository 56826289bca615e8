//! The text of a recipe, and what is wrong with it.

use std::{fmt, ops::Range, sync::Arc};

/// A text with its name and where its lines begin.
#[derive(Clone, Debug, Default)]
pub(crate) struct Source {
    pub(crate) file: Arc<str>,
    pub(crate) text: Arc<str>,
    line_starts: Arc<[usize]>,
}

impl Source {
    pub(crate) fn new(file: &str, text: &str) -> Source {
        let starts =
            std::iter::once(0).chain(text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(i, _)| i + 1));
        Source { file: file.into(), text: text.into(), line_starts: starts.collect() }
    }

    /// The line of a byte, from 1.
    pub(crate) fn line(&self, byte: usize) -> usize {
        self.line_starts.partition_point(|start| *start <= byte).max(1)
    }

    /// The character of a byte within its line, from 1.
    fn column(&self, byte: usize) -> usize {
        let start = self.line_starts.get(self.line(byte) - 1).copied().unwrap_or(0);
        self.text.get(start..byte).map_or(0, |before| before.chars().count()) + 1
    }

    /// `file:line`, the place of warnings.
    pub(crate) fn place(&self, byte: usize) -> String {
        format!("{}:{}", self.file, self.line(byte))
    }

    pub(crate) fn diagnostic(&self, span: Range<usize>, message: String, advice: String) -> Diagnostic {
        let mut start = span.start.min(self.text.len());
        while !self.text.is_char_boundary(start) {
            start -= 1;
        }
        let mut end = span.end.clamp(start, self.text.len());
        while !self.text.is_char_boundary(end) {
            end += 1;
        }
        Diagnostic { line: self.line(start), column: self.column(start), span: start..end, message, advice }
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
}

impl Diagnostics {
    pub(crate) fn new(source: &Source, mut errors: Vec<Diagnostic>) -> Diagnostics {
        errors.sort_by_key(|error| (error.span.start, error.span.end));
        errors.dedup();
        Diagnostics { file: source.file.clone(), text: source.text.clone(), errors }
    }
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
        Ok(())
    }
}

impl std::error::Error for Diagnostics {}
