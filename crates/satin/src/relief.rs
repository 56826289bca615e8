//! Crowded needle points relieved: where columns, lines and tight bends meet, more points may come
//! together than each of them makes alone, and the needle would cut the fabric.
//!
//! A point on the side of a column is drawn in along its threads, as short threads are, if it is less crowded there;
//! never two that follow each other on a side. A point on the way of a line is left out where the line
//! goes on all but straight without it. There is thread enough about either to cover its place.
//!
//! O(points), as long as few of them share a cell of the grid.

use kurbo::Point;
use laidwork_geometry::NearPoints;
use laidwork_plan::PassKind;

/// Points within this of each other crowd, mm, ...
const NEAR: f64 = 0.5;

/// ... when there are more of them than this, the point itself among them.
const MOST: usize = 11;

/// So far points are drawn in, mm: the first that helps.
const IN: [f64; 3] = [0.45, 0.65, 0.9];

/// Threads that are drawn in stay at least so long, mm.
const SHORTEST: f64 = 0.8;

/// The threads at a side of a column part by no more than this: the cosine.
const NARROW: f64 = 0.77;

/// A line without one of its points stays this close to it, mm, ...
const OFF: f64 = 0.12;

/// ... and its stitches are no longer than this, mm, nor shorter than threads.
const LONGEST: f64 = 3.0;

/// Draws in and leaves out top points that crowd.
pub(crate) fn relieve(points: &mut Vec<(PassKind, Point)>) {
    let mut tops = NearPoints::within(NEAR);
    let is_top = |entry: &(PassKind, Point)| entry.0 == PassKind::Top;
    for (_, point) in points.iter().filter(|entry| is_top(entry)) {
        tops.add(*point);
    }
    let mut drawn_in = vec![false; points.len()];
    let mut kept = Vec::with_capacity(points.len());
    for i in 0..points.len() {
        let Some(&entry) = points.get(i) else { continue };
        let around = (kept.last().copied(), points.get(i + 1).copied());
        let (Some(before), Some(after)) = around else {
            kept.push(entry);
            continue;
        };
        let here = entry.1;
        if ![before, entry, after].iter().all(is_top) || tops.about(here).count() <= MOST {
            kept.push(entry);
            continue;
        }
        if is_on_the_way(before.1, here, after.1) {
            tops.take(here);
            continue;
        }
        let was_drawn_in = i.checked_sub(2).and_then(|i| drawn_in.get(i)).copied().unwrap_or(false);
        let moved = if was_drawn_in { None } else { drawn(&tops, before.1, here, after.1) };
        if let Some(to) = moved {
            tops.take(here);
            tops.add(to);
            drawn_in[i] = true;
        }
        kept.push((entry.0, moved.unwrap_or(here)));
    }
    *points = kept;
}

/// Where a point at the side of a column is less crowded.
fn drawn(tops: &NearPoints, before: Point, here: Point, after: Point) -> Option<Point> {
    let (back, on) = (before - here, after - here);
    let (lengths, shortest) = (back.hypot() * on.hypot(), back.hypot().min(on.hypot()));
    if lengths <= 0.0 || back.dot(on) < NARROW * lengths {
        return None;
    }
    let inwards = crate::line::unit(back / back.hypot() + on / on.hypot());
    let ways = IN.iter().filter(|way| shortest - **way >= SHORTEST);
    ways.map(|way| here + inwards * *way).find(|to| has_room(tops, *to, here))
}

/// Whether a line hardly bends at a point.
fn is_on_the_way(before: Point, here: Point, after: Point) -> bool {
    let (back, way) = (here - before, after - before);
    let length = way.hypot();
    let (share, off) = (back.dot(way) / (length * length).max(1e-12), back.cross(way).abs() / length.max(1e-6));
    (SHORTEST..=LONGEST).contains(&length) && (0.0..=1.0).contains(&share) && off <= OFF
}

/// Whether a point that moves from `here` to `to` crowds neither there nor makes others crowd.
fn has_room(tops: &NearPoints, to: Point, here: Point) -> bool {
    let stays_free = |other: Point| other.distance(here) <= NEAR || tops.about(other).count() < MOST;
    tops.about(to).count() < MOST - 1 && tops.about(to).all(stays_free)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn crowd(points: &[(PassKind, Point)]) -> usize {
        let near = |p: &Point| points.iter().filter(|(_, q)| p.distance(*q) <= NEAR).count();
        points.iter().map(|(_, p)| near(p)).max().unwrap_or(0)
    }

    #[test]
    fn sides_of_columns_that_meet_are_drawn_in() {
        // Columns with a side in common, from five directions.
        let mut points = Vec::new();
        for turn in 0..5 {
            let out = kurbo::Vec2::from_angle(f64::from(turn) * 1.2) * 3.0;
            for i in 0..12 {
                let side = Point::new(f64::from(i) * 0.16, 0.0);
                points.push((PassKind::Top, if i % 2 == 0 { side } else { side + out }));
            }
        }
        let before = crowd(&points);
        let count = points.len();
        relieve(&mut points);
        assert!(before > MOST + 1 && crowd(&points) < before, "{before} {}", crowd(&points));
        assert_eq!(points.len(), count);
    }

    #[test]
    fn points_on_the_way_of_a_crowded_line_are_left_out() {
        let line = |i: i32| (PassKind::Top, Point::new(f64::from(i) * 0.4, 0.0));
        let mut points: Vec<_> = (0..10).map(line).chain((0..9).rev().map(line)).chain((1..10).map(line)).collect();
        points.extend((0..9).rev().map(line));
        let (first, last) = (points[0], points[points.len() - 1]);
        assert!(crowd(&points) > MOST);
        relieve(&mut points);
        assert!(crowd(&points) <= MOST + 1, "{}", crowd(&points));
        assert_eq!((points[0], points[points.len() - 1]), (first, last));
    }

    #[test]
    fn what_does_not_crowd_stays() {
        let bar = |i: i32| (PassKind::Top, Point::new(f64::from(i) * 0.17, f64::from(i % 2) * 3.0));
        let mut points: Vec<_> = (0..60).map(bar).collect();
        let before = points.clone();
        relieve(&mut points);
        assert_eq!(points, before);
    }
}
