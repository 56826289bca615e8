//! Lines that touch as a graph: vertices where they meet, edges between.
//!
//! Two lines touch where they cross, and where the end or a corner of one lies
//! within [`TOUCH`] of the other. Of a long stretch that two lines share, the
//! first place is enough to sew them in one go.
//!
//! Time: O(n log n) for n edges of which each is near few others.

use crate::path::{Path, nearest_on_segment};
use kurbo::Point;
use laidwork_geometry::Sets;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};
use std::collections::BTreeMap;

/// Lines nearer to each other than this touch, mm: half the width of a sewn thread.
pub(crate) const TOUCH: f64 = 0.15;

/// A stretch of a line between two vertices.
#[derive(Debug)]
pub(crate) struct Edge {
    /// The vertex it begins at, and the one it ends at.
    pub(crate) ends: [usize; 2],
    /// Its points, from vertex to vertex.
    pub(crate) path: Path,
}

/// Lines cut where they touch.
#[derive(Debug, Default)]
pub(crate) struct Graph {
    /// Where the vertices are.
    pub(crate) vertices: Vec<Point>,
    pub(crate) edges: Vec<Edge>,
}

/// A place on a line where another one touches it.
#[derive(Clone, Copy, Debug)]
struct Cut {
    line: usize,
    along: f64,
    /// Which touch it belongs to; the other line has a cut of the same number.
    touch: usize,
}

impl Graph {
    /// The graph of `lines`; every end of an open line is a vertex, and a
    /// closed one has one vertex at least.
    pub(crate) fn new(lines: &[(Path, bool)]) -> Graph {
        let mut cuts = touches(lines);
        let mut touch = cuts.len();
        for (line, (path, closed)) in lines.iter().enumerate() {
            cuts.push(Cut { line, along: 0.0, touch });
            // The end of a closed line is its beginning.
            let end = if *closed { touch } else { touch + 1 };
            cuts.push(Cut { line, along: path.length(), touch: end });
            touch += 2;
        }
        cuts.sort_by(|a, b| a.line.cmp(&b.line).then(a.along.total_cmp(&b.along)).then(a.touch.cmp(&b.touch)));
        let groups = grouped(&cuts, touch);
        let mut graph = Graph::default();
        let mut known: BTreeMap<usize, usize> = BTreeMap::new();
        let mut vertex_of = |graph: &mut Graph, cut: &Cut| {
            let place = || lines.get(cut.line).map_or(Point::ZERO, |(path, _)| path.at(cut.along));
            *known.entry(groups.get(cut.touch).copied().unwrap_or(cut.touch)).or_insert_with(|| {
                graph.vertices.push(place());
                graph.vertices.len() - 1
            })
        };
        for pair in cuts.windows(2).filter(|pair| pair[0].line == pair[1].line) {
            let ends = [vertex_of(&mut graph, &pair[0]), vertex_of(&mut graph, &pair[1])];
            let Some((path, _)) = lines.get(pair[0].line) else { continue };
            let is_short = pair[1].along - pair[0].along < 2.0 * TOUCH;
            if ends[0] == ends[1] && is_short {
                continue;
            }
            let mut points = path.between(pair[0].along, pair[1].along);
            if let (Some(from), Some(to)) = (graph.vertices.get(ends[0]), graph.vertices.get(ends[1])) {
                points.first_mut().into_iter().for_each(|point| *point = *from);
                points.last_mut().into_iter().for_each(|point| *point = *to);
            }
            if let Some(path) = Path::new(&points, false) {
                graph.edges.push(Edge { ends, path });
            }
        }
        graph
    }

    /// The edges of each connected part, by index.
    pub(crate) fn parts(&self) -> Vec<Vec<usize>> {
        let mut sets = Sets::new(self.vertices.len());
        self.edges.iter().for_each(|edge| {
            sets.join(edge.ends[0], edge.ends[1]);
        });
        let mut parts: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (i, edge) in self.edges.iter().enumerate() {
            parts.entry(sets.find(edge.ends[0])).or_default().push(i);
        }
        let mut parts: Vec<Vec<usize>> = parts.into_values().collect();
        parts.sort();
        parts
    }
}

/// Touches that are one vertex: those of one number, and neighbours on a line.
fn grouped(cuts: &[Cut], touches: usize) -> Vec<usize> {
    let mut sets = Sets::new(touches);
    for pair in cuts.windows(2) {
        if pair[0].line == pair[1].line && pair[1].along - pair[0].along < TOUCH {
            sets.join(pair[0].touch, pair[1].touch);
        }
    }
    (0..touches).map(|touch| sets.find(touch)).collect()
}

type Segment = GeomWithData<Rectangle<[f64; 2]>, (usize, usize)>;

/// Where lines touch each other: two cuts a touch.
fn touches(lines: &[(Path, bool)]) -> Vec<Cut> {
    let mut segments = Vec::new();
    for (line, (path, _)) in lines.iter().enumerate() {
        for (edge, (a, b)) in path.points().iter().zip(path.points().iter().skip(1)).enumerate() {
            segments.push(Segment::new(Rectangle::from_corners([a.x, a.y], [b.x, b.y]), (line, edge)));
        }
    }
    let index = RTree::bulk_load(segments);
    let mut found: Vec<(usize, f64, usize, f64)> = Vec::new();
    let mut near: BTreeMap<(usize, usize), (f64, f64)> = BTreeMap::new();
    for (line, (path, closed)) in lines.iter().enumerate() {
        let points = path.points();
        for (i, (&a, &b)) in points.iter().zip(points.iter().skip(1)).enumerate() {
            let others = |low: [f64; 2], high: [f64; 2]| {
                let mut others: Vec<(usize, usize)> = index
                    .locate_in_envelope_intersecting(AABB::from_corners(low, high))
                    .map(|segment| segment.data)
                    .filter(|other| other.0 != line)
                    .collect();
                others.sort_unstable();
                others
            };
            for (other, edge) in others([a.x.min(b.x), a.y.min(b.y)], [a.x.max(b.x), a.y.max(b.y)]) {
                if other > line
                    && let Some((s, t)) = crossing(lines, (a, b), other, edge)
                {
                    found.push((line, path.along(i) + s * a.distance(b), other, t));
                }
            }
            let corners = [(i, a, i == 0 && !closed), (i + 1, b, i + 2 == points.len() && !closed)];
            for (corner, point, is_end) in corners.into_iter().filter(|corner| corner.0 == i || corner.2) {
                for (other, edge) in others([point.x - TOUCH, point.y - TOUCH], [point.x + TOUCH, point.y + TOUCH]) {
                    let Some(at) = near_place(lines, point, other, edge) else { continue };
                    if is_end {
                        found.push((line, path.along(corner), other, at));
                    } else {
                        near.entry((line, other)).or_insert((path.along(corner), at));
                    }
                }
            }
        }
    }
    // Corners beside another line count where nothing else joins the two.
    let joined: std::collections::BTreeSet<(usize, usize)> =
        found.iter().flat_map(|&(a, _, b, _)| [(a, b), (b, a)]).collect();
    found.extend(near.into_iter().filter(|(pair, _)| !joined.contains(pair)).map(|((a, b), (s, t))| (a, s, b, t)));
    let cuts = found
        .into_iter()
        .enumerate()
        .flat_map(|(touch, (a, s, b, t))| [Cut { line: a, along: s, touch }, Cut { line: b, along: t, touch }]);
    cuts.collect()
}

fn edge_of(lines: &[(Path, bool)], line: usize, edge: usize) -> Option<(Point, Point, f64)> {
    let (path, _) = lines.get(line)?;
    Some((*path.points().get(edge)?, *path.points().get(edge + 1)?, path.along(edge)))
}

/// Where the edge `a`-`b` (as a share of it) crosses an edge of another line
/// (as a distance along that line).
fn crossing(lines: &[(Path, bool)], (a, b): (Point, Point), line: usize, edge: usize) -> Option<(f64, f64)> {
    let (c, d, along) = edge_of(lines, line, edge)?;
    let (own, other) = (b - a, d - c);
    let turn = own.cross(other);
    if turn.abs() < 1e-12 * own.hypot() * other.hypot() {
        return None;
    }
    let (s, t) = ((c - a).cross(other) / turn, (c - a).cross(own) / turn);
    let inside = (0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t);
    inside.then(|| (s, along + t * c.distance(d)))
}

/// Where on an edge of a line the point nearest to `point` lies, if it touches.
fn near_place(lines: &[(Path, bool)], point: Point, line: usize, edge: usize) -> Option<f64> {
    let (a, b, along) = edge_of(lines, line, edge)?;
    let t = nearest_on_segment(point, a, b);
    (a.lerp(b, t).distance(point) <= TOUCH).then(|| along + t * a.distance(b))
}
