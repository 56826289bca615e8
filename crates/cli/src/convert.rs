//! `laidwork convert`: a stitch list as CSV, JSON or G-code, and back.

use crate::args::{Convert, Machine};
use crate::output::{self, Kind};
use crate::whole::Content;
use crate::{Verdict, input, show};
use laidwork_gcode::Settings;
use laidwork_list::{Digits, WriteOptions, rounded};
use laidwork_plan::{Plan, Warning};
use miette::{IntoDiagnostic, Result, miette};
use std::path::Path;

/// Runs the command.
pub fn run(mut args: Convert) -> Result<Verdict> {
    output::once(&mut args.output);
    let kinds = args.output.iter().map(|path| kind_of(path)).collect::<Result<Vec<_>>>()?;
    let settings = settings(&args.machine)?;
    let mut warnings = Vec::new();
    let (plan, comments) = input::list_for_machine(&args.list, &settings, &mut warnings)?;
    if comments > 0 {
        let what = format!("{comments} comment lines are not carried over");
        warnings.push(Warning::new(what, "keep the list they stand in"));
    }
    let mut files = Vec::with_capacity(kinds.len());
    for kind in kinds {
        files.push(bytes(&plan, kind, &settings, &mut warnings)?);
    }
    show::warnings(&warnings);
    let files: Vec<_> =
        args.output.iter().zip(&files).map(|(path, content)| (path.as_path(), Content::Bytes(content))).collect();
    output::write_all(&files)?;
    Ok(Verdict::Passed)
}

fn kind_of(path: &Path) -> Result<Kind> {
    if let Some(kind @ (Kind::Stitches | Kind::Csv | Kind::Json | Kind::Gcode)) = Kind::asked(path) {
        return Ok(kind);
    }
    Err(miette!(
        help = "pictures come from `laidwork view`",
        "{}: lists end in .stitches, .csv, .json, .gcode or .ngc",
        path.display()
    ))
}

/// The settings of programs.
pub fn settings(machine: &Machine) -> Result<Settings> {
    let template = |text: &Option<String>, usual: &str| text.as_deref().unwrap_or(usual).parse().into_diagnostic();
    Ok(Settings {
        needle: template(&machine.needle, Settings::NEEDLE)?,
        trim: template(&machine.trim, Settings::TRIM)?,
        thread: template(&machine.thread, Settings::THREAD)?,
        feed: machine.feed.unwrap_or(Settings::FEED),
        hoop: machine.hoop,
        origin: machine.origin.unwrap_or_default(),
    })
}

/// A list in one of its forms.
pub fn bytes(plan: &Plan, kind: Kind, settings: &Settings, warnings: &mut Vec<Warning>) -> Result<Vec<u8>> {
    let options = WriteOptions { digits: digits(plan, warnings)? };
    let mut bytes = Vec::new();
    match kind {
        Kind::Csv => laidwork_list::to_csv(plan, &mut bytes, options).into_diagnostic()?,
        Kind::Json => laidwork_list::to_json(plan, &mut bytes, options).into_diagnostic()?,
        Kind::Gcode => bytes = laidwork_gcode::write(plan, settings).into_diagnostic()?.take(warnings).into_bytes(),
        _ => laidwork_list::write(plan, &mut bytes, options).into_diagnostic()?,
    }
    Ok(bytes)
}

/// As many digits as it takes to carry every coordinate.
fn digits(plan: &Plan, warnings: &mut Vec<Warning>) -> Result<Digits> {
    let survives = |digits| rounded(plan, digits).map(|rounded| rounded == *plan).into_diagnostic();
    if survives(Digits::Two)? {
        return Ok(Digits::Two);
    }
    if !survives(Digits::Three)? {
        warnings.push(Warning::new("coordinates are rounded to 0.001 mm", "nothing finer can be sewn"));
    }
    Ok(Digits::Three)
}
