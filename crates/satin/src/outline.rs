//! Columns from an outline alone.

use crate::hide::Hidden;
use crate::network::{Network, Part};
use crate::walk::walk;
use crate::{Column, ColumnEnd, SatinSettings};
use kurbo::Point;
use laidwork_geometry::{Join, Polygon, Region};
use laidwork_plan::{Pass, Warned};
use laidwork_run::Ends;

/// Shapes without a side longer than this are not sewn, mm.
const SMALLEST: f64 = 0.3;

/// A connected outline taken apart once: to be looked at, and to be sewn later.
#[derive(Clone, Debug)]
pub struct Apart {
    network: Network,
    settings: SatinSettings,
}

impl Apart {
    /// Takes `polygon` apart as [`from_outline`] does.
    pub fn new(polygon: &Polygon, settings: &SatinSettings) -> Apart {
        let settings = settings.checked();
        let small = polygon.bounds().is_none_or(|b| b.width().max(b.height()) < SMALLEST);
        let network = if small { Network::default() } else { crate::decompose::network(polygon, &settings) };
        Apart { network, settings }
    }

    /// Where its columns end openly, mm: good places to begin and to end at.
    pub fn open_ends(&self) -> Vec<Point> {
        let columns = self.network.parts.iter().filter_map(|part| match part {
            Part::Column(column) => Some(column),
            Part::Run(_) | Part::Fill(_) => None,
        });
        let ends = |column: &Column| {
            let ends = [column.crossings.first(), column.crossings.last()].into_iter().zip(column.ends);
            ends.filter(|(_, kind)| !column.closed && *kind != ColumnEnd::Joined)
                .filter_map(|(crossing, _)| crossing.map(|c| c.middle()))
                .collect::<Vec<_>>()
        };
        columns.flat_map(ends).collect()
    }

    /// Whether it was taken apart by settings that differ from `settings` in nothing that matters to it.
    fn is_by(&self, settings: &SatinSettings) -> bool {
        let SatinSettings { underlay, fill, narrow_opened, .. } = settings.clone();
        SatinSettings { underlay, fill, narrow_opened, ..self.settings.clone() } == *settings
    }

    /// Sews `polygon`, which it was made from, as one unbroken chain. What lies in `hidden` is sewn over later.
    pub fn sew(
        self,
        name: &str,
        (polygon, hidden): (&Polygon, Option<&Hidden>),
        settings: &SatinSettings,
        ends: Ends,
    ) -> Warned<Vec<Pass>> {
        let settings = settings.checked();
        let apart = if self.is_by(&settings) { self } else { Apart::new(polygon, &settings) };
        let mut network = apart.network;
        crate::hide::note_covers(&mut network, hidden);
        walk(name, network, polygon, &settings, ends)
    }
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
    Apart::new(polygon, settings).sew(name, (polygon, None), settings, ends)
}
