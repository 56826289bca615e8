//! The rows over a polygon: how they are cut, and where a walk over them goes.

use crate::row_map::{Foot, RowMap};
use kurbo::Point;
use laidwork_geometry::{Frame, Polygon, RowGraph, RowStep, RowWalk, Side, WalkEnds, walk_rows};
use laidwork_run::Ends;

/// Gaps in a row narrower than this are sewn over: no thread could show them, mm.
pub(crate) const BRIDGE: f64 = 0.2;

/// More rows than any hoop holds.
const MOST_ROWS: f64 = 1e6;

/// Rows over a polygon.
pub(crate) struct Rows<M> {
    /// From the plane of the rows to the fabric.
    pub(crate) map: M,
    /// How the polygon is seen where it is cut.
    pub(crate) frame: Frame,
    pub(crate) cuts: Vec<f64>,
    pub(crate) rows: RowGraph,
    /// How far apart they are, mm; the mean where that changes.
    pub(crate) spacing: f64,
    /// How far each span end can still be moved out for a turn, mm.
    pub(crate) slack: Vec<[f32; 2]>,
}

impl Rows<Frame> {
    /// Straight rows as even as can be, the outermost half a spacing inside; how far apart they are, mm, changes
    /// evenly over the shape from the first of `spacing` to the second.
    pub(crate) fn straight(polygon: &Polygon, frame: Frame, spacing: [f64; 2]) -> Option<Rows<Frame>> {
        Rows::new(polygon, frame, frame, spacing)
    }
}

impl<M: RowMap> Rows<M> {
    /// Rows of a polygon in their own plane, which it has when seen in `frame`.
    pub(crate) fn new(polygon: &Polygon, frame: Frame, map: M, spacing: [f64; 2]) -> Option<Rows<M>> {
        let (low, high) = frame.extent(polygon)?;
        if let Some(pitch) = map.pitch() {
            return Some(Rows::at_places(
                polygon,
                frame,
                map,
                ((low / pitch + 1e-6).floor(), (high / pitch - 1e-6).ceil()),
                pitch,
            ));
        }
        let height = high - low;
        let [near, far] = spacing;
        let is_even = (far - near).abs() < 1e-9;
        // How many rows fit: the integral of 1 / spacing over the height.
        let fit = if is_even { height / near } else { height / (far - near) * (far / near).ln() };
        // A last row that would be nearly empty is spread over the others.
        let count = (fit - 0.05).ceil().clamp(1.0, MOST_ROWS);
        // The part of the height below which lies a share of the rows: that integral, turned about.
        let part_below = |share: f64| match is_even {
            true => share,
            false => near * ((far / near).powf(share) - 1.0) / (far - near),
        };
        let cuts: Vec<f64> = (0..=count as usize).map(|i| low + height * part_below(i as f64 / count)).collect();
        let rows = RowGraph::cut(polygon, frame, &cuts, BRIDGE);
        Some(Rows { map, frame, cuts, slack: vec![[0.0; 2]; rows.spans.len()], rows, spacing: height / count })
    }

    /// Rows at the places that the map has for them, `from` the first to the last, `pitch` apart.
    fn at_places(polygon: &Polygon, frame: Frame, map: M, (first, last): (f64, f64), pitch: f64) -> Rows<M> {
        let count = (last - first).clamp(1.0, MOST_ROWS) as usize;
        let cuts: Vec<f64> = (0..=count).map(|i| (first + i as f64) * pitch).collect();
        let rows = RowGraph::cut(polygon, frame, &cuts, BRIDGE);
        Rows { map, frame, cuts, slack: vec![[0.0; 2]; rows.spans.len()], rows, spacing: pitch }
    }

    pub(crate) fn line(&self, row: u32) -> f64 {
        let row = row as usize;
        (self.cuts[row] + self.cuts[row + 1]) / 2.0
    }

    /// The line of a span's row.
    pub(crate) fn line_of(&self, span: u32) -> f64 {
        self.line(self.rows.spans[span as usize].row)
    }

    /// The point at a place along a span.
    pub(crate) fn place(&self, span: u32, u: f64) -> Point {
        self.map.on_fabric(Point::new(u, self.line_of(span)))
    }

    /// The place of a span beside one of another.
    pub(crate) fn foot(&self, span: u32, u: f64, on: u32) -> Foot {
        self.map.foot(Point::new(u, self.line_of(span)), self.line_of(on))
    }

    /// The span nearest to a point, and the place along it.
    pub(crate) fn nearest(&self, point: Point) -> Option<(u32, f64)> {
        let uv = self.map.to_rows(point);
        let round = self.map.round();
        let away = |span: &laidwork_geometry::RowSpan| {
            let along = uv.x - uv.x.clamp(span.from, span.to);
            let across = uv.y - self.line(span.row);
            // The ray that the plane is cut open along has rows at both of its borders.
            let across = round.map_or(across, |round| across - (across / round).round() * round);
            along * along + across * across
        };
        let nearest = self.rows.spans.iter().enumerate().min_by(|a, b| away(a.1).total_cmp(&away(b.1)))?;
        Some((nearest.0 as u32, uv.x))
    }

    pub(crate) fn walk(&self, ends: Ends) -> RowWalk {
        let at = |point: Option<Point>| point.filter(|p| p.is_finite()).and_then(|p| self.nearest(p));
        walk_rows(&self.rows, self.spacing, WalkEnds { start: at(ends.start), end: at(ends.end) })
    }

    /// Where a walk begins.
    pub(crate) fn start_of(&self, walk: &RowWalk) -> Option<Point> {
        walk.steps.first().map(|step| self.beginning(step))
    }

    /// Where a step begins.
    pub(crate) fn beginning(&self, step: &RowStep) -> Point {
        match *step {
            RowStep::Lay { span, from, .. } | RowStep::Slip { span, from, .. } => self.place(span, from),
            RowStep::Weave { corridor, side } => self.place(corridor.first, self.end_of(corridor.first, side)),
            RowStep::Travel { corridor, from, .. } => self.place(corridor.first, from),
        }
    }

    /// About how many needle points the rows take, `length` mm apart.
    pub(crate) fn points(&self, length: f64) -> usize {
        self.rows.spans.iter().map(|span| (span.length() / length) as usize + 2).sum()
    }

    /// Where a span ends.
    pub(crate) fn end_of(&self, span: u32, side: Side) -> f64 {
        let span = &self.rows.spans[span as usize];
        if side == Side::From { span.from } else { span.to }
    }
}
