//! Thread and needle points on a grid of square cells.
//!
//! Every length of laid thread is cut at the lines of the grid and each part is
//! added to its own cell, so nothing is sampled and the cells sum up to the
//! thread laid (to the rounding of `f64`). Floats are left out: they are cut
//! off or pulled out, not sewn down. Linear in stitches and in cells crossed.

use laidwork_plan::{Plan, Point, Rect, Segment};

/// Thread and needle points on square cells that cover a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct DensityGrid {
    /// The top left corner of the first cell: the least x and y of all needle points, mm.
    pub origin: Point,
    /// Side of a cell, mm.
    pub cell: f64,
    /// Cells in a row, from left to right.
    pub columns: usize,
    /// Rows of cells, from top to bottom.
    pub rows: usize,
    /// Thread laid on each cell, mm, row by row.
    pub thread_mm: Vec<f32>,
    /// Needle points in each cell, row by row.
    pub penetrations: Vec<u32>,
}

/// No grid has more cells: at 2 mm that is 8 m square, larger than any hoop.
const MOST_CELLS: f64 = 16e6;

impl DensityGrid {
    /// The grid over the needle points of `plan` with cells `cell` mm wide.
    /// `None` for a plan without points, for cells that are no size, and when
    /// the points lie so far apart that 16 million cells would not do.
    pub fn of(plan: &Plan, cell: f64) -> Option<DensityGrid> {
        let mut grid = DensityGrid::empty(finite_bounds(plan)?, cell)?;
        let mut thread = vec![0.0_f64; grid.columns * grid.rows];
        plan.for_each_segment(|segment| {
            if !segment.float && is_finite(&segment) {
                grid.for_each_part(segment.from, segment.to, |cell, length| {
                    if let Some(sum) = thread.get_mut(cell) {
                        *sum += length;
                    }
                });
            }
        });
        for point in finite_points(plan) {
            let cell = grid.cell_at(point);
            if let Some(count) = grid.penetrations.get_mut(cell) {
                *count = count.saturating_add(1);
            }
        }
        grid.thread_mm = thread.into_iter().map(|sum| sum as f32).collect();
        Some(grid)
    }

    /// A grid over `bounds` with nothing in it.
    pub(crate) fn empty(bounds: Rect, cell: f64) -> Option<DensityGrid> {
        if !(cell.is_finite() && cell > 0.0) {
            return None;
        }
        let columns = (bounds.width() / cell).ceil().max(1.0);
        let rows = (bounds.height() / cell).ceil().max(1.0);
        if columns * rows > MOST_CELLS {
            return None;
        }
        let (columns, rows) = (columns as usize, rows as usize);
        let cells = columns * rows;
        let origin = bounds.origin();
        Some(DensityGrid { origin, cell, columns, rows, thread_mm: vec![0.0; cells], penetrations: vec![0; cells] })
    }

    /// Thread on a cell, mm/mm².
    pub fn thread_density(&self, cell: usize) -> f64 {
        self.thread_mm.get(cell).map_or(0.0, |&thread| f64::from(thread) / (self.cell * self.cell))
    }

    /// Needle points on a cell, 1/mm².
    pub fn needle_density(&self, cell: usize) -> f64 {
        self.penetrations.get(cell).map_or(0.0, |&count| f64::from(count) / (self.cell * self.cell))
    }

    /// The middle of a cell, mm.
    pub fn center(&self, cell: usize) -> Point {
        let (column, row) = (cell % self.columns.max(1), cell / self.columns.max(1));
        self.origin + laidwork_plan::Vec2::new(column as f64 + 0.5, row as f64 + 0.5) * self.cell
    }

    /// The cell of a point; points beyond the edge belong to the cell nearest to them.
    pub fn cell_at(&self, point: Point) -> usize {
        let [column, row] = self.column_and_row(point);
        row * self.columns + column
    }

    pub(crate) fn column_and_row(&self, point: Point) -> [usize; 2] {
        let at = (point - self.origin) / self.cell;
        // A float below zero becomes 0.
        [(at.x as usize).min(self.columns - 1), (at.y as usize).min(self.rows - 1)]
    }

    /// Calls `each` with every cell a straight thread crosses and the length of
    /// thread in it, mm, in the order of the thread.
    pub fn for_each_part(&self, from: Point, to: Point, mut each: impl FnMut(usize, f64)) {
        let length = from.distance(to);
        let ([column, row], [last_column, last_row]) = (self.column_and_row(from), self.column_and_row(to));
        let (start, run) = (from - self.origin, to - from);
        let mut x = Axis::new(column, last_column, start.x / self.cell, run.x / self.cell);
        let mut y = Axis::new(row, last_row, start.y / self.cell, run.y / self.cell);
        let mut done = 0.0;
        loop {
            let along_x = match (x.left > 0, y.left > 0) {
                (false, false) => break,
                (true, true) => x.crossing() <= y.crossing(),
                (only_x, _) => only_x,
            };
            let cell = y.at * self.columns + x.at;
            let axis = if along_x { &mut x } else { &mut y };
            // Rounding must not turn the thread back.
            let share = axis.crossing().clamp(done, 1.0);
            each(cell, (share - done) * length);
            axis.step();
            done = share;
        }
        each(y.at * self.columns + x.at, (1.0 - done) * length);
    }

    /// Numbers (from 1) of the pieces with thread or needle points in `cell`, in sewing order.
    pub(crate) fn pieces_in(&self, plan: &Plan, cell: usize) -> Vec<usize> {
        let mut inside = vec![false; plan.pieces.len()];
        let mut mark = |piece: usize| {
            if let Some(flag) = inside.get_mut(piece) {
                *flag = true;
            }
        };
        // Few threads come near the cell, and these alone are cut at the lines.
        let (column, row) = (cell % self.columns, cell / self.columns);
        let is_between = |at: usize, a: usize, b: usize| (a.min(b)..=a.max(b)).contains(&at);
        plan.for_each_segment(|segment| {
            if !segment.float && is_finite(&segment) {
                let [from, to] = [segment.from, segment.to].map(|end| self.column_and_row(end));
                if is_between(column, from[0], to[0]) && is_between(row, from[1], to[1]) {
                    self.for_each_part(segment.from, segment.to, |at, length| {
                        if at == cell && length > 0.0 {
                            mark(segment.piece);
                        }
                    });
                }
            }
        });
        for (piece, pass) in plan.passes() {
            if pass.points.iter().any(|&point| point.is_finite() && self.cell_at(point) == cell) {
                mark(piece);
            }
        }
        (1..).zip(inside).filter_map(|(number, inside)| inside.then_some(number)).collect()
    }
}

/// A thread's way across the lines of the grid along one axis.
struct Axis {
    /// The column or row it is in.
    at: usize,
    /// Lines still to cross.
    left: usize,
    /// True when columns or rows count up on the way.
    up: bool,
    /// Where it starts, in cells.
    start: f64,
    /// How far it goes, in cells.
    run: f64,
}

impl Axis {
    fn new(at: usize, last: usize, start: f64, run: f64) -> Axis {
        Axis { at, left: at.abs_diff(last), up: last > at, start, run }
    }

    /// The share of the thread before the next line.
    fn crossing(&self) -> f64 {
        let line = if self.up { self.at + 1 } else { self.at };
        (line as f64 - self.start) / self.run
    }

    fn step(&mut self) {
        self.at = if self.up { self.at + 1 } else { self.at.saturating_sub(1) };
        self.left -= 1;
    }
}

/// Needle points whose coordinates are numbers.
fn finite_points(plan: &Plan) -> impl Iterator<Item = Point> {
    plan.passes().flat_map(|(_, pass)| pass.points.iter().copied()).filter(|point| point.is_finite())
}

fn finite_bounds(plan: &Plan) -> Option<Rect> {
    let mut points = finite_points(plan);
    let first = points.next()?;
    Some(points.fold(Rect::from_points(first, first), |rect, point| rect.union_pt(point)))
}

fn is_finite(segment: &Segment) -> bool {
    segment.from.is_finite() && segment.to.is_finite()
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_plan::{Method, Pass, PassKind, Piece};
    use proptest::prelude::*;

    fn plan(points: &[(f64, f64)]) -> Plan {
        let points = points.iter().map(|&(x, y)| Point::new(x, y)).collect();
        let passes = vec![Pass::new(PassKind::Top, points)];
        Plan { pieces: vec![Piece { name: "a".into(), method: Method::Run, thread: 0, passes }], ..Plan::default() }
    }

    #[test]
    fn a_thread_is_cut_at_the_lines() {
        let grid = DensityGrid::of(&plan(&[(0.0, 0.0), (5.0, 0.0), (5.0, 1.0)]), 2.0).unwrap();
        assert_eq!((grid.columns, grid.rows), (3, 1));
        assert_eq!(grid.thread_mm, [2.0, 2.0, 2.0]);
        assert_eq!(grid.penetrations, [1, 0, 2]);
    }

    #[test]
    fn a_diagonal_goes_through_the_cells_it_crosses() {
        // From (0, 0) to (4, 2): half of it in the first cell, half in the second.
        let grid = DensityGrid::of(&plan(&[(0.0, 0.0), (4.0, 2.0)]), 2.0).unwrap();
        let half = 20f64.sqrt() as f32 / 2.0;
        assert_eq!((grid.columns, grid.rows), (2, 1));
        assert!(grid.thread_mm.iter().all(|thread| (thread - half).abs() < 1e-5), "{:?}", grid.thread_mm);
        let back = DensityGrid::of(&plan(&[(4.0, 2.0), (0.0, 0.0)]), 2.0).unwrap();
        assert!(back.thread_mm.iter().all(|thread| (thread - half).abs() < 1e-5));
    }

    #[test]
    fn cells_know_where_they_lie() {
        let grid = DensityGrid::of(&plan(&[(-3.0, 1.0), (3.0, 5.0)]), 2.0).unwrap();
        assert_eq!((grid.columns, grid.rows), (3, 2));
        assert_eq!(grid.center(4), Point::new(0.0, 4.0));
        assert_eq!(grid.cell_at(Point::new(0.1, 4.9)), 4);
    }

    #[test]
    fn what_cannot_be_measured_has_no_grid() {
        assert_eq!(DensityGrid::of(&Plan::default(), 2.0), None);
        assert_eq!(DensityGrid::of(&plan(&[(0.0, 0.0), (1e6, 1e6)]), 2.0), None);
        assert_eq!(DensityGrid::of(&plan(&[(0.0, 0.0), (1.0, 1.0)]), 0.0), None);
        assert_eq!(DensityGrid::of(&plan(&[(f64::NAN, 0.0)]), 2.0), None);
    }

    proptest! {
        #[test]
        fn no_thread_is_lost(points in prop::collection::vec((-30.0..30.0, -30.0..30.0), 1..40), cell in 0.3..7.0) {
            let plan = plan(&points);
            let grid = DensityGrid::of(&plan, cell).unwrap();
            let mut laid = 0.0;
            plan.for_each_segment(|segment| laid += segment.length());
            let sum: f64 = grid.thread_mm.iter().map(|&thread| f64::from(thread)).sum();
            prop_assert!((sum - laid).abs() <= 1e-5 * (1.0 + laid), "{sum} of {laid}");
            prop_assert_eq!(grid.penetrations.iter().sum::<u32>() as usize, points.len());
        }

        #[test]
        fn parts_lie_in_their_cells(a in (-9.0..9.0, -9.0..9.0), b in (-9.0..9.0, -9.0..9.0), cell in 0.3..4.0) {
            let grid = DensityGrid::of(&plan(&[(-9.0, -9.0), (9.0, 9.0)]), cell).unwrap();
            let (a, b) = (Point::new(a.0, a.1), Point::new(b.0, b.1));
            let (mut done, whole) = (0.0, a.distance(b));
            grid.for_each_part(a, b, |cell, length| {
                let middle = a.lerp(b, (done + length / 2.0) / whole);
                done += length;
                let off = middle - grid.center(cell);
                assert!(off.x.abs().max(off.y.abs()) <= grid.cell / 2.0 + 1e-9, "{off:?}");
            });
            prop_assert!((done - whole).abs() < 1e-9);
        }
    }
}
