//! Columns from an outline alone.

use crate::SatinSettings;
use crate::network::Network;
use crate::walk::walk;
use laidwork_geometry::Polygon;
use laidwork_plan::{Pass, Warned};
use laidwork_run::Ends;

/// Shapes without a side longer than this are not sewn, mm.
const SMALLEST: f64 = 0.3;

/// Sews any connected outline as one unbroken chain: it is taken apart into
/// columns, fills where it is too wide and runs where it is too thin.
pub fn from_outline(name: &str, polygon: &Polygon, settings: &SatinSettings, ends: Ends) -> Warned<Vec<Pass>> {
    let settings = settings.checked();
    if polygon.bounds().is_none_or(|b| b.width().max(b.height()) < SMALLEST) {
        return walk(name, Network::default(), polygon, &settings, ends);
    }
    let network = crate::decompose::network(polygon, &settings);
    walk(name, network, polygon, &settings, ends)
}
