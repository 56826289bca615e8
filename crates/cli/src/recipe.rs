//! `laidwork recipe`: a commented starter recipe, or the schema of recipes.

use crate::args::Recipe as Args;
use crate::{Verdict, input, output, show};
use laidwork_engine::Recipe;
use miette::{IntoDiagnostic, Result, miette};
use std::path::Path;

/// Runs the command.
pub fn run(args: Args) -> Result<Verdict> {
    let text = if args.schema {
        serde_json::to_string_pretty(&laidwork_recipe::schema()).into_diagnostic()? + "\n"
    } else {
        let path = args.drawing.as_deref().ok_or_else(|| miette!("name a drawing"))?;
        let mut warnings = Vec::new();
        let drawing = input::drawing(path, &args.reading, &Recipe::default(), &mut warnings)?;
        show::warnings(&warnings);
        laidwork_engine::starter(&drawing, &path.display().to_string()).map_err(input::diagnostics)?
    };
    output::keep(args.drawing.as_deref(), args.output.as_deref())?;
    output::write(args.output.as_deref().unwrap_or(Path::new("-")), text.as_bytes())?;
    Ok(Verdict::Passed)
}
