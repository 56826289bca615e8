//! Helpers shared by the whole-program tests.

pub mod browser;
pub mod fuzzed;
pub mod trial;
