//! Fills and strokes of small drawings against closed forms.

mod common;

use common::{area, drawing, near, shapes, warnings};
use laidwork_drawing::{Cap, Join, Paint};
use std::f64::consts::{PI, SQRT_2};

/// A flattened circle of radius `r` may lack a strip of the tolerance along it.
fn about_circle(found: f64, expected: f64, r: f64) {
    near(found, expected, 0.01 * 2.0 * PI * r);
}

#[test]
fn a_fill_has_the_area_and_place_of_its_outline() {
    let d = shapes(r#"<rect id="a" x="10" y="10" width="30" height="20"/><circle id="b" cx="70" cy="40" r="20"/>"#);
    near(d[0].region.area(), 600.0, 1e-3);
    about_circle(d[1].region.area(), PI * 400.0, 20.0);
    let bounds = d[0].region.bounds().expect("not empty");
    near(bounds.x0, -40.0, 1e-4);
    near(bounds.y0, -30.0, 1e-4);
    assert!(d.iter().all(|shape| shape.paint == Paint::Fill && shape.stroke.is_none()));
}

#[test]
fn fill_rules() {
    let star = "M50 5 L73 77 L12 32 H88 L27 77 Z";
    let nonzero = area(&format!(r#"<path d="{star}"/>"#));
    let evenodd = area(&format!(r#"<path fill-rule="evenodd" d="{star}"/>"#));
    // The pentagon in the middle is wound twice.
    assert!(nonzero > evenodd + 300.0);
    near(area(r#"<path d="M10 10h30v30h-30z M20 20h10v10h-10z"/>"#), 900.0, 1e-3);
    near(area(r#"<path fill-rule="evenodd" d="M10 10h30v30h-30z M20 20h10v10h-10z"/>"#), 800.0, 1e-3);
    near(area(r#"<path d="M10 10h30v30h-30z M20 20v10h10v-10z"/>"#), 800.0, 1e-3);
}

#[test]
fn transforms_carry_areas_by_their_determinant() {
    near(
        area(r#"<g transform="scale(2 .5) rotate(30) skewX(20)"><rect x="30" y="0" width="9" height="8"/></g>"#),
        72.0,
        1e-3,
    );
    near(area(r#"<rect width="10" height="10" transform="matrix(-1 0 0 3 60 5)"/>"#), 300.0, 1e-3);
}

#[test]
fn a_stroke_has_an_area_and_a_centre_line() {
    let d = shapes(
        r#"<line x1="10" y1="10" x2="60" y2="10" stroke="red" stroke-width="3" stroke-linecap="square" stroke-linejoin="bevel"/>"#,
    );
    assert_eq!((d.len(), d[0].paint), (1, Paint::Stroke));
    near(d[0].region.area(), 159.0, 1e-3);
    let stroke = d[0].stroke.as_ref().expect("a stroke");
    near(stroke.width, 3.0, 1e-5);
    assert_eq!((stroke.cap, stroke.join, stroke.lines.len()), (Cap::Square, Join::Bevel, 1));
    near(stroke.lines[0].length(), 50.0, 1e-3);
}

#[test]
fn caps_joins_and_the_mitre_limit() {
    let bent =
        |style: &str| area(&format!(r#"<path d="M10 10H50V50" fill="none" stroke="red" stroke-width="4" {style}/>"#));
    let both = 160.0 + 160.0 - 4.0;
    near(bent(""), both + 4.0, 1e-2);
    near(bent(r#"stroke-miterlimit="1.4""#), both + 2.0, 1e-2);
    near(bent(r#"stroke-linejoin="bevel""#), both + 2.0, 1e-2);
    near(bent(r#"stroke-linejoin="round""#), both + PI, 0.03);
    near(bent(r#"stroke-linecap="round""#), both + 4.0 + 4.0 * PI, 0.2);
    near(bent(r#"stroke-linecap="square""#), both + 4.0 + 16.0, 1e-2);
}

#[test]
fn an_uneven_scale_bends_the_pen() {
    // Scaled by 3 along x and 1/2 along y a horizontal bar is half as thick, a vertical one three times.
    let bar = |d: &str| {
        area(&format!(r#"<g transform="scale(3 .5)"><path d="{d}" fill="none" stroke="red" stroke-width="2"/></g>"#))
    };
    near(bar("M5 40 H25"), 60.0 * 1.0, 1e-3);
    near(bar("M10 20 V120"), 50.0 * 6.0, 1e-3);
    let d = shapes(r#"<g transform="scale(3 .5)"><path d="M5 40 H25" stroke="red" stroke-width="2"/></g>"#);
    near(d[0].stroke.as_ref().expect("a stroke").width, 2.0 * 1.5f64.sqrt(), 1e-5);
}

#[test]
fn dashes_come_before_caps() {
    let dashed = |style: &str| {
        let inside = format!(
            r#"<path d="M10 10H60" fill="none" stroke="red" stroke-width="2" stroke-dasharray="6 4" {style}/>"#
        );
        let shape = shapes(&inside).remove(0);
        (shape.region.area(), shape.stroke.expect("a stroke").lines.len())
    };
    let (plain, count) = dashed("");
    near(plain, 5.0 * 12.0, 1e-3);
    assert_eq!(count, 5);
    near(dashed(r#"stroke-linecap="round""#).0, 5.0 * (12.0 + PI), 0.3);
    near(dashed(r#"stroke-dashoffset="3""#).0, 60.0, 1e-3);
    // An odd pattern is taken twice: 5 on, 3 off, 2 on, 5 off, 3 on, 2 off.
    let odd = area(r#"<path d="M10 10H50" fill="none" stroke="red" stroke-width="2" stroke-dasharray="5 3 2"/>"#);
    near(odd, 2.0 * 20.0, 1e-3);
}

#[test]
fn dots_are_dashes_of_no_length() {
    let dots = area(
        r#"<path d="M10 10H48" fill="none" stroke="red" stroke-width="4" stroke-linecap="round" stroke-dasharray="0 10"/>"#,
    );
    near(dots, 4.0 * 4.0 * PI, 0.5);
    near(area(r#"<path d="M10 10h0" stroke="red" stroke-width="4" stroke-linecap="square"/>"#), 16.0, 1e-2);
}

#[test]
fn a_stroke_wider_than_its_circle_fills_the_middle() {
    about_circle(area(r#"<circle cx="40" cy="40" r="3" fill="none" stroke="red" stroke-width="10"/>"#), PI * 64.0, 8.0);
}

#[test]
fn a_cap_is_square_to_the_curve_and_not_to_its_chord() {
    // A quarter ring of radii 19 and 21: its ends lie on the axes.
    let d = shapes(r#"<path d="M30 10 A20 20 0 0 1 10 30" fill="none" stroke="red" stroke-width="2"/>"#);
    let bounds = d[0].region.bounds().expect("not empty");
    near(bounds.y0, 10.0 - 40.0, 2e-3);
    near(bounds.x0, 10.0 - 50.0, 2e-3);
    about_circle(d[0].region.area(), PI / 4.0 * (21.0f64.powi(2) - 19.0f64.powi(2)), 20.0);
}

#[test]
fn fill_and_stroke_are_two_shapes_in_paint_order() {
    let d = shapes(r#"<rect id="a" x="20" y="20" width="20" height="10" stroke="red" stroke-width="2"/>"#);
    let seen: Vec<_> = d.iter().map(|shape| (shape.name.as_str(), shape.paint)).collect();
    assert_eq!(seen, [("a", Paint::Fill), ("a/outline", Paint::Stroke)]);
    near(d[1].region.area(), 22.0 * 12.0 - 18.0 * 8.0, 1e-3);
    let d = shapes(r#"<rect id="a" x="20" y="20" width="20" height="10" stroke="red" paint-order="stroke"/>"#);
    assert_eq!(d.iter().map(|shape| shape.name.as_str()).collect::<Vec<_>>(), ["a/outline", "a"]);
}

#[test]
fn what_reaches_out_of_the_viewport_is_cut() {
    near(area(r#"<circle cx="0" cy="0" r="40"/>"#), PI * 400.0, 0.7);
    near(area(r#"<path d="M-1e9 40 H1e9" stroke="red" stroke-width="6"/>"#), 600.0, 0.1);
    let d = shapes(r#"<path d="M-50 40 H150" stroke="red" stroke-width="6"/>"#);
    near(d[0].stroke.as_ref().expect("a stroke").lines[0].length(), 100.02, 1e-3);
    assert!(warnings(r#"<rect x="200" width="9" height="9"/>"#).contains("outside"));
}

#[test]
fn markers_are_drawn() {
    let marked = r#"<marker id="m" markerUnits="userSpaceOnUse" markerWidth="4" markerHeight="4" refX="2" refY="2"><rect width="4" height="4"/></marker>
        <path d="M20 20 H60 V60" fill="none" stroke="red" marker-start="url(#m)" marker-mid="url(#m)" marker-end="url(#m)"/>"#;
    let areas: Vec<f64> = shapes(marked).iter().filter(|s| s.paint == Paint::Fill).map(|s| s.region.area()).collect();
    assert_eq!(areas.len(), 3);
    areas.iter().for_each(|found| near(*found, 16.0, 1e-3));
}

#[test]
fn a_nested_viewport_scales_and_clips() {
    near(
        area(
            r#"<svg x="10" y="10" width="20" height="20" viewBox="0 0 10 10"><rect x="5" width="10" height="10"/></svg>"#,
        ),
        200.0,
        1e-3,
    );
    near(
        area(
            r##"<symbol id="s" viewBox="0 0 10 10"><path d="M0 0H10V10z"/></symbol><use href="#s" width="30" height="30"/>"##,
        ),
        450.0,
        1e-3,
    );
}

#[test]
fn one_line_tells_of_all_specks() {
    let specks: String = (0..500).map(|i| format!("M{} {}h.2v.2h-.2z", i % 50, i / 50)).collect();
    let d = drawing(&format!(r#"<path d="{specks}"/><rect width="9" height="9"/>"#));
    assert_eq!((d.value.shapes.len(), d.warnings.len()), (1, 1));
    assert!(d.warnings[0].to_string().contains("499 more"));
}

#[test]
fn a_diagonal_bar_is_as_long_as_it_is() {
    near(area(r#"<path d="M10 10 L50 50" stroke="red" stroke-width="2"/>"#), 80.0 * SQRT_2, 1e-3);
}
