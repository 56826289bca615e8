//! Millimetres of thread in each square millimetre.

use laidwork_plan::{Plan, Point, Rect};
use std::collections::BTreeMap;

/// Side of the cells the limits speak of, mm.
pub(crate) const CELL: f64 = 2.0;

/// Over this much thread, mm per mm², a place grows stiff. Common practice, no source.
pub(crate) const WARN: f64 = 9.0;

/// Over this much thread, mm per mm², needles break. Common practice, no source.
pub(crate) const TOO_MUCH: f64 = 13.0;

/// Length of thread by cell of 1 mm, rows and columns counted from the origin.
pub(crate) struct Cells(BTreeMap<(i32, i32), f64>);

impl Cells {
    /// Adds up the thread of a plan, each stitch cut at the cells' edges.
    pub fn of(plan: &Plan) -> Cells {
        let mut cells = BTreeMap::new();
        plan.for_each_segment(|segment| {
            if segment.from.is_finite() && segment.to.is_finite() && segment.length() < 1e4 {
                add(&mut cells, segment.from, segment.to);
            }
        });
        Cells(cells)
    }

    /// Every cell with thread in it, and how much.
    pub fn filled(&self) -> impl Iterator<Item = (Rect, f64)> {
        self.0.iter().map(|(&(row, column), &amount)| {
            let (x, y) = (f64::from(column), f64::from(row));
            (Rect::new(x, y, x + 1.0, y + 1.0), amount)
        })
    }
}

/// Cuts the stitch at every edge of a cell and gives each cell its part.
fn add(cells: &mut BTreeMap<(i32, i32), f64>, from: Point, to: Point) {
    let mut cuts = vec![0.0, 1.0];
    for (a, b) in [(from.x, to.x), (from.y, to.y)] {
        let mut edge = a.min(b).floor() + 1.0;
        while edge < a.max(b) {
            cuts.push((edge - a) / (b - a));
            edge += 1.0;
        }
    }
    cuts.sort_by(f64::total_cmp);
    let length = from.distance(to);
    for pair in cuts.windows(2) {
        if let &[start, end] = pair {
            let middle = from.lerp(to, (start + end) / 2.0);
            let cell = (middle.y.floor() as i32, middle.x.floor() as i32);
            *cells.entry(cell).or_insert(0.0) += (end - start) * length;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stitch_is_shared_out_among_its_cells() {
        let mut cells = BTreeMap::new();
        add(&mut cells, Point::new(-0.5, 0.5), Point::new(1.5, 0.5));
        let parts: Vec<((i32, i32), f64)> = cells.into_iter().collect();
        assert_eq!(parts, [((0, -1), 0.5), ((0, 0), 1.0), ((0, 1), 0.5)]);
    }
}
