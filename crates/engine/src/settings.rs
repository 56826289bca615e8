//! The recipe's settled keys as the settings of the method crates.

use crate::hidden::Carried;
use laidwork_fill::{Edge, FillSettings, FillUnderlay, Flow, RowAngle, Shifts, SpacingTo};
use laidwork_order::JoinSettings;
use laidwork_plan::Point;
use laidwork_recipe as recipe;
use laidwork_recipe::{FillKeys, RunKeys, SatinKeys, UnderlayLayer};
use laidwork_run::{RunSettings, RunStyle};
use laidwork_satin::{Pull, SatinSettings};
use laidwork_underlay::{ColumnLayer, ColumnUnderlay};

/// Settings of running stitches.
pub(crate) fn run(keys: &RunKeys) -> RunSettings {
    RunSettings {
        style: match keys.style {
            recipe::RunStyle::Single => RunStyle::Single,
            recipe::RunStyle::ThereAndBack => RunStyle::ThereAndBack,
            recipe::RunStyle::Triple => RunStyle::Triple,
        },
        stitch_length: keys.stitch_length,
        curve_stitch_length: keys.curve_stitch_length,
        shortest_stitch: keys.shortest_stitch,
    }
}

/// Settings of rows; `guides` are the lines that lead guided rows, mm.
pub(crate) fn fill(keys: &FillKeys, guides: Vec<Vec<Point>>) -> FillSettings {
    let angle = keys.angle.map_or(RowAngle::Auto, RowAngle::At);
    let across = keys.angle.unwrap_or(0.0) + 90.0;
    FillSettings {
        angle,
        spacing: keys.spacing,
        stitch_length: keys.stitch_length,
        shortest_stitch: keys.shortest_stitch,
        shifts: match &keys.shifts {
            recipe::Shifts::Cycle(fractions) => Shifts::Fractions(fractions.clone()),
            recipe::Shifts::Irregular => Shifts::Irregular { seed: keys.seed },
        },
        flow: match keys.flow {
            recipe::Flow::Straight => Flow::Straight,
            recipe::Flow::Contour => Flow::Contour,
            recipe::Flow::Radial => Flow::Radial { centre: keys.centre },
            recipe::Flow::Guided => Flow::Guided { lines: guides },
        },
        spacing_to: keys
            .gradient
            .as_ref()
            .map(|to| SpacingTo { spacing: to.spacing_to, angle: to.angle.unwrap_or(across) }),
        open: keys.open,
        pull_compensation: keys.pull.mean(0.0),
        trim_to_outline: keys.trim_to_outline,
        edge: if keys.edge == recipe::Edge::Run { Edge::Run } else { Edge::None },
        underlay: fill_underlay(keys),
    }
}

fn fill_underlay(keys: &FillKeys) -> Option<FillUnderlay> {
    let has = |layer| keys.underlay.contains(&layer);
    let crossing = has(UnderlayLayer::CrossingRows);
    let rows = (crossing || has(UnderlayLayer::Rows)).then_some(keys.underlay_spacing);
    let edge_run = has(UnderlayLayer::EdgeRun).then_some(keys.underlay_inset);
    (rows.is_some() || edge_run.is_some()).then_some(FillUnderlay {
        edge_run,
        rows,
        crossing,
        stitch_length: keys.underlay_stitch_length,
    })
}

/// Narrow columns on rows may be laid so many times as openly: 0.2 mm apart instead of 0.17. Common practice, no source.
const OPENED: f64 = 1.18;

/// As [`satin`], on rows that carry the columns, or their edges at least: the lightest underlay does, in wide ones that
/// lie on rims alone what is left without the edge runs, and narrow ones take fewer threads, where the recipe does
/// not say otherwise.
pub(crate) fn carried_satin(keys: &SatinKeys, fill: FillSettings, carried: Carried) -> SatinSettings {
    let mut settings = satin(keys, fill);
    if carried == Carried::No {
        return settings;
    }
    if let ColumnUnderlay::ByWidth { narrow, medium, wide, .. } = &mut settings.underlay
        && keys.underlay_auto
    {
        medium.clone_from(narrow);
        wide.retain(|layer| !matches!(layer, ColumnLayer::EdgeRun { .. }));
        if carried == Carried::Whole || wide.is_empty() {
            wide.clone_from(narrow);
        }
    }
    if !keys.spacing_is_written {
        settings.narrow_opened = OPENED;
    }
    settings
}

/// Settings of columns; `fill` sews the parts that are too wide for them.
pub(crate) fn satin(keys: &SatinKeys, fill: FillSettings) -> SatinSettings {
    let recipe::Pull { left, right, percent, limit } = keys.pull;
    SatinSettings {
        spacing: keys.spacing,
        max_width: keys.max_width,
        min_width: keys.min_width,
        split_length: keys.split_length,
        pull: Pull { left, right, percent, limit },
        push: keys.push,
        short_threads: keys.short_stitches,
        shortest_stitch: keys.shortest_stitch,
        overlap: keys.column_overlap,
        closing_overlap: keys.closed_overlap,
        travel_length: keys.travel_length,
        underlay: column_underlay(keys),
        fill,
        ..SatinSettings::default()
    }
}

fn column_underlay(keys: &SatinKeys) -> ColumnUnderlay {
    let (inset, stitch_length) = (keys.underlay_inset, keys.underlay_stitch_length);
    let layer = |layer: &UnderlayLayer| match layer {
        UnderlayLayer::CentreRun => Some(ColumnLayer::CentreRun { stitch_length }),
        UnderlayLayer::EdgeRun => Some(ColumnLayer::EdgeRun { inset, stitch_length }),
        UnderlayLayer::Zigzag => Some(ColumnLayer::Zigzag { inset, spacing: keys.underlay_spacing }),
        UnderlayLayer::Rows | UnderlayLayer::CrossingRows => None,
    };
    let layers = |layers: &[UnderlayLayer]| layers.iter().filter_map(layer).collect();
    ColumnUnderlay::ByWidth {
        narrow_below: keys.underlay.narrow_below,
        wide_above: keys.underlay.wide_above,
        narrow: layers(&keys.underlay.narrow),
        medium: layers(&keys.underlay.medium),
        wide: layers(&keys.underlay.wide),
    }
}

/// Settings of what joins the pieces.
pub(crate) fn join(sewing: &recipe::Sewing) -> JoinSettings {
    JoinSettings {
        trim_over: sewing.trim_over,
        tie_length: sewing.tie_length,
        tie_stitches: sewing.tie_stitches as usize,
        ..JoinSettings::default()
    }
}
