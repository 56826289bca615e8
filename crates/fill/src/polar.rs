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
use crate::zones::{Cell, parted};
use kurbo::{Point, Rect, Vec2};
use laidwork_geometry::{FillRule, Frame, Polygon, Region, Ring};
use std::f64::consts::{PI, TAU};
use std::sync::Arc;

/// How far from the point rays begin, in spacings; and at least, mm.
const CORE: (f64, f64) = (5.0, 3.5);

/// How much farther out each zone of a shape with many branches ends than it begins, and of others: beyond any hoop.
const ZONE: f64 = 2.0;
const WHOLE: f64 = 1e4;

/// A shape has many branches where more pairs are sewn before they begin, on the way from one to another.
const MANY_WAIT: usize = 20;

/// At most so many of those begin with the zone, that the others need not swing far.
const MOST_EARLY: usize = 10;

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
    pub(crate) fn on_fabric(self, uv: Point) -> Point {
        self.centre + Vec2::from_angle(uv.y / self.reach) * uv.x
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

    /// The cells where each zone reaches `ratio` times as far out as the one before, and how many pairs wait in them.
    fn cells(&self, ratio: f64) -> (Vec<Cell>, usize) {
        let Seen { polar, core, spacing, .. } = *self;
        let field = |uv: Point| (uv.x / core).max(1e-3).ln() / ratio.ln() - 0.5;
        let step = Vec2::new((0.2 * core).max(polar.reach / 400.0), polar.reach * TAU / 720.0);
        let (mut cells, mut waits) = (Vec::new(), 0);
        for (level, part) in parted(&self.flat, step, field, -1, |part| self.on_fabric(part)) {
            let rings: Vec<Ring> = self.on_fabric(&part).rings().cloned().collect();
            let mut covered = Region::from_rings(&rings, FillRule::NonZero).polygons;
            covered.sort_by(|a, b| b.area().total_cmp(&a.area()));
            let (Some(polygon), Some(bounds)) = (covered.into_iter().next(), part.bounds()) else { continue };
            if level < 0 {
                let map = Bent::Straight(Frame::turned(0.0));
                cells.push(Cell { flat: polygon.clone(), polygon, map, spacing });
                continue;
            }
            let angle = (bounds.y0 / polar.reach, (bounds.height() / polar.reach).max(1e-6));
            let rays = |early: &[usize]| {
                let spacing = spacing * APART;
                let rays = Arc::new(Rays::new(polar.centre, angle, (bounds.x0, bounds.x1), spacing, early));
                let place = |p: Point| Point::new(p.x, rays.v_at(p.x, p.y / polar.reach));
                (carried(&part, |_| f64::INFINITY, place), rays)
            };
            let (mut flat, mut map) = rays(&[]);
            let mut early = waiting(&flat, &map);
            if !early.is_empty() {
                waits += early.len();
                early.truncate(MOST_EARLY);
                early.sort_unstable();
                (flat, map) = rays(&early);
            }
            cells.push(Cell { flat, polygon, map: Bent::Rays(map), spacing });
        }
        (cells, waits)
    }
}

/// The cells of a shape whose rows are rays from `centre`, about `spacing` mm apart.
pub(crate) fn cells(polygon: &Polygon, centre: Point, spacing: f64) -> Vec<Cell> {
    let distances = polygon.outer.points.iter().map(|p| p.distance(centre)).filter(|d| d.is_finite());
    let reach = distances.fold(1.0, f64::max);
    let polar = Polar { centre, reach };
    let flat = opened(polygon, polar, reach);
    let seen = Seen { polar, flat, spacing, core: (CORE.0 * spacing).max(CORE.1) };
    match seen.cells(WHOLE) {
        (_, waits) if waits > MANY_WAIT => seen.cells(ZONE).0,
        (cells, _) => cells,
    }
}
