//! The laidwork command.
fn main() {}
