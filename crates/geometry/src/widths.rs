//! How wide a shape is: largest disc, typical width, and how its thickness is spread.
//!
//! The *thickness* at a point of a shape is the diameter of the largest disc
//! that lies in the shape and covers the point (granulometry; T. Hildebrand and
//! P. Rüegsegger, "A new method for the model-independent assessment of thickness in
//! three-dimensional images", J. Microscopy 185, 1997). Unlike chord lengths it
//! does not depend on a direction, and a ragged outline changes it by about
//! the depth of the raggedness only.

use crate::{Locator, Polygon, RowLines, Rows, Span};
use kurbo::{Point, Vec2};
use laidwork_plan::Angle;
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// A disc inside a shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Disc {
    /// Its centre, mm.
    pub centre: Point,
    /// Its radius, mm.
    pub radius: f64,
    /// No disc in the shape has a radius larger than this one's by more than this, mm.
    pub within: f64,
}

impl Disc {
    /// Whether `place` lies in it, a millionth of the radius more included.
    fn covers(&self, place: Point) -> bool {
        self.centre.distance_squared(place) <= self.radius * self.radius * 1.000_001
    }
}

impl Polygon {
    /// The largest disc in it, its radius to within `tolerance` mm; `None` without area.
    ///
    /// A quadtree whose squares are given up once no centre in them can beat the best one (the
    /// distance to the outline changes at most as fast as the place). After [`MOST_SQUARES`]
    /// squares the search ends early and [`Disc::within`] says what is proven.
    pub fn largest_disc(&self, tolerance: f64) -> Option<Disc> {
        let bounds = self.bounds()?;
        let locator = Locator::from_rings(self.rings());
        let mut open = BinaryHeap::new();
        let mut best = Square { depth: 0.0, ..Square::new(&locator, bounds.center(), 0.0, 0) };
        let side = bounds.width().min(bounds.height()).max(bounds.width().max(bounds.height()) / 64.0);
        if !(side > 0.0 && side.is_finite()) {
            return None;
        }
        let mut squares = 0;
        let mut look_at = |centre, half, best: &mut Square, open: &mut BinaryHeap<Square>| {
            squares += 1;
            let square = Square::new(&locator, centre, half, squares);
            if square.depth > best.depth {
                *best = square;
            }
            open.push(square);
            squares
        };
        let places = |length: f64| (length / side).ceil().max(1.0) as usize;
        for row in 0..places(bounds.height()) {
            for column in 0..places(bounds.width()) {
                let centre = bounds.origin() + Vec2::new(column as f64 + 0.5, row as f64 + 0.5) * side;
                look_at(centre, side / 2.0, &mut best, &mut open);
            }
        }
        let mut within = tolerance.max(0.0);
        while let Some(square) = open.pop() {
            let could = square.reach() - best.depth;
            if could <= tolerance {
                break;
            }
            let mut looked = 0;
            for (x, y) in [(-0.5, -0.5), (0.5, -0.5), (-0.5, 0.5), (0.5, 0.5)] {
                let centre = square.centre + Vec2::new(x, y) * square.half;
                looked = look_at(centre, square.half / 2.0, &mut best, &mut open);
            }
            if looked > MOST_SQUARES {
                within = could;
                break;
            }
        }
        (best.depth > 0.0).then_some(Disc { centre: best.centre, radius: best.depth, within })
    }

    /// Diameter of the largest disc in it, to within 0.02 mm (or what
    /// [`Polygon::largest_disc`] proves); 0 without area.
    pub fn max_width(&self) -> f64 {
        self.largest_disc(0.01).map_or(0.0, |disc| 2.0 * disc.radius)
    }

    /// Width of the strip that has its area and perimeter, mm: exact for rectangles
    /// and for bands that close on themselves, and what bent strips average.
    pub fn typical_width(&self) -> f64 {
        let (area, half) = (self.area(), self.perimeter() / 2.0);
        if half <= 0.0 {
            0.0
        } else if self.holes.is_empty() {
            // length + width = half, length x width = area
            let (square, root) = (half * half - 4.0 * area, area.max(0.0).sqrt());
            if square > 0.0 { 2.0 * area / (half + square.sqrt()) } else { root }
        } else {
            area / half
        }
    }

    /// How the thickness is spread over its area, by samples (see [`Thickness`]).
    pub fn thickness(&self) -> Thickness {
        let area = self.area();
        if area.is_nan() || area <= 0.0 {
            return Thickness::default();
        }
        let locator = Locator::from_rings(self.rings());
        let places = spread_over(self, (area / AREA_OF_A_SAMPLE).clamp(FEWEST_SAMPLES, MOST_SAMPLES));
        let farthest = self.bounds().map_or(0.0, |bounds| bounds.width().hypot(bounds.height()));
        let discs = covering_discs(&locator, &places, farthest);
        let widest = |place: &Point| {
            let covering = discs.iter().filter(|disc| disc.covers(*place));
            covering.map(|disc| 2.0 * disc.radius).fold(0.0, f64::max)
        };
        let mut diameters: Vec<f64> = places.iter().map(widest).collect();
        diameters.sort_by(f64::total_cmp);
        Thickness { diameters }
    }
}

/// Squares [`Polygon::largest_disc`] looks at before it ends early.
pub const MOST_SQUARES: usize = 200_000;

/// One sample for each of so many mm², between the fewest and the most.
const AREA_OF_A_SAMPLE: f64 = 0.2;
const FEWEST_SAMPLES: f64 = 50.0;
const MOST_SAMPLES: f64 = 300.0;

/// Thickness of a shape at points spread evenly over its area.
///
/// Between 50 and 300 of them, so that a share of the area is known to a few per cent;
/// each diameter is that of a disc that lies inside, so it is never too large by more than a
/// millionth, and too small by a fiftieth where the shape is thickest, elsewhere by what the discs of
/// neighbouring samples miss (2 % of a rectangle's median in trials).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Thickness {
    /// Diameters, mm, ascending.
    diameters: Vec<f64>,
}

impl Thickness {
    /// The thickness that `share` (0 to 1) of the area does not exceed, mm; 0 without area.
    pub fn quantile(&self, share: f64) -> f64 {
        let place = (share.clamp(0.0, 1.0) * self.diameters.len() as f64).ceil() as usize;
        self.diameters.get(place.saturating_sub(1)).copied().unwrap_or(0.0)
    }

    /// The share of the area that is thinner than `mm` (0 to 1); 0 without area.
    pub fn share_below(&self, mm: f64) -> f64 {
        let below = self.diameters.partition_point(|diameter| *diameter < mm);
        below as f64 / self.diameters.len().max(1) as f64
    }

    /// Whether there was no area to look at.
    pub fn is_empty(&self) -> bool {
        self.diameters.is_empty()
    }
}

/// Points spread evenly over `polygon`, about `count` of them: one in the middle of each equal
/// stretch of slanted rows, all rows put end to end.
fn spread_over(polygon: &Polygon, count: f64) -> Vec<Point> {
    let spacing = (polygon.area() / count).sqrt();
    let slant = Angle::from_degrees(27.0).unwrap_or_default();
    let mut places = Vec::new();
    // A needle may pass between rows: come closer until there are enough points.
    for closer in [1.0, 4.0, 16.0, 64.0] {
        places.clear();
        let Ok(lines) = RowLines::new(slant, spacing / closer, 0.0) else { return places };
        let step = spacing * closer;
        let mut walked = step / 2.0;
        let on_row = |row: i64, spans: &[Span]| {
            for span in spans {
                let mut at = span.from + walked;
                while at < span.to {
                    places.push(lines.point(row, at));
                    at += step;
                }
                walked = at - span.to;
            }
        };
        if Rows::new().for_each_row(polygon.rings(), &lines, on_row).is_err() || places.len() as f64 > count / 4.0 {
            break;
        }
    }
    places
}

/// Discs in the shape such that every one of `places` is covered by one of about the thickness
/// there. From the deepest place to the shallowest, each gets its own disc unless one of the largest
/// covers it already.
fn covering_discs(locator: &Locator, places: &[Point], farthest: f64) -> Vec<Disc> {
    let mut order: Vec<(f64, Point)> =
        places.iter().map(|&place| (locator.distance_to_outline(place), place)).collect();
    order.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut discs: Vec<Disc> = Vec::new();
    let mut largest = 0.0;
    for (_, place) in order {
        let is_done = discs.iter().any(|disc| disc.radius >= NEARLY * largest && disc.covers(place));
        if let Some(disc) = (!is_done).then(|| disc_at(locator, place, farthest)).flatten() {
            largest = disc.radius.max(largest);
            discs.push(disc);
        }
    }
    discs
}

/// A place that a disc of this share of the largest radius covers is not asked for its own.
const NEARLY: f64 = 0.98;

/// The largest disc that touches the outline at the point nearest to `place` (J. Ma, S. W. Bae
/// and S. Choi, "3D medial axis point approximation using nearest neighbors and the normal
/// field", The Visual Computer 28, 2012); it covers `place`.
fn disc_at(locator: &Locator, place: Point, farthest: f64) -> Option<Disc> {
    let nearest = locator.nearest(place).filter(|nearest| nearest.distance > 1e-9)?;
    let inward = (place - nearest.point) / nearest.distance;
    let mut radius = farthest;
    for _ in 0..60 {
        let touching = locator.nearest(nearest.point + inward * radius)?;
        if touching.distance >= radius * (1.0 - 1e-7) {
            break;
        }
        let across = touching.point - nearest.point;
        let smaller = across.hypot2() / (2.0 * inward.dot(across));
        if !(smaller < radius && smaller > nearest.distance) {
            radius = if smaller < radius { nearest.distance } else { touching.distance };
            break;
        }
        radius = smaller;
    }
    let centre = nearest.point + inward * radius;
    let disc = Disc { centre, radius: locator.distance_to_outline(centre), within: f64::INFINITY };
    (disc.radius >= nearest.distance * 0.999).then(|| climb(locator, place, disc))
}

/// Moves a disc to where there is room for a larger one that still covers `place`. A chain of
/// edges that stands for a curve holds back the disc that touches only one of them.
fn climb(locator: &Locator, place: Point, mut disc: Disc) -> Disc {
    let mut step = disc.radius / 2.0;
    while step > disc.radius * SMALLEST_STEP {
        let up = locator.nearest(disc.centre).map_or(Vec2::ZERO, |nearest| disc.centre - nearest.point);
        let up = if up.hypot() > 0.0 { up.normalize() } else { Vec2::new(1.0, 0.0) };
        let ways = [up, up + up.turn_90(), up - up.turn_90(), up.turn_90(), -up.turn_90()];
        let larger = ways.into_iter().find_map(|way| {
            let centre = disc.centre + way.normalize() * step;
            let radius = locator.distance_to_outline(centre);
            let moved = Disc { centre, radius, ..disc };
            (radius > disc.radius + step * 0.05 && moved.covers(place)).then_some(moved)
        });
        match larger {
            Some(larger) => disc = larger,
            None => step /= 2.0,
        }
    }
    disc
}

/// Steps of [`climb`] end at this share of the radius.
const SMALLEST_STEP: f64 = 0.02;

/// A square of the quadtree.
#[derive(Clone, Copy, Debug)]
struct Square {
    centre: Point,
    half: f64,
    /// Distance of the centre from the outline, negative outside.
    depth: f64,
    index: usize,
}

impl Square {
    fn new(locator: &Locator, centre: Point, half: f64, index: usize) -> Square {
        Square { centre, half, depth: locator.depth(centre), index }
    }

    /// No point of it is deeper than this.
    fn reach(&self) -> f64 {
        self.depth + self.half * std::f64::consts::SQRT_2
    }
}

impl PartialEq for Square {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Square {}

impl PartialOrd for Square {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Square {
    fn cmp(&self, other: &Self) -> Ordering {
        self.reach().total_cmp(&other.reach()).then(other.index.cmp(&self.index))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{self, Kind};
    use crate::{FillRule, Region, Ring};

    fn rectangle(width: f64, height: f64) -> Polygon {
        let corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
        Polygon { outer: Ring::new(corners.map(Point::from).to_vec()), holes: Vec::new() }
    }

    fn circle(radius: f64, points: usize) -> Ring {
        let angle = |i: usize| i as f64 / points as f64 * std::f64::consts::TAU;
        Ring::new((0..points).map(|i| (Vec2::from_angle(angle(i)) * radius).to_point()).collect())
    }

    fn annulus(inner: f64, outer: f64) -> Polygon {
        let region = Region::from_rings(&[circle(outer, 400), circle(inner, 400)], FillRule::EvenOdd);
        region.polygons[0].clone()
    }

    #[test]
    fn the_largest_disc_of_a_rectangle_spans_it() {
        let disc = rectangle(40.0, 10.0).largest_disc(0.001).unwrap();
        assert!((disc.radius - 5.0).abs() < 0.002 && (disc.centre.y - 5.0).abs() < 0.01, "{disc:?}");
        assert!((rectangle(3.0, 4.0).max_width() - 3.0).abs() < 0.02);
    }

    #[test]
    fn the_largest_disc_of_a_triangle_is_its_incircle() {
        let corners = [(0.0, 0.0), (4.0, 0.0), (0.0, 3.0)];
        let triangle = Polygon { outer: Ring::new(corners.map(Point::from).to_vec()), holes: Vec::new() };
        let disc = triangle.largest_disc(1e-4).unwrap();
        assert!((disc.radius - 1.0).abs() < 2e-4 && disc.centre.distance(Point::new(1.0, 1.0)) < 0.02);
    }

    #[test]
    fn a_ring_is_as_wide_as_its_band() {
        let band = annulus(10.0, 12.0);
        assert!((band.max_width() - 2.0).abs() < 0.03);
        assert!((band.typical_width() - 2.0).abs() < 0.01);
        let thickness = band.thickness();
        assert!((thickness.quantile(0.5) - 2.0).abs() < 0.02 && thickness.quantile(0.05) > 1.9);
    }

    #[test]
    fn a_rectangle_has_its_own_typical_width() {
        assert!((rectangle(40.0, 3.0).typical_width() - 3.0).abs() < 1e-9);
        assert!((rectangle(3.0, 3.0).typical_width() - 3.0).abs() < 1e-6);
    }

    #[test]
    fn most_of_a_long_rectangle_is_as_thick_as_it_is_high() {
        let thickness = rectangle(40.0, 4.0).thickness();
        assert!((thickness.quantile(0.5) - 4.0).abs() < 0.02, "{}", thickness.quantile(0.5));
        assert!(thickness.share_below(3.9) < 0.1, "{}", thickness.share_below(3.9));
        assert!((thickness.quantile(1.0) - 4.0).abs() < 1e-3);
    }

    #[test]
    fn a_lollipop_shows_both_its_widths() {
        let stick = Ring::new([(-0.5, 0.0), (0.5, 0.0), (0.5, 40.0), (-0.5, 40.0)].map(Point::from).to_vec());
        let region = Region::from_rings(&[circle(4.0, 200), stick], FillRule::NonZero);
        let thickness = region.polygons[0].thickness();
        // The disc has 50 mm², what sticks out of the stick 36.
        let stick = thickness.share_below(1.5);
        assert!((stick - 36.0 / 86.3).abs() < 0.05, "{stick}");
        assert!((thickness.quantile(0.9) - 8.0).abs() < 0.1);
    }

    #[test]
    fn a_ragged_outline_hardly_changes_the_thickness() {
        let mut points = Vec::new();
        for i in 0..400 {
            let ragged = if i % 2 == 0 { 0.05 } else { -0.05 };
            points.push(Point::new(f64::from(i) * 0.1, ragged));
        }
        for i in (0..400).rev() {
            points.push(Point::new(f64::from(i) * 0.1, 4.0 + if i % 2 == 0 { 0.05 } else { -0.05 }));
        }
        let region = Region::from_rings(&[Ring::new(points)], FillRule::NonZero);
        let median = region.polygons[0].thickness().quantile(0.5);
        assert!((median - 4.0).abs() < 0.2, "{median}");
    }

    #[test]
    fn discs_lie_inside_and_nothing_has_none() {
        let mut tried = 0;
        for (seed, kind) in (0..).zip(Kind::ALL) {
            for polygon in testing::region(kind, 30, seed).polygons.into_iter().take(4) {
                let locator = Locator::new(&Region::from(polygon.clone()));
                let Some(disc) = polygon.largest_disc(0.01) else { continue };
                assert!(locator.depth(disc.centre) >= disc.radius - 1e-9);
                let thickest = polygon.thickness().quantile(1.0);
                assert!(
                    thickest <= 2.0 * (disc.radius + disc.within) * 1.000_01 + 1e-9,
                    "{kind:?} {thickest} {disc:?}"
                );
                tried += 1;
            }
        }
        assert!(tried > 15, "{tried}");
        assert!(Polygon::default().largest_disc(0.01).is_none());
        assert!(Polygon::default().thickness().is_empty());
    }
}
