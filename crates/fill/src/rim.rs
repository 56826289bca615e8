//! The rim of a shape under what is sewn over it.
//!
//! Thread draws the fabric in along itself, so rows have to reach under what
//! hides their ends; across the rows sewn fabric spreads, and little is needed.
//! So the rim is made narrower where its edge runs along the rows: what shows is
//! grown by an ellipse, as long as the overlap along the rows and as wide as is
//! needed to be sure across them. Common practice, no source.

use kurbo::Point;
use laidwork_geometry::{FillRule, Frame, Join, Polygon, Region, Ring};

/// Rows under what hides them reach at least this much farther than fabric draws them back, mm.
const SURE: f64 = 0.2;

/// The narrow part of a rim, as a share of its overlap.
const SHARE: f64 = 0.4;

/// What is left over of a shape under what hides its edge.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rim {
    /// How far it reaches along the rows, mm.
    overlap: f64,
    /// How far it reaches everywhere, mm.
    pub(crate) sure: f64,
}

impl Rim {
    /// The rim of a shape that reaches `overlap` mm under what hides it, on fabric that draws each
    /// row back by `pull` mm; `None` where it is too narrow to save any of it.
    pub(crate) fn new(overlap: f64, pull: f64) -> Option<Rim> {
        let sure = (pull.max(0.0) + SURE).max(SHARE * overlap);
        (overlap.is_finite() && sure < 0.9 * overlap).then_some(Rim { overlap, sure })
    }

    /// `polygon` with its rim under `over` narrowed to what is sure, for rows that run along its edge; unchanged
    /// where it would fall apart.
    pub(crate) fn narrowed_along(self, polygon: &Polygon, over: &Region) -> Polygon {
        let whole = Region::from(polygon.clone());
        let grown = whole.difference(over).offset(self.sure, Join::Round { tolerance: 0.02 });
        only(grown.intersection(&whole)).unwrap_or_else(|| polygon.clone())
    }

    /// `polygon` with its rim under `over` narrowed across the rows; unchanged where it would fall apart.
    pub(crate) fn narrowed(self, polygon: &Polygon, over: &Region, frame: Frame) -> Polygon {
        let whole = Region::from(polygon.clone());
        let flat = self.overlap / self.sure;
        let seen = moved(&whole.difference(over), |point| {
            let at = frame.to_frame(point);
            Point::new(at.x, at.y * flat)
        });
        let grown = moved(&seen.offset(self.overlap, Join::Round { tolerance: 0.02 }), |at| {
            frame.from_frame(Point::new(at.x, at.y / flat))
        });
        only(grown.intersection(&whole)).unwrap_or_else(|| polygon.clone())
    }
}

/// The polygon of a region that is in one piece.
fn only(mut region: Region) -> Option<Polygon> {
    region.polygons.pop().filter(|_| region.polygons.is_empty())
}

/// A region with its points elsewhere.
fn moved(region: &Region, to: impl Fn(Point) -> Point) -> Region {
    let ring = |ring: &Ring| Ring::new(ring.points.iter().map(|&point| to(point)).collect());
    let rings: Vec<Ring> = region.rings().map(ring).collect();
    Region::from_rings(&rings, FillRule::EvenOdd)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(from: (f64, f64), to: (f64, f64)) -> Region {
        let corners = [from, (to.0, from.1), to, (from.0, to.1)].map(Point::from);
        Region::from_rings(&[Ring::new(corners.to_vec())], FillRule::NonZero)
    }

    #[test]
    fn a_rim_is_narrow_along_the_rows_and_whole_at_their_ends() {
        let polygon = square((0.0, 0.0), (20.0, 20.0)).polygons.remove(0);
        let rim = Rim::new(1.0, 0.2).unwrap();
        for (degrees, right, low) in [(0.0, 11.0, 10.4), (90.0, 10.4, 11.0)] {
            let over = |from| square(from, (30.0, 30.0));
            // Cut back by the overlap already, as knock-out does.
            let beside = square((0.0, 0.0), (11.0, 20.0)).polygons.remove(0);
            let rest = rim.narrowed(&beside, &over((10.0, -5.0)), Frame::turned(degrees));
            assert!((rest.bounds().unwrap().x1 - right).abs() < 0.02, "{rest:?}");
            let above = square((0.0, 0.0), (20.0, 11.0)).polygons.remove(0);
            let rest = rim.narrowed(&above, &over((-5.0, 10.0)), Frame::turned(degrees));
            assert!((rest.bounds().unwrap().y1 - low).abs() < 0.02, "{rest:?}");
        }
        let apart = square((8.0, -5.0), (10.5, 30.0));
        assert_eq!(rim.narrowed(&polygon, &apart, Frame::turned(90.0)), polygon);
    }

    #[test]
    fn rows_along_the_edge_keep_the_narrow_part_all_round() {
        let polygon = square((0.0, 0.0), (11.0, 20.0)).polygons.remove(0);
        let rest = Rim::new(1.0, 0.2).unwrap().narrowed_along(&polygon, &square((10.0, -5.0), (30.0, 30.0)));
        assert!((rest.area() - 10.4 * 20.0).abs() < 0.1, "{rest:?}");
    }

    #[test]
    fn fabric_that_draws_in_much_keeps_the_rim() {
        assert!(Rim::new(1.0, 0.45).unwrap().sure > 0.64);
        assert!(Rim::new(1.0, 0.8).is_none() && Rim::new(0.4, 0.2).is_none() && Rim::new(f64::NAN, 0.2).is_none());
    }
}
