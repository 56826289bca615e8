//! Rows as lines of a plane of their own: `u` along them, `v` across.
//!
//! Cutting, walking, compensation and turns all happen in that plane, where
//! rows are straight. A [`RowMap`] says where its points lie on the fabric. The
//! map must be one-to-one and continuous, so that what touches in the plane
//! touches on the fabric and nothing is covered twice.

use crate::chain::SHORTEST;
use crate::polar::Polar;
use crate::rays::Rays;
use crate::sheet::Sheet;
use kurbo::Point;
use laidwork_geometry::{Frame, Polygon, Ring};
use std::sync::Arc;

/// How far apart two places are that tell a row's direction, mm.
const PROBE: f64 = 0.05;

/// The place of a row that lies square beside a point.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Foot {
    /// Where along the row.
    pub(crate) u: f64,
    /// How far the point is from it, mm.
    pub(crate) across: f64,
    /// How far on the fabric one unit of `u` reaches, mm.
    pub(crate) scale: f64,
}

impl Foot {
    /// How far along the row a point must be from the foot to be a stitch away.
    pub(crate) fn turn_width(&self) -> f64 {
        ((SHORTEST + 0.005).powi(2) - self.across * self.across).max(0.0).sqrt() / self.scale
    }
}

/// Two rows that begin together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Pair {
    /// Counting from the lowest `v`.
    pub(crate) number: usize,
    /// Where along the rows there is room for them.
    pub(crate) begins: f64,
}

/// A one-to-one map between the plane of the rows and the fabric.
pub(crate) trait RowMap {
    /// Whether rows are straight on the fabric, and as long as in the plane.
    const STRAIGHT: bool;

    /// (u, v) of a point.
    fn to_rows(&self, point: Point) -> Point;

    /// The point at (u, v).
    fn on_fabric(&self, uv: Point) -> Point;

    /// By how much `v` grows once round, where rows run round a point.
    fn round(&self) -> Option<f64> {
        None
    }

    /// The pair of the row at `v`, where rows come in pairs.
    fn pair(&self, _v: f64) -> Option<Pair> {
        None
    }

    /// How far apart rows lie in the plane, where the map has places for them.
    fn pitch(&self) -> Option<f64> {
        None
    }

    /// The place of the row at `v` beside the point at `from` (u, v).
    fn foot(&self, from: Point, v: f64) -> Foot {
        let point = self.on_fabric(from);
        let mut foot = Foot { u: from.x, across: 0.0, scale: 1.0 };
        for _ in 0..2 {
            let on = self.on_fabric(Point::new(foot.u, v));
            let along = (self.on_fabric(Point::new(foot.u + PROBE, v)) - on) / PROBE;
            let (scale, away) = (along.hypot().max(0.05), point - on);
            foot.u += along.dot(away) / (scale * scale);
            foot.across = along.cross(away) / scale;
            foot.scale = scale;
        }
        foot
    }
}

impl RowMap for Frame {
    const STRAIGHT: bool = true;

    fn to_rows(&self, point: Point) -> Point {
        self.to_frame(point)
    }

    fn on_fabric(&self, uv: Point) -> Point {
        self.from_frame(uv)
    }

    fn foot(&self, from: Point, v: f64) -> Foot {
        Foot { u: from.x, across: from.y - v, scale: 1.0 }
    }
}

/// The maps of rows that bend or spread.
#[derive(Clone, Debug)]
pub(crate) enum Bent {
    /// Neither: straight rows among bent ones.
    Straight(Frame),
    /// Rays of one zone.
    Polar(Polar),
    /// Rays that begin one pair after the other.
    Rays(Arc<Rays>),
    /// Along guides.
    Sheet(Arc<Sheet>),
}

impl RowMap for Bent {
    const STRAIGHT: bool = false;

    fn to_rows(&self, point: Point) -> Point {
        match self {
            Bent::Straight(frame) => frame.to_frame(point),
            Bent::Polar(polar) => polar.to_rows(point),
            Bent::Rays(rays) => rays.to_rows(point),
            Bent::Sheet(sheet) => sheet.to_rows(point),
        }
    }

    fn on_fabric(&self, uv: Point) -> Point {
        match self {
            Bent::Straight(frame) => frame.from_frame(uv),
            Bent::Polar(polar) => polar.on_fabric(uv),
            Bent::Rays(rays) => rays.on_fabric(uv),
            Bent::Sheet(sheet) => sheet.on_fabric(uv),
        }
    }

    fn round(&self) -> Option<f64> {
        match self {
            Bent::Polar(polar) => Some(polar.round()),
            Bent::Rays(rays) => rays.round(),
            Bent::Straight(_) | Bent::Sheet(_) => None,
        }
    }

    fn pair(&self, v: f64) -> Option<Pair> {
        match self {
            Bent::Rays(rays) => {
                let number = rays.pair(v);
                Some(Pair { number, begins: rays.begins(number) })
            }
            Bent::Straight(_) | Bent::Polar(_) | Bent::Sheet(_) => None,
        }
    }

    fn pitch(&self) -> Option<f64> {
        match self {
            Bent::Rays(rays) => Some(rays.spacing()),
            Bent::Straight(_) | Bent::Polar(_) | Bent::Sheet(_) => None,
        }
    }
}

/// A polygon carried over from one plane to the other by `map`, its edges first
/// cut into parts of at most `step(point)`.
pub(crate) fn carried(polygon: &Polygon, step: impl Fn(Point) -> f64, map: impl Fn(Point) -> Point) -> Polygon {
    let ring = |ring: &Ring| {
        let mut points = Vec::with_capacity(ring.points.len() * 2);
        for (from, to) in ring.edges().filter(|(a, b)| a.is_finite() && b.is_finite()) {
            let length = from.distance(to);
            let parts = (length / step(from).min(step(to)).max(0.01)).ceil().clamp(1.0, 1e5);
            points.extend((0..parts as usize).map(|i| map(from.lerp(to, i as f64 / parts))));
        }
        Ring::new(points)
    };
    Polygon { outer: ring(&polygon.outer), holes: polygon.holes.iter().map(ring).collect() }
}
