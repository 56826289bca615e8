//! `laidwork report`: the figures of a design, or how its cloth is predicted to draw it in.

use crate::args::Report as Args;
use crate::output::{self, Kind};
use crate::progress::Progress;
use crate::whole::Content;
use crate::{Verdict, input, reads, sew, show, view};
use laidwork_engine::{prediction, report_settings};
use laidwork_predict::Prediction;
use laidwork_report::report;
use miette::{IntoDiagnostic, Result, miette};
use std::path::{Path, PathBuf};

/// Runs the command.
pub fn run(args: Args) -> Result<Verdict> {
    if args.schema {
        let schema = if args.sewn { Prediction::schema() } else { laidwork_report::schema() };
        output::print((serde_json::to_string_pretty(&schema).into_diagnostic()? + "\n").as_bytes())?;
        return Ok(Verdict::Passed);
    }
    let kinds = args.output.iter().map(|path| kind_of(path)).collect::<Result<Vec<Kind>>>()?;
    if args.scale.is_some() && !kinds.contains(&Kind::Png) {
        return Err(miette!("--scale is the sharpness of a PNG; write a .png with -o, or leave it out"));
    }
    let mut warnings = Vec::new();
    let (_, recipe, drawing) =
        sew::given(args.drawing.as_deref(), args.recipe.as_deref(), &args.reading, &mut warnings)?;
    reads::keep(args.output.iter().map(PathBuf::as_path))?;
    let mut progress = Progress::start("sewing");
    let sewn = laidwork_engine::sew(&drawing, &recipe).map_err(input::diagnostics);
    progress.end();
    let sewn = match sewn {
        Ok(sewn) => sewn.take(&mut warnings),
        Err(error) => {
            show::warnings(&warnings);
            return Err(error);
        }
    };
    show::warnings(&warnings);
    if sewn.plan.pieces.is_empty() {
        return Err(miette!("nothing in the drawing can be sewn"));
    }
    if !args.sewn {
        let figures = report(&sewn.plan, &report_settings(&recipe, &sewn));
        sew::print_figures(&figures, args.json, false)?;
        return Ok(sew::verdict(&figures, &warnings));
    }
    let found = prediction(&recipe, &sewn);
    let look = view::look(recipe.design.fabric, args.scale);
    let mut files = Vec::new();
    for (path, kind) in args.output.iter().zip(kinds) {
        let mut bytes = Vec::new();
        match kind {
            Kind::Png => bytes = laidwork_view::predicted_png(&sewn.plan, &found, &look).into_diagnostic()?,
            _ => laidwork_view::predicted_svg(&sewn.plan, &found, &look, &mut bytes).into_diagnostic()?,
        }
        files.push((path.as_path(), bytes));
    }
    output::write_all(&files.iter().map(|(path, bytes)| (*path, Content::Bytes(bytes))).collect::<Vec<_>>())?;
    let text = if args.json { serde_json::to_string_pretty(&found).into_diagnostic()? + "\n" } else { found.to_text() };
    output::print(text.as_bytes())?;
    Ok(Verdict::Passed)
}

fn kind_of(path: &Path) -> Result<Kind> {
    match Kind::asked(path) {
        Some(kind @ (Kind::Svg | Kind::Png)) => Ok(kind),
        _ => Err(miette!("{}: the picture of a prediction ends in .svg or .png", path.display())),
    }
}
