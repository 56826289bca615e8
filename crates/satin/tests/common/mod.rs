//! Figures of sewn shapes: a small raster of its own, and simple letters.

// Every test file uses its own part of this.
#![allow(dead_code, reason = "shared by several test files")]

use kurbo::{Affine, Point};
use laidwork_geometry::{FillRule, Locator, Polygon, Region, Ring};
use laidwork_plan::{Pass, PassKind};

/// A sewn No. 40 thread lies about this wide, mm (common practice, from memory).
const THREAD: f64 = 0.3;

/// Side of a raster cell, mm.
const CELL: f64 = 0.05;

/// What a sewn shape looks like.
#[derive(Clone, Debug)]
pub struct Figures {
    /// Share of the area under top thread.
    pub coverage: f64,
    /// Share of the area (0.3 mm inside the outline) where something else lies over the top thread.
    pub showing: f64,
    /// Farthest a top point lies outside, mm.
    pub farthest_out: f64,
    pub longest: f64,
    pub shortest: f64,
    /// Most top needle points within 0.5 mm of one of them.
    pub crowd: usize,
    pub stitches: usize,
}

/// Needle points with the kind of the stitch that ends there.
pub fn points(passes: &[Pass]) -> Vec<(PassKind, Point)> {
    passes.iter().flat_map(|pass| pass.points.iter().map(|p| (pass.kind, *p))).collect()
}

/// Draws the chain in sewing order and counts.
pub fn figures(polygon: &Polygon, passes: &[Pass]) -> Figures {
    let points = points(passes);
    let bounds = polygon.bounds().unwrap().inset(1.0);
    let (columns, rows) = ((bounds.width() / CELL) as usize + 1, (bounds.height() / CELL) as usize + 1);
    let mut cells: Vec<Option<PassKind>> = vec![None; columns * rows];
    let (mut longest, mut shortest) = (0.0_f64, f64::INFINITY);
    for pair in points.windows(2) {
        let ((_, a), (kind, b)) = (pair[0], pair[1]);
        longest = longest.max(a.distance(b));
        shortest = shortest.min(a.distance(b));
        draw(&mut cells, columns, rows, (a.x - bounds.x0, a.y - bounds.y0), (b.x - bounds.x0, b.y - bounds.y0), kind);
    }
    let locator = Locator::new(&Region::from(polygon.clone()));
    let (mut inside, mut covered, mut core, mut showing) = (0, 0, 0, 0);
    for row in 0..rows {
        for column in 0..columns {
            let at = Point::new(bounds.x0 + (column as f64 + 0.5) * CELL, bounds.y0 + (row as f64 + 0.5) * CELL);
            if !locator.contains(at) {
                continue;
            }
            inside += 1;
            let cell = cells[row * columns + column];
            covered += usize::from(cell == Some(PassKind::Top));
            if locator.distance_to_outline(at) > 0.3 {
                core += 1;
                showing += usize::from(cell.is_some_and(|kind| kind != PassKind::Top));
            }
        }
    }
    let top: Vec<Point> = points.iter().filter(|p| p.0 == PassKind::Top).map(|p| p.1).collect();
    let crowd = |p: &Point| top.iter().filter(|q| p.distance(**q) < 0.5).count();
    Figures {
        coverage: covered as f64 / f64::from(inside.max(1)),
        showing: showing as f64 / f64::from(core.max(1)),
        farthest_out: top.iter().map(|p| -locator.depth(*p)).fold(0.0, f64::max),
        longest,
        shortest,
        crowd: top.iter().map(crowd).max().unwrap_or(0),
        stitches: points.len(),
    }
}

fn draw(cells: &mut [Option<PassKind>], columns: usize, rows: usize, a: (f64, f64), b: (f64, f64), kind: PassKind) {
    let length = (b.0 - a.0).hypot(b.1 - a.1);
    if length < 1e-9 {
        return;
    }
    let (ux, uy) = ((b.0 - a.0) / length, (b.1 - a.1) / length);
    let half = THREAD / 2.0;
    let range = |low: f64, high: f64, count: usize| {
        ((low - half) / CELL).floor().max(0.0) as usize..(((high + half) / CELL).ceil().max(0.0) as usize).min(count)
    };
    for row in range(a.1.min(b.1), a.1.max(b.1), rows) {
        for column in range(a.0.min(b.0), a.0.max(b.0), columns) {
            let (x, y) = ((column as f64 + 0.5) * CELL - a.0, (row as f64 + 0.5) * CELL - a.1);
            let (along, across) = (x * ux + y * uy, x * uy - y * ux);
            // What lies below a top thread stays below it for the eye that looks for coverage.
            if (0.0..=length).contains(&along) && across.abs() <= half {
                cells[row * columns + column] = Some(kind);
            }
        }
    }
}

/// Rings as one polygon under the non-zero rule.
pub fn polygon(rings: &[Vec<(f64, f64)>]) -> Polygon {
    let rings: Vec<Ring> =
        rings.iter().map(|ring| Ring::new(ring.iter().copied().map(Point::from).collect())).collect();
    Region::from_rings(&rings, FillRule::EvenOdd).polygons.into_iter().next().unwrap()
}

/// A straight bar: from, to and width, mm.
pub type Bar = ((f64, f64), (f64, f64), f64);

/// The union of bars.
pub fn bars(bars: &[Bar]) -> Polygon {
    let bar = |&(from, to, width): &Bar| {
        let (a, b) = (Point::from(from), Point::from(to));
        let side = (b - a).normalize() * (width / 2.0);
        let side = kurbo::Vec2::new(-side.y, side.x);
        let mut points = vec![a + side, a - side, b - side, b + side];
        if Ring::new(points.clone()).signed_area() < 0.0 {
            points.reverse();
        }
        Ring::new(points)
    };
    let rings: Vec<Ring> = bars.iter().map(bar).collect();
    Region::from_rings(&rings, FillRule::NonZero).polygons.into_iter().next().unwrap()
}

/// A letter of 20 mm, as it is cut out of bars of 3.4 mm, and how many columns a person would draw.
pub fn letters() -> Vec<(char, Polygon, usize)> {
    let w = 3.4;
    let (left, right) = (1.7, 13.0);
    let flat = |polygon: Polygon| {
        // Cut off above 0 and below 20, as drawn letters are.
        let frame = bars(&[((-40.0, 10.0), (60.0, 10.0), 20.0)]);
        Region::from(polygon).intersection(&Region::from(frame)).polygons.remove(0)
    };
    let ring = |r: f64| {
        (0..120).map(|i| i as f64 * std::f64::consts::TAU / 120.0).map(|a| (r * a.cos(), r * a.sin())).collect()
    };
    vec![
        (
            'E',
            bars(&[
                ((left, 0.0), (left, 20.0), w),
                ((left, 1.7), (right, 1.7), w),
                ((left, 10.0), (right - 1.0, 10.0), w),
                ((left, 18.3), (right, 18.3), w),
            ]),
            4,
        ),
        ('T', bars(&[((0.0, 1.7), (16.0, 1.7), w), ((8.0, 1.7), (8.0, 20.0), w)]), 2),
        (
            'A',
            flat(bars(&[
                ((0.6, 21.0), (9.4, -1.0), w),
                ((17.4, 21.0), (8.6, -1.0), w),
                ((4.0, 14.0), (14.0, 14.0), 3.0),
            ])),
            3,
        ),
        (
            'M',
            flat(bars(&[
                ((left, 0.0), (left, 20.0), w),
                ((19.0, 0.0), (19.0, 20.0), w),
                ((1.0, -1.0), (11.0, 16.0), w),
                ((19.7, -1.0), (9.7, 16.0), w),
            ])),
            4,
        ),
        ('O', polygon(&[ring(10.0), ring(6.6)]), 1),
        (
            'H',
            bars(&[((left, 0.0), (left, 20.0), w), ((right, 0.0), (right, 20.0), w), ((left, 10.0), (right, 10.0), w)]),
            3,
        ),
        (
            'K',
            flat(bars(&[
                ((left, 0.0), (left, 20.0), w),
                ((2.5, 12.5), (15.5, -1.0), w),
                ((6.5, 8.0), (15.5, 21.0), w),
            ])),
            3,
        ),
        ('X', flat(bars(&[((0.0, -1.0), (15.0, 21.0), w), ((15.0, -1.0), (0.0, 21.0), w)])), 2),
    ]
}

/// The same shape turned by some degrees.
pub fn turned(polygon: &Polygon, degrees: f64) -> Polygon {
    let turn = Affine::rotate(degrees.to_radians());
    let ring = |ring: &Ring| Ring::new(ring.points.iter().map(|p| turn * *p).collect());
    Polygon { outer: ring(&polygon.outer), holes: polygon.holes.iter().map(ring).collect() }
}
