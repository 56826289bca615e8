//! The starter recipe of a drawing.

use crate::layer::layers;
use crate::part::parts;
use crate::{Diagnostics, Drawing, Recipe, choice, facts};
use laidwork_recipe::{MethodChoice, StarterDesign, StarterShape};

/// A commented recipe for `drawing` (a file called `file`) that names every
/// shape and the method it would get, and changes nothing as it stands.
///
/// # Errors
/// None that the built-in defaults can cause; see [`Recipe::settle`].
pub fn starter(drawing: &Drawing, file: &str) -> Result<String, Diagnostics> {
    let facts = facts(drawing);
    let settings = Recipe::default().settle(&facts)?.value;
    let (layers, _) = layers(drawing, &settings, &mut Vec::new());
    let (parts, _) = parts(&layers);
    let mut suggested = vec![(0.0, MethodChoice::Auto); drawing.shapes.len()];
    for part in &parts {
        let method = choice(part.method);
        // The largest part speaks for its shape.
        let area = part.polygon.area();
        if let Some(best) = suggested.get_mut(layers[part.layer].shape).filter(|best| area > best.0) {
            *best = (area, method);
        }
    }
    let shapes: Vec<_> = facts
        .iter()
        .zip(&drawing.shapes)
        .zip(suggested)
        .map(|((facts, shape), (_, suggested))| {
            let bounds = shape.region.bounds().unwrap_or_default();
            StarterShape { facts: *facts, width: bounds.width(), height: bounds.height(), suggested }
        })
        .collect();
    let design = StarterDesign {
        drawing: file,
        title: drawing.title.as_deref(),
        width: drawing.rect.width(),
        height: drawing.rect.height(),
    };
    Ok(laidwork_recipe::starter(&design, &shapes))
}
