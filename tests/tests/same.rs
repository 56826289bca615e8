//! The same input gives the same bytes on every thread count, and in every build.
//!
//! With `LAIDWORK_HASHES=FILE` the hash of every list is written there, as `sha256sum` writes it; `.ci/run` holds the
//! optimised command to them.

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

#[test]
fn one_two_and_eight_threads_give_the_same_bytes() {
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
    if let Some(path) = std::env::var_os("LAIDWORK_HASHES") {
        fs::write(path, found).unwrap();
    }
}
