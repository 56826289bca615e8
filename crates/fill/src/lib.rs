//! Rows of stitches laid over an area.

mod settings;

pub use laidwork_run::Ends;
pub use laidwork_underlay::FillUnderlay;
pub use settings::{Edge, FillSettings, Flow, RowAngle, Shifts, SpacingTo};

use laidwork_geometry::{Polygon, Region};
use laidwork_plan::{Pass, Warned, Warning};

/// Fills one connected polygon (mm) as one unbroken chain of passes, from as
/// near to `ends.start` as possible to as near to `ends.end` as possible.
///
/// Pull compensation does not reach into `keep_out`. A polygon smaller than a
/// stitch gives no passes and a warning that names `name`.
pub fn fill(
    name: &str,
    polygon: &Polygon,
    keep_out: Option<&Region>,
    settings: &FillSettings,
    ends: Ends,
) -> Warned<Vec<Pass>> {
    let _ = (polygon, keep_out, settings, ends);
    Warned { value: Vec::new(), warnings: vec![Warning::at(name, "fills are not sewn yet", "wait for the rows")] }
}
