//! What any bytes may be fed to: each function panics when a promise is broken.
//!
//! `tests/tests/findings.rs` feeds them with seeds, with damaged copies of the seeds, and with everything that was ever
//! found, on every run of the tests; `fuzz/` feeds them with what libFuzzer makes of the seeds.

use crate::trial::{Outcome, WAYS, try_one};
use laidwork_drawing::Options;
use laidwork_geometry::{FillRule, Join, Region, Ring};
use laidwork_list::{WriteOptions, to_text};
use laidwork_plan::{Color, Point};
use laidwork_recipe::ShapeFacts;
use std::fmt::Write;

/// Something that takes any bytes.
pub type Target = fn(&[u8]);

/// Every target with its name, which is also the name of its folder of findings.
pub const TARGETS: [(&str, Target); 6] = [
    ("drawing", drawing),
    ("recipe", recipe),
    ("list", list),
    ("chart", chart),
    ("regions", regions),
    ("pipeline", pipeline),
];

/// Lets panics unwind that a fuzzer's hook would end the process at: some of a dependency are caught and become
/// errors. A panic that nobody catches still ends the fuzzer's run.
pub fn unwind() {
    drop(std::panic::take_hook());
}

/// No message may be longer, in characters.
const LONGEST_MESSAGE: usize = 400;

/// A drawing is read or refused in one short line, and what is read lies in its rectangle.
pub fn drawing(bytes: &[u8]) {
    match laidwork_drawing::read(bytes, &Options::default()) {
        Err(error) => one_short_line(&error.to_string()),
        Ok(drawing) => {
            drawing.warnings.iter().for_each(|warning| one_short_line(&warning.to_string()));
            let within = drawing.value.rect.inflate(1e-5, 1e-5);
            for shape in &drawing.value.shapes {
                let bounds = shape.region.bounds().expect("a shape has an area");
                assert!(bounds.is_finite() && within.contains_rect(bounds), "{} {bounds:?}", shape.name);
            }
        }
    }
}

fn one_short_line(text: &str) {
    assert!(text.chars().count() <= LONGEST_MESSAGE && !text.contains('\n'), "{text}");
}

/// A recipe is read or refused with places inside its text; what is read can be settled for any shapes.
pub fn recipe(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let lines = text.lines().count().max(1);
    match laidwork_recipe::parse(text, "fuzzed.toml") {
        Err(found) => {
            assert!(!found.errors.is_empty());
            for error in &found.errors {
                assert!((1..=lines + 1).contains(&error.line) && error.column >= 1, "{error:?}");
                assert!(text.get(error.span.clone()).is_some(), "{error:?}");
            }
        }
        Ok(recipe) => {
            let color = Color::new(200, 30, 30);
            let facts = ["flower/petal-1", "flower/petal-2", "stem", "path-4"].map(|name| ShapeFacts {
                name,
                color,
                stroke: name == "stem",
            });
            let _ = recipe.value.settle(&facts);
        }
    }
}

/// A list, as text or one of its twins, is read or refused; what is read comes back as it was.
pub fn list(bytes: &[u8]) {
    let Some((kind, bytes)) = bytes.split_first() else { return };
    let found = match kind % 8 {
        0 => laidwork_list::from_csv(bytes),
        1 => laidwork_list::from_json(bytes),
        _ => laidwork_list::read(bytes),
    };
    if let Ok(plan) = found
        && let Ok(text) = to_text(&plan, WriteOptions::default())
    {
        let back = laidwork_list::read(text.as_bytes()).expect("what was written is read");
        let again = to_text(&back, WriteOptions::default()).expect("what was read is written");
        assert_eq!(again, text);
        let _ = plan.sanity_check();
        let _ = laidwork_report::report(&plan, &laidwork_report::ReportSettings::default());
    }
}

/// A chart is read or refused; nearest threads are in order.
pub fn chart(bytes: &[u8]) {
    // Differences count in ten-thousandths.
    if let Ok(chart) = laidwork_thread::Chart::read(bytes) {
        let found = laidwork_thread::nearest(&chart, Color::new(10, 200, 100), 5);
        assert_eq!(found.len(), chart.threads().len().min(5));
        assert!(found.windows(2).all(|pair| pair[0].difference <= pair[1].difference + 1e-4));
    }
}

/// Rings of the bytes: each starts with its number of corners, each corner is two bytes of half millimetres.
fn rings(bytes: &[u8]) -> Vec<Ring> {
    let mut rings = Vec::new();
    let mut rest = bytes;
    while let Some((count, after)) = rest.split_first() {
        let (own, after) = after.split_at(after.len().min(2 * (3 + usize::from(*count) % 24)));
        let half = |byte: u8| f64::from(byte as i8) / 2.0;
        let corner = |pair: &[u8]| Point::new(half(pair[0]), half(pair[1]));
        rings.push(Ring::new(own.chunks_exact(2).map(corner).collect()));
        rest = after;
    }
    rings
}

/// The areas of combined regions add up, and offsets lie on the right side.
pub fn regions(bytes: &[u8]) {
    let Some((head, bytes)) = bytes.split_first() else { return };
    let rings = rings(bytes.get(..bytes.len().min(400)).unwrap_or_default());
    let rule = if head % 2 == 0 { FillRule::NonZero } else { FillRule::EvenOdd };
    let (first, second) = rings.split_at(rings.len() / 2);
    let (a, b) = (Region::from_rings(first, rule), Region::from_rings(second, rule));
    let (both, either, only) = (a.intersection(&b).area(), a.union(&b).area(), a.difference(&b).area());
    let slack = 1e-5 * (1.0 + a.perimeter() + b.perimeter()); // the grid is 1e-6 mm
    assert!((a.area() + b.area() - both - either).abs() <= slack, "{} {} {both} {either}", a.area(), b.area());
    assert!((a.area() - both - only).abs() <= slack, "{} {both} {only}", a.area());
    let distance = f64::from(head / 2) / 40.0;
    let join = match head % 3 {
        0 => Join::Round { tolerance: 0.01 },
        1 => Join::Mitre { limit: 4.0 },
        _ => Join::Bevel,
    };
    let (outer, inner) = (a.offset(distance, join), a.offset(-distance, join));
    assert!(a.difference(&outer).area() <= slack, "an outer offset leaves out {}", a.difference(&outer).area());
    assert!(inner.difference(&a).area() <= slack, "an inner offset sticks out {}", inner.difference(&a).area());
}

/// The drawing of bytes: what `pipeline` sews.
pub fn drawn(bytes: &[u8]) -> String {
    let mut svg = String::from(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="128mm" height="128mm" viewBox="-64 -64 128 128">"#,
    );
    for (index, ring) in rings(bytes.get(..bytes.len().min(160)).unwrap_or_default()).iter().enumerate() {
        let Some((first, others)) = ring.points.split_first() else { continue };
        let color = ["#a03020", "#205080", "#307040"][index % 3];
        let rule = if index % 2 == 0 { "nonzero" } else { "evenodd" };
        let _ = write!(svg, r#"<path fill="{color}" fill-rule="{rule}" d="M{} {}"#, first.x, first.y);
        for corner in others {
            let _ = write!(svg, "L{} {}", corner.x, corner.y);
        }
        svg.push_str("Z\"/>");
    }
    svg + "</svg>"
}

/// Any polygons, sewn in one of the ways, give a plan that keeps every promise.
pub fn pipeline(bytes: &[u8]) {
    let Some((head, bytes)) = bytes.split_first() else { return };
    let (way, text) = WAYS[usize::from(*head) % WAYS.len()];
    let recipe = laidwork_recipe::parse(text, way).expect("a recipe").value;
    let svg = drawn(bytes);
    let outcome = try_one(svg.as_bytes(), &recipe);
    assert!(!matches!(outcome, Outcome::Invalid(_) | Outcome::Panic(_)), "{way}: {outcome:?}\n{svg}");
}
