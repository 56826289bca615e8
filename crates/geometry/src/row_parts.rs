//! When each part of a junction's row is laid: see [`walk_rows`](crate::walk_rows).

use crate::row_corridors::NONE;
use crate::row_walk::{PartWalk, RowStep, RowWalk, Visit};

/// When each part of a junction's row is laid.
pub(crate) struct JunctionPlan {
    /// For each part (named by its lower cut): the visit that lays it, or [`NONE`] before detours.
    laid_by: Vec<u32>,
    /// Stretches that no visit moves over: (visit, cut to set out from, cut to turn round at), by visit.
    detours: Vec<(u32, u32, u32)>,
    /// For each part, the first leg that lays something below it, and above it; 0 where there is nothing.
    beside: [Vec<u32>; 2],
}

impl JunctionPlan {
    pub(crate) fn new(walk: &PartWalk, visits: &[Visit], beside: [Vec<u32>; 2]) -> JunctionPlan {
        let mut laid_by = vec![NONE; walk.cuts.len()];
        let mut touched = vec![NONE; walk.cuts.len()];
        for (i, visit) in visits.iter().enumerate() {
            let base = walk.first[visit.junction as usize];
            let (low, high) = (visit.from.min(visit.to) + base, visit.from.max(visit.to) + base);
            laid_by[low as usize..high as usize].fill(i as u32);
            touched[low as usize..=high as usize].fill(i as u32);
        }
        let mut detours = Vec::new();
        for bounds in walk.first.windows(2) {
            let (begin, end) = (bounds[0] as usize, bounds[1] as usize - 1);
            let mut part = begin;
            while part < end {
                if laid_by[part] != NONE {
                    part += 1;
                    continue;
                }
                let run_end = (part + 1..end).find(|&p| laid_by[p] != NONE || touched[p] != NONE).unwrap_or(end);
                {
                    let (low, high) = ((part - begin) as u32, (run_end - begin) as u32);
                    detours.push(match (touched[part], touched[run_end]) {
                        (NONE, visit) => (visit, high, low),
                        (visit, _) => (visit, low, high),
                    });
                }
                part = run_end;
            }
        }
        detours.sort_unstable();
        JunctionPlan { laid_by, detours, beside }
    }

    /// Moves along a junction's row from cut to cut.
    pub(crate) fn lay(&self, walk: &PartWalk, index: u32, visit: Visit, out: &mut RowWalk) {
        let span = walk.span_of(visit.junction);
        let base = walk.first[visit.junction as usize];
        let cuts = walk.cuts(visit.junction);
        let first = self.detours.partition_point(|d| d.0 < index);
        let detours = &self.detours[first..];
        let detours = &detours[..detours.partition_point(|d| d.0 == index)];
        let rises = visit.to >= visit.from;
        let moved = !detours.is_empty();
        let parts = base as usize..base as usize + cuts.len();
        let beside = [&self.beside[0][parts.clone()], &self.beside[1][parts]];
        let mut line = Line { span, cuts, beside, visit: index, last: None, out: &mut *out };
        let mut at = visit.from;
        loop {
            // Against the way first, so that what is laid on the way back goes on into the next part.
            for pass in [!rises, rises] {
                for &(_, from, to) in detours.iter().filter(|d| d.1 == at && (d.2 > d.1) == pass) {
                    line.go(from, to, false);
                    line.go(to, from, true);
                }
            }
            if at == visit.to {
                break;
            }
            let (next, part) = if rises { (at + 1, at) } else { (at - 1, at - 1) };
            line.go(at, next, self.laid_by[(base + part) as usize] == index);
            at = next;
        }
        line.flush();
        if visit.from == visit.to && !moved {
            // Nothing to lay, but the walk comes through here.
            let x = cuts[visit.from as usize];
            out.steps.push(RowStep::Slip { span, from: x, to: x, toward: 0 });
        }
    }
}

/// Moves along one row, joined where they go on alike.
struct Line<'a> {
    span: u32,
    cuts: &'a [f64],
    /// For each part, the first leg that lays something below and above it.
    beside: [&'a [u32]; 2],
    visit: u32,
    last: Option<(u32, u32, bool)>,
    out: &'a mut RowWalk,
}

impl Line<'_> {
    fn go(&mut self, from: u32, to: u32, laid: bool) {
        match &mut self.last {
            Some(last) if last.2 == laid && last.1 == from && (last.1 > last.0) == (to > from) => last.1 = to,
            _ => {
                self.flush();
                self.last = Some((from, to, laid));
            }
        }
    }

    fn flush(&mut self) {
        if let Some((from, to, laid)) = self.last.take() {
            let later =
                |side: &[u32]| side[from.min(to) as usize..from.max(to) as usize].iter().all(|&leg| leg >= self.visit);
            let toward = if later(self.beside[1]) {
                1
            } else if later(self.beside[0]) {
                -1
            } else {
                0
            };
            let (span, from, to) = (self.span, self.cuts[from as usize], self.cuts[to as usize]);
            self.out.steps.push(if laid {
                RowStep::Lay { span, from, to }
            } else {
                self.out.travel += (to - from).abs();
                RowStep::Slip { span, from, to, toward }
            });
        }
    }
}
