//! How much of what is drawn lies under top thread.
//!
//! Shapes and thread are laid on a grid of small cells: a cell belongs to the
//! topmost shape over its middle, and is covered when its middle lies within
//! half a thread of a top stitch. A thread lies 0.3 mm wide once sewn (No. 40;
//! common practice, from memory). Cells are 0.1 mm, larger for drawings of over
//! four million of them; a share is right to about a cell along the outline.
//! Linear in cells, edges times rows they cross, and thread.

use laidwork_drawing::Drawing;
use laidwork_plan::{PassKind, Plan, Point, Rect};

/// Side of a cell, mm.
const CELL: f64 = 0.1;

/// The most cells.
const MOST_CELLS: f64 = 4e6;

/// Half of what a sewn thread covers, mm.
const HALF_THREAD: f64 = 0.15;

/// No shape.
const BARE: u32 = u32::MAX;

/// What of a drawing is covered.
#[derive(Clone, Debug, PartialEq)]
pub struct Coverage {
    /// Cells in a row.
    pub columns: usize,
    /// Rows of cells.
    pub rows: usize,
    /// Side of a cell, mm.
    pub cell: f64,
    /// For each shape of the drawing its cells, and how many of them are covered.
    pub shapes: Vec<(usize, usize)>,
    /// For each cell, row by row: its shape, and whether thread covers it.
    owner: Vec<u32>,
    covered: Vec<bool>,
}

impl Coverage {
    /// Share of the drawn area that is covered, 0 to 1; 1 when nothing is drawn.
    pub fn share(&self) -> f64 {
        let (all, covered) = self.shapes.iter().fold((0, 0), |sum, shape| (sum.0 + shape.0, sum.1 + shape.1));
        if all == 0 { 1.0 } else { covered as f64 / all as f64 }
    }

    /// Area of a shape that no thread covers, mm².
    pub fn bare(&self, shape: usize) -> f64 {
        let (all, covered) = self.shapes.get(shape).copied().unwrap_or_default();
        (all - covered) as f64 * self.cell * self.cell
    }

    /// Each cell, row by row: nothing drawn, drawn and covered, drawn and bare.
    pub fn cells(&self) -> impl Iterator<Item = Option<bool>> {
        self.owner.iter().zip(&self.covered).map(|(owner, covered)| (*owner != BARE).then_some(*covered))
    }
}

/// The coverage of `drawing` by `plan`, as far as its shapes are sewn at all: shapes for
/// which `counts` is false are drawn upon by others but not counted.
pub fn coverage(drawing: &Drawing, plan: &Plan, counts: impl Fn(usize) -> bool) -> Coverage {
    let mut grid = Grid::new(drawing);
    for (number, shape) in (0_u32..).zip(&drawing.shapes) {
        let mine = if counts(number as usize) { number } else { BARE };
        let edges = shape.region.rings().flat_map(|ring| ring.edges());
        grid.paint_area(edges, mine);
    }
    plan.for_each_segment(|segment| {
        if segment.kind == PassKind::Top && !segment.float {
            grid.paint_thread(segment.from, segment.to);
        }
    });
    let mut shapes = vec![(0, 0); drawing.shapes.len()];
    for (owner, covered) in grid.owner.iter().zip(&grid.covered) {
        if let Some(shape) = shapes.get_mut(*owner as usize) {
            shape.0 += 1;
            shape.1 += usize::from(*covered);
        }
    }
    let Grid { columns, rows, cell, owner, covered, .. } = grid;
    Coverage { columns, rows, cell, shapes, owner, covered }
}

struct Grid {
    rect: Rect,
    columns: usize,
    rows: usize,
    cell: f64,
    owner: Vec<u32>,
    covered: Vec<bool>,
}

impl Grid {
    fn new(drawing: &Drawing) -> Grid {
        let rect = drawing.rect;
        let (width, height) = (rect.width().max(CELL), rect.height().max(CELL));
        let cell = CELL.max((width * height / MOST_CELLS).sqrt());
        let (columns, rows) = ((width / cell).ceil() as usize, (height / cell).ceil() as usize);
        let cells = columns * rows;
        Grid { rect, columns, rows, cell, owner: vec![BARE; cells], covered: vec![false; cells] }
    }

    /// The cells of a row whose middles lie from `left` to `right`.
    fn span(&self, row: usize, left: f64, right: f64) -> std::ops::Range<usize> {
        let column = |x: f64| (((x - self.rect.x0) / self.cell - 0.5).ceil().max(0.0) as usize).min(self.columns);
        let start = row * self.columns;
        start + column(left)..start + column(right)
    }

    /// The rows whose middles lie from `top` to `bottom`.
    fn rows_of(&self, top: f64, bottom: f64) -> std::ops::Range<usize> {
        let row = |y: f64| (((y - self.rect.y0) / self.cell - 0.5).ceil().max(0.0) as usize).min(self.rows);
        row(top)..row(bottom)
    }

    fn middle(&self, row: usize) -> f64 {
        self.rect.y0 + (row as f64 + 0.5) * self.cell
    }

    /// Gives the inside of rings (even-odd) to a shape.
    fn paint_area(&mut self, edges: impl Iterator<Item = (Point, Point)>, shape: u32) {
        let mut crossings: Vec<(usize, f64)> = Vec::new();
        for (from, to) in edges {
            for row in self.rows_of(from.y.min(to.y), from.y.max(to.y)) {
                let part = (self.middle(row) - from.y) / (to.y - from.y);
                crossings.push((row, from.x + part * (to.x - from.x)));
            }
        }
        crossings.sort_unstable_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        for pair in crossings.chunk_by(|a, b| a.0 == b.0).flat_map(|row| row.chunks_exact(2)) {
            let cells = self.span(pair[0].0, pair[0].1, pair[1].1);
            if let Some(cells) = self.owner.get_mut(cells) {
                cells.fill(shape);
            }
        }
    }

    /// Covers what lies within half a thread of a stitch.
    fn paint_thread(&mut self, from: Point, to: Point) {
        if !(from.is_finite() && to.is_finite()) {
            return;
        }
        let way = to - from;
        let square = way.hypot2();
        for row in self.rows_of(from.y.min(to.y) - HALF_THREAD, from.y.max(to.y) + HALF_THREAD) {
            let y = self.middle(row);
            // The part of the stitch that lies within half a thread of this row.
            let part = |y: f64| if way.y.abs() > 1e-9 { (y - from.y) / way.y } else { f64::NAN };
            let (one, other) = (part(y - HALF_THREAD), part(y + HALF_THREAD));
            let (first, last) = if one.is_nan() {
                (0.0, 1.0)
            } else {
                (one.min(other).clamp(0.0, 1.0), one.max(other).clamp(0.0, 1.0))
            };
            let (left, right) = (from.x + way.x * first, from.x + way.x * last);
            let cells = self.span(row, left.min(right) - HALF_THREAD, left.max(right) + HALF_THREAD);
            let start = row * self.columns;
            for cell in cells {
                let at = Point::new(self.rect.x0 + ((cell - start) as f64 + 0.5) * self.cell, y);
                let along = if square > 0.0 { ((at - from).dot(way) / square).clamp(0.0, 1.0) } else { 0.0 };
                if (from + way * along).distance_squared(at) <= HALF_THREAD * HALF_THREAD
                    && let Some(covered) = self.covered.get_mut(cell)
                {
                    *covered = true;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_plan::{Method, Pass, Piece};

    fn drawing() -> Drawing {
        let svg = br##"<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="20mm" viewBox="0 0 30 20">
            <rect id="ground" x="5" y="5" width="20" height="10" fill="#4f8a3c"/>
            <circle id="seed" cx="15" cy="10" r="3" fill="#6b3f1d"/></svg>"##;
        laidwork_drawing::read(svg, &laidwork_drawing::Options::default()).unwrap().value
    }

    /// Rows over the left half of the ground.
    fn plan(spacing: f64) -> Plan {
        let rows = (0..(10.0 / spacing) as usize).flat_map(|row| {
            let y = -5.0 + spacing * (row as f64 + 0.5);
            let (from, to) = if row % 2 == 0 { (-10.0, 0.0) } else { (0.0, -10.0) };
            [Point::new(from, y), Point::new(to, y)]
        });
        let piece = Piece {
            name: "ground".into(),
            method: Method::Fill,
            thread: 0,
            passes: vec![Pass::after_jump(PassKind::Top, rows.collect())],
        };
        Plan { pieces: vec![piece], ..Plan::default() }
    }

    #[test]
    fn shares_are_those_of_the_areas() {
        let found = coverage(&drawing(), &plan(0.25), |_| true);
        let disc = std::f64::consts::PI * 9.0;
        let area = |shape: usize| found.shapes[shape].0 as f64 * found.cell * found.cell;
        assert!((area(0) - (200.0 - disc)).abs() < 1.0 && (area(1) - disc).abs() < 0.5, "{:?}", found.shapes);
        // Half of everything, and half a thread more on the right.
        assert!((found.share() - 0.5).abs() < 0.015, "{}", found.share());
        assert!((found.bare(1) - disc / 2.0).abs() < 1.0, "{}", found.bare(1));
    }

    #[test]
    fn rows_too_far_apart_leave_bare_stripes() {
        // Threads 0.3 mm wide every 0.625 mm cover 0.48 of what they are laid over.
        let found = coverage(&drawing(), &plan(0.625), |shape| shape == 0);
        let disc = std::f64::consts::PI * 9.0;
        let share = found.shapes[0].1 as f64 / found.shapes[0].0 as f64;
        assert!((share - (100.0 - disc / 2.0) * 0.48 / (200.0 - disc)).abs() < 0.02, "{share}");
        assert_eq!(found.shapes[1], (0, 0));
    }

    #[test]
    fn an_empty_plan_covers_nothing() {
        let found = coverage(&drawing(), &Plan::default(), |_| true);
        assert!(found.share().abs() < 1e-12);
        assert_eq!(found.cells().flatten().filter(|covered| *covered).count(), 0);
    }
}
