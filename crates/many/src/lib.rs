//! One design for each row of a table.
//!
//! A [`Table`] is a CSV with a name over each column. A [`Template`] is a
//! drawing, a recipe or a file name with `{column}` placeholders; filled with a
//! row it gives that row's text, and no cell can break out of the place it is
//! put in. [`file_names`] makes names of cells that are safe to write, and a
//! [`Journal`] remembers what was done, so that a run can be taken up again.
//!
//! ```
//! use laidwork_many::{Table, Template};
//!
//! let table = Table::read(b"plant,bed\nBroad bean,7\n")?;
//! let recipe = Template::recipe("[design]\ntitle = \"{plant}\"\nwidth = {bed}\n", &table)?;
//! let row = &table.rows()[0];
//! assert_eq!(recipe.fill(row)?, "[design]\ntitle = \"Broad bean\"\nwidth = 7\n");
//! # Ok::<(), laidwork_many::Error>(())
//! ```

mod error;
mod file_name;
mod journal;
mod summary;
mod table;
mod template;
mod toml_text;

pub use error::Error;
pub use file_name::{Named, file_names};
pub use journal::{Done, Figures, FileHash, Fingerprint, Journal, hash};
pub use summary::{State, SummaryRow, summary_csv};
pub use table::{Row, Table};
pub use template::Template;
