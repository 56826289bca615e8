//! A sample of public icon sets, sewn in every way; `docs/corpora.md` tells of the whole sets.

use laidwork_tests::trial::{Outcome, recipes, try_one};
use rayon::prelude::*;
use std::fs;
use std::path::{Path, PathBuf};

#[test]
fn three_hundred_icons_are_sewn_in_every_way() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/sample");
    let mut files: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|file| file.extension().is_some_and(|ending| ending == "svg"));
    files.sort();
    assert_eq!(files.len(), 300);
    let recipes = recipes();
    let faults: Vec<String> = files
        .par_iter()
        .flat_map_iter(|file| {
            let svg = fs::read(file).unwrap();
            let tried = recipes.iter().map(move |(way, recipe)| (way, try_one(&svg, recipe)));
            tried
                .filter(|(_, outcome)| !matches!(outcome, Outcome::Sound { .. }))
                .map(|(way, outcome)| format!("{}, {way}: {outcome:?}", file.display()))
                .collect::<Vec<_>>()
        })
        .collect();
    assert!(faults.is_empty(), "{faults:#?}");
}
