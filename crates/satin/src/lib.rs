//! Columns: threads laid across between two sides.

mod border;
mod chain;
mod column;
mod line;
mod needle;
mod network;
mod outline;
mod rays;
mod settings;
mod stroke;
mod threads;
mod walk;

pub use border::{Band, Border, Side, border};
pub use column::{Column, ColumnEnd};
pub use laidwork_run::Ends;
pub use laidwork_underlay::{ColumnLayer, ColumnUnderlay};
pub use needle::needle_points;
pub use outline::from_outline;
pub use settings::{Pull, SatinSettings};
pub use stroke::{Cap, StrokeLine, from_stroke};
pub use threads::{REACH, Threads, lay};
