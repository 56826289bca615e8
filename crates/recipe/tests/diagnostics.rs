//! What is told of wrong recipes: every fault of the file at once, each with
//! its line, its column, the bytes concerned and the way out.

mod golden;

use laidwork_recipe::{Diagnostics, parse};
use std::fmt::Write;

/// Every fault on two lines: the place and the bytes, then what is wrong.
fn told(wrong: &Diagnostics) -> String {
    let mut text = String::new();
    for error in &wrong.errors {
        let bytes = wrong.text.get(error.span.clone()).expect("a span on character boundaries");
        writeln!(text, "{}:{} {bytes:?}\n    {}; {}", error.line, error.column, error.message, error.advice).unwrap();
    }
    text
}

#[test]
fn every_wrong_recipe_is_told_as_before() {
    let folder = golden::root("crates/recipe/tests/wrong");
    let mut recipes: Vec<_> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "toml"))
        .collect();
    recipes.sort();
    assert!(recipes.len() >= 8, "{} recipes in {}", recipes.len(), folder.display());
    let mut differences = Vec::new();
    for path in recipes {
        let text = std::fs::read_to_string(&path).unwrap();
        let wrong = parse(&text, "recipe.toml").expect_err("a wrong recipe");
        differences.extend(golden::differs(&path.with_extension("txt"), &told(&wrong)));
    }
    golden::settle(differences);
}

#[test]
fn lines_and_columns_point_at_the_bytes() {
    let text = "[[rule]]\nmatch = \"blüte\"\nborder = { width = 2.0, join = \"rund\" }\n";
    let wrong = parse(text, "recipe.toml").unwrap_err();
    assert_eq!(wrong.errors.len(), 1);
    let error = &wrong.errors[0];
    assert_eq!((error.line, error.column, &text[error.span.clone()]), (3, 32, "\"rund\""));
    let shown = "recipe.toml:3:32: `join` cannot be \"rund\"; did you mean \"round\"?";
    assert_eq!(wrong.to_string(), shown);
}
