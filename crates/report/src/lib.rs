//! Every figure and check of a plan.
//!
//! [`report`] measures a [`Plan`] in time linear in its
//! stitches: what is sewn in which thread, how long it takes and how much
//! thread it uses, how densely thread and needle points lie and where most, and
//! whether it keeps what the trade and the plan itself promise. It works on
//! any plan, whoever made it. `docs/report.md` explains every figure.
//!
//! ```
//! use laidwork_report::{ReportSettings, report};
//! # let plan = laidwork_plan::Plan::default();
//! let report = report(&plan, &ReportSettings::default());
//! assert!(report.passed());
//! println!("{}", report.to_text());
//! ```

mod checks;
mod compare;
mod contrast;
mod crowding;
mod figures;
mod gather;
mod grid;
mod neighbours;
mod settings;
mod spacing;
mod text;
mod worksheet;

pub use checks::{Check, Place, Verdict};
pub use compare::{Change, Comparison, Turn, compare};
pub use contrast::{ClothContrast, cloth_contrast, pieces_on_cloth};
pub use crowding::{Crowd, crowding};
pub use figures::{
    Bounds, Density, HoopFit, Lengths, MaterialFigures, OrderFigures, PieceFigures, Report, Spot, Step, StitchFigures,
    Tally, ThreadFigures,
};
pub use grid::DensityGrid;
pub use neighbours::neighbouring_threads;
pub use settings::{Limits, ReportSettings};
pub use spacing::{Spacing, measured_spacing};
pub use worksheet::CAUTIONS;

use laidwork_plan::Plan;

/// All figures and checks of `plan`.
pub fn report(plan: &Plan, settings: &ReportSettings) -> Report {
    let mut report = gather::gather(plan, settings);
    report.checks = checks::checks(&report, &settings.limits);
    report
}

/// The JSON Schema (draft 2020-12) of a [`Report`] written as JSON.
pub fn schema() -> schemars::Schema {
    schemars::schema_for!(Report)
}
