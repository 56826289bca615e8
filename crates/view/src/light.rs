//! How thread takes the light.
//!
//! Embroidery thread shines across its direction: neighbouring threads look
//! light or dark by the way they run. That is the fibre model of J. T. Kajiya
//! and T. L. Kay, "Rendering fur with three dimensional textures", Computer
//! Graphics (SIGGRAPH) 23 (1989) 271-280: with the fibre's direction T, the way
//! to the light L and to the eye V, the scattered light goes with sin(T, L) and
//! the sheen with a power of the cosine between V and the cone of mirrored
//! light around T. A stitch rises from its first hole and dives into its last,
//! so T tilts along it and the sheen wanders. The eye looks straight down.

/// The way to the light: from the upper left, well above the fabric.
pub(crate) const LIGHT: [f32; 3] = [-0.43, -0.52, 0.738];

/// Entries of a [`Gloss`] along a stitch.
pub(crate) const STEPS: usize = 24;

/// What a stitch of some direction scatters and mirrors along its length.
pub(crate) struct Gloss {
    /// Scattered light, by place along the stitch.
    pub scattered: [f32; STEPS + 1],
    /// Sheen, by place along the stitch.
    pub sheen: [f32; STEPS + 1],
}

impl Gloss {
    /// For a stitch along the unit vector (`dx`, `dy`) that rises and dives by
    /// `slope` (its tangent) at its ends.
    pub fn new(dx: f32, dy: f32, slope: f32) -> Gloss {
        let flat = dx * LIGHT[0] + dy * LIGHT[1];
        let mut gloss = Gloss { scattered: [0.0; STEPS + 1], sheen: [0.0; STEPS + 1] };
        for i in 0..=STEPS {
            let rise = slope * (1.0 - 2.0 * i as f32 / STEPS as f32);
            let norm = 1.0 / (1.0 + rise * rise).sqrt();
            let to_light = (flat + rise * LIGHT[2]) * norm;
            let to_eye = rise * norm;
            let sin_light = (1.0 - to_light * to_light).max(0.0).sqrt();
            let sin_eye = (1.0 - to_eye * to_eye).max(0.0).sqrt();
            gloss.scattered[i] = sin_light;
            gloss.sheen[i] = power(sin_light * sin_eye - to_light * to_eye);
        }
        gloss
    }
}

/// The twelfth power of a cosine, nothing for angles over 90 degrees.
fn power(cosine: f32) -> f32 {
    let square = cosine.max(0.0) * cosine.max(0.0);
    let fourth = square * square;
    fourth * fourth * fourth
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_light_is_a_unit_vector() {
        let length = LIGHT.iter().map(|c| c * c).sum::<f32>();
        assert!((length - 1.0).abs() < 1e-2);
    }

    #[test]
    fn thread_across_the_light_shines_more_than_thread_along_it() {
        let flat = (LIGHT[0] * LIGHT[0] + LIGHT[1] * LIGHT[1]).sqrt();
        let (along, down) = (LIGHT[0] / flat, LIGHT[1] / flat);
        let middle = STEPS / 2;
        let across = Gloss::new(-down, along, 0.3).sheen[middle];
        assert!(across > 0.99 && Gloss::new(along, down, 0.3).sheen[middle] < 0.2);
    }

    #[test]
    fn either_way_along_a_thread_shines_alike() {
        let (one, other) = (Gloss::new(0.8, 0.6, 0.4), Gloss::new(-0.8, -0.6, 0.4));
        for i in 0..=STEPS {
            assert!((one.sheen[i] - other.sheen[STEPS - i]).abs() < 1e-6);
        }
    }
}
