//! A setting tried at several values: what closer threads cost in thread and time.
//!
//!     cargo run -p laidwork-engine --example compare_spacings

use std::error::Error;

/// A seed head of 16 mm.
const SVG: &[u8] = br##"<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">
  <circle id="seed-head" cx="10" cy="10" r="8" fill="#6b3f1d"/>
</svg>"##;

/// Spacing, mm; top thread, m; sewing time, s.
type Row = (f64, f64, f64);

/// A row for each of `spacings`.
pub fn run(spacings: &[f64]) -> Result<Vec<Row>, Box<dyn Error>> {
    let drawing = laidwork_drawing::read(SVG, &laidwork_drawing::Options::default())?.value;
    let mut rows = Vec::new();
    for &spacing in spacings {
        let toml = format!("[[rule]]\nmethod = \"fill\"\nspacing = {spacing:.2}\n");
        let recipe = laidwork_recipe::parse(&toml, "trial").map_err(|wrong| wrong.to_string())?.value;
        let plan = laidwork_engine::sew(&drawing, &recipe).map_err(|wrong| wrong.to_string())?.value.plan;
        let total = laidwork_report::report(&plan, &laidwork_report::ReportSettings::default()).total;
        rows.push((spacing, total.top_m, total.seconds));
    }
    Ok(rows)
}

#[allow(dead_code, reason = "the test of the examples calls `run` alone")]
fn main() -> Result<(), Box<dyn Error>> {
    for (spacing, thread, seconds) in run(&[0.20, 0.22, 0.25, 0.30])? {
        println!("{spacing:.2} mm: {thread:.2} m of thread, {seconds:.0} s");
    }
    Ok(())
}
