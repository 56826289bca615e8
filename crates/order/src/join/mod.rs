//! Pieces in sewing order become one plan.
//!
//! Method: every piece is a chain of needle points. Points are rounded to
//! 0.01 mm and stitches under the shortest left out. Two chains of one thread
//! that follow each other are sewn into one where the way between them is
//! hidden by what is sewn later, joined by a short jump where it is not, and
//! parted by a trim where the jump would be too long. What a thread is
//! unbroken over is then tied at both its ends.
//!
//! Guarantee: the plan passes [`Plan::sanity_check`] whatever comes in, with
//! [`JoinSettings::shortest_stitch`] kept outside ties.
//!
//! Time: in proportion to the needle points, and for each gap to the outline
//! of the covers beside it.

mod chain;
mod cover;
mod emit;
mod names;
mod tie;

use chain::{Chain, chains};
use cover::Cover;
use laidwork_geometry::Region;
use laidwork_plan::{Hoop, LONGEST_STITCH, Method, Pass, Plan, Point, Rect, Thread, Warned};

/// A piece before it is joined to its neighbours.
#[derive(Clone, Debug, PartialEq)]
pub struct UnjoinedPiece {
    /// The id path of the shape it comes from.
    pub name: String,
    /// How it is sewn. The stitches of a [`Method::Manual`] piece get no ties.
    pub method: Method,
    /// Index into [`Head::threads`].
    pub thread: usize,
    /// Its passes in sewing order, without ties. A pass with a jump, or after
    /// a trim, begins a new chain, which is joined as if it were a piece.
    pub passes: Vec<Pass>,
    /// What its top stitching hides, mm; empty for runs and open work, which hide nothing.
    pub cover: Region,
}

/// What a plan says about itself.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Head {
    /// What the design is called.
    pub title: Option<String>,
    /// The drawing's viewport in the plan's frame, mm.
    pub drawing: Option<Rect>,
    /// The hoop it is meant for.
    pub hoop: Option<Hoop>,
    /// Threads that pieces may name. Those not used are left out of the plan.
    pub threads: Vec<Thread>,
}

/// Thread dragged farther than this is seen, mm, so a wider gap is trimmed
/// whatever [`JoinSettings::trim_over`] says.
pub const LONGEST_FLOAT: f64 = 2.0;

/// How pieces are joined. The defaults are common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JoinSettings {
    /// A gap wider than this is trimmed where no travel can hide in it, mm. So
    /// is every gap wider than [`LONGEST_FLOAT`].
    pub trim_over: f64,
    /// Length of a tie's stitches, mm.
    pub tie_length: f64,
    /// Number of a tie's stitches.
    pub tie_stitches: usize,
    /// No stitch but a tie's is shorter than this, mm.
    pub shortest_stitch: f64,
    /// No stitch is longer than this, mm; longer ones are divided.
    pub longest_stitch: f64,
    /// Stitch length of travel between pieces, mm.
    pub travel_stitch: f64,
    /// Travel between two pieces is at most this long, mm; a trim is better then.
    pub longest_travel: f64,
}

impl Default for JoinSettings {
    fn default() -> JoinSettings {
        JoinSettings {
            trim_over: LONGEST_FLOAT,
            tie_length: 0.8,
            tie_stitches: 3,
            shortest_stitch: 0.3,
            longest_stitch: LONGEST_STITCH,
            travel_stitch: 2.5,
            longest_travel: 60.0,
        }
    }
}

impl JoinSettings {
    /// The same settings with every figure usable.
    fn checked(&self) -> JoinSettings {
        let within = |value: f64, low: f64, high: f64, other: f64| {
            if value.is_finite() { value.clamp(low, high) } else { other }
        };
        JoinSettings {
            trim_over: within(self.trim_over, 0.0, LONGEST_FLOAT, LONGEST_FLOAT),
            tie_length: within(self.tie_length, 0.3, 3.0, 0.8),
            tie_stitches: self.tie_stitches.clamp(1, 9),
            shortest_stitch: within(self.shortest_stitch, 0.02, 2.0, 0.3),
            longest_stitch: within(self.longest_stitch, 2.5, LONGEST_STITCH, LONGEST_STITCH),
            travel_stitch: within(self.travel_stitch, 0.5, 10.0, 2.5),
            longest_travel: within(self.longest_travel, 0.0, 1000.0, 60.0),
        }
    }
}

/// What lies between two chains.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Gap {
    /// The thread is dragged over it.
    Jump,
    /// The thread is cut.
    Trim,
}

/// A plan, and where its parts come from.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Joined {
    /// The plan.
    pub plan: Plan,
    /// For each piece of the plan its place among those that were joined.
    pub pieces: Vec<usize>,
    /// For each thread of the plan its place in [`Head::threads`].
    pub threads: Vec<usize>,
}

/// Joins `pieces`, given in sewing order, into a plan with ties, jumps and
/// trims. Threads are listed in the order of first use.
///
/// Warnings name pieces that are left out because nothing of them can be sewn.
pub fn join(pieces: Vec<UnjoinedPiece>, head: Head, settings: &JoinSettings) -> Warned<Joined> {
    let settings = settings.checked();
    let mut warnings = Vec::new();
    let mut cover = Cover::new(&pieces);
    let chains = chains(&pieces, head.threads.len(), &settings);
    let joined = sewn_together(chains, &pieces, &mut cover, &settings);
    let gaps = gaps(&joined, &settings);
    let sewn = emit::passes(&joined, &gaps, pieces.len(), &settings);
    let joined = emit::plan(pieces, head, sewn, &mut warnings);
    Warned { value: joined, warnings }
}

/// Sews each chain on to the one before where that is hidden.
fn sewn_together(
    chains: Vec<Chain>,
    pieces: &[UnjoinedPiece],
    cover: &mut Cover<'_>,
    settings: &JoinSettings,
) -> Vec<Chain> {
    let mut joined: Vec<Chain> = Vec::new();
    for chain in chains {
        if let Some(last) = joined.last_mut()
            && may_join(last, &chain)
            && let (Some(from), Some(to)) = (last.end(), chain.start())
            && let Some(way) = way_between(from, to, cover, chain.first_piece(), pieces, settings)
        {
            last.sew_on(chain, &way);
        } else {
            joined.push(chain);
        }
    }
    joined.into_iter().filter_map(|chain| chain.tidy(settings)).collect()
}

/// Whether one thread may run from one chain into the next.
fn may_join(a: &Chain, b: &Chain) -> bool {
    a.thread == b.thread && !a.manual && !b.manual && !a.cut
}

/// Inner needle points of a hidden way from one chain to the next; `None` when there is none.
fn way_between(
    from: Point,
    to: Point,
    cover: &mut Cover<'_>,
    piece: usize,
    pieces: &[UnjoinedPiece],
    settings: &JoinSettings,
) -> Option<Vec<Point>> {
    if from.distance(to) < settings.shortest_stitch {
        return Some(Vec::new());
    }
    // What a piece of several chains covers is partly sewn before the later of them.
    let whole = pieces.get(piece).is_some_and(|p| p.passes.iter().skip(1).all(|pass| pass.jumps.is_empty()));
    let hidden_by = if whole { piece } else { piece + 1 };
    let way = cover.way(from, to, hidden_by, settings.longest_travel)?;
    let run = laidwork_run::RunSettings { stitch_length: settings.travel_stitch, ..Default::default() };
    let points = laidwork_run::points(&way, false, &run);
    Some(points.get(1..points.len().saturating_sub(1)).unwrap_or_default().to_vec())
}

/// What lies after each chain but the last.
fn gaps(chains: &[Chain], settings: &JoinSettings) -> Vec<Gap> {
    let gap = |(a, b): (&Chain, &Chain)| match (a.end(), b.start()) {
        (Some(from), Some(to)) if may_join(a, b) && from.distance(to) <= settings.trim_over => Gap::Jump,
        _ => Gap::Trim,
    };
    chains.iter().zip(chains.iter().skip(1)).map(gap).collect()
}
