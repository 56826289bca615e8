//! The area that threads cover once they have moved.
//!
//! Every thread is a band as wide as a thread lies, cut off square at its ends.
//! Its signed distance is taken on a grid, the highest value of all threads in each
//! sample, and where that is positive the piece covers ([`Samples::at_least`]).
//! Between neighbouring threads and between the points of a zigzag lie small bays
//! that no eye sees: bands are made wider by more than half the spacing, and the
//! region is set back by as much (a morphological closing, J. Serra, Image Analysis
//! and Mathematical Morphology, 1982).
//!
//! Straight edges are right to 0.01 mm, corners are rounded or cut by about a
//! sample. Samples lie 0.12 mm apart, wider for pieces of over two million of them.

use crate::cloth::Sewing;
use crate::lines::Line;
use laidwork_geometry::{Join, Region, Samples};
use laidwork_plan::{Point, Rect, Vec2};

/// Half of what a sewn thread of No. 40 covers, mm; common practice, from memory.
pub const HALF_THREAD: f64 = 0.15;

/// Between samples, mm.
const STEP: f64 = 0.12;

/// The most samples of a piece.
const MOST_SAMPLES: f64 = 2e6;

/// Outlines are simplified within this, mm.
const TOLERANCE: f64 = 0.01;

/// The region that `lines` cover, threads spreading by `spread` mm at the sides.
pub fn covered(lines: &[Line], sewing: &Sewing, spread: f64) -> Region {
    let mut rect: Option<Rect> = None;
    for point in lines.iter().flat_map(|line| &line.points) {
        let here = Rect::from_points(*point, *point);
        rect = Some(rect.map_or(here, |rect| rect.union(here)));
    }
    let Some(rect) = rect else { return Region::default() };
    let step = STEP.max((rect.width() * rect.height() / MOST_SAMPLES).sqrt());
    let closing = (0.75 * sewing.spacing).clamp(0.25, 2.0).max(1.5 * step);
    let half = (HALF_THREAD + spread).max(0.05) + closing;
    let mut canvas = Canvas::new(rect.inflate(half + 2.0 * step, half + 2.0 * step), step);
    for line in lines {
        let last = line.points.len().saturating_sub(2);
        for (index, pair) in line.points.windows(2).enumerate() {
            if let &[from, to] = pair {
                canvas.paint(from, to, half, closing, (index == 0, index == last));
            }
        }
    }
    let region = canvas.samples.at_least(0.0).simplify(TOLERANCE);
    region.offset(-closing, Join::Mitre { limit: 2.0 }).simplify(TOLERANCE)
}

struct Canvas {
    samples: Samples,
    rows: usize,
}

impl Canvas {
    fn new(rect: Rect, step: f64) -> Canvas {
        let columns = (rect.width() / step).ceil() as usize + 1;
        let rows = (rect.height() / step).ceil() as usize + 1;
        let values = vec![-1.0; columns * rows];
        Canvas { samples: Samples { origin: rect.origin(), step: Vec2::new(step, step), columns, values }, rows }
    }

    /// Paints a stitch `half` mm to each side; at free ends it is cut square, `beyond` mm beyond the end.
    fn paint(&mut self, from: Point, to: Point, half: f64, beyond: f64, free: (bool, bool)) {
        let way = to - from;
        let length = way.hypot();
        if length.is_nan() || length <= 0.0 {
            return;
        }
        let unit = way / length;
        let around = Rect::from_points(from, to).inflate(half + beyond, half + beyond);
        let (origin, step) = (self.samples.origin, self.samples.step.x);
        let cell = |at: f64, most: usize| ((at / step).max(0.0) as usize).min(most);
        let columns =
            cell(around.x0 - origin.x, self.samples.columns)..cell(around.x1 - origin.x + step, self.samples.columns);
        for row in cell(around.y0 - origin.y, self.rows)..cell(around.y1 - origin.y + step, self.rows) {
            let start = row * self.samples.columns;
            for column in columns.clone() {
                let place = origin + Vec2::new(column as f64, row as f64) * step - from;
                let (along, across) = (place.dot(unit), place.cross(unit).abs());
                let mut level = half - across;
                for (end, free) in [(along, free.0), (length - along, free.1)] {
                    if free {
                        level = level.min(end + beyond);
                    } else if end < 0.0 {
                        level = level.min(half - end.hypot(across));
                    }
                }
                if let Some(value) = self.samples.values.get_mut(start + column) {
                    *value = value.max(level);
                }
            }
        }
    }
}
