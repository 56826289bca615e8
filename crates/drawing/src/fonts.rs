//! The fonts that text is drawn with: only those the user named.

use crate::Error;
use crate::error::quote;
use laidwork_plan::{Warned, Warning};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use usvg::FontResolver;
use usvg::fontdb::{Database, Family, ID, Query};

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

/// The most missing families, and the most missing characters, that are told.
const MOST_TOLD: usize = 12;

/// What a drawing asked of the fonts and did not get.
#[derive(Debug, Default)]
pub(crate) struct Asked {
    missing: Mutex<Missing>,
}

#[derive(Debug, Default)]
struct Missing {
    /// Families that are not there, and what came in their place.
    families: BTreeMap<String, String>,
    /// Characters that no font has.
    characters: BTreeSet<char>,
}

impl Asked {
    /// The resolver's own choice of a font, noted if it is none of the families asked for.
    pub fn select(&self, font: &usvg::Font, database: &mut Arc<Database>) -> Option<ID> {
        let named: Vec<&str> = font.families().iter().filter_map(named).collect();
        let found = (FontResolver::default_font_selector())(font, database);
        let known =
            |name: &&str| database.query(&Query { families: &[Family::Name(name)], ..Query::default() }).is_some();
        if !named.is_empty() && !named.iter().any(known) {
            let instead = found.and_then(|id| database.face(id)).and_then(|face| face.families.first());
            let instead = instead.map_or_else(|| "nothing".to_string(), |family| quote(&family.0));
            self.note(|missing| {
                if missing.families.len() < MOST_TOLD {
                    missing.families.insert(quote(&named.join(", ")), instead);
                }
            });
        }
        found
    }

    /// The resolver's own choice of a font for a character, noted if no font has it.
    pub fn fall_back(&self, c: char, used: &[ID], database: &mut Arc<Database>) -> Option<ID> {
        let found = (FontResolver::default_fallback_selector())(c, used, database);
        if found.is_none() && !c.is_whitespace() && !c.is_control() {
            self.note(|missing| {
                if missing.characters.len() < MOST_TOLD {
                    missing.characters.insert(c);
                }
            });
        }
        found
    }

    fn note(&self, change: impl FnOnce(&mut Missing)) {
        let mut missing = self.missing.lock().unwrap_or_else(PoisonError::into_inner);
        change(&mut missing);
    }

    /// A warning for each family and one for all characters that were missing; without these the design is not whole.
    pub fn into_warnings(self) -> Vec<Warning> {
        let missing = self.missing.into_inner().unwrap_or_else(PoisonError::into_inner);
        let mut warnings: Vec<Warning> = missing
            .families
            .iter()
            .map(|(asked, instead)| {
                let what = format!("the font {asked} is not there; text in it is drawn with {instead}");
                Warning::new(what, "name its file with --font, or turn the text to outlines")
            })
            .collect();
        if !missing.characters.is_empty() {
            let characters: String = missing.characters.iter().flat_map(|&c| [c, ' ']).collect();
            let what = format!("no font has the characters {}", characters.trim_end());
            let advice = "name a font that has them with --font";
            warnings.push(Warning { incomplete: true, ..Warning::new(what, advice) });
        }
        warnings
    }
}

fn named(family: &usvg::FontFamily) -> Option<&str> {
    match family {
        usvg::FontFamily::Named(name) => Some(name),
        _ => None,
    }
}
