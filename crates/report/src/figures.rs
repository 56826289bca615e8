//! The report: its shape, as it is kept in memory and written as JSON.
//!
//! Lengths are millimetres, thread used is metres, times are seconds, densities
//! are per square millimetre. Pieces and threads count from 1, as in the list.

use crate::{Check, Spacing, Verdict};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Every figure and check of a plan.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "Laidwork report")]
pub struct Report {
    /// What the design is called.
    pub title: Option<String>,
    /// What is sewn, all in all.
    pub total: Tally,
    /// The smallest rectangle around all needle points; none without points.
    pub size: Option<Bounds>,
    /// How the design sits in its hoop; none without a hoop or points.
    pub hoop: Option<HoopFit>,
    /// What the sewing order takes beside that of the drawing; none when nobody told.
    pub order: Option<OrderFigures>,
    /// What the materials changed, one entry each; none when nobody told.
    #[serde(default)]
    pub materials: Vec<MaterialFigures>,
    /// What is sewn in each thread, in the order of the plan's threads.
    pub threads: Vec<ThreadFigures>,
    /// What is sewn between two changes of thread, in sewing order.
    pub steps: Vec<Step>,
    /// What is sewn in each piece, in sewing order.
    pub pieces: Vec<PieceFigures>,
    /// Stitches, ties left out, and floats.
    pub stitches: StitchFigures,
    /// How densely thread and needle points lie; none without points, and for
    /// designs larger than 8 m.
    pub density: Option<Density>,
    /// The needle point with the most needle points within 0.5 mm, and how many they are.
    pub crowd: Option<Spot>,
    /// The promises the plan breaks, the first 50 of them.
    pub broken: Vec<String>,
    /// How many promises the plan breaks.
    pub broken_count: usize,
    /// What was checked, and what was found.
    pub checks: Vec<Check>,
}

impl Report {
    /// True when no check found too much or something broken. What is thin or
    /// worth a warning passes.
    pub fn passed(&self) -> bool {
        self.checks.iter().all(|check| check.verdict < Verdict::TooMuch)
    }
}

/// A count of what is sewn and what it takes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Tally {
    /// Needle penetrations.
    pub stitches: usize,
    /// Cuts of the thread.
    pub trims: usize,
    /// Moves with the needle up.
    pub jumps: usize,
    /// Halts for the operator.
    pub stops: usize,
    /// Changes of thread; on a thread, those to it.
    pub thread_changes: usize,
    /// Thread laid on the fabric, floats included, mm.
    pub laid_mm: f64,
    /// Top thread used, m.
    pub top_m: f64,
    /// Bobbin thread used, m.
    pub bobbin_m: f64,
    /// Sewing time, s.
    pub seconds: f64,
}

/// A rectangle in the frame of the plan, mm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Bounds {
    /// Least x.
    pub left: f64,
    /// Least y.
    pub top: f64,
    /// Along x.
    pub width: f64,
    /// Along y.
    pub height: f64,
}

/// What a sewing order takes, estimated from the shapes before they are sewn, s.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OrderFigures {
    /// The order taken.
    pub seconds: f64,
    /// The order of the drawing, same knock-out.
    pub drawing_order_seconds: f64,
    /// No order that keeps what lies over what takes less.
    pub lower_bound: f64,
}

/// What the material a design is sewn on changed.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct MaterialFigures {
    /// Its row in the table of materials.
    pub name: String,
    /// What is other than usual, and what to put behind and over the fabric; a line each.
    pub effects: Vec<String>,
}

/// How a design sits in its hoop, mm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct HoopFit {
    /// The hoop's inside, along x.
    pub width: f64,
    /// The hoop's inside, along y.
    pub height: f64,
    /// Room on the left; below zero the design sticks out that far. The same on the other sides.
    pub left: f64,
    /// Room on the right.
    pub right: f64,
    /// Room above.
    pub above: f64,
    /// Room below.
    pub below: f64,
    /// Room to the rim of a round hoop; none in a square one.
    pub rim: Option<f64>,
}

impl HoopFit {
    /// The least room on any side, mm; below zero when the design sticks out.
    pub fn least(&self) -> f64 {
        let sides = self.left.min(self.right).min(self.above).min(self.below);
        sides.min(self.rim.unwrap_or(sides))
    }
}

/// What is sewn in one thread.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ThreadFigures {
    /// Its number, from 1.
    pub number: usize,
    /// `#rrggbb`.
    pub color: String,
    /// What its owner calls it.
    pub name: Option<String>,
    /// Pieces sewn in it.
    pub pieces: usize,
    /// What is sewn in it and what that takes, changes to it included.
    pub tally: Tally,
}

/// What is sewn between two changes of thread.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Step {
    /// Number of the thread, from 1.
    pub thread: usize,
    /// The first piece, from 1.
    pub first_piece: usize,
    /// The last piece.
    pub last_piece: usize,
    /// What is sewn and what that takes, the change to this thread included.
    pub tally: Tally,
}

/// Lengths of thread laid, by what it is for, mm.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Lengths {
    /// Carries the top stitching.
    pub underlay: f64,
    /// What the eye sees.
    pub top: f64,
    /// Moves through a shape before it is covered.
    pub travel: f64,
    /// Locks the thread.
    pub tie: f64,
    /// Dragged over the surface by untrimmed jumps.
    pub float: f64,
}

impl Lengths {
    /// All of them together, mm.
    pub fn sum(&self) -> f64 {
        self.underlay + self.top + self.travel + self.tie + self.float
    }
}

/// What is sewn in one piece.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PieceFigures {
    /// Its number, from 1.
    pub number: usize,
    /// The shape it comes from.
    pub name: String,
    /// `run`, `satin`, `fill` or `manual`.
    pub method: String,
    /// Number of its thread, from 1.
    pub thread: usize,
    /// Needle penetrations.
    pub stitches: usize,
    /// Cuts of the thread.
    pub trims: usize,
    /// Thread laid, by what it is for.
    pub laid: Lengths,
    /// The shortest stitch, ties left out, mm; none without stitches.
    pub shortest: Option<f64>,
    /// The mean stitch, ties left out, mm.
    pub mean: Option<f64>,
    /// The longest stitch, ties left out, mm.
    pub longest: Option<f64>,
    /// The fabric is meant to show between its threads.
    #[serde(default)]
    pub open: bool,
    /// The spacing the piece was sewn with, where that is known.
    pub spacing: Option<Spacing>,
    /// The spacing as its threads lie, where that can be told.
    pub measured_spacing: Option<Spacing>,
}

/// Stitches, ties left out, and floats.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct StitchFigures {
    /// The longest stitch, mm, where its thread ends and in which piece.
    pub longest: Option<Spot>,
    /// The shortest stitch.
    pub shortest: Option<Spot>,
    /// The mean stitch, mm.
    pub mean: Option<f64>,
    /// Stitches shorter than the limit (0.3 mm), those of no length included.
    pub short: usize,
    /// Stitches of no length, those of ties included.
    pub zero: usize,
    /// Threads dragged by untrimmed jumps.
    pub floats: usize,
    /// Those longer than the limit (2 mm).
    pub long_floats: usize,
    /// The longest of them.
    pub longest_float: Option<Spot>,
}

/// A figure and where it was found.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Spot {
    /// The figure.
    pub value: f64,
    /// Where, mm.
    pub x: f64,
    /// Where, mm.
    pub y: f64,
    /// Numbers of the pieces that lie there, from 1, in sewing order.
    pub pieces: Vec<usize>,
}

/// How densely thread and needle points lie on cells of 2 x 2 mm. Cells count
/// as covered when they hold more than a fifth of the thread of the median cell
/// that holds any.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Density {
    /// Side of a cell, mm.
    pub cell: f64,
    /// Covered cells.
    pub covered_cells: usize,
    /// Mean thread over covered cells, mm/mm².
    pub thread_mean: f64,
    /// Thread that 99 of 100 covered cells stay below, mm/mm².
    pub thread_p99: f64,
    /// The most thread on a cell, mm/mm².
    pub thread_most: Spot,
    /// Mean needle points over covered cells, 1/mm².
    pub needle_mean: f64,
    /// Needle points that 99 of 100 covered cells stay below, 1/mm².
    pub needle_p99: f64,
    /// The most needle points on a cell, 1/mm².
    pub needle_most: Spot,
}
