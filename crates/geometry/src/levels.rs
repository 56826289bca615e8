//! Where a field of sampled values is high: its superlevel sets as regions.
//!
//! Marching squares over a grid of samples, linear between them. Every crossing
//! of a grid edge is left by exactly one segment and reached by exactly one, so
//! the segments close to rings without any search; saddles are taken as
//! connected. Use it to part a shape by a smooth quantity.
//!
//! O(samples). Crossings lie where the linear interpolation along their edge
//! has the level; beyond the grid the field counts as low.

use crate::{FillRule, Region, Ring};
use kurbo::{Point, Vec2};

/// Values on a grid: `columns` by `rows` samples, `step` apart, the first at `origin`.
#[derive(Clone, Debug)]
pub struct Samples {
    /// Where the first sample lies, mm.
    pub origin: Point,
    /// From one sample to the next, along x and along y, mm.
    pub step: Vec2,
    /// Samples in a row of the grid.
    pub columns: usize,
    /// The values, row by row.
    pub values: Vec<f64>,
}

const NONE: usize = usize::MAX;

impl Samples {
    /// Samples `field` over the rectangle from `from` to `to` at steps of at most `step` mm.
    pub fn of(from: Point, to: Point, step: Vec2, field: impl Fn(Point) -> f64) -> Samples {
        let count = |length: f64, step: f64| (length / step).ceil().clamp(1.0, 4000.0);
        let (across, down) = (count(to.x - from.x, step.x), count(to.y - from.y, step.y));
        let step = Vec2::new((to.x - from.x) / across, (to.y - from.y) / down);
        let (columns, rows) = (across as usize + 1, down as usize + 1);
        let mut samples = Samples { origin: from, step, columns, values: Vec::with_capacity(columns * rows) };
        for row in 0..rows {
            samples.values.extend((0..columns).map(|column| field(samples_at(from, step, column, row))));
        }
        samples
    }

    /// The region where the field is at least `level`.
    pub fn at_least(&self, level: f64) -> Region {
        if self.columns == 0 {
            return Region::default();
        }
        let rows = self.values.len() / self.columns;
        // One ring of low samples all round.
        let (wide, high) = (self.columns + 2, rows + 2);
        let value = |column: usize, row: usize| match (column.checked_sub(1), row.checked_sub(1)) {
            (Some(c), Some(r)) if c < self.columns && r < rows => self.values[r * self.columns + c] - level,
            _ => f64::NEG_INFINITY,
        };
        let mut next = vec![NONE; 2 * wide * high];
        for row in 0..high - 1 {
            for column in 0..wide - 1 {
                let corners = [(column, row), (column + 1, row), (column + 1, row + 1), (column, row + 1)];
                let inside = corners.map(|(c, r)| value(c, r) >= 0.0);
                let base = 2 * (row * wide + column);
                let edges = [base, base + 3, base + 2 * wide, base + 1];
                for (i, &edge) in edges.iter().enumerate() {
                    if inside[i] && !inside[(i + 1) % 4] {
                        let enters = (1..4).map(|k| (i + k) % 4).find(|&k| !inside[k] && inside[(k + 1) % 4]);
                        next[edge] = enters.map_or(NONE, |k| edges[k]);
                    }
                }
            }
        }
        let crossing = |edge: usize| {
            let (column, row) = (edge / 2 % wide, edge / 2 / wide);
            let (c, r) = if edge.is_multiple_of(2) { (column + 1, row) } else { (column, row + 1) };
            let (a, b) = (value(column, row), value(c, r));
            let share = if a.is_infinite() {
                1.0
            } else if b.is_infinite() {
                0.0
            } else {
                (a / (a - b)).clamp(0.0, 1.0)
            };
            let at = |column, row| samples_at(self.origin - self.step, self.step, column, row);
            at(column, row).lerp(at(c, r), share)
        };
        let mut rings = Vec::new();
        for start in 0..next.len() {
            let mut points = Vec::new();
            let mut edge = start;
            while next[edge] != NONE {
                points.push(crossing(edge));
                edge = std::mem::replace(&mut next[edge], NONE);
            }
            if points.len() > 2 {
                rings.push(Ring::new(points));
            }
        }
        Region::from_rings(&rings, FillRule::EvenOdd)
    }
}

fn samples_at(origin: Point, step: Vec2, column: usize, row: usize) -> Point {
    Point::new(origin.x + step.x * column as f64, origin.y + step.y * row as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn samples(field: impl Fn(Point) -> f64) -> Samples {
        Samples::of(Point::new(-5.0, -4.0), Point::new(5.0, 4.0), Vec2::new(0.1, 0.1), field)
    }

    #[test]
    fn a_cone_is_high_in_a_disc() {
        let found = samples(|p| -p.to_vec2().hypot()).at_least(-3.0);
        assert_eq!(found.polygons.len(), 1);
        assert!((found.area() - std::f64::consts::PI * 9.0).abs() < 0.02, "{}", found.area());
    }

    #[test]
    fn a_hill_with_a_dip_has_a_hole() {
        let found = samples(|p| -(p.to_vec2().hypot() - 2.0).abs()).at_least(-1.0);
        assert_eq!((found.polygons.len(), found.polygons[0].holes.len()), (1, 1));
        assert!((found.area() - std::f64::consts::PI * 8.0).abs() < 0.05, "{}", found.area());
    }

    #[test]
    fn a_high_plain_is_the_whole_grid_and_a_low_one_nothing() {
        assert!((samples(|_| 1.0).at_least(0.0).area() - 80.0).abs() < 1e-3);
        assert!(samples(|_| -1.0).at_least(0.0).is_empty());
    }

    #[test]
    fn high_and_low_parts_add_up() {
        let wave = |p: Point| (p.x * 1.3).sin() * (p.y * 0.9).cos();
        let (high, low) = (samples(wave).at_least(0.1), samples(|p| -wave(p)).at_least(-0.1));
        assert!((high.area() + low.area() - 80.0).abs() < 0.01, "{} {}", high.area(), low.area());
    }
}
