//! Running stitches along a path.
//!
//! [`points`] turns a path into needle points; [`sew`] makes a piece of it in
//! the style its settings ask for; [`network`] sews lines that touch as one
//! unbroken chain.

mod graph;
mod network;
mod path;
mod points;
mod settings;
mod sew;

pub use network::{Ends, network};
pub use points::{CHORD_ERROR, CORNER, points};
pub use settings::{RunSettings, RunStyle};
pub use sew::sew;
