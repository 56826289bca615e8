//! Text with the fonts the caller named.

mod common;

use common::{near, svg};
use laidwork_drawing::{Drawing, Error, Fonts, Options, read};
use laidwork_plan::Warned;
use std::path::PathBuf;

fn font() -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/fonts/Inconsolata.otf"))
}

fn with_font(inside: &str) -> Warned<Drawing> {
    let fonts = Fonts::load(&[font()]).expect("a font").value;
    read(svg(inside).as_bytes(), &Options { fonts, ..Options::default() }).expect("a sound drawing")
}

#[test]
fn text_becomes_outlines() {
    let d = with_font(r#"<text id="word" x="5" y="40" font-family="Inconsolata" font-size="20">Il</text>"#);
    assert!(d.warnings.is_empty(), "{:?}", d.warnings);
    assert_eq!(d.value.shapes.len(), 1);
    let shape = &d.value.shapes[0];
    assert_eq!((shape.name.as_str(), shape.region.polygons.len()), ("word", 2));
    // Every letter of this font is half an em wide.
    let bounds = shape.region.bounds().expect("not empty");
    assert!(bounds.x0 > 5.0 - 50.0 && bounds.x1 < 25.0 - 50.0 && bounds.y1 < 40.5 - 40.0, "{bounds:?}");
}

#[test]
fn spans_are_shapes_of_their_own() {
    let d =
        with_font(r#"<text x="5" y="40" font-family="Inconsolata" font-size="20">a<tspan fill="red">b</tspan></text>"#);
    assert_eq!(d.value.shapes.iter().map(|s| s.name.as_str()).collect::<Vec<_>>(), ["text-1", "text-1-2"]);
    assert_eq!(d.value.shapes[1].color.red, 255);
}

#[test]
fn text_follows_a_path() {
    let d = with_font(
        r##"<path id="up" d="M50 75 V5" fill="none"/><text font-family="Inconsolata" font-size="20"><textPath href="#up">abc</textPath></text>"##,
    );
    let bounds = d.value.shapes[0].region.bounds().expect("not empty");
    assert!(bounds.height() > 1.5 * bounds.width(), "{bounds:?}");
}

#[test]
fn another_font_and_missing_letters_are_said() {
    let d = with_font(r#"<text x="5" y="40" font-family="Nowhere Sans" font-size="20">a水</text>"#);
    let said: String = d.warnings.iter().map(ToString::to_string).collect();
    assert!(said.contains("Nowhere Sans") && said.contains("Inconsolata") && said.contains('水'), "{said}");
    assert!(!d.value.shapes.is_empty());
    let incomplete: Vec<bool> = d.warnings.iter().map(|warning| warning.incomplete).collect();
    assert_eq!(incomplete, [false, true], "another font draws the text, a missing letter is lost");
    let generic = with_font(r#"<text x="5" y="40" font-family="Inconsolata, sans-serif" font-size="20">a</text>"#);
    assert!(generic.warnings.is_empty());
}

#[test]
fn missing_letters_are_said_beside_any_number_of_missing_fonts() {
    let texts: String = (0..30).map(|i| format!(r#"<text y="40" font-family="Nowhere {i}">a</text>"#)).collect();
    let d = with_font(&format!(r#"{texts}<text y="40" font-family="Inconsolata">水</text>"#));
    assert!(d.warnings.last().is_some_and(|last| last.incomplete && last.what.contains('水')), "{:?}", d.warnings);
}

#[test]
fn characters_that_nobody_sees_are_not_missed() {
    for unseen in ['\u{ad}', '\u{200b}', '\u{200d}', '\u{200e}', '\u{2060}', '\u{fe0f}', '\u{feff}'] {
        let d = with_font(&format!(r#"<text x="5" y="40" font-family="Inconsolata" font-size="20">a{unseen}b</text>"#));
        assert_eq!(d.warnings, [], "{unseen:?}");
    }
}

#[test]
fn without_fonts_text_vanishes_with_a_warning() {
    let d = read(svg("<text y='40'>Hello &amp; so on</text>").as_bytes(), &Options::default()).expect("sound");
    assert!(d.value.shapes.is_empty());
    let said = d.warnings[0].to_string();
    assert!(said.contains("Hello & so on") && said.contains("--font"), "{said}");
}

#[test]
fn fonts_load_from_files_folders_and_bytes() {
    let folder = font().parent().expect("a folder").to_path_buf();
    let bytes = std::fs::read(font()).expect("a font");
    for fonts in [Fonts::load(&[folder]).expect("a font").value, Fonts::from_bytes(vec![b"no font".to_vec(), bytes])] {
        let inside = r#"<text y="40" font-family="Inconsolata" font-size="20">o</text>"#;
        let d = read(svg(inside).as_bytes(), &Options { fonts, ..Options::default() }).expect("sound");
        near(d.value.shapes[0].region.polygons[0].holes.len() as f64, 1.0, 1e-9);
    }
}

#[test]
fn what_is_no_font_is_refused_by_name() {
    for path in [
        "no/such/font.ttf",
        concat!(env!("CARGO_MANIFEST_DIR"), "/Cargo.toml"),
        concat!(env!("CARGO_MANIFEST_DIR"), "/src"),
    ] {
        let error = Fonts::load(&[PathBuf::from(path)]).expect_err("no font");
        assert!(matches!(error, Error::Font { .. }) && error.to_string().chars().count() < 300, "{error}");
    }
}

#[test]
fn a_text_that_is_cut_at_the_viewport_is_said() {
    let text =
        |x: u32| format!(r#"<text id="word" x="{x}" y="40" font-family="Inconsolata" font-size="20">abcdefgh</text>"#);
    assert_eq!(with_font(&text(10)).warnings, []);
    let said = with_font(&text(40)).warnings;
    assert!(said.len() == 1 && said[0].to_string().contains("cut off"), "{said:?}");
    assert_eq!(said[0].place.as_deref(), Some("word"));
}
