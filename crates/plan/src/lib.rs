//! The data every stage of Laidwork speaks.
//!
//! A [`Plan`] is a design in sewing order: [`Piece`]s, each in one [`Thread`],
//! each a list of [`Pass`]es of needle points. Stages hand their results on as
//! [`Warned`] values, so that no warning is ever only logged.
//!
//! Frame: millimetres, x to the right, y down as in SVG, origin at the centre
//! of the hoop. Points are [`Point`]s of the `kurbo` crate.

mod hoop;
mod measure;
mod pass;
mod piece;
mod sanity;
mod thread;
mod warned;

pub use hoop::HoopShape;
pub use kurbo::{Point, Rect, Vec2};
pub use measure::{Angle, Mm};
pub use pass::{Pass, PassKind, Segment};
pub use piece::{Hoop, Method, Piece, Plan};
pub use sanity::{Broken, LONGEST_STITCH, Promise};
pub use thread::{Color, ParseColorError, Thread};
pub use warned::{Warned, Warning};
