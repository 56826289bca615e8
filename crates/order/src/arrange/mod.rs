//! The sewing order: which piece after which, from which end.
//!
//! What is drawn over something must be sewn over it, but only where the two
//! overlap: the drawing's depth is a partial order. Inside it the pieces are put
//! into the order that takes the machine the least time. A change of thread
//! costs most, then a trim; travel that hides costs little.
//!
//! Method, in three steps. First the *runs*: the fewest changes of thread under
//! the partial order (`runs`). Then the order inside the runs, and between them
//! where that pays, by the solver of [`crate::sequence`]. Last the place where
//! each piece begins and ends, exactly, by dynamic programming along the
//! sequence (`gates`). The result is never worse than the order of the drawing,
//! unless pins ask for that, and comes with a lower bound.
//!
//! Time: O(n log n) for pieces of which each meets few others; the search takes
//! a number of steps in proportion to n, up to a bound ([`ArrangeSettings::steps`]). Where more
//! than [`MOST_PAIRS`] pairs of pieces lie above each other the order of the
//! drawing is kept.

mod bonds;
mod bound;
mod gates;
mod links;
mod meets;
mod pins;
mod runs;

pub use meets::MOST_PAIRS;
pub use pins::Pin;

use crate::sequence::improve;
use bonds::Bonds;
use gates::Route;
use laidwork_geometry::Region;
use laidwork_plan::{Point, Warned};
use links::Links;
use meets::Meetings;

/// Steps of a search at most.
const MOST_STEPS: u64 = 6_000_000;

/// A piece to be put into the sewing order. Items come in drawing order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Item {
    /// What warnings call it.
    pub name: String,
    /// Its thread; any number, the same for the same thread.
    pub thread: usize,
    /// How high it lies; pieces of one depth may be sewn in any order.
    pub depth: usize,
    /// What it covers, mm.
    pub region: Region,
    /// Whether its stitches hide travel under them.
    pub hides: bool,
    /// How it may be passed through.
    pub passage: Passage,
    /// Where it may begin and end, mm. Empty: places on its outline are taken.
    pub gates: Vec<Point>,
    /// Time to sew it, s.
    pub seconds: f64,
}

/// How a piece may be passed through.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Passage {
    /// From any gate to any gate: a fill.
    #[default]
    Free,
    /// From the first gate to the last, or the other way: an open run or a column.
    Through,
    /// From the first gate to the last only.
    OneWay,
    /// Back to the gate it began at: a closed run, or one there and back.
    Closed,
}

/// What things cost, in seconds. The defaults are common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Costs {
    /// A change of thread.
    pub thread_change: f64,
    /// A trim, with the ties before and after it.
    pub trim: f64,
    /// What is paid to avoid an untrimmed jump that stays visible.
    pub float: f64,
    /// Speed of the machine, stitches a minute.
    pub stitches_per_minute: f64,
    /// Stitch length of travel, mm.
    pub travel_stitch: f64,
    /// A visible gap wider than this is trimmed, mm.
    pub trim_over: f64,
    /// Speed of the frame in a jump, mm a second.
    pub frame_speed: f64,
}

impl Default for Costs {
    fn default() -> Costs {
        Costs {
            thread_change: 75.0,
            trim: 8.0,
            float: 1.0,
            stitches_per_minute: 700.0,
            travel_stitch: 2.5,
            trim_over: crate::LONGEST_FLOAT,
            frame_speed: 100.0,
        }
    }
}

impl Costs {
    /// Time to sew `length` mm of travel, s.
    fn travel(&self, length: f64) -> f64 {
        length / self.travel_stitch.max(0.1) * 60.0 / self.stitches_per_minute.max(1.0)
    }

    /// Time of a cut and a jump of `length` mm, s.
    fn cut(&self, length: f64) -> f64 {
        self.trim + length / self.frame_speed.max(1.0)
    }
}

/// How the order is looked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArrangeSettings {
    /// What things cost.
    pub costs: Costs,
    /// Steps of the search for each item, six million in all at most; 0 takes the first good order.
    pub steps: u64,
    /// Sew as drawn. Pins are then left aside.
    pub keep_drawing: bool,
}

impl Default for ArrangeSettings {
    fn default() -> ArrangeSettings {
        ArrangeSettings { costs: Costs::default(), steps: 2000, keep_drawing: false }
    }
}

/// An item in the sewing order.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slot {
    /// Index of the item.
    pub item: usize,
    /// Where it is to begin, mm.
    pub start: Point,
    /// Where it is to end, mm.
    pub end: Point,
}

/// A sewing order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Arrangement {
    /// Every item once, in sewing order.
    pub sequence: Vec<Slot>,
    /// Time it takes, by the costs given, s.
    pub seconds: f64,
    /// Time the order of the drawing would take, s.
    pub drawing_order_seconds: f64,
    /// No order that sews what is drawn over something over it takes less, s.
    pub lower_bound: f64,
    /// Changes of thread.
    pub thread_changes: usize,
    /// Trims, the last one included.
    pub trims: usize,
}

/// Puts `items` into the order that takes the least time.
///
/// Warnings name items whose pins contradict each other or the drawing.
pub fn arrange(items: &[Item], pins: &[Pin], settings: &ArrangeSettings) -> Warned<Arrangement> {
    let mut warnings = Vec::new();
    if items.is_empty() {
        return Warned::quiet(Arrangement::default());
    }
    let costs = &settings.costs;
    let meetings = Meetings::new(items);
    let route = Route::new(items, &meetings, costs);
    let as_drawn: Vec<usize> = drawing_order(items);
    let drawn = route.settle(&as_drawn);
    let mut best = drawn.clone();
    if !settings.keep_drawing && !meetings.is_too_many() {
        let bonds = Bonds::new(items, &meetings, pins, &mut warnings);
        let runs = runs::runs(items, &bonds, &mut warnings);
        let links = Links::new(items, &meetings, &route, &bonds, &runs);
        let first = links.first_sequence(&runs);
        let steps = settings.steps.saturating_mul(items.len() as u64).min(MOST_STEPS);
        let searched = improve(&links, links.bonds(), first.clone(), steps);
        let mut settled = [first, searched].into_iter().map(|found| route.settle(&links.items_of(&found)));
        let pinned = !bonds.is_kept_by(&as_drawn);
        if let (Some(first), Some(searched)) = (settled.next(), settled.next()) {
            let found = if searched.seconds < first.seconds { searched } else { first };
            best = if pinned || found.seconds < best.seconds { found } else { best };
        }
    }
    let lower_bound = bound::lower_bound(items, &meetings, costs);
    let value = Arrangement { drawing_order_seconds: drawn.seconds, lower_bound, ..best };
    Warned { value, warnings }
}

/// Indices by depth, items of one depth in their order.
fn drawing_order(items: &[Item]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..items.len()).collect();
    order.sort_by_key(|&i| (items.get(i).map_or(0, |item| item.depth), i));
    order
}
