//! What stitches leave bare of a shape.
//!
//! The shape is looked at dot by dot: every stitch paints those that its thread
//! covers, and what is left is gathered into spots. A stitch is as wide as
//! rows need it to be at their spacing, and its ends are square.

use kurbo::Point;
use laidwork_geometry::{FillRule, Join, Polygon, Region, Ring, RowLines, Rows, Sets, Span, touching};
use laidwork_plan::Angle;

/// Half the width of a thread in spacings: at 0.22 mm this is half a sewn thread (0.15 mm) but for rounding.
pub(crate) const COVERED: f64 = 0.655;

/// Farthest the middle of a narrow spot may lie from the thread along it, in spacings.
pub(crate) const BEND: f64 = 0.2;

/// From dot to dot, mm; more where there would be more than [`MOST_DOTS`].
const DOT: f64 = 0.04;

const MOST_DOTS: f64 = 2e7;

/// How far a stitch paints beyond its ends, in dots: what is less wide between two stitches is none.
const END: f64 = 0.5;

/// Smaller spots are left bare, mm².
const LEAST_SPOT: f64 = 0.003;

/// Spots nearer to each other than twice this are filled together, mm.
const JOINED: f64 = 0.25;

/// By how much what fills them reaches beyond, mm.
pub(crate) const OVERLAP: f64 = 0.1;

/// Spots that are nowhere wider than this, mm, and smaller than this, mm², together with those that would be filled with
/// them stay bare: no eye sees them, and their needle points would crowd.
const NARROWEST: f64 = 0.07;
const SMALLEST: f64 = 0.008;

const ROUND: Join = Join::Round { tolerance: 0.01 };

/// The spots of a polygon that rows of stitches `spacing` mm apart leave bare, grown a little.
pub(crate) fn bare(polygon: &Polygon, stitches: impl Iterator<Item = Vec<Point>>, spacing: f64) -> Region {
    let Some(mut dots) = Dots::new(polygon) else { return Region::default() };
    for way in stitches {
        for pair in way.windows(2) {
            dots.paint(pair[0], pair[1], COVERED * spacing);
        }
    }
    let mut spots = Region::from_rings(&dots.unpainted(polygon), FillRule::NonZero);
    spots.polygons.retain(|spot| spot.area() > LEAST_SPOT);
    without_unseen(&mut spots);
    // Grown to join what lies close together, and shrunk again but for an overlap.
    spots.offset(JOINED, ROUND).offset(OVERLAP - JOINED, ROUND)
}

/// Leaves out spots that no eye sees: narrow ones that are small together with those that would be filled with them.
fn without_unseen(spots: &mut Region) {
    let mut groups = Sets::new(spots.polygons.len());
    for touch in touching(&spots.polygons, 2.0 * JOINED) {
        groups.join(touch.a, touch.b);
    }
    let mut areas = vec![0.0; spots.polygons.len()];
    for (i, spot) in spots.polygons.iter().enumerate() {
        areas[groups.find(i)] += spot.area();
    }
    let is_wide = |spot: &Polygon| !Region::from(spot.clone()).offset(-NARROWEST / 2.0, Join::Bevel).is_empty();
    let mut index = 0..;
    spots.polygons.retain(|spot| {
        let group = index.next().map_or(0, |i| groups.find(i));
        areas[group] > SMALLEST || is_wide(spot)
    });
}

/// A dot for each part of a rectangle.
struct Dots {
    origin: Point,
    step: f64,
    columns: usize,
    painted: Vec<bool>,
}

impl Dots {
    fn new(polygon: &Polygon) -> Option<Dots> {
        let bounds = polygon.bounds().filter(|bounds| bounds.is_finite())?;
        let step = (bounds.area() / MOST_DOTS).sqrt().max(bounds.width().max(bounds.height()) / MOST_DOTS).max(DOT);
        let (columns, rows) = ((bounds.width() / step) as usize + 1, (bounds.height() / step) as usize + 1);
        Some(Dots { origin: bounds.origin(), step, columns, painted: vec![false; columns * rows] })
    }

    fn paint(&mut self, from: Point, to: Point, half: f64) {
        let (from, to) = ((from - self.origin) / self.step, (to - self.origin) / self.step);
        let half = half / self.step;
        let length = (to - from).hypot();
        if length < 1e-9 {
            return;
        }
        let along = (to - from) / length;
        let rows = self.painted.len() / self.columns;
        let Some((first, last)) = within(from.y.min(to.y) - half, from.y.max(to.y) + half, rows) else { return };
        for row in first..=last {
            // Where the row's line crosses the strip |across| <= half, 0 <= ahead <= length.
            let y = row as f64 - from.y;
            let across = cut(along.y, -along.x * y, -half, half);
            let ahead = cut(along.x, along.y * y, -END, length + END);
            let (low, high) = (across.0.max(ahead.0) + from.x, across.1.min(ahead.1) + from.x);
            if let Some((first, last)) = within(low, high, self.columns) {
                self.painted[row * self.columns + first..=row * self.columns + last].fill(true);
            }
        }
    }

    /// Runs of dots of the polygon that are not painted, as rectangles.
    fn unpainted(&self, polygon: &Polygon) -> Vec<Ring> {
        let mut spots = Vec::new();
        let Ok(lines) = RowLines::new(Angle::ZERO, self.step, self.origin.y) else { return spots };
        let visit = |row: i64, spans: &[Span]| {
            let Some(start) = usize::try_from(row).ok().map(|row| row * self.columns) else { return };
            let Some(painted) = self.painted.get(start..start + self.columns) else { return };
            let y = self.origin.y + row as f64 * self.step;
            for span in spans {
                let (low, high) = ((span.from - self.origin.x) / self.step, (span.to - self.origin.x) / self.step);
                let Some((first, last)) = within(low, high, self.columns) else { continue };
                let mut column = first;
                for run in painted[first..=last].chunk_by(|a, b| a == b) {
                    if run[0] {
                        column += run.len();
                        continue;
                    }
                    let half = self.step / 2.0;
                    let x = |column: usize| self.origin.x + column as f64 * self.step - half;
                    let (left, right) = (x(column), x(column + run.len()));
                    let corners = [(left, y - half), (right, y - half), (right, y + half), (left, y + half)];
                    spots.push(Ring::new(corners.map(Point::from).to_vec()));
                    column += run.len();
                }
            }
        };
        // More rows than the limit are never asked for.
        let _ = Rows::new().for_each_row(polygon.rings(), &lines, visit);
        spots
    }
}

/// Where `slope * x + offset` is between two bounds.
fn cut(slope: f64, offset: f64, low: f64, high: f64) -> (f64, f64) {
    if slope.abs() < 1e-12 {
        let inside = (low..=high).contains(&offset);
        return if inside { (f64::NEG_INFINITY, f64::INFINITY) } else { (1.0, 0.0) };
    }
    let (a, b) = ((low - offset) / slope, (high - offset) / slope);
    (a.min(b), a.max(b))
}

/// The whole numbers from `low` to `high` that are less than `count`.
fn within(low: f64, high: f64, count: usize) -> Option<(usize, usize)> {
    let (first, last) = (low.ceil().max(0.0), high.floor().min(count as f64 - 1.0));
    (first <= last).then_some((first as usize, last as usize))
}
