//! The distance between neighbouring threads, in the three forms shops quote it.
//!
//! Where nobody says which spacing a piece was sewn with it is measured: for
//! every top thread of 1 mm or more, the distances from its middle to the
//! nearest other thread of the piece on each side that runs within 20° of its direction and
//! passes it side by side; the median of these is the spacing. Rows of a fill
//! and threads of a column come out alike: two threads of a column that meet on
//! one side and part on the other are half their pitch apart in the middle,
//! which is the spacing of neighbouring threads. Threads are looked up in cells
//! of 1 mm; at most 4000 of a piece are measured, evenly chosen, and cells with
//! more than 250 threads are left out, so that time is linear on any input.

use crate::DensityGrid;
use laidwork_plan::{Method, PassKind, Piece, Point, Rect, Vec2};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// The distance between neighbouring threads.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Spacing {
    /// Between neighbouring threads, square to them, mm.
    pub mm: f64,
    /// Threads to the millimetre.
    pub lines_per_mm: f64,
    /// From one thread to the next that runs the same way, mm.
    pub there_and_back: f64,
}

impl Spacing {
    /// All forms of a spacing of `mm`, to three digits; `None` unless it is at least 0.001 mm and below 1 km.
    pub fn new(mm: f64) -> Option<Spacing> {
        let rounded = |value: f64| (value * 1000.0).round() / 1000.0;
        let forms = Spacing { mm: rounded(mm), lines_per_mm: rounded(1.0 / mm), there_and_back: rounded(2.0 * mm) };
        (1e-3..1e6).contains(&mm).then_some(forms)
    }
}

impl fmt::Display for Spacing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Spacing { mm, lines_per_mm, there_and_back } = self;
        write!(f, "{mm:.2} mm ({lines_per_mm:.1} lines/mm, {there_and_back:.2} mm there-and-back)")
    }
}

/// Threads shorter than this say little about their direction, mm.
const SHORTEST: f64 = 1.0;

/// Neighbours farther apart than this cover nothing, mm.
const FARTHEST: f64 = 1.5;

/// Threads closer than this lie on one line, mm.
const SAME: f64 = 0.02;

/// With fewer threads side by side there is no spacing to speak of.
const FEWEST: usize = 8;

/// Cosine of the greatest angle between threads that count as parallel, 20°.
const PARALLEL: f64 = 0.939_692_620_785_908_4;

/// The spacing of the top threads of a fill or column as they lie; `None` for
/// other methods, and for pieces with too few threads side by side.
pub fn measured_spacing(piece: &Piece) -> Option<Spacing> {
    if !matches!(piece.method, Method::Fill | Method::Satin | Method::Manual) {
        return None;
    }
    let threads = top_threads(piece);
    if threads.len() < FEWEST {
        return None;
    }
    let chosen = (0..threads.len()).step_by(threads.len().div_ceil(MEASURED));
    let grid = Lookup::new(&threads, chosen.clone())?;
    let most = chosen.len();
    let mut distances: Vec<f64> = chosen.flat_map(|i| grid.nearest(&threads, i)).flatten().collect();
    if distances.len() < FEWEST || distances.len() < most {
        return None;
    }
    distances.sort_by(f64::total_cmp);
    Spacing::new(*distances.get(distances.len() / 2)?)
}

/// At most so many threads of a piece are measured.
const MEASURED: usize = 4000;

/// A cell crossed by more threads than this is a knot, and left out.
const KNOT: usize = 250;

type Thread = (Point, Point);

fn top_threads(piece: &Piece) -> Vec<Thread> {
    let mut threads = Vec::new();
    piece.for_each_segment(|segment| {
        let length = segment.length();
        if segment.kind == PassKind::Top && !segment.float && (SHORTEST..=100.0).contains(&length) {
            threads.push((segment.from, segment.to));
        }
    });
    threads
}

/// Which threads cross which cell of 1 mm, of those about the threads that are measured.
struct Lookup {
    grid: DensityGrid,
    /// Where the threads of a cell begin in `threads`; one more than there are cells.
    starts: Vec<u32>,
    threads: Vec<u32>,
    /// The direction of every thread.
    directions: Vec<Vec2>,
}

impl Lookup {
    fn new(threads: &[Thread], measured: impl Iterator<Item = usize>) -> Option<Lookup> {
        let ends = || threads.iter().flat_map(|&(from, to)| [from, to]);
        let first = ends().next()?;
        let bounds = ends().fold(Rect::from_points(first, first), |bounds, end| bounds.union_pt(end));
        let grid = DensityGrid::empty(bounds, 1.0)?;
        let mut is_asked = vec![false; grid.columns * grid.rows];
        for (from, to) in measured.filter_map(|i| threads.get(i)) {
            cells_about(&grid, from.midpoint(*to)).for_each(|cell| is_asked[cell] = true);
        }
        let comes_near = |&(from, to): &Thread| {
            let [[a, b], [c, d]] = [grid.column_and_row(from), grid.column_and_row(to)];
            let mut rows = b.min(d)..=b.max(d);
            // A long thread is followed rather than all cells of its bounds.
            a.abs_diff(c) * b.abs_diff(d) > 16
                || rows.any(|row| (a.min(c)..=a.max(c)).any(|column| is_asked[row * grid.columns + column]))
        };
        // How many threads cross each cell, then where the threads of each cell
        // end; filling the cells from their ends leaves where they begin.
        let mut starts = vec![0_u32; grid.columns * grid.rows + 1];
        let near: Vec<u32> = (0..).zip(threads).filter(|(_, thread)| comes_near(thread)).map(|(i, _)| i).collect();
        for &(from, to) in near.iter().filter_map(|&i| threads.get(i as usize)) {
            grid.for_each_part(from, to, |cell, _| {
                if let Some(count) = starts.get_mut(cell).filter(|_| is_asked[cell]) {
                    *count += 1;
                }
            });
        }
        let mut sum = 0;
        for start in &mut starts {
            sum += *start;
            *start = sum;
        }
        let mut crossing = vec![0; sum as usize];
        for &i in near.iter().rev() {
            let Some(&(from, to)) = threads.get(i as usize) else { continue };
            grid.for_each_part(from, to, |cell, _| {
                if let Some(start) = starts.get_mut(cell).filter(|_| is_asked[cell]) {
                    *start -= 1;
                    if let Some(slot) = crossing.get_mut(*start as usize) {
                        *slot = i;
                    }
                }
            });
        }
        let directions = threads.iter().map(|&(from, to)| unit(to - from)).collect();
        Some(Lookup { grid, starts, threads: crossing, directions })
    }

    fn in_cell(&self, cell: usize) -> &[u32] {
        let bound = |cell: usize| self.starts.get(cell).map_or(0, |&start| start as usize);
        let threads = self.threads.get(bound(cell)..bound(cell + 1)).unwrap_or(&[]);
        if threads.len() > KNOT { &[] } else { threads }
    }

    /// Distances from the middle of a thread to the nearest parallel one on its left and on its right.
    fn nearest(&self, threads: &[Thread], index: usize) -> [Option<f64>; 2] {
        let Some(&(from, to)) = threads.get(index) else { return [None; 2] };
        let directed = |thread: usize| self.directions.get(thread).copied().unwrap_or_default();
        let (middle, direction) = (from.midpoint(to), directed(index));
        let mut nearest: [Option<f64>; 2] = [None; 2];
        for cell in cells_about(&self.grid, middle) {
            for &other in self.in_cell(cell) {
                let Some(&(a, b)) = threads.get(other as usize).filter(|_| other as usize != index) else { continue };
                let along = directed(other as usize);
                let (before, after, parallel) =
                    ((middle - a).dot(along), (middle - b).dot(along), along.dot(direction));
                if parallel.abs() < PARALLEL || before < 0.0 || after > 0.0 {
                    continue;
                }
                let distance = (middle - a).cross(along) * parallel.signum();
                let [left, right] = &mut nearest;
                let side = if distance < 0.0 { left } else { right };
                let distance = distance.abs();
                // Threads sewn twice on one line are one thread wide.
                if distance > SAME && distance < side.unwrap_or(FARTHEST) {
                    *side = Some(distance);
                }
            }
        }
        nearest
    }
}

/// The cell of a point and those around it; some of them more than once at the edge of the grid.
fn cells_about(grid: &DensityGrid, point: Point) -> impl Iterator<Item = usize> {
    let steps = [-1.0, 0.0, 1.0].into_iter().flat_map(|x| [-1.0, 0.0, 1.0].map(|y| Vec2::new(x, y)));
    steps.map(move |step| grid.cell_at(point + step * grid.cell))
}

fn unit(vector: Vec2) -> Vec2 {
    vector / vector.hypot()
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_plan::Pass;

    fn piece(method: Method, points: Vec<Point>) -> Piece {
        Piece { name: "a".into(), method, thread: 0, passes: vec![Pass::new(PassKind::Top, points)] }
    }

    /// Rows of 20 mm in stitches of 4 mm, there and back, shifted as bricks are.
    fn fill(spacing: f64, rows: i32, turned: f64) -> Piece {
        let mut points = Vec::new();
        for row in 0..rows {
            let y = f64::from(row) * spacing;
            let mut xs = vec![0.0];
            xs.extend((0..5).map(|i| f64::from(i) * 4.0 + 1.0 + f64::from(row % 3)));
            xs.push(20.0);
            if row % 2 == 1 {
                xs.reverse();
            }
            points.extend(xs.into_iter().map(|x| {
                Point::ORIGIN
                    + Vec2::from_angle(turned) * x
                    + Vec2::from_angle(turned + std::f64::consts::FRAC_PI_2) * y
            }));
        }
        piece(Method::Fill, points)
    }

    /// A column 4 mm wide, its points `pitch` apart on each side.
    fn column(pitch: f64, threads: i32) -> Piece {
        let point = |i: i32| Point::new(if i % 2 == 0 { 0.0 } else { 4.0 }, f64::from(i) * pitch / 2.0);
        piece(Method::Satin, (0..threads).map(point).collect())
    }

    #[test]
    fn a_spacing_has_three_forms() {
        let spacing = Spacing::new(0.22).unwrap();
        assert_eq!(spacing.to_string(), "0.22 mm (4.5 lines/mm, 0.44 mm there-and-back)");
        assert_eq!(Spacing::new(0.0), None);
        assert_eq!(Spacing::new(f64::NAN), None);
    }

    #[test]
    fn rows_are_measured_whatever_their_direction() {
        for spacing in [0.2, 0.22, 0.3, 0.5] {
            for turned in [0.0, 0.7, 2.0] {
                let found = measured_spacing(&fill(spacing, 60, turned)).unwrap().mm;
                assert!((found - spacing).abs() < 0.01, "{spacing} at {turned}: {found}");
            }
        }
    }

    #[test]
    fn columns_are_measured_between_neighbouring_threads() {
        for pitch in [0.36, 0.4, 0.5] {
            let found = measured_spacing(&column(pitch, 80)).unwrap().mm;
            assert!((found - pitch / 2.0).abs() < 0.01, "{pitch}: {found}");
        }
    }

    #[test]
    fn a_run_has_no_spacing() {
        let points = (0..50).map(|i| Point::new(f64::from(i) * 2.5, 0.0)).collect();
        assert_eq!(measured_spacing(&piece(Method::Fill, points)), None);
        let mut rows = fill(0.2, 60, 0.0);
        rows.method = Method::Run;
        assert_eq!(measured_spacing(&rows), None);
    }
}
