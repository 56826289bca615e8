//! Columns from an outline alone.

use crate::SatinSettings;
use crate::walk::walk;
use laidwork_geometry::Polygon;
use laidwork_plan::{Pass, Warned};
use laidwork_run::Ends;

/// Sews any connected outline as one unbroken chain: it is taken apart into
/// columns, fills where it is too wide and runs where it is too thin.
pub fn from_outline(name: &str, polygon: &Polygon, settings: &SatinSettings, ends: Ends) -> Warned<Vec<Pass>> {
    let settings = settings.checked();
    let network = crate::decompose::network(polygon, &settings);
    walk(name, network, polygon, &settings, ends)
}
