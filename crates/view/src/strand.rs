//! One length of thread, painted onto the canvas.
//!
//! A strand is a tube that comes up from its hole, lies on what was sewn
//! before, and dives again: narrower, lower and darker at both ends. Where two
//! strands meet, the higher one is seen; that puts neighbouring rows side by
//! side with a crease between them, and a later thread that crosses lies on top.
//!
//! Time: in proportion to the samples covered.

use crate::canvas::{Canvas, noise};
use crate::light::{Gloss, LIGHT, STEPS};

/// How far a strand reaches past its needle point, as a share of half its width.
const CAP: f32 = 0.55;

/// Length over which a strand comes up to its full width, in half widths.
const RISE: f32 = 2.6;

/// Length of one turn of the ply, mm.
const TWIST: f32 = 0.62;

/// What is needed to paint a strand besides its place.
pub(crate) struct Strand {
    /// From, in samples.
    pub from: (f32, f32),
    /// To, in samples.
    pub to: (f32, f32),
    /// Half its width, samples.
    pub half: f32,
    /// Light of the thread's colour.
    pub light: [f32; 3],
    /// Whether it comes up from a hole at its start, and dives at its end.
    pub dives: (bool, bool),
    /// How high it hangs over what lies below at its start and end, samples.
    pub lift: (f32, f32),
    /// Number of the pass it belongs to, never 0: its strands lie side by side.
    pub coat: u8,
    /// Makes each strand a little different from the next.
    pub seed: u32,
}

/// Memory kept from strand to strand.
#[derive(Default)]
pub(crate) struct Scratch {
    raw: Vec<f32>,
    base: Vec<f32>,
}

impl Strand {
    /// Paints the strand. A strand without length leaves no trace.
    pub fn paint(&self, canvas: &mut Canvas, scratch: &mut Scratch) {
        let (ax, ay) = self.from;
        let (dx, dy) = (self.to.0 - ax, self.to.1 - ay);
        let length = (dx * dx + dy * dy).sqrt();
        if !(length > 1e-3 && length < 1e6) {
            return;
        }
        let (dx, dy) = (dx / length, dy / length);
        let step = (self.half * 0.5).max(1.0);
        self.find_base(canvas, scratch, (dx, dy), length, step);
        let mm = length / canvas.scale;
        let slope = if self.dives == (false, false) { 0.0 } else { 0.28 + 0.35 / (mm + 0.6) };
        let gloss = Gloss::new(dx, dy, slope);
        let brush = Brush {
            strand: self,
            dx,
            dy,
            length,
            gloss,
            per_step: 1.0 / step,
            per_gloss: STEPS as f32 / length,
            crease: 5.0 / self.half,
            rising: 1.0 / (RISE * self.half),
            sideways: -dy * LIGHT[0] + dx * LIGHT[1],
            tone: 1.0 + 0.07 * (noise(self.seed) - 0.5),
            turn: 1.0 / (TWIST * canvas.scale),
            phase: noise(self.seed ^ 0x5bd1),
        };
        brush.paint(canvas, &scratch.base);
    }

    /// The level that carries the strand's middle at a place. A strand of its
    /// own pass that is only beside it carries nothing.
    fn support(&self, canvas: &Canvas, (x, y): (f32, f32), (dx, dy): (f32, f32)) -> f32 {
        let Some(at) = canvas.at(x, y) else { return 0.0 };
        let level = canvas.level[at];
        if canvas.coat[at] != self.coat {
            return level;
        }
        let aside = 0.55 * self.half;
        let beside = |side: f32| canvas.at(x - dy * side, y + dx * side).map_or(0.0, |at| canvas.level[at]);
        level.min(beside(aside)).min(beside(-aside))
    }

    /// The level the strand lies on, every `step` samples along it: what is
    /// there already, bridged over hollows as a tight thread does.
    fn find_base(&self, canvas: &Canvas, scratch: &mut Scratch, (dx, dy): (f32, f32), length: f32, step: f32) {
        let count = (length / step) as usize + 2;
        scratch.raw.clear();
        scratch.raw.extend((0..count).map(|i| {
            let along = (i as f32 * step).min(length);
            self.support(canvas, (self.from.0 + dx * along, self.from.1 + dy * along), (dx, dy))
        }));
        let reach = ((0.5 * canvas.scale / step) as usize).max(1);
        scratch.base.clear();
        let mut sum: f32 = scratch.raw.iter().take(reach).sum();
        for i in 0..count {
            if i + reach < count {
                sum += scratch.raw[i + reach];
            }
            if i > reach {
                sum -= scratch.raw[i - reach - 1];
            }
            let within = (i + reach).min(count - 1) - i.saturating_sub(reach) + 1;
            let (before, after) = (scratch.raw[i.saturating_sub(1)], scratch.raw[(i + 1).min(count - 1)]);
            let here = 0.25 * before + 0.5 * scratch.raw[i] + 0.25 * after;
            let hang = self.lift.0 + (self.lift.1 - self.lift.0) * i as f32 / (count - 1) as f32;
            scratch.base.push(here.max(sum / within as f32) * 0.92 + hang);
        }
    }
}

/// A strand made ready for its samples.
struct Brush<'a> {
    strand: &'a Strand,
    dx: f32,
    dy: f32,
    length: f32,
    gloss: Gloss,
    /// Entries of the table of levels to a sample along.
    per_step: f32,
    /// Entries of the gloss to a sample along.
    per_gloss: f32,
    /// One over the difference of level across which one strand hides another.
    crease: f32,
    /// One over the length of the rise at the ends.
    rising: f32,
    /// How much the light comes from the strand's right side.
    sideways: f32,
    tone: f32,
    turn: f32,
    phase: f32,
}

impl Brush<'_> {
    fn paint(&self, canvas: &mut Canvas, base: &[f32]) {
        let (reach, cap) = (self.strand.half + 0.5, self.strand.half * CAP + 0.5);
        let (ax, ay) = self.strand.from;
        let corner = |along: f32, across: f32| ay + self.dy * along + self.dx * across;
        let ys = [(-cap, -reach), (-cap, reach), (self.length + cap, -reach), (self.length + cap, reach)]
            .map(|(along, across)| corner(along, across));
        let top = ys.iter().copied().fold(f32::INFINITY, f32::min).floor().max(0.0);
        let bottom = ys.iter().copied().fold(f32::NEG_INFINITY, f32::max).ceil().min(canvas.height as f32);
        let mut row = top;
        while row < bottom {
            let off_y = row + 0.5 - ay;
            // Both the distance along and the one across are linear in x.
            let along = span(self.dx, self.dy * off_y, -cap, self.length + cap);
            let across = span(-self.dy, self.dx * off_y, -reach, reach);
            if let (Some(along), Some(across)) = (along, across) {
                let first = (along.0.max(across.0) + ax - 0.5).ceil().max(0.0);
                let last = (along.1.min(across.1) + ax - 0.5).floor().min(canvas.width as f32 - 1.0);
                if first <= last {
                    self.paint_row(canvas, base, row as usize, (first as usize, last as usize));
                }
            }
            row += 1.0;
        }
    }

    fn paint_row(&self, canvas: &mut Canvas, base: &[f32], row: usize, (first, last): (usize, usize)) {
        let off_y = row as f32 + 0.5 - self.strand.from.1;
        let start = row * canvas.width;
        let (tables, samples) = (&canvas.tables, start + first..=start + last);
        let colors = &mut canvas.color[samples.clone()];
        let levels = &mut canvas.level[samples.clone()];
        let coats = &mut canvas.coat[samples];
        let mut off_x = first as f32 + 0.5 - self.strand.from.0;
        for ((color, level), coat) in colors.iter_mut().zip(levels).zip(coats) {
            let along = self.dx * off_x + self.dy * off_y;
            let across = self.dx * off_y - self.dy * off_x;
            off_x += 1.0;
            let Some(touch) = self.touch(along, across, base) else { continue };
            let cover = touch.cover * ((touch.level - *level) * self.crease + 0.5).clamp(0.0, 1.0);
            if cover <= 0.004 {
                continue;
            }
            let fresh = tables.bytes(self.shade(along, across, &touch));
            if cover > 0.996 {
                (*color, *level, *coat) = (fresh, touch.level, self.strand.coat);
            } else {
                for (old, new) in color.iter_mut().zip(fresh) {
                    *old = (f32::from(*old) + (f32::from(new) - f32::from(*old)) * cover + 0.5) as u8;
                }
                *level += (touch.level - *level) * cover;
            }
        }
    }

    /// The tube's shape at a place; nothing beside it.
    fn touch(&self, along: f32, across: f32, base: &[f32]) -> Option<Touch> {
        let half = self.strand.half;
        let (from_start, from_end) = (along, self.length - along);
        let past = (-from_start).max(-from_end).max(0.0) * (1.0 / CAP);
        let near_start = if self.strand.dives.0 { from_start } else { f32::INFINITY };
        let near_end = if self.strand.dives.1 { from_end } else { f32::INFINITY };
        let up = ((near_start.min(near_end) + CAP * half) * self.rising).clamp(0.0, 1.0);
        let up = up * (2.0 - up);
        let wide = half * (0.72 + 0.28 * up);
        let off = (across * across + past * past).sqrt();
        let cover = (wide + 0.5 - off).min(1.0).min(2.0 * wide);
        if cover <= 0.0 {
            return None;
        }
        let rim = (off / wide).min(1.0);
        let round = (1.0 - rim * rim).sqrt();
        let below = between(base, along * self.per_step);
        Some(Touch { cover, level: below + half * (0.5 + 0.5 * up) * (0.25 + 0.6 * round), round, up, wide })
    }

    /// The light a place of the tube gives off.
    fn shade(&self, along: f32, across: f32, touch: &Touch) -> [f32; 3] {
        let side = (across / touch.wide).clamp(-1.0, 1.0);
        let facing = LIGHT[2] * touch.round + self.sideways * side;
        // The ply winds around the tube; 8 turns more keep the number positive.
        let turn = along * self.turn + 0.32 * side + self.phase + 8.0;
        let ply = ((turn - turn as u32 as f32) * 2.0 - 1.0).abs() * 2.0 - 1.0;
        let depth = (0.62 + 0.38 * touch.up) * self.tone;
        let at = along * self.per_gloss;
        let scattered =
            between(&self.gloss.scattered, at) * (0.44 + 0.76 * facing.max(0.0)) * depth * (1.0 + 0.06 * ply);
        let sheen = between(&self.gloss.sheen, at) * touch.round * touch.round * depth * (1.0 + 0.25 * ply);
        self.strand.light.map(|channel| channel * (scattered + 0.20 * sheen) + 0.07 * sheen)
    }
}

/// The tube over one sample.
struct Touch {
    /// Share of the sample it covers.
    cover: f32,
    /// Height of its surface.
    level: f32,
    /// 1 on its ridge, 0 at its rim.
    round: f32,
    /// 1 where it lies free, less where it dives.
    up: f32,
    /// Half its width here.
    wide: f32,
}

/// Entry number `at` of a table of at least two, in between by its neighbours.
fn between(table: &[f32], at: f32) -> f32 {
    let at = at.max(0.0);
    let i = (at as usize).min(table.len().saturating_sub(2));
    let part = (at - i as f32).min(1.0);
    match table.get(i..i + 2) {
        Some([one, next]) => one + (next - one) * part,
        _ => 0.0,
    }
}

/// Where `slope * x + offset` lies between `low` and `high`.
fn span(slope: f32, offset: f32, low: f32, high: f32) -> Option<(f32, f32)> {
    if slope.abs() < 1e-6 {
        return (offset >= low && offset <= high).then_some((f32::NEG_INFINITY, f32::INFINITY));
    }
    let (a, b) = ((low - offset) / slope, (high - offset) / slope);
    Some((a.min(b), a.max(b)))
}
