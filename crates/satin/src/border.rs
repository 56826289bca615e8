//! Borders: bands of even width along an outline.

use laidwork_geometry::{Join, PenLine, Region};

/// On which side of an outline a border lies.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Side {
    /// Inside the shape (in holes: on the shape's side).
    In,
    /// Outside the shape.
    Out,
    /// Half and half.
    #[default]
    Centred,
}

/// A band along an outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Border {
    /// Its width, mm.
    pub width: f64,
    /// How far it is moved outwards (inwards when negative), mm.
    pub offset: f64,
    /// On which side of the (moved) outline it lies.
    pub side: Side,
    /// What it does at corners.
    pub join: Join,
}

impl Default for Border {
    fn default() -> Border {
        Border { width: 3.0, offset: 0.0, side: Side::Centred, join: Join::Round { tolerance: 0.01 } }
    }
}

/// A border as an area and as lines with a width.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Band {
    /// The area it covers, holes kept.
    pub region: Region,
    /// The lines along its middle.
    pub lines: Vec<PenLine>,
    /// Its width, mm.
    pub width: f64,
}

/// The band along every outline of `region`: sew each polygon of its area with
/// [`from_stroke`](crate::from_stroke).
///
/// Where the shape is narrower than the band, the inner edge closes up and the
/// band is as wide as the shape.
pub fn border(region: &Region, border: Border) -> Band {
    let width = if border.width.is_finite() { border.width.max(0.0) } else { 0.0 };
    let offset = if border.offset.is_finite() { border.offset } else { 0.0 };
    let outer = offset
        + match border.side {
            Side::In => 0.0,
            Side::Out => width,
            Side::Centred => width / 2.0,
        };
    let area = region.offset(outer, border.join).difference(&region.offset(outer - width, border.join));
    let middle = region.offset(outer - width / 2.0, border.join);
    let lines = middle
        .rings()
        .map(|ring| PenLine { points: ring.points.clone(), closed: true, ..PenLine::default() })
        .collect();
    Band { region: area, lines, width }
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Point;
    use laidwork_geometry::{FillRule, Ring};

    fn frame() -> Region {
        let square = |a: f64, b: f64| Ring::new([(a, a), (b, a), (b, b), (a, b)].map(Point::from).to_vec());
        Region::from_rings(&[square(0.0, 20.0), square(6.0, 14.0)], FillRule::EvenOdd)
    }

    #[test]
    fn a_border_keeps_holes() {
        for (side, area) in [(Side::In, 20.0 * 8.0 - 16.0 + 8.0 * 8.0 + 16.0), (Side::Out, 160.0 + 16.0 + 64.0 - 16.0)]
        {
            let band =
                border(&frame(), Border { width: 2.0, side, join: Join::Mitre { limit: 4.0 }, ..Border::default() });
            assert_eq!(band.lines.len(), 2);
            assert!((band.region.area() - area).abs() < 1e-3, "{side:?} {}", band.region.area());
        }
    }

    #[test]
    fn a_border_wider_than_its_shape_fills_it() {
        let square = Ring::new([(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)].map(Point::from).to_vec());
        let region = Region::from_rings(&[square], FillRule::NonZero);
        let band = border(&region, Border { width: 5.0, side: Side::In, ..Border::default() });
        assert!((band.region.area() - 16.0).abs() < 1e-6);
        assert!(band.lines.is_empty());
    }
}
