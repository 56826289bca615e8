//! Lines that touch, sewn as one chain.
//!
//! Method: lines are cut where they touch, which makes a graph. A walk over all
//! its edges with as little as possible walked twice (the Chinese postman's
//! problem, [`walk_every_edge`]) is one unbroken chain. What is walked twice
//! lies on the line, the second time between the holes of the first, and does
//! not show.
//!
//! Time: that of the walk; see `laidwork_geometry::walk_every_edge`.

use crate::graph::{Edge, Graph};
use crate::path::Path;
use crate::points::{Hole, places, thinned};
use crate::sew::{between, is_stitched, sew, too_short, tripled};
use crate::{RunSettings, RunStyle};
use kurbo::Point;
use laidwork_geometry::{PostmanEdge, PostmanWalk, walk_every_edge};
use laidwork_plan::{Pass, PassKind, Warned};
use std::collections::BTreeMap;

/// Where the sewing of a network begins and ends, where the caller cares.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ends {
    /// Begin as near to this as possible.
    pub start: Option<Point>,
    /// End as near to this as possible.
    pub end: Option<Point>,
}

/// Sews several lines (points in mm, whether closed) as few unbroken chains:
/// one for each set of lines that touch. Chains come nearest first from
/// `ends.start`, or in the order of their lines.
///
/// A warning names `name` when a line is too short for a stitch and touches no other.
pub fn network(name: &str, lines: &[(Vec<Point>, bool)], settings: &RunSettings, ends: Ends) -> Warned<Vec<Vec<Pass>>> {
    let mut warnings = Vec::new();
    let paths: Vec<(Path, bool)> =
        lines.iter().filter_map(|(points, closed)| Some((Path::new(points, *closed)?, *closed))).collect();
    if paths.len() < lines.len() {
        warnings.push(too_short(name));
    }
    let graph = Graph::new(&paths);
    let mut parts: Vec<Part> = graph.parts().into_iter().map(|edges| Part::new(&graph, edges)).collect();
    let mut chains = Vec::new();
    let mut here = ends.start;
    while !parts.is_empty() {
        let next = here.map_or(0, |here| nearest(&parts, here));
        let part = parts.remove(next);
        let end = ends.end.filter(|_| parts.is_empty());
        let passes = part.sew(name, settings, Ends { start: here, end }).take(&mut warnings);
        if let Some(last) = passes.last().and_then(|pass| pass.points.last()) {
            here = Some(*last);
            chains.push(passes);
        }
    }
    Warned { value: chains, warnings }
}

/// Index of the part with the vertex nearest to a point.
fn nearest(parts: &[Part<'_>], here: Point) -> usize {
    let distance = |part: &Part<'_>| part.places.iter().map(|p| p.distance(here)).fold(f64::INFINITY, f64::min);
    let distances: Vec<f64> = parts.iter().map(distance).collect();
    (0..parts.len()).min_by(|&a, &b| distances[a].total_cmp(&distances[b]).then(a.cmp(&b))).unwrap_or(0)
}

/// A connected part of the graph, its vertices counted from 0.
struct Part<'a> {
    places: Vec<Point>,
    edges: Vec<&'a Edge>,
    ends: Vec<[usize; 2]>,
}

impl<'a> Part<'a> {
    fn new(graph: &'a Graph, edges: Vec<usize>) -> Part<'a> {
        let mut part = Part { places: Vec::new(), edges: Vec::new(), ends: Vec::new() };
        let mut known: BTreeMap<usize, usize> = BTreeMap::new();
        for edge in edges.into_iter().filter_map(|edge| graph.edges.get(edge)) {
            let ends = edge.ends.map(|vertex| {
                *known.entry(vertex).or_insert_with(|| {
                    part.places.push(graph.vertices.get(vertex).copied().unwrap_or(Point::ZERO));
                    part.places.len() - 1
                })
            });
            part.edges.push(edge);
            part.ends.push(ends);
        }
        part
    }

    fn sew(&self, name: &str, settings: &RunSettings, ends: Ends) -> Warned<Vec<Pass>> {
        if let (&[edge], &[[a, b]]) = (self.edges.as_slice(), self.ends.as_slice()) {
            // A line by itself; a closed one may begin anywhere.
            let start = ends.start.or_else(|| self.far_from(ends.end, a, b));
            return sew(name, edge.path.points(), a == b, settings, start);
        }
        let settings = settings.checked();
        let holes = self.holes(&self.walk(settings.style, ends), &settings);
        if !is_stitched(&holes, &settings) {
            return Warned { value: Vec::new(), warnings: vec![too_short(name)] };
        }
        let points = if settings.style == RunStyle::Triple { tripled(&holes) } else { holes };
        Warned::quiet(vec![Pass::new(PassKind::Top, points)])
    }

    /// The end of a single line to begin at, so that it ends near `end`.
    fn far_from(&self, end: Option<Point>, a: usize, b: usize) -> Option<Point> {
        let (end, a, b) = (end?, *self.places.get(a)?, *self.places.get(b)?);
        Some(if a.distance(end) >= b.distance(end) { a } else { b })
    }

    /// The walk that takes the least thread, counting what it is off the ends asked for.
    fn walk(&self, style: RunStyle, ends: Ends) -> Vec<(usize, bool)> {
        let copies = if style == RunStyle::ThereAndBack { 2 } else { 1 };
        let edges: Vec<PostmanEdge> = (0..copies)
            .flat_map(|_| self.edges.iter().zip(&self.ends))
            .map(|(edge, &[a, b])| PostmanEdge { a: a as u32, b: b as u32, length: edge.path.length() })
            .collect();
        let start = ends.start.and_then(|point| self.vertex_near(point));
        let end = ends.end.and_then(|point| self.vertex_near(point));
        let choices: &[(Option<u32>, Option<u32>)] = if style == RunStyle::ThereAndBack {
            &[(start, start), (end, end)]
        } else {
            &[(None, None), (start, None), (None, end), (start, end)]
        };
        let mut best: Option<(f64, Vec<(usize, bool)>)> = None;
        for &(start, end) in choices {
            let walk = walk_every_edge(self.places.len(), &edges, start, end);
            let steps = steps_of(&walk, self.edges.len());
            let back: Vec<(usize, bool)> = steps.iter().rev().map(|&(edge, forward)| (edge, !forward)).collect();
            for steps in [steps, back] {
                let cost = self.cost(&steps, ends);
                if best.as_ref().is_none_or(|(least, _)| cost < least - 1e-9) {
                    best = Some((cost, steps));
                }
            }
        }
        best.map(|(_, steps)| steps).unwrap_or_default()
    }

    fn vertex_near(&self, point: Point) -> Option<u32> {
        let near = |&a: &usize, &b: &usize| {
            self.places[a].distance(point).total_cmp(&self.places[b].distance(point)).then(a.cmp(&b))
        };
        (0..self.places.len()).min_by(near).map(|vertex| vertex as u32)
    }

    /// Thread that a walk takes, and how far off the ends asked for it is, mm.
    fn cost(&self, steps: &[(usize, bool)], ends: Ends) -> f64 {
        let walked: f64 = steps.iter().filter_map(|step| self.edges.get(step.0)).map(|edge| edge.path.length()).sum();
        let off = |step: Option<&(usize, bool)>, at_end: bool, wish: Option<Point>| {
            let place = step.and_then(|&(edge, forward)| {
                let ends = self.ends.get(edge)?;
                self.places.get(ends[usize::from(forward == at_end)])
            });
            place.zip(wish).map_or(0.0, |(place, wish)| place.distance(wish))
        };
        walked + off(steps.first(), false, ends.start) + off(steps.last(), true, ends.end)
    }

    /// Needle points along a walk. An edge walked again gets holes between its first ones.
    fn holes(&self, steps: &[(usize, bool)], settings: &RunSettings) -> Vec<Point> {
        let mut times = vec![0; self.edges.len()];
        let mut holes: Vec<Hole> = Vec::new();
        for &(index, forward) in steps {
            let (Some(edge), Some(times)) = (self.edges.get(index), times.get_mut(index)) else { continue };
            let places = places(&edge.path, settings);
            let mut stretch = if *times % 2 == 0 {
                places.iter().map(|place| Hole { at: place.at, fixed: place.fixed }).collect()
            } else {
                let again = between(&edge.path, &places, settings.shortest_stitch);
                let last = again.len().saturating_sub(1);
                let hole = |(i, at)| Hole { at, fixed: i == 0 || i == last };
                again.into_iter().enumerate().map(hole).collect::<Vec<_>>()
            };
            *times += 1;
            if !forward {
                stretch.reverse();
            }
            let joins = usize::from(!holes.is_empty());
            holes.extend(stretch.into_iter().skip(joins));
        }
        thinned(holes, settings.shortest_stitch).into_iter().map(|hole| hole.at).collect()
    }
}

/// The edges of a walk, of `edges` that may have been given in several copies.
fn steps_of(walk: &PostmanWalk, edges: usize) -> Vec<(usize, bool)> {
    walk.steps.iter().map(|step| (step.edge as usize % edges.max(1), step.forward)).collect()
}
