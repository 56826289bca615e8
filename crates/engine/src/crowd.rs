//! Outlines drawn finer than thread: a thousand spikes whose tips meet, a comb with teeth of a few hundredths of a
//! millimetre, rings in rings as close.
//!
//! No needle sews their lines one by one: thread of 0.3 mm over thread tears the cloth. Gaps that no thread leaves
//! open are closed first, and what is left is sewn as any other shape. Lines as fine that lie apart stay as they are.

use laidwork_geometry::{Join, Region};

/// Shapes with a shorter outline are sewn as they are drawn, however fine they are, mm.
const LONG: f64 = 30_000.0;

/// A shape is finer than thread when its lines are narrower than this on the average, mm: a third of a thread.
const FINE: f64 = 0.1;

/// Its lines are finer than thread too when there is so much of them that they lie nearer to each other than this on the
/// average, mm, though part of it is wide: spikes all around a disc.
const CLOSE: f64 = 0.2;

/// Gaps narrower than this are closed, mm: the width of a thread.
const GAP: f64 = 0.3;

/// Gaps are closed in steps; the first is no shorter than this, mm.
const FINEST: f64 = 0.002;

/// The closed outline is within this of the exact one, mm.
const TOLERANCE: f64 = 0.01;

/// What is sewn of `region` when it is long and finer than thread; `None` when it is neither.
pub(crate) fn closed(region: &Region) -> Option<Region> {
    let perimeter = region.perimeter();
    let width = 2.0 * region.area() / perimeter.max(f64::MIN_POSITIVE);
    let apart = region.bounds().map_or(0.0, |bounds| bounds.area()) / perimeter.max(f64::MIN_POSITIVE);
    if perimeter < LONG || width > FINE && apart > CLOSE {
        return None;
    }
    // In steps that begin at the width of the lines, or how far they lie apart, so that those next to each other become one before they cross
    // many more.
    let join = Join::Round { tolerance: TOLERANCE };
    let (mut grown, mut by) = (region.clone(), 0.0);
    while by < GAP / 2.0 {
        let step = if by > 0.0 { by } else { width.min(apart).max(FINEST) }.min(GAP / 2.0 - by);
        grown = grown.offset(step, join).simplify(TOLERANCE / 4.0);
        by += step;
    }
    Some(grown.offset(-by, join).simplify(TOLERANCE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_geometry::{Polygon, Ring};
    use laidwork_plan::Point;

    fn comb(teeth: usize, pitch: f64, tooth: f64) -> Region {
        let edge = |i: usize| {
            let x = i as f64 * pitch;
            [(x, 1.0), (x, 60.0), (x + tooth, 60.0), (x + tooth, 1.0)]
        };
        let end = teeth as f64 * pitch;
        let points = (0..teeth).flat_map(edge).chain([(end, 1.0), (end, 0.0), (0.0, 0.0)]).rev();
        Polygon { outer: Ring::new(points.map(Point::from).collect()), holes: Vec::new() }.into()
    }

    #[test]
    fn teeth_closer_than_thread_become_one() {
        let closed = closed(&comb(500, 0.1, 0.04)).unwrap();
        assert_eq!((closed.polygons.len(), closed.polygons[0].holes.len()), (1, 0));
        // 500 teeth are 50 mm wide but for the last gap.
        let area = closed.area();
        assert!((area - 50.0 * 60.0).abs() < 5.0, "{area}");
        assert!(closed.polygons[0].outer.points.len() < 600, "{}", closed.polygons[0].outer.points.len());
    }

    #[test]
    fn teeth_apart_stay() {
        let comb = comb(500, 0.5, 0.05);
        let closed = closed(&comb).unwrap();
        assert!((closed.area() / comb.area() - 1.0).abs() < 0.02, "{} {}", closed.area(), comb.area());
    }

    #[test]
    fn spikes_about_a_disc_become_one_with_it() {
        let corner = |i: usize| {
            let reach = if i.is_multiple_of(2) { 40.0 } else { 45.0 };
            let (sin, cos) = (i as f64 * std::f64::consts::TAU / 12_000.0).sin_cos();
            Point::new(reach * cos, reach * sin)
        };
        let star: Region = Polygon { outer: Ring::new((0..12_000).map(corner).collect()), holes: Vec::new() }.into();
        let closed = closed(&star).unwrap();
        assert!((closed.perimeter() - 45.0 * std::f64::consts::TAU).abs() < 5.0, "{}", closed.perimeter());
    }

    #[test]
    fn what_is_short_or_wide_is_left_alone() {
        assert_eq!(closed(&comb(100, 0.1, 0.04)), None);
        assert_eq!(closed(&comb(500, 0.5, 0.3)), None);
    }
}
