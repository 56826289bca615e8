//! Public drawings in `fixtures/corpus`: the promises that hold for each.

use laidwork_drawing::{Options, Paint, read};
use std::collections::BTreeSet;
use std::path::Path;

#[test]
fn public_drawings_keep_every_promise() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/corpus");
    let manifest = std::fs::read_to_string(folder.join("MANIFEST.tsv")).expect("a manifest");
    let mut count = 0;
    for file in manifest.lines().skip(1).filter_map(|line| line.split('\t').next()) {
        let bytes = std::fs::read(folder.join(file)).expect("a drawing");
        let options = Options { width: Some(90.0), ..Options::default() };
        let drawing = read(&bytes, &options).expect(file).value;
        assert!((drawing.rect.width() - 90.0).abs() < 1e-9, "{file}");
        assert!(!drawing.shapes.is_empty(), "{file}");
        let names: BTreeSet<_> = drawing.shapes.iter().map(|shape| &shape.name).collect();
        assert_eq!(names.len(), drawing.shapes.len(), "{file}");
        let viewport = drawing.rect.inflate(1e-5, 1e-5);
        for shape in &drawing.shapes {
            assert!(viewport.contains_rect(shape.region.bounds().expect("an area")), "{file} {}", shape.name);
            assert_eq!(shape.stroke.is_some(), shape.paint == Paint::Stroke, "{file} {}", shape.name);
            if let Some(stroke) = &shape.stroke {
                assert!(stroke.width > 0.0 && stroke.lines.iter().all(|line| line.points.len() > 1), "{file}");
            }
        }
        assert_eq!(read(&bytes, &options).expect(file).value, drawing, "{file}");
        count += 1;
    }
    assert!(count >= 20, "only {count} drawings");
}
