//! Helpers shared by the whole-program tests.

pub mod browser;
