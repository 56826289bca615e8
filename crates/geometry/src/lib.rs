//! Regions with holes in millimetres: flattening, boolean, offset, rows, centre lines.
//!
//! Everything here is deterministic: the same input gives the same bytes on
//! every run. Coordinates are `f64` millimetres in the plan's frame (x right,
//! y down); areas are square millimetres.

mod boolean;
mod chain;
mod clip_line;
mod clip_ring;
mod crossing;
mod edge_tree;
mod error;
mod flatten;
mod height_tree;
mod hull;
mod levels;
mod locator;
mod mesh;
mod near_points;
mod offset;
mod opening;
mod outline_ways;
mod pinch;
mod plain;
mod postman;
mod region;
mod room;
mod row_corridors;
mod row_graph;
mod row_parts;
mod row_shrink;
mod row_walk;
mod rows;
mod sets;
mod shape;
mod shortest;
mod simplify;
mod strips;
mod stroke;
#[cfg(any(test, feature = "testing"))]
pub mod testing;
mod touching;
mod triangles;
mod walker;
mod widths;
mod within;

pub use boolean::{FARTHEST, FillRule, RESOLUTION};
pub use clip_ring::{clip_ring, clip_ring_turned};
pub use crossing::{Crossing, crossing_at};
pub use error::GeometryError;
pub use flatten::{FLATTEN_TOLERANCE, MAX_TURN, Polyline, chords, flatten, flatten_to_rings};
pub use hull::{TurnedRect, convex_hull, smallest_rectangle};
pub use levels::Samples;
pub use locator::{Locator, Nearest, closest_on_segment};
pub use mesh::Mesh;
pub use near_points::NearPoints;
pub use offset::Join;
pub use outline_ways::OutlineWays;
pub use postman::{PostmanEdge, PostmanStep, PostmanWalk, walk_every_edge};
pub use region::{Polygon, Region, Ring};
pub use row_graph::{Frame, RowGraph, RowLink, RowSpan};
pub use row_walk::{Corridor, RowStep, RowWalk, Side, WalkEnds, walk_rows};
pub use rows::{MAX_ROWS, RowLines, Rows, Span};
pub use sets::Sets;
pub use stroke::{Pen, PenCap, PenJoin, PenLine};
pub use touching::{Touch, touching};
pub use walker::Walker;
pub use widths::{Disc, MOST_SQUARES, Thickness};
