//! How large a drawing is sewn.

mod common;

use common::{near, svg_with, try_read};
use laidwork_drawing::{Drawing, Error, Options, read};
use laidwork_plan::Warned;

const SQUARE: &str = r#"<rect width="50" height="50"/>"#;

fn sized(root: &str, width: Option<f64>, height: Option<f64>) -> Result<Warned<Drawing>, Error> {
    read(svg_with(root, SQUARE).as_bytes(), &Options { width, height, ..Options::default() })
}

fn size(root: &str) -> (f64, f64) {
    let rect = sized(root, None, None).expect("a size").value.rect;
    near(rect.x0 + rect.x1, 0.0, 1e-9);
    near(rect.y0 + rect.y1, 0.0, 1e-9);
    (rect.width(), rect.height())
}

#[test]
fn units_of_length_are_physical() {
    for (root, width) in [
        (r#"width="30mm" height="30mm""#, 30.0),
        (r#"width="3cm" height="3cm""#, 30.0),
        (r#"width="1in" height="1in""#, 25.4),
        (r#"width="72pt" height="72pt""#, 25.4),
        (r#"width="6pc" height="6pc""#, 25.4),
        (r#"width="120Q" height="120Q""#, 30.0),
    ] {
        near(size(root).0, width, 1e-9);
        assert!(sized(root, None, None).expect("a size").warnings.is_empty(), "{root}");
    }
}

#[test]
fn px_are_a_guess_and_say_so() {
    for root in [
        r#"width="96" height="48""#,
        r#"width="96px" height="48px""#,
        r#"viewBox="0 0 96 48""#,
        r#"width="100%" height="50%" viewBox="0 0 96 48""#,
    ] {
        let (width, height) = size(root);
        near(width, 25.4, 1e-9);
        near(height, 12.7, 1e-9);
        let warnings = sized(root, None, None).expect("a size").warnings;
        assert!(warnings[0].to_string().contains("96 px an inch") && warnings[0].to_string().contains("--width"));
        assert!(sized(root, Some(20.0), None).expect("a size").warnings.is_empty());
    }
}

#[test]
fn a_missing_side_follows_the_view_box() {
    near(size(r#"width="60mm" viewBox="0 0 100 50""#).1, 30.0, 1e-9);
    near(size(r#"height="60mm" viewBox="0 0 100 50""#).0, 120.0, 1e-9);
    near(size(r#"width="60mm" height="auto" viewBox="0 0 100 50""#).1, 30.0, 1e-9);
}

#[test]
fn without_any_size_the_content_tells_it() {
    let d = try_read(&svg_with("", r#"<rect x="30" y="10" width="96" height="48"/>"#)).expect("a size");
    near(d.value.rect.width(), 25.4, 1e-6);
    near(d.value.shapes[0].region.area(), 25.4 * 12.7, 1e-3);
    assert!(matches!(try_read(&svg_with("", "")), Err(Error::Size { .. })));
}

#[test]
fn the_size_to_sew_keeps_or_changes_the_proportions() {
    let root = r#"width="100mm" height="50mm" viewBox="0 0 100 50""#;
    let by = |width, height| {
        let d = sized(root, width, height).expect("a size");
        (d.value.rect.width(), d.value.rect.height(), d.value.shapes[0].region.area(), d.warnings.len())
    };
    let (w, h, area, warnings) = by(Some(80.0), None);
    near(w, 80.0, 1e-9);
    near(h, 40.0, 1e-9);
    near(area, 1600.0, 1e-2);
    assert_eq!(warnings, 0);
    near(by(None, Some(25.0)).0, 50.0, 1e-9);
    assert_eq!(by(Some(20.0), Some(10.0)).3, 0);
    let (_, _, area, warnings) = by(Some(100.0), Some(100.0));
    near(area, 5000.0, 1e-2);
    assert_eq!(warnings, 1);
}

#[test]
fn aspect_ratios_are_kept_as_asked() {
    let at = |aspect: &str| {
        let root = format!(r#"width="100mm" height="100mm" viewBox="0 0 100 50" preserveAspectRatio="{aspect}""#);
        let d = sized(&root, None, None).expect("a size");
        (d.value.shapes[0].region.bounds().expect("not empty").y0, d.value.shapes[0].region.area())
    };
    near(at("xMidYMid meet").0, -25.0, 1e-3);
    near(at("xMinYMin meet").0, -50.0, 1e-3);
    near(at("none").1, 5000.0, 1e-2);
    near(at("xMinYMin slice").1, 10_000.0, 1e-1);
}

#[test]
fn sizes_that_make_no_sense_are_refused_with_their_place() {
    for root in [
        r#"width="100,5mm" height="10mm""#,
        r#"width="50m" height="10mm""#,
        r#"width="-5mm" height="10mm""#,
        r#"width="0" height="10mm""#,
        r#"width="ten" height="10mm""#,
        r#"width="1e99mm" height="10mm""#,
        r#"width="9mm" height="9mm" viewBox="0 0 0 0""#,
        r#"width="9mm" height="9mm" viewBox="0 0 100,5 100,5""#,
        r#"width="9mm" height="9mm" viewBox="0 0 nan 5""#,
        r#"width="9mm" height="9mm" viewBox="0 0 -5 5""#,
    ] {
        let error = sized(root, None, None).expect_err(root);
        assert!(matches!(error, Error::Size { .. }), "{error}");
        assert!(error.to_string().starts_with("line 1, column 1"), "{error}");
    }
}

#[test]
fn a_wrong_size_does_no_harm_where_the_size_is_given() {
    let d = sized(r#"width="100,5mm" height="50,25mm" viewBox="0 0 100 50""#, Some(60.0), None).expect("a size");
    near(d.value.rect.height(), 30.0, 1e-9);
    assert_eq!(d.warnings.len(), 2);
}

#[test]
fn more_than_two_metres_is_refused() {
    let error = sized(r#"width="50000mm" height="50000mm""#, None, None).expect_err("too large").to_string();
    assert!(error.contains("2000 mm") && error.contains("--width"), "{error}");
    assert!(sized(r#"width="50000mm" height="50000mm""#, Some(100.0), None).is_ok());
    for side in [0.0, -1.0, f64::NAN, f64::INFINITY, 2001.0] {
        assert!(matches!(sized(r#"width="10mm" height="10mm""#, Some(side), None), Err(Error::TooLarge { .. })));
    }
}
