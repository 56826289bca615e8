//! In which order rings are laid.

use super::{Contour, NONE};

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
            children[ring].sort_by(|&a, &b| f64::total_cmp(&weight[a], &weight[b]).then(a.cmp(&b)));
            tree.last_child[ring] = children[ring].last().copied().unwrap_or(NONE);
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
