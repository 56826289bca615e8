//! Between sRGB bytes and linear light, through tables.
//!
//! Light adds up in linear light, so shading and the averaging of pixels happen
//! there. Source of the transfer curve: IEC 61966-2-1:1999.

use laidwork_plan::Color;

/// Steps of the table back to sRGB; fine enough that each byte is met.
const STEPS: usize = 8192;

/// Both directions of the transfer curve.
#[derive(Clone)]
pub(crate) struct Tables {
    light: [f32; 256],
    byte: Vec<u8>,
}

impl Tables {
    /// Fills the tables.
    pub fn new() -> Tables {
        let mut light = [0.0; 256];
        for (i, value) in light.iter_mut().enumerate() {
            *value = to_light(i as f64 / 255.0) as f32;
        }
        let byte = (0..=STEPS).map(|i| (from_light(i as f64 / STEPS as f64) * 255.0).round() as u8).collect();
        Tables { light, byte }
    }

    /// The light of one sRGB byte, 0 to 1.
    pub fn light(&self, byte: u8) -> f32 {
        self.light[usize::from(byte)]
    }

    /// The light of a colour, channel by channel.
    pub fn lights(&self, color: Color) -> [f32; 3] {
        [self.light(color.red), self.light(color.green), self.light(color.blue)]
    }

    /// The sRGB byte of some light; below 0 and above 1 count as 0 and 1.
    pub fn byte(&self, light: f32) -> u8 {
        let step = (light.clamp(0.0, 1.0) * STEPS as f32 + 0.5) as usize;
        self.byte[step.min(STEPS)]
    }

    /// [`Tables::byte`] for three channels.
    pub fn bytes(&self, lights: [f32; 3]) -> [u8; 3] {
        lights.map(|light| self.byte(light))
    }
}

/// Linear light, 0 to 1, of an sRGB value, 0 to 1.
pub(crate) fn to_light(value: f64) -> f64 {
    if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
}

/// The sRGB value, 0 to 1, of linear light, 0 to 1.
pub(crate) fn from_light(light: f64) -> f64 {
    if light <= 0.003_130_8 { light * 12.92 } else { 1.055 * light.powf(1.0 / 2.4) - 0.055 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_byte_comes_back() {
        let tables = Tables::new();
        for byte in 0..=255 {
            assert_eq!(tables.byte(tables.light(byte)), byte);
        }
        assert_eq!((tables.byte(-1.0), tables.byte(2.0), tables.byte(f32::NAN)), (0, 255, 0));
    }
}
