//! Prints the JSON Schema of the list's JSON twin, as published in `docs/stitch-list.schema.json`.

fn main() {
    println!("{:#}", laidwork_list::json_schema().to_value());
}
