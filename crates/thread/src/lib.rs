//! Thread charts, colour difference, thread length and sewing time.
//!
//! Colours are compared as people see them: sRGB is carried over to CIE L\*a\*b\*
//! under D65 and differences are CIEDE2000. Lengths are millimetres where they
//! are laid and metres where they are bought. `docs/threads.md` explains every
//! formula, with its source.

mod chart;
mod color;
mod length;
mod limited;
mod nearest;
mod pace;
mod selection;
mod table;
mod yarn;

pub use chart::{Chart, ChartError, ChartThread};
pub use color::{
    Contrast, Difference, Lab, ThreadContrasts, Visibility, contrast_ratio, contrasts, difference, lab_difference,
};
pub use length::{Consumption, Used, lockstitch};
pub use limited::{LimitedPalette, Wanted, limited_palette};
pub use nearest::{Match, nearest, substitutes};
pub use pace::Pace;
pub use selection::{
    Beside, Choice, Need, Offer, OnFabric, Palette, Selection, Spool, Substitute, Wishes, select, selection_schema,
};
pub use table::{line_at, parted_by, wrong_quotes};
pub use yarn::{Fibre, PACKING, Tex, YarnSystem};
