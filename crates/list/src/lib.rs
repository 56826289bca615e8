//! The open stitch list: writer, strict reader, CSV and JSON twins.
//!
//! A stitch list is one UTF-8 text file that a person can read and a ten-line
//! script can parse; `docs/stitch-list.md` is its normative description. It is
//! complete, so a [`Plan`](laidwork_plan::Plan) read back equals the plan
//! written, and strict, so a damaged file is refused and never half read.
//!
//! ```
//! use laidwork_list::{WriteOptions, read, to_text};
//! # let plan = laidwork_plan::Plan::default();
//! let text = to_text(&plan, WriteOptions::default())?;
//! assert_eq!(read(text.as_bytes())?, plan);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod build;
mod csv;
mod error;
mod json;
mod number;
mod read;
mod record;
mod rfc4180;
mod write;

pub use crate::csv::{from_csv, to_csv};
pub use error::{Error, ReadError};
pub use json::{from_json, json_schema, to_json};
pub use number::{Digits, FARTHEST};
pub use read::{ReadLimits, read, read_within};
pub use write::{WriteOptions, rounded, to_text, write};
