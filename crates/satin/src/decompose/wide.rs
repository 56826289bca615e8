//! Parts too wide for a column, which are filled.
//!
//! The shape is opened with a disc of the greatest width: shrunk by half of it
//! and grown again. What is left of a wide part that goes on for more than about
//! twice the width is a fill; whatever else is near it and no limb of its own (the corners
//! of a square) belongs to it. Limbs reach under the fill by an overlap.

use laidwork_geometry::{Join, Polygon, Region};

/// A wide part goes on for this many widths.
const LENGTH: f64 = 2.0;

/// Where nothing is wider than this many times the greatest width, and it narrows from there, it is a column all the
/// same, with split threads: a spot of rows in its middle would be neither.
const HARDLY_WIDER: f64 = 1.25;

/// A limb reaches this many radii beyond the opened shape: corners over 60° do not.
const LIMB: f64 = 1.0;

/// Limbs reach this far under the fill, mm.
const OVERLAP: f64 = 0.8;

/// Arcs are flattened to this, mm.
const TOLERANCE: f64 = 0.03;
const ROUND: Join = Join::Round { tolerance: TOLERANCE };

/// A shape parted by width.
#[derive(Clone, Debug, Default)]
pub(crate) struct Parted {
    /// To be filled.
    pub(crate) fills: Vec<Polygon>,
    /// To be sewn as columns; they overlap the fills.
    pub(crate) rest: Vec<Polygon>,
}

/// Parts a shape into what is wider than `max_width` mm for long and the rest.
pub(crate) fn part(polygon: &Polygon, max_width: f64) -> Parted {
    let whole = || Parted { fills: Vec::new(), rest: vec![polygon.clone()] };
    let thin = polygon.bounds().is_none_or(|b| b.width().min(b.height()) <= max_width);
    if thin || polygon.area().abs() < LENGTH * max_width * max_width {
        return whole();
    }
    let shape = Region::from(polygon.clone());
    let radius = max_width / 2.0;
    let mut opened = shape.opened(radius, TOLERANCE);
    opened.polygons.retain(|p| p.area() > LENGTH * max_width * max_width);
    if opened.is_empty() {
        return whole();
    }
    // A step over the edge, so that rounding leaves no films between the two.
    let near = opened.offset(0.2, ROUND);
    let mut limbs = shape.difference(&near);
    let beyond = opened.offset(LIMB * radius, ROUND);
    limbs.polygons.retain(|p| !Region::from(p.clone()).difference(&beyond).is_empty());
    if limbs.is_empty() {
        return Parted { fills: vec![polygon.clone()], rest: Vec::new() };
    }
    if opened.shrunk(HARDLY_WIDER * radius, TOLERANCE).is_empty() {
        return whole();
    }
    let fills = shape.difference(&limbs);
    let rest = limbs.offset(OVERLAP + 0.2, ROUND).intersection(&shape);
    Parted { fills: fills.polygons, rest: rest.polygons }
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Point;
    use laidwork_geometry::Ring;

    fn polygon(points: &[(f64, f64)]) -> Polygon {
        Polygon { outer: Ring::new(points.iter().copied().map(Point::from).collect()), holes: Vec::new() }
    }

    #[test]
    fn a_great_square_is_a_fill() {
        let parted = part(&polygon(&[(0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0)]), 7.0);
        assert_eq!((parted.fills.len(), parted.rest.len()), (1, 0));
    }

    #[test]
    fn a_bar_of_the_greatest_width_is_a_column() {
        let parted = part(&polygon(&[(0.0, 0.0), (60.0, 0.0), (60.0, 6.9), (0.0, 6.9)]), 7.0);
        assert_eq!((parted.fills.len(), parted.rest.len()), (0, 1));
    }

    #[test]
    fn a_handle_is_a_column_that_reaches_under_the_fill() {
        let pan =
            [(0.0, 0.0), (20.0, 0.0), (20.0, 8.0), (50.0, 8.0), (50.0, 12.0), (20.0, 12.0), (20.0, 20.0), (0.0, 20.0)];
        let parted = part(&polygon(&pan), 7.0);
        assert_eq!((parted.fills.len(), parted.rest.len()), (1, 1));
        let (fill, handle) = (parted.fills[0].bounds().unwrap(), parted.rest[0].bounds().unwrap());
        assert!(handle.x0 < fill.x1 - 0.5 && handle.x1 > 49.9, "{fill:?} {handle:?}");
    }
}
