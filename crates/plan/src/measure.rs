//! Lengths and angles that carry their unit in their type.
//!
//! Settings and figures use these; bulk coordinates stay plain `f64` millimetres
//! inside [`kurbo::Point`], where a wrapper would only cost reading.

use std::fmt;

/// A finite length in millimetres.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Mm(f64);

impl Mm {
    /// Zero.
    pub const ZERO: Mm = Mm(0.0);

    /// A length of `mm` millimetres, or `None` when it is not finite.
    pub fn new(mm: f64) -> Option<Mm> {
        mm.is_finite().then_some(Mm(mm))
    }

    /// The bare number of millimetres.
    pub const fn get(self) -> f64 {
        self.0
    }
}

impl fmt::Display for Mm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.2} mm", self.0)
    }
}

/// A finite direction in the plane, counted from the x axis towards the y axis
/// (clockwise as seen, because y points down).
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Angle {
    degrees: f64,
}

impl Angle {
    /// The direction of the x axis.
    pub const ZERO: Angle = Angle { degrees: 0.0 };

    /// An angle of `degrees`, or `None` when it is not finite.
    pub fn from_degrees(degrees: f64) -> Option<Angle> {
        degrees.is_finite().then_some(Angle { degrees })
    }

    /// Degrees, as given.
    pub const fn degrees(self) -> f64 {
        self.degrees
    }

    /// Radians.
    pub fn radians(self) -> f64 {
        self.degrees.to_radians()
    }

    /// The unit vector of this direction.
    pub fn direction(self) -> kurbo::Vec2 {
        kurbo::Vec2::from_angle(self.radians())
    }
}

impl fmt::Display for Angle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}°", self.degrees)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_length_is_finite() {
        assert_eq!(Mm::new(f64::NAN), None);
        assert_eq!(Mm::new(f64::INFINITY), None);
        assert_eq!(Mm::new(0.22).map(Mm::get), Some(0.22));
        assert_eq!(Mm::new(0.22).unwrap().to_string(), "0.22 mm");
    }

    #[test]
    fn an_angle_turns_from_x_to_y() {
        let down = Angle::from_degrees(90.0).unwrap().direction();
        assert!((down.y - 1.0).abs() < 1e-12 && down.x.abs() < 1e-12);
        assert_eq!(Angle::from_degrees(f64::NAN), None);
    }
}
