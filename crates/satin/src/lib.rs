//! Columns: threads laid across between two sides.

mod border;
mod centre;
mod chain;
mod column;
mod crossings;
mod decompose;
mod hide;
mod line;
mod needle;
mod network;
mod outline;
mod rays;
mod relief;
mod settings;
mod stroke;
mod threads;
mod walk;
mod ways;

pub use border::{Band, Border, Side, border};
pub use centre::centre_lines;
pub use column::{Column, ColumnEnd};
pub use crossings::from_crossings;
pub use decompose::{Decomposition, decompose};
pub use hide::Hidden;
pub use laidwork_geometry::{Pen, PenCap, PenJoin, PenLine};
pub use laidwork_run::Ends;
pub use laidwork_underlay::{ColumnLayer, ColumnUnderlay};
pub use needle::needle_points;
pub use outline::{Apart, from_outline, has_wide_and_narrow};
pub use settings::{Pull, SatinSettings};
pub use stroke::from_stroke;
pub use threads::{REACH, Threads, lay};
