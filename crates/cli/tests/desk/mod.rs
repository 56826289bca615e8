//! A folder of its own for a test, and the command run in it.

#![allow(dead_code, reason = "each test file uses a part of it")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A folder of its own for each test, and the command run in it.
pub struct Desk {
    folder: tempfile::TempDir,
}

/// A drawing of one leaf.
pub const LEAF: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">
  <circle id="leaf" cx="10" cy="10" r="8" fill="#4f8a3c"/>
</svg>"##;

impl Desk {
    /// An empty one.
    pub fn new() -> Desk {
        Desk { folder: tempfile::tempdir().unwrap() }
    }

    /// The command with `args`, to be run here.
    pub fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_laidwork"));
        command.args(args).current_dir(self.folder.path());
        command
    }

    /// What the command gives.
    pub fn run(&self, args: &[&str]) -> Output {
        self.command(args).output().unwrap()
    }

    /// Writes a file.
    pub fn put(&self, name: &str, text: &str) {
        fs::write(self.folder.path().join(name), text).unwrap();
    }

    /// The names of all files, hidden ones too.
    pub fn files(&self) -> Vec<String> {
        let mut names: Vec<_> = fs::read_dir(self.folder.path())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    /// Where a file lies.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }
}

/// The exit code.
pub fn code(output: &Output) -> i32 {
    output.status.code().expect("the command was killed")
}

/// What was said on standard error.
pub fn errors(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// The path of a fixture.
pub fn fixture(path: &str) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures");
    root.join(path).to_str().unwrap().to_owned()
}
