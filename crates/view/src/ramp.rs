//! Colours of diagrams.
//!
//! The ramp runs from a pale straw over sea green to a deep violet in even
//! steps of seen difference: it is drawn in the Oklab space of Björn Ottosson,
//! "A perceptual color space for image processing" (2020), with lightness
//! falling evenly, so its order reads without hue: on grey paper and by eyes
//! that tell fewer hues apart. The colours of kinds are the set of M. Okabe and
//! K. Ito, "Color Universal Design" (2008).

use crate::linear::from_light;
use laidwork_plan::Color;

/// Blue of Okabe and Ito.
pub(crate) const BLUE: Color = Color::new(0x00, 0x72, 0xb2);
/// Orange of Okabe and Ito.
pub(crate) const ORANGE: Color = Color::new(0xe6, 0x9f, 0x00);
/// Vermilion of Okabe and Ito.
pub(crate) const VERMILION: Color = Color::new(0xd5, 0x5e, 0x00);
/// Reddish purple of Okabe and Ito.
pub(crate) const PURPLE: Color = Color::new(0xcc, 0x79, 0xa7);
/// Nearly black.
pub(crate) const INK: Color = Color::new(0x1c, 0x1c, 0x22);
/// Paper under a diagram.
pub(crate) const PAPER: Color = Color::new(0xfb, 0xfa, 0xf6);

/// Stops of the ramp in Oklab: lightness, green to red, blue to yellow.
const STOPS: [[f64; 3]; 6] = [
    [0.95, -0.010, 0.075],
    [0.82, -0.070, 0.070],
    [0.69, -0.088, 0.010],
    [0.56, -0.060, -0.060],
    [0.43, 0.010, -0.110],
    [0.30, 0.065, -0.105],
];

/// The ramp's colour at `t`, 0 (pale, little) to 1 (dark, much).
pub(crate) fn ramp(t: f64) -> Color {
    let last = STOPS.len() - 1;
    let at = if t.is_finite() { t.clamp(0.0, 1.0) } else { 0.0 } * last as f64;
    let i = (at as usize).min(last - 1);
    let part = at - i as f64;
    let mix = |channel: usize| STOPS[i][channel] + (STOPS[i + 1][channel] - STOPS[i][channel]) * part;
    from_oklab([mix(0), mix(1), mix(2)])
}

/// sRGB of an Oklab colour, clipped; matrices from Ottosson.
fn from_oklab([l, a, b]: [f64; 3]) -> Color {
    let cube = |x: f64| x * x * x;
    let long = cube(l + 0.396_337_777_4 * a + 0.215_803_757_3 * b);
    let medium = cube(l - 0.105_561_345_8 * a - 0.063_854_172_8 * b);
    let short = cube(l - 0.089_484_177_5 * a - 1.291_485_548_0 * b);
    let byte = |light: f64| (from_light(light.clamp(0.0, 1.0)) * 255.0).round() as u8;
    Color::new(
        byte(4.076_741_662_1 * long - 3.307_711_591_3 * medium + 0.230_969_929_2 * short),
        byte(-1.268_438_004_6 * long + 2.609_757_401_1 * medium - 0.341_319_396_5 * short),
        byte(-0.004_196_086_3 * long - 0.703_418_614_7 * medium + 1.707_614_701_0 * short),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::linear::to_light;

    /// Full protanopia, deuteranopia and tritanopia as matrices on linear sRGB:
    /// G. M. Machado, M. M. Oliveira and L. A. F. Fernandes, "A physiologically-based
    /// model for simulation of color vision deficiency", IEEE Transactions on
    /// Visualization and Computer Graphics 15 (2009) 1291-1298, severity 1.0; values from memory.
    const SIMULATED: [(&str, [[f64; 3]; 3]); 4] = [
        ("usual", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
        (
            "protanopia",
            [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
        ),
        (
            "deuteranopia",
            [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
        ),
        (
            "tritanopia",
            [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
        ),
    ];

    /// Oklab of a colour as seen through one of the matrices.
    fn seen(color: Color, by: &[[f64; 3]; 3]) -> [f64; 3] {
        let light = [color.red, color.green, color.blue].map(|byte| to_light(f64::from(byte) / 255.0));
        let dot = |row: &[f64; 3], v: &[f64; 3]| row[0] * v[0] + row[1] * v[1] + row[2] * v[2];
        let light = [0, 1, 2].map(|i| dot(&by[i], &light).clamp(0.0, 1.0));
        let cones = [
            dot(&[0.4122214708, 0.5363325363, 0.0514459929], &light),
            dot(&[0.2119034982, 0.6806995451, 0.1073969566], &light),
            dot(&[0.0883024619, 0.2817188376, 0.6299787005], &light),
        ]
        .map(f64::cbrt);
        [
            dot(&[0.2104542553, 0.7936177850, -0.0040720468], &cones),
            dot(&[1.9779984951, -2.4285922050, 0.4505937099], &cones),
            dot(&[0.0259040371, 0.7827717662, -0.8086757660], &cones),
        ]
    }

    fn apart(a: [f64; 3], b: [f64; 3]) -> f64 {
        (0..3).map(|i| (a[i] - b[i]).powi(2)).sum::<f64>().sqrt()
    }

    #[test]
    fn the_ramp_is_inside_srgb_and_as_computed() {
        for i in 0..=50 {
            let t = f64::from(i) / 50.0;
            let back = seen(ramp(t), &SIMULATED[0].1);
            let wanted = 0.95 - 0.65 * t;
            assert!((back[0] - wanted).abs() < 0.01, "{t}: lightness {} instead of {wanted}", back[0]);
        }
    }

    #[test]
    fn the_ramp_falls_evenly_for_every_eye() {
        for (eye, matrix) in &SIMULATED {
            let steps: Vec<[f64; 3]> = (0..=10).map(|i| seen(ramp(f64::from(i) / 10.0), matrix)).collect();
            let gaps: Vec<f64> = steps.windows(2).map(|pair| apart(pair[0], pair[1])).collect();
            assert!(steps.windows(2).all(|pair| pair[1][0] < pair[0][0] - 0.035), "{eye}: {steps:?}");
            let (least, most) = gaps.iter().fold((f64::MAX, 0.0f64), |(l, m), &g| (l.min(g), m.max(g)));
            assert!(most / least < 2.0, "{eye}: steps from {least:.3} to {most:.3}");
        }
    }

    #[test]
    fn kinds_stay_apart_for_every_eye() {
        let kinds = [BLUE, ORANGE, VERMILION, PURPLE, INK];
        for (eye, matrix) in &SIMULATED {
            for (i, one) in kinds.iter().enumerate() {
                for other in &kinds[..i] {
                    let gap = apart(seen(*one, matrix), seen(*other, matrix));
                    assert!(gap > 0.08, "{eye}: {one} and {other} only {gap:.3} apart");
                }
                assert!(apart(seen(*one, matrix), seen(PAPER, matrix)) > 0.2, "{eye}: {one} on paper");
            }
        }
    }
}
