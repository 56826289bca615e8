//! How columns are sewn.

use laidwork_fill::FillSettings;
use laidwork_underlay::ColumnUnderlay;

/// What sewn thread draws in along itself, and how much each end of a thread
/// is therefore lengthened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pull {
    /// At the ends on the left side (seen along the column), mm.
    pub left: f64,
    /// At the ends on the right side, mm.
    pub right: f64,
    /// On top of that, this many hundredths of the thread's length, half of it at each end.
    pub percent: f64,
    /// No end is lengthened by more than this, mm.
    pub limit: f64,
}

/// No thread is lengthened by more than this at an end, whatever the limit says, mm.
const MOST_PULL: f64 = 3.0;

impl Pull {
    /// The same length at both ends, mm, and nothing by width.
    pub const fn both(length: f64) -> Pull {
        Pull { left: length, right: length, percent: 0.0, limit: 1.0 }
    }

    /// How much a thread `width` mm long gets at its left and its right end, mm.
    pub fn ends(&self, width: f64) -> (f64, f64) {
        let share = width * self.percent / 200.0;
        let limit = if self.limit.is_finite() { self.limit.clamp(0.0, MOST_PULL) } else { 1.0 };
        let within = |v: f64| if v.is_finite() { v.clamp(-limit, limit) } else { 0.0 };
        (within(self.left + share), within(self.right + share))
    }
}

impl Default for Pull {
    fn default() -> Pull {
        Pull::both(0.2)
    }
}

/// How columns are sewn. Lengths in mm; the defaults are common practice, no source.
#[derive(Clone, Debug, PartialEq)]
pub struct SatinSettings {
    /// Distance between neighbouring threads at the longer side, square to
    /// them: half the distance between needle points that follow each other on that side.
    pub spacing: f64,
    /// Where the wedges between threads stay near the outline nevertheless, as in narrow columns, threads lie up to so
    /// many times as far apart: 1, but for columns on rows, which show no cloth.
    pub narrow_opened: f64,
    /// Wider columns are split or filled.
    pub max_width: f64,
    /// Narrower columns are runs along their middle.
    pub min_width: f64,
    /// Threads over `max_width` get needle points on their way, about this far apart.
    pub split_length: f64,
    /// Lengthening of every thread.
    pub pull: Pull,
    /// Shortening of every column at its open ends.
    pub push: f64,
    /// Where the threads crowd on the inner side of a bend, some end short of it.
    pub short_threads: bool,
    /// No thread is shorter than this.
    pub shortest_stitch: f64,
    /// How far a column reaches under the one that it meets.
    pub overlap: f64,
    /// How far a closed column goes on over its own beginning.
    pub closing_overlap: f64,
    /// What is sewn under the threads.
    pub underlay: ColumnUnderlay,
    /// The longest stitch of the ways from column to column, and of lines along parts too thin for threads.
    pub travel_length: f64,
    /// The longest stitch of these where they bend.
    pub curve_length: f64,
    /// How parts too wide for a column are filled.
    pub fill: FillSettings,
}

impl Default for SatinSettings {
    fn default() -> SatinSettings {
        SatinSettings {
            spacing: 0.17,
            narrow_opened: 1.0,
            max_width: 7.0,
            min_width: 0.8,
            split_length: 4.0,
            pull: Pull::default(),
            push: 0.4,
            short_threads: true,
            shortest_stitch: 0.5,
            overlap: 0.6,
            closing_overlap: 0.8,
            underlay: ColumnUnderlay::Auto,
            travel_length: 2.0,
            curve_length: 1.5,
            fill: FillSettings::default(),
        }
    }
}

/// The range settings are brought into before use.
fn within(value: f64, low: f64, high: f64, other: f64) -> f64 {
    if value.is_finite() { value.clamp(low, high) } else { other }
}

impl SatinSettings {
    /// The same settings with every length usable.
    pub(crate) fn checked(&self) -> SatinSettings {
        let usual = SatinSettings::default();
        SatinSettings {
            spacing: within(self.spacing, 0.05, 5.0, usual.spacing),
            narrow_opened: within(self.narrow_opened, 1.0, 2.0, usual.narrow_opened),
            max_width: within(self.max_width, 1.0, 11.0, usual.max_width),
            min_width: within(self.min_width, 0.1, 5.0, usual.min_width),
            split_length: within(self.split_length, 1.0, 11.0, usual.split_length),
            pull: self.pull,
            push: within(self.push, -2.0, 5.0, usual.push),
            short_threads: self.short_threads,
            shortest_stitch: within(self.shortest_stitch, 0.3, 2.0, usual.shortest_stitch),
            overlap: within(self.overlap, 0.0, 3.0, usual.overlap),
            closing_overlap: within(self.closing_overlap, 0.0, 5.0, usual.closing_overlap),
            underlay: self.underlay.clone(),
            travel_length: within(self.travel_length, 0.8, 8.0, usual.travel_length),
            curve_length: within(self.curve_length, 0.4, 8.0, usual.curve_length),
            fill: self.fill.clone(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pull_adds_up_and_stops_at_its_limit() {
        let pull = Pull { left: 0.2, right: 0.1, percent: 10.0, limit: 0.5 };
        let (left, right) = pull.ends(4.0);
        assert!((left - 0.4).abs() < 1e-12 && (right - 0.3).abs() < 1e-12);
        assert_eq!(pull.ends(100.0), (0.5, 0.5));
    }

    #[test]
    fn settings_that_are_no_numbers_become_usual() {
        let broken = SatinSettings { spacing: f64::NAN, max_width: f64::INFINITY, ..SatinSettings::default() };
        assert_eq!(broken.checked(), SatinSettings::default());
    }
}
