//! Rows as a graph: corridors between junctions. See [`walk_rows`](crate::walk_rows).

use crate::Sets;
use crate::postman::PostmanEdge;
use crate::row_walk::WalkEnds;
use crate::{RowGraph, RowSpan};

/// A span that overhangs its only neighbour by more than this is a junction, mm.
const OVERHANG: f64 = 4.0;

pub(crate) const NONE: u32 = u32::MAX;

/// A corridor, lower end first. `rows` may be 0: two junctions that touch.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    /// The junctions at its lower and its upper end.
    pub(crate) ends: [u32; 2],
    /// Its first and its last span.
    pub(crate) spans: [u32; 2],
    pub(crate) rows: u32,
    pub(crate) length: f64,
    /// At each end, where its corners are along the junction's row.
    pub(crate) corners: [[f64; 2]; 2],
}

pub(crate) struct Graph {
    /// Spans of the junctions.
    pub(crate) junctions: Vec<u32>,
    pub(crate) edges: Vec<Edge>,
    pub(crate) start: Option<(u32, f64)>,
    pub(crate) end: Option<(u32, f64)>,
}

impl Graph {
    pub(crate) fn new(rows: &RowGraph, spacing: f64, ends: WalkEnds) -> Graph {
        let junction_of = mark_junctions(rows, ends);
        let junctions: Vec<u32> = (0..rows.spans.len() as u32).filter(|&s| junction_of[s as usize] != NONE).collect();
        let mut edges = Vec::new();
        for (junction, &span) in junctions.iter().enumerate() {
            for link in rows.links_up(span) {
                edges.push(follow(rows, &junction_of, junction as u32, link, spacing));
            }
        }
        let at = |end: Option<(u32, f64)>| end.map(|(span, x)| (junction_of[span as usize], x));
        Graph { start: at(ends.start), end: at(ends.end), junctions, edges }
    }

    /// Junctions and edges of each connected part, the one with the end last.
    pub(crate) fn connected_parts(&self, ends: WalkEnds) -> Vec<Part> {
        // One corridor between two junctions, as convex shapes have.
        if let ([edge], [_, _]) = (&self.edges[..], &self.junctions[..])
            && let [a, b] = edge.ends
            && a != b
        {
            let edges = vec![(0, PostmanEdge { a, b, length: edge.length })];
            return vec![Part { junctions: vec![0, 1], edges, start: self.start, end: self.end }];
        }
        let count = self.junctions.len();
        let mut sets = Sets::new(count);
        for edge in &self.edges {
            sets.join(edge.ends[0] as usize, edge.ends[1] as usize);
        }
        let mut part_of = vec![NONE; count];
        let mut parts: Vec<Part> = Vec::new();
        let mut local = vec![0; count];
        for (v, local) in local.iter_mut().enumerate() {
            let root = sets.find(v);
            if part_of[root] == NONE {
                part_of[root] = parts.len() as u32;
                parts.push(Part::default());
            }
            let part = &mut parts[part_of[root] as usize];
            *local = part.junctions.len() as u32;
            part.junctions.push(v as u32);
        }
        for (i, edge) in self.edges.iter().enumerate() {
            let part = &mut parts[part_of[sets.find(edge.ends[0] as usize)] as usize];
            let (a, b) = (local[edge.ends[0] as usize], local[edge.ends[1] as usize]);
            part.edges.push((i as u32, PostmanEdge { a, b, length: edge.length }));
        }
        let mut place = |end: Option<(u32, f64)>| {
            end.map(|(junction, x)| (part_of[sets.find(junction as usize)] as usize, local[junction as usize], x))
        };
        let (start, end) = (place(self.start), place(self.end));
        if let Some((part, junction, x)) = start {
            parts[part].start = Some((junction, x));
        }
        if let Some((part, junction, x)) = end {
            parts[part].end = Some((junction, x));
        }
        let rank = |part: &Part| (part.end.is_some() && ends.end.is_some(), part.start.is_none());
        parts.sort_by_key(rank);
        parts
    }
}

/// Part of the graph, its junctions counted from 0.
#[derive(Default)]
pub(crate) struct Part {
    pub(crate) junctions: Vec<u32>,
    pub(crate) edges: Vec<(u32, PostmanEdge)>,
    pub(crate) start: Option<(u32, f64)>,
    pub(crate) end: Option<(u32, f64)>,
}

/// For each span the index of its junction, or [`NONE`].
fn mark_junctions(rows: &RowGraph, ends: WalkEnds) -> Vec<u32> {
    let [start, end] = [ends.start, ends.end].map(|end| end.map_or(NONE, |(span, _)| span));
    let overhangs = |span: &RowSpan, other: u32| {
        let other = &rows.spans[other as usize];
        other.from - span.from > OVERHANG || span.to - other.to > OVERHANG
    };
    let mut count = 0;
    let mark = |(i, span): (usize, &RowSpan)| {
        let is_junction = span.up.1 != 1
            || span.down.1 != 1
            || i as u32 == start
            || i as u32 == end
            || overhangs(span, rows.links[span.up.0 as usize].above)
            || overhangs(span, rows.links[span.down.0 as usize].below);
        if is_junction {
            count += 1;
        }
        if is_junction { count - 1 } else { NONE }
    };
    rows.spans.iter().enumerate().map(mark).collect()
}

/// The corridor that begins with a link up from a junction.
fn follow(rows: &RowGraph, junction_of: &[u32], junction: u32, link: u32, spacing: f64) -> Edge {
    let corners_of = |span: u32| [rows.spans[span as usize].from, rows.spans[span as usize].to];
    let middle = |link: u32| (rows.links[link as usize].from + rows.links[link as usize].to) / 2.0;
    let mut edge = Edge {
        ends: [junction, 0],
        spans: [NONE, NONE],
        rows: 0,
        length: spacing,
        corners: [[rows.links[link as usize].from, rows.links[link as usize].to]; 2],
    };
    let (mut span, mut through) = (rows.links[link as usize].above, link);
    while junction_of[span as usize] == NONE {
        if edge.rows == 0 {
            edge.spans[0] = span;
            edge.corners[0] = corners_of(span);
        }
        edge.spans[1] = span;
        edge.corners[1] = corners_of(span);
        edge.rows += 1;
        let next = rows.spans[span as usize].up.0;
        let aside = middle(next) - middle(through);
        edge.length += (spacing * spacing + aside * aside).sqrt();
        (span, through) = (rows.links[next as usize].above, next);
    }
    edge.ends[1] = junction_of[span as usize];
    edge
}
