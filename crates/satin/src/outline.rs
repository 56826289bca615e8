//! Columns from an outline alone.

use crate::network::{Network, Part};
use crate::rays::{Rays, untangle};
use crate::walk::walk;
use crate::{Column, SatinSettings};
use kurbo::{Point, Vec2};
use laidwork_geometry::{Crossing, Polygon};
use laidwork_plan::{Pass, Warned};
use laidwork_run::Ends;

/// Sews any connected outline as one unbroken chain: it is taken apart into
/// columns, fills where it is too wide and runs where it is too thin.
pub fn from_outline(name: &str, polygon: &Polygon, settings: &SatinSettings, ends: Ends) -> Warned<Vec<Pass>> {
    let settings = settings.checked();
    let mut network = Network::default();
    network.parts.extend(along_the_longest(polygon).map(Part::Column));
    walk(name, network, polygon, &settings, ends)
}

/// One column along the main axis of the shape.
fn along_the_longest(polygon: &Polygon) -> Option<Column> {
    let points = &polygon.outer.points;
    let count = points.len().max(1) as f64;
    let middle = (points.iter().fold(Vec2::ZERO, |sum, p| sum + p.to_vec2()) / count).to_point();
    let (xx, xy, yy) = points
        .iter()
        .map(|p| *p - middle)
        .fold((0.0, 0.0, 0.0), |(xx, xy, yy), v| (xx + v.x * v.x, xy + v.x * v.y, yy + v.y * v.y));
    let along = Vec2::from_angle(0.5 * (2.0 * xy).atan2(xx - yy));
    let across = Vec2::new(-along.y, along.x);
    let places: Vec<f64> = points.iter().map(|p| (*p - middle).dot(along)).collect();
    let (low, high) = places.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(*p), h.max(*p)));
    if !low.is_finite() || !high.is_finite() {
        return None;
    }
    let rays = Rays::of_polygon(polygon);
    let steps = ((high - low) / 0.1).ceil().clamp(1.0, 1e5) as usize;
    let mut band: Vec<Crossing> = Vec::new();
    for i in 0..=steps {
        let at = low + (high - low) * (i as f64).clamp(0.01, steps as f64 - 0.01) / steps as f64;
        let on_axis: Point = middle + along * at;
        band.extend(rays.crossing(on_axis, across, [1000.0; 2]));
    }
    untangle(&mut band);
    (band.len() > 1).then(|| Column::open(band))
}
