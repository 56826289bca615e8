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

/// Fabric, and the thread laid on it so far.
pub(crate) struct Sewing {
    canvas: Canvas,
    frame: Frame,
    /// Light of each piece's thread.
    lights: Vec<[f32; 3]>,
    /// Half the width of a strand, samples.
    half: f32,
    coats: Coats,
    scratch: Scratch,
    laid: u32,
}

impl Sewing {
    /// Bare fabric of `pixels` across and down.
    pub fn new(plan: &Plan, frame: Frame, pixels: (u32, u32), look: &Look) -> Sewing {
        let mut canvas = Canvas::new(pixels.0, pixels.1, frame.scale, look.finish.samples_per_mm());
        fabric::lay(&mut canvas, look.fabric, look.weave);
        let light = |piece| canvas.tables.lights(paint::thread_color(plan, piece));
        Sewing {
            lights: (0..plan.pieces.len()).map(light).collect(),
            half: (look.thread_width / 2.0 * f64::from(canvas.scale)) as f32,
            canvas,
            frame,
            coats: Coats::default(),
            scratch: Scratch::default(),
            laid: 0,
        }
    }

    /// Lays the next length of thread.
    pub fn lay(&mut self, segment: &Segment) {
        self.laid = self.laid.wrapping_add(1);
        let mut strand = Strand {
            from: self.place(segment.from),
            to: self.place(segment.to),
            half: self.half,
            light: self.lights.get(segment.piece).copied().unwrap_or_default(),
            dives: (true, true),
            lift: (0.0, 0.0),
            coat: self.coats.of(segment),
            seed: self.laid,
        };
        if segment.float {
            self.lay_float(&mut strand, segment);
        } else {
            strand.paint(&mut self.canvas, &mut self.scratch);
        }
    }

    /// The picture of it all, three bytes a pixel.
    pub fn finish(mut self) -> Vec<u8> {
        cast_shadows(&mut self.canvas);
        self.canvas.picture()
    }

    /// The picture of what is laid so far; more may follow.
    pub fn so_far(&self) -> Vec<u8> {
        let mut canvas = self.canvas.clone();
        cast_shadows(&mut canvas);
        canvas.picture()
    }

    fn place(&self, point: Point) -> (f32, f32) {
        let at = self.frame.to_pixels(point);
        let over = self.canvas.over as f64;
        ((at.x * over) as f32, (at.y * over) as f32)
    }

    /// Loose thread: a slack curve, held by nothing between its ends.
    fn lay_float(&mut self, strand: &mut Strand, segment: &Segment) {
        let way = segment.to - segment.from;
        let side = laidwork_plan::Vec2::new(-way.y, way.x) * SAG;
        let at = |i: u32| {
            let t = f64::from(i) / f64::from(PARTS);
            // A flat S: slack thread turns to one side and back.
            let sway = t * (1.0 - t) * (4.0 - 5.2 * t);
            segment.from + way * t + side * sway
        };
        let hang = |i: u32| if i == 0 || i == PARTS { 0.0 } else { 0.7 };
        for i in 0..PARTS {
            strand.from = self.place(at(i));
            strand.to = self.place(at(i + 1));
            strand.dives = (i == 0, i + 1 == PARTS);
            strand.lift = (hang(i) * strand.half, hang(i + 1) * strand.half);
            strand.paint(&mut self.canvas, &mut self.scratch);
        }
    }
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
