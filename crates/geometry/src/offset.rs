//! Regions grown and shrunk by a distance.

use crate::Region;
use crate::boolean::{RESOLUTION, from_grid, to_grid};
use i_overlay::i_float::int::angle::Angle;
use i_overlay::mesh::int::arc::ArcOptions;
use i_overlay::mesh::int::outline::offset::IntOutlineOffset;
use i_overlay::mesh::int::style::{IntLineJoin, IntOutlineStyle};

/// What an outline does at its outer corners when it is moved out (SVG's words).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Join {
    /// An arc about the corner, flattened to a sagitta of `tolerance` mm.
    Round {
        /// Farthest the arc's chords may lie inside it, mm.
        tolerance: f64,
    },
    /// Prolonged edges up to `limit` times the distance, then a bevel.
    Mitre {
        /// SVG's mitre limit.
        limit: f64,
    },
    /// A straight cut.
    Bevel,
}

impl Region {
    /// This region grown by `distance` mm (shrunk when it is negative): outer
    /// rings move out, holes close.
    ///
    /// Straight parts are exact to [`crate::RESOLUTION`]; round joins lie
    /// inside the true arc by at most their tolerance.
    pub fn offset(&self, distance: f64, join: Join) -> Region {
        let rings: Vec<_> = self.rings().map(to_grid).collect();
        let steps = (distance / RESOLUTION).round() as i64;
        let style = IntOutlineStyle::new(steps).line_join(int_join(distance.abs(), join));
        rings.outline(&style).map(from_grid).unwrap_or_default()
    }
}

/// An angle between 0 and π.
fn turn(radians: f64) -> Angle {
    Angle::from_radians(radians).unwrap_or(ArcOptions::MIN_STEP)
}

fn int_join(distance: f64, join: Join) -> IntLineJoin {
    match join {
        Join::Bevel => IntLineJoin::Bevel,
        // Two edges that meet at an interior angle a reach 1 / sin(a / 2) times the distance.
        Join::Mitre { limit } => IntLineJoin::Miter(turn(2.0 * (1.0 / limit.max(1.0)).asin())),
        Join::Round { tolerance } => {
            let cosine = (1.0 - tolerance / distance.max(tolerance)).clamp(0.0, 1.0);
            IntLineJoin::Round(ArcOptions { max_step: turn(2.0 * cosine.acos()), rotation_precision: 32 })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{FillRule, Ring};
    use kurbo::Point;

    fn square(side: f64) -> Region {
        let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)].map(Point::from);
        Region::from_rings(&[Ring::new(corners.to_vec())], FillRule::NonZero)
    }

    #[test]
    fn a_square_grows_by_the_steiner_formula() {
        let round = square(4.0).offset(1.0, Join::Round { tolerance: 0.001 }).area();
        let exact = 16.0 + 16.0 + std::f64::consts::PI;
        // A chord's segment takes at most the tolerance off along its length.
        assert!(round <= exact + 1e-6 && round >= exact - 0.001 * std::f64::consts::TAU, "{round} {exact}");
        let mitred = square(4.0).offset(1.0, Join::Mitre { limit: 4.0 }).area();
        assert!((mitred - 36.0).abs() < 1e-4, "{mitred}");
        let bevelled = square(4.0).offset(1.0, Join::Bevel).area();
        assert!((bevelled - 34.0).abs() < 1e-4, "{bevelled}");
    }

    #[test]
    fn a_square_shrinks_to_nothing() {
        assert!((square(4.0).offset(-1.0, Join::Bevel).area() - 4.0).abs() < 1e-4);
        assert!(square(4.0).offset(-2.1, Join::Bevel).is_empty());
    }
}
