//! The stitches that carry the top stitching.

mod column;
mod fill;

pub use column::{ColumnLayer, ColumnUnderlay, Leg, leg};
pub use fill::{FillUnderlay, UnderFill, fill_underlay, open_rows};
