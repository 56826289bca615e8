//! Where parallel rows cross a region.
//!
//! A direct scanline: every corner is put between two rows once, every edge
//! then crosses the rows between its two ends (a half-open rule, so that a row
//! through a corner is crossed once or not at all and spans always pair up),
//! and the crossings are brought into their rows by counting. O(n + crossings),
//! but for the ordering within each row. Buffers are kept between calls.
//!
//! The rows are lines at [`RowLines::spacing`], square to them; the sum of the
//! lengths of all spans times the spacing differs from the region's area by
//! at most spacing x perimeter / 2 (midpoint rule for a width function of bounded
//! variation).

use crate::{GeometryError, Ring};
use kurbo::{Point, Vec2};
use laidwork_plan::Angle;

/// More rows than any hoop holds; asking for more is an error.
pub const MAX_ROWS: usize = 4_000_000;

/// Parallel lines over the whole plane, numbered across.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RowLines {
    along: Vec2,
    spacing: f64,
    offset: f64,
}

impl RowLines {
    /// Lines that run at `angle`, `spacing` mm apart, row 0 at `offset` mm from the frame's origin.
    ///
    /// # Errors
    /// When the spacing is not a positive number, or the offset is no number.
    pub fn new(angle: Angle, spacing: f64, offset: f64) -> Result<RowLines, GeometryError> {
        if !(spacing.is_finite() && spacing > 0.0 && offset.is_finite()) {
            return Err(GeometryError::Spacing { spacing, offset });
        }
        Ok(RowLines { along: angle.direction(), spacing, offset })
    }

    /// Unit vector along the rows.
    pub fn along(&self) -> Vec2 {
        self.along
    }

    /// Unit vector across the rows, the way their numbers grow.
    pub fn across(&self) -> Vec2 {
        self.along.turn_90()
    }

    /// Distance between neighbouring rows, mm.
    pub fn spacing(&self) -> f64 {
        self.spacing
    }

    /// How far across row `row` lies, mm from the frame's origin.
    pub fn height(&self, row: i64) -> f64 {
        self.offset + row as f64 * self.spacing
    }

    /// The point of row `row` that lies `along` mm along it.
    pub fn point(&self, row: i64, along: f64) -> Point {
        (self.along * along + self.across() * self.height(row)).to_point()
    }

    /// A point as (mm along, mm across).
    pub fn to_row_frame(&self, point: Point) -> Point {
        let v = point.to_vec2();
        Point::new(self.along.dot(v), self.along.cross(v))
    }

    /// The first row at or beyond `across` mm.
    pub fn first_row(&self, across: f64) -> i64 {
        ((across - self.offset) / self.spacing).ceil() as i64
    }
}

/// A stretch of a row inside the region, mm along the row; `from <= to`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Where it starts.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
}

impl Span {
    /// Length, mm.
    pub fn length(&self) -> f64 {
        self.to - self.from
    }
}

/// An edge that crosses at least one row.
#[derive(Clone, Copy, Debug)]
struct Edge {
    from: Point,
    to: Point,
    /// The first row it crosses and the first it no longer does.
    rows: (i64, i64),
}

impl Edge {
    /// Where it crosses a row at `height`, never beyond its ends.
    fn at(&self, height: f64) -> f64 {
        let share = (height - self.from.y) / (self.to.y - self.from.y);
        self.from.x + (self.to.x - self.from.x) * share.clamp(0.0, 1.0)
    }
}

/// Cuts regions into rows; keep one to use its buffers again.
#[derive(Clone, Debug, Default)]
pub struct Rows {
    edges: Vec<Edge>,
    starts: Vec<usize>,
    crossings: Vec<f64>,
    spans: Vec<Span>,
}

impl Rows {
    /// Fresh buffers.
    pub fn new() -> Rows {
        Rows::default()
    }

    /// Calls `visit` with the number and the spans of every row that crosses
    /// what `rings` enclose (an odd number of them), in the order of the rows,
    /// spans in order along the row. Rows that cross nothing are left out.
    ///
    /// Spans may be as short as nothing where a row grazes the outline.
    ///
    /// # Errors
    /// When there would be more than [`MAX_ROWS`] rows.
    pub fn for_each_row<'a>(
        &mut self,
        rings: impl Iterator<Item = &'a Ring>,
        lines: &RowLines,
        mut visit: impl FnMut(i64, &[Span]),
    ) -> Result<(), GeometryError> {
        self.edges.clear();
        rings.for_each(|ring| self.take_edges(ring, lines));
        let Some(first) = self.edges.iter().map(|edge| edge.rows.0).min() else { return Ok(()) };
        let last = self.edges.iter().map(|edge| edge.rows.1).max().unwrap_or(first);
        let count = usize::try_from(last.saturating_sub(first)).unwrap_or(usize::MAX);
        if count > MAX_ROWS {
            return Err(GeometryError::TooManyRows { rows: count, most: MAX_ROWS });
        }
        self.sort_crossings(lines, first, count);
        for row in 0..count {
            let Some(&[start, end]) = self.starts.get(row..row + 2) else { break };
            let Some(crossings) = self.crossings.get_mut(start..end).filter(|c| !c.is_empty()) else { continue };
            crossings.sort_unstable_by(f64::total_cmp);
            self.spans.clear();
            self.spans.extend(crossings.chunks_exact(2).map(|pair| Span { from: pair[0], to: pair[1] }));
            visit(first + row as i64, &self.spans);
        }
        Ok(())
    }

    fn take_edges(&mut self, ring: &Ring, lines: &RowLines) {
        let placed = |point: &Point| {
            let point = lines.to_row_frame(*point);
            (point, lines.first_row(point.y))
        };
        let mut corners = ring.points.iter().filter(|point| point.is_finite());
        let Some(first) = corners.next().map(placed) else { return };
        let mut before = first;
        for here in corners.map(placed).chain([first]) {
            if before.1 != here.1 {
                let rows = (before.1.min(here.1), before.1.max(here.1));
                self.edges.push(Edge { from: before.0, to: here.0, rows });
            }
            before = here;
        }
    }

    /// Brings the crossings into their rows: row `r` has `starts[r]..starts[r + 1]`.
    fn sort_crossings(&mut self, lines: &RowLines, first: i64, count: usize) {
        let place = |row: i64| (row - first) as usize;
        // Two places ahead, so that filling in below leaves each start where it belongs.
        self.starts.clear();
        self.starts.resize(count + 2, 0);
        for edge in &self.edges {
            for rows in &mut self.starts[place(edge.rows.0) + 2..place(edge.rows.1) + 2] {
                *rows += 1;
            }
        }
        for row in 1..self.starts.len() {
            self.starts[row] += self.starts[row - 1];
        }
        self.crossings.clear();
        self.crossings.resize(self.starts.last().copied().unwrap_or(0), 0.0);
        for edge in &self.edges {
            for row in edge.rows.0..edge.rows.1 {
                let next = &mut self.starts[place(row) + 1];
                self.crossings[*next] = edge.at(lines.height(row));
                *next += 1;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing;
    use proptest::prelude::*;

    fn lines(degrees: f64, spacing: f64, offset: f64) -> RowLines {
        RowLines::new(Angle::from_degrees(degrees).unwrap(), spacing, offset).unwrap()
    }

    fn total(region: &crate::Region, lines: &RowLines) -> f64 {
        let mut sum = 0.0;
        let add = |_, spans: &[Span]| sum += spans.iter().map(Span::length).sum::<f64>();
        Rows::new().for_each_row(region.rings(), lines, add).unwrap();
        sum
    }

    fn rectangle() -> Ring {
        Ring::new([(0.0, 0.0), (40.0, 0.0), (40.0, 10.0), (0.0, 10.0)].map(Point::from).to_vec())
    }

    #[test]
    fn a_rectangle_has_one_span_in_each_row() {
        let mut rows = Vec::new();
        Rows::new()
            .for_each_row([rectangle()].iter(), &lines(0.0, 0.4, 0.2), |row, spans| rows.push((row, spans.to_vec())))
            .unwrap();
        assert_eq!(rows.len(), 25);
        assert!(rows.iter().zip(0..).all(|((row, spans), i)| *row == i && spans.len() == 1));
        assert!(rows.iter().all(|(_, spans)| (spans[0].length() - 40.0).abs() < 1e-12));
    }

    #[test]
    fn a_row_through_corners_is_crossed_once_or_not_at_all() {
        let diamond = Ring::new([(0.0, -2.0), (2.0, 0.0), (0.0, 2.0), (-2.0, 0.0)].map(Point::from).to_vec());
        let mut rows = Vec::new();
        Rows::new()
            .for_each_row([diamond].iter(), &lines(0.0, 1.0, 0.0), |row, spans| rows.push((row, spans.to_vec())))
            .unwrap();
        assert_eq!(rows.iter().map(|row| row.0).collect::<Vec<_>>(), [-2, -1, 0, 1]);
        assert!((rows[2].1[0].length() - 4.0).abs() < 1e-12);
    }

    #[test]
    fn row_points_lie_on_their_row() {
        let lines = lines(30.0, 0.25, 0.1);
        let point = lines.point(7, 3.0);
        let back = lines.to_row_frame(point);
        assert!((back.x - 3.0).abs() < 1e-12 && (back.y - lines.height(7)).abs() < 1e-12);
    }

    #[test]
    fn senseless_spacings_are_errors() {
        for spacing in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(RowLines::new(Angle::ZERO, spacing, 0.0).is_err());
        }
        let fine = lines(90.0, 1e-6, 0.0);
        let result = Rows::new().for_each_row([rectangle()].iter(), &fine, |_, _| ());
        assert!(matches!(result, Err(GeometryError::TooManyRows { .. })));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(400))]

        #[test]
        fn length_times_spacing_is_the_area_within_the_hard_bound(
            kind in 0..testing::Kind::ALL.len(), seed: u64, size in 3usize..60,
            degrees in -180.0..180.0, spacing in 0.05..3.0, phase in 0.0..1.0,
        ) {
            let region = testing::region(testing::Kind::ALL[kind], size, seed);
            let total = total(&region, &lines(degrees, spacing, phase * spacing));
            let bound = spacing * region.perimeter() / 2.0;
            prop_assert!((total * spacing - region.area()).abs() <= bound * (1.0 + 1e-9) + 1e-9);
        }
    }
}
