//! `laidwork sew`: a drawing becomes stitches, figures and pictures.

use crate::args::{Reading, Sew};
use crate::output::{self, Kind};
use crate::progress::Progress;
use crate::{Verdict, colourways, input, show, view};
use laidwork_engine::{Drawing, Recipe, Sewn, sew};
use laidwork_plan::{Plan, Warning};
use laidwork_recipe::Hoop;
use laidwork_report::{Limits, MaterialFigures, OrderFigures, Report, ReportSettings, report};
use laidwork_thread::{Consumption, Pace};
use laidwork_view::{Look, Setup};
use miette::{IntoDiagnostic, Result};
use std::path::Path;

/// The built-in drawing and its recipe.
const DEMO_NAME: &str = "garden-patch";
const DEMO_DRAWING: &str = include_str!("../../../fixtures/drawings/garden-patch.svg");
const DEMO_RECIPE: &str = include_str!("../../../fixtures/recipes/garden-patch.toml");

/// Runs the command.
pub fn run(args: Sew) -> Result<Verdict> {
    let mut warnings = Vec::new();
    let (stem, recipe, drawing) = if args.demo {
        demo(&args.reading, &mut warnings)?
    } else {
        given(args.drawing.as_deref(), args.recipe.as_deref(), &args.reading, &mut warnings)?
    };
    let (stem, recipe) = match &args.colourway {
        Some(name) => {
            let (recipe, way) = colourways::chosen(&recipe, name)?;
            (format!("{stem}-{way}"), recipe)
        }
        None => (stem, recipe),
    };
    let sheets = if recipe.colourways.is_empty() || args.colourway.is_some() { &[] } else { &colourways::SHEETS[..] };
    let files = output::expand(&args.output, &stem, sheets)?;
    let mut progress = Progress::start("sewing");
    let sewn = sewn(&drawing, &recipe, &mut warnings);
    if let Ok(sewn) = &sewn {
        warnings.extend(colourways::cloth_warnings(&sewn.plan, recipe.design.fabric));
    }
    progress.end();
    show::warnings(&warnings);
    let sewn = sewn?;
    progress = Progress::start("drawing");
    for (path, kind) in files.iter().filter(|(_, kind)| !colourways::SHEETS.contains(kind)) {
        progress.now(&format!("writing {}", path.display()));
        output::write(path, &sewn.to_bytes(*kind)?)?;
    }
    progress.now("sewing the colourways");
    let sheets = colourways::write(&files, &drawing, &recipe, &sewn.look, &warnings);
    progress.end();
    sheets?;
    let on_standard_output = files.iter().any(|(path, _)| output::is_standard(path));
    print_figures(&sewn.figures, args.json, on_standard_output)?;
    Ok(if sewn.figures.passed() { Verdict::Passed } else { Verdict::Failed })
}

/// Sews `drawing` and measures what came out.
pub fn sewn(drawing: &Drawing, recipe: &Recipe, warnings: &mut Vec<Warning>) -> Result<Rendering> {
    let mut sewn = sew(drawing, recipe).map_err(input::diagnostics)?.take(warnings);
    if !recipe.places.is_empty() {
        sewn.plan.drawing = None; // no one drawing lies under the stitches
    }
    if sewn.plan.pieces.is_empty() {
        return Err(miette::miette!("nothing in the drawing can be sewn; no file was written"));
    }
    Ok(Rendering {
        figures: report(&sewn.plan, &report_settings(recipe, &sewn)),
        look: view::look(recipe.design.fabric, None),
        pace: pace(recipe),
        setup: setup(recipe),
        plan: sewn.plan,
    })
}

/// The drawing and the recipe that the command names, or what the recipe places.
pub fn given(
    drawing: Option<&Path>,
    recipe_path: Option<&Path>,
    reading: &Reading,
    warnings: &mut Vec<Warning>,
) -> Result<(String, Recipe, Drawing)> {
    let recipe = input::recipe(recipe_path, warnings)?;
    match (recipe_path, drawing) {
        (Some(path), drawing) if !recipe.places.is_empty() => {
            let options = input::options(reading, warnings)?;
            let composed = input::composition(drawing, path, &recipe, &options, input::bytes, warnings)?;
            Ok((stem_of(path), recipe, composed))
        }
        (_, Some(path)) => {
            let drawing = input::drawing(path, reading, &recipe, warnings)?;
            Ok((stem_of(path), recipe, drawing))
        }
        (_, None) => Err(miette::miette!("name a drawing; the recipe places none")),
    }
}

fn demo(reading: &Reading, warnings: &mut Vec<Warning>) -> Result<(String, Recipe, Drawing)> {
    let recipe = input::recipe_text(DEMO_RECIPE, "garden-patch.toml", warnings)?;
    let drawing = input::drawing_bytes(DEMO_DRAWING.as_bytes(), "garden-patch.svg", reading, &recipe, warnings)?;
    Ok((DEMO_NAME.into(), recipe, drawing))
}

/// The name that results are called by: the drawing's without its ending.
pub fn stem_of(path: &Path) -> String {
    let stem = path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    if stem.is_empty() || output::is_standard(path) { "design".into() } else { stem }
}

/// What the report wants to know from the recipe and the engine.
pub fn report_settings(recipe: &Recipe, sewn: &Sewn) -> ReportSettings {
    let checks = &recipe.checks;
    ReportSettings {
        spacings: sewn.spacings.clone(),
        consumption: consumption(recipe),
        pace: pace(recipe),
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
        material: recipe.materials.get(&recipe.design.material).map(|material| MaterialFigures {
            name: recipe.design.material.clone(),
            effects: laidwork_recipe::effects(&material),
        }),
    }
}

/// How much thread the recipe's machine takes.
pub fn consumption(recipe: &Recipe) -> Consumption {
    let sewing = &recipe.sewing;
    Consumption { laid: sewing.thread_take_up, stitch: sewing.thread_per_stitch, bobbin: sewing.bobbin_share }
}

/// How fast the recipe's machine and hands are.
fn pace(recipe: &Recipe) -> Pace {
    Pace {
        stitches_per_minute: recipe.sewing.stitches_per_minute,
        trim: recipe.sewing.seconds_per_trim,
        change: recipe.sewing.seconds_per_thread_change,
    }
}

/// What the recipe's material asks for beside the stitches.
fn setup(recipe: &Recipe) -> Setup {
    let Some(material) = recipe.materials.get(&recipe.design.material) else { return Setup::default() };
    let told = |text: String| Some(text).filter(|text| !text.is_empty());
    Setup {
        material: Some(recipe.design.material.clone()),
        backing: told(material.backing),
        topping: told(material.topping),
        needle: told(material.needle),
        speed: told(material.speed),
    }
}

/// A plan and all that its files want to know.
pub struct Rendering {
    /// The stitches.
    pub plan: Plan,
    /// Their figures and checks.
    pub figures: Report,
    /// The look of pictures.
    pub look: Look,
    /// The pace of machine and hands.
    pub pace: Pace,
    /// What is set up before sewing.
    pub setup: Setup,
}

impl Rendering {
    /// The bytes of a file of `kind`.
    pub fn to_bytes(&self, kind: Kind) -> Result<Vec<u8>> {
        let Rendering { plan, figures, look, pace, setup } = self;
        let mut bytes = Vec::new();
        let options = laidwork_list::WriteOptions::default();
        match kind {
            Kind::Stitches => laidwork_list::write(plan, &mut bytes, options).into_diagnostic()?,
            Kind::Csv => laidwork_list::to_csv(plan, &mut bytes, options).into_diagnostic()?,
            Kind::Json => laidwork_list::to_json(plan, &mut bytes, options).into_diagnostic()?,
            Kind::Svg => laidwork_view::svg(plan, look, &mut bytes).into_diagnostic()?,
            Kind::Png => bytes = laidwork_view::png(plan, look).into_diagnostic()?,
            Kind::Html => bytes = laidwork_view::html(plan, look, pace).into_diagnostic()?.into_bytes(),
            Kind::Worksheet => {
                bytes = laidwork_view::worksheet(plan, figures, setup, look).into_diagnostic()?.into_bytes();
            }
            Kind::Report => bytes = figures.to_text().into_bytes(),
            Kind::Colourways | Kind::ColourwaysPng => {
                return Err(miette::miette!("a contact sheet of colourways is written by `sew` and `view`"));
            }
        }
        Ok(bytes)
    }
}

/// Prints the figures; beside a list on standard output they go to standard error.
pub fn print_figures(figures: &Report, json: bool, aside: bool) -> Result<()> {
    let text = if json { serde_json::to_string_pretty(figures).into_diagnostic()? + "\n" } else { figures.to_text() };
    if aside {
        eprint!("{text}");
        return Ok(());
    }
    output::print(text.as_bytes())
}
