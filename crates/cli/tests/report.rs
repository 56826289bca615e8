//! `laidwork report` as a user meets it.

mod desk;

use desk::{Desk, LEAF, code};
use std::process::Output;

fn printed(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// Two beds that touch.
const BEDS: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" viewBox="0 0 40 20">
  <rect id="peas" x="5" y="4" width="15" height="12" fill="#4f8a3c"/>
  <rect id="kale" x="20" y="4" width="15" height="12" fill="#2d5a33"/>
</svg>"##;

const BARE: &str = "[design]\nmaterial = \"jersey\"\n\n[[rule]]\nmethod = \"fill\"\nangle = 0.0\n";

fn predicted(desk: &Desk, recipe: &str) -> serde_json::Value {
    desk.put("beds.svg", BEDS);
    desk.put("beds.toml", recipe);
    let output = desk.run(&["report", "beds.svg", "-r", "beds.toml", "--sewn", "--json"]);
    assert_eq!(code(&output), 0, "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_str(&printed(&output)).unwrap()
}

#[test]
fn the_figures_are_those_of_sew() {
    let desk = Desk::new();
    desk.put("leaf.svg", LEAF);
    let (report, sewn) = (desk.run(&["report", "leaf.svg"]), desk.run(&["sew", "leaf.svg", "-o", "leaf.stitches"]));
    assert_eq!(code(&report), 0);
    assert_eq!(printed(&report), printed(&sewn));
    assert_eq!(desk.files(), ["leaf.stitches", "leaf.svg"], "a report writes nothing");
}

#[test]
fn beds_that_touch_come_apart_unless_they_are_compensated() {
    let desk = Desk::new();
    let bare = predicted(&desk, &format!("{BARE}pull_compensation = 0.0\n"));
    assert!(bare["note"].as_str().unwrap().contains("model"));
    assert_eq!(bare["gaps"][0]["between"], serde_json::json!(["kale", "peas"]));
    assert!(bare["gaps"][0]["width"].as_f64().unwrap() > 0.2, "{bare}");
    for piece in bare["pieces"].as_array().unwrap() {
        // The peas' right edge follows the kale's, their left one does not: half of 0.35 mm and a little.
        assert!(piece["edge_off"].as_f64().unwrap() < -0.15, "{piece}");
    }
    let advised: String = bare["pieces"].as_array().unwrap().iter().fold(BARE.to_owned(), |recipe, piece| {
        format!("{recipe}\n[[rule]]\nmatch = {}\npull_compensation = {}\n", piece["shape"], piece["advice"])
    });
    let after = predicted(&desk, &advised);
    assert!(after["gaps"].as_array().unwrap().is_empty(), "{after}");
    for piece in after["pieces"].as_array().unwrap() {
        assert!(piece["edge_off"].as_f64().unwrap().abs() < 0.03, "{piece}");
    }
}

#[test]
fn pictures_are_written_and_other_kinds_refused() {
    let desk = Desk::new();
    desk.put("leaf.svg", LEAF);
    let done = desk.run(&["report", "leaf.svg", "--sewn", "-o", "p.svg", "-o", "p.png"]);
    assert_eq!(code(&done), 0);
    assert!(printed(&done).contains("to cancel it") && printed(&done).contains("model"));
    assert!(std::fs::read_to_string(desk.path("p.svg")).unwrap().contains("a model, not a measurement"));
    assert!(std::fs::read(desk.path("p.png")).unwrap().starts_with(b"\x89PNG"));
    for args in [
        &["report", "leaf.svg", "--sewn", "-o", "p.stitches"][..],
        &["report", "leaf.svg", "-o", "q.svg"],
        &["report", "leaf.svg", "--sewn", "-o", "leaf.svg"],
        &["report"],
    ] {
        assert_eq!(code(&desk.run(args)), 2, "{args:?}");
    }
    assert_eq!(code(&desk.run(&["report", "--sewn", "--schema"])), 0);
}

/// The numbers of a line, in order.
fn numbers(line: &str) -> Vec<f64> {
    line.split_whitespace().filter_map(|word| word.trim_end_matches(':').parse().ok()).collect()
}

#[test]
fn the_page_shows_what_its_example_gives() {
    let page = include_str!("../../../docs/predict.md");
    let desk = Desk::new();
    let recipe = std::fs::read_to_string(desk::fixture("recipes/garden-patch.toml")).unwrap();
    let recipe = recipe.replace("material = \"canvas\"", "material = \"fleece\"");
    desk.put("patch.toml", &format!("{recipe}\n[defaults]\npull_compensation = 0.1\n"));
    let output = desk.run(&["report", &desk::fixture("drawings/garden-patch.svg"), "-r", "patch.toml", "--sewn"]);
    let told = printed(&output);
    let shown = page.lines().skip_while(|line| !line.contains("Once sewn")).take_while(|line| !line.is_empty());
    let mut compared = 0;
    for line in shown.map(|line| line.strip_prefix("    ").unwrap_or(line)).filter(|line| !line.contains('…')) {
        // The numbers of a line follow the stitches and may be off a little, its words may not.
        let words = |line: &str| -> Vec<String> {
            let is_word = |word: &&str| word.trim_end_matches(':').parse::<f64>().is_err();
            line.split_whitespace().filter(is_word).map(str::to_owned).collect()
        };
        let found = told.lines().find(|told| words(told) == words(line));
        let found = found.unwrap_or_else(|| panic!("docs/predict.md shows {line:?}, which is not in\n{told}"));
        let near = numbers(found)
            .iter()
            .zip(numbers(line))
            .all(|(found, shown)| (found - shown).abs() <= 0.1 + shown.abs() / 5.0);
        assert!(near, "docs/predict.md shows {line:?}, and it is {found:?}");
        compared += 1;
    }
    assert!(compared >= 7, "{compared} lines");
}
