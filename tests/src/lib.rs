//! Helpers shared by the whole-program tests.

#[cfg(feature = "browser")]
pub mod browser;
pub mod fuzzed;
pub mod trial;
