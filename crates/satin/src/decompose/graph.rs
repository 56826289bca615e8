//! Limbs and the nodes that join them.

use super::axis::{Axis, Chord, Disc};
use kurbo::Point;
use std::collections::BTreeSet;

/// Two junctions belong together when every chord between them has its middle
/// in one of their discs, grown by this, ...
const DISC_REACH: f64 = 1.05;

/// ... and their centres are nearer than this many radii.
const CENTRES: f64 = 1.15;

/// A limb has left the zone of its node where its chords get no shorter than this share of the one before ...
const EVEN: f64 = 0.98;

/// ... over this share of its width.
const AHEAD: f64 = 0.3;

/// A limb: chords in order along it.
#[derive(Clone, Debug, Default)]
pub(crate) struct Limb {
    pub(crate) chords: Vec<Chord>,
    /// The triangle between every chord and the next one (of a ring: also after the last).
    pub(crate) triangles: Vec<usize>,
    /// The triangles beyond its first and its last chord where its ends are free.
    pub(crate) tips: [Option<usize>; 2],
    /// The nodes at its beginning and its end; `None` for free ends.
    pub(crate) nodes: [Option<usize>; 2],
    /// A ring without a beginning.
    pub(crate) closed: bool,
}

impl Limb {
    pub(crate) fn flip(&mut self) {
        self.chords = self.chords.iter().rev().map(|c| c.flipped()).collect();
        self.triangles.reverse();
        self.tips.reverse();
        self.nodes.reverse();
    }

    /// Its first and last chord that lie in no fan about a corner of a node at its end: chords get shorter
    /// up to there. A thin limb of a thick one has such fans, which say nothing about itself.
    pub(crate) fn beyond_zones(&self, axis: &Axis) -> [usize; 2] {
        let last = self.chords.len().saturating_sub(1);
        let way: Vec<(f64, f64)> =
            self.walked(axis).into_iter().zip(&self.chords).map(|(w, chord)| (w, axis.width(*chord))).collect();
        let is_even = |ahead: &mut dyn Iterator<Item = &(f64, f64)>| {
            let Some(&(from, width)) = ahead.next() else { return true };
            let mut near = ahead.take_while(|(at, _)| (at - from).abs() <= AHEAD * width);
            near.all(|(_, other)| *other >= EVEN * width)
        };
        let first = (0..=last).find(|i| is_even(&mut way.iter().skip(*i)));
        let end = (0..=last).find(|i| is_even(&mut way.iter().rev().skip(*i)));
        let beyond = |end: usize, found: Option<usize>| self.nodes[end].and(found).unwrap_or(0);
        [beyond(0, first), last - beyond(1, end)]
    }

    /// Distance along the axis from the first chord to each chord, mm.
    pub(crate) fn walked(&self, axis: &Axis) -> Vec<f64> {
        let mut sum = 0.0;
        let mut before: Option<Point> = None;
        let step = |chord: &Chord| {
            let here = axis.middle(*chord);
            sum += before.map_or(0.0, |b| b.distance(here));
            before = Some(here);
            sum
        };
        self.chords.iter().map(step).collect()
    }
}

/// Where limbs meet.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Node {
    pub(crate) disc: Disc,
    /// A sharp corner between two limbs, not a junction.
    pub(crate) corner: bool,
}

/// The axis as limbs and nodes.
#[derive(Clone, Debug, Default)]
pub(crate) struct Graph {
    pub(crate) limbs: Vec<Limb>,
    pub(crate) nodes: Vec<Node>,
}

impl Graph {
    /// The living triangles as a graph, junctions that belong together merged.
    pub(crate) fn trace(axis: &Axis) -> Graph {
        let mut node_of = vec![None; axis.len()];
        let mut graph = Graph::default();
        for (triangle, node) in node_of.iter_mut().enumerate() {
            if axis.is_alive(triangle) && axis.degree(triangle) > 2 {
                *node = Some(graph.nodes.len());
                graph.nodes.push(Node { disc: axis.disc(triangle), corner: false });
            }
        }
        let mut tracer = Tracer { axis, node_of: &node_of, seen: BTreeSet::new(), passed: vec![false; axis.len()] };
        for start in [Start::Junctions, Start::Leaves, Start::Rings] {
            for triangle in 0..axis.len() {
                tracer.from(triangle, start, &mut graph.limbs);
            }
        }
        graph.merge(axis);
        graph
    }

    /// The limbs at every node, each with the end (0 or 1) that is there.
    pub(crate) fn limbs_at_nodes(&self) -> Vec<Vec<(usize, usize)>> {
        let mut at = vec![Vec::new(); self.nodes.len()];
        for (i, limb) in self.limbs.iter().enumerate() {
            for (end, node) in limb.nodes.iter().enumerate() {
                if let Some(list) = node.and_then(|n| at.get_mut(n)) {
                    list.push((i, end));
                }
            }
        }
        at
    }

    /// Merges junctions that are one crossing of wide limbs.
    fn merge(&mut self, axis: &Axis) {
        let mut group: Vec<usize> = (0..self.nodes.len()).collect();
        let mut kept = Vec::new();
        for limb in std::mem::take(&mut self.limbs) {
            let [Some(a), Some(b)] = limb.nodes else {
                kept.push(limb);
                continue;
            };
            let (Some(one), Some(two)) = (self.nodes.get(a), self.nodes.get(b)) else { continue };
            let (one, two) = (one.disc, two.disc);
            let within = |p: Point, d: Disc| p.distance(d.centre) <= d.radius * DISC_REACH;
            let together = a != b
                && one.centre.distance(two.centre) < CENTRES * one.radius.max(two.radius)
                && limb.chords.iter().map(|c| axis.middle(*c)).all(|p| within(p, one) || within(p, two));
            if together {
                let (a, b) = (find(&group, a), find(&group, b));
                if let Some(slot) = group.get_mut(a.max(b)) {
                    *slot = a.min(b);
                }
            } else {
                kept.push(limb);
            }
        }
        let roots: Vec<usize> = (0..group.len()).map(|n| find(&group, n)).collect();
        let mut name = vec![0; group.len()];
        let mut discs: Vec<Vec<Disc>> = Vec::new();
        // A root is the first of its group.
        for (n, (&root, node)) in roots.iter().zip(&self.nodes).enumerate() {
            if root == n {
                name[root] = discs.len();
                discs.push(Vec::new());
            }
            discs[name[root]].push(node.disc);
        }
        let nodes = discs.iter().map(|discs| Node { disc: around(discs), corner: false }).collect();
        for limb in &mut kept {
            for node in limb.nodes.iter_mut().flatten() {
                *node = roots.get(*node).and_then(|root| name.get(*root)).copied().unwrap_or(0);
            }
        }
        self.nodes = nodes;
        self.limbs = kept;
    }
}

/// The middle of some discs, with a radius that reaches as far as the greatest of them does.
fn around(discs: &[Disc]) -> Disc {
    let count = discs.len().max(1) as f64;
    let centre = (discs.iter().fold(kurbo::Vec2::ZERO, |s, d| s + d.centre.to_vec2()) / count).to_point();
    let radius = discs.iter().map(|d| d.radius + d.centre.distance(centre) / 2.0).fold(0.0, f64::max);
    Disc { centre, radius }
}

fn find(group: &[usize], mut node: usize) -> usize {
    while let Some(&up) = group.get(node)
        && up != node
    {
        node = up;
    }
    node
}

#[derive(Clone, Copy, PartialEq)]
enum Start {
    Junctions,
    Leaves,
    Rings,
}

struct Tracer<'a> {
    axis: &'a Axis,
    node_of: &'a [Option<usize>],
    /// Ways out of junctions already followed: triangle and the left corner of the chord.
    seen: BTreeSet<(usize, usize)>,
    /// Triangles along limbs already followed.
    passed: Vec<bool>,
}

impl Tracer<'_> {
    fn from(&mut self, triangle: usize, start: Start, limbs: &mut Vec<Limb>) {
        if !self.axis.is_alive(triangle) {
            return;
        }
        let degree = self.axis.degree(triangle);
        let starts_here = match start {
            Start::Junctions => degree > 2,
            Start::Leaves => degree == 1 && !self.passed[triangle],
            Start::Rings => degree == 2 && !self.passed[triangle],
        };
        if !starts_here {
            return;
        }
        let ways: Vec<(usize, Chord)> = self.axis.next(triangle).collect();
        let ways = if start == Start::Rings { ways.get(..1).unwrap_or_default().to_vec() } else { ways };
        for (next, chord) in ways {
            if start == Start::Junctions && self.seen.contains(&(triangle, chord.left)) {
                continue;
            }
            limbs.push(self.follow(triangle, next, chord));
        }
    }

    fn follow(&mut self, start: usize, first: usize, chord: Chord) -> Limb {
        let mut limb = Limb { chords: vec![chord], nodes: [self.node_of[start], None], ..Limb::default() };
        if limb.nodes[0].is_none() {
            self.passed[start] = true;
            limb.tips[0] = Some(start);
        }
        let mut here = first;
        loop {
            if here == start && limb.nodes[0].is_none() {
                limb.closed = true;
                limb.tips = [None; 2];
                limb.triangles.push(start);
                return limb;
            }
            if let Some(node) = self.node_of[here] {
                limb.nodes[1] = Some(node);
                let last = limb.chords.last().copied().unwrap_or(chord);
                self.seen.insert((start, chord.left));
                self.seen.insert((here, last.right));
                return limb;
            }
            self.passed[here] = true;
            // The way back is told by its chord: around a small hole two triangles may share two of them.
            let back = limb.chords.last().copied().unwrap_or(chord).flipped();
            let on = self.axis.next(here).find(|(_, chord)| *chord != back);
            let Some((next, chord)) = on else {
                limb.tips[1] = Some(here);
                return limb;
            };
            limb.triangles.push(here);
            limb.chords.push(chord);
            here = next;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::prepare::prepare;
    use super::super::prune::{Significance, prune};
    use super::*;
    use laidwork_geometry::{Polygon, Ring};

    fn graph(rings: &[&[(f64, f64)]]) -> Graph {
        let ring = |points: &&[(f64, f64)]| Ring::new(points.iter().copied().map(Point::from).collect());
        let mut rings = rings.iter().map(ring);
        let polygon = Polygon { outer: rings.next().unwrap(), holes: rings.collect() };
        let mut axis = Axis::new(&prepare(&polygon).parted).unwrap();
        prune(&mut axis, Significance::USUAL);
        Graph::trace(&axis)
    }

    #[test]
    fn a_plus_has_one_node_and_four_limbs() {
        let plus = [
            (8.0, 0.0),
            (12.0, 0.0),
            (12.0, 8.0),
            (20.0, 8.0),
            (20.0, 12.0),
            (12.0, 12.0),
            (12.0, 20.0),
            (8.0, 20.0),
            (8.0, 12.0),
            (0.0, 12.0),
            (0.0, 8.0),
            (8.0, 8.0),
        ];
        let graph = graph(&[&plus]);
        assert_eq!((graph.nodes.len(), graph.limbs.len()), (1, 4));
        assert!(graph.nodes[0].disc.centre.distance(Point::new(10.0, 10.0)) < 0.3);
    }

    #[test]
    fn a_ring_is_one_closed_limb() {
        let round = |r: f64, s: f64| -> Vec<(f64, f64)> {
            (0..80).map(|i| s * i as f64 * std::f64::consts::TAU / 80.0).map(|a| (r * a.cos(), r * a.sin())).collect()
        };
        let graph = graph(&[&round(10.0, 1.0), &round(7.0, -1.0)]);
        assert_eq!((graph.nodes.len(), graph.limbs.len()), (0, 1));
        assert!(graph.limbs[0].closed && graph.limbs[0].chords.len() > 100);
    }

    #[test]
    fn a_bar_is_one_free_limb() {
        let graph = graph(&[&[(0.0, 0.0), (20.0, 0.0), (20.0, 3.0), (0.0, 3.0)]]);
        assert_eq!((graph.nodes.len(), graph.limbs.len()), (0, 1));
        assert_eq!(graph.limbs[0].nodes, [None, None]);
    }
}
