//! How long a machine takes.

/// The pace of a machine and of the person beside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    /// Stitches a minute while the machine runs.
    pub stitches_per_minute: f64,
    /// Seconds for a trim and the move after it.
    pub trim: f64,
    /// Seconds for a change of thread.
    pub change: f64,
}

impl Default for Pace {
    /// One needle at home: 700 stitches a minute, 8 s a trim, 75 s a change of
    /// thread. Common practice, no source.
    fn default() -> Pace {
        Pace { stitches_per_minute: 700.0, trim: 8.0, change: 75.0 }
    }
}

impl Pace {
    /// Seconds for so many stitches, trims and changes of thread. A pace of no
    /// stitches a minute spends no time on them.
    pub fn seconds(&self, stitches: usize, trims: usize, changes: usize) -> f64 {
        let sewing =
            if self.stitches_per_minute > 0.0 { stitches as f64 * 60.0 / self.stitches_per_minute } else { 0.0 };
        sewing + trims as f64 * self.trim + changes as f64 * self.change
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stitches_trims_and_changes_add_up() {
        assert!((Pace::default().seconds(7000, 10, 2) - (600.0 + 80.0 + 150.0)).abs() < 1e-9);
        let quick = Pace { stitches_per_minute: 1000.0, trim: 2.0, change: 0.0 };
        assert!((quick.seconds(7000, 10, 2) - 440.0).abs() < 1e-9);
    }
}
