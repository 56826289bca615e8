//! What a prediction of draw-in takes from a recipe and a sewn design.

use crate::layer::Layer;
use crate::part::Part;
use crate::{Drawing, Recipe, Sewn};
use laidwork_geometry::Region;
use laidwork_plan::Method;
use laidwork_predict::{Cloth, Prediction, Sewing, Target, predict};
use laidwork_recipe::{Material, Settings, tex};

/// What a piece was meant to be, and by which settings it was sewn.
#[derive(Clone, Debug, PartialEq)]
pub struct Intent {
    /// The shape it comes from.
    pub shape: String,
    /// The area it was to cover after knock-out, mm; nothing for runs.
    pub region: Region,
    /// The settings of its shape.
    pub settings: Settings,
}

impl Intent {
    /// What a part of a layer is meant to be.
    pub(crate) fn of(part: &Part<'_>, layer: &Layer<'_>, drawing: &Drawing) -> Intent {
        let region = if part.method == Method::Run { Region::default() } else { part.polygon.clone().into() };
        let shape = drawing.shapes.get(layer.shape).map(|shape| shape.name.clone()).unwrap_or_default();
        Intent { shape, region, settings: layer.settings.clone() }
    }
}

/// Predicts how the cloth of the recipe's materials draws a sewn design in.
pub fn prediction(recipe: &Recipe, sewn: &Sewn) -> Prediction {
    let pieces = sewn.plan.pieces.iter().zip(&sewn.intents);
    let targets: Vec<_> = pieces
        .map(|(piece, intent)| {
            let material = recipe.materials.get(&intent.settings.material)?;
            let tex = sewn.tex.get(piece.thread).copied().unwrap_or(recipe.sewing.tex);
            target(intent, &material, piece.method, tex)
        })
        .collect();
    predict(&sewn.plan, &targets, recipe.design.grain)
}

fn target(intent: &Intent, material: &Material, method: Method, tex: f64) -> Option<Target> {
    let thickness = tex::spacing_factor(tex);
    let (satin, fill) = (&intent.settings.satin, &intent.settings.fill);
    let sewing = match method {
        Method::Satin => Sewing {
            spacing: satin.spacing,
            usual_spacing: material.column_spacing() * thickness,
            stitch_length: 1.0,
            usual_stitch_length: 1.0,
            pull: satin.pull,
        },
        Method::Fill => Sewing {
            spacing: fill.gradient.map_or(fill.spacing, |to| (fill.spacing + to.spacing_to) / 2.0),
            usual_spacing: material.fill_spacing() * thickness,
            stitch_length: fill.stitch_length,
            usual_stitch_length: material.fill_stitch_length,
            // Fills are lengthened by the same everywhere.
            pull: laidwork_recipe::Pull { percent: 0.0, ..fill.pull },
        },
        Method::Run | Method::Manual => return None,
    };
    Some(Target {
        shape: intent.shape.clone(),
        region: intent.region.clone(),
        cloth: Cloth::of(material, method == Method::Satin),
        sewing,
    })
}
