//! Texts that people go on with, such as a starter recipe: what they have changed is never written over.
//!
//! Such a file ends in a comment that holds a hash of all before it. While the hash fits, nobody has changed the file, and
//! the command may write it again, be it for another drawing.

use crate::output;
use laidwork_many::hash;
use miette::{Result, miette};
use std::fs;
use std::path::Path;

/// How the last line begins.
const MARK: &str = "# Written again only while nothing above is changed: ";

/// How many digits of the hash it holds.
const DIGITS: usize = 16;

/// Writes a TOML text to `path`; on standard output it stands without its mark.
///
/// # Errors
/// When a file is there that somebody may have changed, or it cannot be written.
pub fn write(path: &Path, text: &str) -> Result<()> {
    if output::is_standard(path) {
        return output::print(text.as_bytes());
    }
    keep(path, |there| there == text.as_bytes() || is_unchanged(there))?;
    output::write(path, format!("{text}{MARK}{}\n", mark(text)).as_bytes())
}

/// Refuses to write to `path` over a file that is not `as_written`.
///
/// # Errors
/// When there is such a file.
pub fn keep(path: &Path, as_written: impl Fn(&[u8]) -> bool) -> Result<()> {
    if fs::read(path).is_ok_and(|there| !as_written(&there)) {
        return Err(miette!(
            help = "name another file with -o, or move that one away",
            "{} is there already and may have been edited; nothing was written",
            path.display()
        ));
    }
    Ok(())
}

/// Whether all above its last line is as it was written.
fn is_unchanged(there: &[u8]) -> bool {
    let Ok(there) = std::str::from_utf8(there) else { return false };
    let Some(at) = there.rfind(MARK) else { return false };
    let (text, last) = there.split_at(at);
    last.strip_prefix(MARK).is_some_and(|found| found.trim_end() == mark(text))
}

fn mark(text: &str) -> String {
    hash(text.as_bytes()).chars().take(DIGITS).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_as_it_was_written_is_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("gift.toml");
        write(&path, "[design]\n").unwrap();
        write(&path, "[design]\n# another drawing\n").unwrap();
        let written = fs::read_to_string(&path).unwrap();
        for edited in [written.replace("another", "my"), format!("{written}\n[[rule]]\n"), String::new()] {
            fs::write(&path, &edited).unwrap();
            assert!(write(&path, "[design]\n").is_err(), "{edited}");
            assert_eq!(fs::read_to_string(&path).unwrap(), edited);
        }
        // As a shell put it there from standard output.
        fs::write(&path, "[design]\n").unwrap();
        write(&path, "[design]\n").unwrap();
    }
}
