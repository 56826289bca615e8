//! How a design stands out from its cloth, and its threads from each other.
//!
//! A piece is told of when it would sink into the cloth: its thread is neither
//! lighter nor darker than the cloth nor of another colour (see
//! [`Contrast::between`]), and enough of its edge meets bare cloth for that to
//! matter. Linear in stitches and in the cells they cross, but for sorting these.

use crate::{DensityGrid, neighbouring_threads};
use laidwork_plan::{Color, PassKind, Plan, Warning};
use laidwork_thread::{Contrast, ThreadContrasts, Visibility, contrasts};

/// Cells the edges of pieces are looked for on, mm: about what one sees as a gap.
const CELL: f64 = 1.0;

/// A piece meets the cloth when at least this share of its edge does. Common
/// practice has no figure; a quarter is one side of a square.
const SHARE_ON_CLOTH: f64 = 0.25;

/// Pieces named in one warning, at most.
const MOST_NAMED: usize = 6;

/// Contrast of a design with a cloth and within itself.
#[derive(Clone, Debug, PartialEq)]
pub struct ClothContrast {
    /// Colour of the cloth.
    pub fabric: Color,
    /// For each thread of the plan how it stands out.
    pub threads: Vec<ThreadContrasts>,
    /// Pieces (indices, in sewing order) that would sink into the cloth.
    pub sinking: Vec<usize>,
}

/// The contrast of `plan` with a `fabric` and of its threads with each other.
pub fn cloth_contrast(plan: &Plan, fabric: Color) -> ClothContrast {
    let colors: Vec<Color> = plan.threads.iter().map(|thread| thread.color).collect();
    let threads = contrasts(&colors, fabric, &neighbouring_threads(plan));
    let lost = |piece: usize| {
        let thread = plan.pieces.get(piece).and_then(|piece| threads.get(piece.thread));
        thread.is_some_and(|thread| thread.fabric.visibility == Visibility::Lost)
    };
    let sinking = if threads.iter().any(|thread| thread.fabric.visibility == Visibility::Lost) {
        (0..).zip(pieces_on_cloth(plan)).filter(|&(piece, on_cloth)| on_cloth && lost(piece)).map(|(i, _)| i).collect()
    } else {
        Vec::new()
    };
    ClothContrast { fabric, threads, sinking }
}

impl ClothContrast {
    /// A warning for each thread with pieces that would sink into the cloth, and
    /// for each two threads side by side that cannot be told apart.
    pub fn warnings(&self, plan: &Plan) -> Vec<Warning> {
        let mut warnings = Vec::new();
        for (number, (thread, found)) in plan.threads.iter().zip(&self.threads).enumerate() {
            let of_thread = |piece: &&usize| plan.pieces.get(**piece).is_some_and(|piece| piece.thread == number);
            let pieces: Vec<usize> = self.sinking.iter().filter(of_thread).copied().collect();
            if !pieces.is_empty() {
                let Contrast { ratio, difference, .. } = found.fabric;
                let what = format!(
                    "{} would sink into the cloth {} (contrast {ratio:.1} to 1, \u{394}E {difference:.0})",
                    called(thread),
                    self.fabric,
                );
                let advice = "take another thread or cloth, or give it a border that stands out";
                warnings.push(Warning::at(names(plan, &pieces), what, advice));
            }
            let lost = |(_, contrast): &&(usize, Contrast)| contrast.visibility == Visibility::Lost;
            for (other, contrast) in found.neighbours.iter().filter(lost).filter(|(other, _)| *other > number) {
                let Some(beside) = plan.threads.get(*other) else { continue };
                let what = format!(
                    "threads {} and {} lie side by side and can hardly be told apart (\u{394}E {:.0})",
                    called(thread),
                    called(beside),
                    contrast.difference,
                );
                warnings.push(Warning::new(what, "sew both in one thread, or take a lighter or darker one"));
            }
        }
        warnings
    }
}

fn called(thread: &laidwork_plan::Thread) -> String {
    match &thread.name {
        Some(name) => format!("{name} {}", thread.color),
        None => thread.color.to_string(),
    }
}

fn names(plan: &Plan, pieces: &[usize]) -> String {
    let names = pieces.iter().filter_map(|&piece| plan.pieces.get(piece)).map(|piece| piece.name.as_str());
    let mut text = names.take(MOST_NAMED).collect::<Vec<_>>().join(", ");
    if pieces.len() > MOST_NAMED {
        text.push_str(&format!(" and {} more", pieces.len() - MOST_NAMED));
    }
    text
}

/// For each piece whether at least a quarter of its edge meets bare cloth. A
/// piece that lies on others, or is framed by them, does not. All of them do
/// in designs larger than 4 m.
pub fn pieces_on_cloth(plan: &Plan) -> Vec<bool> {
    let Some(grid) = DensityGrid::of(plan, CELL) else { return vec![true; plan.pieces.len()] };
    let mut seen: Vec<(usize, usize)> = Vec::new(); // piece, cell
    let mut bare = vec![true; grid.columns * grid.rows];
    plan.for_each_segment(|segment| {
        if segment.kind == PassKind::Top && !segment.float && segment.length().is_finite() {
            grid.for_each_part(segment.from, segment.to, |cell, length| {
                if length > 0.0 {
                    if let Some(bare) = bare.get_mut(cell) {
                        *bare = false;
                    }
                    if seen.last() != Some(&(segment.piece, cell)) {
                        seen.push((segment.piece, cell));
                    }
                }
            });
        }
    });
    seen.sort_unstable();
    seen.dedup();
    let mut on_cloth = vec![false; plan.pieces.len()];
    for cells in seen.chunk_by(|a, b| a.0 == b.0) {
        let piece = cells.first().map_or(0, |first| first.0);
        let has = |cell: usize| cells.binary_search(&(piece, cell)).is_ok();
        let (mut edge, mut open) = (0_usize, 0_usize);
        for &(_, cell) in cells {
            let around = neighbours(&grid, cell);
            if around.iter().any(|next| next.is_none_or(|next| !has(next))) {
                edge += 1;
                let is_bare = |next: &Option<usize>| next.is_none_or(|next| bare.get(next).copied().unwrap_or(true));
                open += usize::from(around.iter().any(is_bare));
            }
        }
        if let Some(on_cloth) = on_cloth.get_mut(piece) {
            *on_cloth = open as f64 >= SHARE_ON_CLOTH * edge as f64 && edge > 0;
        }
    }
    on_cloth
}

/// The cells left, right, above and below; beyond the grid is none.
fn neighbours(grid: &DensityGrid, cell: usize) -> [Option<usize>; 4] {
    let (column, row) = (cell % grid.columns, cell / grid.columns);
    [
        column.checked_sub(1).map(|_| cell - 1),
        (column + 1 < grid.columns).then_some(cell + 1),
        row.checked_sub(1).map(|_| cell - grid.columns),
        (row + 1 < grid.rows).then_some(cell + grid.columns),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_plan::{Method, Pass, Piece, Point, Thread};

    /// Rows over a square with its corner at (`at`, `at`).
    fn square(name: &str, thread: usize, at: f64, side: f64) -> Piece {
        let rows = (0..(side / 0.25) as u32).flat_map(|row| {
            let y = at + f64::from(row) * 0.25;
            let (one, other) = if row % 2 == 0 { (at, at + side) } else { (at + side, at) };
            [Point::new(one, y), Point::new(other, y)]
        });
        let mut pass = Pass::after_jump(PassKind::Top, rows.collect());
        pass.trim = true;
        Piece { name: name.into(), method: Method::Fill, thread, passes: vec![pass] }
    }

    fn plan(colors: &[&str], pieces: Vec<Piece>) -> Plan {
        let thread = |color: &&str| Thread { color: color.parse().unwrap(), name: None };
        Plan { threads: colors.iter().map(thread).collect(), pieces, ..Plan::default() }
    }

    #[test]
    fn a_piece_of_the_cloths_colour_sinks_into_it() {
        let plan = plan(&["#efe6d0", "#203050"], vec![square("pale", 0, 0.0, 8.0), square("dark", 1, 12.0, 8.0)]);
        let found = cloth_contrast(&plan, "#f0e8d4".parse().unwrap());
        assert_eq!(found.sinking, [0]);
        let warnings = found.warnings(&plan);
        assert_eq!(warnings.len(), 1);
        assert!(warnings[0].to_string().starts_with("pale: #efe6d0 would sink"), "{}", warnings[0]);
        assert!(cloth_contrast(&plan, "#c04030".parse().unwrap()).sinking.is_empty());
    }

    #[test]
    fn what_lies_on_other_pieces_need_not_stand_out_from_the_cloth() {
        let plan = plan(&["#203050", "#efe6d0"], vec![square("ground", 0, 0.0, 20.0), square("seed", 1, 6.0, 6.0)]);
        assert_eq!(pieces_on_cloth(&plan), [true, false]);
        assert!(cloth_contrast(&plan, "#efe6d0".parse().unwrap()).sinking.is_empty());
    }

    #[test]
    fn neighbours_that_look_alike_are_told_of_once() {
        let plan = plan(&["#203050", "#223252"], vec![square("one", 0, 0.0, 10.0), square("other", 1, 3.0, 4.0)]);
        let warnings = cloth_contrast(&plan, "#ffffff".parse().unwrap()).warnings(&plan);
        assert_eq!(warnings.len(), 1);
        assert!(warnings[0].what.contains("#203050 and #223252 lie side by side"), "{}", warnings[0]);
    }

    #[test]
    fn an_empty_plan_sinks_nowhere() {
        let found = cloth_contrast(&Plan::default(), Color::new(0, 0, 0));
        assert_eq!((found.threads.len(), found.sinking.len()), (0, 0));
        assert_eq!(pieces_on_cloth(&Plan::default()), Vec::<bool>::new());
    }
}
