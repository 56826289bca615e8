//! The shortest way through a mesh, exactly.
//!
//! Polyanya (M. Cui, D. Harabor and A. Grastien, "Compromise-free pathfinding
//! on a navigation mesh", IJCAI 2017): A* whose candidates are intervals on the
//! edges of the triangles, each with the last corner (*root*) from which all
//! of it is seen. The estimate of a candidate is the length of the shortest way
//! through its interval, triangles ahead ignored, so the first one that reaches
//! the goal is shortest, to rounding.
//!
//! Use it for questions between two places of one mesh. Typically a small part of the mesh
//! is looked at; the search gives up after [`PATIENCE`] candidates for each triangle, and the
//! caller falls back on a coarser method.

use crate::Mesh;
use crate::walker::Place;
use kurbo::Point;
use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::f64::consts::PI;

/// Candidates for each triangle of the mesh before the search gives up.
const PATIENCE: usize = 8;

/// Points nearer than this are the same, mm. Far below the mesh's own resolution.
const SAME: f64 = 1e-9;

/// No corner: an end of an interval inside an edge, or the start as root.
const NO_CORNER: usize = usize::MAX;

/// A point and the corner of the mesh it is, if any.
#[derive(Clone, Copy, Debug)]
struct Spot {
    point: Point,
    corner: usize,
}

/// An interval on the edge through which `triangle` is entered.
#[derive(Clone, Copy, Debug)]
struct Candidate {
    root: Spot,
    /// Length of the way to the root.
    length: f64,
    right: Spot,
    left: Spot,
    triangle: usize,
    entered: usize,
    /// The candidate it was made from.
    before: usize,
}

/// Heap entry: the smallest estimate first, ties by index.
#[derive(Clone, Copy, Debug)]
struct Open {
    estimate: f64,
    candidate: usize,
}

impl PartialEq for Open {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Open {}

impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Open {
    fn cmp(&self, other: &Self) -> Ordering {
        other.estimate.total_cmp(&self.estimate).then(other.candidate.cmp(&self.candidate))
    }
}

/// The search and its buffers.
#[derive(Clone, Debug)]
pub(crate) struct Shortest {
    /// Corners around which a way can turn.
    reflex: Vec<bool>,
    /// Question number and length of the shortest way found to each corner.
    best: Vec<(u32, f64)>,
    round: u32,
    candidates: Vec<Candidate>,
    open: BinaryHeap<Open>,
}

impl Shortest {
    pub(crate) fn new(mesh: &Mesh) -> Shortest {
        let mut angles = vec![0.0; mesh.points().len()];
        for triangle in 0..mesh.len() {
            let (Some(corners), Some(points)) = (mesh.corners(triangle), mesh.corner_points(triangle)) else {
                continue;
            };
            for k in 0..3 {
                let (a, b) = (points[(k + 1) % 3] - points[k], points[(k + 2) % 3] - points[k]);
                if let Some(angle) = angles.get_mut(corners[k]) {
                    *angle += a.cross(b).atan2(a.dot(b));
                }
            }
        }
        let reflex = angles.iter().map(|angle| *angle > PI + 1e-9).collect();
        Shortest {
            reflex,
            best: vec![(0, 0.0); mesh.points().len()],
            round: 0,
            candidates: Vec::new(),
            open: BinaryHeap::new(),
        }
    }

    /// The shortest way, both ends included; `None` when there is none or the search gave up.
    pub(crate) fn way(&mut self, mesh: &Mesh, from: Place, to: Place) -> Option<Vec<Point>> {
        self.begin();
        let root = Spot { point: from.point, corner: NO_CORNER };
        for edge in 0..3 {
            let Some((right, left)) = exit(mesh, from.triangle, edge) else { continue };
            self.push(mesh, to, from.triangle, edge, Sight { root, length: 0.0, right, left, before: NO_CORNER });
        }
        let patience = PATIENCE * mesh.len() + 100;
        while let Some(Open { candidate, .. }) = self.open.pop() {
            let here = *self.candidates.get(candidate)?;
            if here.triangle == to.triangle {
                return Some(self.trace(here, to.point));
            }
            if self.candidates.len() > patience {
                return None;
            }
            if self.is_beaten(here.root, here.length) {
                continue;
            }
            self.expand(mesh, to, candidate, here);
        }
        None
    }

    fn begin(&mut self) {
        self.candidates.clear();
        self.open.clear();
        self.round = self.round.wrapping_add(1);
        if self.round == 0 {
            self.best.fill((0, 0.0));
            self.round = 1;
        }
    }

    /// Whether a shorter way to `root` is known.
    fn is_beaten(&self, root: Spot, length: f64) -> bool {
        self.best.get(root.corner).is_some_and(|&(round, best)| round == self.round && best + SAME < length)
    }

    /// The candidates beyond `here`: what its root sees through it on the two far
    /// edges, and what only a turn at one of its ends reaches.
    fn expand(&mut self, mesh: &Mesh, to: Place, index: usize, here: Candidate) {
        let (right_edge, left_edge) = ((here.entered + 1) % 3, (here.entered + 2) % 3);
        let Some((a, c)) = exit(mesh, here.triangle, right_edge) else { return };
        let Some((_, b)) = exit(mesh, here.triangle, left_edge) else { return };
        let Candidate { root, length, right, left, .. } = here;
        let (to_right, to_left) = (right.point - root.point, left.point - root.point);
        let to_apex = c.point - root.point;
        // On which side of the wedge of sight the apex lies; nearer than SAME to a ray is on it.
        let apex_right = to_right.cross(to_apex) < -SAME * to_right.hypot();
        let apex_left = to_left.cross(to_apex) > SAME * to_left.hypot();
        let seen = |right, left| Sight { root, length, right, left, before: index };
        let hit = |end: Spot, p: Spot, q: Spot| meet(root.point, end.point, p, q);
        if !apex_right {
            let start = if right.corner == a.corner { a } else { hit(right, a, c) };
            let end = if apex_left { hit(left, a, c) } else { c };
            self.push(mesh, to, here.triangle, right_edge, seen(start, end));
        }
        if !apex_left {
            let start = if apex_right { hit(right, c, b) } else { c };
            let end = if left.corner == b.corner { b } else { hit(left, c, b) };
            self.push(mesh, to, here.triangle, left_edge, seen(start, end));
        }
        if apex_right && right.corner == a.corner && self.can_turn(a) {
            let turned = |right, left| turn(root, length, a, right, left, index);
            self.push(mesh, to, here.triangle, right_edge, turned(a, c));
            self.push(mesh, to, here.triangle, left_edge, turned(c, hit(right, c, b)));
        }
        if apex_left && left.corner == b.corner && self.can_turn(b) {
            let turned = |right, left| turn(root, length, b, right, left, index);
            self.push(mesh, to, here.triangle, left_edge, turned(c, b));
            self.push(mesh, to, here.triangle, right_edge, turned(hit(left, a, c), c));
        }
    }

    fn can_turn(&self, spot: Spot) -> bool {
        self.reflex.get(spot.corner).copied().unwrap_or(false)
    }

    /// Adds what is seen on an edge of `triangle`, unless it is nothing, leads nowhere or is beaten.
    fn push(&mut self, mesh: &Mesh, to: Place, triangle: usize, edge: usize, sight: Sight) {
        let Some(beyond) = mesh.neighbour(triangle, edge) else { return };
        let Some(entered) = (0..3).find(|&k| mesh.neighbour(beyond, k) == Some(triangle)) else { return };
        let Sight { root, length, right, left, before } = sight;
        if right.point.distance(left.point) < SAME || self.is_beaten(root, length) {
            return;
        }
        if let Some(best) = self.best.get_mut(root.corner)
            && (best.0 != self.round || length < best.1)
        {
            *best = (self.round, length);
        }
        let estimate = length + shortest_through(root.point, right.point, left.point, to.point);
        self.open.push(Open { estimate, candidate: self.candidates.len() });
        self.candidates.push(Candidate { root, length, right, left, triangle: beyond, entered, before });
    }

    /// The way back from the last candidate through its roots.
    fn trace(&self, last: Candidate, goal: Point) -> Vec<Point> {
        let mut way = vec![goal];
        way.extend(bend(last.root.point, last.right.point, last.left.point, goal));
        let mut at = Some(last);
        while let Some(candidate) = at {
            if way.last().is_none_or(|point| point.distance(candidate.root.point) > SAME) {
                way.push(candidate.root.point);
            }
            at = self.candidates.get(candidate.before).copied();
        }
        way.reverse();
        way
    }
}

/// What is seen of an edge.
#[derive(Clone, Copy)]
struct Sight {
    root: Spot,
    length: f64,
    right: Spot,
    left: Spot,
    before: usize,
}

/// What is reached by turning at `corner`.
fn turn(root: Spot, length: f64, corner: Spot, right: Spot, left: Spot, before: usize) -> Sight {
    Sight { root: corner, length: length + root.point.distance(corner.point), right, left, before }
}

/// The ends of an edge of `triangle`, right and left as seen on leaving through it.
fn exit(mesh: &Mesh, triangle: usize, edge: usize) -> Option<(Spot, Spot)> {
    let (corners, points) = (mesh.corners(triangle)?, mesh.corner_points(triangle)?);
    let spot = |k: usize| Some(Spot { point: *points.get(k)?, corner: *corners.get(k)? });
    Some((spot(edge)?, spot((edge + 1) % 3)?))
}

/// Where the ray from `root` through `end` meets the segment `p`-`q`.
fn meet(root: Point, end: Point, p: Spot, q: Spot) -> Spot {
    let ray = end - root;
    let (from, to) = (ray.cross(p.point - root), ray.cross(q.point - root));
    let share = from / (from - to);
    let point = p.point.lerp(q.point, share);
    if share.is_nan() || share <= 0.0 || point.distance(p.point) < SAME {
        p
    } else if share >= 1.0 || point.distance(q.point) < SAME {
        q
    } else {
        Spot { point, corner: NO_CORNER }
    }
}

/// Length of the shortest way from `root` through the interval to `goal`, or
/// to its mirror image when it lies on the root's side.
fn shortest_through(root: Point, right: Point, left: Point, goal: Point) -> f64 {
    let line = left - right;
    let (of_root, of_goal) = (line.cross(root - right), line.cross(goal - right));
    let goal = if of_root * of_goal > 0.0 { goal - line.turn_90() * (2.0 * of_goal / line.hypot2()) } else { goal };
    match bend(root, right, left, goal) {
        Some(at) => root.distance(at) + at.distance(goal),
        None => root.distance(goal),
    }
}

/// The end of the interval at which the way from `root` to `goal` has to turn, if any.
fn bend(root: Point, right: Point, left: Point, goal: Point) -> Option<Point> {
    if (right - root).cross(goal - root) < 0.0 {
        Some(right)
    } else if (left - root).cross(goal - root) > 0.0 {
        Some(left)
    } else {
        None
    }
}
