//! The painting surface: colour and height of every sample.
//!
//! A picture is painted several samples to the pixel and averaged in linear
//! light, because rows of thread lie closer than the pixels of a usual picture
//! and would otherwise beat against them. The height of what lies in each
//! sample decides which thread hides which, and casts the shadows.

use crate::linear::Tables;

/// More samples to the side of a pixel than this are not seen in small pictures of large designs.
const SMALL: f64 = 8.0;

/// The most samples of one surface; eight bytes each.
const MOST_SAMPLES: f64 = 64e6;

/// A surface of samples.
#[derive(Clone)]
pub(crate) struct Canvas {
    /// Samples across.
    pub width: usize,
    /// Samples down.
    pub height: usize,
    /// Samples to the side of a pixel.
    pub over: usize,
    /// Samples per mm.
    pub scale: f32,
    /// sRGB, row by row.
    pub color: Vec<[u8; 3]>,
    /// Height over the fabric in units of a sample's width, row by row.
    pub level: Vec<f32>,
    /// Which coat lies on top, row by row: one pass has one number, 0 is the fabric.
    pub coat: Vec<u8>,
    /// Light and bytes.
    pub tables: Tables,
}

impl Canvas {
    /// A black, flat surface for a picture of `width` by `height` pixels, with at
    /// least so many samples per mm unless that is more than can be seen or held.
    pub fn new(width: u32, height: u32, pixels_per_mm: f64, samples_per_mm: f64) -> Canvas {
        let pixels = f64::from(width) * f64::from(height);
        let wanted = (samples_per_mm / pixels_per_mm).ceil();
        let affordable = (MOST_SAMPLES / pixels).sqrt().floor();
        let over = wanted.min(affordable).clamp(1.0, SMALL) as usize;
        let (width, height) = (width as usize * over, height as usize * over);
        Canvas {
            width,
            height,
            over,
            scale: (pixels_per_mm * over as f64) as f32,
            color: vec![[0; 3]; width * height],
            level: vec![0.0; width * height],
            coat: vec![0; width * height],
            tables: Tables::new(),
        }
    }

    /// Index of the sample at a place, if it is on the canvas.
    pub fn at(&self, x: f32, y: f32) -> Option<usize> {
        if !(x >= 0.0 && y >= 0.0) {
            return None;
        }
        let (x, y) = (x as usize, y as usize);
        (x < self.width && y < self.height).then_some(y * self.width + x)
    }

    /// The picture, three bytes a pixel, row by row: every pixel the mean light of its samples.
    pub fn picture(&self) -> Vec<u8> {
        if self.over == 1 {
            return self.color.as_flattened().to_vec();
        }
        let share = 1.0 / (self.over * self.over) as f32;
        let mut picture = Vec::with_capacity(self.color.len() * 3 / (self.over * self.over));
        let mut sums = vec![[0.0f32; 3]; self.width / self.over];
        for rows in self.color.chunks_exact(self.width * self.over) {
            sums.fill([0.0; 3]);
            for row in rows.chunks_exact(self.width) {
                for (sum, samples) in sums.iter_mut().zip(row.chunks_exact(self.over)) {
                    for sample in samples {
                        for (sum, &byte) in sum.iter_mut().zip(sample) {
                            *sum += self.tables.light(byte);
                        }
                    }
                }
            }
            picture.extend(sums.iter().flat_map(|sum| self.tables.bytes(sum.map(|light| light * share))));
        }
        picture
    }
}

/// A number from 0 to 1 that looks random and is the same for the same seed.
pub(crate) fn noise(seed: u32) -> f32 {
    let mut bits = seed.wrapping_mul(0x9e37_79b9) ^ 0x85eb_ca6b;
    bits = (bits ^ (bits >> 16)).wrapping_mul(0x7feb_352d);
    bits = (bits ^ (bits >> 15)).wrapping_mul(0x846c_a68b);
    bits ^= bits >> 16;
    (bits >> 8) as f32 / 16_777_216.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_are_averaged_in_linear_light() {
        let mut canvas = Canvas::new(1, 1, 10.0, 20.0);
        assert_eq!(canvas.over, 2);
        canvas.color = vec![[0; 3], [255; 3], [255; 3], [0; 3]];
        assert_eq!(canvas.picture(), [188; 3]); // half the light, not half the byte
    }

    #[test]
    fn noise_fills_its_range() {
        let (low, high) = (0..1000).map(noise).fold((1.0f32, 0.0f32), |(l, h), n| (l.min(n), h.max(n)));
        assert!(low < 0.01 && high > 0.99 && high < 1.0);
    }
}
