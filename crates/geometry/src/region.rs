//! Rings, polygons with holes, and regions made of them.

use kurbo::{Point, Rect};

/// A closed ring of straight edges; the last point is joined to the first and
/// does not repeat it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ring {
    /// Its corners, mm.
    pub points: Vec<Point>,
}

impl Ring {
    /// A ring through `points`.
    pub fn new(points: Vec<Point>) -> Ring {
        Ring { points }
    }

    /// Every edge, the closing one last.
    pub fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        let closing = self.points.last().copied().zip(self.points.first().copied());
        self.points.windows(2).map(|pair| (pair[0], pair[1])).chain(closing)
    }

    /// Enclosed area, mm²: positive when the ring turns from x towards y
    /// (clockwise as seen, because y points down).
    pub fn signed_area(&self) -> f64 {
        // Relative to the first point, so that far-off rings lose no digits.
        let Some(&origin) = self.points.first() else { return 0.0 };
        self.edges().map(|(a, b)| (a - origin).cross(b - origin)).sum::<f64>() / 2.0
    }

    /// Length of its edges, mm.
    pub fn length(&self) -> f64 {
        self.edges().map(|(a, b)| a.distance(b)).sum()
    }

    /// The smallest rectangle around it, mm; `None` for a ring without points.
    pub fn bounds(&self) -> Option<Rect> {
        let (first, rest) = self.points.split_first()?;
        Some(rest.iter().fold(Rect::from_points(*first, *first), |rect, point| rect.union_pt(*point)))
    }
}

/// One connected face: an outer ring and the holes in it.
///
/// As made by this crate's operations, the outer ring has a positive signed
/// area, holes a negative one, and no two edges cross.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Polygon {
    /// Its outer ring.
    pub outer: Ring,
    /// Its holes.
    pub holes: Vec<Ring>,
}

impl Polygon {
    /// The outer ring, then every hole.
    pub fn rings(&self) -> impl Iterator<Item = &Ring> + Clone {
        std::iter::once(&self.outer).chain(&self.holes)
    }

    /// Area without the holes, mm².
    pub fn area(&self) -> f64 {
        self.outer.signed_area().abs() - self.holes.iter().map(|hole| hole.signed_area().abs()).sum::<f64>()
    }

    /// Length of all its rings, mm.
    pub fn perimeter(&self) -> f64 {
        self.rings().map(Ring::length).sum()
    }

    /// The smallest rectangle around it, mm; `None` when it has no points.
    pub fn bounds(&self) -> Option<Rect> {
        self.outer.bounds()
    }
}

/// Any number of polygons that do not overlap.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Region {
    /// Its connected faces.
    pub polygons: Vec<Polygon>,
}

impl Region {
    /// Whether there is nothing in it.
    pub fn is_empty(&self) -> bool {
        self.polygons.is_empty()
    }

    /// Every ring of every polygon.
    pub fn rings(&self) -> impl Iterator<Item = &Ring> + Clone {
        self.polygons.iter().flat_map(Polygon::rings)
    }

    /// Area, mm².
    pub fn area(&self) -> f64 {
        self.polygons.iter().map(Polygon::area).sum()
    }

    /// Length of all rings, mm.
    pub fn perimeter(&self) -> f64 {
        self.polygons.iter().map(Polygon::perimeter).sum()
    }

    /// The smallest rectangle around it, mm; `None` when it is empty.
    pub fn bounds(&self) -> Option<Rect> {
        self.polygons.iter().filter_map(Polygon::bounds).reduce(|a, b| a.union(b))
    }
}

impl From<Polygon> for Region {
    fn from(polygon: Polygon) -> Region {
        Region { polygons: vec![polygon] }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(from: f64, to: f64) -> Ring {
        Ring::new([(from, from), (to, from), (to, to), (from, to)].map(Point::from).to_vec())
    }

    #[test]
    fn a_square_with_a_square_hole() {
        let polygon = Polygon { outer: square(0.0, 4.0), holes: vec![square(1.0, 2.0)] };
        assert!((polygon.area() - 15.0).abs() < 1e-12);
        assert!((polygon.perimeter() - 20.0).abs() < 1e-12);
        assert_eq!(polygon.bounds(), Some(Rect::new(0.0, 0.0, 4.0, 4.0)));
    }

    #[test]
    fn a_ring_without_points_has_no_area() {
        assert!(Ring::default().signed_area().abs() < 1e-12);
        assert_eq!(Ring::default().bounds(), None);
    }
}
