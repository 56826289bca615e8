//! Knock-out, sewing order, travel, ties and trims.
//!
//! [`join`] turns pieces in sewing order into a plan: rounded, tied, with
//! travel where it is hidden and trims where it is not.

mod join;

pub use join::{Head, JoinSettings, UnjoinedPiece, join};
