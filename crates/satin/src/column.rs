//! A column: a band between two sides that threads are laid across.

use kurbo::Point;
use laidwork_geometry::{Crossing, crossing_at};

/// What a column does at one of its ends.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ColumnEnd {
    /// It ends with the shape: push compensation applies.
    #[default]
    Open,
    /// It narrows to a point.
    Point,
    /// It meets another column, or goes on under it.
    Joined,
}

/// A band between two sides, as a dense row of crossings in order along it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Column {
    /// Lines across it; neighbours do not cross each other.
    pub crossings: Vec<Crossing>,
    /// A ring: the last crossing is followed by the first.
    pub closed: bool,
    /// What happens at its first and its last crossing.
    pub ends: [ColumnEnd; 2],
}

impl Column {
    /// An open column with two open ends.
    pub fn open(crossings: Vec<Crossing>) -> Column {
        Column { crossings, ..Column::default() }
    }

    /// A ring.
    pub fn ring(crossings: Vec<Crossing>) -> Column {
        Column { crossings, closed: true, ends: [ColumnEnd::Joined; 2] }
    }

    /// The left side, mm.
    pub fn left(&self) -> impl Iterator<Item = Point> + '_ {
        self.crossings.iter().map(|c| c.left)
    }

    /// The right side, mm.
    pub fn right(&self) -> impl Iterator<Item = Point> + '_ {
        self.crossings.iter().map(|c| c.right)
    }

    /// The middle line, mm.
    pub fn centre(&self) -> impl Iterator<Item = Point> + '_ {
        self.crossings.iter().map(|c| c.middle())
    }

    /// Length of the middle line, mm.
    pub fn length(&self) -> f64 {
        let steps: f64 = self
            .crossings
            .windows(2)
            .map(|p| p.first().map_or(0.0, |a| p[p.len() - 1].middle().distance(a.middle())))
            .sum();
        match (self.closed, self.crossings.first(), self.crossings.last()) {
            (true, Some(first), Some(last)) => steps + last.middle().distance(first.middle()),
            _ => steps,
        }
    }

    /// The place of the last crossing (of a ring: of the first one, come round again).
    pub fn last_place(&self) -> f64 {
        (self.crossings.len() + usize::from(self.closed)).saturating_sub(1) as f64
    }

    /// The width in the middle of the order of widths, mm.
    pub fn median_width(&self) -> f64 {
        self.width_at_share(0.5)
    }

    /// The width that `share` of the crossings do not reach, mm.
    pub(crate) fn width_at_share(&self, share: f64) -> f64 {
        let mut widths: Vec<f64> = self.crossings.iter().map(|c| c.width()).collect();
        widths.sort_by(f64::total_cmp);
        widths.get((widths.len() as f64 * share) as usize).copied().unwrap_or(0.0)
    }

    /// The greatest width, mm.
    pub fn greatest_width(&self) -> f64 {
        self.crossings.iter().map(|c| c.width()).fold(0.0, f64::max)
    }

    /// The place whose middle is nearest to `point`.
    pub fn nearest_place(&self, point: Point) -> f64 {
        let distance = |i: &usize| self.crossings.get(*i).map_or(f64::INFINITY, |c| c.middle().distance_squared(point));
        let nearest = (0..self.crossings.len()).min_by(|a, b| distance(a).total_cmp(&distance(b)));
        nearest.unwrap_or(0) as f64
    }

    /// The place at least `far` places on or back where the column crosses itself, seen from `place`.
    pub(crate) fn comes_back(&self, place: f64, far: f64) -> Option<f64> {
        let middle = self.middle_at(place);
        let away = |i: &usize| self.crossings.get(*i).map_or(f64::INFINITY, |c| c.middle().distance(middle));
        let others = (0..self.crossings.len()).filter(|i| (*i as f64 - place).abs() >= far);
        let nearest = others.min_by(|a, b| away(a).total_cmp(&away(b)))?;
        (away(&nearest) < self.greatest_width()).then_some(nearest as f64)
    }

    /// The middle at a place.
    pub fn middle_at(&self, place: f64) -> Point {
        crossing_at(&self.crossings, place).unwrap_or_default().middle()
    }

    /// The same column from its other end; left becomes right.
    pub fn reversed(&self) -> Column {
        Column {
            crossings: self.crossings.iter().rev().map(|c| c.flipped()).collect(),
            closed: self.closed,
            ends: [self.ends[1], self.ends[0]],
        }
    }

    /// A ring opened at the crossing nearest to `place`: an open column that
    /// ends where it begins. Open columns stay as they are.
    pub fn opened_at(&self, place: f64) -> Column {
        if !self.closed || self.crossings.is_empty() {
            return self.clone();
        }
        let count = self.crossings.len();
        let first = if place.is_finite() { place.round().max(0.0) as usize % count } else { 0 };
        let crossings = self.crossings.iter().cycle().skip(first).take(count + 1).copied().collect();
        Column { crossings, closed: false, ends: [ColumnEnd::Joined; 2] }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring() -> Column {
        let at = |i: usize| {
            let angle = std::f64::consts::TAU * i as f64 / 60.0;
            let out = kurbo::Vec2::from_angle(angle);
            Crossing::new((out * 5.0).to_point(), (out * 3.0).to_point())
        };
        Column::ring((0..60).map(at).collect())
    }

    #[test]
    fn a_ring_opens_where_asked() {
        let open = ring().opened_at(15.2);
        assert_eq!(open.crossings.len(), 61);
        assert_eq!(open.crossings.first(), open.crossings.last());
        assert!(open.crossings[0].left.distance(Point::new(0.0, 5.0)) < 1e-9);
        assert!((ring().length() - open.length()).abs() < 1e-9);
    }

    #[test]
    fn turning_round_twice_changes_nothing() {
        let column = Column::open(ring().crossings);
        assert_eq!(column.reversed().reversed(), column);
        assert!((column.median_width() - 2.0).abs() < 1e-9);
    }
}
