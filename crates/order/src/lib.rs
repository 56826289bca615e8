//! Knock-out, sewing order, travel, ties and trims.
//!
//! [`knock_out`] takes from each shape what later ones hide; [`join`] turns
//! pieces in sewing order into a plan: rounded, tied, with travel where it is
//! hidden and trims where it is not.

mod join;
mod knock_out;
pub mod sequence;

pub use join::{Head, JoinSettings, UnjoinedPiece, join};
pub use knock_out::{CoverShape, DEEPEST, HAIR, MOST_EDGES, THINNEST, knock_out};
