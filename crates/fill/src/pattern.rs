//! Where the needle points of a row lie.
//!
//! Points lie on a grid of one stitch length along the rows' own axis, moved
//! by a part of it from row to row. The grid is anchored in the frame, not at
//! the ends of rows, so it runs on across holes and from piece to piece of a
//! shape without a seam. Near the end of a row, points closer than the
//! shortest stitch are left out, so that they do not pile up at the edge.

use crate::chain::SHORTEST;
use crate::{FillSettings, Shifts};
use laidwork_plan::LONGEST_STITCH;

#[derive(Clone, Debug)]
pub(crate) struct Pattern {
    length: f64,
    shortest: f64,
    /// Fractions are from 0 to 1, and there is at least one.
    shifts: Shifts,
}

impl Pattern {
    pub(crate) fn new(settings: &FillSettings) -> Pattern {
        let shortest =
            if settings.shortest_stitch.is_finite() { settings.shortest_stitch.clamp(SHORTEST, 3.0) } else { 0.8 };
        // A stitch at the end of a row may take in the rests of two others.
        let longest = LONGEST_STITCH - 2.0 * shortest - 0.5;
        let length = if settings.stitch_length.is_finite() {
            settings.stitch_length.clamp(shortest.max(0.5), longest)
        } else {
            4.0
        };
        let shifts = match &settings.shifts {
            Shifts::Fractions(all) if all.is_empty() => Shifts::Fractions(vec![0.0]),
            Shifts::Fractions(all) => {
                let part = |&shift: &f64| if shift.is_finite() { shift.rem_euclid(1.0) } else { 0.0 };
                Shifts::Fractions(all.iter().map(part).collect())
            }
            irregular => irregular.clone(),
        };
        Pattern { length, shortest, shifts }
    }

    /// The longest plain stitch, mm.
    pub(crate) fn length(&self) -> f64 {
        self.length
    }

    /// Adds `place` of the needle points strictly between two places of a row, in the direction from the first to the
    /// second.
    pub(crate) fn between<T>(&self, row: u32, from: f64, to: f64, place: impl Fn(f64) -> T, points: &mut Vec<T>) {
        let (low, high) = (from.min(to) + self.shortest, from.max(to) - self.shortest);
        if low > high {
            return;
        }
        let shift = self.shift(row);
        let before = points.len();
        // One more at both ends, as truncation rounds towards zero; what lies beyond the limits is left out.
        let (mut first, mut last) = ((low / self.length - shift) as i64 - 1, (high / self.length - shift) as i64 + 1);
        match self.shifts {
            Shifts::Fractions(_) => {
                let at = |k: i64| (k as f64 + shift) * self.length;
                while first <= last && at(first) < low {
                    first += 1;
                }
                while first <= last && at(last) > high {
                    last -= 1;
                }
                let all = (first..last + 1).map(|k| place(at(k)));
                if from <= to { points.extend(all) } else { points.extend(all.rev()) }
            }
            Shifts::Irregular { seed } => {
                let at = |k: i64| (k as f64 + shift + wobble(seed, row, k)) * self.length;
                points.extend((first..=last).map(at).filter(|x| (low..=high).contains(x)).map(&place));
                if from > to {
                    points[before..].reverse();
                }
            }
        }
        // The rests of both ends together in one stitch are too much.
        if points.len() == before && high - low > self.length - self.shortest {
            points.push(place((low + high) / 2.0));
        }
    }

    /// By how much of a stitch a row is moved along.
    fn shift(&self, row: u32) -> f64 {
        match &self.shifts {
            Shifts::Fractions(fractions) => fractions[(row % fractions.len() as u32) as usize],
            // Steps of the golden ratio keep any few rows in turn well apart: neighbours by
            // 0.38 of a stitch, the next but one by 0.24. The scatter takes at most 0.16 off.
            Shifts::Irregular { seed } => {
                let golden = 0.618_033_988_749_894_9 * f64::from(row);
                (golden + 0.1 * scatter(*seed, u64::from(row), 0)).rem_euclid(1.0)
            }
        }
    }
}

/// By how much of a stitch a needle point lies beside its place in the grid.
fn wobble(seed: u64, row: u32, k: i64) -> f64 {
    0.06 * scatter(seed, u64::from(row), k as u64 | 1 << 63)
}

/// A number from -0.5 to 0.5 that depends on all three alone (the mixer of
/// SplitMix64; Steele, Lea and Flood, "Fast splittable pseudorandom number
/// generators", 2014).
fn scatter(seed: u64, row: u64, k: u64) -> f64 {
    let mix = |mut z: u64| {
        z = z.wrapping_add(0x9e37_79b9_7f4a_7c15);
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    };
    (mix(mix(mix(seed) ^ row) ^ k) >> 11) as f64 / (1u64 << 53) as f64 - 0.5
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(settings: &FillSettings, row: u32, from: f64, to: f64) -> Vec<f64> {
        let mut places = Vec::new();
        Pattern::new(settings).between(row, from, to, |x| x, &mut places);
        places
    }

    #[test]
    fn points_run_on_from_span_to_span() {
        let settings = FillSettings::default();
        let whole = places(&settings, 3, 0.0, 40.0);
        let part = places(&settings, 3, 17.0, 30.0);
        assert!(!part.is_empty() && part.iter().all(|x| whole.contains(x)));
        let back: Vec<f64> = places(&settings, 3, 40.0, 0.0).into_iter().rev().collect();
        assert_eq!(whole, back);
    }

    #[test]
    fn neighbouring_rows_are_far_apart() {
        for settings in
            [FillSettings::default(), FillSettings { shifts: Shifts::Irregular { seed: 7 }, ..FillSettings::default() }]
        {
            for row in 0..200 {
                for (apart, least) in [(1, 0.85), (2, 0.3)] {
                    let other = places(&settings, row + apart, 0.0, 100.0);
                    for x in places(&settings, row, 0.0, 100.0) {
                        let nearest = other.iter().map(|o| (o - x).abs()).fold(f64::INFINITY, f64::min);
                        assert!(nearest >= least, "row {row} + {apart}: {nearest}");
                    }
                }
            }
        }
    }

    #[test]
    fn no_stitch_takes_the_rests_of_both_ends() {
        let settings = FillSettings::default();
        for row in 0..5 {
            for start in 0..40 {
                let from = f64::from(start) * 0.1;
                let mut all = vec![from];
                all.extend(places(&settings, row, from, from + 5.5));
                all.push(from + 5.5);
                assert!(all.windows(2).all(|pair| pair[1] - pair[0] <= 4.8 + 1e-9), "{all:?}");
            }
        }
    }

    #[test]
    fn no_stitch_is_short_or_long() {
        for (stitch_length, shortest_stitch) in [(4.0, 0.8), (0.1, 0.8), (30.0, 0.1), (f64::NAN, f64::NAN)] {
            for seed in 0..20 {
                let settings = FillSettings {
                    stitch_length,
                    shortest_stitch,
                    shifts: Shifts::Irregular { seed },
                    ..FillSettings::default()
                };
                for row in 0..50 {
                    let end = 3.0 + f64::from(row) * 1.37;
                    let mut all = vec![-2.0];
                    all.extend(places(&settings, row, -2.0, end));
                    all.push(end);
                    assert!(
                        all.windows(2).all(|pair| pair[1] - pair[0] >= 0.31 && pair[1] - pair[0] <= 12.0),
                        "{all:?}"
                    );
                }
            }
        }
    }
}
