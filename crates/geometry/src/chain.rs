//! A short way through a mesh: a chain of triangles, pulled tight.
//!
//! A* over the triangles, entered where the straight line to the goal would
//! enter them or at the nearer corner, then the funnel algorithm (D. T. Lee and
//! F. P. Preparata, "Euclidean shortest paths in the presence of rectilinear
//! barriers", Networks 14, 1984), which is exact within the chain. Where there is only
//! one chain, as in a polygon without holes, the way is the shortest.
//!
//! O(t log t) for the t triangles looked at.

use crate::Mesh;
use crate::walker::Place;
use kurbo::Point;
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// The ends of an edge of a triangle, right and left as seen on leaving through it.
pub(crate) fn portal(mesh: &Mesh, triangle: usize, edge: usize) -> Option<(Point, Point)> {
    let corners = mesh.corner_points(triangle)?;
    Some((*corners.get(edge)?, *corners.get((edge + 1) % 3)?))
}

/// A candidate of the search; the heap gives the smallest estimate first, ties by index.
#[derive(Clone, Copy, Debug)]
struct Candidate {
    estimate: f64,
    triangle: usize,
}

impl PartialEq for Candidate {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Candidate {}

impl PartialOrd for Candidate {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Candidate {
    fn cmp(&self, other: &Self) -> Ordering {
        other.estimate.total_cmp(&self.estimate).then(other.triangle.cmp(&self.triangle))
    }
}

/// What the search knows of a triangle.
#[derive(Clone, Copy, Debug)]
struct Visit {
    /// Which question it belongs to.
    round: u32,
    /// Length of the way to `entry`.
    length: f64,
    entry: Point,
    /// The triangle before, and the edge of it that was crossed.
    before: usize,
    edge: usize,
    done: bool,
}

/// The search and its buffers.
#[derive(Clone, Debug)]
pub(crate) struct Chain {
    visits: Vec<Visit>,
    round: u32,
    open: BinaryHeap<Candidate>,
    /// Found: triangles and the edge by which each is left, from start to goal.
    chain: Vec<(usize, usize)>,
}

impl Chain {
    pub(crate) fn new(triangles: usize) -> Chain {
        let blank = Visit { round: 0, length: 0.0, entry: Point::ZERO, before: 0, edge: 0, done: false };
        Chain { visits: vec![blank; triangles], round: 0, open: BinaryHeap::new(), chain: Vec::new() }
    }

    /// A way, both ends included: shortest within the chain of triangles found. `None`
    /// when the places are not connected.
    pub(crate) fn way(&mut self, mesh: &Mesh, from: Place, to: Place) -> Option<Vec<Point>> {
        self.find(mesh, from, to)?;
        Some(pull_tight(mesh, &self.chain, from.point, to.point))
    }

    /// Fills `self.chain`; `None` when the places are not connected.
    fn find(&mut self, mesh: &Mesh, from: Place, to: Place) -> Option<()> {
        self.round = self.round.wrapping_add(1);
        self.open.clear();
        let start =
            Visit { round: self.round, length: 0.0, entry: from.point, before: from.triangle, edge: 0, done: false };
        *self.visits.get_mut(from.triangle)? = start;
        self.open.push(Candidate { estimate: 0.0, triangle: from.triangle });
        while let Some(Candidate { triangle, .. }) = self.open.pop() {
            if triangle == to.triangle {
                self.trace(from.triangle, to.triangle);
                return Some(());
            }
            let here = self.visits.get_mut(triangle)?;
            if std::mem::replace(&mut here.done, true) {
                continue;
            }
            let here = *here;
            for edge in 0..3 {
                self.step(mesh, here, triangle, edge, to.point);
            }
        }
        None
    }

    fn step(&mut self, mesh: &Mesh, here: Visit, triangle: usize, edge: usize, goal: Point) -> Option<()> {
        let beyond = mesh.neighbour(triangle, edge)?;
        let (a, b) = portal(mesh, triangle, edge)?;
        let entry = toward(here.entry, goal, a, b);
        let length = here.length + here.entry.distance(entry);
        let visit = self.visits.get_mut(beyond)?;
        if visit.round == self.round && (visit.done || visit.length <= length) {
            return None;
        }
        *visit = Visit { round: self.round, length, entry, before: triangle, edge, done: false };
        self.open.push(Candidate { estimate: length + entry.distance(goal), triangle: beyond });
        Some(())
    }

    fn trace(&mut self, start: usize, goal: usize) {
        self.chain.clear();
        let mut triangle = goal;
        while triangle != start {
            let Some(visit) = self.visits.get(triangle) else { break };
            self.chain.push((visit.before, visit.edge));
            triangle = visit.before;
        }
        self.chain.reverse();
    }
}

/// Where a way from `from` to `goal` best crosses the edge `a`-`b`: on the
/// straight line, or at the end nearer to it.
fn toward(from: Point, goal: Point, a: Point, b: Point) -> Point {
    let along = goal - from;
    let (left, right) = (along.cross(a - from), along.cross(b - from));
    if left < 0.0 && right > 0.0 { a.lerp(b, left / (left - right)) } else { closest_of(goal, from, a, b) }
}

fn closest_of(goal: Point, from: Point, a: Point, b: Point) -> Point {
    let by = |p: Point| from.distance(p) + p.distance(goal);
    if by(a) <= by(b) { a } else { b }
}

/// The shortest way through a chain of triangles, each with the edge by which it is left.
fn pull_tight(mesh: &Mesh, chain: &[(usize, usize)], from: Point, to: Point) -> Vec<Point> {
    let mut portals: Vec<(Point, Point)> =
        chain.iter().filter_map(|&(triangle, edge)| portal(mesh, triangle, edge)).collect();
    portals.push((to, to));
    let mut way = vec![from];
    let (mut apex, mut right, mut left) = (from, from, from);
    let (mut right_at, mut left_at) = (0, 0);
    let mut at = 0;
    while let Some(&(a, b)) = portals.get(at) {
        at += 1;
        if (right - apex).cross(a - apex) >= 0.0 {
            if same(apex, right) || (left - apex).cross(a - apex) < 0.0 {
                (right, right_at) = (a, at);
            } else {
                way.push(left);
                apex = left;
                at = left_at;
                (right, right_at) = (apex, at);
                continue;
            }
        }
        if (left - apex).cross(b - apex) <= 0.0 {
            if same(apex, left) || (right - apex).cross(b - apex) > 0.0 {
                (left, left_at) = (b, at);
            } else {
                way.push(right);
                apex = right;
                at = right_at;
                (left, left_at) = (apex, at);
                continue;
            }
        }
    }
    way.push(to);
    way.dedup_by(|a, b| same(*a, *b));
    if way.len() == 1 {
        way.push(to);
    }
    way
}

fn same(a: Point, b: Point) -> bool {
    a.distance_squared(b) < 1e-18
}
