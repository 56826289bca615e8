//! What the page knows of a design before anything is tried.

use laidwork_drawing::Drawing;
use laidwork_recipe::{MethodChoice, Recipe, Settings, UnderlayLayer};
use serde::Serialize;

/// A drawing and its recipe, as the page shows them.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Design {
    /// What the design is called.
    pub title: String,
    /// Name of the recipe's file.
    pub recipe: String,
    /// Material of the whole design.
    pub material: String,
    /// Names of all materials.
    pub materials: Vec<String>,
    /// The shapes, as the drawing paints them.
    pub shapes: Vec<ShapeSettings>,
}

/// What holds for a shape. Numbers in mm and degrees.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ShapeSettings {
    /// Its name.
    pub name: String,
    /// Its colour in the drawing, `#rrggbb`.
    pub color: String,
    /// `auto`, `run`, `satin`, `fill` or `skip`.
    pub method: &'static str,
    /// Spacing of fills.
    pub fill_spacing: f64,
    /// Spacing of columns.
    pub satin_spacing: f64,
    /// Direction of rows; none when it goes by the shape.
    pub angle: Option<f64>,
    /// Stitch length of fills.
    pub fill_stitch_length: f64,
    /// Stitch length of runs.
    pub run_stitch_length: f64,
    /// Lengthening of rows at each end.
    pub fill_pull: f64,
    /// Lengthening of columns at each end, the mean of both.
    pub satin_pull: f64,
    /// Layers of underlay in sewing order; none when they go by material and width.
    pub underlay: Option<Vec<&'static str>>,
    /// Its material.
    pub material: String,
}

impl Design {
    /// The design of a drawing under settled settings.
    pub(crate) fn new(drawing: &Drawing, recipe: &Recipe, settled: &[Settings], file: &str) -> Design {
        let title = recipe.design.title.as_ref().or(drawing.title.as_ref());
        Design {
            title: title.cloned().unwrap_or_else(|| "Design".into()),
            recipe: file.to_owned(),
            material: recipe.design.material.clone(),
            materials: recipe.materials.names().map(str::to_owned).collect(),
            shapes: drawing.shapes.iter().zip(settled).map(|(shape, of)| settings(shape, of)).collect(),
        }
    }
}

/// The layers that a recipe wrote.
fn underlay(of: &Settings) -> Option<&[UnderlayLayer]> {
    if of.method == MethodChoice::Satin {
        return (!of.satin.underlay_auto).then_some(&of.satin.underlay.medium);
    }
    (!of.fill.underlay_auto).then_some(&of.fill.underlay)
}

fn settings(shape: &laidwork_drawing::Shape, of: &Settings) -> ShapeSettings {
    let mean = |pull: &laidwork_recipe::Pull| (pull.left + pull.right) / 2.0;
    ShapeSettings {
        name: shape.name.clone(),
        color: shape.color.to_string(),
        method: match of.method {
            MethodChoice::Auto => "auto",
            MethodChoice::Run => "run",
            MethodChoice::Satin => "satin",
            MethodChoice::Fill => "fill",
            MethodChoice::Skip => "skip",
        },
        fill_spacing: of.fill.spacing,
        satin_spacing: of.satin.spacing,
        angle: of.fill.angle,
        fill_stitch_length: of.fill.stitch_length,
        run_stitch_length: of.run.stitch_length,
        fill_pull: mean(&of.fill.pull),
        satin_pull: mean(&of.satin.pull),
        underlay: underlay(of).map(|layers| layers.iter().map(|layer| layer.word()).collect()),
        material: of.material.clone(),
    }
}
