//! What carries a fill: a run inside its outlines and open rows across its rows.
//!
//! The polygon is shrunk by the inset of the edge run. Along every ring of
//! what is left goes a run. Where the runs lie farther apart than the open rows
//! do, rows go between them, half their spacing away from the runs, so that
//! neither doubles the other. All is one chain. Moves between these follow the shrunk outline or run inside it,
//! so everything lies at least 0.4 mm inside the shape and under its rows.
//! Parts too thin or too small for this go without, as their rows are short
//! enough to lie firm. Common practice, no source, but for the walk over the
//! rows ([`laidwork_geometry::walk_rows`]).

use kurbo::Point;
use laidwork_geometry::{Corridor, Frame, Join, Polygon, Region, Ring, RowGraph, RowSpan, RowStep, Side, WalkEnds};
use laidwork_geometry::{OutlineWays, Walker, walk_rows};
use laidwork_plan::{Pass, PassKind};
use laidwork_run::RunSettings;

/// What is sewn under a fill before its rows. Common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FillUnderlay {
    /// A run along every outline, this far inside it, mm.
    pub edge_run: Option<f64>,
    /// Open rows across the top rows, this far apart, mm.
    pub rows: Option<f64>,
    /// Two layers of open rows that cross each other, for loose fabrics.
    pub crossing: bool,
    /// Longest stitch of all of these, mm.
    pub stitch_length: f64,
}

impl Default for FillUnderlay {
    fn default() -> FillUnderlay {
        FillUnderlay { edge_run: Some(0.5), rows: Some(2.5), crossing: false, stitch_length: 3.0 }
    }
}

/// Open rows keep at least this far inside the outline, mm.
const INSET: f64 = 0.5;

/// A part of the shrunk shape with less area gets no open rows, mm².
const LEAST_AREA: f64 = 12.0;

/// A ring of the shrunk shape that is shorter gets no run, mm.
const LEAST_RING: f64 = 6.0;

/// Open rows are found among rows this far apart, mm: what reaches across less is not followed.
const FINE: f64 = 0.5;

/// No stitch is shorter, mm: 0.3 and room for rounding to 0.01.
const SHORTEST: f64 = 0.32;

/// The underlay of a fill.
#[derive(Clone, Debug, Default)]
pub struct UnderFill {
    /// One unbroken chain.
    pub passes: Vec<Pass>,
    /// The whole polygon shrunk by [`UnderFill::inset`], but for parts too small for a run; `None` where it was
    /// not needed or only part of it was shrunk.
    pub shrunk: Option<Region>,
    /// How far inside the outline the runs lie, mm.
    pub inset: f64,
}

/// The underlay of a fill whose rows run at `degrees`, as one unbroken chain
/// that begins as near to `start` as it can. It stays out of `hidden`, where
/// other stitches lie on top. Empty where the polygon is too thin or too small
/// for any.
pub fn fill_underlay(
    polygon: &Polygon,
    hidden: Option<&Region>,
    degrees: f64,
    settings: &FillUnderlay,
    start: Option<Point>,
) -> UnderFill {
    if settings.edge_run.is_none() && settings.rows.is_none() || polygon.area() < LEAST_AREA {
        return UnderFill::default();
    }
    let inset = settings.edge_run.filter(|inset| inset.is_finite()).map_or(INSET, |inset| inset.clamp(0.4, 5.0));
    let join = Join::Around { tolerance: 0.02 };
    let mut shrunk = match hidden {
        Some(hidden) => Region::from(polygon.clone()).difference(hidden).offset(-inset, join),
        None => polygon.offset(-inset, join),
    };
    shrunk.polygons.retain(|part| part.outer.length() >= LEAST_RING);
    let mut sewer = Sewer::new(polygon, settings, start);
    let mut parts = Vec::with_capacity(shrunk.polygons.len());
    while let Some(part) = sewer.take_nearest(&mut shrunk.polygons) {
        sewer.part(&part, degrees, settings);
        parts.push(part);
    }
    let shrunk = hidden.is_none().then_some(Region { polygons: parts });
    UnderFill { passes: sewer.passes, shrunk, inset }
}

struct Sewer<'a> {
    polygon: &'a Polygon,
    /// Ways in the whole polygon, made when the first is asked for.
    walker: Option<Walker>,
    run: RunSettings,
    at: Option<Point>,
    passes: Vec<Pass>,
}

impl<'a> Sewer<'a> {
    fn new(polygon: &'a Polygon, settings: &FillUnderlay, start: Option<Point>) -> Sewer<'a> {
        let run = RunSettings {
            stitch_length: settings.stitch_length,
            curve_stitch_length: settings.stitch_length.min(2.0),
            shortest_stitch: 0.5,
            ..RunSettings::default()
        };
        Sewer { polygon, walker: None, run, at: start.filter(|p| p.is_finite()), passes: Vec::new() }
    }

    /// The part whose outline begins nearest.
    fn take_nearest(&self, parts: &mut Vec<Polygon>) -> Option<Polygon> {
        let away = |part: &Polygon| match (self.at, part.outer.points.first()) {
            (Some(at), Some(first)) => at.distance_squared(*first),
            _ => 0.0,
        };
        let nearest = (0..parts.len()).min_by(|&a, &b| away(&parts[a]).total_cmp(&away(&parts[b])))?;
        Some(parts.remove(nearest))
    }

    fn part(&mut self, part: &Polygon, degrees: f64, settings: &FillUnderlay) {
        let mut ground = Ground { part, ways: None, walker: None, reached: false };
        if settings.edge_run.is_some() {
            for ring in in_strips(part) {
                self.ring(ring, &mut ground);
            }
        }
        let Some(spacing) = settings.rows.filter(|s| s.is_finite()).map(|s| s.clamp(0.8, 20.0)) else { return };
        // Runs nearer to each other than the rows carry as much as rows do.
        let inset = settings.edge_run.map(|_| spacing / 2.0);
        let turns: &[f64] = if settings.crossing { &[45.0, 135.0] } else { &[90.0] };
        for turn in turns {
            let Some(open) = OpenRows::cut(part, degrees + turn, spacing) else { continue };
            let mut wide = open.parts(inset);
            while let Some(rows) = open.take_nearest(&mut wide, self.at) {
                if let Some(way) = open.way(rows) {
                    self.go(&way, &mut ground);
                }
            }
        }
    }

    /// A run round a ring, from its place nearest to the needle and back to it.
    fn ring(&mut self, ring: &Ring, ground: &mut Ground<'_>) {
        if ring.length() < LEAST_RING {
            return;
        }
        self.go(&ring.way_round(self.at), ground);
    }

    /// Sews along a way, after getting there.
    fn go(&mut self, way: &[Point], ground: &mut Ground<'_>) {
        let Some(&first) = way.first() else { return };
        if let Some(at) = self.at {
            let polygon = self.polygon;
            let there = match ground.reached {
                true => ground.path(at, first),
                false => self.walker.get_or_insert_with(|| Walker::new(polygon)).path(at, first),
            };
            self.sew(PassKind::Travel, &there);
        }
        ground.reached = true;
        self.sew(PassKind::Underlay, way);
        self.at = way.last().copied();
    }

    /// Needle points along a way; the first one only where the chain begins.
    fn sew(&mut self, kind: PassKind, way: &[Point]) {
        let mut points = laidwork_run::points(way, false, &self.run);
        let mut last = self.passes.last().and_then(|pass| pass.points.last()).copied();
        points.retain(|&point| {
            let is_far = last.is_none_or(|last| last.distance_squared(point) >= SHORTEST * SHORTEST);
            last = if is_far { Some(point) } else { last };
            is_far
        });
        match self.passes.last_mut() {
            Some(pass) if pass.kind == kind => pass.points.append(&mut points),
            _ if points.is_empty() => {}
            _ => self.passes.push(Pass::new(kind, points)),
        }
    }
}

/// A part of the shrunk shape and the ways inside it.
struct Ground<'a> {
    part: &'a Polygon,
    ways: Option<OutlineWays<'a>>,
    walker: Option<Walker>,
    /// Whether the needle has come here.
    reached: bool,
}

impl Ground<'_> {
    /// Straight or along the runs; the shortest way where that is long.
    fn path(&mut self, from: Point, to: Point) -> Vec<Point> {
        let part = self.part;
        let ways = self.ways.get_or_insert_with(|| OutlineWays::new(part));
        ways.way(from, to).unwrap_or_else(|| self.walker.get_or_insert_with(|| Walker::new(part)).path(from, to))
    }
}

/// The outer ring, then holes in strips of 10 mm, up one and down the next.
fn in_strips(part: &Polygon) -> Vec<&Ring> {
    let mut holes: Vec<(i64, f64, &Ring)> = Vec::new();
    for hole in &part.holes {
        let Some(bounds) = hole.bounds() else { continue };
        let strip = (bounds.center().x / 10.0).floor() as i64;
        holes.push((strip, if strip % 2 == 0 { bounds.center().y } else { -bounds.center().y }, hole));
    }
    holes.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    std::iter::once(&part.outer).chain(holes.into_iter().map(|hole| hole.2)).collect()
}

/// A way along open rows over a connected shape, from row to row along its
/// outline: corners in mm, rows about `spacing` apart at `degrees`. `None`
/// where no row crosses the shape.
pub fn open_rows(part: &Polygon, degrees: f64, spacing: f64) -> Option<Vec<Point>> {
    let mut open = OpenRows::cut(part, degrees, spacing)?;
    let rows = std::mem::take(&mut open.rows);
    open.way(rows)
}

/// A shape in fine rows, of which some are wanted.
struct OpenRows {
    frame: Frame,
    cuts: Vec<f64>,
    rows: RowGraph,
    /// How far fine rows are apart, mm.
    fine: f64,
    /// Every how many of them one is wanted.
    every: u32,
}

impl OpenRows {
    fn cut(part: &Polygon, degrees: f64, spacing: f64) -> Option<OpenRows> {
        let frame = Frame::turned(degrees);
        let (low, high) = frame.extent(part)?;
        let every = (spacing / FINE).round().max(1.0);
        let count = ((high - low) * every / spacing).ceil().max(1.0);
        let cuts: Vec<f64> = (0..=count as usize).map(|i| low + (high - low) * i as f64 / count).collect();
        let rows = RowGraph::cut(part, frame, &cuts, 0.0);
        Some(OpenRows { frame, cuts, rows, fine: (high - low) / count, every: every as u32 })
    }

    /// The connected parts that are large enough, as far inside the outline as `inset` says, mm.
    fn parts(&self, inset: Option<f64>) -> Vec<RowGraph> {
        let rows = inset.map_or_else(|| self.rows.clone(), |inset| self.rows.shrunk(inset, &self.cuts));
        let mut parts = rows.connected_parts();
        let length = |part: &RowGraph| part.spans.iter().map(RowSpan::length).sum::<f64>();
        parts.retain(|part| length(part) * self.fine >= LEAST_AREA / 2.0);
        parts
    }

    /// The part that begins nearest.
    fn take_nearest(&self, parts: &mut Vec<RowGraph>, at: Option<Point>) -> Option<RowGraph> {
        let away = |part: &RowGraph| match (at, part.spans.first()) {
            (Some(at), Some(span)) => at.distance_squared(self.place(span, span.from)),
            _ => 0.0,
        };
        let nearest = (0..parts.len()).min_by(|&a, &b| away(&parts[a]).total_cmp(&away(&parts[b])))?;
        Some(parts.remove(nearest))
    }

    fn place(&self, span: &RowSpan, u: f64) -> Point {
        let row = span.row as usize;
        self.frame.from_frame(Point::new(u, (self.cuts[row] + self.cuts[row + 1]) / 2.0))
    }

    /// A way along the wanted ones of a connected part: as far apart as they are wanted, and the first as far from
    /// its end as the last.
    fn way(&self, rows: RowGraph) -> Option<Vec<Point>> {
        let (first, last) = (rows.spans.first()?.row, rows.spans.last()?.row);
        let count = (f64::from(last - first + 1) / f64::from(self.every)).round().max(1.0) as u32;
        let middle = first + (last - first - ((count - 1) * self.every).min(last - first)) / 2;
        let wanted = |row: u32| row % self.every == middle % self.every;
        let rows = rows.without_dead_ends(|span| wanted(span.row));
        if !rows.spans.iter().any(|span| wanted(span.row)) {
            return None;
        }
        let at = |span: u32, u: f64| self.place(&rows.spans[span as usize], u);
        let mut way = Vec::with_capacity(2 * rows.spans.len());
        let mut crossing = None;
        for step in &walk_rows(&rows, self.fine, WalkEnds::default()).steps {
            let crossed = crossing.take();
            match *step {
                RowStep::Lay { span, from, to } | RowStep::Slip { span, from, to, .. } => {
                    // Fine rows that meet others are walked over and back; of those that are not wanted only the way on is.
                    let row = rows.spans[span as usize].row;
                    crossing =
                        (!wanted(row)).then_some(crossed.filter(|&first| row.abs_diff(first) <= 2).unwrap_or(row));
                    if crossed.is_some() && crossed == crossing {
                        way.pop();
                    } else {
                        way.push(at(span, from));
                    }
                    way.push(at(span, to));
                }
                RowStep::Weave { corridor, side } => {
                    follow(&rows, corridor, side, wanted, |span, u| way.push(at(span, u)));
                }
                RowStep::Travel { corridor, .. } => {
                    follow(&rows, corridor, Side::From, |_| false, |span, u| way.push(at(span, u)));
                }
            }
        }
        Some(way)
    }
}

/// Goes along one side of a corridor and crosses over on every wanted row.
fn follow(rows: &RowGraph, corridor: Corridor, side: Side, wanted: impl Fn(u32) -> bool, mut go: impl FnMut(u32, f64)) {
    let (mut span, mut side) = (corridor.first, side);
    for left in (0..corridor.rows).rev() {
        let here = &rows.spans[span as usize];
        let place = |side| if side == Side::From { here.from } else { here.to };
        go(span, place(side));
        if wanted(here.row) {
            side = side.other();
            go(span, place(side));
        }
        if left > 0 {
            let Some(next) = rows.next_in_corridor(span, corridor.upward) else { break };
            span = next;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_geometry::Locator;

    fn polygon(outer: &[(f64, f64)], holes: &[&[(f64, f64)]]) -> Polygon {
        let ring = |points: &[(f64, f64)]| Ring::new(points.iter().copied().map(Point::from).collect());
        Polygon { outer: ring(outer), holes: holes.iter().map(|hole| ring(hole)).collect() }
    }

    fn frame() -> Polygon {
        let hole: &[(f64, f64)] = &[(10., 10.), (10., 20.), (20., 20.), (20., 10.)];
        polygon(&[(0., 0.), (30., 0.), (30., 30.), (0., 30.)], &[hole])
    }

    fn points(passes: &[Pass]) -> Vec<Point> {
        passes.iter().flat_map(|pass| pass.points.iter().copied()).collect()
    }

    #[test]
    fn underlay_stays_inside_and_its_stitches_are_fit_to_sew() {
        for crossing in [false, true] {
            let settings = FillUnderlay { crossing, ..FillUnderlay::default() };
            let passes = fill_underlay(&frame(), None, 20.0, &settings, Some(Point::new(0.0, 15.0))).passes;
            let points = points(&passes);
            let locator = Locator::new(&Region::from(frame()));
            assert!(points.len() > 100 && points[0].distance(Point::new(0.0, 15.0)) < 1e-9);
            for pair in points.windows(2) {
                let length = pair[0].distance(pair[1]);
                assert!((0.3..=3.5).contains(&length), "{pair:?}");
                let middle = pair[0].midpoint(pair[1]);
                let deep = middle.distance(points[0]) < 3.0 || locator.depth(middle) > 0.3;
                assert!(deep, "{pair:?}");
            }
        }
    }

    #[test]
    fn every_outline_gets_its_run() {
        let settings = FillUnderlay { rows: None, ..FillUnderlay::default() };
        let length = |passes: &[Pass]| {
            let under = passes.iter().filter(|pass| pass.kind == PassKind::Underlay);
            under.flat_map(|pass| pass.points.windows(2).map(|p| p[0].distance(p[1]))).sum::<f64>()
        };
        let sewn = length(&fill_underlay(&frame(), None, 0.0, &settings, None).passes);
        let exact = 4.0 * 29.0 + 4.0 * 10.0 + 0.5 * std::f64::consts::TAU;
        assert!((sewn - exact).abs() < 6.0, "{sewn} {exact}");
    }

    #[test]
    fn thin_and_small_shapes_go_without() {
        let settings = FillUnderlay::default();
        let thin = polygon(&[(0., 0.), (30., 0.), (30., 0.8), (0., 0.8)], &[]);
        let small = polygon(&[(0., 0.), (3., 0.), (3., 3.), (0., 3.)], &[]);
        for shape in [thin, small, Polygon::default()] {
            assert!(fill_underlay(&shape, None, 0.0, &settings, None).passes.is_empty());
        }
    }
}
