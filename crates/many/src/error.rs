//! What can be wrong with a table or a template.

/// A table or template that cannot be used, or a cell that does not fit its place.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    /// The table is no CSV, or its heading is unusable.
    #[error("line {line}: {what}; {advice}")]
    Table {
        /// Line of the table, from 1.
        line: u64,
        /// What was found.
        what: String,
        /// The way out.
        advice: String,
    },
    /// Quotes of the table that do not stand as they should.
    #[error("line {line}: {what}")]
    Quotes {
        /// Line of the table on which the field opens, from 1.
        line: u64,
        /// What is wrong, and the way out.
        what: &'static str,
    },
    /// The table has a heading and no rows.
    #[error("the table has no rows; write one for each design under the names of its columns")]
    NoRows,
    /// A placeholder that names no column.
    #[error("line {line}: the table has no column {name:?}; its columns are {columns}")]
    Unknown {
        /// Line of the template, from 1.
        line: usize,
        /// What stands between the braces.
        name: String,
        /// The columns there are.
        columns: String,
    },
    /// A cell that cannot stand where its placeholder does.
    #[error("the cell {column:?} {what}; {advice}")]
    Cell {
        /// Its column.
        column: String,
        /// What is wrong.
        what: String,
        /// The way out.
        advice: String,
    },
    /// The drawing cannot be read.
    #[error("{0}")]
    Drawing(#[from] laidwork_drawing::Error),
}
