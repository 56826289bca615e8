//! Parts of a shape, where they meet, and the tree by which they are sewn.
//!
//! Every part (a column, a run, a fill) is entered from another one at a joint,
//! and left by the same joint with everything on it covered; what hangs on it
//! is sewn before it. So the needle only ever walks where thread will still be
//! laid, and parts nearer to the root lie on top. Which part is the root, and
//! which part hangs on which, is chosen so that as few parts as possible lie
//! over one that ought to lie over them.
//!
//! O((parts + joints) x candidates for the root), of which there are at most
//! [`CANDIDATES`].

use crate::Column;
use crate::hide::{Covers, Under};
use crate::rays::Rays;
use kurbo::Point;
use laidwork_geometry::{Polygon, Sets};
use laidwork_run::Ends;
use rstar::RTree;
use rstar::primitives::GeomWithData;
use std::cmp::Ordering;
use std::collections::{BTreeMap, VecDeque};

/// So many parts are tried as the root.
const CANDIDATES: usize = 48;

/// A part that lies over one it ought to lie under is as bad as ending this much farther away, mm.
const WORTH: f64 = 3.0;

/// The nearest stranger is looked for from about so many places of a group, and one of each part at least.
const MOST_PLACES: usize = 240;

/// Of a group that others were tied to, which has more parts by now, only what it had at first looks for it.
const MOST_MEMBERS: usize = 64;

/// So many strangers are looked at for each place of an unconnected part.
const LOOKS: usize = 32;

/// One part of a shape.
#[derive(Clone, Debug)]
pub(crate) enum Part {
    Column(Column),
    /// Too thin for threads across it: lines along it.
    Run(Column),
    Fill(Polygon),
}

impl Part {
    /// Points to find the part by, with their places on it.
    fn samples(&self) -> Vec<(Point, f64)> {
        match self {
            Part::Column(column) | Part::Run(column) => {
                let last = column.crossings.len().saturating_sub(1);
                let all = column.crossings.iter().enumerate();
                all.filter(|(i, _)| i % 4 == 0 || *i == last).map(|(i, c)| (c.middle(), i as f64)).collect()
            }
            Part::Fill(polygon) => polygon.outer.points.iter().map(|p| (*p, 0.0)).collect(),
        }
    }

    /// Something like its length, mm: bigger parts make better roots.
    fn size(&self) -> f64 {
        match self {
            Part::Column(column) | Part::Run(column) => column.length(),
            Part::Fill(polygon) => polygon.area(),
        }
    }

    /// Where sewing may end when this is the root.
    fn exits(&self) -> Vec<Point> {
        match self {
            Part::Column(column) | Part::Run(column) if column.closed => column.centre().collect(),
            Part::Column(column) | Part::Run(column) => {
                [column.crossings.first(), column.crossings.last()].into_iter().flatten().map(|c| c.middle()).collect()
            }
            Part::Fill(polygon) => polygon.outer.points.clone(),
        }
    }
}

/// A place on a part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Place {
    pub(crate) part: usize,
    /// Counted in crossings, or in points of a run; of no meaning on a fill.
    pub(crate) at: f64,
    /// Where that is, mm.
    pub(crate) point: Point,
}

/// Where parts meet.
#[derive(Clone, Debug, Default)]
pub(crate) struct Joint {
    pub(crate) places: Vec<Place>,
    /// The part that lies on top here.
    pub(crate) owner: Option<usize>,
}

/// The parts of one shape.
#[derive(Clone, Debug, Default)]
pub(crate) struct Network {
    pub(crate) parts: Vec<Part>,
    pub(crate) joints: Vec<Joint>,
    /// What need not be laid, because the same column or one joined to it there will lie over it.
    pub(crate) under: Vec<Under>,
    /// What columns cover of each other, where that was asked for.
    pub(crate) covers: Option<Covers>,
}

/// What hangs on a part.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Child {
    /// Where the needle leaves the parent.
    pub(crate) from: Place,
    /// Where it enters the child.
    pub(crate) to: Place,
}

/// The order of sewing.
#[derive(Clone, Debug, Default)]
pub(crate) struct Tree {
    pub(crate) root: usize,
    /// Of every part.
    pub(crate) children: Vec<Vec<Child>>,
}

impl Network {
    /// Adds the parts and joints of another network.
    pub(crate) fn append(&mut self, other: Network) {
        let first = self.parts.len();
        self.parts.extend(other.parts);
        self.under.extend(other.under.into_iter().map(|mut under| {
            under.part += first;
            under.by.iter_mut().for_each(|by| *by += first);
            under
        }));
        self.joints.extend(other.joints.into_iter().map(|mut joint| {
            joint.owner = joint.owner.map(|owner| owner + first);
            joint.places.iter_mut().for_each(|place| place.part += first);
            joint
        }));
    }

    /// What lies under others along a ring of `count` crossings that was opened at place `at`.
    pub(crate) fn open_under(&mut self, part: usize, at: f64, count: f64) {
        let range = self.range_under(part);
        let open = |under: &Under| {
            let [first, last] = under.stretch;
            let from = (first - at).rem_euclid(count.max(1.0));
            let to = from + last - first;
            let pieces = if to > count { vec![[from, count], [0.0, to - count]] } else { vec![[from, to]] };
            pieces.into_iter().map(|stretch| Under { stretch, ..under.clone() }).collect::<Vec<_>>()
        };
        let opened: Vec<Under> = self.under_of(part).iter().flat_map(open).collect();
        self.under.splice(range, opened);
    }

    /// What lies under others of a part.
    pub(crate) fn under_of(&self, part: usize) -> &[Under] {
        self.under.get(self.range_under(part)).unwrap_or_default()
    }

    /// They are kept in the order of their parts.
    fn range_under(&self, part: usize) -> std::ops::Range<usize> {
        self.under.partition_point(|u| u.part < part)..self.under.partition_point(|u| u.part <= part)
    }

    /// Adds joints until all parts are connected: every group that is not, the
    /// smallest first, is tied to the nearest part that can be reached in a straight line.
    pub(crate) fn connect(&mut self, ground: &Polygon) {
        let mut group = Sets::new(self.parts.len());
        for joint in &self.joints {
            for pair in joint.places.windows(2) {
                if let &[a, b] = pair {
                    group.join(a.part, b.part);
                }
            }
        }
        let homes: Vec<usize> = (0..self.parts.len()).map(|p| group.find(p)).collect();
        if homes.iter().all(|home| *home == 0) {
            return;
        }
        let samples: Vec<Vec<(Point, f64)>> = self.parts.iter().map(Part::samples).collect();
        let mut groups: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (part, home) in homes.iter().enumerate() {
            groups.entry(*home).or_default().push(part);
        }
        let mut groups: Vec<(usize, Vec<usize>)> = groups
            .into_values()
            .map(|parts| (parts.iter().filter_map(|p| samples.get(*p)).map(Vec::len).sum(), parts))
            .collect();
        groups.sort();
        let mut members: Vec<Vec<usize>> = vec![Vec::new(); self.parts.len()];
        for (_, parts) in &groups {
            if let Some(slot) = parts.first().and_then(|first| members.get_mut(group.find(*first))) {
                slot.clone_from(parts);
            }
        }
        groups.pop();
        let places = samples.iter().enumerate().flat_map(|(part, points)| {
            points.iter().map(move |&(point, at)| GeomWithData::new([point.x, point.y], Place { part, at, point }))
        });
        let ties = Ties { tree: RTree::bulk_load(places.collect()), rays: Rays::of_polygon(ground), samples };
        for (_, parts) in groups {
            // What was tied to the group meanwhile may be nearer to the next one than it is itself.
            let Some(home) = parts.first().map(|first| group.find(*first)) else { continue };
            let own = members.get(home).filter(|own| own.len() <= MOST_MEMBERS).unwrap_or(&parts);
            let Some((child, parent)) = ties.nearest(own, &mut group) else { continue };
            let other = group.find(parent.part);
            group.join(home, other);
            let more = members.get_mut(home.max(other)).map(std::mem::take).unwrap_or_default();
            if let Some(slot) = members.get_mut(home.min(other)) {
                slot.extend(more);
            }
            // A fill lies over what reaches under it, everything else over patches.
            let is_fill = |part: usize| matches!(self.parts.get(part), Some(Part::Fill(_)));
            let owner = if is_fill(child.part) { child.part } else { parent.part };
            self.joints.push(Joint { owner: Some(owner), places: vec![parent, child] });
        }
    }

    /// The best tree. All parts must be [connected](Network::connect).
    pub(crate) fn tree(&self, ends: Ends) -> Tree {
        let joints_of = self.joints_of();
        let end = ends.end.filter(|p| p.is_finite());
        let mut best: Option<(f64, Tree)> = None;
        for root in self.candidates(end) {
            let (violations, tree) = self.grow(root, &joints_of);
            let size = self.parts.get(root).map_or(0.0, Part::size).min(100.0);
            let cost = violations as f64 - 1e-3 * size + end.map_or(0.0, |end| self.away(root, end) / WORTH);
            if best.as_ref().is_none_or(|b| cost < b.0) {
                best = Some((cost, tree));
            }
        }
        best.map(|b| b.1).unwrap_or_default()
    }

    /// How far the nearest exit of a part is from a point, mm.
    fn away(&self, part: usize, point: Point) -> f64 {
        let exits = self.parts.get(part).map(Part::exits).unwrap_or_default();
        exits.iter().map(|p| p.distance(point)).fold(f64::INFINITY, f64::min)
    }

    fn joints_of(&self) -> Vec<Vec<(usize, usize)>> {
        let mut joints_of = vec![Vec::new(); self.parts.len()];
        for (j, joint) in self.joints.iter().enumerate() {
            for (k, place) in joint.places.iter().enumerate() {
                if let Some(list) = joints_of.get_mut(place.part) {
                    list.push((j, k));
                }
            }
        }
        joints_of
    }

    /// Parts that may be the root: the biggest, and those nearest to the asked end.
    fn candidates(&self, end: Option<Point>) -> Vec<usize> {
        let mut biggest: Vec<usize> = (0..self.parts.len()).collect();
        let mut nearest = biggest.clone();
        let size = |part: &usize| self.parts.get(*part).map_or(0.0, Part::size);
        biggest.sort_by(|a, b| size(b).total_cmp(&size(a)).then(a.cmp(b)));
        biggest.truncate(CANDIDATES);
        if let Some(end) = end {
            let distances: Vec<f64> = nearest.iter().map(|part| self.away(*part, end)).collect();
            let distance = |part: &usize| distances.get(*part).copied().unwrap_or(f64::INFINITY);
            nearest.sort_by(|a, b| distance(a).total_cmp(&distance(b)).then(a.cmp(b)));
            biggest.extend(nearest.into_iter().take(CANDIDATES / 2));
            biggest.sort_unstable();
            biggest.dedup();
        }
        biggest
    }

    /// The tree from one root by 0-1 search: parts that lie under their parent first.
    fn grow(&self, root: usize, joints_of: &[Vec<(usize, usize)>]) -> (usize, Tree) {
        let mut tree = Tree { root, children: vec![Vec::new(); self.parts.len()] };
        let mut reached = vec![false; self.parts.len()];
        let mut queue: VecDeque<Next> = VecDeque::from([Next::Part(root, None, 0)]);
        let mut violations = 0;
        while let Some(next) = queue.pop_front() {
            let (part, child, cost) = match next {
                Next::Part(part, child, cost) => (part, child, cost),
                Next::Under { joint: j, from: k, left } => {
                    let Some(joint) = self.joints.get(j) else { continue };
                    let Some(&from) = joint.places.get(k) else { continue };
                    let is_next = |&m: &usize| {
                        let part = joint.places[m].part;
                        m != k && joint.owner != Some(part) && !reached.get(part).copied().unwrap_or(true)
                    };
                    let Some(m) = (0..left).rev().find(is_next) else { continue };
                    queue.push_front(Next::Under { joint: j, from: k, left: m });
                    let to = joint.places[m];
                    (to.part, Some(Child { from, to }), self.cost(to.part, false))
                }
            };
            if reached.get(part).copied().unwrap_or(true) {
                continue;
            }
            reached[part] = true;
            violations += cost;
            if let Some(child) = child {
                tree.children[child.from.part].push(child);
            }
            for &(j, k) in joints_of.get(part).into_iter().flatten() {
                let Some(joint) = self.joints.get(j) else { continue };
                let Some(&from) = joint.places.get(k) else { continue };
                queue.push_front(Next::Under { joint: j, from: k, left: joint.places.len() });
                for (m, &to) in joint.places.iter().enumerate() {
                    if m != k && joint.owner == Some(to.part) && !reached.get(to.part).copied().unwrap_or(true) {
                        queue.push_back(Next::Part(to.part, Some(Child { from, to }), self.cost(to.part, true)));
                    }
                }
            }
        }
        (violations, tree)
    }

    /// What it costs to go on to a part, which lies over the one before or not.
    fn cost(&self, part: usize, over: bool) -> usize {
        // A fill must be left again where it was entered, over its own rows.
        if matches!(self.parts.get(part), Some(Part::Fill(_))) { 4 } else { usize::from(over) }
    }
}

/// What a search goes on to.
#[derive(Clone, Copy, Debug)]
enum Next {
    /// A part, from where, and at what cost.
    Part(usize, Option<Child>, usize),
    /// From one place of a joint to the first `left` of the others, the last of them first, but for its owner. A joint
    /// of a thousand parts is gone through place by place, not copied for each of them.
    Under { joint: usize, from: usize, left: usize },
}

/// Finds what unconnected parts can be tied to.
struct Ties {
    tree: RTree<GeomWithData<[f64; 2], Place>>,
    rays: Rays,
    samples: Vec<Vec<(Point, f64)>>,
}

impl Ties {
    /// The nearest places on one of `parts` and on a part of another group, in
    /// sight of each other if there are such.
    fn nearest(&self, parts: &[usize], group: &mut Sets) -> Option<(Place, Place)> {
        let mut best: Option<(bool, f64, Place, Place)> = None;
        let all: usize = parts.iter().filter_map(|part| self.samples.get(*part)).map(Vec::len).sum();
        let home = group.find(*parts.first()?);
        for &part in parts {
            let own = self.samples.get(part)?;
            for &(point, at) in own.iter().step_by((own.len() / 24).max(all / MOST_PLACES) + 1) {
                let mut looks = 0;
                for place in self.tree.nearest_neighbor_iter([point.x, point.y]).take(20_000).map(|near| near.data) {
                    let distance = point.distance(place.point);
                    let is_better = |seen: bool| {
                        best.as_ref().is_none_or(|b| (!seen, distance).partial_cmp(&(b.0, b.1)) == Some(Ordering::Less))
                    };
                    // All that follow are farther, its own places and those of others.
                    if looks == LOOKS || !is_better(true) {
                        break;
                    }
                    if group.find(place.part) == home {
                        continue;
                    }
                    looks += 1;
                    let seen = self.in_sight(point, place.point);
                    if is_better(seen) {
                        best = Some((!seen, distance, Place { part, at, point }, place));
                    }
                    if seen {
                        break;
                    }
                }
            }
        }
        best.map(|(_, _, own, stranger)| (own, stranger))
    }

    fn in_sight(&self, from: Point, to: Point) -> bool {
        let distance = from.distance(to);
        distance < 1e-6 || self.rays.reach(from, (to - from) / distance, distance + 1.0) >= distance - 1e-6
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_geometry::{Crossing, Ring};

    fn bar(from: Point, to: Point) -> Part {
        let across = (to - from).normalize();
        let half = kurbo::Vec2::new(-across.y, across.x) * 1.5;
        let crossings = (0..=100).map(|i| from.lerp(to, i as f64 / 100.0)).map(|p| Crossing::new(p + half, p - half));
        Part::Column(Column::open(crossings.collect()))
    }

    fn place(part: usize, at: f64) -> Place {
        Place { part, at, point: Point::ZERO }
    }

    /// A T: the bar owns the joint.
    fn tee() -> Network {
        let parts =
            vec![bar(Point::new(0.0, 1.5), Point::new(0.0, 20.0)), bar(Point::new(-8.0, 0.0), Point::new(8.0, 0.0))];
        Network {
            parts,
            joints: vec![Joint { places: vec![place(0, 0.0), place(1, 50.0)], owner: Some(1) }],
            ..Network::default()
        }
    }

    #[test]
    fn the_part_on_top_is_the_root() {
        let tree = tee().tree(Ends::default());
        assert_eq!(tree.root, 1);
        assert_eq!(tree.children[1].len(), 1);
    }

    #[test]
    fn an_asked_end_decides_the_root() {
        let ends = Ends { end: Some(Point::new(0.0, 21.0)), ..Ends::default() };
        assert_eq!(tee().tree(ends).root, 0);
    }

    #[test]
    fn strangers_are_tied_to_their_neighbours() {
        let mut network = tee();
        network.parts.push(bar(Point::new(2.0, 10.0), Point::new(9.0, 10.0)));
        let corners = [(-9.0, -2.0), (9.0, -2.0), (9.0, 21.0), (-9.0, 21.0)].map(Point::from);
        network.connect(&Polygon { outer: Ring::new(corners.to_vec()), holes: Vec::new() });
        assert_eq!(network.joints.len(), 2);
        assert_eq!(network.joints[1].places[0].part, 0);
        let tree = network.tree(Ends::default());
        assert_eq!(tree.children.iter().map(Vec::len).sum::<usize>(), 2);
    }
}
