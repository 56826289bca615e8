//! The plan as it looks once sewn.

use crate::canvas::Canvas;
use crate::frame::Frame;
use crate::light::LIGHT;
use crate::strand::{Scratch, Strand};
use crate::{Look, fabric, paint};
use laidwork_plan::{PassKind, Plan, Point, Segment};

/// How far an untrimmed jump sags to the side, as a share of its length.
pub(crate) const SAG: f64 = 0.06;

/// Straight parts an untrimmed jump is drawn with.
const PARTS: u32 = 10;

/// Paints fabric, every thread in sewing order, and the shadows.
pub(crate) fn paint(canvas: &mut Canvas, plan: &Plan, frame: Frame, look: &Look) {
    fabric::lay(canvas, look.fabric, look.weave);
    let lights: Vec<[f32; 3]> =
        (0..plan.pieces.len()).map(|piece| canvas.tables.lights(paint::thread_color(plan, piece))).collect();
    let over = canvas.over as f64;
    let half = (look.thread_width / 2.0 * f64::from(canvas.scale)) as f32;
    let mut scratch = Scratch::default();
    let mut seed = 0;
    let place = |point: Point| {
        let at = frame.to_pixels(point);
        ((at.x * over) as f32, (at.y * over) as f32)
    };
    let mut coats = Coats::default();
    plan.for_each_segment(|segment| {
        seed += 1;
        let light = lights.get(segment.piece).copied().unwrap_or_default();
        let mut strand = Strand {
            from: place(segment.from),
            to: place(segment.to),
            half,
            light,
            dives: (true, true),
            lift: (0.0, 0.0),
            coat: coats.of(&segment),
            seed,
        };
        if segment.float {
            paint_float(canvas, &mut scratch, &mut strand, &segment, place);
        } else {
            strand.paint(canvas, &mut scratch);
        }
    });
    cast_shadows(canvas);
}

/// Numbers the coats of thread: a new one whenever piece or kind changes.
#[derive(Default)]
struct Coats {
    last: Option<(usize, PassKind)>,
    number: u8,
}

impl Coats {
    fn of(&mut self, segment: &Segment) -> u8 {
        let this = Some((segment.piece, segment.kind));
        if self.last != this {
            self.last = this;
            self.number = self.number % u8::MAX + 1;
        }
        self.number
    }
}

/// Loose thread: a slack curve, held by nothing between its ends.
fn paint_float(
    canvas: &mut Canvas,
    scratch: &mut Scratch,
    strand: &mut Strand,
    segment: &Segment,
    place: impl Fn(Point) -> (f32, f32),
) {
    let way = segment.to - segment.from;
    let side = laidwork_plan::Vec2::new(-way.y, way.x) * SAG;
    let at = |i: u32| {
        let t = f64::from(i) / f64::from(PARTS);
        // A flat S: slack thread turns to one side and back.
        let sway = t * (1.0 - t) * (4.0 - 5.2 * t);
        place(segment.from + way * t + side * sway)
    };
    let hang = |i: u32| if i == 0 || i == PARTS { 0.0 } else { 0.7 };
    for i in 0..PARTS {
        strand.from = at(i);
        strand.to = at(i + 1);
        strand.dives = (i == 0, i + 1 == PARTS);
        strand.lift = (hang(i) * strand.half, hang(i + 1) * strand.half);
        strand.paint(canvas, scratch);
    }
}

/// Darkens what lies in the shadow of something higher towards the light.
fn cast_shadows(canvas: &mut Canvas) {
    const STRIDES: [f32; 5] = [0.07, 0.14, 0.23, 0.34, 0.48]; // mm towards the light
    let flat = (LIGHT[0] * LIGHT[0] + LIGHT[1] * LIGHT[1]).sqrt();
    let climb = LIGHT[2] / flat * 0.55; // a wide lamp reaches deeper than a point
    let (width, height) = (canvas.width as i64, canvas.height as i64);
    let steps = STRIDES.map(|mm| {
        let samples = mm * canvas.scale;
        let x = (LIGHT[0] / flat * samples).round() as i64;
        let y = (LIGHT[1] / flat * samples).round() as i64;
        (x, y, samples * climb)
    });
    let soft = 1.0 / (0.16 * canvas.scale);
    for y in 0..height {
        for x in 0..width {
            let at = (y * width + x) as usize;
            let here = canvas.level[at];
            let mut dark = 0.0f32;
            for (dx, dy, rise) in steps {
                let (from_x, from_y) = (x + dx, y + dy);
                if from_x >= 0 && from_y >= 0 && from_x < width && from_y < height {
                    let there = canvas.level[(from_y * width + from_x) as usize];
                    dark += ((there - here - rise) * soft).clamp(0.0, 1.0);
                }
            }
            if dark > 0.0 {
                let keep = 1.0 - 0.42 * (dark / 2.5).min(1.0);
                let sample = canvas.color[at];
                canvas.color[at] = canvas.tables.bytes(sample.map(|byte| canvas.tables.light(byte) * keep));
            }
        }
    }
}
