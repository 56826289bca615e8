//! The fabric under the thread.

use crate::Weave;
use crate::canvas::{Canvas, noise};
use laidwork_plan::Color;

/// Distance between the yarns of the woven fabric, mm.
const PITCH: f32 = 0.42;

/// Covers the whole canvas with fabric.
pub(crate) fn lay(canvas: &mut Canvas, color: Color, weave: Weave) {
    match weave {
        Weave::Plain => canvas.color.fill([color.red, color.green, color.blue]),
        Weave::Woven => weave_cloth(canvas, color),
    }
}

/// Plain weave: yarns cross over and under in turn, each a little thicker or
/// thinner and lighter or darker than the next.
fn weave_cloth(canvas: &mut Canvas, color: Color) {
    let light = canvas.tables.lights(color);
    let yarns = |samples: usize, seed: u32| -> Vec<Place> {
        (0..samples).map(|i| Place::new((i as f32 + 0.5) / canvas.scale, seed)).collect()
    };
    let (columns, rows) = (yarns(canvas.width, 1), yarns(canvas.height, 2));
    for (row, samples) in rows.iter().zip(canvas.color.chunks_exact_mut(canvas.width)) {
        for (column, sample) in columns.iter().zip(samples) {
            let warp_on_top = (row.yarn ^ column.yarn) & 1 == 0;
            let (upper, lower) = if warp_on_top { (column, row) } else { (row, column) };
            // Round across the upper yarn, and bending down to both sides along it.
            let across = 1.0 - upper.off * upper.off;
            let along = 1.0 - lower.off * lower.off;
            let fleck = noise((row.yarn.wrapping_mul(7919)) ^ column.yarn.wrapping_mul(104_729)) - 0.5;
            let shade = 0.86 + 0.11 * across + 0.08 * along + upper.tint + 0.025 * fleck;
            *sample = canvas.tables.bytes(light.map(|channel| channel * shade));
        }
    }
}

/// Where a row or column of samples lies on the yarns that run along it.
struct Place {
    /// Number of the yarn.
    yarn: u32,
    /// How far off its middle, -1 to 1.
    off: f32,
    /// How much lighter or darker than the others it is.
    tint: f32,
}

impl Place {
    fn new(mm: f32, seed: u32) -> Place {
        let at = mm / PITCH;
        let yarn = at.floor() as u32;
        let off = (at - at.floor()) * 2.0 - 1.0;
        Place { yarn, off, tint: 0.05 * (noise(yarn.wrapping_add(seed << 20)) - 0.5) }
    }
}
