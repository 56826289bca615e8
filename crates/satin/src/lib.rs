//! Columns: threads laid across between two sides.
