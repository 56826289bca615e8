//! Knock-out, sewing order, travel, ties and trims.
//!
//! [`knock_out`] takes from each shape what later ones hide; [`arrange`] puts
//! pieces into the order that takes the least time; [`join`] turns
//! pieces in sewing order into a plan: rounded, tied, with travel where it is
//! hidden and trims where it is not.

mod arrange;
mod join;
mod knock_out;
pub mod sequence;

pub use arrange::{ArrangeSettings, Arrangement, Costs, Item, MOST_PAIRS, Passage, Pin, Slot, arrange};
pub use join::{Head, JoinSettings, Joined, LONGEST_FLOAT, UnjoinedPiece, join};
pub use knock_out::{CoverShape, Cut, DEEPEST, HAIR, MOST_EDGES, SEAM, THINNEST, knock_out};
