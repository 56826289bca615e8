//! What can go wrong when lists are written and read.

use std::io;

/// A plan that cannot be written.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The target refused the bytes.
    #[error("the list could not be written: {0}")]
    Io(#[from] io::Error),
    /// A name or title that is not one line of text.
    #[error("{place}: {name:?} is not one line of text; take out line breaks and control characters")]
    Name {
        /// What it names: `the title`, `thread 2` or `piece 3 (stem)`.
        place: String,
        /// The name.
        name: String,
    },
    /// A coordinate that is no number or lies out of reach.
    #[error("{place}: {value} is not a coordinate; they are finite and at most 1000000 mm from the centre")]
    Number {
        /// What it belongs to.
        place: String,
        /// The number.
        value: f64,
    },
    /// A piece in a thread that the plan does not have.
    #[error("{place}: thread {thread} is not in the plan, which has {threads}")]
    Thread {
        /// The piece.
        place: String,
        /// Number of the thread, counting from 1.
        thread: usize,
        /// Number of threads in the plan.
        threads: usize,
    },
}

/// A list that is not read.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// The source failed.
    #[error("line {line}: the list could not be read: {source}")]
    Io {
        /// Line at which it failed, counting from 1.
        line: u64,
        /// Why.
        source: io::Error,
    },
    /// The list is damaged, cut short or not a list.
    #[error("line {line}: found {found}, wanted {wanted}")]
    Damaged {
        /// Line of the damage, counting from 1.
        line: u64,
        /// What stands there, shortened.
        found: String,
        /// What would have been right.
        wanted: String,
    },
    /// The JSON twin is damaged or cut short.
    #[error(transparent)]
    Json(#[from] serde_json::Error),
    /// The JSON twin is sound JSON but not a sound list.
    #[error("{place}: wanted {wanted}")]
    Wrong {
        /// The key, thread or piece concerned.
        place: String,
        /// What would have been right.
        wanted: String,
    },
}

impl ReadError {
    /// The line concerned, counting from 1, where one is known.
    pub fn line(&self) -> Option<u64> {
        match self {
            ReadError::Io { line, .. } | ReadError::Damaged { line, .. } => Some(*line),
            ReadError::Json(error) => Some(error.line() as u64),
            ReadError::Wrong { .. } => None,
        }
    }

    /// A list that has `text` at `line` instead of what was wanted.
    pub(crate) fn damaged(line: u64, text: &str, wanted: impl Into<String>) -> ReadError {
        ReadError::Damaged { line, found: quoted(text), wanted: wanted.into() }
    }
}

/// The most characters of a damaged line that an error repeats.
const SHOWN: usize = 60;

/// `text` in backquotes, shortened, its control characters made visible.
pub(crate) fn quoted(text: &str) -> String {
    let shown: String = text
        .chars()
        .take(SHOWN)
        .flat_map(|c| {
            let visible: Vec<char> = if c.is_control() { c.escape_default().collect() } else { vec![c] };
            visible
        })
        .collect();
    let more = if text.chars().nth(SHOWN).is_some() { "..." } else { "" };
    format!("`{shown}{more}`")
}
