//! What can be wrong with a program, a template or a plan.

/// Why a program cannot be written or read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Error {
    /// A line that the language does not allow, or that moves no hoop.
    #[error("line {line}: {what}")]
    Line {
        /// Counting from 1.
        line: usize,
        /// What is wrong, and the way out.
        what: String,
    },
    /// A template that is no part of a program.
    #[error("the template {template:?}: {what}")]
    Template {
        /// As given.
        template: String,
        /// What is wrong.
        what: String,
    },
    /// Nobody said how large the hoop is.
    #[error("the design names no hoop, so nothing keeps the needle from meeting it; give its inside with --hoop")]
    NoHoop,
    /// No line is the needle's.
    #[error(
        "no line of the program works the needle{passed_over}; name with --needle the lines that do, as it was written with"
    )]
    NoStitch {
        /// What else was passed over, in brackets with a blank before them; may be empty.
        passed_over: String,
    },
    /// A point of the design lies outside the hoop.
    #[error(
        "piece {piece} ({name}) reaches {by:.2} mm out of the hoop at {x:.2} {y:.2}, and {more} more points do; \
         sew it smaller, or in a larger hoop"
    )]
    OutOfHoop {
        /// Counting from 1.
        piece: usize,
        /// Its name.
        name: String,
        /// How far, mm.
        by: f64,
        /// Where, mm, in the frame of the plan.
        x: f64,
        /// Where, mm.
        y: f64,
        /// How many points besides.
        more: usize,
    },
    /// A setting that is no number, or out of range.
    #[error("{what} must be a number above 0")]
    Setting {
        /// Which.
        what: &'static str,
    },
    /// A coordinate that is no number.
    #[error("piece {piece} has a coordinate that is no number")]
    NotFinite {
        /// Counting from 1.
        piece: usize,
    },
}
