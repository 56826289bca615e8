//! Any outline taken apart into columns.
//!
//! The method: the chordal axis of a constrained Delaunay triangulation
//! ([`axis`]) is pruned of twigs ([`prune`]), read as limbs and nodes
//! ([`graph`]), cut back at free ends ([`caps`]), split at sharp corners
//! ([`corners`]) and cut off from its junctions ([`cuts`]). Limbs that go on
//! through a junction are paired ([`pairing`]) and put together into strands
//! ([`strand`]); every strand gets a smooth middle line ([`track`]) and lines
//! across it ([`across`]), and ends at the side of the column it meets
//! ([`abut`]).

mod abut;
mod across;
mod axis;
mod caps;
mod corners;
mod cuts;
mod draft;
mod graph;
mod pairing;
mod prepare;
mod prune;
mod strand;
mod track;

use crate::network::{Network, Part};
use crate::{Column, SatinSettings};
use kurbo::Point;
use laidwork_geometry::Polygon;

/// A shape taken apart.
#[derive(Clone, Debug, Default)]
pub struct Decomposition {
    /// Its columns.
    pub columns: Vec<Column>,
    /// Parts too wide for columns, to be filled.
    pub fills: Vec<Polygon>,
    /// Middle lines of parts too thin for columns, mm.
    pub runs: Vec<Vec<Point>>,
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
            Part::Run(line) => found.runs.push(line),
            Part::Fill(polygon) => found.fills.push(polygon),
        }
    }
    found
}

/// The parts of an outline and where they meet.
pub(crate) fn network(polygon: &Polygon, settings: &SatinSettings) -> Network {
    let (ready, _) = prepare::prepare(polygon);
    let Some(mut axis) = axis::Axis::new(&ready) else { return Network::default() };
    prune::prune(&mut axis, prune::Significance::USUAL);
    let mut graph = graph::Graph::trace(&axis);
    caps::trim_caps(&axis, &mut graph.limbs);
    corners::split_corners(&axis, &mut graph);
    cuts::cut_limbs(&axis, &mut graph);
    let pairs = pairing::pairs(&axis, &graph);
    draft::network(&ready, &axis, &graph, &pairs, settings)
}
