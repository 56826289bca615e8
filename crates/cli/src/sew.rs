//! `laidwork sew`: a drawing becomes stitches, figures and pictures.

use crate::args::{Reading, Sew};
use crate::output::{self, Kind};
use crate::progress::Progress;
use crate::whole::Content;
use crate::{Verdict, colourways, input, reads, show, view};
use laidwork_engine::{Drawing, Recipe, pace, report_settings, sew};
use laidwork_plan::{Plan, Warning};
use laidwork_report::{Report, report};
use laidwork_thread::Pace;
use laidwork_view::{Look, Setup};
use miette::{IntoDiagnostic, Result};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The built-in drawing and its recipe.
const DEMO_NAME: &str = "garden-patch";
const DEMO_DRAWING: &str = include_str!("../../../fixtures/drawings/garden-patch.svg");
const DEMO_RECIPE: &str = include_str!("../../../fixtures/recipes/garden-patch.toml");

/// Runs the command.
pub fn run(args: Sew) -> Result<Verdict> {
    let on_standard_output = args.output.iter().any(|path| output::is_standard(path));
    if args.json && on_standard_output {
        return Err(miette::miette!(
            help = "write the list to a file, or send it on: `laidwork sew ... -o - | laidwork check --json -`",
            "the list and the report cannot both go to standard output"
        ));
    }
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
    reads::keep(files.iter().map(|(path, _)| path.as_path()))?;
    colourways::check(&files, &recipe)?;
    let mut progress = Progress::start("sewing");
    let sewn = sewn(&drawing, &recipe, &mut warnings);
    if let Ok(sewn) = &sewn {
        warnings.extend(colourways::cloth_warnings(&sewn.plan, recipe.design.fabric));
    }
    progress.end();
    show::warnings(&warnings);
    let sewn = sewn?;
    progress = Progress::start("drawing");
    sewn.write(&files, &progress)?;
    progress.now("sewing the colourways");
    let sheets = colourways::write(&files, &drawing, &recipe, &sewn.look, &warnings);
    progress.end();
    sheets?;
    print_figures(&sewn.figures, args.json, on_standard_output)?;
    Ok(verdict(&sewn.figures, &warnings))
}

/// Whether all of the drawing was sewn and every check passed.
pub fn verdict(figures: &Report, warnings: &[Warning]) -> Verdict {
    let is_whole = !warnings.iter().any(|warning| warning.incomplete);
    if is_whole && figures.passed() { Verdict::Passed } else { Verdict::Failed }
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
        pace: pace(recipe, sewn.plan.threads.len()),
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
            warnings.extend(input::idle_size(reading, &recipe));
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
    /// Writes all of `files` that show this one rendering, or none of them.
    pub fn write(&self, files: &[(PathBuf, Kind)], progress: &Progress) -> Result<()> {
        let own = files.iter().filter(|(_, kind)| !colourways::SHEETS.contains(kind));
        let contents = own.map(|(path, kind)| {
            progress.now(&format!("drawing {}", path.display()));
            let bytes = if *kind == Kind::Stitches { None } else { Some(self.to_bytes(*kind)?) };
            Ok((path.as_path(), bytes))
        });
        let contents = contents.collect::<Result<Vec<_>>>()?;
        let list = |to: &mut dyn Write| self.write_list(to);
        let streamed = || Content::Streamed(&list);
        let content =
            contents.iter().map(|(path, bytes)| (*path, bytes.as_deref().map_or_else(streamed, Content::Bytes)));
        output::write_all(&content.collect::<Vec<_>>())
    }

    /// Writes the stitch list, a piece at a time.
    fn write_list(&self, mut to: &mut dyn Write) -> io::Result<()> {
        laidwork_list::write(&self.plan, &mut to, laidwork_list::WriteOptions::default()).map_err(|error| match error {
            laidwork_list::Error::Io(error) => error,
            other => io::Error::other(other),
        })
    }

    /// The bytes of a file of `kind`.
    pub fn to_bytes(&self, kind: Kind) -> Result<Vec<u8>> {
        let Rendering { plan, figures, look, pace, setup } = self;
        let mut bytes = Vec::new();
        let options = laidwork_list::WriteOptions::default();
        match kind {
            Kind::Stitches => laidwork_list::write(plan, &mut bytes, options).into_diagnostic()?,
            Kind::Csv => laidwork_list::to_csv(plan, &mut bytes, options).into_diagnostic()?,
            Kind::Json => laidwork_list::to_json(plan, &mut bytes, options).into_diagnostic()?,
            Kind::Gcode => {
                if plan.hoop.is_none() {
                    return Err(miette::miette!(
                        help = "write `hoop = [WIDTH, HEIGHT]`, its inside in mm, under `[design]` in the recipe",
                        "the design names no hoop, so nothing keeps the needle from meeting it"
                    ));
                }
                let program = laidwork_gcode::write(plan, &laidwork_gcode::Settings::default()).into_diagnostic()?;
                bytes = program.value.into_bytes();
            }
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
        output::say(&text);
        return Ok(());
    }
    output::print(text.as_bytes())
}
