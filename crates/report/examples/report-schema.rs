//! Prints the JSON Schema of a report, as published in `docs/report.schema.json`.

fn main() {
    println!("{:#}", laidwork_report::schema().to_value());
}
