//! How a run is sewn.

/// How often a run goes over its path.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum RunStyle {
    /// Once, from end to end.
    #[default]
    Single,
    /// To the far end and back to the beginning, the way back between the holes of the way there.
    ThereAndBack,
    /// Each stitch forward, back and forward again: a bold line.
    Triple,
}

/// How a run is sewn. The defaults are common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RunSettings {
    /// How often it goes over its path.
    pub style: RunStyle,
    /// The longest stitch where the path is straight, mm.
    pub stitch_length: f64,
    /// The longest stitch where the path bends, mm: wherever a stitch of
    /// `stitch_length` would leave the path by more than [`CHORD_ERROR`](crate::CHORD_ERROR).
    pub curve_stitch_length: f64,
    /// No stitch is shorter than this, mm.
    pub shortest_stitch: f64,
}

impl Default for RunSettings {
    fn default() -> RunSettings {
        RunSettings { style: RunStyle::Single, stitch_length: 2.5, curve_stitch_length: 1.5, shortest_stitch: 0.4 }
    }
}

impl RunSettings {
    /// The same settings with every length usable: 0.1 mm at least, 12 mm at
    /// most, and the shortest stitch no longer than half the longest.
    pub(crate) fn checked(&self) -> RunSettings {
        let within = |value: f64, low: f64, high: f64, other: f64| {
            if value.is_finite() { value.clamp(low, high) } else { other }
        };
        let stitch_length = within(self.stitch_length, 0.2, 12.0, 2.5);
        let curve_stitch_length = within(self.curve_stitch_length, 0.2, stitch_length, stitch_length.min(1.5));
        let shortest_stitch = within(self.shortest_stitch, 0.1, curve_stitch_length / 2.0, 0.1);
        RunSettings { style: self.style, stitch_length, curve_stitch_length, shortest_stitch }
    }
}
