//! The stitches that carry the top stitching.

mod fill;

pub use fill::FillUnderlay;
