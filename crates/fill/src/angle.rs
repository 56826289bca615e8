//! The direction of rows that suits a shape.
//!
//! Twelve directions and that of the longest edge are tried. The cost of one
//! is an estimate of what sewing takes besides the rows themselves: each tip
//! of the outline beyond the first two makes a corridor that is travelled,
//! for about a third of the shape's height; and each row ends with a turn.
//! Tips lower than a row are no tips. Where the outline slants against the rows
//! their ends shift from one to the next: a turn is as long as that shift, and
//! where a row reaches far beyond the one before it is travelled as a whole.
//! O(corners) for each direction.

use kurbo::Point;
use laidwork_geometry::{Frame, Polygon, Ring};

/// Degrees between the directions tried.
const STEP: f64 = 15.0;

/// What a turn costs, mm.
const TURN: f64 = 0.5;

/// Rows that reach farther than this beyond the one before are travelled as a
/// whole, as [`laidwork_geometry::walk_rows`] does, mm.
const FAR: f64 = 4.0;

/// A direction must be better by this part of the cost to be taken instead of an earlier one.
const CLEARLY: f64 = 0.02;

/// The direction that costs least, degrees; of equal ones the first.
pub(crate) fn best_angle(polygon: &Polygon, spacing: f64) -> f64 {
    let mut best = (f64::INFINITY, 0.0);
    for degrees in (0..12).map(|i| f64::from(i) * STEP).chain(longest_edge(&polygon.outer)) {
        let cost = cost(polygon, Frame::turned(degrees), spacing);
        if cost < best.0 * (1.0 - CLEARLY) {
            best = (cost, degrees);
        }
    }
    best.1
}

fn cost(polygon: &Polygon, frame: Frame, spacing: f64) -> f64 {
    let Some((low, high)) = frame.extent(polygon) else { return f64::INFINITY };
    let tips: usize = polygon.rings().map(|ring| tips(ring, frame, spacing)).sum();
    let height = high - low;
    let row = polygon.area() / height.max(spacing);
    let shifts: f64 = polygon.rings().map(|ring| shifts(ring, frame, spacing, row)).sum();
    tips.saturating_sub(2) as f64 * height / 3.0 + height / spacing * TURN + shifts
}

/// What the shifts between the ends of rows along a ring cost, when a row is `length` long.
fn shifts(ring: &Ring, frame: Frame, spacing: f64, length: f64) -> f64 {
    let cost = |(a, b): (Point, Point)| {
        let along = frame.to_frame(b) - frame.to_frame(a);
        let rows = along.y.abs() / spacing;
        // Every second row turns at this edge.
        if along.x.abs() > FAR * rows { rows * length } else { along.x.abs() / 2.0 }
    };
    ring.edges().filter(|(a, b)| a.is_finite() && b.is_finite()).map(cost).sum()
}

/// How often `v` turns round along a ring, turns lower than `least` left out.
fn tips(ring: &Ring, frame: Frame, least: f64) -> usize {
    let across = |point: &Point| frame.to_frame(*point).y;
    let values = || ring.points.iter().filter(|p| p.is_finite()).map(across);
    // Twice round, and only what the second time adds, so that the start does not matter.
    let mut turns = [0; 2];
    let (mut rising, mut extreme) = (true, f64::NEG_INFINITY);
    for turn in &mut turns {
        for v in values() {
            let back = if rising { extreme - v } else { v - extreme };
            if back > least {
                (rising, extreme) = (!rising, v);
                *turn += 1;
            } else if back < 0.0 {
                extreme = v;
            }
        }
    }
    turns[1]
}

fn longest_edge(ring: &Ring) -> Option<f64> {
    let edge = ring.edges().filter(|(a, b)| a.is_finite() && b.is_finite()).map(|(a, b)| b - a);
    let longest = edge.max_by(|a, b| a.hypot2().total_cmp(&b.hypot2()))?;
    Some(longest.atan2().to_degrees().rem_euclid(180.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn polygon(points: &[(f64, f64)]) -> Polygon {
        Polygon { outer: Ring::new(points.iter().copied().map(Point::from).collect()), holes: vec![] }
    }

    #[test]
    fn rows_run_along_a_bar() {
        assert!(best_angle(&polygon(&[(0., 0.), (40., 0.), (40., 10.), (0., 10.)]), 0.22).abs() < 1e-9);
        assert!((best_angle(&polygon(&[(0., 0.), (10., 0.), (10., 40.), (0., 40.)]), 0.22) - 90.0).abs() < 1e-9);
    }

    #[test]
    fn rows_run_along_an_odd_edge() {
        let along = kurbo::Vec2::from_angle(0.4) * 50.0;
        let across = kurbo::Vec2::from_angle(0.4).turn_90() * 8.0;
        let corners = [Point::ZERO, along.to_point(), (along + across).to_point(), across.to_point()];
        let bar = Polygon { outer: Ring::new(corners.to_vec()), holes: vec![] };
        assert!((best_angle(&bar, 0.22) - 0.4f64.to_degrees()).abs() < 1e-9);
    }

    #[test]
    fn rows_run_along_the_teeth_of_a_comb_and_not_across() {
        let mut points = vec![(0., 0.)];
        for tooth in 0..6 {
            let x = f64::from(tooth) * 4.0;
            points.extend([(x, 10.), (x + 2.0, 10.), (x + 2.0, 2.0), (x + 4.0, 2.0)]);
        }
        points.push((24.0, 0.0));
        let ring = Ring::new(points.iter().copied().map(Point::from).collect());
        assert_eq!(tips(&ring, Frame::turned(0.0), 0.22), 12);
        assert_eq!(tips(&ring, Frame::turned(90.0), 0.22), 2);
        assert!((best_angle(&Polygon { outer: ring, holes: vec![] }, 0.22) - 90.0).abs() < 1e-9);
    }

    #[test]
    fn rows_that_end_far_apart_are_avoided() {
        // A bar of 40 x 3 mm, bent by a degree in the middle: rows along it would end 12 mm apart.
        let points = [(0., 0.), (20., 0.), (40., 0.35), (40., 3.35), (20., 3.), (0., 3.)];
        let bent = polygon(&points);
        let along = cost(&bent, Frame::turned(0.5), 0.22);
        assert!(along > cost(&bent, Frame::turned(90.0), 0.22), "{along}");
        assert!((shifts(&bent.outer, Frame::turned(0.0), 0.22, 30.0) - 2.0 * 0.35 / 0.22 * 30.0).abs() < 1e-6);
    }

    #[test]
    fn small_waves_are_no_tips() {
        let wave = (0..50).map(|i| (f64::from(i), if i % 2 == 0 { 0.1 } else { 0.0 }));
        let points: Vec<(f64, f64)> = wave.chain([(49.0, 10.0), (0.0, 10.0)]).collect();
        let bar = polygon(&points);
        assert_eq!(tips(&bar.outer, Frame::turned(0.0), 0.22), 2);
        assert!(best_angle(&bar, 0.22).abs() < 1e-9);
    }
}
