//! How the cloth moves that lies there already while something is sewn.
//!
//! A grid of cells over the design. Where a thread lies, a cell moves as the mean
//! of the threads in it. From there the motion spreads to the cells around, each
//! following the nearest cell with thread, and fades as (1 - distance / reach)².
//! The nearest is found by a brush fire from the threads outwards (the vector
//! distance transform of P.-E. Danielsson, "Euclidean distance mapping", 1980, in
//! the form of a queue), so only cells within reach are ever touched.
//!
//! Cells are 0.5 mm, larger for designs of over a million of them. Between their
//! middles the motion is taken linearly; it is right to about a cell's share of the
//! gradient, which is below 0.02 mm for the pulls of ordinary cloth.

use crate::lines::Line;
use laidwork_plan::{Plan, Point, Rect, Vec2};
use std::collections::VecDeque;

/// Cloth farther away than this from a thread does not move with it, mm. An assumption, no source.
pub const REACH: f64 = 4.0;

/// Side of a cell, mm.
const CELL: f64 = 0.5;

/// The most cells.
const MOST_CELLS: f64 = 1e6;

/// No cell.
const NONE: u32 = u32::MAX;

/// The motion of the cloth.
pub struct Field {
    origin: Point,
    cell: f64,
    columns: usize,
    rows: usize,
    moves: Vec<Vec2>,
    /// For the piece that is being added: the cell each cell follows, and how far away that is.
    nearest: Vec<(u32, f32)>,
}

/// A cell with thread in it.
#[derive(Clone, Copy, Default)]
struct Seed {
    place: Vec2,
    motion: Vec2,
    count: f64,
}

impl Field {
    /// Cloth at rest around a plan.
    pub fn around(plan: &Plan) -> Field {
        let points = plan.passes().flat_map(|(_, pass)| &pass.points).filter(|point| point.is_finite());
        let bounds = points.fold(None, |rect: Option<Rect>, point| {
            let here = Rect::from_points(*point, *point);
            Some(rect.map_or(here, |rect| rect.union(here)))
        });
        let rect = bounds.unwrap_or_default().inflate(REACH + 2.0 * CELL, REACH + 2.0 * CELL);
        let cell = CELL.max((rect.width() * rect.height() / MOST_CELLS).sqrt());
        let (columns, rows) = ((rect.width() / cell).ceil() as usize, (rect.height() / cell).ceil() as usize);
        let cells = columns * rows;
        Field {
            origin: rect.origin(),
            cell,
            columns,
            rows,
            moves: vec![Vec2::ZERO; cells],
            nearest: vec![(NONE, 0.0); cells],
        }
    }

    /// The motion at a place.
    pub fn at(&self, point: Point) -> Vec2 {
        let at = (point - self.origin) / self.cell - Vec2::new(0.5, 0.5);
        let (column, row) = (at.x.floor(), at.y.floor());
        let (x, y) = (at.x - column, at.y - row);
        let cell = |dx: f64, dy: f64| {
            let (column, row) = (column + dx, row + dy);
            let inside = column >= 0.0 && row >= 0.0 && column < self.columns as f64 && row < self.rows as f64;
            let index = if inside { row as usize * self.columns + column as usize } else { usize::MAX };
            self.moves.get(index).copied().unwrap_or(Vec2::ZERO)
        };
        (cell(0.0, 0.0) * (1.0 - x) + cell(1.0, 0.0) * x) * (1.0 - y)
            + (cell(0.0, 1.0) * (1.0 - x) + cell(1.0, 1.0) * x) * y
    }

    /// Adds what the threads of a piece do; `moves` says how the points of a thread move.
    pub fn add(&mut self, lines: &[Line], moves: impl Fn(&Line) -> Vec<Vec2>) {
        let mut seeds: Vec<Seed> = Vec::new();
        let mut touched: Vec<u32> = Vec::new();
        for line in lines {
            let moves = moves(line);
            for ((ends, motions), along) in line.points.windows(2).zip(moves.windows(2)).zip(line.along.windows(2)) {
                let (&[from, to], &[first, last], &[start, end]) = (ends, motions, along) else { continue };
                let steps = ((end - start) / (0.5 * self.cell)).ceil().max(1.0);
                for step in 0..=steps as usize {
                    let share = step as f64 / steps;
                    self.sow(from.lerp(to, share), first.lerp(last, share), &mut seeds, &mut touched);
                }
            }
        }
        self.spread(&seeds, &mut touched);
        for cell in touched {
            let index = cell as usize;
            let (nearest, distance) = self.nearest[index];
            if let Some(seed) = seeds.get(nearest as usize) {
                let fade = (1.0 - f64::from(distance) / REACH).max(0.0);
                self.moves[index] += seed.motion / seed.count * (fade * fade);
            }
            self.nearest[index] = (NONE, 0.0);
        }
    }

    fn sow(&mut self, place: Point, motion: Vec2, seeds: &mut Vec<Seed>, touched: &mut Vec<u32>) {
        let at = (place - self.origin) / self.cell;
        if !(at.x >= 0.0 && at.y >= 0.0 && at.x < self.columns as f64 && at.y < self.rows as f64) {
            return;
        }
        let index = at.y as usize * self.columns + at.x as usize;
        if self.nearest[index].0 == NONE {
            self.nearest[index] = (seeds.len() as u32, 0.0);
            touched.push(index as u32);
            seeds.push(Seed::default());
        }
        if let Some(seed) = seeds.get_mut(self.nearest[index].0 as usize) {
            seed.place += place.to_vec2();
            seed.motion += motion;
            seed.count += 1.0;
        }
    }

    /// From the cells with thread outwards, every cell to the nearest of them.
    fn spread(&mut self, seeds: &[Seed], touched: &mut Vec<u32>) {
        let mut fire: VecDeque<u32> = touched.iter().copied().collect();
        while let Some(cell) = fire.pop_front() {
            let (column, row) = (cell as usize % self.columns, cell as usize / self.columns);
            let number = self.nearest[cell as usize].0;
            let Some(seed) = seeds.get(number as usize) else { continue };
            let place = (seed.place / seed.count).to_point();
            for (dx, dy) in [(-1, -1), (0, -1), (1, -1), (-1, 0), (1, 0), (-1, 1), (0, 1), (1, 1)] {
                let (Some(column), Some(row)) = (column.checked_add_signed(dx), row.checked_add_signed(dy)) else {
                    continue;
                };
                if column >= self.columns || row >= self.rows {
                    continue;
                }
                let index = row * self.columns + column;
                let middle = self.origin + Vec2::new(column as f64 + 0.5, row as f64 + 0.5) * self.cell;
                // Half a cell is the uncertainty of where thread ends in its cell.
                let distance = (middle.distance(place) - self.cell / 2.0).max(0.0) as f32;
                let (known, so_far) = self.nearest[index];
                if f64::from(distance) < REACH && (known == NONE || distance < so_far) {
                    if known == NONE {
                        touched.push(index as u32);
                    }
                    self.nearest[index] = (number, distance);
                    fire.push_back(index as u32);
                }
            }
        }
    }
}
