//! Rows of stitches laid over an area.

mod along;
mod angle;
mod bare;
mod cells;
mod chain;
mod contour;
mod extent;
mod fade;
mod middle;
mod pattern;
mod polar;
mod rays;
mod rim;
mod row_map;
mod rows;
mod settings;
mod sew_rows;
mod sheet;
#[cfg(test)]
mod tests;
mod thin;
mod travel;
mod zones;

pub use fade::fade_ends;
pub use laidwork_run::Ends;
pub use laidwork_underlay::FillUnderlay;

pub use settings::{Edge, FillSettings, Flow, RowAngle, Shifts, SpacingTo};

use along::lay;
use chain::Chain;
use contour::Contour;
use fade::showing;
use kurbo::Point;
use laidwork_geometry::{Frame, Join, Locator, Polygon, Region, Walker};
use laidwork_plan::{Pass, PassKind, Warned, Warning};
use laidwork_underlay::{fill_underlay, open_rows};
use pattern::Pattern;
use rim::Rim;
use rows::Rows;

/// What lies about a shape that is filled, mm.
#[derive(Clone, Copy, Debug, Default)]
pub struct Beside<'a> {
    /// Neighbours, and what is sewn over the shape's edge: compensation and underlay do not reach into it.
    pub keep_out: Option<&'a Region>,
    /// How far the shape reaches under what is sewn over its edge, mm: straight rows thin out there.
    /// 0 where what it keeps out of is none of that.
    pub overlap: f64,
    /// Rows sewn before that lie under the shape: they carry it, so that it has no underlay of its own there.
    pub carried_by: Option<&'a Region>,
}

impl<'a> From<Option<&'a Region>> for Beside<'a> {
    fn from(keep_out: Option<&'a Region>) -> Beside<'a> {
        Beside { keep_out, ..Beside::default() }
    }
}

impl Beside<'_> {
    /// Where there is no underlay.
    fn without_underlay(&self) -> Option<Region> {
        match (self.keep_out, self.carried_by) {
            (Some(one), Some(other)) => Some(one.union(other)),
            (one, other) => one.or(other).cloned(),
        }
    }
}

/// Fills one connected polygon (mm) as one unbroken chain of passes, from as
/// near to `ends.start` as possible to as near to `ends.end` as possible.
///
/// What lies `beside` it limits compensation and underlay. A polygon smaller
/// than a stitch gives no passes and a warning that names `name`.
pub fn fill<'a>(
    name: &str,
    polygon: &Polygon,
    beside: impl Into<Beside<'a>>,
    settings: &FillSettings,
    ends: Ends,
) -> Warned<Vec<Pass>> {
    let beside = beside.into();
    let mut warnings = Vec::new();
    let degrees = row_angle(polygon, settings);
    let bends = matches!(settings.flow, Flow::Radial { .. } | Flow::Guided { .. });
    if bends && settings.open {
        let what = "open rows run straight, whatever their flow";
        warnings.push(Warning::at(name, what, "leave `open` out, or use the straight flow"));
    }
    if settings.flow != Flow::Straight && settings.spacing_to.is_some() {
        let what = "the spacing of rows that bend does not change over the shape";
        warnings.push(Warning::at(name, what, "leave the change out, or use the straight flow"));
    }
    let flowing = match &settings.flow {
        Flow::Contour => contour_fill(polygon, beside, settings, degrees, ends),
        Flow::Radial { .. } | Flow::Guided { .. } if !settings.open => {
            bent_fill(polygon, beside, settings, degrees, ends)
        }
        _ => Vec::new(),
    };
    let value = match Some(flowing).filter(|passes| !passes.is_empty()) {
        Some(passes) => passes,
        None if settings.open => open_fill(polygon, settings, degrees, ends),
        None => covering_fill(polygon, beside, settings, degrees, ends),
    };
    if value.is_empty() {
        let what = "the shape is smaller than a stitch, so it is not sewn";
        warnings.push(Warning::at(name, what, "make it larger or leave it out"));
    }
    Warned { value, warnings }
}

/// The spacing asked for, within what can be sewn.
fn usable_spacing(spacing: f64) -> f64 {
    if spacing.is_finite() { spacing.clamp(0.1, 20.0) } else { 0.22 }
}

/// Rows square to a change of spacing, unless an angle is given.
fn row_angle(polygon: &Polygon, settings: &FillSettings) -> f64 {
    match (settings.angle, settings.spacing_to) {
        (RowAngle::At(degrees), _) if degrees.is_finite() => degrees,
        (_, Some(to)) if to.angle.is_finite() => to.angle + 90.0,
        _ => angle::best_angle(polygon, usable_spacing(settings.spacing)),
    }
}

/// What is sewn over a shape's edge, and how far the shape reaches under it.
fn rim_of<'a>(beside: Beside<'a>, settings: &FillSettings) -> Option<(&'a Region, Rim)> {
    let pull = if settings.pull_compensation.is_finite() {
        settings.pull_compensation.clamp(0.0, extent::MOST_PULL)
    } else {
        0.0
    };
    beside.keep_out.filter(|_| !settings.trim_to_outline).zip(Rim::new(beside.overlap, pull))
}

/// The frame of rows along `degrees`, and their spacing at its low and its high side, mm.
fn rows_seen(settings: &FillSettings, degrees: f64) -> (Frame, [f64; 2]) {
    let frame = Frame::turned(degrees);
    let near = usable_spacing(settings.spacing);
    let far = settings.spacing_to.map_or(near, |to| usable_spacing(to.spacing));
    // Rows rise across their direction: is that the way the spacing goes?
    let rises =
        settings.spacing_to.is_none_or(|to| Frame::turned(to.angle).along().dot(frame.along().turn_90()) >= 0.0);
    (frame, if rises { [near, far] } else { [far, near] })
}

fn covering_fill(
    polygon: &Polygon,
    beside: Beside<'_>,
    settings: &FillSettings,
    degrees: f64,
    ends: Ends,
) -> Vec<Pass> {
    let (frame, spacing) = rows_seen(settings, degrees);
    let start = ends.start.filter(|p| p.is_finite());
    let (rows, under) = side_by_side(
        polygon,
        || straight_rows(polygon, beside, settings, (frame, spacing), ends.end),
        || {
            let underlay = settings.underlay.as_ref()?;
            let hidden = match (beside.without_underlay(), showing(polygon, frame, spacing)) {
                (Some(one), Some(other)) => Some(one.union(&other)),
                (one, other) => one.or(other),
            };
            Some(fill_underlay(polygon, hidden.as_ref(), degrees, underlay, start))
        },
    );
    let Some(rows) = rows else { return Vec::new() };
    let mut chain = Chain::default();
    let mut clear = None;
    if let Some(under) = under {
        chain.begin_with(under.passes);
        // What it was shrunk to for the underlay serves for ways as well.
        clear = under.shrunk.filter(|_| (under.inset - travel::CLEAR).abs() < 1e-6);
    }
    if let Some(first) = rows.first() {
        chain.go_under(polygon, clear, start, first);
    }
    chain.go_on_with(rows);
    if settings.edge == Edge::Run {
        chain.run_round(polygon);
    }
    chain.finish()
}

/// A shape with less area is sewn on one core: there are others for the rest, mm².
const WORTH_TWO: f64 = 400.0;

/// Both results; of a large shape they are found at the same time, the first on the thread that asks.
fn side_by_side<A, B: Send>(
    polygon: &Polygon,
    one: impl FnOnce() -> A,
    other: impl FnOnce() -> Option<B> + Send,
) -> (A, Option<B>) {
    if polygon.area() < WORTH_TWO {
        return (one(), other());
    }
    let mut second = None;
    let first = rayon::in_place_scope(|scope| {
        scope.spawn(|_| second = other());
        one()
    });
    (first, second)
}

/// The needle points of straight rows seen in a frame, with their spacing at both ends of the shape; `None` where
/// there is no row.
fn straight_rows(
    polygon: &Polygon,
    beside: Beside<'_>,
    settings: &FillSettings,
    (frame, spacing): (Frame, [f64; 2]),
    end: Option<Point>,
) -> Option<Chain> {
    let rim = rim_of(beside, settings);
    let narrowed = rim.map(|(over, rim)| rim.narrowed(polygon, over, frame));
    let laid = narrowed.as_ref().unwrap_or(polygon);
    let mut straight = Rows::straight(laid, frame, spacing)?;
    if settings.trim_to_outline {
        straight.trim(polygon);
    } else {
        if let Some((over, rim)) = rim {
            straight.thin_out(laid, over, rim.sure);
        }
        straight.compensate(settings.pull_compensation, beside.keep_out);
    }
    let pattern = Pattern::new(settings);
    let mut chain = Chain::default();
    chain.expect(straight.points(pattern.length()));
    let ends = match fade::ends(polygon, frame, spacing) {
        // Either end of the last row will do: to go on to the other would lay it twice.
        Some([dense, open]) => Ends { start: Some(dense), end: end.filter(|end| end.distance(open) > 1e-6) },
        None => Ends { start: None, end },
    };
    straight.sew(&straight.walk(ends), polygon, &pattern, &mut chain);
    Some(chain)
}

/// How far rows that bend, and moves that they hide, may lie beside their way for fewer needle points, mm.
const ROW_CHORD: f64 = 0.03;
const HIDDEN_CHORD: f64 = 0.08;

/// Rows along rays or guides; nothing when there are none to follow.
fn bent_fill(polygon: &Polygon, beside: Beside<'_>, settings: &FillSettings, degrees: f64, ends: Ends) -> Vec<Pass> {
    let spacing = usable_spacing(settings.spacing);
    let cells = match &settings.flow {
        Flow::Radial { centre } => match centre.filter(|p| p.is_finite()).or_else(|| polar::centroid(polygon)) {
            Some(centre) => polar::cells(polygon, centre, spacing),
            None => Vec::new(),
        },
        Flow::Guided { lines } => sheet::cells(polygon, lines, spacing),
        _ => Vec::new(),
    };
    if cells.is_empty() {
        return Vec::new();
    }
    let rim = rim_of(beside, settings);
    let ground = cells::Ground {
        polygon,
        shape: Locator::from_rings(polygon.rings()),
        keep_out: beside.keep_out.map(Locator::new),
        sure: rim.map(|(_, rim)| rim.sure),
        compensation: (!settings.trim_to_outline).then_some(settings.pull_compensation),
        pattern: Pattern::new(settings),
        spacing,
    };
    let start = ends.start.filter(|p| p.is_finite());
    let mut walker = Walker::with_clearance(polygon, travel::CLEAR);
    let mut rows = Chain::default();
    cells::sew(&cells, &ground, Ends { start: None, ..ends }, &mut rows);
    rows.thin_out(|kind| (kind == PassKind::Top).then_some(ROW_CHORD));
    let mut chain = Chain::default();
    if let Some(underlay) = &settings.underlay {
        let hidden = beside.without_underlay();
        chain.begin_with(fill_underlay(polygon, hidden.as_ref(), degrees, underlay, start).passes);
    }
    if !settings.trim_to_outline {
        let mut spots = bare::bare(polygon, rows.stretches(PassKind::Top), spacing);
        if let Some((over, _)) = rim.filter(|_| !spots.is_empty()) {
            // Where rows thin out under it they may be bare.
            spots = spots.difference(&over.offset(-bare::OVERLAP, Join::Bevel));
        }
        fill_spots(&spots, &mut walker, (start, rows.first()), (&ground.pattern, spacing), &mut chain);
    }
    if let Some(first) = rows.first() {
        chain.go_by(&mut walker, start, first);
    }
    chain.go_on_with(rows);
    chain.thin_out(|kind| (kind == PassKind::Travel).then_some(HIDDEN_CHORD));
    if settings.edge == Edge::Run {
        chain.run_round(polygon);
    }
    chain.finish()
}

/// Spacing of the rows that fill what others leave bare, mm.
const BARE_SPACING: f64 = 0.28;

/// A smaller shape, mm², gets straight rows instead: its rings would be all bends, with a needle point at every step.
const SMALL: f64 = 8.0;

/// Rings inside each other; nothing where the shape is too thin for one.
fn contour_fill(polygon: &Polygon, beside: Beside<'_>, settings: &FillSettings, degrees: f64, ends: Ends) -> Vec<Pass> {
    let rim = rim_of(beside, settings);
    let narrowed = rim.map(|(over, rim)| rim.narrowed_along(polygon, over));
    let polygon = narrowed.as_ref().unwrap_or(polygon);
    if polygon.area() < SMALL {
        return Vec::new();
    }
    let contour = Contour::new(polygon, usable_spacing(settings.spacing));
    if contour.is_empty() {
        return Vec::new();
    }
    let [start, end] = [ends.start, ends.end].map(|end| end.filter(|p| p.is_finite()));
    let pattern = Pattern::new(settings);
    let mut walker = Walker::with_clearance(polygon, travel::CLEAR);
    let mut rings = Chain::default();
    contour.sew(start, end, &pattern, &mut rings, |chain, goal| chain.go_by(&mut walker, None, goal));
    rings.thin_out(|kind| (kind == PassKind::Top).then_some(ROW_CHORD));
    let mut chain = Chain::default();
    if !settings.open {
        if let Some(underlay) = &settings.underlay {
            let hidden = beside.without_underlay();
            chain.begin_with(fill_underlay(polygon, hidden.as_ref(), degrees, underlay, start).passes);
        }
        let spots = bare::bare(polygon, rings.stretches(PassKind::Top), usable_spacing(settings.spacing));
        let rows = (&pattern, usable_spacing(settings.spacing));
        fill_spots(&spots, &mut walker, (start, rings.first()), rows, &mut chain);
    }
    if let Some(first) = rings.first() {
        chain.go_by(&mut walker, start, first);
    }
    chain.go_on_with(rings);
    chain.thin_out(|kind| (kind == PassKind::Travel && !settings.open).then_some(HIDDEN_CHORD));
    if settings.edge == Edge::Run {
        chain.run_round(polygon);
    }
    chain.finish()
}

/// A line along each narrow spot and short straight rows over the others, the nearest first, before anything
/// else is laid on top; the first, if nothing else says where to begin, the one farthest from where that begins.
fn fill_spots(
    spots: &Region,
    walker: &mut Walker,
    (start, goal): (Option<Point>, Option<Point>),
    (pattern, spacing): (&Pattern, f64),
    chain: &mut Chain,
) {
    let widest = 2.0 * (bare::COVERED * spacing + bare::OVERLAP);
    let spots: Vec<Polygon> = spots.polygons.iter().flat_map(|spot| middle::parted(spot, widest)).collect();
    let mut spots: Vec<&Polygon> = spots.iter().collect();
    let farthest = goal.and_then(|goal| {
        let corners = spots.iter().flat_map(|spot| corners_of(spot));
        corners.max_by(|a, b| a.distance_squared(goal).total_cmp(&b.distance_squared(goal)))
    });
    while let Some(spot) = take_near(&mut spots, chain.last().or(start).or(farthest)) {
        let way = middle::middle_way(spot, widest, chain.last().or(start).or(farthest));
        if let Some(&first) = way.first().and_then(|(_, line)| line.first()) {
            chain.go_by(walker, start, first);
            for (kind, line) in &way {
                lay(line, *kind, (pattern.length(), pattern.length()), bare::BEND * spacing, chain);
            }
            continue;
        }
        let frame = Frame::turned(angle::best_angle(spot, BARE_SPACING));
        let Some(rows) = Rows::straight(spot, frame, [BARE_SPACING; 2]) else { continue };
        let walk = rows.walk(Ends::default());
        if let Some(first) = rows.start_of(&walk) {
            chain.go_by(walker, start, first);
        }
        rows.sew(&walk, spot, pattern, chain);
    }
}

/// How many waiting spots are looked at for the nearest, and about how many corners of each.
const LOOKED_AT: (usize, usize) = (500, 16);

/// Some corners of a spot, all around it.
fn corners_of(spot: &Polygon) -> impl Iterator<Item = Point> + '_ {
    spot.outer.points.iter().step_by(spot.outer.points.len() / LOOKED_AT.1 + 1).copied()
}

/// Takes the spot nearest to a place from the first few that wait.
fn take_near<'a>(spots: &mut Vec<&'a Polygon>, at: Option<Point>) -> Option<&'a Polygon> {
    let away = |spot: &Polygon| {
        at.map_or(0.0, |at| corners_of(spot).map(|corner| at.distance_squared(corner)).fold(f64::INFINITY, f64::min))
    };
    let waiting = 0..spots.len().min(LOOKED_AT.0);
    let nearest = waiting.min_by(|&a, &b| away(spots[a]).total_cmp(&away(spots[b])))?;
    Some(spots.swap_remove(nearest))
}

/// Rows so far apart that nothing is hidden: along the outline from one to the next.
fn open_fill(polygon: &Polygon, settings: &FillSettings, degrees: f64, ends: Ends) -> Vec<Pass> {
    let Some(way) = open_rows(polygon, degrees, usable_spacing(settings.spacing)) else { return Vec::new() };
    let turned = match (ends.start, ends.end, way.first(), way.last()) {
        (Some(start), _, Some(first), Some(last)) => start.distance(*last) < start.distance(*first),
        (None, Some(end), Some(first), Some(last)) => end.distance(*first) < end.distance(*last),
        _ => false,
    };
    let way = if turned { way.into_iter().rev().collect() } else { way };
    let mut chain = Chain::default();
    chain.run_along(PassKind::Top, &way, settings.stitch_length);
    if settings.edge == Edge::Run {
        chain.run_round(polygon);
    }
    chain.finish()
}
