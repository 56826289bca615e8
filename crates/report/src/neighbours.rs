//! Which threads of a design are seen side by side.

use crate::DensityGrid;
use laidwork_plan::{PassKind, Plan};
use std::collections::BTreeSet;

/// Threads closer than this are seen side by side, mm.
const NEAR: f64 = 2.0;

/// Of more threads in one cell nobody can tell the colours apart.
const MOST: usize = 64;

/// Pairs of threads (indices into [`Plan::threads`], the smaller first) whose
/// top stitches cross the same cell of 2 x 2 mm, in order. Threads that no
/// cell shares are not seen side by side. Empty for designs larger than 8 m.
/// Of a cell with more than 64 threads the first 64 count. Linear in stitches
/// and in the cells they cross, but for sorting these.
pub fn neighbouring_threads(plan: &Plan) -> Vec<(usize, usize)> {
    let Some(grid) = DensityGrid::of(plan, NEAR) else { return Vec::new() };
    let mut seen: Vec<(usize, usize)> = Vec::new(); // cell, thread
    plan.for_each_segment(|segment| {
        let Some(piece) = plan.pieces.get(segment.piece) else { return };
        if segment.kind == PassKind::Top && !segment.float && segment.length().is_finite() {
            grid.for_each_part(segment.from, segment.to, |cell, length| {
                // Stitches of a thread come in long runs through one cell.
                if length > 0.0 && seen.last() != Some(&(cell, piece.thread)) {
                    seen.push((cell, piece.thread));
                }
            });
        }
    });
    seen.sort_unstable();
    seen.dedup();
    let mut pairs = BTreeSet::new();
    for cell in seen.chunk_by(|a, b| a.0 == b.0) {
        let cell = cell.get(..MOST).unwrap_or(cell);
        for (i, &(_, one)) in cell.iter().enumerate() {
            pairs.extend(cell.iter().skip(i + 1).map(|&(_, other)| (one, other)));
        }
    }
    pairs.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_plan::{Color, Method, Pass, Piece, Point, Thread};

    /// Runs along y at these places, each in a thread of its own.
    fn plan(places: &[f64]) -> Plan {
        let run = |(thread, &x): (usize, &f64)| Piece {
            name: "run".into(),
            method: Method::Run,
            thread,
            passes: vec![Pass::after_jump(PassKind::Top, vec![Point::new(x, 0.0), Point::new(x, 3.0)])],
        };
        let mut plan = Plan { pieces: places.iter().enumerate().map(run).collect(), ..Plan::default() };
        plan.threads = vec![Thread { color: Color::new(0, 0, 0), name: None }; places.len()];
        plan.pieces.iter_mut().flat_map(|piece| &mut piece.passes).for_each(|pass| pass.trim = true);
        plan
    }

    #[test]
    fn threads_in_one_cell_are_neighbours() {
        assert_eq!(neighbouring_threads(&plan(&[0.0, 1.5, 9.0])), [(0, 1)]);
        assert_eq!(neighbouring_threads(&plan(&[0.0, 1.5, 1.0])), [(0, 1), (0, 2), (1, 2)]);
        assert_eq!(neighbouring_threads(&plan(&[0.0, 4.5])), []);
        assert_eq!(neighbouring_threads(&Plan::default()), []);
    }

    #[test]
    fn a_thousand_threads_in_one_cell_are_no_burden() {
        let pairs = neighbouring_threads(&plan(&[0.5; 1000]));
        assert_eq!(pairs.len(), MOST * (MOST - 1) / 2);
    }

    #[test]
    fn what_lies_beneath_is_not_seen() {
        let mut plan = plan(&[0.0, 1.5]);
        plan.pieces[0].passes[0].kind = PassKind::Underlay;
        assert_eq!(neighbouring_threads(&plan), []);
    }
}
