//! Rows that run away from a point.
//!
//! In the plane of the rows `u` is the distance from the point and `v` the
//! angle about it, times a reach. The shape is carried there in two halves, so
//! that no edge goes round the point, and opened along the ray to the right:
//! rows run along that ray too, so nothing shows there.
//!
//! Rays spread: twice as far out they are twice as far apart. Where this would
//! be too much the next zone begins, with rays of its own (`zones.rs`); within
//! [`CORE`] of the point straight rows are sewn.

use crate::row_map::{Bent, carried};
use crate::zones::{Cell, jag, parted};
use kurbo::{Point, Rect, Vec2};
use laidwork_geometry::{FillRule, Frame, Polygon, Region, Ring};
use std::f64::consts::{PI, TAU};

/// How far from the point rays begin, in spacings; and at least, mm.
const CORE: (f64, f64) = (5.0, 3.0);

/// How much farther out each zone ends than it begins; and at least, in spacings: rows that end every millimetre would
/// crowd their needle points.
const ZONE: (f64, f64) = (1.4, 9.0);

/// How far apart rays lie where their zone ends, in spacings.
const WIDEST: f64 = 1.15;

/// Polar coordinates about a point.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Polar {
    centre: Point,
    /// `v` for each radian, mm.
    reach: f64,
}

impl Polar {
    pub(crate) fn to_rows(self, point: Point) -> Point {
        let away = point - self.centre;
        Point::new(away.hypot(), away.atan2().rem_euclid(TAU) * self.reach)
    }

    pub(crate) fn on_fabric(self, uv: Point) -> Point {
        self.centre + Vec2::from_angle(uv.y / self.reach) * uv.x
    }

    /// `v` for a whole turn, mm.
    pub(crate) fn round(self) -> f64 {
        TAU * self.reach
    }
}

/// The middle of an area: its centroid, holes left out.
pub(crate) fn centroid(polygon: &Polygon) -> Option<Point> {
    let origin = *polygon.outer.points.first()?;
    let (mut area, mut moment) = (0.0, Vec2::ZERO);
    for (a, b) in polygon.rings().flat_map(Ring::edges).filter(|(a, b)| a.is_finite() && b.is_finite()) {
        let (a, b) = (a - origin, b - origin);
        area += a.cross(b) / 2.0;
        moment += (a + b) * (a.cross(b) / 6.0);
    }
    let middle = origin + moment / area;
    middle.is_finite().then_some(middle)
}

/// The shape in the plane of the rows, `reach` mm a radian.
fn opened(polygon: &Polygon, polar: Polar, farthest: f64) -> Region {
    let Polar { centre, .. } = polar;
    let far = farthest + 10.0;
    let half = |low: f64, high: f64| Rect::new(centre.x - far, centre.y + low, centre.x + far, centre.y + high);
    let mut halves = Vec::new();
    for (turn, rect) in [(0.0, half(0.0, far)), (PI, half(-far, 0.0))] {
        let corners = [(rect.x0, rect.y0), (rect.x1, rect.y0), (rect.x1, rect.y1), (rect.x0, rect.y1)];
        let square = Region::from(Polygon { outer: Ring::new(corners.map(Point::from).to_vec()), holes: vec![] });
        for part in Region::from(polygon.clone()).intersection(&square).polygons {
            let through = Polygon {
                outer: through_centre(&part.outer, centre),
                holes: part.holes.iter().map(|hole| through_centre(hole, centre)).collect(),
            };
            let step = |p: Point| 0.25 * p.distance(centre).max(0.04).sqrt();
            let ring = |ring: &Ring| {
                let fine = carried(&Polygon { outer: ring.clone(), holes: vec![] }, step, |p| p).outer.points;
                let count = fine.len();
                let mut points = Vec::with_capacity(count + 2);
                for (i, &point) in fine.iter().enumerate() {
                    let angle_of = |p: Point| turned(p - centre, turn) * polar.reach;
                    if point.distance(centre) > 1e-7 {
                        points.push(Point::new(point.distance(centre), angle_of(point)));
                        continue;
                    }
                    // The point itself has every angle between those of its neighbours.
                    for beside in [fine[(i + count - 1) % count], fine[(i + 1) % count]] {
                        points.push(Point::new(0.0, angle_of(beside)));
                    }
                }
                Ring::new(points)
            };
            halves.extend(std::iter::once(&through.outer).chain(&through.holes).map(ring));
        }
    }
    Region::from_rings(&halves, FillRule::EvenOdd)
}

/// The angle of a vector of one half of the plane, from `turn` to half a turn more.
fn turned(away: Vec2, turn: f64) -> f64 {
    // A hair beyond either end is the end itself, not a whole turn off.
    let angle = (away.atan2() - turn).rem_euclid(TAU);
    let angle = if angle > 1.5 * PI { 0.0 } else { angle.min(PI) };
    angle + turn
}

/// The ring with a corner at `centre` where an edge goes through it.
fn through_centre(ring: &Ring, centre: Point) -> Ring {
    let mut points = Vec::with_capacity(ring.points.len() + 1);
    for (a, b) in ring.edges() {
        points.push(if a.distance(centre) < 1e-5 { centre } else { a });
        let (along, to) = (b - a, centre - a);
        let inside = along.dot(to) > 0.0 && along.dot(to) < along.hypot2();
        if inside && along.cross(to).abs() < 1e-5 * along.hypot() && to.hypot() > 1e-5 && (b - centre).hypot() > 1e-5 {
            points.push(centre);
        }
    }
    Ring::new(points)
}

/// Where zones of rays begin and end, mm from the point: from `core` outward to beyond `farthest`.
fn borders(core: f64, spacing: f64, farthest: f64) -> Vec<f64> {
    let next = |&from: &f64| Some((from * ZONE.0).max(from + ZONE.1 * spacing));
    let mut borders = Vec::new();
    for border in std::iter::successors(Some(core), next) {
        borders.push(border);
        if border > farthest && borders.len() > 1 {
            break;
        }
    }
    borders
}

/// The border nearest to a distance from the point.
fn nearest_border(borders: &[f64], r: f64) -> usize {
    (level_at(borders, r) + 0.5).round().clamp(0.0, borders.len() as f64 - 1.0) as usize
}

/// In which zone a distance from the point lies: 0 in the middle of the first outside the core, 1 in that of the next.
fn level_at(borders: &[f64], r: f64) -> f64 {
    let first = borders.partition_point(|&border| border <= r).clamp(1, borders.len() - 1) - 1;
    let (low, high) = (borders[first], borders[first + 1]);
    first as f64 - 0.5 + (r.max(1e-6) / low).ln() / (high / low).ln()
}

/// The cells of a shape whose rows are rays from `centre`, about `spacing` mm apart.
pub(crate) fn cells(polygon: &Polygon, centre: Point, spacing: f64) -> Vec<Cell> {
    let distances = polygon.outer.points.iter().map(|p| p.distance(centre)).filter(|d| d.is_finite());
    let farthest = distances.fold(1.0, f64::max);
    let polar = Polar { centre, reach: farthest };
    let core = (CORE.0 * spacing).max(CORE.1);
    let borders = borders(core, spacing, farthest);
    let field = |uv: Point| {
        let border = borders[nearest_border(&borders, uv.x)];
        level_at(&borders, uv.x) + jag(uv.y / polar.reach * border)
    };
    let on_fabric = |part: &Polygon| {
        let fine = |p: Point| polar.reach * (0.024 / p.x.max(0.1)).sqrt();
        carried(part, fine, |uv| polar.on_fabric(uv))
    };
    let step = Vec2::new((0.2 * core).max(farthest / 400.0), farthest * TAU / 720.0);
    let flat = opened(polygon, polar, farthest);
    let mut cells = Vec::new();
    for (level, part) in parted(&flat, step, field, -1, on_fabric) {
        let radius = borders.get((level + 1).max(0) as usize).map_or(farthest, |end| end / WIDEST);
        let rings: Vec<Ring> = on_fabric(&part).rings().cloned().collect();
        let mut covered = Region::from_rings(&rings, FillRule::NonZero).polygons;
        covered.sort_by(|a, b| b.area().total_cmp(&a.area()));
        let Some(polygon) = covered.into_iter().next() else { continue };
        if level < 0 {
            let map = Bent::Straight(Frame::turned(0.0));
            cells.push(Cell { flat: polygon.clone(), polygon, map, spacing });
        } else {
            let share = radius / polar.reach;
            let flat = carried(&part, |_| f64::INFINITY, |p| Point::new(p.x, p.y * share));
            cells.push(Cell { flat, polygon, map: Bent::Polar(Polar { centre, reach: radius }), spacing });
        }
    }
    cells
}
