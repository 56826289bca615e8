//! Rows of stitches laid over an area.

mod angle;
mod chain;
mod pattern;
mod settings;
mod straight;
mod travel;

pub use laidwork_run::Ends;
pub use laidwork_underlay::FillUnderlay;

pub use settings::{Edge, FillSettings, Flow, RowAngle, Shifts, SpacingTo};

use chain::Chain;
use laidwork_geometry::{Frame, Polygon, Region};
use laidwork_plan::{Pass, Warned, Warning};
use laidwork_underlay::fill_underlay;
use pattern::Pattern;
use straight::Straight;

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
    let _ = keep_out;
    let spacing = if settings.spacing.is_finite() { settings.spacing.clamp(0.1, 20.0) } else { 0.22 };
    let degrees = match settings.angle {
        RowAngle::At(degrees) if degrees.is_finite() => degrees,
        _ => angle::best_angle(polygon, spacing),
    };
    let Some(mut straight) = Straight::new(polygon, Frame::turned(degrees), spacing) else {
        return Warned { value: Vec::new(), warnings: vec![too_small(name)] };
    };
    straight.compensate(settings.pull_compensation, 0.15);
    let pattern = Pattern::new(settings);
    let walk = straight.walk(Ends { start: None, end: ends.end });
    let mut chain = Chain::default();
    let start = ends.start.filter(|p| p.is_finite());
    if let Some(underlay) = &settings.underlay
        && !settings.open
    {
        chain.begin_with(fill_underlay(polygon, degrees, underlay, start));
    }
    if let Some(first) = straight.start_of(&walk) {
        chain.go_under(polygon, start, first);
    }
    straight.sew(&walk, &pattern, &mut chain);
    let passes = chain.finish();
    if passes.is_empty() {
        return Warned { value: Vec::new(), warnings: vec![too_small(name)] };
    }
    Warned::quiet(passes)
}

fn too_small(name: &str) -> Warning {
    Warning::at(name, "the shape is smaller than a stitch, so it is not sewn", "make it larger or leave it out")
}
