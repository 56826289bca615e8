//! Gathers the figures of a plan: one pass for the stitches, one for the grid,
//! and one for each place whose pieces are named.

use crate::{
    Bounds, Density, DensityGrid, HoopFit, Lengths, Limits, PieceFigures, Report, ReportSettings, Spacing, Spot, Step,
    StitchFigures, Tally, ThreadFigures, crowding, measured_spacing,
};
use laidwork_plan::{Hoop, PassKind, Piece, Plan, Point, Rect, Segment};
use rayon::prelude::*;

/// Side of a cell of the density, mm. The limits are meant for cells of this size.
const CELL: f64 = 2.0;

/// Needle points within this distance crowd each other, mm.
const CROWD_RADIUS: f64 = 0.5;

/// A stitch shorter than this has no length, mm.
const ZERO: f64 = 1e-6;

/// Broken promises that a report repeats.
const BROKEN_SHOWN: usize = 50;

/// Every figure of a plan; its checks are still to be made.
pub(crate) fn gather(plan: &Plan, settings: &ReportSettings) -> Report {
    let stitches = Stitches::of(plan, &settings.limits);
    let figures = |(i, piece)| piece_figures(i, piece, &stitches, settings);
    let pieces = || -> Vec<PieceFigures> { plan.pieces.par_iter().enumerate().map(figures).collect() };
    let ((pieces, broken), (density, crowd)) =
        rayon::join(|| rayon::join(pieces, || plan.sanity_check()), || rayon::join(|| density(plan), || crowd(plan)));
    let steps = steps(plan, &pieces, settings);
    Report {
        title: plan.title.clone(),
        total: steps.iter().fold(Tally::default(), |sum, step| sum.plus(&step.tally)),
        size: plan.bounds().filter(|bounds| bounds.is_finite()).map(bounds),
        hoop: plan.hoop.zip(plan.bounds()).and_then(|(hoop, bounds)| {
            Some(HoopFit { rim: settings.round_hoop.then(|| rim(plan, hoop)), ..hoop_fit(hoop, bounds)? })
        }),
        order: settings.order,
        materials: settings.materials.clone(),
        threads: thread_figures(plan, &steps),
        steps,
        pieces,
        stitches: stitches.all,
        density,
        crowd,
        broken_count: broken.len(),
        broken: broken.iter().take(BROKEN_SHOWN).map(ToString::to_string).collect(),
        checks: Vec::new(),
    }
}

/// `value` to a thousandth, which is finer than anything sewn.
fn rounded(value: f64) -> f64 {
    // Beyond a million kilometres there are no thousandths.
    if value.abs() < 1e12 { (value * 1000.0).round() / 1000.0 } else { value }
}

/// Room between the needle point farthest from the middle and the rim of a round hoop, mm.
fn rim(plan: &Plan, hoop: Hoop) -> f64 {
    let points = plan.passes().flat_map(|(_, pass)| &pass.points);
    let farthest = points.map(|point| point.to_vec2().hypot()).fold(0.0, f64::max);
    rounded(hoop.width / 2.0 - farthest)
}

fn bounds(rect: Rect) -> Bounds {
    Bounds {
        left: rounded(rect.x0),
        top: rounded(rect.y0),
        width: rounded(rect.width()),
        height: rounded(rect.height()),
    }
}

fn hoop_fit(hoop: Hoop, bounds: Rect) -> Option<HoopFit> {
    let inside = Rect::new(-hoop.width / 2.0, -hoop.height / 2.0, hoop.width / 2.0, hoop.height / 2.0);
    (bounds.is_finite() && inside.is_finite()).then(|| HoopFit {
        width: hoop.width,
        height: hoop.height,
        left: rounded(bounds.x0 - inside.x0),
        right: rounded(inside.x1 - bounds.x1),
        above: rounded(bounds.y0 - inside.y0),
        below: rounded(inside.y1 - bounds.y1),
        rim: None,
    })
}

/// Lengths of the stitches of one piece, ties left out.
#[derive(Clone, Copy)]
struct PieceStitches {
    laid: Lengths,
    count: usize,
    sum: f64,
    shortest: f64,
    longest: f64,
}

/// Stitches by piece and all together.
struct Stitches {
    pieces: Vec<PieceStitches>,
    all: StitchFigures,
}

impl Stitches {
    fn of(plan: &Plan, limits: &Limits) -> Stitches {
        let none = PieceStitches {
            laid: Lengths::default(),
            count: 0,
            sum: 0.0,
            shortest: f64::INFINITY,
            longest: f64::NEG_INFINITY,
        };
        let mut pieces = vec![none; plan.pieces.len()];
        let mut all = StitchFigures::default();
        plan.for_each_segment(|segment| {
            if segment.length().is_finite()
                && let Some(piece) = pieces.get_mut(segment.piece)
            {
                piece.add(&segment);
                add(&mut all, &segment, limits);
            }
        });
        let (count, sum) = pieces.iter().fold((0, 0.0), |(count, sum), piece| (count + piece.count, sum + piece.sum));
        for found in [&mut all.longest, &mut all.shortest, &mut all.longest_float].into_iter().flatten() {
            *found = spot(found.value, Point::new(found.x, found.y), std::mem::take(&mut found.pieces));
        }
        all.mean = (count > 0).then(|| rounded(sum / count as f64));
        Stitches { pieces, all }
    }
}

impl PieceStitches {
    fn add(&mut self, segment: &Segment) {
        let length = segment.length();
        if segment.float {
            self.laid.float += length;
            return;
        }
        *match segment.kind {
            PassKind::Underlay => &mut self.laid.underlay,
            PassKind::Top => &mut self.laid.top,
            PassKind::Travel => &mut self.laid.travel,
            PassKind::Tie => &mut self.laid.tie,
        } += length;
        if segment.kind != PassKind::Tie {
            self.count += 1;
            self.sum += length;
            self.shortest = self.shortest.min(length);
            self.longest = self.longest.max(length);
        }
    }
}

/// A spot with its figures rounded.
fn spot(value: f64, at: Point, pieces: Vec<usize>) -> Spot {
    Spot { value: rounded(value), x: rounded(at.x), y: rounded(at.y), pieces }
}

fn add(all: &mut StitchFigures, segment: &Segment, limits: &Limits) {
    let length = segment.length();
    let keep = |slot: &mut Option<Spot>, better: fn(f64, f64) -> bool| {
        if slot.as_ref().is_none_or(|spot| better(length, spot.value)) {
            *slot = Some(Spot { value: length, x: segment.to.x, y: segment.to.y, pieces: vec![segment.piece + 1] });
        }
    };
    let longer = |a: f64, b: f64| a > b;
    if segment.float {
        if length > ZERO {
            all.floats += 1;
            all.long_floats += usize::from(length > limits.float_warn + ZERO);
            keep(&mut all.longest_float, longer);
        }
        return;
    }
    all.zero += usize::from(length < ZERO);
    if segment.kind != PassKind::Tie {
        all.short += usize::from(length < limits.shortest - ZERO);
        keep(&mut all.longest, longer);
        keep(&mut all.shortest, |a, b| a < b);
    }
}

fn piece_figures(index: usize, piece: &Piece, stitches: &Stitches, settings: &ReportSettings) -> PieceFigures {
    let sewn = stitches.pieces.get(index);
    let some = |value: fn(&PieceStitches) -> f64| sewn.filter(|sewn| sewn.count > 0).map(|sewn| rounded(value(sewn)));
    let lengths = sewn.map(|sewn| sewn.laid).unwrap_or_default();
    PieceFigures {
        number: index + 1,
        name: piece.name.clone(),
        method: piece.method.word().into(),
        thread: piece.thread.saturating_add(1),
        stitches: piece.passes.iter().map(|pass| pass.points.len()).sum(),
        trims: piece.passes.iter().filter(|pass| pass.trim).count(),
        laid: Lengths {
            underlay: rounded(lengths.underlay),
            top: rounded(lengths.top),
            travel: rounded(lengths.travel),
            tie: rounded(lengths.tie),
            float: rounded(lengths.float),
        },
        shortest: some(|sewn| sewn.shortest),
        mean: some(|sewn| sewn.sum / sewn.count as f64),
        longest: some(|sewn| sewn.longest),
        open: settings.open.get(index).copied().unwrap_or(false),
        spacing: settings.spacings.get(index).copied().flatten().and_then(Spacing::new),
        measured_spacing: measured_spacing(piece),
    }
}

impl Tally {
    fn plus(&self, other: &Tally) -> Tally {
        Tally {
            stitches: self.stitches + other.stitches,
            trims: self.trims + other.trims,
            jumps: self.jumps + other.jumps,
            stops: self.stops + other.stops,
            thread_changes: self.thread_changes + other.thread_changes,
            laid_mm: rounded(self.laid_mm + other.laid_mm),
            top_m: rounded(self.top_m + other.top_m),
            bobbin_m: rounded(self.bobbin_m + other.bobbin_m),
            seconds: rounded(self.seconds + other.seconds),
        }
    }
}

/// What is sewn between changes of thread.
fn steps(plan: &Plan, figures: &[PieceFigures], settings: &ReportSettings) -> Vec<Step> {
    let numbered: Vec<(&Piece, &PieceFigures)> = plan.pieces.iter().zip(figures).collect();
    let stretches = numbered.chunk_by(|(a, _), (b, _)| a.thread == b.thread);
    let step = |(i, stretch): (usize, &[(&Piece, &PieceFigures)])| {
        let passes = || stretch.iter().flat_map(|(piece, _)| &piece.passes);
        let count = |what: fn(&laidwork_plan::Pass) -> usize| passes().map(what).sum();
        let stitches = count(|pass| pass.points.len());
        let trims = count(|pass| usize::from(pass.trim));
        let changes = usize::from(i > 0);
        let laid: f64 = stretch.iter().map(|(_, figures)| figures.laid.sum()).sum();
        let used = settings.consumption.used(laid, stitches);
        let (first, last) = (stretch.first()?.1, stretch.last()?.1);
        Some(Step {
            thread: first.thread,
            first_piece: first.number,
            last_piece: last.number,
            tally: Tally {
                stitches,
                trims,
                jumps: count(|pass| pass.jumps.len()),
                stops: count(|pass| usize::from(pass.stop)),
                thread_changes: changes,
                laid_mm: rounded(laid),
                top_m: rounded(used.top),
                bobbin_m: rounded(used.bobbin),
                seconds: rounded(settings.pace.seconds(stitches, trims, changes)),
            },
        })
    };
    stretches.enumerate().filter_map(step).collect()
}

fn thread_figures(plan: &Plan, steps: &[Step]) -> Vec<ThreadFigures> {
    let mut threads: Vec<ThreadFigures> = (1..)
        .zip(&plan.threads)
        .map(|(number, thread)| ThreadFigures {
            number,
            color: thread.color.to_string(),
            name: thread.name.clone(),
            pieces: 0,
            tally: Tally::default(),
        })
        .collect();
    for step in steps {
        // A piece may claim a thread that the plan does not have; the checks say so.
        if let Some(thread) = threads.get_mut(step.thread - 1) {
            thread.pieces += step.last_piece + 1 - step.first_piece;
            thread.tally = thread.tally.plus(&step.tally);
        }
    }
    threads
}

fn density(plan: &Plan) -> Option<Density> {
    let grid = DensityGrid::of(plan, CELL)?;
    let cells = grid.columns * grid.rows;
    let thread: Vec<f64> = (0..cells).map(|cell| grid.thread_density(cell)).collect();
    let needle: Vec<f64> = (0..cells).map(|cell| grid.needle_density(cell)).collect();
    let mut filled: Vec<f64> = thread.iter().copied().filter(|&thread| thread > 0.0).collect();
    filled.sort_by(f64::total_cmp);
    let median = filled.get(filled.len() / 2).copied().unwrap_or(0.0);
    let covered = |of: &[f64]| -> Vec<f64> {
        let cells = thread.iter().zip(of).filter(|(thread, _)| **thread > 0.2 * median);
        let mut values: Vec<f64> = cells.map(|(_, &value)| value).collect();
        values.sort_by(f64::total_cmp);
        values
    };
    let (thread_covered, needle_covered) = (covered(&thread), covered(&needle));
    Some(Density {
        cell: CELL,
        covered_cells: thread_covered.len(),
        thread_mean: mean(&thread_covered),
        thread_p99: percentile(&thread_covered, 0.99),
        thread_most: densest(plan, &grid, &thread),
        needle_mean: mean(&needle_covered),
        needle_p99: percentile(&needle_covered, 0.99),
        needle_most: densest(plan, &grid, &needle),
    })
}

fn mean(values: &[f64]) -> f64 {
    if values.is_empty() { 0.0 } else { rounded(values.iter().sum::<f64>() / values.len() as f64) }
}

/// The value that `share` of the sorted values stay below, between two of them in proportion.
fn percentile(sorted: &[f64], share: f64) -> f64 {
    let place = share * sorted.len().saturating_sub(1) as f64;
    let at = |index: f64| sorted.get(index as usize).copied().unwrap_or(0.0);
    let (low, high) = (at(place.floor()), at(place.ceil()));
    rounded(low + (high - low) * place.fract())
}

/// The first of the cells with the greatest value.
fn densest(plan: &Plan, grid: &DensityGrid, values: &[f64]) -> Spot {
    let first = |best: (usize, f64), (cell, &value): (usize, &f64)| if value > best.1 { (cell, value) } else { best };
    let (cell, value) = values.iter().enumerate().fold((0, 0.0), first);
    spot(value, grid.center(cell), grid.pieces_in(plan, cell))
}

fn crowd(plan: &Plan) -> Option<Spot> {
    let crowd = crowding(plan, CROWD_RADIUS)?;
    let near = |point: &Point| point.distance(crowd.at) <= CROWD_RADIUS;
    let has_point = |piece: &Piece| piece.passes.iter().any(|pass| pass.points.iter().any(near));
    let pieces = (1..).zip(&plan.pieces).filter(|(_, piece)| has_point(piece)).map(|(number, _)| number);
    Some(spot(crowd.points as f64, crowd.at, pieces.collect()))
}
