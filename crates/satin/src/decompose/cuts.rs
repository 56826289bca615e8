//! Where limbs are cut off from the nodes that join them.

use super::axis::Axis;
use super::graph::{Graph, Limb};

/// A cut lies within this many radii of the node.
const WITHIN: f64 = 1.3;

/// A chord counts as longer by this share for every radius it is away.
const FARTHER: f64 = 0.15;

/// Shortens every limb to the chords between its cuts: near a junction the
/// best is the shortest chord that is not far away. What lies between the cuts around a
/// node is its zone.
pub(crate) fn cut_limbs(axis: &Axis, graph: &mut Graph) {
    let nodes = graph.nodes.clone();
    for limb in &mut graph.limbs {
        let mut range = [0, limb.chords.len().saturating_sub(1)];
        for end in [0, 1] {
            let Some(node) = limb.nodes[end].and_then(|n| nodes.get(n)).filter(|node| !node.corner) else { continue };
            let reach = node.disc.radius * WITHIN;
            let distance =
                |i: usize| limb.chords.get(i).map_or(f64::INFINITY, |c| axis.middle(*c).distance(node.disc.centre));
            let cost = |i: usize| {
                let width = limb.chords.get(i).map_or(f64::INFINITY, |c| axis.width(*c));
                width * (1.0 + FARTHER * distance(i) / node.disc.radius.max(1e-9))
            };
            let order: Vec<usize> = if end == 0 { (0..=range[1]).collect() } else { (0..=range[1]).rev().collect() };
            let near: Vec<usize> = order.iter().copied().take_while(|i| distance(*i) <= reach).collect();
            let best = near.iter().copied().min_by(|a, b| cost(*a).total_cmp(&cost(*b)));
            range[end] = best.or(order.first().copied()).unwrap_or(0);
        }
        if range[0] > range[1] {
            let middle = (range[0] + range[1]) / 2;
            range = [middle, middle];
        }
        shorten(limb, range);
    }
}

fn shorten(limb: &mut Limb, [first, last]: [usize; 2]) {
    limb.chords = limb.chords.get(first..=last).unwrap_or_default().to_vec();
    let end = last.min(limb.triangles.len());
    if !limb.closed {
        limb.triangles = limb.triangles.get(first.min(end)..end).unwrap_or_default().to_vec();
    }
}
