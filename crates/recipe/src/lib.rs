//! TOML in: rules that pick shapes and say how they become stitches.
//!
//! [`parse`] reads a recipe and finds everything wrong with it at once.
//! [`Recipe::settle`] lays the material's row, the recipe's defaults and its
//! rules over each other, key by key, and comes to one complete [`Settings`]
//! for each shape of a drawing.

mod colourway;
mod contradictions;
mod effects;
mod find;
mod idle;
pub mod keys;
pub mod materials;
mod nearest;
mod parse;
mod pattern;
mod place;
mod read;
mod recipe;
mod resolve;
mod schema;
mod settings;
mod settle;
mod source;
mod starter;
mod syntax;
#[rustfmt::skip]
pub mod table;
pub mod tex;
mod values;

pub use colourway::{Colourway, Swap};
pub use effects::effects;
pub use materials::{Material, Materials};
pub use parse::{parse, parse_with};
pub use pattern::Pattern;
pub use place::{Mirror, Place, Repeat};
pub use recipe::*;
pub use schema::schema;
pub use settings::*;
pub use source::{Diagnostic, Diagnostics};
pub use starter::{StarterDesign, StarterShape, starter};
