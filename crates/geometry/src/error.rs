//! What can be wrong with a question to this crate.

use thiserror::Error;

/// A request that has no answer.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
pub enum GeometryError {
    /// Rows need a positive spacing and a finite offset.
    #[error("rows need a spacing above 0 mm and a finite offset, not {spacing} mm and {offset} mm")]
    Spacing {
        /// As asked for, mm.
        spacing: f64,
        /// As asked for, mm.
        offset: f64,
    },
    /// The spacing is far too small for the region.
    #[error("{rows} rows are more than the {most} a region may have; use a wider spacing")]
    TooManyRows {
        /// As many as there would be.
        rows: usize,
        /// As many as there may be.
        most: usize,
    },
}
