//! Where a column ends at the side of another one.
//!
//! The side is taken as a straight line: the point where the ending column's
//! middle line first meets the other's outline, and the direction of the side
//! there. Lines across the ending column are kept as far as an overlap beyond it,
//! so that no gap shows between the two.

use crate::line::unit;
use kurbo::{Point, Vec2};
use laidwork_geometry::Crossing;

/// The direction of a side is taken over this many crossings to each side.
const WINDOW: usize = 8;

/// A kept line is at least this long, mm.
const SHORTEST: f64 = 0.3;

/// A half-plane; the ending column lies on its positive side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Bound {
    point: Point,
    normal: Vec2,
}

impl Bound {
    /// The bound that the band `owner` is to something that comes from `from` in direction `way`.
    pub(crate) fn of(owner: &[Crossing], from: Point, way: Vec2) -> Option<Bound> {
        let left: Vec<Point> = owner.iter().map(|c| c.left).collect();
        let right: Vec<Point> = owner.iter().map(|c| c.right).collect();
        let cap = |c: Option<&Crossing>| c.map(|c| vec![c.left, c.right]).unwrap_or_default();
        let sides = [left, right, cap(owner.first()), cap(owner.last())];
        let mut best: Option<(f64, Bound)> = None;
        for side in &sides {
            for (i, pair) in side.windows(2).enumerate() {
                let &[a, b] = pair else { continue };
                let Some(distance) = meets(from, way, a, b) else { continue };
                if best.is_some_and(|(nearest, _)| distance >= nearest) {
                    continue;
                }
                let before = side.get(i.saturating_sub(WINDOW)).copied().unwrap_or(a);
                let after = side.get((i + 1 + WINDOW).min(side.len() - 1)).copied().unwrap_or(b);
                let along = unit(after - before);
                let mut normal = Vec2::new(-along.y, along.x);
                if normal.dot(way) > 0.0 {
                    normal = -normal;
                }
                best = Some((distance, Bound { point: from + way * distance, normal }));
            }
        }
        best.map(|b| b.1).filter(|b| b.normal.hypot2() > 0.5)
    }

    /// The same bound `overlap` mm farther on.
    pub(crate) fn moved(self, overlap: f64) -> Bound {
        Bound { point: self.point - self.normal * overlap, ..self }
    }

    pub(crate) fn height(&self, point: Point) -> f64 {
        (point - self.point).dot(self.normal)
    }

    /// The part of a crossing on the positive side, if it is long enough.
    fn kept(&self, crossing: Crossing) -> Option<Crossing> {
        let (left, right) = (self.height(crossing.left), self.height(crossing.right));
        let share = left / (left - right);
        let kept = match (left >= 0.0, right >= 0.0) {
            (true, true) => crossing,
            (false, false) => return None,
            (true, false) => Crossing::new(crossing.left, crossing.at(share)),
            (false, true) => Crossing::new(crossing.at(share), crossing.right),
        };
        (kept.width() >= SHORTEST).then_some(kept)
    }

    /// Cuts the last end of a band off at the bound; at most `most` crossings are looked at.
    pub(crate) fn cut_end(&self, band: &mut Vec<Crossing>, most: usize) {
        let from = band.len().saturating_sub(most);
        let kept: Vec<Option<Crossing>> = band.iter().skip(from).map(|c| self.kept(*c)).collect();
        // Everything after the first crossing that is wholly beyond goes.
        let stop = kept.iter().position(Option::is_none).unwrap_or(kept.len());
        band.truncate(from);
        band.extend(kept.into_iter().take(stop).flatten());
    }
}

fn meets(from: Point, way: Vec2, a: Point, b: Point) -> Option<f64> {
    let along = b - a;
    let turn = way.cross(along);
    if turn.abs() < 1e-12 {
        return None;
    }
    let offset = a - from;
    let (distance, share) = (offset.cross(along) / turn, offset.cross(way) / turn);
    (distance >= 0.0 && (0.0..=1.0).contains(&share)).then_some(distance)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A band along x from -10 to 10, 2 wide.
    fn owner() -> Vec<Crossing> {
        (-100..=100).map(|i| i as f64 / 10.0).map(|x| Crossing::new(Point::new(x, -1.0), Point::new(x, 1.0))).collect()
    }

    #[test]
    fn a_bound_is_the_near_side() {
        let bound = Bound::of(&owner(), Point::new(2.0, 8.0), Vec2::new(0.0, -1.0)).unwrap();
        assert!((bound.height(Point::new(5.0, 4.0)) - 3.0).abs() < 1e-9);
        assert!(bound.moved(0.6).height(Point::new(0.0, 0.4)).abs() < 1e-9);
        assert!(Bound::of(&owner(), Point::new(2.0, 8.0), Vec2::new(0.0, 1.0)).is_none());
    }

    #[test]
    fn a_slanted_column_is_cut_along_the_side() {
        let way = unit(Vec2::new(1.0, -1.0));
        let across = Vec2::new(1.0, 1.0) * std::f64::consts::FRAC_1_SQRT_2;
        let from = Point::new(-6.0, 6.0);
        let mut band: Vec<Crossing> =
            (0..120).map(|i| from + way * (i as f64 / 10.0)).map(|p| Crossing::new(p - across, p + across)).collect();
        let bound = Bound::of(&owner(), from, way).unwrap().moved(0.5);
        bound.cut_end(&mut band, 1000);
        assert!(band.iter().all(|c| c.left.y > 0.49 && c.right.y > 0.49));
        assert!(band.last().unwrap().width() < 0.5);
    }
}
