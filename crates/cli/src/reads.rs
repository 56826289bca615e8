//! What this run has read, so that nothing is written over it.
//!
//! Every command reads through [`crate::output::read`], which notes the file here, and writes through
//! [`crate::output::write_all`], which asks here. So a drawing that a recipe places, a chart or a table is as safe as the
//! file that stands on the command line. Commands ask once more with all their outputs before they start on the work.

use miette::{Result, miette};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// The real paths of the files that were read: links lead to one file under several names.
static READ: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());

/// Notes that `path` is read. Pipes and devices can be read and written at once.
pub fn note(path: &Path) {
    if let Ok(real) = fs::canonicalize(path)
        && real.is_file()
    {
        READ.lock().unwrap_or_else(PoisonError::into_inner).insert(real);
    }
}

/// Refuses to write over what was read.
///
/// # Errors
/// The first of `outputs` that was read.
pub fn keep<'a>(outputs: impl IntoIterator<Item = &'a Path>) -> Result<()> {
    let read = READ.lock().unwrap_or_else(PoisonError::into_inner);
    let lost = outputs.into_iter().find(|path| fs::canonicalize(path).is_ok_and(|real| read.contains(&real)));
    lost.map_or(Ok(()), |path| Err(miette!("{} is read here; choose another name for what is written", path.display())))
}
