//! What reports and clocks take from a recipe.

use crate::{Recipe, Sewn};
use laidwork_recipe::{Hoop, Material};
use laidwork_report::{Limits, MaterialFigures, OrderFigures, ReportSettings};
use laidwork_thread::{Consumption, Pace};

/// What the report wants to know from the recipe and the engine.
pub fn report_settings(recipe: &Recipe, sewn: &Sewn) -> ReportSettings {
    let checks = &recipe.checks;
    ReportSettings {
        spacings: sewn.spacings.clone(),
        open: sewn.open.clone(),
        consumption: consumption(recipe),
        pace: pace(recipe, sewn.plan.threads.len()),
        limits: Limits {
            thread_warn: checks.dense_thread,
            thread_most: checks.too_dense_thread,
            needle_warn: checks.dense_needle,
            needle_most: checks.too_dense_needle,
            ..Limits::default()
        },
        round_hoop: matches!(recipe.design.hoop, Some(Hoop::Round { .. })),
        order: Some(OrderFigures {
            seconds: sewn.order.seconds,
            drawing_order_seconds: sewn.order.drawing_order_seconds,
            lower_bound: sewn.order.lower_bound,
        }),
        materials: sewn.materials.iter().map(figures_of).collect(),
    }
}

fn figures_of(material: &Material) -> MaterialFigures {
    MaterialFigures { name: material.name.clone(), effects: laidwork_recipe::effects(material) }
}

/// How much thread the recipe's machine takes.
pub fn consumption(recipe: &Recipe) -> Consumption {
    let sewing = &recipe.sewing;
    Consumption { laid: sewing.thread_take_up, stitch: sewing.thread_per_stitch, bobbin: sewing.bobbin_share }
}

/// How fast the recipe's machine and hands are with a design of `threads` threads: where there are needles for
/// all of them nobody changes any.
pub fn pace(recipe: &Recipe, threads: usize) -> Pace {
    let all_threaded = threads <= recipe.sewing.needles as usize;
    Pace {
        stitches_per_minute: recipe.sewing.stitches_per_minute,
        trim: recipe.sewing.seconds_per_trim,
        change: if all_threaded { 0.0 } else { recipe.sewing.seconds_per_thread_change },
    }
}
