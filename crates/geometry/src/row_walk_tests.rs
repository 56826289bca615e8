//! Whole walks, followed step by step.

use super::*;
use crate::testing::{self, Kind};
use crate::{Frame, Polygon, RowGraph};
use proptest::prelude::*;

fn cut(polygon: &Polygon, degrees: f64, spacing: f64) -> RowGraph {
    let frame = Frame::turned(degrees);
    let (low, high) = frame.extent(polygon).unwrap();
    let count = ((high - low) / spacing).ceil().max(1.0);
    let cuts: Vec<f64> = (0..=count as usize).map(|i| low + (high - low) * i as f64 / count).collect();
    RowGraph::cut(polygon, frame, &cuts, 0.2)
}

/// Follows a walk step by step; says what is wrong with it.
fn check(rows: &RowGraph, walk: &RowWalk) -> Result<(), String> {
    // For each span the stretches laid, and where the walk is.
    let mut laid: Vec<Vec<(f64, f64)>> = vec![Vec::new(); rows.spans.len()];
    let mut at: Option<(u32, f64)> = None;
    let free = |laid: &[Vec<(f64, f64)>], span: u32, from: f64, to: f64| {
        let (low, high) = (from.min(to), from.max(to));
        laid[span as usize].iter().all(|l| l.1 <= low + 1e-9 || l.0 >= high - 1e-9)
    };
    for (i, step) in walk.steps.iter().enumerate() {
        if walk.breaks.contains(&i) {
            at = None;
        }
        match *step {
            RowStep::Lay { span, from, to } | RowStep::Slip { span, from, to, .. } => {
                if at.is_some_and(|(last, x)| last == span && (x - from).abs() > 1e-9) {
                    return Err(format!("step {i} does not go on: {at:?} {step:?}"));
                }
                // A step across a row that is laid is a turn, if it is at a corner.
                if (from - to).abs() > 0.0 && !free(&laid, span, from, to) {
                    return Err(format!("step {i} goes over what is laid"));
                }
                if matches!(step, RowStep::Lay { .. }) {
                    laid[span as usize].push((from.min(to), from.max(to)));
                }
                at = Some((span, to));
            }
            RowStep::Weave { corridor, .. } | RowStep::Travel { corridor, .. } => {
                let neighbours = |span: u32| {
                    let up = rows.links_up(span).map(|l| rows.links[l as usize].above);
                    let down = rows.links_down(span).map(|l| rows.links[l as usize].below);
                    up.chain(down).collect::<Vec<_>>()
                };
                if at.is_some_and(|(last, _)| !neighbours(corridor.first).contains(&last)) {
                    return Err(format!("step {i} starts elsewhere"));
                }
                let mut span = corridor.first;
                for row in 0..corridor.rows {
                    if row > 0 {
                        span = rows.next_in_corridor(span, corridor.upward).ok_or("a corridor breaks off")?;
                    }
                    let (from, to) = (rows.spans[span as usize].from, rows.spans[span as usize].to);
                    if !laid[span as usize].is_empty() {
                        return Err(format!("step {i} goes over a corridor that is laid"));
                    }
                    if matches!(step, RowStep::Weave { .. }) {
                        laid[span as usize].push((from, to));
                    }
                }
                at = None;
            }
        }
    }
    for (i, (span, laid)) in rows.spans.iter().zip(&laid).enumerate() {
        let total: f64 = laid.iter().map(|l| l.1 - l.0).sum();
        if (total - span.length()).abs() > 1e-6 {
            return Err(format!("of span {i} ({span:?}) {laid:?} is laid"));
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn every_row_is_laid_once_and_nothing_crosses_what_is_laid(
        kind in 0..Kind::ALL.len(), size in 3usize..80, seed: u64,
        degrees in 0.0..180.0, spacing in 0.2..2.0, ends in 0usize..4, picks: (u32, u32, bool, bool),
    ) {
        for polygon in &testing::region(Kind::ALL[kind], size, seed).polygons {
            let rows = cut(polygon, degrees, spacing);
            let pick = |n: u32, far: bool| {
                let span = n % rows.spans.len() as u32;
                (span, if far { rows.spans[span as usize].to } else { rows.spans[span as usize].from })
            };
            let ends = WalkEnds {
                start: (ends & 1 != 0 && !rows.spans.is_empty()).then(|| pick(picks.0, picks.2)),
                end: (ends & 2 != 0 && !rows.spans.is_empty()).then(|| pick(picks.1, picks.3)),
            };
            let walk = walk_rows(&rows, spacing, ends);
            let found = check(&rows, &walk);
            prop_assert!(found.is_ok(), "{:?}", found);
        }
    }
}
