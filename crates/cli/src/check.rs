//! `laidwork check`: the figures of any stitch list, and whether they are sound.

use crate::args::Check;
use crate::{Verdict, input, output, sew};
use laidwork_report::{ReportSettings, report};
use miette::{IntoDiagnostic, Result, miette};

/// Runs the command.
pub fn run(args: Check) -> Result<Verdict> {
    if args.schema {
        let schema = serde_json::to_string_pretty(&laidwork_report::schema()).into_diagnostic()? + "\n";
        output::print(schema.as_bytes())?;
        return Ok(Verdict::Passed);
    }
    let path = args.list.ok_or_else(|| miette!("name a stitch list"))?;
    let plan = input::list(&path)?;
    let figures = report(&plan, &ReportSettings::default());
    sew::print_figures(&figures, args.json, false)?;
    Ok(if figures.passed() { Verdict::Passed } else { Verdict::Failed })
}
