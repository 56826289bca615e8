//! What the commands read: drawings, recipes and stitch lists.

use crate::args::Reading;
use crate::output::{self, Kind};
use crate::{reads, show};
use laidwork_drawing::{Drawing, Fonts, Options};
use laidwork_engine::Recipe;
use laidwork_plan::{Plan, Warning};
use miette::{IntoDiagnostic, Result, WrapErr, miette};
use std::collections::BTreeSet;
use std::fs;
use std::io::{self, Cursor};
use std::path::{Path, PathBuf};

/// No drawing or list larger than this is read, bytes.
const LARGEST_FILE: u64 = 1_000_000_000;

/// No recipe or chart larger than this is read, bytes.
const LARGEST_TEXT: u64 = 20_000_000;

/// Reads a recipe; the built-in defaults when there is none.
pub fn recipe(path: Option<&Path>, warnings: &mut Vec<Warning>) -> Result<Recipe> {
    let Some(path) = path else { return Ok(Recipe::default()) };
    let text = text(path)?;
    recipe_text(&text, &path.display().to_string(), warnings)
}

/// Reads a recipe from its text.
pub fn recipe_text(text: &str, file: &str, warnings: &mut Vec<Warning>) -> Result<Recipe> {
    Ok(laidwork_recipe::parse(text, file).map_err(diagnostics)?.take(warnings))
}

/// What is wrong with a recipe, as the command shows it.
pub fn diagnostics(found: laidwork_recipe::Diagnostics) -> miette::Report {
    miette!("{}", show::diagnostics(&found))
}

/// Reads a text file whole.
pub fn text(path: &Path) -> Result<String> {
    let bytes = output::read(path, LARGEST_TEXT)?;
    String::from_utf8(bytes).map_err(|error| {
        let line = 1 + error.as_bytes()[..error.utf8_error().valid_up_to()].iter().filter(|b| **b == b'\n').count();
        miette!("{}:{line}: the text is not in UTF-8; save it as UTF-8", path.display())
    })
}

/// Reads a drawing at the size that the command or the recipe asks for.
pub fn drawing(path: &Path, reading: &Reading, recipe: &Recipe, warnings: &mut Vec<Warning>) -> Result<Drawing> {
    let bytes = bytes(path)?;
    drawing_bytes(&bytes, &path.display().to_string(), reading, recipe, warnings)
}

/// Reads a drawing from its bytes.
pub fn drawing_bytes(
    bytes: &[u8],
    file: &str,
    reading: &Reading,
    recipe: &Recipe,
    warnings: &mut Vec<Warning>,
) -> Result<Drawing> {
    let options = sized(options(reading, warnings)?, reading, recipe);
    read_drawing(bytes, file, &options, warnings)
}

/// `options` at the size that the command or the recipe asks for.
pub fn sized(options: Options, reading: &Reading, recipe: &Recipe) -> Options {
    let given = reading.width.is_some() || reading.height.is_some();
    let design = &recipe.design;
    let (width, height) = if given { (reading.width, reading.height) } else { (design.width, design.height) };
    Options { width, height, ..options }
}

/// A warning where a size is asked for that places in the hoop do not look at.
pub fn idle_size(reading: &Reading, recipe: &Recipe) -> Option<Warning> {
    let asked = [reading.width, reading.height, recipe.design.width, recipe.design.height];
    let what = "the width and height of the drawing change nothing where a recipe places drawings";
    let advice = "give each `[[place]]` its own `width` or `height`";
    asked.iter().any(Option::is_some).then(|| Warning::new(what, advice))
}

/// A warning where the command names a drawing, and the recipe places only others.
///
/// # Errors
/// When that drawing is not there.
pub fn idle_drawing(given: Option<&Path>, recipe: &Recipe) -> Result<Option<Warning>> {
    let Some(path) = given.filter(|_| recipe.places.iter().all(|place| place.drawing.is_some())) else {
        return Ok(None);
    };
    if !output::is_standard(path) {
        fs::metadata(path).into_diagnostic().wrap_err_with(|| format!("cannot read {}", path.display()))?;
    }
    let advice = "leave it out, or take `drawing` out of the `[[place]]` that it is for";
    Ok(Some(Warning::at(
        path.display().to_string(),
        "every `[[place]]` names a drawing of its own, so this one is not sewn",
        advice,
    )))
}

/// Reads a drawing called `file`.
pub fn read_drawing(bytes: &[u8], file: &str, options: &Options, warnings: &mut Vec<Warning>) -> Result<Drawing> {
    if bytes.starts_with(b"stitch-list ") {
        return Err(miette!(
            help = "`laidwork check` tells its figures, `view` draws it, `convert` turns it into other forms",
            "{file}: this is a stitch list, and a drawing is wanted"
        ));
    }
    let read = laidwork_drawing::read(bytes, options).map_err(|error| miette!("{file}: {error}"))?;
    Ok(read.take(warnings))
}

/// The bytes of a drawing.
pub fn bytes(path: &Path) -> Result<Vec<u8>> {
    output::read(path, LARGEST_FILE)
}

/// Reads what a recipe places in the hoop, each drawing at its own size. Files
/// are seen from the recipe's folder and read by `load`; a place without one takes `given`.
pub fn composition(
    given: Option<&Path>,
    recipe_path: &Path,
    recipe: &Recipe,
    options: &Options,
    mut load: impl FnMut(&Path) -> Result<Vec<u8>>,
    warnings: &mut Vec<Warning>,
) -> Result<Drawing> {
    let folder = recipe_path.parent().unwrap_or(Path::new(""));
    warnings.extend(idle_drawing(given, recipe)?);
    let mut drawings = Vec::with_capacity(recipe.places.len());
    for place in &recipe.places {
        let path = match &place.drawing {
            Some(file) => folder.join(file),
            None => given.map(Path::to_path_buf).ok_or_else(|| {
                let at = format!("{}:{}", recipe_path.display(), place.line);
                miette!("{at}: the place names no drawing, and the command names none; add `drawing = \"FILE.svg\"`")
            })?,
        };
        let options = Options { width: place.width, height: place.height, ..options.clone() };
        let at = || format!("{}:{}", recipe_path.display(), place.line);
        let read = load(&path).map_err(|error| match place.drawing {
            Some(_) => error.wrap_err(format!("{}: the drawing of this place cannot be used", at())),
            None => error,
        });
        drawings.push(read_drawing(&read?, &path.display().to_string(), &options, warnings)?);
    }
    let hoop = recipe.design.hoop.map(laidwork_recipe::Hoop::size);
    let file = recipe_path.display().to_string();
    let composed = laidwork_engine::compose(drawings, &recipe.places, hoop, &file);
    let composed = composed.map_err(|much| miette!(help = much.advice(), "{file}:{}: {much}", much.line))?;
    Ok(composed.take(warnings))
}

/// The files that fonts are read from: those named, and those in the folders named.
pub fn font_files(fonts: &[PathBuf]) -> Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    for font in fonts {
        if font.is_dir() {
            let entries = fs::read_dir(font).and_then(Iterator::collect::<io::Result<Vec<_>>>).into_diagnostic()?;
            let mut inside: Vec<PathBuf> = entries.into_iter().map(|entry| entry.path()).collect();
            inside.retain(|path| path.is_file());
            inside.sort();
            files.extend(inside);
        } else {
            files.push(font.clone());
        }
    }
    Ok(files)
}

/// How drawings are to be read, but for their size.
pub fn options(reading: &Reading, warnings: &mut Vec<Warning>) -> Result<Options> {
    let mut named = BTreeSet::new();
    if let Some((id, _)) = reading.text.iter().find(|(id, _)| !named.insert(id)) {
        return Err(miette!("--text {id}=... is given twice; give each text once"));
    }
    let fonts = match reading.font.as_slice() {
        [] => Fonts::none(),
        paths => {
            font_files(paths)?.iter().for_each(|file| reads::note(file));
            Fonts::load(paths).into_diagnostic()?.take(warnings)
        }
    };
    Ok(Options { fonts, texts: reading.text.clone(), ..Options::default() })
}

/// Reads a stitch list or one of its twins, told apart by the ending.
pub fn list(path: &Path) -> Result<Plan> {
    // What a program cannot tell is of no concern to who asked for no program.
    Ok(list_for_machine(path, &laidwork_gcode::Settings::default(), &mut Vec::new())?.0)
}

/// Which form of a list begins like this; nothing else is told apart.
fn kind_by_content(bytes: &[u8]) -> Kind {
    if bytes.trim_ascii_start().starts_with(b"{") {
        Kind::Json
    } else if bytes.starts_with(b"record,") {
        Kind::Csv
    } else {
        Kind::Stitches
    }
}

/// As [`list`], programs read as `settings` say. The number is that of lines that
/// only people read.
pub fn list_for_machine(
    path: &Path,
    settings: &laidwork_gcode::Settings,
    warnings: &mut Vec<Warning>,
) -> Result<(Plan, usize)> {
    let bytes = output::read(path, LARGEST_FILE)?;
    let kind = if output::is_standard(path) { Some(kind_by_content(&bytes)) } else { Kind::asked(path) };
    let comments = match kind {
        Some(Kind::Stitches) => bytes.split(|byte| *byte == b'\n').filter(|line| line.starts_with(b"#")).count(),
        _ => 0,
    };
    let from = Cursor::new(&bytes);
    let plan = match kind {
        Some(Kind::Stitches) => laidwork_list::read(from).into_diagnostic(),
        Some(Kind::Csv) => laidwork_list::from_csv(from).into_diagnostic(),
        Some(Kind::Json) => laidwork_list::from_json(from).into_diagnostic(),
        Some(Kind::Gcode) => {
            let text = std::str::from_utf8(&bytes).into_diagnostic();
            text.and_then(|text| Ok(laidwork_gcode::read(text, settings).into_diagnostic()?.take(warnings)))
        }
        _ => {
            return Err(miette!("{}: a stitch list ends in .stitches, .csv, .json, .gcode or .ngc", path.display()));
        }
    };
    Ok((plan.wrap_err_with(|| format!("cannot read {}", path.display()))?, comments))
}
