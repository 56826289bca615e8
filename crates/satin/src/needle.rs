//! Needle points of laid threads: from side to side, with short threads where
//! they crowd and points on the way where they are too long.
//!
//! The thread runs from a crossing's end on one side to the next crossing's end
//! on the other, so that points on one side are two crossings apart. The first
//! and the last crossing get both their points: the ends of a column are square.
//!
//! *Short threads.* Where points on one side would be nearer to each other than
//! one spacing (they are two apart on the outer side), every second point (in tighter bends three
//! of four, and so on) ends short of the side, just as far in as its neighbours of the same depth are
//! so far apart there. *Split.* Threads over the greatest width get points on a
//! grid that is shifted from thread to thread, in the order 0, 2/5, 4/5, 1/5,
//! 3/5, so that they never line up.

use crate::SatinSettings;
use kurbo::Point;
use laidwork_geometry::Crossing;

/// Points on one side crowd when they are nearer than the spacing, and in any case when they are nearer than
/// this, mm: the needle would cut the fabric. Every second one left out, the others are no farther apart than on the
/// outer side, so that no wedge opens between them.
const CROWDED: f64 = 0.16;

/// A short thread ends at least this share of the width before the side, and at most half-way, ...
const SHORTEST_STEP: f64 = 0.18;

/// ... but for that alone no more than this before it, mm: about a point few threads reach the side of a wide
/// column, and between them the ground would show. Nearer, their ends would crowd about the point.
const STEP: f64 = 0.52;

/// Shifts of the split points of neighbouring threads.
const SHIFTS: [f64; 5] = [0.0, 0.4, 0.8, 0.2, 0.6];

/// Needle points over `threads` in order, the very first on the left when `begin_left`.
pub fn needle_points(threads: &[Crossing], begin_left: bool, settings: &SatinSettings) -> Vec<Point> {
    let count = threads.len();
    let mut points: Vec<Point> = Vec::with_capacity(count + 2);
    for (i, crossing) in threads.iter().enumerate() {
        let on_left = (i % 2 == 0) != begin_left;
        let shift = |thread: usize| SHIFTS.get(thread % SHIFTS.len()).copied().unwrap_or(0.0);
        if i == 0 {
            points.push(end_of(*crossing, !on_left));
        }
        let crowded = settings.spacing.max(CROWDED);
        let depth = if settings.short_threads { depth(threads, i, on_left, crowded) } else { 0.0 };
        let end = crossing.at(if on_left { depth } else { 1.0 - depth });
        reach(&mut points, end, on_left, shift(i), settings);
        if i + 1 == count && count > 1 {
            reach(&mut points, end_of(*crossing, !on_left), !on_left, shift(i + 1), settings);
        }
    }
    points
}

fn end_of(crossing: Crossing, left: bool) -> Point {
    if left { crossing.left } else { crossing.right }
}

/// How far before its side thread `i` ends, as a share of its length.
fn depth(threads: &[Crossing], i: usize, on_left: bool, crowded: f64) -> f64 {
    let side = |i: usize, left: bool| threads.get(i).map(|c| end_of(*c, left));
    let pitch = |left: bool| {
        let (Some(before), Some(here), Some(after)) = (side(i.wrapping_sub(2), left), side(i, left), side(i + 2, left))
        else {
            return f64::INFINITY;
        };
        (before.distance(here) + here.distance(after)) / 2.0
    };
    let (inner, outer) = (pitch(on_left), pitch(!on_left));
    if inner >= crowded || outer <= inner || !outer.is_finite() {
        return 0.0;
    }
    let turn = i / 2; // counts the points on this side
    let mut group = 2;
    while (group as f64) * inner < crowded && group < 16 {
        group *= 2;
    }
    while group > 1 {
        if turn.is_multiple_of(group) {
            break;
        }
        group /= 2;
    }
    // `group` is how many points apart this one and those as deep as it are.
    let full = {
        let mut full = 2;
        while (full as f64) * inner < crowded && full < 16 {
            full *= 2;
        }
        full
    };
    if group == full {
        return 0.0;
    }
    let wanted = crowded / group as f64;
    let width = threads.get(i).map_or(0.0, |c| c.width());
    let least = SHORTEST_STEP.min(STEP / width.max(1e-9));
    ((wanted - inner) / (outer - inner)).clamp(least, 0.5)
}

/// Goes on to `end`, with points on the way when it is far.
fn reach(points: &mut Vec<Point>, end: Point, to_left: bool, shift: f64, settings: &SatinSettings) {
    if let Some(&from) = points.last() {
        let length = from.distance(end);
        if length > settings.max_width {
            // The grid is counted from the left side in both directions.
            let (left, right) = if to_left { (end, from) } else { (from, end) };
            let mut inner = Vec::new();
            let mut at = settings.split_length * (0.25 + shift);
            let margin = (settings.split_length / 4.0).min(1.0);
            while at < length - margin {
                if at >= margin {
                    inner.push(left.lerp(right, at / length));
                }
                at += settings.split_length;
            }
            if to_left {
                inner.reverse();
            }
            points.extend(inner);
        }
    }
    points.push(end);
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Vec2;

    fn bar(width: f64, count: usize) -> Vec<Crossing> {
        (0..count).map(|i| i as f64 * 0.2).map(|y| Crossing::new(Point::new(0.0, y), Point::new(width, y))).collect()
    }

    fn fan(inner: f64, outer: f64) -> Vec<Crossing> {
        let at = |i: usize| {
            let out = Vec2::from_angle(i as f64 * 0.2 / outer);
            Crossing::new((out * inner).to_point(), (out * outer).to_point())
        };
        (0..60).map(at).collect()
    }

    #[test]
    fn points_on_one_side_are_two_spacings_apart() {
        let points = needle_points(&bar(3.0, 50), true, &SatinSettings::default());
        assert_eq!(points.len(), 52);
        let left: Vec<f64> = points.iter().filter(|p| p.x < 1.0).map(|p| p.y).collect();
        assert!(left[1..left.len() - 1].windows(2).all(|y| (y[1] - y[0] - 0.4).abs() < 1e-9), "{left:?}");
    }

    #[test]
    fn both_ends_are_square() {
        for begin_left in [true, false] {
            let points = needle_points(&bar(3.0, 50), begin_left, &SatinSettings::default());
            let last = points.len() - 1;
            assert!((points[0].y - points[1].y).abs() < 1e-9 && (points[last].y - points[last - 1].y).abs() < 1e-9);
        }
    }

    #[test]
    fn an_even_bar_has_no_short_threads() {
        let points = needle_points(&bar(3.0, 50), true, &SatinSettings::default());
        assert!(points.iter().all(|p| p.x < 1e-9 || p.x > 3.0 - 1e-9));
    }

    #[test]
    fn short_threads_keep_the_inside_of_a_bend_clear() {
        for inner in [0.0, 0.2, 0.5, 1.0] {
            let points = needle_points(&fan(inner, 4.0), true, &SatinSettings::default());
            let inside: Vec<Point> =
                points.into_iter().filter(|p| p.to_vec2().hypot() < inner + 0.6 * (4.0 - inner)).collect();
            let crowd = |p: &Point| inside.iter().filter(|q| p.distance(**q) < 0.5).count();
            let most = inside.iter().map(crowd).max().unwrap_or(0);
            assert!(most > 0 && most <= 12, "{inner}: {most}");
        }
    }

    #[test]
    fn split_points_do_not_line_up() {
        let points = needle_points(&bar(10.0, 50), true, &SatinSettings::default());
        assert!(points.windows(2).all(|p| p[0].distance(p[1]) < 5.5));
        let inner: Vec<&Point> = points.iter().filter(|p| p.x > 0.5 && p.x < 9.5).collect();
        assert!(inner.len() > 90);
        assert!(
            inner
                .iter()
                .all(|p| inner.iter().filter(|q| (q.x - p.x).abs() < 0.4 && (q.y - p.y).abs() < 0.5).count() <= 1)
        );
    }
}
