//! Ways through a corridor of rows that are laid later, or inside a whole shape.
//!
//! A way crosses the line between two rows inside the shape. These gates are
//! narrowed so that the way keeps clear of the outline where there is room,
//! and the way is the shortest through them: a string pulled tight (the funnel
//! of Lee and Preparata, 1984, for gates that are all parallel).

use kurbo::Point;
use laidwork_geometry::{Corridor, Join, OutlineWays, Polygon, Region, RowGraph, RowSpan, Walker};

/// How far a way keeps from the outline where there is room, mm.
pub(crate) const CLEAR: f64 = 0.5;

/// Where a way may cross the line at `v`.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Gate {
    v: f64,
    from: f64,
    to: f64,
}

/// A way through the rows of a corridor, in the rows' frame, from near a place
/// along its first row to near one along its last. `line(row)` gives the `v` of a row.
pub(crate) fn way_through(
    rows: &RowGraph,
    corridor: Corridor,
    places: (f64, f64),
    line: impl Fn(u32) -> f64,
) -> Vec<Point> {
    let mut gates = Vec::with_capacity(corridor.rows as usize);
    let mut span = corridor.first;
    for _ in 1..corridor.rows {
        let here = &rows.spans[span as usize];
        let link = &rows.links[if corridor.upward { here.up.0 } else { here.down.0 } as usize];
        let next = if corridor.upward { link.above } else { link.below };
        let v = (line(here.row) + line(rows.spans[next as usize].row)) / 2.0;
        gates.push(Gate { v, from: link.from, to: link.to });
        span = next;
    }
    let (first, last) = (&rows.spans[corridor.first as usize], &rows.spans[span as usize]);
    let gates = narrowed(&gates);
    let near = |u: f64, span: &RowSpan| {
        let margin = (CLEAR + 0.2).min(span.length() * 0.4);
        Point::new(u.clamp(span.from + margin, span.to - margin), line(span.row))
    };
    let (start, goal) = (near(places.0, first), near(places.1, last));
    pull_tight(start, &gates, goal)
}

/// Gates that keep [`CLEAR`] of the outline, above and below too, where that leaves room.
fn narrowed(gates: &[Gate]) -> Vec<Gate> {
    let mut narrow = Vec::with_capacity(gates.len());
    for (i, gate) in gates.iter().enumerate() {
        let near = |other: &&Gate| (other.v - gate.v).abs() <= CLEAR;
        let before = gates[..i].iter().rev().take_while(near);
        let after = gates[i..].iter().take_while(near);
        let (from, to) = before
            .chain(after)
            .fold((f64::NEG_INFINITY, f64::INFINITY), |(from, to), other| (from.max(other.from), to.min(other.to)));
        let (from, to) = if from + 2.0 * CLEAR <= to { (from, to) } else { (gate.from, gate.to) };
        let margin = CLEAR.min((to - from) * 0.4);
        narrow.push(Gate { v: gate.v, from: from + margin, to: to - margin });
    }
    narrow
}

/// The shortest way from `start` through all gates, in their order, to `goal`.
fn pull_tight(start: Point, gates: &[Gate], goal: Point) -> Vec<Point> {
    let mut way = vec![start];
    let last = Gate { v: goal.y, from: goal.x, to: goal.x };
    let gate_at = |i: usize| gates.get(i).copied().unwrap_or(last);
    let (mut apex, mut at) = (start, 0);
    while let Some((turn, next)) = next_turn(apex, (at..=gates.len()).map(|i| (i, gate_at(i)))) {
        way.push(turn);
        (apex, at) = (turn, next);
    }
    way.push(goal);
    way
}

/// Where a straight way from `apex` first has to turn to pass all gates, and the gate after that.
fn next_turn(apex: Point, gates: impl Iterator<Item = (usize, Gate)>) -> Option<(Point, usize)> {
    // The slopes (u for each v) that pass all gates so far, each with the place that limits it.
    let mut low = (f64::NEG_INFINITY, apex, 0);
    let mut high = (f64::INFINITY, apex, 0);
    for (i, gate) in gates {
        let ahead = (gate.v - apex.y).abs().max(1e-9);
        let (from, to) = ((gate.from - apex.x) / ahead, (gate.to - apex.x) / ahead);
        if from > high.0 {
            return Some((high.1, high.2 + 1));
        }
        if to < low.0 {
            return Some((low.1, low.2 + 1));
        }
        if from >= low.0 {
            low = (from, Point::new(gate.from, gate.v), i);
        }
        if to <= high.0 {
            high = (to, Point::new(gate.to, gate.v), i);
        }
    }
    None
}

/// A way inside `polygon` that keeps [`CLEAR`] of the outline but for the approach to its ends: along the outline so far
/// inside where that is not long, else the shortest there. `None` where both ends do not lie at one part of what is so
/// far inside. `clear` is the polygon shrunk by that, where it is known already.
pub(crate) fn clear_way(polygon: &Polygon, clear: Option<Region>, from: Point, goal: Point) -> Option<Vec<Point>> {
    let nearest = |polygon: &Polygon, point| Some(polygon.nearest_on_outline(point)?.point);
    let inside = |point: Point| if polygon.contains(point) { Some(point) } else { nearest(polygon, point) };
    let (from, goal) = (inside(from)?, inside(goal)?);
    let shrunk = || polygon.offset(-CLEAR, Join::Around { tolerance: CLEAR * 0.02 });
    let core = clear.unwrap_or_else(shrunk);
    let mut whole = None;
    for part in &core.polygons {
        let ways = OutlineWays::for_few(part);
        let foot = |point: Point| if ways.contains(point) { Some(point) } else { nearest(part, point) };
        let (enter, leave) = (foot(from)?, foot(goal)?);
        let far = |a: Point, b: Point| a.distance(b) > 3.0 * CLEAR;
        if far(from, enter) || far(goal, leave) || from.distance(goal) <= from.distance(enter) + goal.distance(leave) {
            continue;
        }
        // A disc of that radius about a place of the core lies inside.
        let mut sees = |a: Point, b: Point| {
            a.distance(b) <= CLEAR || whole.get_or_insert_with(|| OutlineWays::for_few(polygon)).sees(a, b)
        };
        if sees(enter, from) && sees(leave, goal) {
            let mut way = vec![from];
            way.extend(ways.way(enter, leave).unwrap_or_else(|| Walker::new(part).path(enter, leave)));
            way.push(goal);
            return Some(way);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gate(v: f64, from: f64, to: f64) -> Gate {
        Gate { v, from, to }
    }

    #[test]
    fn a_free_way_is_straight() {
        let way = pull_tight(Point::ZERO, &[gate(1.0, -5.0, 5.0), gate(2.0, -5.0, 5.0)], Point::new(4.0, 3.0));
        assert_eq!(way, [Point::ZERO, Point::new(4.0, 3.0)]);
    }

    #[test]
    fn a_way_turns_at_the_gates_that_hold_it() {
        let gates = [gate(1.0, 2.0, 3.0), gate(2.0, -3.0, -2.0)];
        let way = pull_tight(Point::ZERO, &gates, Point::new(0.0, 3.0));
        assert_eq!(way, [Point::ZERO, Point::new(2.0, 1.0), Point::new(-2.0, 2.0), Point::new(0.0, 3.0)]);
        let down = [gate(-1.0, 2.0, 3.0), gate(-2.0, -3.0, -2.0)];
        assert_eq!(pull_tight(Point::ZERO, &down, Point::new(0.0, -3.0)).len(), 4);
    }

    #[test]
    fn gates_keep_clear_where_there_is_room() {
        let narrow = narrowed(&[gate(0.0, 0.0, 10.0), gate(0.22, 1.0, 10.0), gate(5.0, 0.0, 0.5)]);
        assert_eq!(narrow[0], gate(0.0, 1.5, 9.5));
        assert!((narrow[2].from - 0.2).abs() < 1e-12 && (narrow[2].to - 0.3).abs() < 1e-12);
    }
}
