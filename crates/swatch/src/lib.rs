//! A test design to measure, and the compensation that its measurements ask for.
//!
//! [`design`] lays out a [`Swatch`] of small columns and fills for a hoop and a
//! material; the swatch gives a drawing, a recipe, the table to fill in and a
//! sheet that says what to measure. [`read`] takes the filled table, [`fit`] finds
//! what the cloth does to threads of every width and direction, with uncertainty,
//! and [`Findings::to_rows`] writes that as rows of the materials table.
//! `docs/swatch.md` explains it. Lengths in mm, angles in degrees.

mod design;
mod digits;
mod error;
mod files;
mod fit;
pub mod least_squares;
mod measured;
mod row;
mod sheet;

pub use design::{Cell, Swatch, Trial, Usual, Wishes, design};
pub use error::Error;
pub use fit::{Estimate, Findings, Law, Term, fit};
pub use measured::{COLUMNS, Measured, MeasuredCell, read};
