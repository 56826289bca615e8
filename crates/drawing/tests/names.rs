//! What shapes are called.

mod common;

use common::{drawing, names, svg_with, try_read};

#[test]
fn a_name_is_the_ids_on_the_way() {
    let inside = r#"<g id="flower"><g><rect id="petal-1" width="9" height="9"/></g><a id="link"><circle r="5"/></a></g><path id="stem" d="M0 0H9V9z"/>"#;
    assert_eq!(names(inside), ["flower/petal-1", "flower/link/circle-1", "stem"]);
}

#[test]
fn nameless_shapes_are_counted_by_kind() {
    let inside = r#"<rect width="9" height="9"/><defs><rect width="9" height="9"/></defs><path d="M0 0H9V9z"/><rect width="9" height="9"/><polygon points="0,0 9,0 9,9"/>"#;
    assert_eq!(names(inside), ["rect-1", "path-1", "rect-3", "polygon-1"]);
}

#[test]
fn what_is_used_is_called_by_what_it_is() {
    let inside = r##"<defs><rect id="leaf" width="9" height="9"/><g id="pair"><rect width="9" height="9"/><rect x="20" width="9" height="9"/></g></defs>
        <use href="#leaf"/><use href="#leaf" x="30"/><use id="mine" href="#leaf"/><use href="#pair"/>"##;
    assert_eq!(names(inside), ["leaf", "leaf-2", "mine", "pair/path-1", "pair/path-2"]);
}

#[test]
fn names_that_occur_again_are_numbered() {
    let inside = r#"<rect id="a" width="9" height="9"/><rect id="a" width="9" height="9"/><rect id="a-2" width="9" height="9"/>"#;
    assert_eq!(names(inside), ["a", "a-2", "a-2-2"]);
}

#[test]
fn a_double_id_means_the_first() {
    let inside = r##"<clipPath id="c"><rect width="5" height="5"/></clipPath><clipPath id="c"><rect width="50" height="50"/></clipPath>
        <rect width="40" height="40" clip-path="url(#c)"/>"##;
    assert!((common::area(inside) - 25.0).abs() < 1e-3);
}

#[test]
fn names_are_one_clean_line_of_a_readable_length() {
    let long = "x".repeat(250_000);
    let d = drawing(&format!(
        "<rect id=\"a&#10;&#x202e;b\" width=\"9\" height=\"9\"/><rect id=\"{long}\" width=\"9\" height=\"NaN\"/><rect id=\" \" width=\"9\" height=\"9\"/>"
    ));
    let names: Vec<_> = d.value.shapes.iter().map(|s| s.name.as_str()).collect();
    assert_eq!(names, ["a b", "rect-3"]);
    assert!(d.warnings.iter().all(|warning| warning.to_string().chars().count() < 200));
}

#[test]
fn ids_in_style_sheets_still_match() {
    let inside = r#"<style>#b{fill:none}</style><rect width="9" height="9"/><rect id="b" width="9" height="9"/>"#;
    assert_eq!(names(inside), ["rect-1"]);
}

#[test]
fn the_title_is_the_roots_own() {
    let root = r#"width="9mm" height="9mm" viewBox="0 0 9 9""#;
    let title = |inside: &str| try_read(&svg_with(root, inside)).expect("sound").value.title;
    assert_eq!(title("<g><title>no</title></g><title>Allotment\n patch</title>").as_deref(), Some("Allotment patch"));
    assert_eq!(title("<title> </title>"), None);
}

#[test]
fn entities_and_namespaces_of_drawing_programs_do_no_harm() {
    let text = r#"<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd" [
        <!ENTITY ns_svg "http://www.w3.org/2000/svg"> <!ENTITY box '<rect width="9" height="9"/>'> <!ENTITY red "fill:red">]>
        <svg:svg xmlns:svg="&ns_svg;" xmlns:x="urn:x" width="9mm" height="9mm" viewBox="0 0 9 9"><x:g><x:rect/></x:g><svg:g id="a" x:label="b" style="&red;"><svg:rect width="5" height="5"/></svg:g></svg:svg>"#;
    let d = try_read(text).expect("sound").value;
    assert_eq!(d.shapes.iter().map(|s| (s.name.as_str(), s.color.red)).collect::<Vec<_>>(), [("a/rect-1", 255)]);
}
