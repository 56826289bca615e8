//! Lines along the middle of what is bare and narrow.
//!
//! Where a spot is nowhere wider than a thread, one thread along its middle covers it, with a needle point only
//! where the middle bends. The spot is cut square to its longer side: the middles of the cuts are the line, as
//! long as each cut is one piece and none is wider than a thread covers.

use kurbo::Point;
use laidwork_geometry::{Polygon, RowLines, Rows};
use laidwork_plan::Angle;

/// From cut to cut, mm; more where there would be more than [`MOST_CUTS`].
const STEP: f64 = 0.08;

const MOST_CUTS: f64 = 2000.0;

/// Over how many cuts to either side the direction of the line is taken.
const BESIDE: usize = 3;

/// The middle line of a spot that is nowhere wider than `widest` mm; `None` where it is wider, or branches.
pub(crate) fn middle_line(spot: &Polygon, widest: f64) -> Option<Vec<Point>> {
    if !spot.holes.is_empty() {
        return None;
    }
    let rect = spot.smallest_rectangle()?;
    let step = STEP.max(rect.length / MOST_CUTS);
    let across = rect.along.turn_90();
    let angle = Angle::from_degrees(across.atan2().to_degrees())?;
    let lines = RowLines::new(angle, step, 0.0).ok()?;
    let (mut middles, mut wide) = (Vec::new(), Vec::new());
    let mut plain = true;
    let visit = |row: i64, spans: &[laidwork_geometry::Span]| {
        if let [only] = spans {
            middles.push(lines.point(row, (only.from + only.to) / 2.0));
            wide.push(only.length());
        } else {
            plain = false;
        }
    };
    Rows::new().for_each_row(spot.rings(), &lines, visit).ok()?;
    let direction = |i: usize| middles[(i + BESIDE).min(middles.len() - 1)] - middles[i.saturating_sub(BESIDE)];
    // A cut is wider than the spot where that slants.
    let fits = |i: usize| {
        let along = direction(i);
        wide[i] * along.dot(rect.along).abs() <= widest * along.hypot()
    };
    (plain && middles.len() > 2 && (0..middles.len()).all(fits)).then_some(middles)
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_geometry::{FillRule, Join, Region, Ring};

    fn around(way: &[(f64, f64)], half: f64) -> Polygon {
        let there = way.iter().map(|&(x, y)| Point::new(x, y - half));
        let back = way.iter().rev().map(|&(x, y)| Point::new(x, y + half));
        Polygon { outer: Ring::new(there.chain(back).collect()), holes: vec![] }
    }

    #[test]
    fn a_narrow_spot_has_a_line_along_its_middle() {
        let bent: Vec<(f64, f64)> = (0..=40).map(|i| f64::from(i) * 0.1).map(|x| (x, 0.2 * (x * 1.5).sin())).collect();
        let line = middle_line(&around(&bent, 0.15), 0.4).unwrap();
        assert!(line.len() > 30);
        for p in &line[3..line.len() - 3] {
            assert!((p.y - 0.2 * (p.x * 1.5).sin()).abs() < 0.05, "{p:?}");
        }
    }

    #[test]
    fn a_wide_spot_and_one_that_branches_have_none() {
        assert!(middle_line(&around(&[(0.0, 0.0), (3.0, 0.0)], 0.4), 0.4).is_none());
        let arm = |to: (f64, f64)| Region::from(around(&[(0.0, 0.0), to], 0.1)).polygons;
        let mut arms = arm((3.0, 0.8));
        arms.extend(arm((3.0, -0.8)));
        let rings: Vec<Ring> = arms.into_iter().map(|p| p.outer).collect();
        let fork = Region::from_rings(&rings, FillRule::NonZero).offset(0.01, Join::Bevel);
        assert_eq!(fork.polygons.len(), 1);
        assert!(middle_line(&fork.polygons[0], 0.4).is_none());
    }
}
