//! Small drawings for the tests, 100 x 80 mm with one unit to the millimetre.
#![allow(dead_code, reason = "each test binary uses a part of it")]

use laidwork_drawing::{Drawing, Error, Options, Shape, read};
use laidwork_plan::Warned;

/// A drawing of 100 x 80 mm, one unit to the millimetre, with `inside` in it.
pub fn svg(inside: &str) -> String {
    svg_with(r#"width="100mm" height="80mm" viewBox="0 0 100 80""#, inside)
}

/// A drawing with a root of its own.
pub fn svg_with(root: &str, inside: &str) -> String {
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" {root}>{inside}</svg>"#
    )
}

/// Reads a text with the usual options.
pub fn try_read(text: &str) -> Result<Warned<Drawing>, Error> {
    read(text.as_bytes(), &Options::default())
}

/// Reads the drawing of [`svg`].
pub fn drawing(inside: &str) -> Warned<Drawing> {
    try_read(&svg(inside)).expect("a sound drawing")
}

/// Its shapes.
pub fn shapes(inside: &str) -> Vec<Shape> {
    drawing(inside).value.shapes
}

/// The area of its only shape, mm².
pub fn area(inside: &str) -> f64 {
    let shapes = shapes(inside);
    assert_eq!(shapes.len(), 1, "{shapes:?}");
    shapes.iter().map(|shape| shape.region.area()).sum()
}

/// The names of its shapes.
pub fn names(inside: &str) -> Vec<String> {
    shapes(inside).into_iter().map(|shape| shape.name).collect()
}

/// Its warnings as one text.
pub fn warnings(inside: &str) -> String {
    drawing(inside).warnings.iter().map(|warning| format!("{warning}\n")).collect()
}

/// Checks a figure within `within`.
pub fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() < within, "{found} instead of {expected}");
}
