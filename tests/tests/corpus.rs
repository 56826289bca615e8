//! Public drawings, sewn by every method: every plan is sound and complete.

use laidwork_engine::{Recipe, sew};
use laidwork_list::{WriteOptions, read, to_text};
use std::fs;
use std::path::{Path, PathBuf};

fn drawings() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures");
    let mut files: Vec<PathBuf> = ["corpus", "drawings"]
        .iter()
        .flat_map(|folder| fs::read_dir(root.join(folder)).unwrap())
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "svg"))
        .collect();
    files.sort();
    assert!(files.len() >= 15, "the corpus holds only {} drawings", files.len());
    files
}

/// The stitch list of a drawing sewn 90 mm wide; every promise checked.
fn list_of(path: &Path, recipe: &Recipe) -> String {
    let name = path.file_name().unwrap().to_string_lossy();
    let options = laidwork_drawing::Options { width: Some(90.0), ..Default::default() };
    let drawing = laidwork_drawing::read(&fs::read(path).unwrap(), &options).unwrap().value;
    let plan = sew(&drawing, recipe).unwrap().value.plan;
    assert_eq!(plan.sanity_check(), [], "{name}");
    let mut floats = 0;
    plan.for_each_segment(|segment| floats += usize::from(segment.float && segment.length() > 2.0));
    assert_eq!(floats, 0, "{name}");
    let text = to_text(&plan, WriteOptions::default()).unwrap();
    assert_eq!(read(text.as_bytes()).unwrap(), plan, "{name}");
    text
}

fn recipe(method: &str) -> Recipe {
    laidwork_recipe::parse(&format!("[[rule]]\nmethod = \"{method}\"\n"), "recipe").unwrap().value
}

#[test]
fn every_drawing_is_sewn_by_its_widths() {
    for path in drawings() {
        list_of(&path, &Recipe::default());
    }
}

#[test]
fn every_drawing_is_sewn_as_rows() {
    let recipe = recipe("fill");
    for path in drawings() {
        list_of(&path, &recipe);
    }
}

#[test]
fn every_drawing_is_sewn_as_columns() {
    let recipe = recipe("satin");
    for path in drawings() {
        list_of(&path, &recipe);
    }
}

#[test]
fn every_drawing_is_sewn_as_runs() {
    let recipe = recipe("run");
    for path in drawings() {
        list_of(&path, &recipe);
    }
}
