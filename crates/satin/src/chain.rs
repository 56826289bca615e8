//! One unbroken chain of needle points, built pass by pass.

use kurbo::Point;
use laidwork_plan::{Pass, PassKind};

/// Needle points nearer than this to the one before are merged with it, mm:
/// 0.3 and what rounding to 0.01 may take off.
const NEAREST: f64 = 0.32;

/// No stitch is longer than this, mm.
const LONGEST: f64 = 11.9;

/// A chain under construction.
#[derive(Clone, Debug, Default)]
pub(crate) struct Chain {
    points: Vec<(PassKind, Point)>,
}

impl Chain {
    /// Where the needle is.
    pub(crate) fn here(&self) -> Option<Point> {
        self.points.last().map(|(_, point)| *point)
    }

    /// Goes on to `point`. Of two points too near to each other the one that is
    /// not on top gives way, else the newer one.
    pub(crate) fn push(&mut self, kind: PassKind, point: Point) {
        if !point.is_finite() {
            return;
        }
        while let Some(&(last_kind, last)) = self.points.last() {
            if last.distance(point) >= NEAREST {
                break;
            }
            if last_kind == PassKind::Top || kind != PassKind::Top {
                return;
            }
            self.points.pop();
        }
        if let Some(&(_, last)) = self.points.last() {
            let parts = (last.distance(point) / LONGEST).ceil().max(1.0);
            for part in 1..parts as usize {
                self.points.push((kind, last.lerp(point, part as f64 / parts)));
            }
        }
        self.points.push((kind, point));
    }

    /// Goes on through `points`.
    pub(crate) fn extend(&mut self, kind: PassKind, points: impl IntoIterator<Item = Point>) {
        for point in points {
            self.push(kind, point);
        }
    }

    /// Goes on through passes made elsewhere.
    pub(crate) fn append(&mut self, passes: &[Pass]) {
        for pass in passes {
            self.extend(pass.kind, pass.points.iter().copied());
        }
    }

    /// The chain as passes; empty when there is no stitch in it.
    pub(crate) fn into_passes(mut self) -> Vec<Pass> {
        if self.points.len() < 2 {
            return Vec::new();
        }
        crate::relief::relieve(&mut self.points);
        let mut passes: Vec<Pass> = Vec::new();
        for (kind, point) in self.points {
            match passes.last_mut() {
                Some(pass) if pass.kind == kind => pass.points.push(point),
                _ => passes.push(Pass::new(kind, vec![point])),
            }
        }
        passes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn top_points_win_over_those_below() {
        let mut chain = Chain::default();
        chain.extend(PassKind::Underlay, [Point::ZERO, Point::new(2.0, 0.0)]);
        chain.push(PassKind::Top, Point::new(2.1, 0.0));
        chain.push(PassKind::Travel, Point::new(2.2, 0.0));
        let passes = chain.into_passes();
        assert_eq!(passes.len(), 2);
        assert_eq!(passes[0].points, [Point::ZERO]);
        assert_eq!(passes[1].points, [Point::new(2.1, 0.0)]);
    }

    #[test]
    fn a_long_way_is_parted() {
        let mut chain = Chain::default();
        chain.extend(PassKind::Travel, [Point::ZERO, Point::new(30.0, 0.0), Point::new(f64::NAN, 0.0)]);
        assert_eq!(chain.into_passes()[0].points.len(), 4);
    }

    #[test]
    fn a_single_point_is_no_chain() {
        let mut chain = Chain::default();
        chain.extend(PassKind::Top, [Point::ZERO, Point::new(0.1, 0.0)]);
        assert!(chain.into_passes().is_empty());
    }
}
