//! What was done, so that a run that was cut short is taken up where it ended.
//!
//! A journal is a text of one JSON object a line, one line for each row that is
//! done. Lines are only ever added while a run goes on: a line that was cut short
//! by a loss of power is no JSON, and its row is simply done again. A row counts as
//! done when its fingerprint (all that goes into it) and the hashes of its files
//! are those of the journal.

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// The SHA-256 of `bytes`, as lower-case hexadecimal digits.
pub fn hash(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The hash of everything that decides what a row becomes.
#[derive(Clone, Debug, Default)]
pub struct Fingerprint(Sha256);

impl Fingerprint {
    /// Adds one thing. Things are kept apart: `ab` and `c` is not `a` and `bc`.
    pub fn add(&mut self, bytes: impl AsRef<[u8]>) {
        let bytes = bytes.as_ref();
        self.0.update((bytes.len() as u64).to_le_bytes());
        self.0.update(bytes);
    }

    /// The hash of all that was added.
    pub fn finish(self) -> String {
        hex(&self.0.finalize())
    }
}

/// A file and the hash of what was written into it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileHash {
    /// Its name in the folder.
    pub file: String,
    /// See [`hash`].
    pub sha256: String,
}

/// The figures of a sewn row.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Figures {
    /// Needle penetrations.
    pub stitches: usize,
    /// Extent of the needle points along x, mm.
    pub width_mm: f64,
    /// Extent along y, mm.
    pub height_mm: f64,
    /// Threads.
    pub threads: usize,
    /// Changes of thread.
    pub thread_changes: usize,
    /// Cuts of the thread.
    pub trims: usize,
    /// Sewing time, minutes.
    pub minutes: f64,
    /// Top thread used, m.
    pub top_thread_m: f64,
    /// The checks that failed.
    pub failed_checks: Vec<String>,
    /// Warnings, each as one text.
    pub warnings: Vec<String>,
}

/// A row that is done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Done {
    /// The name of its files, without ending.
    pub name: String,
    /// All that went into it.
    pub fingerprint: String,
    /// Its files.
    pub files: Vec<FileHash>,
    /// What was sewn.
    pub figures: Figures,
}

impl Done {
    /// The row's line in a journal, its line feed included.
    pub fn line(&self) -> String {
        // Strings, numbers and lists: none of them can fail to be JSON.
        serde_json::to_string(self).unwrap_or_default() + "\n"
    }
}

/// The rows that are done, by the name of their files.
#[derive(Clone, Debug, Default)]
pub struct Journal {
    done: BTreeMap<String, Done>,
}

impl Journal {
    /// Reads a journal; what is no line of one is passed over, and of two lines
    /// with the same name the last counts.
    pub fn read(bytes: &[u8]) -> Journal {
        let lines = bytes.split(|&byte| byte == b'\n');
        let rows = lines.filter_map(|line| serde_json::from_slice::<Done>(line).ok());
        Journal { done: rows.map(|done| (done.name.clone(), done)).collect() }
    }

    /// The row of that name, if it was made of the same things.
    pub fn find(&self, name: &str, fingerprint: &str) -> Option<&Done> {
        self.done.get(name).filter(|done| done.fingerprint == fingerprint)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn done(name: &str, fingerprint: &str) -> Done {
        let file = FileHash { file: format!("{name}.stitches"), sha256: hash(b"x") };
        Done { name: name.into(), fingerprint: fingerprint.into(), files: vec![file], figures: Figures::default() }
    }

    #[test]
    fn the_hash_is_that_of_fips_180() {
        // NIST FIPS 180-4, the example of the three letters abc.
        assert_eq!(hash(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn a_line_that_was_cut_short_is_passed_over() {
        let text = format!("{}{}", done("bean", "1").line(), done("pea", "2").line());
        let journal = Journal::read(&text.as_bytes()[..text.len() - 20]);
        assert_eq!(journal.find("bean", "1"), Some(&done("bean", "1")));
        assert_eq!(journal.find("pea", "2"), None);
    }

    #[test]
    fn a_row_made_of_other_things_is_not_done() {
        let text = format!("{}{}", done("bean", "1").line(), done("bean", "2").line());
        let journal = Journal::read(text.as_bytes());
        assert_eq!(journal.find("bean", "1"), None);
        assert!(journal.find("bean", "2").is_some());
    }

    #[test]
    fn a_fingerprint_keeps_its_parts_apart() {
        let of = |parts: &[&str]| {
            let mut print = Fingerprint::default();
            parts.iter().for_each(|part| print.add(part));
            print.finish()
        };
        assert_eq!(of(&["ab", "c"]), of(&["ab", "c"]));
        assert_ne!(of(&["ab", "c"]), of(&["a", "bc"]));
    }
}
