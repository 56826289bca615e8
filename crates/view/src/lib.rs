//! Pictures of a plan.
//!
//! [`png()`] paints a plan as sewn thread or as a diagram, [`svg()`] writes the same
//! as vectors; [`html`] is a page that sews it, [`worksheet`] the sheet beside the
//! machine, [`contact_sheet`] shows it in several colourways. What they show is set by a [`Look`]. Nothing here computes
//! stitches; every picture is a function of the [`Plan`](laidwork_plan::Plan) and
//! the look alone, so the same plan gives the same bytes.

mod canvas;
mod colourways;
mod diagram;
mod error;
mod fabric;
mod frame;
mod key;
mod lettering;
mod light;
mod linear;
mod look;
mod marks;
mod markup;
mod pack;
mod page;
mod paint;
mod predicted;
mod ramp;
mod raster;
mod sewn;
mod sheet;
mod strand;
mod thread_card;
mod vector;

pub use colourways::{Colourway, contact_sheet, contact_sheet_png};
pub use error::Error;
pub use look::{Finish, Look, Show, UnknownShow, Weave};
pub use page::html;
pub use predicted::{predicted_png, predicted_svg};
pub use raster::{MOST_PIXELS, pixels_png, png};
pub use sheet::{Setup, worksheet};
pub use thread_card::thread_card;
pub use vector::svg;
