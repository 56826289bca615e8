//! Contact sheets: the design in every colourway of its recipe, or a stitch
//! list on several fabrics.

use crate::output::{self, Kind};
use crate::{input, show};
use laidwork_engine::{Drawing, Recipe, sew};
use laidwork_plan::{Color, Plan, Warning};
use laidwork_report::cloth_contrast;
use laidwork_view::{Colourway, Look, contact_sheet, contact_sheet_png};
use miette::{IntoDiagnostic, Result, miette};
use std::collections::BTreeSet;
use std::path::PathBuf;

/// The kinds of file that a contact sheet is written as.
pub const SHEETS: [Kind; 2] = [Kind::ColourwaysPng, Kind::Colourways];

/// The recipe for the colourway called `name`, and what its files are called by.
pub fn chosen(recipe: &Recipe, name: &str) -> Result<(Recipe, String)> {
    let missing = |advice: String| miette!(help = advice, "there is no colourway \"{name}\"");
    let number = recipe.colourway_named(name).map_err(missing)?;
    let chosen = recipe.in_colourway(number).ok_or_else(|| missing("name one of the recipe".into()))?;
    let slug = |letter: char| if letter.is_alphanumeric() { letter } else { '-' };
    Ok((chosen, name.to_lowercase().chars().map(slug).collect()))
}

/// What should be known of a plan on its cloth.
pub fn cloth_warnings(plan: &Plan, fabric: Option<Color>) -> Vec<Warning> {
    fabric.map(|fabric| cloth_contrast(plan, fabric).warnings(plan)).unwrap_or_default()
}

/// Whether the sheets among `files` have something to show.
pub fn check(files: &[(PathBuf, Kind)], recipe: &Recipe) -> Result<()> {
    if recipe.colourways.is_empty() && files.iter().any(|(_, kind)| SHEETS.contains(kind)) {
        return Err(miette!(
            help = "add a `[[colourway]]` with a name and a fabric, or draw a stitch list on several `--fabric`s",
            "the recipe has no colourways to draw side by side"
        ));
    }
    Ok(())
}

/// Writes the contact sheets among `files`: `drawing` sewn in every colourway of
/// `recipe`. What has been told of the design itself is not told again.
pub fn write(
    files: &[(PathBuf, Kind)],
    drawing: &Drawing,
    recipe: &Recipe,
    look: &Look,
    told: &[Warning],
) -> Result<()> {
    if !files.iter().any(|(_, kind)| SHEETS.contains(kind)) {
        return Ok(());
    }
    let told: BTreeSet<String> = told.iter().map(Warning::to_string).collect();
    let mut warnings = Vec::new();
    let mut plans = Vec::with_capacity(recipe.colourways.len());
    for (number, colourway) in recipe.colourways.iter().enumerate() {
        let Some(recipe) = recipe.in_colourway(number) else { continue };
        let mut found = Vec::new();
        let plan = sew(drawing, &recipe).map_err(input::diagnostics)?.take(&mut found).plan;
        let fabric = recipe.design.fabric.unwrap_or(look.fabric);
        found.extend(cloth_warnings(&plan, Some(fabric)));
        found.retain(|warning| !told.contains(&warning.to_string()));
        warnings.extend(found.into_iter().map(|warning| of_colourway(&colourway.name, warning)));
        plans.push((colourway.name.as_str(), plan, fabric));
    }
    show::warnings(&warnings);
    let ways: Vec<Colourway<'_>> =
        plans.iter().map(|(name, plan, fabric)| Colourway { name, plan, fabric: *fabric }).collect();
    write_sheets(files, &ways, look)
}

fn of_colourway(name: &str, warning: Warning) -> Warning {
    let place = warning.place.map_or_else(|| name.to_owned(), |place| format!("{name}: {place}"));
    Warning { place: Some(place), ..warning }
}

/// Writes the contact sheets among `files`: `plan` on each of these fabrics.
pub fn write_on(files: &[(PathBuf, Kind)], plan: &Plan, fabrics: &[Color], look: &Look) -> Result<()> {
    let fabrics = if fabrics.is_empty() { &[look.fabric] } else { fabrics };
    let names: Vec<String> = fabrics.iter().map(Color::to_string).collect();
    let way = |(name, fabric)| Colourway { name, plan, fabric };
    let ways: Vec<Colourway<'_>> = names.iter().map(String::as_str).zip(fabrics.iter().copied()).map(way).collect();
    write_sheets(files, &ways, look)
}

fn write_sheets(files: &[(PathBuf, Kind)], ways: &[Colourway<'_>], look: &Look) -> Result<()> {
    for (path, kind) in files {
        match kind {
            Kind::ColourwaysPng => output::write(path, &contact_sheet_png(ways, look).into_diagnostic()?)?,
            Kind::Colourways => output::write(path, contact_sheet(ways, look).into_diagnostic()?.as_bytes())?,
            _ => {}
        }
    }
    Ok(())
}
