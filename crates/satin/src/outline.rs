//! Columns from an outline alone.

use crate::network::Network;
use crate::walk::walk;
use crate::{Column, ColumnEnd, SatinSettings};
use kurbo::Point;
use laidwork_geometry::{Join, Polygon, Region};
use laidwork_plan::{Pass, Warned};
use laidwork_run::Ends;

/// Shapes without a side longer than this are not sewn, mm.
const SMALLEST: f64 = 0.3;

/// Where the columns of a connected outline end openly, mm: good places to begin and to end at.
pub fn open_ends(polygon: &Polygon, settings: &SatinSettings) -> Vec<Point> {
    let found = crate::decompose(polygon, settings);
    let ends = |column: &Column| {
        let ends = [column.crossings.first(), column.crossings.last()].into_iter().zip(column.ends);
        ends.filter(|(_, kind)| !column.closed && *kind != ColumnEnd::Joined)
            .filter_map(|(crossing, _)| crossing.map(|c| c.middle()))
            .collect::<Vec<_>>()
    };
    found.columns.iter().flat_map(ends).collect()
}

/// Limbs that reach farther from the body than this many times the widest column are long.
const LONG: f64 = 1.5;

/// Limbs are worth columns of their own when more than this share of their area is in long ones:
/// along a ragged outline short ones would only crowd its edge.
const MOSTLY_LONG: f64 = 0.7;

/// Whether a connected outline has a body wider than `max_width` mm and long limbs narrower than
/// that: a balloon and its string, a pan and its handle.
pub fn has_wide_and_narrow(polygon: &Polygon, max_width: f64) -> bool {
    let parted = crate::decompose::part(polygon, max_width);
    if parted.fills.is_empty() || parted.rest.is_empty() {
        return false;
    }
    let near = Region { polygons: parted.fills }.offset(LONG * max_width, Join::Round { tolerance: 0.05 });
    let is_long = |limb: &&Polygon| !Region::from((*limb).clone()).difference(&near).is_empty();
    let long: f64 = parted.rest.iter().filter(is_long).map(Polygon::area).sum();
    long > MOSTLY_LONG * parted.rest.iter().map(Polygon::area).sum::<f64>()
}

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
