//! The same input gives the same bytes on every thread count, in every build, and from one change to the next.
//!
//! `fixtures/lists.sha256` holds the hash of every list, as `sha256sum` writes it; `.ci/run` holds the optimised command
//! to the same file. A change that means to alter stitches writes it anew with `LAIDWORK_UPDATE=1`.

use laidwork_engine::{Recipe, sew};
use laidwork_list::{WriteOptions, to_text};
use rayon::{ThreadPool, ThreadPoolBuilder};
use sha2::{Digest, Sha256};
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

/// The width that drawings without a recipe are sewn at, mm.
const WIDTH: f64 = 90.0;

fn fixtures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures")
}

/// A design of the fixtures: its name below the fixtures, its drawing and its recipe.
struct Design {
    name: String,
    drawing: PathBuf,
    width: Option<f64>,
    recipe: Recipe,
}

fn designs() -> Vec<Design> {
    let mut names: Vec<String> = ["corpus", "drawings"]
        .iter()
        .flat_map(|folder| fs::read_dir(fixtures().join(folder)).unwrap().map(move |entry| (folder, entry.unwrap())))
        .map(|(folder, entry)| format!("{folder}/{}", entry.file_name().to_string_lossy()))
        .filter(|name| name.ends_with(".svg"))
        .collect();
    names.sort();
    assert!(names.len() >= 20, "only {} drawings were found", names.len());
    let plain = |name: String| {
        let drawing = fixtures().join(&name);
        Design { name, drawing, width: Some(WIDTH), recipe: Recipe::default() }
    };
    let mut designs: Vec<Design> = names.into_iter().map(plain).collect();
    let name = "recipes/garden-patch.toml";
    let text = fs::read_to_string(fixtures().join(name)).unwrap();
    let recipe = laidwork_recipe::parse(&text, name).unwrap().value;
    let drawing = fixtures().join("drawings/garden-patch.svg");
    designs.push(Design { name: name.into(), drawing, width: recipe.design.width, recipe });
    designs
}

/// The stitch list of a design, sewn by a number of threads.
fn list(design: &Design, threads: &ThreadPool) -> String {
    let bytes = fs::read(&design.drawing).unwrap();
    threads.install(|| {
        let options = laidwork_drawing::Options { width: design.width, ..Default::default() };
        let drawing = laidwork_drawing::read(&bytes, &options).unwrap().value;
        to_text(&sew(&drawing, &design.recipe).unwrap().value.plan, WriteOptions::default()).unwrap()
    })
}

fn pool(threads: usize) -> ThreadPool {
    ThreadPoolBuilder::new().num_threads(threads).build().unwrap()
}

/// Whether the hashes kept hold here: sines and cosines come from the platform, and their last bit with them.
fn is_where_hashes_hold() -> bool {
    #[cfg(all(target_os = "linux", target_env = "gnu", target_arch = "x86_64"))]
    return std::is_x86_feature_detected!("fma");
    #[cfg(not(all(target_os = "linux", target_env = "gnu", target_arch = "x86_64")))]
    return false;
}

#[test]
fn every_list_is_the_same_with_one_two_and_eight_threads_and_as_it_was() {
    let (one, others) = (pool(1), [pool(2), pool(8)]);
    let mut found = String::new();
    for design in designs() {
        let text = list(&design, &one);
        for threads in &others {
            let count = threads.current_num_threads();
            assert!(list(&design, threads) == text, "{} differs with {count} threads", design.name);
        }
        let hash: String = Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect();
        writeln!(found, "{hash}  {}", design.name).unwrap();
    }
    let kept = fixtures().join("lists.sha256");
    if std::env::var_os("LAIDWORK_UPDATE").is_some() {
        fs::write(kept, found).unwrap();
        panic!("lists.sha256 was written; run again without LAIDWORK_UPDATE");
    }
    let wanted = fs::read_to_string(kept).unwrap();
    if !is_where_hashes_hold() {
        eprintln!("not held to lists.sha256, which is of Linux, glibc and x86-64 with fused multiplication");
        return;
    }
    let differ: Vec<&str> = found.lines().filter(|line| !wanted.lines().any(|kept| kept == *line)).collect();
    assert!(differ.is_empty(), "sewn otherwise than before, LAIDWORK_UPDATE=1 keeps it:\n{}", differ.join("\n"));
    assert_eq!(found.lines().count(), wanted.lines().count(), "lists.sha256 names designs that are gone");
}
