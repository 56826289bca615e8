//! The inside of the frame, and whether a point lies in it.

use crate::Point;
use std::str::FromStr;

/// Points may lie this far out, mm: lists round to half of it.
const SLACK: f64 = 0.01;

/// The inside of the frame, centred on the origin, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HoopShape {
    /// A rectangle.
    Rectangle {
        /// Along x.
        width: f64,
        /// Along y.
        height: f64,
    },
    /// A circle.
    Round {
        /// Across.
        diameter: f64,
    },
}

impl HoopShape {
    /// Width and height of the rectangle around it, mm.
    pub fn size(self) -> (f64, f64) {
        match self {
            HoopShape::Rectangle { width, height } => (width, height),
            HoopShape::Round { diameter } => (diameter, diameter),
        }
    }

    /// How far `point` lies outside, mm; nothing for what lies inside.
    pub fn outside(self, point: Point) -> Option<f64> {
        let by = match self {
            HoopShape::Rectangle { width, height } => (point.x.abs() - width / 2.0).max(point.y.abs() - height / 2.0),
            HoopShape::Round { diameter } => point.to_vec2().hypot() - diameter / 2.0,
        };
        (by > SLACK).then_some(by)
    }
}

impl FromStr for HoopShape {
    type Err = String;

    /// `100x80`: a rectangle; `120`: a round hoop.
    fn from_str(text: &str) -> Result<HoopShape, String> {
        let length = |text: &str| text.trim().parse::<f64>().ok().filter(|mm| mm.is_finite() && *mm > 0.0);
        let hoop = match text.split_once(['x', 'X']) {
            Some((width, height)) => {
                length(width).zip(length(height)).map(|(width, height)| HoopShape::Rectangle { width, height })
            }
            None => length(text).map(|diameter| HoopShape::Round { diameter }),
        };
        hoop.ok_or_else(|| "write width and height in mm, as 100x80, or the width of a round hoop, as 120".into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hoops_are_read_and_hold_points() {
        let square: HoopShape = "100x80".parse().unwrap();
        assert_eq!(square.outside(Point::new(50.0, -40.0)), None);
        assert_eq!(square.outside(Point::new(50.0, -41.0)), Some(1.0));
        let round: HoopShape = "120".parse().unwrap();
        assert_eq!(round.outside(Point::new(0.0, 60.0)), None);
        assert!(round.outside(Point::new(50.0, 40.0)).is_some());
        for text in ["", "x", "10x", "-5", "0", "nan", "1e400", "10x10x10"] {
            assert!(text.parse::<HoopShape>().is_err(), "{text}");
        }
    }
}
