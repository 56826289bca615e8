//! Helpers shared by the whole-program tests.
