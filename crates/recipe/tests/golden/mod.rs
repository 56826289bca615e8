//! Compares what a test makes with what is kept. `LAIDWORK_UPDATE=1 cargo test
//! -p laidwork-recipe` keeps what was made instead, and fails.

use std::path::{Path, PathBuf};

/// A path from the root of the workspace.
pub fn root(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(path)
}

/// Whether goldens are to be updated.
pub fn updating() -> bool {
    std::env::var_os("LAIDWORK_UPDATE").is_some_and(|value| value == "1")
}

/// Compares `made` with the file at `path`; the way they differ, if they do.
pub fn differs(path: &Path, made: &str) -> Option<String> {
    let kept = std::fs::read_to_string(path).unwrap_or_default();
    if kept == made {
        return None;
    }
    let name = path.display();
    if updating() {
        std::fs::write(path, made).unwrap_or_else(|error| panic!("{name}: {error}"));
        return Some(format!("{name} was updated; read it, and run the tests again"));
    }
    let line = kept.lines().zip(made.lines()).take_while(|(kept, made)| kept == made).count();
    let at = |text: &str| text.lines().nth(line).unwrap_or("(nothing)").to_owned();
    Some(format!("{name}, line {}\n  kept: {}\n  made: {}", line + 1, at(&kept), at(made)))
}

/// Fails with every difference, and in an updating run whatever differs.
pub fn settle(differences: Vec<String>) {
    assert!(differences.is_empty(), "\n{}", differences.join("\n"));
    assert!(!updating(), "nothing differed; run the tests without LAIDWORK_UPDATE");
}
