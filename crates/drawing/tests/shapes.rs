//! Fills and strokes of small drawings against closed forms.

use laidwork_drawing::{Drawing, Options, Paint, read};
use std::f64::consts::PI;

fn drawing(inside: &str) -> Drawing {
    let svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">{inside}</svg>"#
    );
    read(svg.as_bytes(), &Options::default()).expect("a sound drawing").value
}

fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() < within, "{found} instead of {expected}");
}

#[test]
fn a_fill_has_the_area_of_its_outline() {
    let d = drawing(r#"<rect id="a" x="10" y="10" width="30" height="20"/><circle id="b" cx="70" cy="40" r="20"/>"#);
    assert_eq!(d.shapes.iter().map(|s| s.name.as_str()).collect::<Vec<_>>(), ["a", "b"]);
    near(d.shapes[0].region.area(), 600.0, 1e-3);
    near(d.shapes[1].region.area(), PI * 400.0, 0.01 * PI * 40.0);
    let bounds = d.shapes[0].region.bounds().expect("not empty");
    near(bounds.x0, -40.0, 1e-4);
    near(bounds.y0, -30.0, 1e-4);
}

#[test]
fn a_stroke_has_an_area_and_a_centre_line() {
    let d = drawing(r#"<line id="l" x1="10" y1="10" x2="60" y2="10" stroke="red" stroke-width="3"/>"#);
    let shape = &d.shapes[0];
    assert_eq!(shape.paint, Paint::Stroke);
    near(shape.region.area(), 150.0, 1e-3);
    let stroke = shape.stroke.as_ref().expect("a stroke");
    near(stroke.width, 3.0, 1e-5);
    assert_eq!(stroke.lines.len(), 1);
}
