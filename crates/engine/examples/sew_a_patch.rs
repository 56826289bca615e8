//! The whole way in one program: a drawing and a recipe in, a stitch list and its figures out.
//!
//!     cargo run -p laidwork-engine --example sew_a_patch

use std::error::Error;
use std::path::Path;

/// Sews the garden patch; gives its stitch list and its report.
pub fn run() -> Result<(String, laidwork_report::Report), Box<dyn Error>> {
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures");
    let svg = std::fs::read(fixtures.join("drawings/garden-patch.svg"))?;
    let toml = std::fs::read_to_string(fixtures.join("recipes/garden-patch.toml"))?;

    let drawing = laidwork_drawing::read(&svg, &laidwork_drawing::Options::default())?.value;
    let recipe = laidwork_recipe::parse(&toml, "garden-patch.toml").map_err(|wrong| wrong.to_string())?.value;
    let sewn = laidwork_engine::sew(&drawing, &recipe).map_err(|wrong| wrong.to_string())?;
    for warning in &sewn.warnings {
        eprintln!("{warning}");
    }
    let plan = &sewn.value.plan;
    let report = laidwork_report::report(plan, &laidwork_report::ReportSettings::default());
    Ok((laidwork_list::to_text(plan, laidwork_list::WriteOptions::default())?, report))
}

#[allow(dead_code, reason = "the test of the examples calls `run` alone")]
fn main() -> Result<(), Box<dyn Error>> {
    let (list, report) = run()?;
    println!("{} lines, {} stitches", list.lines().count(), report.total.stitches);
    print!("{}", report.to_text());
    Ok(())
}
