//! Rows that run along a field of directions, as graphs over a straight line.
//!
//! **Guides.** The direction at a place is a mean of directions, weighted with
//! inverse powers of distance (Shepard, "A two-dimensional interpolation
//! function for irregularly-spaced data", 1968) and taken at double angles, so
//! that it does not matter which way a guide was drawn (Knöppel et al.,
//! "Globally optimal direction fields", 2013). Along one guide the fourth power
//! is taken, which makes rows nearly parallel to it; between guides a low one,
//! so that rows turn over the whole way from one to the next.
//!
//! **Rows.** Where all directions are less than a quarter turn from a mean one,
//! a row rises and falls over a line along that direction but never turns back.
//! Rows are traced through a middle column to both sides (midpoint rule) and
//! kept as heights in columns; between two of them rows are interpolated.
//! Heights of neighbours are kept in order, so rows never cross and every place
//! lies on exactly one: a one-to-one map whatever the guides are.
//!
//! **Turns.** Where directions differ more, the shape is parted into up to three
//! sectors of 60° with a line of its own each.
//!
//! **Spacing.** Rows that part are parted into zones (`zones.rs`).
//!
//! Time: O(samples of guides x samples of the field + columns x rows traced).

use crate::row_map::{Bent, carried};
use crate::zones::{Cell, parted};
use kurbo::{Point, Vec2};
use laidwork_geometry::{FillRule, Frame, Polygon, Region, Ring, Samples};
use std::f64::consts::PI;
use std::sync::Arc;

/// How much farther apart rows are in one zone than in the one before, would they run on.
const ZONE_RATIO: f64 = 1.35;

/// Most samples of all guides together.
const GUIDE_SAMPLES: f64 = 400.0;

/// The power of the distance by which one guide counts less than another.
const BETWEEN: f64 = 1.5;

/// Distances below this count alike, mm.
const NEAR: f64 = 0.3;

/// Between samples of the field, mm, and at most so many along a side.
const GRID: (f64, f64) = (0.5, 160.0);

/// Farthest directions may be from the mean for one sheet, radians.
const ONE_SHEET: f64 = 1.13;

/// Rows are never steeper than this over their line (tangent).
const STEEPEST: f64 = 3.0;

/// Rows traced are this far apart in the middle column, mm.
const TRACED: f64 = 0.25;

/// Most rows traced to one side of the middle.
const MOST_TRACED: usize = 4000;

/// A direction at a place, as a vector of twice its angle.
#[derive(Clone, Debug)]
struct Field {
    frame: Frame,
    x: Samples,
    y: Samples,
}

/// Bilinear interpolation in samples, held constant beyond their border.
fn at(samples: &Samples, p: Point) -> f64 {
    let rows = samples.values.len() / samples.columns.max(1);
    let place = |value: f64, step: f64, count: usize| {
        let t = (value / step).clamp(0.0, count.saturating_sub(1) as f64);
        let i = (t as usize).min(count.saturating_sub(2));
        (i, t - i as f64)
    };
    let (i, s) = place(p.x - samples.origin.x, samples.step.x, samples.columns);
    let (j, t) = place(p.y - samples.origin.y, samples.step.y, rows);
    let value = |i: usize, j: usize| samples.values.get(j * samples.columns + i).copied().unwrap_or(0.0);
    let low = value(i, j) * (1.0 - s) + value(i + 1, j) * s;
    let high = value(i, j + 1) * (1.0 - s) + value(i + 1, j + 1) * s;
    low * (1.0 - t) + high * t
}

/// The middle of a short part of a guide, its length and its doubled direction.
type Sample = (Point, f64, Vec2);

/// Short parts of every guide that has a direction.
fn guide_samples(guides: &[Vec<Point>]) -> Vec<Vec<Sample>> {
    let edges = |line: &[Point]| -> Vec<(Point, Vec2)> {
        let edges = line.windows(2).map(|pair| (pair[0], pair[1] - pair[0]));
        edges.filter(|(from, along)| from.is_finite() && along.is_finite() && along.hypot() > 1e-6).collect()
    };
    let total: f64 = guides.iter().flat_map(|line| edges(line)).map(|(_, along)| along.hypot()).sum();
    let step = (total / GUIDE_SAMPLES).max(0.3);
    let sampled = |line: &Vec<Point>| {
        let mut samples = Vec::new();
        for (from, along) in edges(line) {
            let parts = (along.hypot() / step).ceil().clamp(1.0, 1e4);
            let doubled = Vec2::from_angle(2.0 * along.atan2());
            for i in 0..parts as usize {
                samples.push((from + along * ((i as f64 + 0.5) / parts), along.hypot() / parts, doubled));
            }
        }
        samples
    };
    guides.iter().map(sampled).filter(|samples| !samples.is_empty()).collect()
}

/// The doubled direction that one guide asks for at a place, and its squared distance.
fn direction_of(guide: &[Sample], place: Point) -> (Vec2, f64) {
    let (mut sum, mut nearest) = (Vec2::ZERO, f64::INFINITY);
    for &(p, length, doubled) in guide {
        let squared = p.distance_squared(place);
        sum += doubled * (length / (squared + NEAR * NEAR).powi(2));
        nearest = nearest.min(squared);
    }
    (unit(sum), nearest)
}

/// The vector made one long; nothing when it has no length.
fn unit(vector: Vec2) -> Vec2 {
    let size = vector.hypot();
    if size > 0.0 { vector / size } else { Vec2::ZERO }
}

impl Field {
    /// The field over a rectangle of `frame`, from `low` to `high`.
    fn new(guides: &[Vec<Sample>], frame: Frame, low: Point, high: Point) -> Field {
        let extent = (high.x - low.x).max(high.y - low.y);
        let step = GRID.0.max(extent / GRID.1);
        let value = |uv: Point| {
            let place = frame.from_frame(uv);
            let mut sum = Vec2::ZERO;
            for guide in guides {
                let (direction, squared) = direction_of(guide, place);
                sum += direction / (squared + NEAR * NEAR).powf(BETWEEN / 2.0);
            }
            unit(sum)
        };
        let angle = Samples::of(low, high, Vec2::new(step, step), |uv| value(uv).atan2());
        let part =
            |of: fn(f64) -> f64| Samples { values: angle.values.iter().map(|&a| of(a)).collect(), ..angle.clone() };
        Field { frame, x: part(f64::cos), y: part(f64::sin) }
    }

    /// The doubled direction at a place of the frame.
    fn doubled(&self, uv: Point) -> Vec2 {
        Vec2::new(at(&self.x, uv), at(&self.y, uv))
    }

    /// How much the direction at a place of the frame is turned from an angle, -90° to 90°, radians.
    fn turn(&self, uv: Point, from: f64) -> f64 {
        let doubled = self.doubled(uv);
        if doubled.hypot() < 1e-6 {
            return 0.0;
        }
        let turn = doubled.atan2() - 2.0 * from;
        (turn + PI).rem_euclid(2.0 * PI) / 2.0 - PI / 2.0
    }
}

/// Rows as heights over the columns of a turned frame.
#[derive(Clone, Debug)]
pub(crate) struct Sheet {
    frame: Frame,
    /// `u` of the first column, mm, and from one to the next.
    first: f64,
    step: f64,
    /// `v` of the lowest row, mm.
    lowest: f64,
    /// Rows in each column.
    rows: usize,
    /// Column by column, rising.
    heights: Vec<f64>,
}

impl Sheet {
    /// Traces rows through all of the rectangle from `low` to `high` of `frame`,
    /// `slope(uv)` being their direction.
    fn new(frame: Frame, low: Point, high: Point, slope: impl Fn(Point) -> f64) -> Sheet {
        let parts = ((high.x - low.x) / GRID.0).ceil().clamp(2.0, 400.0);
        let step = (high.x - low.x) / parts;
        let columns = parts as usize + 1;
        let middle = columns / 2;
        let trace = |v: f64| {
            let mut row = vec![v; columns];
            let next = |u: f64, y: f64, step: f64| {
                let half = y + slope(Point::new(u, y)) * step / 2.0;
                y + slope(Point::new(u + step / 2.0, half)) * step
            };
            for i in middle + 1..columns {
                row[i] = next(low.x + step * (i - 1) as f64, row[i - 1], step);
            }
            for i in (0..middle).rev() {
                row[i] = next(low.x + step * (i + 1) as f64, row[i + 1], -step);
            }
            row
        };
        // From the middle to both sides until the whole rectangle lies between.
        let start = (low.y + high.y) / 2.0;
        let mut above = vec![trace(start)];
        while above.len() < MOST_TRACED && above[above.len() - 1].iter().any(|&y| y < high.y) {
            above.push(trace(start + TRACED * above.len() as f64));
        }
        let mut below: Vec<Vec<f64>> = Vec::new();
        while below.len() < MOST_TRACED && below.last().unwrap_or(&above[0]).iter().any(|&y| y > low.y) {
            below.push(trace(start - TRACED * (below.len() + 1) as f64));
        }
        let rows = above.len() + below.len();
        let mut heights = Vec::with_capacity(rows * columns);
        for column in 0..columns {
            let mut last = f64::NEG_INFINITY;
            for row in below.iter().rev().chain(&above) {
                last = row[column].max(last + TRACED * 1e-3);
                heights.push(last);
            }
        }
        Sheet { frame, first: low.x, step, lowest: start - TRACED * below.len() as f64, rows, heights }
    }

    /// The two columns beside `u` and how far it is from the first to the second.
    fn columns(&self, u: f64) -> (&[f64], &[f64], f64) {
        let count = self.heights.len() / self.rows;
        let t = ((u - self.first) / self.step).clamp(0.0, count as f64 - 1.0);
        let i = (t as usize).min(count.saturating_sub(2));
        let column = |i: usize| &self.heights[i * self.rows..(i + 1) * self.rows];
        (column(i), column(i + 1), t - i as f64)
    }

    /// How far rows have parted at a place of their plane, in millimetres on the fabric for each of `v`.
    fn spread(&self, uv: Point) -> f64 {
        let by = |du: f64, dv: f64| self.height(Point::new(uv.x + du, uv.y + dv));
        let rise = (by(0.0, TRACED) - by(0.0, -TRACED)) / (2.0 * TRACED);
        let slope = (by(self.step, 0.0) - by(-self.step, 0.0)) / (2.0 * self.step);
        rise / slope.hypot(1.0)
    }

    /// How high a row lies.
    fn height(&self, uv: Point) -> f64 {
        let (a, b, t) = self.columns(uv.x);
        let row = (uv.y - self.lowest) / TRACED;
        let k = row.clamp(0.0, (self.rows - 2) as f64) as usize;
        let blend = |k: usize| a[k] * (1.0 - t) + b[k] * t;
        let share = row - k as f64;
        if (0.0..=1.0).contains(&share) {
            blend(k) * (1.0 - share) + blend(k + 1) * share
        } else if share < 0.0 {
            blend(k) + share * TRACED
        } else {
            blend(k + 1) + (share - 1.0) * TRACED
        }
    }
}

impl Sheet {
    pub(crate) fn to_rows(&self, point: Point) -> Point {
        let p = self.frame.to_frame(point);
        let (a, b, t) = self.columns(p.x);
        let blend = |k: usize| a[k] * (1.0 - t) + b[k] * t;
        let (mut low, mut high) = (0, self.rows);
        while low < high {
            let middle = (low + high) / 2;
            if blend(middle) <= p.y { low = middle + 1 } else { high = middle }
        }
        let row = match low {
            0 => (p.y - blend(0)) / TRACED,
            above if above == self.rows => (above - 1) as f64 + (p.y - blend(above - 1)) / TRACED,
            above => {
                let (from, to) = (blend(above - 1), blend(above));
                (above - 1) as f64 + (p.y - from) / (to - from)
            }
        };
        Point::new(p.x, self.lowest + row * TRACED)
    }

    pub(crate) fn on_fabric(&self, uv: Point) -> Point {
        self.frame.from_frame(Point::new(uv.x, self.height(uv)))
    }
}

/// The rectangle of `frame` around a polygon, with a margin.
fn around(polygon: &Polygon, frame: Frame) -> Option<(Point, Point)> {
    let flat = carried(polygon, |_| f64::INFINITY, |p| frame.to_frame(p)).bounds()?.inflate(3.0, 3.0);
    Some((flat.origin(), Point::new(flat.x1, flat.y1)))
}

/// The cells of a shape whose rows follow `guides`, about `spacing` mm apart;
/// none when no guide has a direction.
pub(crate) fn cells(polygon: &Polygon, guides: &[Vec<Point>], spacing: f64) -> Vec<Cell> {
    let guides = guide_samples(guides);
    let upright = Frame::turned(0.0);
    let Some((low, high)) = around(polygon, upright).filter(|_| !guides.is_empty()) else { return Vec::new() };
    let field = Field::new(&guides, upright, low, high);
    let inside = laidwork_geometry::Locator::from_rings(polygon.rings());
    let nodes: Vec<Point> = (0..field.x.values.len())
        .map(|i| {
            let (column, row) = ((i % field.x.columns) as f64, (i / field.x.columns) as f64);
            field.x.origin + Vec2::new(column * field.x.step.x, row * field.x.step.y)
        })
        .filter(|&node| inside.contains(node))
        .chain(polygon.outer.points.iter().copied().filter(|p| p.is_finite()))
        .collect();
    let sum = nodes.iter().map(|&node| field.doubled(node)).fold(Vec2::ZERO, |sum, doubled| sum + doubled);
    let mean = if sum.hypot() > 1e-6 { sum.atan2() / 2.0 } else { 0.0 };
    let widest = nodes.iter().map(|&node| field.turn(node, mean).abs()).fold(0.0, f64::max);
    if widest <= ONE_SHEET {
        return sheet_cells(polygon, &field, mean, spacing);
    }
    let mut cells = Vec::new();
    let mut rest = Region::from(polygon.clone());
    for sector in 0..3 {
        let angle = mean + f64::from(sector) * PI / 3.0;
        // The cosine of twice the turn is smooth where directions are.
        let near = |uv: Point| (2.0 * field.turn(uv, angle)).cos();
        let here = match sector {
            2 => rest.clone(),
            _ => rest.intersection(&Samples::of(low, high, field.x.step, near).at_least(0.5)),
        };
        for part in &here.polygons {
            cells.extend(sheet_cells(part, &field, angle, spacing));
        }
        rest = rest.difference(&here);
    }
    cells
}

/// The cells of a part whose rows run near to one angle.
fn sheet_cells(part: &Polygon, field: &Field, angle: f64, spacing: f64) -> Vec<Cell> {
    let frame = Frame::turned(angle.to_degrees());
    let Some((low, high)) = around(part, frame) else { return Vec::new() };
    let slope = |uv: Point| {
        let turn = field.turn(field.frame.to_frame(frame.from_frame(uv)), angle);
        turn.clamp(-1.5, 1.5).tan().clamp(-STEEPEST, STEEPEST)
    };
    let sheet = Arc::new(Sheet::new(frame, low, high, slope));
    let rings: Vec<Ring> = carried(part, |_| 0.3, |p| sheet.to_rows(p)).rings().cloned().collect();
    let flat = Region::from_rings(&rings, FillRule::EvenOdd);
    let level_at = |uv: Point| sheet.spread(uv).clamp(0.05, 20.0).ln() / ZONE_RATIO.ln();
    let on_fabric = |part: &Polygon| carried(part, |_| 0.4, |uv| sheet.on_fabric(uv));
    let mut cells = Vec::new();
    for (level, flat) in parted(&flat, Vec2::new(0.5, 0.5), level_at, i32::MIN, on_fabric) {
        let rings: Vec<Ring> = on_fabric(&flat).rings().cloned().collect();
        let mut covered = Region::from_rings(&rings, FillRule::NonZero).polygons;
        covered.sort_by(|a, b| b.area().total_cmp(&a.area()));
        let Some(polygon) = covered.into_iter().next() else { continue };
        let spacing = spacing / ZONE_RATIO.powi(level);
        cells.push(Cell { polygon, flat, map: Bent::Sheet(sheet.clone()), spacing });
    }
    cells
}
