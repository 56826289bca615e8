//! Settings tried out on a page, and written back into the recipe.
//!
//! A [`Tuner`] holds a drawing and the text of a recipe. Given [`Change`]s it
//! edits the text ([`edited`], comments and layout kept), sews the drawing by
//! it and gives back pictures and figures: a [`Trial`]. What is tried is what
//! would be written, to the byte. [`serve`] puts it behind one page on loopback,
//! which only who knows its address may use ([`Access`]). Nothing here prints
//! or writes files: the recipe is handed to the caller to be written.

mod access;
mod coverage;
mod design;
mod edit;
mod serve;
mod trial;

pub use access::{Access, Refused};
pub use coverage::{Coverage, coverage};
pub use design::{Design, ShapeSettings};
pub use edit::{Change, EditError, edited};
pub use serve::{Serving, serve};
pub use trial::{Trial, TuneError, Tuner};
