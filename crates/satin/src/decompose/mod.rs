//! Any outline taken apart into columns.
//!
//! The method: the chordal axis of a constrained Delaunay triangulation
//! ([`axis`]) is pruned of twigs ([`prune`]), read as limbs and nodes
//! ([`graph`]), cut back at free ends ([`caps`]), split at sharp corners
//! ([`corners`]) and cut off from its junctions ([`cuts`]). Limbs that go on
//! through a junction are paired ([`pairing`]) and put together into strands
//! ([`strand`]); every strand gets a smooth middle line ([`track`]) and lines
//! across it ([`across`]), and ends at the side of the column it meets
//! ([`abut`]); where it is too thin it is run along ([`stretch`]). Compact shapes are one [`block`] of parallel threads, parts too
//! wide are filled ([`wide`]), and what is left bare is patched ([`bare`]).

mod abut;
mod across;
mod axis;
mod bare;
mod block;
mod caps;
mod corners;
mod cuts;
mod draft;
mod graph;
mod pairing;
mod prepare;
mod prune;
mod strand;
mod stretch;
mod track;
mod walls;
mod wide;

pub(crate) use prepare::thin;
pub(crate) use wide::part;

use crate::network::{Network, Part};
use crate::rays::Rays;
use crate::{Column, ColumnEnd, SatinSettings};
use kurbo::Point;
use laidwork_geometry::{Crossing, Polygon, Region};

/// A shape taken apart.
#[derive(Clone, Debug, Default)]
pub struct Decomposition {
    /// Its columns.
    pub columns: Vec<Column>,
    /// Parts too wide for columns, to be filled.
    pub fills: Vec<Polygon>,
    /// Parts too thin for threads across them: lines are run along them.
    pub runs: Vec<Column>,
    /// Where columns meet: how many of their ends and passages do, at every such place.
    pub graph: Vec<(Point, usize)>,
}

/// Takes any connected outline apart into columns, fills and runs.
pub fn decompose(polygon: &Polygon, settings: &SatinSettings) -> Decomposition {
    let network = network(polygon, &settings.checked());
    let mut found = Decomposition {
        graph: network
            .joints
            .iter()
            .filter_map(|joint| joint.places.first().map(|place| (place.point, joint.places.len())))
            .collect(),
        ..Decomposition::default()
    };
    for part in network.parts {
        match part {
            Part::Column(column) => found.columns.push(column),
            Part::Run(column) => found.runs.push(column),
            Part::Fill(polygon) => found.fills.push(polygon),
        }
    }
    found
}

/// A block less wide than this share of the widest column has no disc in it as wide as that.
const SMALL: f64 = 0.9;

/// The parts of an outline and where they meet.
pub(crate) fn network(polygon: &Polygon, settings: &SatinSettings) -> Network {
    let mut network = Network::default();
    let mut bands: Vec<(Vec<Crossing>, bool)> = Vec::new();
    let mut add = |(more, mut covered): (Network, Vec<(Vec<Crossing>, bool)>)| {
        network.append(more);
        bands.append(&mut covered);
    };
    let mut parted = wide::Parted::default();
    // A small block needs no axis, neither to be parted nor to be sewn.
    let is_small = polygon.bounds().is_some_and(|b| b.width().min(b.height()) < SMALL * settings.max_width);
    let axis = if is_small && block::is_block(polygon) { None } else { pruned(polygon) };
    match axis {
        Some((_, axis)) if axis.widest() > settings.max_width => {
            parted = part(polygon, settings.max_width);
            for limb in &parted.rest {
                add(limbs(limb, pruned(limb), settings));
            }
        }
        axis => add(limbs(polygon, axis, settings)),
    }
    join_to_fills(&mut network, &parted.fills);
    let shape = Region::from(polygon.clone());
    let fills = Region { polygons: parted.fills.clone() };
    network.parts.extend(parted.fills.into_iter().map(Part::Fill));
    let sewn = if fills.is_empty() { shape.clone() } else { shape.difference(&fills) };
    let bands: Vec<(&[Crossing], bool)> = bands.iter().map(|(band, closed)| (band.as_slice(), *closed)).collect();
    network.parts.extend(bare::patches(&sewn, &shape, &bands, settings));
    network
}

/// Adds patches over what the columns of a network leave bare of a shape.
pub(crate) fn cover(network: &mut Network, polygon: &Polygon, settings: &SatinSettings) {
    let shape = Region::from(polygon.clone());
    let band = |part: &Part| match part {
        Part::Column(column) | Part::Run(column) => Some((column.crossings.clone(), column.closed)),
        Part::Fill(_) => None,
    };
    let bands: Vec<(Vec<Crossing>, bool)> = network.parts.iter().filter_map(band).collect();
    let bands: Vec<(&[Crossing], bool)> = bands.iter().map(|(band, closed)| (band.as_slice(), *closed)).collect();
    network.parts.extend(bare::patches(&shape, &shape, &bands, settings));
}

/// Ends of columns that lie under a fill are not open.
fn join_to_fills(network: &mut Network, fills: &[Polygon]) {
    for fill in fills {
        let rays = Rays::of_polygon(fill);
        for part in &mut network.parts {
            let Part::Column(column) = part else { continue };
            for (end, crossing) in [column.crossings.first(), column.crossings.last()].into_iter().enumerate() {
                if crossing.is_some_and(|c| rays.contains(c.middle())) {
                    column.ends[end] = ColumnEnd::Joined;
                }
            }
        }
    }
}

/// The pruned axis of a shape, with the outline it was made from.
fn pruned(polygon: &Polygon) -> Option<(Polygon, axis::Axis)> {
    let ready = prepare::prepare(polygon);
    let mut axis = axis::Axis::new(&ready.parted)?;
    prune::prune(&mut axis, prune::Significance::USUAL);
    Some((ready.thin, axis))
}

/// The columns of a shape as if no part of it were too wide, and nothing over what they leave bare.
pub(crate) fn limbs_of(polygon: &Polygon, settings: &SatinSettings) -> Network {
    limbs(polygon, pruned(polygon), settings).0
}

/// The columns of a shape without wide parts, with the bands they cover.
fn limbs(
    polygon: &Polygon,
    axis: Option<(Polygon, axis::Axis)>,
    settings: &SatinSettings,
) -> (Network, Vec<(Vec<Crossing>, bool)>) {
    if block::is_block(polygon) {
        let column = Column::open(block::block(polygon));
        let band = column.crossings.clone();
        return (Network { parts: vec![Part::Column(column)], ..Network::default() }, vec![(band, false)]);
    }
    let Some((outline, axis)) = axis else { return Default::default() };
    let mut graph = graph::Graph::trace(&axis);
    caps::trim_caps(&axis, &mut graph.limbs);
    corners::split_corners(&axis, &mut graph);
    cuts::cut_limbs(&axis, &mut graph);
    let pairs = pairing::pairs(&axis, &graph);
    draft::network(&outline, &axis, &graph, &pairs, settings)
}
