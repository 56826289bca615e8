//! The fonts that text is drawn with: only those the user named.

use crate::Error;
use crate::error::quote;
use laidwork_plan::{Warned, Warning};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use usvg::fontdb::Database;

/// Fonts to draw text with. None are ever searched for on the machine, so the
/// same drawing gives the same shapes everywhere.
#[derive(Clone, Debug, Default)]
pub struct Fonts {
    pub(crate) database: Arc<Database>,
}

impl Fonts {
    /// No fonts: text vanishes, with a warning.
    pub fn none() -> Fonts {
        Fonts::default()
    }

    /// The fonts in the files and folders at `paths` (folders are not searched
    /// deeper than themselves), in the order of the paths, files of a folder
    /// by name. A file in a folder that is no font is passed over.
    ///
    /// # Errors
    /// When a path cannot be read, a named file is no font, or a named folder holds none.
    pub fn load(paths: &[PathBuf]) -> Result<Warned<Fonts>, Error> {
        let mut database = Database::new();
        let mut warnings = Vec::new();
        for path in paths {
            let before = database.len();
            if path.is_dir() {
                for file in font_files(path)? {
                    let read = std::fs::read(&file).map_err(|error| font_error(&file, &error.to_string()))?;
                    let before = database.len();
                    database.load_font_data(read);
                    if database.len() == before {
                        let name = quote(&file.to_string_lossy());
                        warnings.push(Warning::at(name, "is no font that can be read", "remove it or save it again"));
                    }
                }
            } else {
                let read = std::fs::read(path).map_err(|error| font_error(path, &error.to_string()))?;
                database.load_font_data(read);
            }
            if database.len() == before {
                return Err(font_error(path, "there is no font in it"));
            }
        }
        Ok(Warned { value: Fonts::with(database), warnings })
    }

    /// The fonts in the contents of font files; what is no font is passed over.
    pub fn from_bytes(files: Vec<Vec<u8>>) -> Fonts {
        let mut database = Database::new();
        for file in files {
            database.load_font_data(file);
        }
        Fonts::with(database)
    }

    /// Generic families fall to the first font, so that `sans-serif` is always something.
    fn with(mut database: Database) -> Fonts {
        let first = database.faces().next().and_then(|face| Some(face.families.first()?.0.clone()));
        if let Some(first) = first {
            database.set_serif_family(first.clone());
            database.set_sans_serif_family(first.clone());
            database.set_cursive_family(first.clone());
            database.set_fantasy_family(first.clone());
            database.set_monospace_family(first);
        }
        Fonts { database: Arc::new(database) }
    }
}

fn font_error(path: &Path, what: &str) -> Error {
    Error::Font { path: quote(&path.to_string_lossy()), what: quote(what) }
}

/// The files of a folder whose ending says they are fonts, by name.
fn font_files(folder: &Path) -> Result<Vec<PathBuf>, Error> {
    let entries = std::fs::read_dir(folder).map_err(|error| font_error(folder, &error.to_string()))?;
    let is_font = |path: &PathBuf| {
        let ending = path.extension().map(|e| e.to_string_lossy().to_ascii_lowercase());
        path.is_file() && matches!(ending.as_deref(), Some("ttf" | "otf" | "ttc" | "otc"))
    };
    let mut files: Vec<PathBuf> = entries.filter_map(Result::ok).map(|entry| entry.path()).filter(is_font).collect();
    files.sort();
    Ok(files)
}
