//! What carries a fill.

/// What is sewn under a fill before its rows. Common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FillUnderlay {
    /// A run along every outline, this far inside it, mm.
    pub edge_run: Option<f64>,
    /// Open rows across the top rows, this far apart, mm.
    pub rows: Option<f64>,
    /// Two layers of open rows that cross each other, for loose fabrics.
    pub crossing: bool,
    /// Longest stitch of all of these, mm.
    pub stitch_length: f64,
}

impl Default for FillUnderlay {
    fn default() -> FillUnderlay {
        FillUnderlay { edge_run: Some(0.5), rows: Some(2.5), crossing: false, stitch_length: 3.0 }
    }
}
