//! Strands made into columns, and the joints between them.

use super::abut::Bound;
use super::across::{Surroundings, across};
use super::axis::Axis;
use super::graph::Graph;
use super::pairing::{LimbEnd, Pair};
use super::strand::{Strand, strands};
use super::stretch::{Stretch, part_of, stretches};
use super::track::{Ground, STEP, Sample, beyond, leaving, mean_width, track};
use super::walls::{NodeWalls, Walls};
use crate::hide::Under;
use crate::network::{Joint, Network, Part, Place};
use crate::rays::{Rays, untangle};
use crate::{Column, ColumnEnd, SatinSettings};
use kurbo::{Point, Vec2};
use laidwork_geometry::{Crossing, Polygon};

/// A flat end is at least this share of the width long.
const FLAT: f64 = 0.6;

/// Threads are turned to lie along a flat end when it is off square by no more than this, degrees.
const MOST_TURN: f64 = 52.0;

/// A free end narrows to a point when its last 0.5 mm are narrower than this, mm.
const POINT: f64 = 0.7;

/// What owns the zone of a node.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Owner {
    /// A strand that passes after its n-th piece.
    Pass(usize, usize),
    /// A strand that ends there, by its beginning (0) or end (1).
    End(usize, usize),
}

/// Crossings of a draft that lie under another one.
#[derive(Clone, Copy, Debug)]
struct Hidden {
    first: usize,
    last: usize,
    by: Pass,
}

/// A strand that passes a node after its n-th piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Pass {
    strand: usize,
    piece: usize,
}

/// A strand on its way to becoming a column.
#[derive(Clone, Debug, Default)]
struct Draft {
    samples: Vec<Sample>,
    crossings: Vec<Crossing>,
    /// How many samples lie before the strand's own first one.
    lead: usize,
    ends: [ColumnEnd; 2],
    hidden: Vec<Hidden>,
    dropped: [usize; 2],
    /// The first and the last sample in the zone after every piece, where there is one.
    zones: Vec<Option<[usize; 2]>>,
}

impl Draft {
    fn zone(&self, piece: usize) -> Option<[usize; 2]> {
        self.zones.get(piece).copied().flatten()
    }
}

/// Where a stretch of a draft went.
#[derive(Clone, Copy, Debug)]
struct Home {
    stretch: Stretch,
    part: usize,
}

impl Home {
    fn place(&self, at: usize, point: Point) -> Place {
        Place { part: self.part, at: at.saturating_sub(self.stretch.first) as f64, point }
    }
}

/// The home of a crossing; where two overlap, the wide one.
fn home_of(homes: &[Home], at: usize) -> Option<&Home> {
    let holds = |home: &&Home| (home.stretch.first..=home.stretch.last).contains(&at);
    homes.iter().filter(holds).min_by_key(|home| home.stretch.thin)
}

struct Drafter<'a> {
    rays: Rays,
    axis: &'a Axis,
    graph: &'a Graph,
    settings: &'a SatinSettings,
    strands: Vec<Strand>,
    owners: Vec<Option<Owner>>,
    /// For every node the cuts of its limbs.
    cuts: Vec<NodeWalls>,
}

/// The columns (and runs) of a graph whose limbs go on pair by pair.
pub(crate) fn network(
    polygon: &Polygon,
    axis: &Axis,
    graph: &Graph,
    pairs: &[Pair],
    settings: &SatinSettings,
) -> (Network, Vec<(Vec<Crossing>, bool)>) {
    let strands = strands(graph, pairs);
    let owners = owners(axis, graph, pairs, &strands);
    let cuts = cuts(axis, graph);
    let drafter = Drafter { rays: Rays::of_polygon(polygon), axis, graph, settings, strands, owners, cuts };
    let mut drafts: Vec<Draft> = (0..drafter.strands.len()).map(|s| drafter.draft(s)).collect();
    drafter.hide(&mut drafts);
    drafter.cut_ends(&mut drafts);
    let bands = drafts.iter().zip(&drafter.strands).map(|(d, s)| (d.crossings.clone(), s.closed)).collect();
    (drafter.assemble(drafts), bands)
}

fn owners(axis: &Axis, graph: &Graph, pairs: &[Pair], strands: &[Strand]) -> Vec<Option<Owner>> {
    let mut owners: Vec<Option<Owner>> = vec![None; graph.nodes.len()];
    // For every node the strands that pass it and those that end there.
    let mut passes: Vec<Vec<(usize, usize)>> = vec![Vec::new(); graph.nodes.len()];
    let mut ends: Vec<Vec<(usize, usize)>> = vec![Vec::new(); graph.nodes.len()];
    for (s, strand) in strands.iter().enumerate() {
        for (piece, node) in strand.passed.iter().enumerate() {
            if let Some(list) = passes.get_mut(*node) {
                list.push((s, piece));
            }
        }
        for end in [0, 1] {
            if let Some(list) = strand.nodes[end].and_then(|node| ends.get_mut(node)) {
                list.push((s, end));
            }
        }
    }
    for pair in pairs {
        let is_of_pair = |&&(s, piece): &&(usize, usize)| {
            let Some(strand) = strands.get(s) else { return false };
            let count = strand.limbs.len();
            let left_by = strand.limbs.get(piece).map(|l| l[1]);
            let entered = strand.limbs.get((piece + 1) % count.max(1)).map(|l| l[0]);
            let ends = pair.ends.map(Some);
            ends == [left_by, entered] || ends == [entered, left_by]
        };
        let found = passes.get(pair.node).and_then(|list| list.iter().find(is_of_pair));
        if let (Some(&(strand, piece)), Some(slot)) = (found, owners.get_mut(pair.node))
            && slot.is_none()
        {
            *slot = Some(Owner::Pass(strand, piece));
        }
    }
    let lengths: Vec<f64> = strands.iter().map(|strand| (strand.length(axis) * 20.0).round()).collect();
    let length = |s: usize| lengths.get(s).copied().unwrap_or(0.0);
    for (slot, ends) in owners.iter_mut().zip(ends).filter(|(owner, _)| owner.is_none()) {
        let longest = ends.into_iter().max_by(|a, b| length(a.0).total_cmp(&length(b.0)).then(b.cmp(a)));
        *slot = longest.map(|(s, e)| Owner::End(s, e));
    }
    owners
}

fn cuts(axis: &Axis, graph: &Graph) -> Vec<NodeWalls> {
    graph
        .limbs_at_nodes()
        .iter()
        .map(|ends| {
            let cut = |&(limb, end): &LimbEnd| {
                let chords = &graph.limbs.get(limb)?.chords;
                let chord = if end == 0 { chords.first() } else { chords.last() }?;
                let (left, right) = axis.ends(*chord);
                Some(((limb, end), [left, right]))
            };
            NodeWalls::new(ends.iter().filter_map(cut).collect())
        })
        .collect()
}

impl Drafter<'_> {
    fn surroundings(&self, strand: &Strand) -> Surroundings<'_> {
        let count = strand.limbs.len();
        let node_after =
            |piece: usize| strand.passed.get(piece).copied().or(strand.nodes[1].filter(|_| piece + 1 == count));
        let node_before = |piece: usize| match piece.checked_sub(1) {
            Some(before) => strand.passed.get(before).copied(),
            None if strand.closed => strand.passed.last().copied(),
            None => strand.nodes[0],
        };
        let walls_of = |piece: usize| {
            let own = |p: usize| strand.limbs.get(p % count.max(1)).copied().unwrap_or_default();
            let mut but = own(piece).to_vec();
            but.extend(own(piece + 1));
            but.extend(own(piece + count.max(1) - 1));
            let nodes = [node_before(piece), node_after(piece)].into_iter().flatten();
            Walls { nodes: nodes.filter_map(|node| self.cuts.get(node)).collect(), but }
        };
        Surroundings {
            walls: (0..count).map(walls_of).collect(),
            free: [0, 1].map(|e| strand.nodes[e].is_none()),
            flats: [None; 2],
        }
    }

    fn draft(&self, index: usize) -> Draft {
        let Some(strand) = self.strands.get(index) else { return Draft::default() };
        let core = track(self.axis, strand);
        let mut surroundings = self.surroundings(strand);
        let mut samples = core.clone();
        let mut lead = 0;
        if !strand.closed {
            for end in [1, 0] {
                let mut more = self.extension(index, strand, &core, end, &mut surroundings);
                if end == 0 {
                    lead = more.len();
                    more.reverse();
                    more.append(&mut samples);
                    samples = more;
                } else {
                    samples.append(&mut more);
                }
            }
        }
        let mut crossings = across(&self.rays, &mut samples, strand.closed, &surroundings);
        untangle(&mut crossings);
        let mut zones: Vec<Option<[usize; 2]>> = Vec::new();
        for (i, sample) in samples.iter().enumerate() {
            let Ground::Zone(piece) = sample.ground else { continue };
            if zones.len() <= piece {
                zones.resize(piece + 1, None);
            }
            zones[piece].get_or_insert([i, i])[1] = i;
        }
        let mut draft = Draft { samples, crossings, lead, zones, ..Draft::default() };
        for end in [0, 1] {
            draft.ends[end] = match strand.nodes[end] {
                _ if strand.closed => ColumnEnd::Joined,
                Some(node) if !self.owns_end(node, index, end) => ColumnEnd::Joined,
                _ => end_kind(&draft.crossings, end),
            };
        }
        draft
    }

    fn owns_end(&self, node: usize, strand: usize, end: usize) -> bool {
        self.owners.get(node).copied().flatten() == Some(Owner::End(strand, end))
    }

    /// Samples beyond an end: to the outline from free and owning ends, into the zone from others.
    fn extension(
        &self,
        index: usize,
        strand: &Strand,
        core: &[Sample],
        end: usize,
        surroundings: &mut Surroundings<'_>,
    ) -> Vec<Sample> {
        let tip = if end == 0 { core.first() } else { core.last() };
        let Some(tip) = tip.copied() else { return Vec::new() };
        let way = leaving(core, end);
        let to_outline = self.rays.reach(tip.point, way, 4.0 * tip.width + 3.0);
        match strand.nodes[end] {
            Some(node) if !self.owns_end(node, index, end) => {
                let disc = self.graph.nodes.get(node).map(|n| n.disc);
                let reach = disc.map_or(0.0, |d| d.centre.distance(tip.point) + 1.5 * d.radius);
                beyond(core, end, way, reach.min(to_outline - 0.01))
            }
            node => {
                if node.is_none() || to_outline < 2.0 * tip.width {
                    surroundings.flats[end] = self.flat(tip, way, to_outline);
                }
                beyond(core, end, way, to_outline - 0.01)
            }
        }
    }

    /// The direction of the flat end that a column runs into, if it does.
    fn flat(&self, tip: Sample, way: Vec2, reach: f64) -> Option<Vec2> {
        let (flat, length) = self.rays.straight(tip.point, way, reach + 0.1, 0.15)?;
        let off_square = way.dot(flat).abs().min(1.0).asin().to_degrees();
        (length >= FLAT * tip.width && off_square <= MOST_TURN).then_some(flat)
    }

    /// The part of an owner's band about the node it owns.
    fn band_of(&self, owner: Owner, drafts: &[Draft]) -> Vec<Crossing> {
        let index = match owner {
            Owner::Pass(s, _) | Owner::End(s, _) => s,
        };
        let Some(draft) = drafts.get(index) else { return Vec::new() };
        let margin = (3.0 * mean_width(&draft.samples) / STEP).round() as usize;
        let count = draft.samples.len();
        let (first, last) = match owner {
            Owner::End(_, 0) => (0, draft.lead),
            Owner::End(_, end) => {
                let wanted = |s: &Sample| s.ground == Ground::Beyond(end);
                (draft.samples.iter().position(wanted).unwrap_or(count), count.saturating_sub(1))
            }
            Owner::Pass(_, piece) => draft.zone(piece).map_or((0, 0), |[first, last]| (first, last)),
        };
        let closed = self.strands.get(index).is_some_and(|s| s.closed);
        if closed {
            let around = first + count - margin.min(count / 2)..=last + count + margin.min(count / 2);
            return around.filter_map(|i| draft.crossings.get(i % count.max(1)).copied()).collect();
        }
        let range = first.saturating_sub(margin)..(last + margin + 1).min(draft.crossings.len());
        draft.crossings.get(range).unwrap_or_default().to_vec()
    }

    /// The bound that a node's owner is to a strand that arrives at `sample` in direction `way`.
    fn bound(&self, node: usize, at: Point, way: Vec2, width: f64, drafts: &[Draft]) -> Option<Bound> {
        let owner = self.owners.get(node).copied().flatten()?;
        self.bound_to(&self.band_of(owner, drafts), at, way, width)
    }

    /// The bound that a band is to a strand that arrives at it.
    fn bound_to(&self, band: &[Crossing], at: Point, way: Vec2, width: f64) -> Option<Bound> {
        Some(Bound::of(band, at - way * width, way)?.moved(self.settings.overlap))
    }

    /// Ends that meet another column are cut off along its side.
    fn cut_ends(&self, drafts: &mut [Draft]) {
        // All bounds first, along what is not cut off yet.
        let mut bounds: Vec<(usize, usize, Bound, usize)> = Vec::new();
        for (index, strand) in self.strands.iter().enumerate() {
            for end in [0, 1] {
                let Some(node) = strand.nodes[end].filter(|n| !self.owns_end(*n, index, end)) else { continue };
                let Some(draft) = drafts.get(index) else { continue };
                let own = draft.samples.iter().filter(|s| !matches!(s.ground, Ground::Beyond(_)));
                let core: Vec<Sample> = own.copied().collect();
                let tip = if end == 0 { core.first() } else { core.last() };
                let Some(tip) = tip.copied() else { continue };
                let way = leaving(&core, end);
                let Some(bound) = self.bound(node, tip.point, way, tip.width, drafts) else { continue };
                let radius = self.graph.nodes.get(node).map_or(0.0, |n| n.disc.radius);
                bounds.push((index, end, bound, ((4.0 * radius + 3.0 * tip.width) / STEP) as usize));
            }
        }
        for (index, end, bound, most) in bounds {
            let Some(draft) = drafts.get_mut(index) else { continue };
            let count = draft.crossings.len();
            if end == 0 {
                draft.crossings.reverse();
            }
            bound.cut_end(&mut draft.crossings, most.min(count * 2 / 3));
            if end == 0 {
                draft.crossings.reverse();
            }
            draft.dropped[end] = count - draft.crossings.len();
        }
    }

    /// Where two pairs go through a node, either is hidden where it lies under the other, should that come later.
    fn hide(&self, drafts: &mut [Draft]) {
        for (strand, passed) in self.strands.iter().map(|strand| &strand.passed).enumerate() {
            for (piece, node) in passed.iter().enumerate() {
                let Some(Owner::Pass(owner, at)) = self.owners.get(*node).copied().flatten() else { continue };
                let (own, over) = (Pass { strand, piece }, Pass { strand: owner, piece: at });
                if own == over {
                    continue;
                }
                // What crosses itself needs to be known once.
                let ways = if strand == owner { vec![(own, over)] } else { vec![(own, over), (over, own)] };
                for (under, by) in ways {
                    let found = self.hidden(under, by, drafts);
                    if let Some(draft) = drafts.get_mut(under.strand) {
                        draft.hidden.extend(found);
                    }
                }
            }
        }
    }

    /// What of a pass lies under another one through the same node.
    fn hidden(&self, under: Pass, by: Pass, drafts: &[Draft]) -> Option<Hidden> {
        let draft = drafts.get(under.strand)?;
        let [first, last] = draft.zone(under.piece)?;
        let (a, b) = (draft.samples.get(first)?, draft.samples.get(last)?);
        let way = crate::line::unit(b.point - a.point);
        let band = self.band_of(Owner::Pass(by.strand, by.piece), drafts);
        let entry = self.bound_to(&band, a.point, way, a.width)?;
        let exit = self.bound_to(&band, b.point, -way, b.width)?;
        let is_hidden = |c: &Crossing| {
            [c.left, c.right, c.middle()].iter().all(|p| entry.height(*p) < 0.0 && exit.height(*p) < 0.0)
        };
        let mut places = (first..=last).filter(|i| draft.crossings.get(*i).is_some_and(is_hidden));
        let first = places.next()?;
        Some(Hidden { first, last: places.next_back().unwrap_or(first), by })
    }

    fn assemble(&self, drafts: Vec<Draft>) -> Network {
        let mut network = Network::default();
        let mut homes: Vec<Vec<Home>> = Vec::new();
        for (draft, strand) in drafts.iter().zip(&self.strands) {
            let column = Column { crossings: draft.crossings.clone(), closed: strand.closed, ends: draft.ends };
            let too_short = column.crossings.len() < 3 || column.length() < 0.3;
            homes.push(if too_short { Vec::new() } else { self.add_parts(&column, &mut network) });
        }
        for (draft, own) in drafts.iter().zip(&homes) {
            network.under.extend(draft.hidden.iter().filter_map(|hidden| under(hidden, draft, own, &drafts, &homes)));
        }
        network.under.sort_by_key(|under| under.part);
        for ((node, owner), strands) in self.owners.iter().enumerate().zip(self.strands_at_nodes()) {
            network.joints.extend(self.joint(node, *owner, &strands, &drafts, &homes));
        }
        network
    }

    /// Adds a column, parted where it is too thin, and the joints between its parts.
    fn add_parts(&self, column: &Column, network: &mut Network) -> Vec<Home> {
        let mut homes: Vec<Home> = Vec::new();
        for stretch in stretches(column, self.settings.min_width) {
            let part = network.parts.len();
            let piece = part_of(column, &stretch);
            if let Some(before) = homes.last() {
                let at = (stretch.first + before.stretch.last) / 2;
                let point = column.middle_at(at as f64);
                let owner = if stretch.thin { before.part } else { part };
                let places = vec![before.place(at, point), Place { part, at: (at - stretch.first) as f64, point }];
                network.joints.push(Joint { owner: Some(owner), places });
            }
            homes.push(Home { stretch, part });
            network.parts.push(if stretch.thin { Part::Run(piece) } else { Part::Column(piece) });
        }
        homes
    }

    /// For every node the strands that end there or pass it, with the pieces they pass it after.
    fn strands_at_nodes(&self) -> Vec<Vec<(usize, Vec<usize>)>> {
        let mut at: Vec<Vec<(usize, Vec<usize>)>> = vec![Vec::new(); self.owners.len()];
        for (index, strand) in self.strands.iter().enumerate() {
            let ends = strand.nodes.iter().flatten().map(|&node| (node, None));
            let passed = strand.passed.iter().enumerate().map(|(piece, &node)| (node, Some(piece)));
            for (node, piece) in ends.chain(passed) {
                let Some(list) = at.get_mut(node) else { continue };
                if list.last().is_none_or(|last| last.0 != index) {
                    list.push((index, Vec::new()));
                }
                if let Some((_, pieces)) = list.last_mut() {
                    pieces.extend(piece);
                }
            }
        }
        at
    }

    fn joint(
        &self,
        node: usize,
        owner: Option<Owner>,
        strands: &[(usize, Vec<usize>)],
        drafts: &[Draft],
        homes: &[Vec<Home>],
    ) -> Option<Joint> {
        let centre = self.graph.nodes.get(node)?.disc.centre;
        let mut joint = Joint::default();
        for &(index, ref pieces) in strands {
            let (Some(strand), Some(draft)) = (self.strands.get(index), drafts.get(index)) else { continue };
            let Some(own) = homes.get(index).filter(|own| !own.is_empty()) else { continue };
            let count = draft.crossings.len();
            let mut add = |from: usize, to: usize| {
                let away = |i: &usize| draft.crossings.get(*i).map_or(f64::INFINITY, |c| c.middle().distance(centre));
                if let Some(at) = (from..to.min(count)).min_by(|a, b| away(a).total_cmp(&away(b))) {
                    let point = draft.crossings.get(at).map(|c| c.middle()).unwrap_or(centre);
                    joint.places.extend(home_of(own, at).map(|home| home.place(at, point)));
                }
            };
            for end in [0, 1] {
                if strand.nodes[end] != Some(node) {
                    continue;
                }
                if owner == Some(Owner::End(index, end)) {
                    let near = draft.samples.iter().filter(|s| s.ground == Ground::Beyond(end)).count() + 30;
                    if end == 0 { add(0, near) } else { add(count.saturating_sub(near), count) }
                } else if end == 0 {
                    add(0, 1);
                } else {
                    add(count.saturating_sub(1), count);
                }
            }
            for &piece in pieces {
                let zone = draft.zone(piece).unwrap_or([0, 0]);
                let [first, last] = zone.map(|at| at.saturating_sub(draft.dropped[0]));
                add(first.saturating_sub(5), last + 6);
            }
        }
        let owner = match owner? {
            Owner::Pass(s, _) | Owner::End(s, _) => homes.get(s)?,
        };
        let is_owner = |place: &&Place| owner.iter().any(|home| home.part == place.part);
        joint.owner = joint.places.iter().find(is_owner).map(|place| place.part);
        (joint.places.len() > 1).then_some(joint)
    }
}

/// What is hidden of a draft as a stretch of its column; `None` where a line is over it or under it.
fn under(hidden: &Hidden, draft: &Draft, own: &[Home], drafts: &[Draft], homes: &[Vec<Home>]) -> Option<Under> {
    let column_at = |homes: &[Home], draft: &Draft, sample: usize| {
        home_of(homes, sample.saturating_sub(draft.dropped[0])).copied().filter(|home| !home.stretch.thin)
    };
    let over = drafts.get(hidden.by.strand)?;
    let [first, last] = over.zone(hidden.by.piece)?;
    let by = column_at(homes.get(hidden.by.strand)?, over, (first + last) / 2)?.part;
    let home = column_at(own, draft, (hidden.first + hidden.last) / 2)?;
    let place = |sample: usize| sample.saturating_sub(draft.dropped[0]) as f64 - home.stretch.first as f64;
    Some(Under { part: home.part, stretch: [place(hidden.first), place(hidden.last)], by: vec![by] })
}

/// Whether a free end is open or narrows to a point.
fn end_kind(crossings: &[Crossing], end: usize) -> ColumnEnd {
    let ordered: Vec<&Crossing> =
        if end == 0 { crossings.iter().take(8).collect() } else { crossings.iter().rev().take(8).collect() };
    let Some(tip) = ordered.first() else { return ColumnEnd::Open };
    let inner = ordered.iter().find(|c| c.middle().distance(tip.middle()) >= 0.5);
    match inner {
        Some(inner) if inner.width() < POINT && tip.width() < inner.width() => ColumnEnd::Point,
        _ => ColumnEnd::Open,
    }
}
