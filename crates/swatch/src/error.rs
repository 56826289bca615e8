//! What can be wrong with what a swatch is asked for, or with its measurements.

/// A swatch that cannot be made, or measurements that cannot be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Error {
    /// A wish that is out of its range.
    #[error("{what} {value} is outside {least} to {most} {unit}")]
    Range {
        /// What was asked for.
        what: &'static str,
        /// The value.
        value: f64,
        /// Smallest that can be sewn.
        least: f64,
        /// Largest that can be sewn.
        most: f64,
        /// The unit of all three.
        unit: &'static str,
    },
    /// A list with nothing in it.
    #[error("there are no {0}; name at least one")]
    Nothing(&'static str),
    /// More cells than the hoop has room for.
    #[error(
        "{cells} cells need {needed:.0} mm of height where the hoop has room for {room:.0} mm; take fewer values \
         (each spacing, stitch length and pull makes a cell or two, each width one a direction) or a larger hoop"
    )]
    TooMany {
        /// How many cells.
        cells: usize,
        /// Height they need at this width, mm.
        needed: f64,
        /// Height there is, mm.
        room: f64,
    },
    /// A cell wider than the hoop.
    #[error("a cell {needed:.0} mm wide does not fit into {room:.0} mm; take smaller ones or a larger hoop")]
    TooWide {
        /// Width of the cell, mm.
        needed: f64,
        /// Width there is, mm.
        room: f64,
    },
    /// The measurements are no table of this kind.
    #[error("line {line}: {what}; {advice}")]
    Table {
        /// Line of the file, from 1.
        line: u64,
        /// What was found.
        what: String,
        /// The way out.
        advice: String,
    },
    /// Rows that make no sense, all of them.
    #[error("{}", .0.join("\n"))]
    Rows(Vec<String>),
    /// Too few measurements.
    #[error("too few cells are measured: {measured}, where {names} take {needed}; write more readings into the table")]
    TooFew {
        /// Cells with a reading.
        measured: usize,
        /// What is to be found.
        names: String,
        /// Cells that would do.
        needed: usize,
    },
    /// A table nobody has filled in.
    #[error(
        "no cell has a reading along its threads; sew the swatch, measure it as its sheet says, and write the readings \
         into the columns along_1_mm to across_2_mm"
    )]
    Unmeasured,
    /// Measurements that cannot tell two effects apart.
    #[error(
        "these cells cannot tell the effect of {0} from the others; measure more of the cells where only that differs"
    )]
    Confounded(&'static str),
    /// An estimate no recipe can hold.
    #[error(
        "{what} comes out at {value:.2} mm, which no cloth does; look for readings in another unit, or of the wrong cells"
    )]
    Absurd {
        /// What was estimated.
        what: &'static str,
        /// Its value, mm.
        value: f64,
    },
}
