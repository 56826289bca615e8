//! What a report is told besides the plan, and the limits it holds it against.

use crate::{MaterialFigures, OrderFigures};
use laidwork_thread::{Consumption, Pace};

/// What a report is told besides the plan.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ReportSettings {
    /// For every piece the distance between neighbouring threads it was sewn
    /// with, mm, where there is one. May be shorter than the list of pieces:
    /// what is missing is measured from the stitches.
    pub spacings: Vec<Option<f64>>,
    /// Whether the fabric is meant to show between the threads of each piece;
    /// what is missing is not.
    pub open: Vec<bool>,
    /// How laid thread becomes thread used.
    pub consumption: Consumption,
    /// How fast machine and hands are.
    pub pace: Pace,
    /// Where figures begin to worry.
    pub limits: Limits,
    /// The hoop is round, its diameter the plan's hoop's width.
    pub round_hoop: bool,
    /// What the sewing order takes.
    pub order: Option<OrderFigures>,
    /// What the materials changed that shapes are sewn on.
    pub materials: Vec<MaterialFigures>,
}

/// Where figures begin to worry. Common practice, from memory, no published
/// source, but for those marked as Laidwork's own.
#[derive(Clone, Debug, PartialEq)]
pub struct Limits {
    /// Thread on a cell of 2 x 2 mm that is much, mm/mm².
    pub thread_warn: f64,
    /// Thread on a cell that is too much, mm/mm².
    pub thread_most: f64,
    /// Needle points on a cell that are many, 1/mm².
    pub needle_warn: f64,
    /// Needle points on a cell that are too many, 1/mm².
    pub needle_most: f64,
    /// Needle points within 0.5 mm of one of them that are many. Laidwork's own.
    pub crowd_warn: usize,
    /// Needle points within 0.5 mm of one of them that are too many. Laidwork's own.
    pub crowd_most: usize,
    /// The longest stitch, mm.
    pub longest: f64,
    /// The shortest stitch outside ties, mm.
    pub shortest: f64,
    /// The share of stitches that may be shorter before it is too much. Laidwork's own.
    pub short_share: f64,
    /// A dragged thread that is long, mm.
    pub float_warn: f64,
    /// A dragged thread that is too long, mm.
    pub float_most: f64,
    /// The widest spacing at which threads still cover, mm: a thread lies about 0.3 mm wide.
    pub widest_spacing: f64,
}

impl Default for Limits {
    fn default() -> Limits {
        Limits {
            thread_warn: 9.0,
            thread_most: 13.0,
            needle_warn: 4.0,
            needle_most: 6.0,
            crowd_warn: 10,
            crowd_most: 16,
            longest: 12.0,
            shortest: 0.3,
            short_share: 0.01,
            float_warn: 2.0,
            float_most: 3.0,
            widest_spacing: 0.3,
        }
    }
}
