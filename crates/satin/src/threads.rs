//! Where the threads of a column lie.
//!
//! The crossings of a column are dense and say only which way threads go. Here
//! they are counted off: between neighbouring crossings the thread advances by
//! the larger of the two ends' offsets square to it, so that after one
//! `spacing` of advance the threads are one spacing apart at the longer side
//! and nearer at the other. The sum is cut into equal parts, the nearest number
//! of them that is not wider than asked.
//!
//! Compensation: both ends of every thread move out by the pull; the first and
//! last thread of an open end move in by the push, counted from a thread pair
//! beyond the outline (see [`REACH`]).
//!
//! A column that narrows to a point stops where its threads would get too
//! short; the rest of the way to the point is a run there and back.
//!
//! O(crossings + threads).

use crate::{Column, ColumnEnd, SatinSettings};
use kurbo::Point;
use laidwork_geometry::{Crossing, crossing_at};

/// How far outside the outline the middle of the last thread of an open end
/// lies without push compensation, mm. A thread pair (0.4) beyond the outline, less half
/// a sewn thread: with the usual push of 0.4 the last thread's outer edge then
/// lies on the outline, with none the end is as generous as the sides are.
pub const REACH: f64 = 0.25;

/// Towards a point, columns narrower than this are run, mm: a sewn thread is 0.3 wide.
const TIP_WIDTH: f64 = 0.25;

/// A run to a point ends this far before it, mm: half a sewn thread.
const TIP_INSET: f64 = 0.15;

/// A sewn thread is so wide, mm. Common practice, no source.
const THREAD: f64 = 0.3;

/// Wedges between threads reach so far inside the outline, mm, where threads that are ...
const WEDGE: f64 = 0.2;

/// ... no more than so many times as close are enough for that.
const CLOSEST: f64 = 1.08;

/// Wedges may reach so far inside the outline, mm, where a column may be opened: what shows in them is rows, not fabric.
const WEDGE_ON_ROWS: f64 = 0.4;

/// A point nearer than this is left to the last thread, mm.
const SHORTEST_TIP: f64 = 0.6;

/// The threads of one column in order along it.
#[derive(Clone, Debug, Default)]
pub struct Threads {
    /// Where each thread lies, compensated; neighbours are one spacing apart at the longer side.
    pub crossings: Vec<Crossing>,
    /// The place in the column of each of them.
    pub places: Vec<f64>,
    /// From the first and from the last thread to the point, when the column narrows to one.
    pub tips: [Vec<Point>; 2],
}

/// Lays threads across an open column (a ring must be [opened](Column::opened_at) first).
pub fn lay(column: &Column, settings: &SatinSettings) -> Threads {
    let mut band: Vec<Crossing> = column.crossings.iter().copied().filter(|c| c.is_finite()).collect();
    if band.len() < 2 {
        return Threads::default();
    }
    let mut tips: [Vec<Point>; 2] = Default::default();
    let mut first = 0.0; // the place of the band's first crossing
    for end in [1, 0] {
        if end == 0 {
            band.reverse();
        }
        let before = band.len() as f64;
        match column.ends[end] {
            ColumnEnd::Open => cut_back(&mut band, settings.push - REACH),
            ColumnEnd::Point => tips[end] = cut_tip(&mut band, settings),
            ColumnEnd::Joined => {}
        }
        if end == 0 {
            first = before - band.len() as f64;
            band.reverse();
        }
    }
    let mut threads = count_off(&band, settings);
    for place in &mut threads.places {
        *place += first;
    }
    for crossing in &mut threads.crossings {
        *crossing = pulled(*crossing, settings);
    }
    threads.tips = tips;
    threads
}

/// Takes `distance` off the end of the band (adds it when negative), measured
/// square to the last crossing; never more than to the middle of the band.
fn cut_back(band: &mut Vec<Crossing>, distance: f64) {
    let Some(&end) = band.last() else { return };
    if distance <= 0.0 {
        let Some(&before) = band.get(band.len().saturating_sub(4)) else { return };
        let along = end.middle() - before.middle();
        let square = kurbo::Vec2::new(-end.direction().y, end.direction().x);
        let out = square * (-distance * along.dot(square).signum());
        band.push(Crossing::new(end.left + out, end.right + out));
        return;
    }
    let away = |c: &Crossing| (c.middle() - end.middle()).cross(end.direction()).abs();
    let keep = (band.len() / 2).max(1);
    while band.len() > keep {
        let (Some(&last), Some(before)) = (band.last(), band.len().checked_sub(2).and_then(|i| band.get(i)).copied())
        else {
            return;
        };
        let (far, near) = (away(&before), away(&last));
        if far > distance {
            let share = if far > near { (far - distance) / (far - near) } else { 0.0 };
            band.pop();
            band.push(before.lerp(last, share.clamp(0.0, 1.0)));
            return;
        }
        band.pop();
    }
}

/// Takes the point off the end of the band; the way from there to it.
fn cut_tip(band: &mut Vec<Crossing>, settings: &SatinSettings) -> Vec<Point> {
    let Some(&end) = band.last() else { return Vec::new() };
    let too_narrow = |c: &Crossing| c.width() < TIP_WIDTH || pulled_width(*c, settings) < settings.shortest_stitch;
    let mut way = Vec::new();
    while band.len() > 2 && band.last().is_some_and(too_narrow) {
        way.extend(band.pop().map(Crossing::middle));
    }
    way.retain(|p| p.distance(end.middle()) >= TIP_INSET);
    way.reverse();
    let start = band.last().map(|c| c.middle());
    let length = match (start, way.last()) {
        (Some(start), Some(last)) => start.distance(*last),
        _ => 0.0,
    };
    if length < SHORTEST_TIP { Vec::new() } else { start.into_iter().chain(way).collect() }
}

fn pulled_width(crossing: Crossing, settings: &SatinSettings) -> f64 {
    let (left, right) = settings.pull.ends(crossing.width());
    crossing.width() + left + right
}

/// A crossing lengthened by the pull, and to the shortest stitch at least.
fn pulled(crossing: Crossing, settings: &SatinSettings) -> Crossing {
    let width = crossing.width();
    let (left, right) = settings.pull.ends(width);
    let along = crossing.direction();
    let missing = (settings.shortest_stitch - width - left - right).max(0.0) / 2.0;
    Crossing::new(crossing.left - along * (left + missing), crossing.right + along * (right + missing))
}

/// How many spacings make up a way of `spacing` mm where the column is `width` mm wide: one, or a little more, or fewer
/// in narrow columns that may be opened.
///
/// Threads that meet at a point of a side open a wedge to the next point, which reaches 1 - 0.3 / (2 spacing) of the
/// width into the column. In wide columns a little less spacing keeps it near the outline.
fn closer(width: f64, settings: &SatinSettings) -> f64 {
    let pull = settings.pull.ends(width);
    let closer = |wedge: f64| {
        let reach = wedge + pull.0.min(pull.1).max(0.0);
        settings.spacing / (THREAD / 2.0 / (1.0 - reach / width.max(2.0 * reach)))
    };
    if settings.narrow_opened > 1.0 {
        return closer(WEDGE_ON_ROWS).clamp(1.0 / settings.narrow_opened, 1.0);
    }
    let closer = closer(WEDGE);
    if closer <= CLOSEST { closer.max(1.0) } else { 1.0 }
}

/// Crossings one spacing apart, the first and the last of the band included.
fn count_off(band: &[Crossing], settings: &SatinSettings) -> Threads {
    let mut advance = Vec::with_capacity(band.len());
    let mut total = 0.0;
    advance.push(0.0);
    for pair in band.windows(2) {
        if let &[a, b] = pair {
            total += step(a, b) * closer(a.width(), settings);
        }
        advance.push(total);
    }
    let parts = (total / settings.spacing - 1e-6).ceil().max(1.0);
    let mut threads = Threads::default();
    let mut index = 0;
    for part in 0..=parts as usize {
        let wanted = total * part as f64 / parts;
        while index + 2 < advance.len() && advance.get(index + 1).is_some_and(|a| *a < wanted) {
            index += 1;
        }
        let (from, to) = (advance.get(index).copied().unwrap_or(0.0), advance.get(index + 1).copied().unwrap_or(total));
        let share = if to > from { ((wanted - from) / (to - from)).clamp(0.0, 1.0) } else { 0.0 };
        let place = index as f64 + share;
        threads.crossings.extend(crossing_at(band, place));
        threads.places.push(place);
    }
    threads
}

/// How far a thread advances from one crossing to the next: the larger offset
/// of its ends, square to it.
fn step(a: Crossing, b: Crossing) -> f64 {
    let along = match (a.direction() + b.direction()).hypot() {
        length if length > 1e-9 => (a.direction() + b.direction()) / length,
        _ => return a.middle().distance(b.middle()),
    };
    let offset = |p: Point, q: Point| (q - p).cross(along).abs();
    offset(a.left, b.left).max(offset(a.right, b.right))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Pull;
    use kurbo::Vec2;

    fn bar(width: f64, length: usize) -> Column {
        let at = |i: usize| {
            let y = i as f64 / 10.0;
            Crossing::new(Point::new(0.0, y), Point::new(width, y))
        };
        Column::open((0..=length * 10).map(at).collect())
    }

    #[test]
    fn pull_lengthens_every_thread_exactly() {
        let threads = lay(&bar(4.0, 20), &SatinSettings::default());
        assert!(threads.crossings.len() > 90);
        assert!(threads.crossings.iter().all(|c| (c.width() - 4.4).abs() < 1e-9));
        assert!(threads.crossings.iter().all(|c| (c.left.x + 0.2).abs() < 1e-9));
    }

    #[test]
    fn pull_may_differ_from_side_to_side() {
        let settings = SatinSettings {
            pull: Pull { left: 0.3, right: 0.1, percent: 5.0, limit: 0.35 },
            ..SatinSettings::default()
        };
        let threads = lay(&bar(4.0, 20), &settings);
        assert!(threads.crossings.iter().all(|c| (c.left.x + 0.35).abs() < 1e-9 && (c.right.x - 4.2).abs() < 1e-9));
    }

    #[test]
    fn push_moves_open_ends_in() {
        let ends = |push: f64| {
            let threads = lay(&bar(4.0, 20), &SatinSettings { push, ..SatinSettings::default() });
            (threads.crossings[0].left.y, threads.crossings[threads.crossings.len() - 1].left.y)
        };
        let (top, foot) = ends(0.0);
        assert!((top + REACH).abs() < 1e-9 && (foot - 20.0 - REACH).abs() < 1e-9);
        for push in [0.1, 0.4, 0.75] {
            let (a, b) = ends(push);
            assert!((a - top - push).abs() < 1e-9 && (foot - b - push).abs() < 1e-9, "{push} {a} {b}");
        }
    }

    #[test]
    fn joined_ends_are_not_pushed() {
        let column = Column { ends: [ColumnEnd::Joined, ColumnEnd::Open], ..bar(4.0, 20) };
        let threads = lay(&column, &SatinSettings::default());
        assert!(threads.crossings[0].left.y.abs() < 1e-9);
        assert!(threads.places[0].abs() < 1e-9);
    }

    #[test]
    fn spacing_is_kept_at_the_longer_side() {
        let at = |i: usize| {
            let out = Vec2::from_angle(i as f64 * 0.01);
            Crossing::new((out * 9.0).to_point(), (out * 8.0).to_point())
        };
        let column = Column { ends: [ColumnEnd::Joined; 2], ..Column::open((0..=200).map(at).collect()) };
        let spacing = SatinSettings::default().spacing;
        let threads = lay(&column, &SatinSettings { pull: Pull::both(0.0), ..SatinSettings::default() });
        let outer: Vec<f64> = threads.crossings.windows(2).map(|p| p[0].left.distance(p[1].left)).collect();
        assert!(outer.iter().all(|d| (d - outer[0]).abs() < 1e-3 && *d <= spacing && *d > 0.99 * spacing), "{outer:?}");
    }

    #[test]
    fn wide_columns_are_laid_a_little_closer() {
        let pitch = |width: f64, spacing: f64| {
            let threads = lay(&bar(width, 20), &SatinSettings { spacing, ..SatinSettings::default() });
            threads.crossings[10].left.distance(threads.crossings[9].left) / spacing
        };
        assert!(pitch(2.0, 0.17) > 0.99);
        // A wedge of 1 - 0.3 / (2 x 0.163) of the width, 5 mm and twice the pull, is 0.4 mm long.
        assert!((0.94..0.98).contains(&pitch(5.0, 0.17)), "{}", pitch(5.0, 0.17));
        // Threads that are meant to lie apart stay so.
        assert!(pitch(5.0, 0.3) > 0.99);
    }

    #[test]
    fn narrow_columns_that_may_be_opened_are() {
        let pitch = |width: f64| {
            let settings = SatinSettings { narrow_opened: 1.18, ..SatinSettings::default() };
            let threads = lay(&bar(width, 20), &settings);
            threads.crossings[10].left.distance(threads.crossings[9].left)
        };
        // Wide ones keep their spacing: wedges would reach far into them.
        let pitches = [1.0, 2.0, 3.0, 5.0].map(pitch);
        assert!(pitches[0] > 0.197 && pitches[1] > 0.197 && pitches[1] < 0.201, "{pitches:?}");
        assert!(pitches[2] > 0.183 && pitches[2] < 0.19 && pitches[3] > 0.168 && pitches[3] < 0.171, "{pitches:?}");
    }

    #[test]
    fn a_point_is_run_there_and_back() {
        let at = |i: usize| {
            let (y, half) = (i as f64 / 10.0, i as f64 / 100.0);
            Crossing::new(Point::new(-half, y), Point::new(half, y))
        };
        let column = Column { ends: [ColumnEnd::Point, ColumnEnd::Open], ..Column::open((0..=100).map(at).collect()) };
        let threads = lay(&column, &SatinSettings::default());
        assert!(threads.crossings.iter().all(|c| c.width() >= 0.5));
        let tip = threads.tips[0].last().unwrap();
        assert!(tip.y > 0.1 && tip.y < 0.3, "{tip}");
        assert!(threads.tips[1].is_empty());
    }

    #[test]
    fn a_column_of_nothing_has_no_threads() {
        let nan = Crossing::new(Point::new(f64::NAN, 0.0), Point::ZERO);
        assert!(lay(&Column::open(vec![nan; 5]), &SatinSettings::default()).crossings.is_empty());
        assert!(lay(&Column::default(), &SatinSettings::default()).crossings.is_empty());
    }
}
