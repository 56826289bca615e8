//! Points in a grid of cells, to ask which lie within one distance of a place.

use kurbo::Point;
use std::collections::HashMap;

type Cell = (i64, i64);

/// Points that come and go, and which of them lie near a place. O(points of nine cells) for a question.
#[derive(Clone, Debug)]
pub struct NearPoints {
    reach: f64,
    cells: HashMap<Cell, Vec<Point>>,
}

impl NearPoints {
    /// No points yet; near is what lies within `reach` mm, which must be above 0.
    pub fn within(reach: f64) -> NearPoints {
        NearPoints { reach, cells: HashMap::new() }
    }

    /// One more point.
    pub fn add(&mut self, point: Point) {
        self.cells.entry(self.cell(point)).or_default().push(point);
    }

    /// Takes a point away again, one of those that are the same.
    pub fn take(&mut self, point: Point) {
        if let Some(list) = self.cells.get_mut(&self.cell(point))
            && let Some(at) = list.iter().position(|other| *other == point)
        {
            list.remove(at);
        }
    }

    /// The points near a place, in no order.
    pub fn about(&self, place: Point) -> impl Iterator<Item = Point> + '_ {
        let (x, y) = self.cell(place);
        let cells = (-1..=1).flat_map(move |i| (-1..=1).map(move |j| (x.saturating_add(i), y.saturating_add(j))));
        let points = cells.filter_map(|cell| self.cells.get(&cell)).flatten().copied();
        points.filter(move |point| point.distance(place) <= self.reach)
    }

    fn cell(&self, point: Point) -> Cell {
        ((point.x / self.reach).floor() as i64, (point.y / self.reach).floor() as i64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn near_points_are_found_across_cells() {
        let mut points = NearPoints::within(0.5);
        for point in [(0.99, -0.01), (0.99, -0.01), (1.5, 0.0), (7.0, 7.0)] {
            points.add(point.into());
        }
        let about = |points: &NearPoints| points.about(Point::new(1.01, 0.01)).count();
        assert_eq!(about(&points), 3);
        points.take(Point::new(0.99, -0.01));
        points.take(Point::new(8.0, 8.0));
        assert_eq!(about(&points), 2);
        assert_eq!(points.about(Point::new(3.0, 3.0)).count(), 0);
    }
}
