//! Rows that run away from a point.
//!
//! In the plane of the rows `u` is the distance from the point and `v` the
//! angle about it, times a reach. The shape is carried there in two halves, so
//! that no edge goes round the point, and opened along the ray to the right:
//! rows run along that ray too, so nothing shows there.
//!
//! Rays spread: farther out there are more of them (`rays.rs`). A shape with many branches is parted into zones with rays
//! of their own (`zones.rs`): the way from one branch to another leads along rays that need not begin so near to the
//! point. Within [`CORE`] of the point straight rows are sewn.

use crate::rays::Rays;
use crate::row_map::{Bent, carried};
use crate::rows::Rows;
use crate::zones::{Cell, jag, parted};
use kurbo::{Point, Rect, Vec2};
use laidwork_geometry::{FillRule, Frame, Polygon, Region, Ring};
use std::f64::consts::{PI, TAU};
use std::sync::Arc;

/// How far from the point rays begin, in spacings; and at least, mm: in zones, and where there are none.
const CORE: (f64, f64, f64) = (5.0, 3.0, 3.5);

/// How much farther out each zone ends than it begins; and at least, in spacings: rows that end every millimetre would
/// crowd their needle points.
const ZONE: (f64, f64) = (1.4, 9.0);

/// How far apart rays lie where their zone ends, in spacings.
const WIDEST: f64 = 1.15;

/// A shape has many branches where more pairs are sewn before they begin, on the way from one to another.
const MANY_WAIT: usize = 3;

/// Shorter ways before a pair begins do no harm, mm.
const LEAST_WAIT: f64 = 2.0;

/// How far apart rays lie, in spacings: where pairs begin more of them lie beside each other.
const APART: f64 = 1.04;

/// Outlines are carried into the plane of the rays in parts of at most this length, mm: what lies between two rays on
/// the fabric is many rows wide there where others have yet to begin.
const FINE: f64 = 0.12;

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
            let step = |p: Point| (0.25 * p.distance(centre).max(0.04).sqrt()).min(FINE);
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

/// Pairs that are sewn on the way from one part of a shape to another before they begin, those that wait longest first.
fn waiting(flat: &Polygon, rays: &Arc<Rays>) -> Vec<usize> {
    let map = Bent::Rays(rays.clone());
    let Some(rows) = Rows::new(flat, Frame::turned(0.0), map, [rays.spacing(); 2]) else { return Vec::new() };
    let mut waiting: Vec<(usize, f64)> = Vec::new();
    for (i, span) in rows.rows.spans.iter().enumerate() {
        if span.up.1 == 1 && span.down.1 == 1 {
            continue;
        }
        let pair = rays.pair(rows.line_of(i as u32));
        let wait = rays.begins(pair).min(span.to) - span.from;
        match waiting.last_mut() {
            Some(last) if last.0 == pair => last.1 = last.1.max(wait),
            _ => waiting.push((pair, wait)),
        }
    }
    waiting.retain(|pair| pair.1 > LEAST_WAIT);
    waiting.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    waiting.into_iter().map(|pair| pair.0).collect()
}

/// The shape seen from a point.
struct Seen {
    polar: Polar,
    flat: Region,
    spacing: f64,
    /// How far from the point rays begin, mm.
    core: f64,
}

impl Seen {
    fn on_fabric(&self, part: &Polygon) -> Polygon {
        let fine = |p: Point| self.polar.reach * (0.024 / p.x.max(0.1)).sqrt();
        carried(part, fine, |uv| self.polar.on_fabric(uv))
    }

    /// The parts of the shape within each zone, on the fabric and in the plane of the rays; the core is zone -1.
    fn parts(&self, zone: impl Fn(Point) -> f64) -> Vec<(i32, Polygon, Polygon)> {
        let reach = self.polar.reach;
        let step = Vec2::new((0.2 * self.core).max(reach / 400.0), reach * TAU / 720.0);
        let on_fabric = |(level, part): (i32, Polygon)| {
            let rings: Vec<Ring> = self.on_fabric(&part).rings().cloned().collect();
            let mut covered = Region::from_rings(&rings, FillRule::NonZero).polygons;
            covered.sort_by(|a, b| b.area().total_cmp(&a.area()));
            covered.into_iter().next().map(|polygon| (level, polygon, part))
        };
        let parts = parted(&self.flat, step, zone, -1, |part| self.on_fabric(part));
        parts.into_iter().filter_map(on_fabric).collect()
    }

    /// Straight rows within the core.
    fn straight(&self, polygon: Polygon) -> Cell {
        let map = Bent::Straight(Frame::turned(0.0));
        Cell { flat: polygon.clone(), polygon, map, spacing: self.spacing }
    }

    /// One cell of rays beside the core for each part; `None` where many of them wait.
    fn whole(&self) -> Option<Vec<Cell>> {
        let Seen { polar, core, spacing, .. } = *self;
        let (mut cells, mut waits) = (Vec::new(), 0);
        for (level, polygon, part) in self.parts(|uv| ((uv.x - core) / core - 0.5).min(0.0)) {
            let Some(bounds) = part.bounds().filter(|_| level >= 0) else {
                cells.push(self.straight(polygon));
                continue;
            };
            let angle = (bounds.y0 / polar.reach, (bounds.height() / polar.reach).max(1e-6));
            let rays = |early: &[usize]| {
                let rays = Arc::new(Rays::new(polar.centre, angle, (bounds.x0, bounds.x1), spacing * APART, early));
                let place = |p: Point| Point::new(p.x, rays.v_at(p.x, p.y / polar.reach));
                (carried(&part, |_| f64::INFINITY, place), rays)
            };
            let (mut flat, mut map) = rays(&[]);
            let mut early = waiting(&flat, &map);
            if !early.is_empty() {
                waits += early.len();
                if waits > MANY_WAIT {
                    return None;
                }
                early.sort_unstable();
                (flat, map) = rays(&early);
            }
            cells.push(Cell { flat, polygon, map: Bent::Rays(map), spacing });
        }
        Some(cells)
    }

    /// Zones, each with rays of its own.
    fn zones(&self) -> Vec<Cell> {
        let Seen { polar, core, spacing, .. } = *self;
        let borders = borders(core, spacing, polar.reach);
        let zone = |uv: Point| {
            let border = borders[nearest_border(&borders, uv.x)];
            level_at(&borders, uv.x) + jag(uv.y / polar.reach * border)
        };
        let cell = |(level, polygon, part): (i32, Polygon, Polygon)| {
            if level < 0 {
                return self.straight(polygon);
            }
            let radius = borders.get((level + 1) as usize).map_or(polar.reach, |end| end / WIDEST);
            let share = radius / polar.reach;
            let flat = carried(&part, |_| f64::INFINITY, |p| Point::new(p.x, p.y * share));
            Cell { flat, polygon, map: Bent::Polar(Polar { reach: radius, ..polar }), spacing }
        };
        self.parts(zone).into_iter().map(cell).collect()
    }
}

/// The cells of a shape whose rows are rays from `centre`, about `spacing` mm apart.
pub(crate) fn cells(polygon: &Polygon, centre: Point, spacing: f64) -> Vec<Cell> {
    let distances = polygon.outer.points.iter().map(|p| p.distance(centre)).filter(|d| d.is_finite());
    let reach = distances.fold(1.0, f64::max);
    let polar = Polar { centre, reach };
    let flat = opened(polygon, polar, reach);
    let core = |least: f64| (CORE.0 * spacing).max(least);
    let mut seen = Seen { polar, flat, spacing, core: core(CORE.2) };
    seen.whole().unwrap_or_else(|| {
        seen.core = core(CORE.1);
        seen.zones()
    })
}
