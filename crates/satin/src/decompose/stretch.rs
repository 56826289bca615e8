//! A column parted where it gets too thin for threads across it.
//!
//! A stroke that swells from a hairline is a run and a column, not one of the
//! two. Thin and wide stretches alternate; stretches too short to be worth the change
//! go with their neighbours, the shortest first. A column reaches a little
//! over the end of the run that goes on from it.

use super::track::STEP;
use crate::{Column, ColumnEnd};
use laidwork_geometry::Crossing;

/// Shorter stretches go with their neighbours, mm.
const SHORTEST: f64 = 2.5;

/// A column goes on this far into the thin part, and a run into the wide one, mm.
const OVERLAP: f64 = 0.5;

/// A stretch of a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Stretch {
    /// Its first and its last crossing.
    pub(crate) first: usize,
    pub(crate) last: usize,
    /// Too thin for threads across it.
    pub(crate) thin: bool,
}

/// The stretches of an open column in order; one for all of a ring.
pub(crate) fn stretches(column: &Column, min_width: f64) -> Vec<Stretch> {
    let end = column.crossings.len().saturating_sub(1);
    if column.closed || end == 0 {
        return vec![Stretch { first: 0, last: end, thin: column.median_width() < min_width }];
    }
    let mut found: Vec<Stretch> = Vec::new();
    for (i, crossing) in column.crossings.iter().enumerate() {
        let thin = crossing.width() < min_width;
        match found.last_mut() {
            Some(stretch) if stretch.thin == thin => stretch.last = i,
            _ => found.push(Stretch { first: i, last: i, thin }),
        }
    }
    let length = |s: &Stretch| length(column.crossings.get(s.first..=s.last).unwrap_or_default());
    while found.len() > 1 {
        let shortest = (0..found.len()).min_by(|a, b| length(&found[*a]).total_cmp(&length(&found[*b])).then(a.cmp(b)));
        let Some(index) = shortest.filter(|i| length(&found[*i]) < SHORTEST) else { break };
        found[index].thin = !found[index].thin;
        found.dedup_by(|next, stretch| {
            let same = next.thin == stretch.thin;
            if same {
                stretch.last = next.last;
            }
            same
        });
    }
    let reach = (OVERLAP / STEP).round() as usize;
    let count = found.len();
    for (i, stretch) in found.iter_mut().enumerate() {
        stretch.first = if i > 0 { stretch.first.saturating_sub(reach) } else { stretch.first };
        stretch.last = if i + 1 < count { (stretch.last + reach).min(end) } else { stretch.last };
    }
    found
}

/// The part of a column that a stretch is.
pub(crate) fn part_of(column: &Column, stretch: &Stretch) -> Column {
    let end = column.crossings.len().saturating_sub(1);
    Column {
        crossings: column.crossings.get(stretch.first..=stretch.last).unwrap_or_default().to_vec(),
        closed: column.closed,
        ends: [
            if stretch.first == 0 { column.ends[0] } else { ColumnEnd::Joined },
            if stretch.last == end { column.ends[1] } else { ColumnEnd::Joined },
        ],
    }
}

fn length(band: &[Crossing]) -> f64 {
    band.windows(2).map(|p| if let &[a, b] = p { a.middle().distance(b.middle()) } else { 0.0 }).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Point;

    fn column(widths: &[f64]) -> Column {
        let at = |(i, half): (usize, f64)| {
            Crossing::new(Point::new(i as f64 * 0.1, half), Point::new(i as f64 * 0.1, -half))
        };
        Column::open(widths.iter().map(|w| w / 2.0).enumerate().map(at).collect())
    }

    #[test]
    fn a_swelling_line_is_a_run_and_a_column() {
        let widths: Vec<f64> = (0..200).map(|i| 0.4 + i as f64 * 0.01).collect();
        let found = stretches(&column(&widths), 0.8);
        assert_eq!(found.iter().map(|s| s.thin).collect::<Vec<_>>(), [true, false]);
        assert_eq!((found[0].first, found[1].last), (0, 199));
        assert!(found[0].last > found[1].first, "they overlap: {found:?}");
        let wide = part_of(&column(&widths), &found[1]);
        assert_eq!(wide.ends, [ColumnEnd::Joined, ColumnEnd::Open]);
    }

    #[test]
    fn a_short_neck_goes_with_its_neighbours() {
        let widths: Vec<f64> = (0..200).map(|i| if (90..100).contains(&i) { 0.6 } else { 2.0 }).collect();
        assert_eq!(stretches(&column(&widths), 0.8), [Stretch { first: 0, last: 199, thin: false }]);
    }

    #[test]
    fn nothing_is_one_stretch() {
        assert_eq!(stretches(&Column::default(), 0.8).len(), 1);
    }
}
