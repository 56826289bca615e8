//! `laidwork tune`: settings tried out on a page, and written back into the recipe.

use crate::args::Tune;
use crate::{Verdict, input, output, sew, show};
use laidwork_tune::{Tuner, serve};
use miette::{IntoDiagnostic, Result, miette};
use std::path::Path;

/// Runs the command until it is interrupted.
pub fn run(args: Tune) -> Result<Verdict> {
    if output::is_standard(&args.recipe) {
        return Err(miette!("name a recipe file; standard input cannot be written back into"));
    }
    let mut warnings = Vec::new();
    let text = input::text(&args.recipe)?;
    let (_, _, drawing) = sew::given(args.drawing.as_deref(), Some(&args.recipe), &args.reading, &mut warnings)?;
    show::warnings(&warnings);
    let name = args.recipe.file_name().unwrap_or(args.recipe.as_os_str()).to_string_lossy().into_owned();
    let tuner = Tuner::new(drawing, &name, &text, laidwork_engine::report_settings).into_diagnostic()?;
    let path = args.recipe.clone();
    let read = move || input::text(&path).map_err(|error| show::error(&error));
    let serving = serve(tuner, read, move |before, after| save(&args.recipe, before, after)).into_diagnostic()?;
    output::print(format!("{}\n", serving.url()).as_bytes())?;
    output::say("Open this address in a browser on this machine. Ctrl-C ends it.\n");
    serving.wait();
    Ok(Verdict::Passed)
}

/// Writes the recipe, unless somebody else has written it since it was read.
fn save(path: &Path, before: &str, after: &str) -> Result<(), String> {
    let now = input::text(path).map_err(|error| error.to_string())?;
    if now != before {
        return Err("the recipe was changed by somebody else meanwhile; load the page again".to_owned());
    }
    output::rewrite(path, after.as_bytes()).map_err(|error| show::error(&error))
}
