//! Regions with holes in millimetres: flattening, boolean, offset, rows, centre lines.
//!
//! Everything here is deterministic: the same input gives the same bytes on
//! every run. Coordinates are `f64` millimetres in the plan's frame (x right,
//! y down); areas are square millimetres.

mod boolean;
mod locator;
mod mesh;
mod offset;
mod region;
mod stroke;
mod walker;

pub use boolean::{FillRule, RESOLUTION};
pub use locator::{Locator, Nearest, closest_on_segment};
pub use mesh::Mesh;
pub use offset::Join;
pub use region::{Polygon, Region, Ring};
pub use stroke::{Pen, PenCap, PenJoin, PenLine};
pub use walker::Walker;
