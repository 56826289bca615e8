//! How thick a thread is, from its linear density.
//!
//! A cylinder of length L, mass m and density rho is `sqrt(4 m / (pi rho L))`
//! thick; yarn fills only a share of the cylinder around it. With polyester,
//! 1.39 g/cm³, packed to 0.60 (an assumption, from memory) 27 tex is 0.203 mm.
//! The spacing that covers grows with the thickness, so with the square root of
//! the linear density.

use std::f64::consts::PI;

/// Linear density the default spacings are meant for, g per 1000 m.
pub const USUAL_TEX: f64 = 27.0;

/// Density of polyester, g/cm³.
const DENSITY: f64 = 1.39;

/// Share of its cylinder that a yarn fills.
const PACKING: f64 = 0.60;

/// Thickness of a thread of `tex` g per 1000 m, mm.
pub fn thickness(tex: f64) -> f64 {
    // 1 tex is 1e-6 g/mm; 1 g/cm³ is 1e-3 g/mm³.
    (4.0 * tex * 1e-6 / (PI * DENSITY * 1e-3 * PACKING)).sqrt()
}

/// What the default spacing is multiplied by for a thread of `tex`.
pub fn spacing_factor(tex: f64) -> f64 {
    (tex / USUAL_TEX).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thickness_follows_the_formula() {
        // d = sqrt(4T/(pi rho phi)), polyester packed to 0.60, computed apart.
        for (tex, mm) in [(10.0, 0.123_558), (20.0, 0.174_738), (27.0, 0.203_027), (40.0, 0.247_117)] {
            assert!((thickness(tex) - mm).abs() < 1e-6, "{tex} tex: {}", thickness(tex));
        }
    }

    #[test]
    fn spacing_grows_with_the_thickness() {
        for tex in [12.0, 27.0, 40.0, 60.0] {
            let ratio = thickness(tex) / thickness(USUAL_TEX);
            assert!((spacing_factor(tex) - ratio).abs() < 1e-12, "{tex} tex");
        }
    }
}
