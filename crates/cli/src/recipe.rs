//! `laidwork recipe`: a commented starter recipe, or the schema of recipes.

use crate::args::Recipe as Args;
use crate::{Verdict, edited, input, output, reads, show};
use laidwork_engine::Recipe;
use miette::{IntoDiagnostic, Result, miette};
use std::path::Path;

/// Runs the command.
pub fn run(args: Args) -> Result<Verdict> {
    let out = args.output.as_deref().unwrap_or(Path::new("-"));
    if args.schema {
        let schema = serde_json::to_string_pretty(&laidwork_recipe::schema()).into_diagnostic()? + "\n";
        edited::keep(out, is_schema)?;
        output::write(out, schema.as_bytes())?;
        return Ok(Verdict::Passed);
    }
    let path = args.drawing.as_deref().ok_or_else(|| miette!("name a drawing"))?;
    let mut warnings = Vec::new();
    let drawing = input::drawing(path, &args.reading, &Recipe::default(), &mut warnings)?;
    reads::keep([out])?;
    show::warnings(&warnings);
    let text = laidwork_engine::starter(&drawing, &path.display().to_string()).map_err(input::diagnostics)?;
    edited::write(out, &text)?;
    Ok(Verdict::Passed)
}

/// Whether a file is the schema of some version; nobody edits that.
fn is_schema(bytes: &[u8]) -> bool {
    serde_json::from_slice::<serde_json::Value>(bytes).is_ok_and(|json| json.get("$schema").is_some())
}
