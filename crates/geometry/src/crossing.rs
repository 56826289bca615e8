//! Crossing lines: pairs of points on the two sides of a band.
//!
//! A band (a column, a border, a wide stroke) is a row of crossings in order
//! along it. Places on it are real numbers: `2.5` is half-way between crossing
//! 2 and crossing 3.

use kurbo::{Point, Vec2};

/// A line across a band from its left side to its right side, mm.
///
/// *Left* and *right* are as seen looking along the band with y pointing down.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Crossing {
    /// Its end on the left side.
    pub left: Point,
    /// Its end on the right side.
    pub right: Point,
}

impl Crossing {
    /// A crossing from `left` to `right`.
    pub const fn new(left: Point, right: Point) -> Crossing {
        Crossing { left, right }
    }

    /// Its middle.
    pub fn middle(self) -> Point {
        self.left.midpoint(self.right)
    }

    /// Its length, mm.
    pub fn width(self) -> f64 {
        self.left.distance(self.right)
    }

    /// From left to right, of length one; zero for a crossing without length.
    pub fn direction(self) -> Vec2 {
        let across = self.right - self.left;
        let length = across.hypot();
        if length > 0.0 { across / length } else { Vec2::ZERO }
    }

    /// The point at `share` of the way from left (0) to right (1).
    pub fn at(self, share: f64) -> Point {
        self.left.lerp(self.right, share)
    }

    /// The crossing at `share` of the way from this one to `other`.
    pub fn lerp(self, other: Crossing, share: f64) -> Crossing {
        Crossing::new(self.left.lerp(other.left, share), self.right.lerp(other.right, share))
    }

    /// The same line seen from the other end of the band.
    pub fn flipped(self) -> Crossing {
        Crossing::new(self.right, self.left)
    }

    /// Whether both ends are numbers.
    pub fn is_finite(self) -> bool {
        self.left.is_finite() && self.right.is_finite()
    }
}

/// The crossing at a place of a band; places beyond its ends give its ends.
/// `None` for a band without crossings.
pub fn crossing_at(band: &[Crossing], place: f64) -> Option<Crossing> {
    let last = band.len().checked_sub(1)?;
    let place = if place.is_finite() { place.clamp(0.0, last as f64) } else { 0.0 };
    let index = (place.floor() as usize).min(last);
    let here = *band.get(index)?;
    Some(band.get(index + 1).map_or(here, |next| here.lerp(*next, place - index as f64)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_lies_between_two_crossings() {
        let at = |y: f64| Crossing::new(Point::new(0.0, y), Point::new(4.0, y));
        let band = [at(0.0), at(1.0), at(3.0)];
        assert_eq!(crossing_at(&band, 1.5), Some(at(2.0)));
        assert_eq!(crossing_at(&band, 9.0), Some(at(3.0)));
        assert_eq!(crossing_at(&band, f64::NAN), Some(at(0.0)));
        assert_eq!(crossing_at(&[], 0.0), None);
        assert_eq!(at(1.0).middle(), Point::new(2.0, 1.0));
    }
}
