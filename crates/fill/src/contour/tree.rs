//! In which order rings are laid.

use super::{Beside, Contour, NONE};
use std::collections::BTreeMap;

/// A spanning tree of a connected part, and the order of laying.
pub(super) struct Tree {
    pub(super) parent: Vec<usize>,
    pub(super) last_child: Vec<usize>,
    pub(super) order: Vec<usize>,
}

impl Tree {
    pub(super) fn new(contour: &Contour, root: usize, seen: &mut [bool]) -> Option<Tree> {
        if std::mem::replace(&mut seen[root], true) {
            return None;
        }
        let count = contour.loops.len();
        let mut tree = Tree { parent: vec![NONE; count], last_child: vec![NONE; count], order: Vec::new() };
        let mut found = vec![root];
        let mut at = 0;
        while let Some(&ring) = found.get(at) {
            at += 1;
            for next in contour.beside[ring].iter().map(|beside| beside.ring) {
                if !std::mem::replace(&mut seen[next], true) {
                    tree.parent[next] = ring;
                    found.push(next);
                }
            }
        }
        // The longest branch comes last, so that the spiral goes on through it.
        let mut weight = vec![0.0; count];
        let mut children: Vec<Vec<usize>> = vec![Vec::new(); count];
        for &ring in found.iter().rev() {
            weight[ring] += contour.loops[ring].length();
            let heaviest = |a: &&usize, b: &&usize| f64::total_cmp(&weight[**a], &weight[**b]).then(a.cmp(b));
            let last = children[ring].iter().max_by(heaviest).copied().unwrap_or(NONE);
            contour.in_turn(ring, last, &mut children[ring]);
            tree.last_child[ring] = last;
            if tree.parent[ring] != NONE {
                weight[tree.parent[ring]] += weight[ring];
                children[tree.parent[ring]].push(ring);
            }
        }
        let mut stack = vec![(root, 0)];
        while let Some((ring, next)) = stack.pop() {
            if let Some(&child) = children[ring].get(next) {
                stack.push((ring, next + 1));
                stack.push((child, 0));
            } else {
                tree.order.push(ring);
            }
        }
        Some(tree)
    }
}

impl Contour {
    /// Sorts the children of a ring as they lie along it, so that moves from one to the next go round it once at
    /// most, and `last` comes last.
    fn in_turn(&self, ring: usize, last: usize, children: &mut Vec<usize>) {
        if children.len() < 3 {
            children.sort_by_key(|&child| (child == last, child));
            return;
        }
        let length = self.loops[ring].length().max(1e-9);
        let middle = |beside: &Beside| beside.places.get(beside.places.len() / 2).map(|place| (beside.ring, *place));
        let places: BTreeMap<usize, f64> = self.beside[ring].iter().filter_map(middle).collect();
        let place = |child: usize| places.get(&child).copied().unwrap_or(0.0);
        let end = place(last);
        let mut ahead: Vec<(f64, usize)> = children
            .iter()
            .filter(|&&child| child != last)
            .map(|&child| ((place(child) - end).rem_euclid(length), child))
            .collect();
        ahead.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        // The wider gap beside the last one is left out.
        let (first, final_one) = (ahead[0].0, length - ahead[ahead.len() - 1].0);
        if first < final_one {
            ahead.reverse();
        }
        children.clear();
        children.extend(ahead.into_iter().map(|(_, child)| child).chain([last]));
    }
}
