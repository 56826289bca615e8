//! Where needle points lie already, so that those of the next ring do not line up with them.

use kurbo::Point;
use std::collections::HashMap;

/// Farther from any other a needle point need not be, mm; the size of a cell of the grid.
pub(crate) const APART: f64 = 0.5;

/// Needle points in a grid.
#[derive(Clone, Debug, Default)]
pub(crate) struct Needles {
    cells: HashMap<(i32, i32), Vec<Point>>,
}

impl Needles {
    /// Keeps the points of one ring.
    pub(crate) fn add(&mut self, points: &[Point]) {
        for &point in points {
            self.cells.entry(cell(point)).or_default().push(point);
        }
    }

    /// How far a place is from the nearest of them, mm, up to [`APART`].
    pub(crate) fn clearance(&self, place: Point) -> f64 {
        let (x, y) = cell(place);
        let about = (-1..=1).flat_map(|i| (-1..=1).map(move |j| (x.saturating_add(i), y.saturating_add(j))));
        let points = about.filter_map(|cell| self.cells.get(&cell)).flatten();
        points.map(|point| point.distance_squared(place)).fold(APART * APART, f64::min).sqrt()
    }
}

fn cell(point: Point) -> (i32, i32) {
    ((point.x / APART).floor() as i32, (point.y / APART).floor() as i32)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_is_found_across_cells() {
        let mut needles = Needles::default();
        needles.add(&[Point::new(0.99, -0.01), Point::new(7.0, 7.0)]);
        assert!((needles.clearance(Point::new(1.01, 0.01)) - 8f64.sqrt() / 100.0).abs() < 1e-12);
        assert!((needles.clearance(Point::new(3.0, 3.0)) - APART).abs() < 1e-12);
    }
}
