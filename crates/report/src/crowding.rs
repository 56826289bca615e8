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

/// The needle point with the most needle points around it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crowd {
    /// Where it is, mm.
    pub at: Point,
    /// Needle points within the radius, itself included.
    pub points: usize,
}

/// A point on the 0.01 mm grid: its cell, itself, and how often the needle goes there.
struct Spot {
    cell: (i64, i64),
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
    let reach = reach as i64;
    let spots = spots(plan, reach);
    let cells = cells(&spots);
    let mut order: Vec<(usize, usize)> =
        (0..cells.len()).map(|cell| (around(&cells, cell).map(|cell| cell.times).sum(), cell)).collect();
    order.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut best: Option<(usize, usize)> = None; // points, index of the spot
    for (most, cell) in order {
        if best.is_some_and(|(points, _)| points >= most) {
            break;
        }
        let neighbours: Vec<&Spot> =
            around(&cells, cell).flat_map(|cell| spots.get(cell.range()).unwrap_or(&[])).collect();
        for i in cells.get(cell).map_or(0..0, Cell::range) {
            let Some(spot) = spots.get(i) else { continue };
            let near = |other: &&&Spot| {
                let (x, y) = (other.at.0 - spot.at.0, other.at.1 - spot.at.1);
                x * x + y * y <= reach * reach
            };
            let points = neighbours.iter().filter(near).map(|other| other.times).sum();
            if best.is_none_or(|(most, _)| points > most) {
                best = Some((points, i));
            }
        }
    }
    let (points, i) = best?;
    let (x, y) = spots.get(i)?.at;
    Some(Crowd { at: Point::new(x as f64 / 100.0, y as f64 / 100.0), points })
}

/// Twice the farthest a point may lie from the origin, in hundredths of a millimetre.
const WIDE: u64 = 200_000_000;

/// All needle points within a kilometre, sorted by cell, equal ones counted together.
fn spots(plan: &Plan, reach: i64) -> Vec<Spot> {
    // A cell and a place in it make one number, which sorts faster than four.
    let reach = reach as u64;
    let columns = WIDE / reach + 1;
    let points = plan.passes().flat_map(|(_, pass)| &pass.points);
    let near = points.filter(|point| point.x.abs() < 1e6 && point.y.abs() < 1e6);
    let mut keys: Vec<u64> = near
        .map(|point| {
            let [x, y] = [point.x, point.y].map(|value| ((value + 1e6) * 100.0).round() as u64);
            (((y / reach) * columns + x / reach) * reach + y % reach) * reach + x % reach
        })
        .collect();
    keys.sort_unstable();
    let spot = |same: &[u64]| {
        let key = same.first()?;
        let (cell, y, x) = (key / reach / reach, key / reach % reach, key % reach);
        let (row, column) = (cell / columns, cell % columns);
        let at = |cell: u64, place: u64| (cell * reach + place) as i64 - WIDE as i64 / 2;
        let at = (at(row, y), at(column, x));
        Some(Spot { cell: (row as i64, column as i64), at: (at.1, at.0), times: same.len() })
    };
    keys.chunk_by(|a, b| a == b).filter_map(spot).collect()
}

/// The spots of one cell: a stretch of the sorted spots.
struct Cell {
    at: (i64, i64),
    first: usize,
    end: usize,
    times: usize,
}

impl Cell {
    fn range(&self) -> std::ops::Range<usize> {
        self.first..self.end
    }
}

fn cells(spots: &[Spot]) -> Vec<Cell> {
    let mut cells: Vec<Cell> = Vec::new();
    for (i, spot) in spots.iter().enumerate() {
        match cells.last_mut() {
            Some(cell) if cell.at == spot.cell => {
                cell.end = i + 1;
                cell.times += spot.times;
            }
            _ => cells.push(Cell { at: spot.cell, first: i, end: i + 1, times: spot.times }),
        }
    }
    cells
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
