//! A walk over every edge of a graph with little walked twice.
//!
//! The Chinese postman's problem (Edmonds and Johnson, "Matching, Euler tours
//! and the Chinese postman", 1973): the edges walked twice are a smallest set
//! that leaves no vertex but the two ends with an odd number of edges. They
//! are found by pairing the odd vertices over shortest ways; the walk itself
//! is Hierholzer's (1873). No edge is walked more than twice.
//!
//! Bound: with at most [`EXACT`] odd vertices the pairing is the best there is
//! (dynamic programming over sets). Up to [`PAIRED`], nearest pairs first and
//! then exchanges of two pairs until none helps. Beyond, pairs are joined
//! within a minimum spanning tree, so that at most its length is walked twice.
//!
//! Time: O(e log e) for each odd vertex up to [`PAIRED`] of them, else O(e log e).

use crate::Sets;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Most odd vertices (free ends counted) that are paired as well as can be.
pub const EXACT: usize = 12;

/// Most odd vertices that are paired over shortest ways of the whole graph.
pub const PAIRED: usize = 160;

/// An edge between two vertices.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PostmanEdge {
    /// One vertex.
    pub a: u32,
    /// The other.
    pub b: u32,
    /// What it costs to walk it once more than needed; not negative.
    pub length: f64,
}

impl PostmanEdge {
    fn other(&self, vertex: u32) -> u32 {
        if self.a == vertex { self.b } else { self.a }
    }
}

/// One edge of a walk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PostmanStep {
    /// Index of the edge.
    pub edge: u32,
    /// From `a` to `b`.
    pub forward: bool,
    /// It is walked for the last time.
    pub last: bool,
}

/// A walk over every edge.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PostmanWalk {
    /// Where it starts.
    pub start: u32,
    /// Its edges, each going on from where the one before ends.
    pub steps: Vec<PostmanStep>,
}

/// Walks every edge of a connected graph once or twice, from `start` to `end`
/// where these are given. Vertices count from 0 to `vertices` - 1; parts of
/// the graph that cannot be reached from the start are left out.
pub fn walk_every_edge(vertices: usize, edges: &[PostmanEdge], start: Option<u32>, end: Option<u32>) -> PostmanWalk {
    // One edge between two vertices, as convex shapes have: no search.
    if let ([edge], None, None) = (edges, start, end)
        && (edge.a, edge.b) == (0, 1)
    {
        return PostmanWalk { start: 0, steps: vec![PostmanStep { edge: 0, forward: true, last: true }] };
    }
    let graph = Graph::new(vertices, edges);
    let mut odd: Vec<bool> = (0..vertices).map(|v| graph.degree(v as u32) % 2 == 1).collect();
    for given in [start, end].into_iter().flatten() {
        if let Some(odd) = odd.get_mut(given as usize) {
            *odd = !*odd;
        }
    }
    let odd: Vec<u32> = (0..vertices as u32).filter(|&v| odd[v as usize]).collect();
    let free = usize::from(start.is_none()) + usize::from(end.is_none());
    let mut copies = vec![1u8; edges.len()];
    let left_out = double_edges(&graph, &odd, free, &mut copies);
    let from = start.or(left_out.first().copied()).or(end).unwrap_or(0);
    euler(&graph, copies, from)
}

/// Edges of each vertex, in the order of their indices.
struct Graph<'a> {
    edges: &'a [PostmanEdge],
    first: Vec<u32>,
    at: Vec<u32>,
}

impl<'a> Graph<'a> {
    fn new(vertices: usize, edges: &'a [PostmanEdge]) -> Graph<'a> {
        let mut first = vec![0u32; vertices + 2];
        for vertex in edges.iter().flat_map(|edge| [edge.a, edge.b]) {
            first[vertex as usize + 2] += 1;
        }
        for v in 1..first.len() {
            first[v] += first[v - 1];
        }
        let mut at = vec![0u32; edges.len() * 2];
        for (i, edge) in edges.iter().enumerate() {
            for vertex in [edge.a, edge.b] {
                let next = &mut first[vertex as usize + 1];
                at[*next as usize] = i as u32;
                *next += 1;
            }
        }
        Graph { edges, first, at }
    }

    fn at(&self, vertex: u32) -> &[u32] {
        &self.at[self.first[vertex as usize] as usize..self.first[vertex as usize + 1] as usize]
    }

    fn degree(&self, vertex: u32) -> usize {
        self.at(vertex).len()
    }

    fn vertices(&self) -> usize {
        self.first.len() - 2
    }
}

/// Doubles edges so that only `free` of the `odd` vertices (or none of them)
/// stay odd; gives those back.
fn double_edges(graph: &Graph, odd: &[u32], free: usize, copies: &mut [u8]) -> Vec<u32> {
    if odd.len() <= free {
        return odd.to_vec();
    }
    if odd.len() + free > PAIRED {
        return double_in_tree(graph, odd, free, copies);
    }
    let ways: Vec<Ways> = odd.iter().map(|&v| Ways::from(graph, v)).collect();
    // Free ends are extra vertices, as near as can be to each and to each other.
    let count = odd.len() + free;
    let cost = |i: usize, j: usize| match (odd.get(i), odd.get(j)) {
        (Some(_), Some(&to)) => ways[i].length[to as usize],
        _ => 0.0,
    };
    let pairs = if count <= EXACT { best_pairs(count, cost) } else { good_pairs(count, cost) };
    let mut left_out = Vec::new();
    for (i, j) in pairs {
        match (odd.get(i), odd.get(j)) {
            (Some(_), Some(&to)) => ways[i].flip(graph, to, copies),
            (Some(&v), None) | (None, Some(&v)) => left_out.push(v),
            (None, None) => (),
        }
    }
    left_out.sort_unstable();
    left_out
}

/// Shortest ways from one vertex.
struct Ways {
    length: Vec<f64>,
    /// The edge each vertex is reached by.
    by: Vec<u32>,
}

/// A length in the search; ordered by value, then vertex.
#[derive(Clone, Copy)]
struct Length(f64);

impl PartialEq for Length {
    fn eq(&self, other: &Length) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Length {}

impl PartialOrd for Length {
    fn partial_cmp(&self, other: &Length) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Length {
    fn cmp(&self, other: &Length) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}

impl Ways {
    /// Dijkstra's algorithm (1959).
    fn from(graph: &Graph, start: u32) -> Ways {
        let mut ways = Ways { length: vec![f64::INFINITY; graph.vertices()], by: vec![u32::MAX; graph.vertices()] };
        ways.length[start as usize] = 0.0;
        let mut open = BinaryHeap::from([Reverse((Length(0.0), start))]);
        while let Some(Reverse((Length(length), vertex))) = open.pop() {
            if length > ways.length[vertex as usize] {
                continue;
            }
            for &index in graph.at(vertex) {
                let edge = &graph.edges[index as usize];
                let (to, longer) = (edge.other(vertex) as usize, length + edge.length);
                if longer < ways.length[to] {
                    (ways.length[to], ways.by[to]) = (longer, index);
                    open.push(Reverse((Length(longer), to as u32)));
                }
            }
        }
        ways
    }

    /// Adds a copy to every edge on the way to `to`, or takes it away again where there is one.
    fn flip(&self, graph: &Graph, mut to: u32, copies: &mut [u8]) {
        while let Some(edge) = graph.edges.get(self.by[to as usize] as usize) {
            let copies = &mut copies[self.by[to as usize] as usize];
            *copies = 3 - *copies;
            to = edge.other(to);
        }
    }
}

/// The cheapest pairs of `count` things, by dynamic programming over sets; `count` is even.
fn best_pairs(count: usize, cost: impl Fn(usize, usize) -> f64) -> Vec<(usize, usize)> {
    let full = (1usize << count) - 1;
    let mut best = vec![(f64::INFINITY, 0usize); full + 1];
    best[0].0 = 0.0;
    for set in 1..=full {
        let first = set.trailing_zeros() as usize;
        for second in first + 1..count {
            if set & (1 << second) != 0 {
                let total = best[set & !(1 << first) & !(1 << second)].0 + cost(first, second);
                if total < best[set].0 {
                    best[set] = (total, second);
                }
            }
        }
    }
    let mut pairs = Vec::new();
    let mut set = full;
    while set != 0 {
        let (first, second) = (set.trailing_zeros() as usize, best[set].1);
        if second == 0 {
            break;
        }
        pairs.push((first, second));
        set &= !(1 << first) & !(1 << second);
    }
    pairs
}

/// Cheap pairs: nearest first, then exchanges of two pairs until none helps.
fn good_pairs(count: usize, cost: impl Fn(usize, usize) -> f64) -> Vec<(usize, usize)> {
    let mut all: Vec<(usize, usize)> = (0..count).flat_map(|i| (i + 1..count).map(move |j| (i, j))).collect();
    all.sort_by(|a, b| cost(a.0, a.1).total_cmp(&cost(b.0, b.1)).then(a.cmp(b)));
    let mut taken = vec![false; count];
    let mut pairs = Vec::new();
    for (i, j) in all {
        if !taken[i] && !taken[j] {
            (taken[i], taken[j]) = (true, true);
            pairs.push((i, j));
        }
    }
    let mut helped = true;
    while helped {
        helped = false;
        for p in 0..pairs.len() {
            for q in p + 1..pairs.len() {
                let ((a, b), (c, d)) = (pairs[p], pairs[q]);
                let now = cost(a, b) + cost(c, d);
                for other in [[(a, c), (b, d)], [(a, d), (b, c)]] {
                    if cost(other[0].0, other[0].1) + cost(other[1].0, other[1].1) < now - 1e-9 {
                        (pairs[p], pairs[q]) = (other[0], other[1]);
                        helped = true;
                        break;
                    }
                }
            }
        }
    }
    pairs
}

/// As [`double_edges`], along a minimum spanning tree. Free ends are the first
/// odd vertex and the one most edges away from it.
fn double_in_tree(graph: &Graph, odd: &[u32], free: usize, copies: &mut [u8]) -> Vec<u32> {
    let tree = spanning_tree(graph);
    // Tree edges in breadth-first order, so that children come after their parents.
    let root = odd[0];
    let mut order: Vec<(u32, u32)> = vec![(root, u32::MAX)];
    let mut seen = vec![false; graph.vertices()];
    seen[root as usize] = true;
    let mut at = 0;
    while let Some(&(vertex, _)) = order.get(at) {
        at += 1;
        for &index in graph.at(vertex).iter().filter(|&&index| tree[index as usize]) {
            let other = graph.edges[index as usize].other(vertex);
            if !std::mem::replace(&mut seen[other as usize], true) {
                order.push((other, index));
            }
        }
    }
    let mut is_odd = vec![false; graph.vertices()];
    for &v in odd {
        is_odd[v as usize] = true;
    }
    // The root is odd: it takes up a single free end, and is one of two.
    if free > 0 {
        is_odd[root as usize] = false;
    }
    let mut left_out = if free > 0 { vec![root] } else { Vec::new() };
    if free == 2 {
        let far = order.iter().rev().find(|(v, _)| is_odd[*v as usize]).map_or(root, |found| found.0);
        is_odd[far as usize] = false;
        left_out.push(far);
    }
    for &(vertex, index) in order.iter().skip(1).rev() {
        if std::mem::take(&mut is_odd[vertex as usize]) {
            copies[index as usize] = 2;
            let parent = graph.edges[index as usize].other(vertex) as usize;
            is_odd[parent] = !is_odd[parent];
        }
    }
    left_out
}

/// Kruskal's algorithm (1956): which edges are in a minimum spanning tree.
fn spanning_tree(graph: &Graph) -> Vec<bool> {
    let mut order: Vec<u32> = (0..graph.edges.len() as u32).collect();
    order.sort_by(|&a, &b| graph.edges[a as usize].length.total_cmp(&graph.edges[b as usize].length).then(a.cmp(&b)));
    let mut sets = Sets::new(graph.vertices());
    let mut tree = vec![false; graph.edges.len()];
    for index in order {
        let edge = &graph.edges[index as usize];
        tree[index as usize] = sets.join(edge.a as usize, edge.b as usize);
    }
    tree
}

/// Hierholzer's algorithm: a walk over every copy of every edge.
fn euler(graph: &Graph, mut copies: Vec<u8>, start: u32) -> PostmanWalk {
    if graph.vertices() == 0 {
        return PostmanWalk::default();
    }
    let mut next: Vec<u32> = graph.first[..graph.vertices()].to_vec();
    let mut stack: Vec<(u32, u32)> = vec![(start, u32::MAX)];
    let mut found: Vec<(u32, u32)> = Vec::new();
    while let Some(&(vertex, by)) = stack.last() {
        let place = &mut next[vertex as usize];
        let end = graph.first[vertex as usize + 1];
        while *place < end && copies[graph.at[*place as usize] as usize] == 0 {
            *place += 1;
        }
        if *place < end {
            let index = graph.at[*place as usize];
            copies[index as usize] -= 1;
            stack.push((graph.edges[index as usize].other(vertex), index));
        } else {
            found.push((vertex, by));
            stack.pop();
        }
    }
    // `found` runs from the end back to the start. Seen so, the first copy met is the last one walked.
    let mut steps = Vec::with_capacity(found.len());
    let mut met = vec![false; graph.edges.len()];
    for &(vertex, by) in &found {
        if let Some(edge) = graph.edges.get(by as usize) {
            let last = !std::mem::replace(&mut met[by as usize], true);
            steps.push(PostmanStep { edge: by, forward: edge.b == vertex, last });
        }
    }
    steps.reverse();
    PostmanWalk { start, steps }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::Random;
    use proptest::prelude::*;

    fn random_graph(vertices: usize, extra: usize, seed: u64) -> Vec<PostmanEdge> {
        let mut random = Random(seed);
        let mut edges = Vec::new();
        for b in 1..vertices {
            edges.push((random.below(b), b));
        }
        for _ in 0..extra {
            let (a, b) = (random.below(vertices), random.below(vertices));
            if a != b {
                edges.push((a, b));
            }
        }
        let edge = |(a, b)| PostmanEdge { a: a as u32, b: b as u32, length: random.between(0.0, 10.0) };
        edges.into_iter().map(edge).collect()
    }

    /// Length walked more than once; fails unless it is a walk over every edge.
    fn doubled(edges: &[PostmanEdge], walk: &PostmanWalk, start: Option<u32>, end: Option<u32>) -> f64 {
        let mut at = walk.start;
        assert!(start.is_none_or(|start| start == at));
        let mut times = vec![0; edges.len()];
        let mut extra = 0.0;
        for step in &walk.steps {
            let edge = &edges[step.edge as usize];
            let (from, to) = if step.forward { (edge.a, edge.b) } else { (edge.b, edge.a) };
            assert_eq!(from, at);
            at = to;
            times[step.edge as usize] += 1;
            if !step.last {
                extra += edge.length;
            }
        }
        assert!(end.is_none_or(|end| end == at));
        assert!(times.iter().all(|&t| t == 1 || t == 2));
        extra
    }

    /// The least that any set of doubled edges costs.
    fn brute_force(vertices: usize, edges: &[PostmanEdge], start: Option<u32>, end: Option<u32>) -> f64 {
        let mut least = f64::INFINITY;
        for set in 0..1usize << edges.len() {
            let mut degree = vec![0; vertices];
            let mut cost = 0.0;
            for (i, edge) in edges.iter().enumerate() {
                let copies = 1 + (set >> i & 1);
                degree[edge.a as usize] += copies;
                degree[edge.b as usize] += copies;
                cost += edge.length * (copies - 1) as f64;
            }
            let odd: Vec<u32> = (0..vertices as u32).filter(|&v| degree[v as usize] % 2 == 1).collect();
            let fits = match (start, end) {
                (Some(s), Some(e)) if s == e => odd.is_empty(),
                (Some(s), Some(e)) => odd == [s.min(e), s.max(e)],
                (Some(v), None) | (None, Some(v)) => odd.is_empty() || (odd.len() == 2 && odd.contains(&v)),
                (None, None) => odd.len() <= 2,
            };
            if fits {
                least = least.min(cost);
            }
        }
        least
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(150))]

        #[test]
        fn small_graphs_are_walked_as_well_as_can_be(
            vertices in 2usize..7, extra in 0usize..6, seed: u64, ends in 0usize..4, picks: (u16, u16),
        ) {
            let edges = random_graph(vertices, extra, seed);
            let pick = |n: u16| u32::from(n) % vertices as u32;
            let start = (ends & 1 != 0).then(|| pick(picks.0));
            let end = (ends & 2 != 0).then(|| pick(picks.1));
            let walk = walk_every_edge(vertices, &edges, start, end);
            let extra = doubled(&edges, &walk, start, end);
            prop_assert!((extra - brute_force(vertices, &edges, start, end)).abs() < 1e-9);
        }

        #[test]
        fn graphs_of_any_size_are_walked(
            vertices in 2usize..700, extra in 0usize..200, seed: u64, ends in 0usize..4,
        ) {
            let edges = random_graph(vertices, extra, seed);
            let start = (ends & 1 != 0).then_some(0);
            let end = (ends & 2 != 0).then_some(vertices as u32 - 1);
            let walk = walk_every_edge(vertices, &edges, start, end);
            let total: f64 = edges.iter().map(|edge| edge.length).sum();
            prop_assert!(doubled(&edges, &walk, start, end) <= total + 1e-9);
        }
    }

    #[test]
    fn middling_pairs_are_near_the_best() {
        let mut random = Random(5);
        let places: Vec<(f64, f64)> = (0..12).map(|_| (random.between(0.0, 1.0), random.between(0.0, 1.0))).collect();
        let cost = |i: usize, j: usize| (places[i].0 - places[j].0).hypot(places[i].1 - places[j].1);
        let total = |pairs: Vec<(usize, usize)>| pairs.iter().map(|p| cost(p.0, p.1)).sum::<f64>();
        assert!(total(good_pairs(12, cost)) <= 1.1 * total(best_pairs(12, cost)));
    }
}
