//! The most needle points close to one of them.
//!
//! Needle points that crowd together cut the fabric like a perforation, which
//! a density by cells can miss. Points are gathered in cells as wide as the
//! radius, equal points (to 0.01 mm) counted together; only the nine cells
//! around a point can hold its neighbours, and the cells with the fullest
//! surroundings are searched first, until no other can hold more. On sewn
//! designs that takes `n log n` for sorting; a point never has more than
//! `31 416 radius²` different neighbours (radius in mm), which bounds the worst case.

use laidwork_plan::{Plan, Point};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// The needle point with the most needle points around it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crowd {
    /// Where it is, mm.
    pub at: Point,
    /// Needle points within the radius, itself included.
    pub points: usize,
}

/// A point on the 0.01 mm grid, and how often the needle goes there.
struct Spot {
    at: (i64, i64),
    times: usize,
}

/// The most needle points within `radius` mm of one of them, all passes
/// together; of equals the uppermost, then the leftmost cell. `None` without
/// needle points, or when the radius is no length from 0.01 mm up.
pub fn crowding(plan: &Plan, radius: f64) -> Option<Crowd> {
    let reach = (radius * 100.0).round();
    if !(1.0..1e6).contains(&reach) {
        return None;
    }
    let keys = Keys::of(plan, reach as u64);
    let cells = keys.cells();
    let order = about_each(&cells).into_iter().enumerate().map(|(cell, times)| (times, Reverse(cell)));
    let mut order: BinaryHeap<(usize, Reverse<usize>)> = order.collect();
    let reach = reach as i64;
    let mut best: Option<(usize, (i64, i64))> = None;
    while let Some((most, Reverse(cell))) = order.pop() {
        if best.is_some_and(|(points, _)| points >= most) {
            break;
        }
        let neighbours: Vec<Spot> = around(&cells, cell).flat_map(|cell| keys.spots(cell)).collect();
        for spot in cells.get(cell).into_iter().flat_map(|cell| keys.spots(cell)) {
            let near = |other: &&Spot| {
                let (x, y) = (other.at.0 - spot.at.0, other.at.1 - spot.at.1);
                x * x + y * y <= reach * reach
            };
            let points = neighbours.iter().filter(near).map(|other| other.times).sum();
            if best.is_none_or(|(most, _)| points > most) {
                best = Some((points, spot.at));
            }
        }
    }
    let (points, (x, y)) = best?;
    Some(Crowd { at: Point::new(x as f64 / 100.0, y as f64 / 100.0), points })
}

/// Twice the farthest a point may lie from the origin, in hundredths of a millimetre.
const WIDE: u64 = 200_000_000;

/// All needle points within a kilometre, sorted by cell. A cell and a place in it make one number, which sorts faster
/// than four.
struct Keys {
    sorted: Vec<u64>,
    reach: u64,
    columns: u64,
}

impl Keys {
    fn of(plan: &Plan, reach: u64) -> Keys {
        let columns = WIDE / reach + 1;
        let points = plan.passes().flat_map(|(_, pass)| &pass.points);
        let near = points.filter(|point| point.x.abs() < 1e6 && point.y.abs() < 1e6);
        let key = |point: &Point| {
            let [x, y] = [point.x, point.y].map(|value| ((value + 1e6) * 100.0).round() as u64);
            (((y / reach) * columns + x / reach) * reach + y % reach) * reach + x % reach
        };
        let mut sorted: Vec<u64> = near.map(key).collect();
        sorted.sort_unstable();
        Keys { sorted, reach, columns }
    }

    /// The cells with points, row by row.
    fn cells(&self) -> Vec<Cell> {
        let mut cells = Vec::new();
        let (mut first, places) = (0, self.reach * self.reach);
        while let Some(key) = self.sorted.get(first) {
            let cell = key / places;
            let beyond = (cell + 1) * places;
            let points = self.sorted[first..].iter().take_while(|key| **key < beyond).count();
            let at = ((cell / self.columns) as i64, (cell % self.columns) as i64);
            cells.push(Cell { at, first, end: first + points });
            first += points;
        }
        cells
    }

    /// The points of a cell, equal ones counted together.
    fn spots(&self, cell: &Cell) -> impl Iterator<Item = Spot> {
        let (row, column) = (cell.at.0 as u64, cell.at.1 as u64);
        let spot = move |same: &[u64]| {
            let key = same.first()?;
            let (y, x) = (key / self.reach % self.reach, key % self.reach);
            let at = |cell: u64, place: u64| (cell * self.reach + place) as i64 - WIDE as i64 / 2;
            Some(Spot { at: (at(column, x), at(row, y)), times: same.len() })
        };
        let keys = self.sorted.get(cell.first..cell.end).unwrap_or(&[]);
        keys.chunk_by(|a, b| a == b).filter_map(spot)
    }
}

/// The points of one cell: a stretch of the sorted keys.
struct Cell {
    /// Row and column.
    at: (i64, i64),
    first: usize,
    end: usize,
}

impl Cell {
    fn times(&self) -> usize {
        self.end - self.first
    }
}

/// Of each cell the points in it and the eight around it. The cells stand row by row from left to right, so that in each
/// of the three rows one place goes along with the cell.
fn about_each(cells: &[Cell]) -> Vec<usize> {
    let mut firsts = [0; 3];
    let about = |cell: &Cell| {
        let (row, column) = cell.at;
        let mut sum = 0;
        for (first, row) in firsts.iter_mut().zip(row - 1..) {
            while cells.get(*first).is_some_and(|cell| cell.at < (row, column - 1)) {
                *first += 1;
            }
            let near = cells[*first..].iter().take_while(|cell| cell.at <= (row, column + 1));
            sum += near.map(Cell::times).sum::<usize>();
        }
        sum
    };
    cells.iter().map(about).collect()
}

/// The cell and the eight around it, as far as there are any.
fn around(cells: &[Cell], cell: usize) -> impl Iterator<Item = &Cell> {
    let at = cells.get(cell).map(|cell| cell.at);
    at.into_iter().flat_map(move |(row, column)| {
        (row - 1..=row + 1).flat_map(move |row| {
            let from = cells.partition_point(|cell| cell.at < (row, column - 1));
            cells.get(from..).unwrap_or(&[]).iter().take_while(move |cell| cell.at <= (row, column + 1))
        })
    })
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
    fn a_cluster_is_found() {
        let mut points: Vec<(f64, f64)> = (0..50).map(|i| (f64::from(i), 0.0)).collect();
        points.extend([(7.1, 3.0), (7.2, 3.0), (7.2, 3.0), (7.9, 3.0)]);
        let crowd = crowding(&plan(&points), 0.5).unwrap();
        assert_eq!((crowd.points, crowd.at), (3, Point::new(7.1, 3.0)));
    }

    #[test]
    fn the_radius_itself_counts() {
        assert_eq!(crowding(&plan(&[(-0.3, 0.0), (0.0, 0.4)]), 0.5).unwrap().points, 2);
        assert_eq!(crowding(&plan(&[(-0.3, 0.0), (0.01, 0.4)]), 0.5).unwrap().points, 1);
    }

    #[test]
    fn nothing_crowds_an_empty_plan() {
        assert_eq!(crowding(&Plan::default(), 0.5), None);
        assert_eq!(crowding(&plan(&[(f64::NAN, 0.0)]), 0.5), None);
        assert_eq!(crowding(&plan(&[(0.0, 0.0)]), f64::NAN), None);
    }

    #[test]
    fn a_million_stitches_on_one_spot_are_no_burden() {
        let points: Vec<(f64, f64)> = (0..1_000_000).map(|i| (f64::from(i % 7) / 100.0, 0.0)).collect();
        assert_eq!(crowding(&plan(&points), 0.5).unwrap().points, 1_000_000);
    }

    proptest! {
        #[test]
        fn it_is_what_counting_all_pairs_finds(points in prop::collection::vec((-300..300, -300..300), 1..80)) {
            let points: Vec<(f64, f64)> = points.iter().map(|&(x, y)| (f64::from(x) / 100.0, f64::from(y) / 100.0)).collect();
            let near = |a: &(f64, f64), b: &(f64, f64)| (a.0 - b.0).hypot(a.1 - b.1) <= 0.5 + 1e-9;
            let most = points.iter().map(|a| points.iter().filter(|b| near(a, b)).count()).max();
            prop_assert_eq!(crowding(&plan(&points), 0.5).map(|crowd| crowd.points), most);
        }
    }
}
