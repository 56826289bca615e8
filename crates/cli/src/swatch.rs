//! `laidwork swatch`: a test design to measure, and the material its measurements make.

use crate::args::Swatch as Args;
use crate::output::{self, Kind};
use crate::whole::Content;
use crate::{Verdict, edited, input, sew, show};
use laidwork_gcode::Hoop;
use laidwork_swatch::{Wishes, design, fit, read};
use miette::{IntoDiagnostic, Result, WrapErr, miette};
use std::fs;
use std::path::{Path, PathBuf};

/// No table of measurements larger than this is read, bytes.
const LARGEST_TABLE: u64 = 10_000_000;

/// What all files of a swatch are called.
const STEM: &str = "swatch";

/// Runs the command.
pub fn run(args: Args) -> Result<Verdict> {
    match &args.read {
        Some(table) => measured(table, &args),
        None => written(&args),
    }
}

/// Writes a swatch.
fn written(args: &Args) -> Result<Verdict> {
    let folder = args.output.clone().unwrap_or_else(|| PathBuf::from("swatch/"));
    if output::is_standard(&folder) || (!output::is_folder(&folder) && folder.extension().is_some()) {
        return Err(miette!("a swatch is a folder of files; name one with a slash at its end"));
    }
    let mut warnings = Vec::new();
    let materials = input::recipe(args.recipe.as_deref(), &mut Vec::new())?.materials;
    let material = materials.get(&args.material).ok_or_else(|| {
        let known: Vec<&str> = materials.names().collect();
        miette!("there is no material {:?}; the materials are {}", args.material, known.join(", "))
    })?;
    let swatch = design(&wishes(args), &material).into_diagnostic()?;
    let (svg, mut recipe_text) = (swatch.to_svg(), swatch.to_recipe());
    let mut recipe = laidwork_recipe::parse_with(&recipe_text, "swatch.toml", &materials)
        .map_err(input::diagnostics)?
        .take(&mut warnings);
    if let Hoop::Round { diameter } = args.hoop {
        recipe.design.hoop = Some(Hoop::Round { diameter });
        recipe_text = recipe_text.replacen(&rectangle(&swatch), &format!("hoop = {{ round = {diameter:?} }}"), 1);
    }
    let drawing = input::read_drawing(svg.as_bytes(), "swatch.svg", &Default::default(), &mut warnings)?;
    let rendering = sew::sewn(&drawing, &recipe, &mut warnings)?;
    show::warnings(&warnings);
    output::make_folder(&folder)?;
    let table = folder.join("swatch.csv");
    let csv = swatch.to_csv(&rendering.plan);
    if fs::read(&table).is_ok_and(|there| there != csv.as_bytes()) {
        return Err(miette!(
            help = "name another folder with -o, or move the table away",
            "{} is there already and may hold readings",
            table.display()
        ));
    }
    edited::keep(&folder.join("swatch.toml"), |there| there == recipe_text.as_bytes())?;
    let mut files: Vec<(PathBuf, Vec<u8>)> = vec![
        (folder.join("swatch.svg"), svg.into_bytes()),
        (folder.join("swatch.toml"), recipe_text.into_bytes()),
        (folder.join("swatch.sheet.html"), swatch.to_sheet().into_bytes()),
        (table, csv.into_bytes()),
    ];
    for kind in [Kind::Stitches, Kind::Report, Kind::Png, Kind::Worksheet] {
        files.push((folder.join(format!("{STEM}{}", kind.ending())), rendering.to_bytes(kind)?));
    }
    output::write_all(&files.iter().map(|(path, bytes)| (path.as_path(), Content::Bytes(bytes))).collect::<Vec<_>>())?;
    let told = format!(
        "{} cells in {}. Sew swatch.stitches, measure as swatch.sheet.html says, fill in swatch.csv, then:\n    \
         laidwork swatch --read {} -o row.toml\n",
        swatch.cells.len(),
        folder.display(),
        folder.join("swatch.csv").display()
    );
    output::print(told.as_bytes())?;
    Ok(if rendering.figures.passed() { Verdict::Passed } else { Verdict::Failed })
}

/// How the recipe of a swatch names a rectangle.
fn rectangle(swatch: &laidwork_swatch::Swatch) -> String {
    format!("hoop = [{:?}, {:?}]", swatch.hoop.0, swatch.hoop.1)
}

fn wishes(args: &Args) -> Wishes {
    let usual = Wishes::default();
    let or = |list: &Option<crate::args::List>, usual: Vec<f64>| list.as_ref().map_or(usual, |list| list.0.clone());
    Wishes {
        hoop: match args.hoop {
            Hoop::Rectangle { width, height } => (width, height),
            // The square inside the circle.
            Hoop::Round { diameter } => {
                (diameter * std::f64::consts::FRAC_1_SQRT_2, diameter * std::f64::consts::FRAC_1_SQRT_2)
            }
        },
        widths: or(&args.widths, usual.widths),
        sizes: or(&args.sizes, usual.sizes),
        directions: or(&args.directions, usual.directions),
        spacings: args.spacing.as_ref().map(|list| list.0.clone()),
        pulls: or(&args.pull, usual.pulls),
        stitch_lengths: or(&args.stitch_length, usual.stitch_lengths),
        bare: args.underlay == "both",
    }
}

/// Reads measurements and writes the row.
fn measured(table: &Path, args: &Args) -> Result<Verdict> {
    let out = args.output.as_deref().unwrap_or(Path::new("-"));
    let told = || format!("cannot use {}", table.display());
    let bytes = output::read(table, LARGEST_TABLE)?;
    let measured = read(&bytes).into_diagnostic().wrap_err_with(told)?;
    let findings = fit(&measured).into_diagnostic().wrap_err_with(told)?;
    show::warnings(&findings.warnings);
    let name = args.name.clone().unwrap_or_else(|| format!("{}-measured", findings.material));
    let file = table.file_name().unwrap_or(table.as_os_str()).to_string_lossy();
    let rows = findings.to_rows(&name, &file);
    edited::write(out, &rows)?;
    if output::is_standard(out) {
        output::say(&findings.to_text());
    } else {
        output::print(findings.to_text().as_bytes())?;
    }
    Ok(Verdict::Passed)
}
