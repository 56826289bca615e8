//! Chains of needle points: what one unbroken thread sews.

use super::{JoinSettings, UnjoinedPiece};
use laidwork_geometry::closest_on_segment;
use laidwork_plan::{Method, PassKind, Point};

/// Points farther from the origin than this are taken for mistakes, mm.
const FARTHEST: f64 = 10_000.0;

/// Hundredths of a millimetre: what points are rounded to.
const STEPS: f64 = 100.0;

/// A needle point and where it belongs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Needle {
    /// Where, rounded.
    pub(super) at: Point,
    /// Index of its piece.
    pub(super) piece: usize,
    /// Number of its pass; another number begins another pass.
    pub(super) pass: usize,
    /// Kind of its pass.
    pub(super) kind: PassKind,
    /// The machine halts after it.
    pub(super) stop: bool,
}

/// Needle points without a jump or a trim between them; two at least once it is [tidy](Chain::tidy).
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Chain {
    pub(super) needles: Vec<Needle>,
    /// Index into the head's threads.
    pub(super) thread: usize,
    /// Placed by hand: neither tied nor thinned.
    pub(super) manual: bool,
    /// The thread is cut after it, by wish.
    pub(super) cut: bool,
}

/// Every chain of `pieces`, tidy, in sewing order; those of unknown threads left out.
pub(super) fn chains(pieces: &[UnjoinedPiece], threads: usize, settings: &JoinSettings) -> Vec<Chain> {
    let mut passes = 0;
    let known = pieces.iter().enumerate().filter(|(_, piece)| piece.thread < threads);
    let all = known.flat_map(|(i, piece)| chains_of(i, piece, &mut passes));
    all.filter_map(|chain| chain.tidy(settings)).collect()
}

fn chains_of(index: usize, piece: &UnjoinedPiece, passes: &mut usize) -> Vec<Chain> {
    let fresh =
        || Chain { needles: Vec::new(), thread: piece.thread, manual: piece.method == Method::Manual, cut: false };
    let mut chains = vec![fresh()];
    for pass in &piece.passes {
        *passes += 1;
        let is_new = chains.last().is_some_and(|chain| chain.cut || !pass.jumps.is_empty());
        if is_new {
            chains.push(fresh());
        }
        let Some(chain) = chains.last_mut() else { continue };
        let points = pass.points.iter().filter_map(|&point| rounded(point));
        chain.needles.extend(points.map(|at| Needle { at, piece: index, pass: *passes, kind: pass.kind, stop: false }));
        if let Some(last) = chain.needles.last_mut() {
            last.stop |= pass.stop;
            chain.cut = pass.trim;
        }
    }
    chains
}

/// A point in whole hundredths of a millimetre; `None` when it is no number or absurdly far.
pub(super) fn rounded(point: Point) -> Option<Point> {
    // Adding zero makes a negative zero positive.
    let round = |v: f64| (v * STEPS).round() / STEPS + 0.0;
    (point.x.abs() <= FARTHEST && point.y.abs() <= FARTHEST).then(|| Point::new(round(point.x), round(point.y)))
}

impl Chain {
    pub(super) fn start(&self) -> Option<Point> {
        self.needles.first().map(|needle| needle.at)
    }

    pub(super) fn end(&self) -> Option<Point> {
        self.needles.last().map(|needle| needle.at)
    }

    /// Index of the piece it begins in.
    pub(super) fn first_piece(&self) -> usize {
        self.needles.first().map_or(0, |needle| needle.piece)
    }

    /// Goes on with `next`, through the needle points `way` on travel that belongs to it.
    pub(super) fn sew_on(&mut self, next: Chain, way: &[Point]) {
        let piece = next.first_piece();
        let travel = |at| Needle { at, piece, pass: usize::MAX, kind: PassKind::Travel, stop: false };
        self.needles.extend(way.iter().filter_map(|&point| rounded(point)).map(travel));
        self.needles.extend(next.needles);
        self.cut = next.cut;
    }

    /// The chain without stitches under the shortest or over the longest;
    /// `None` when it is not even one stitch.
    pub(super) fn tidy(self, settings: &JoinSettings) -> Option<Chain> {
        // Hand-placed stitches stay unless they have no length.
        let shortest = if self.manual { 0.5 / STEPS } else { settings.shortest_stitch };
        let thinned = without_short(self.needles, shortest);
        let needles = without_long(thinned, settings.longest_stitch);
        (needles.len() > 1).then_some(Chain { needles, ..self })
    }
}

/// Leaves out needle points nearer than `shortest` to a neighbour. Both ends
/// stay where they can; of two others the one that changes the line less goes.
fn without_short(needles: Vec<Needle>, shortest: f64) -> Vec<Needle> {
    let Some((&end, before_end)) = needles.split_last() else { return needles };
    let near = |a: &Needle, b: &Needle| a.at.distance(b.at) < shortest - 1e-9;
    let mut kept: Vec<Needle> = Vec::with_capacity(needles.len());
    for (&needle, next) in before_end.iter().zip(needles.iter().skip(1)) {
        while let [.., before, last] = kept[..]
            && near(&last, &needle)
            && strays(before.at, last.at, needle.at) < strays(last.at, needle.at, next.at)
        {
            leave_out_last(&mut kept);
        }
        match kept.last_mut() {
            Some(last) if near(last, &needle) => last.stop |= needle.stop,
            _ => kept.push(needle),
        }
    }
    // The end stays, unless then nothing else would.
    let fits = kept.iter().rposition(|needle| !near(needle, &end));
    while fits.is_some_and(|fits| fits + 1 < kept.len()) {
        leave_out_last(&mut kept);
    }
    match kept.last_mut() {
        Some(last) if fits.is_none() => last.stop |= end.stop,
        _ => kept.push(end),
    }
    kept
}

/// Takes the last needle point away; a halt after it comes one earlier.
fn leave_out_last(kept: &mut Vec<Needle>) {
    let Some(gone) = kept.pop() else { return };
    if let Some(last) = kept.last_mut() {
        last.stop |= gone.stop;
    }
}

/// How far leaving out `here` moves the line from `before` to `after`, mm.
fn strays(before: Point, here: Point, after: Point) -> f64 {
    here.distance(closest_on_segment(here, before, after))
}

/// Divides stitches that are too long.
fn without_long(needles: Vec<Needle>, longest: f64) -> Vec<Needle> {
    // Two hundredths are kept back for the rounding of the parts.
    let longest = longest - 0.02;
    let mut parts: Vec<Needle> = Vec::with_capacity(needles.len());
    for needle in needles {
        if let Some(&last) = parts.last() {
            let count = (last.at.distance(needle.at) / longest).ceil();
            for k in 1..count.max(1.0) as usize {
                let at = last.at.lerp(needle.at, k as f64 / count);
                parts.extend(rounded(at).map(|at| Needle { at, stop: false, ..needle }));
            }
        }
        parts.push(needle);
    }
    parts
}
