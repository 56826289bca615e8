//! Damaged, odd and malicious drawings: each gets a clear refusal or the part
//! of it that is sound, soon and in little memory, and nothing aborts.
//!
//! Every drawing is generated here.

use laidwork_drawing::{Drawing, Error, Options, read};
use laidwork_plan::Warned;
use std::fmt::Write;
use std::time::{Duration, Instant};

/// No drawing may take longer; the machine may be busy, so this is wide.
const LONGEST: Duration = Duration::from_secs(60);
/// No message may be longer, in characters.
const LONGEST_MESSAGE: usize = 300;
/// A sound shape that must survive.
const GOOD: &str = r#"<rect id="good" x="10" y="10" width="30" height="30"/>"#;

fn svg(inside: &str) -> String {
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="100mm" height="100mm" viewBox="0 0 100 100">{inside}</svg>"#
    )
}

/// Reads under the promises that hold for every drawing.
fn tame(bytes: &[u8]) -> Result<Warned<Drawing>, Error> {
    let start = Instant::now();
    let found = read(bytes, &Options::default());
    assert!(start.elapsed() < LONGEST, "took {:?}", start.elapsed());
    match &found {
        Err(error) => {
            let message = error.to_string();
            assert!(message.chars().count() <= LONGEST_MESSAGE && !message.contains('\n'), "{message}");
        }
        Ok(drawing) => {
            for warning in &drawing.warnings {
                let message = warning.to_string();
                assert!(message.chars().count() <= LONGEST_MESSAGE && !message.contains('\n'), "{message}");
            }
            assert!(drawing.warnings.len() < 20, "{:?}", drawing.warnings);
            for shape in &drawing.value.shapes {
                let bounds = shape.region.bounds().expect("a shape has an area");
                let within = drawing.value.rect.inflate(1e-5, 1e-5);
                assert!(bounds.is_finite() && within.contains_rect(bounds), "{} {bounds:?}", shape.name);
            }
        }
    }
    found
}

fn refused(bytes: &[u8]) -> String {
    tame(bytes).expect_err("this must be refused").to_string()
}

/// The area of the shape called `good`, the number of shapes, and the warnings as one text.
fn kept(text: &str) -> (f64, usize, String) {
    let drawing = tame(text.as_bytes()).expect("the sound part must be read");
    let said = drawing.warnings.iter().map(|warning| format!("{warning}\n")).collect();
    let good = drawing.value.shapes.iter().find(|shape| shape.name == "good");
    (good.map_or(0.0, |shape| shape.region.area()), drawing.value.shapes.len(), said)
}

/// Checks that the good square comes through whole, and what is said of the rest.
fn good_survives(inside: &str, word: &str) -> usize {
    let (area, count, said) = kept(&svg(&format!("{inside}{GOOD}")));
    assert!((area - 900.0).abs() < 1e-3, "{area}");
    assert!(said.contains(word), "{said:?} does not say {word:?}");
    count
}

#[test]
fn damaged_containers_are_refused() {
    assert!(refused(b"").contains("empty"));
    assert!(refused(&[0x80, 0x12, 0xff, 0xfe, 0x00, 0x07]).contains("UTF-8"));
    assert!(refused(b"<html><body/></html>").contains("<html>"));
    assert!(refused(br#"<svg xmlns="http://www.w3.org/2000/svg"><rect width="1"#).contains("line 1"));
    assert!(refused(b"<svg>\n<g></svg></g>").contains("line 2"));
    assert!(refused(&[0x1f, 0x8b, 8, 0, 0, 0, 0, 0, 0, 3, 1, 2]).contains("damaged"));
}

#[test]
fn a_compressed_bomb_is_stopped() {
    let mut encoder = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    for _ in 0..100 {
        std::io::Write::write_all(&mut encoder, &vec![b' '; 1 << 20]).expect("memory");
    }
    let bomb = encoder.finish().expect("memory");
    assert!(bomb.len() < 1 << 20);
    assert!(refused(&bomb).contains("64 MB"));
}

#[test]
fn entities_that_multiply_are_refused() {
    let laughs: String = (1..10).fold("<!ENTITY a0 'ha'>".into(), |mut text: String, i| {
        write!(text, "<!ENTITY a{i} '{}'>", format!("&a{};", i - 1).repeat(10)).expect("a string");
        text
    });
    assert!(refused(format!("<!DOCTYPE svg [{laughs}]><svg>&a9;</svg>").as_bytes()).contains("unfold"));
    let long = "x".repeat(50_000);
    let text = format!("<!DOCTYPE svg [<!ENTITY a '{long}'>]><svg><text>{}</text></svg>", "&a;".repeat(20_000));
    assert!(refused(text.as_bytes()).contains("unfold"));
    assert!(refused(b"<!DOCTYPE svg [<!ENTITY a '&b;'><!ENTITY b '&a;'>]><svg>&a;</svg>").contains("itself"));
}

#[test]
fn nothing_outside_the_text_is_opened() {
    let text = format!(
        r#"<?xml version="1.0"?><?xml-stylesheet href="http://127.0.0.1:9/a.css"?>
        <!DOCTYPE svg SYSTEM "file:///etc/passwd" [<!ENTITY x SYSTEM "file:///etc/passwd">]>{}"#,
        svg(&format!(
            r#"<style>@import url(http://127.0.0.1:9/b.css); @font-face{{font-family:f;src:url(file:///etc/passwd)}}</style>
            <image href="/etc/passwd" width="9" height="9"/><use href="/etc/passwd#a"/>{GOOD}"#
        ))
    );
    let (area, count, said) = kept(&text);
    assert!((area - 900.0).abs() < 1e-3 && count == 1);
    assert!(said.contains("imports") && said.contains("image") && said.contains("another file"), "{said}");
}

#[test]
fn deep_nesting_and_long_chains_are_refused_without_overflow() {
    let deep = svg(&format!("{}{GOOD}{}", "<g>".repeat(20_000), "</g>".repeat(20_000)));
    assert!(refused(deep.as_bytes()).contains("deeper"));
    let chain = |one: &dyn Fn(usize) -> String, last: &str| svg(&((0..20_000).map(one).collect::<String>() + last));
    let clips = chain(
        &|i| format!(r##"<clipPath id="c{i}" clip-path="url(#c{})"><rect width="9" height="9"/></clipPath>"##, i + 1),
        r##"<rect width="9" height="9" clip-path="url(#c0)"/>"##,
    );
    let patterns = chain(
        &|i| {
            format!(
                r##"<pattern id="c{i}" width="1" height="1"><rect width="1" height="1" fill="url(#c{})"/></pattern>"##,
                i + 1
            )
        },
        r##"<rect width="9" height="9" fill="url(#c0)"/>"##,
    );
    let masks = chain(
        &|i| format!(r##"<mask id="c{i}" mask="url(#c{})"><rect width="9" height="9"/></mask>"##, i + 1),
        r##"<rect width="9" height="9" mask="url(#c0)"/>"##,
    );
    let uses =
        chain(&|i| format!(r##"<use id="c{i}" href="#c{}"/>"##, i + 1), r#"<rect id="c20000" width="9" height="9"/>"#);
    let gradients = chain(
        &|i| format!(r##"<linearGradient id="c{i}" href="#c{}"/>"##, i + 1),
        r##"<rect width="9" height="9" fill="url(#c0)"/>"##,
    );
    for text in [clips, patterns, masks, uses, gradients] {
        assert!(refused(text.as_bytes()).contains("deeper"));
    }
}

#[test]
fn the_deepest_that_is_allowed_is_read() {
    let count = 240;
    let text = svg(&format!("{}{GOOD}{}", "<g opacity='.999'>".repeat(count), "</g>".repeat(count)));
    assert!(tame(text.as_bytes()).is_ok());
    let clips: String = (0..80)
        .map(|i| {
            format!(r##"<clipPath id="c{i}" clip-path="url(#c{})"><rect width="90" height="90"/></clipPath>"##, i + 1)
        })
        .collect();
    let last = r##"<clipPath id="c80"><rect width="90" height="90"/></clipPath><g clip-path="url(#c0)">"##;
    assert_eq!(kept(&svg(&format!("{clips}{last}{GOOD}</g>"))).1, 1);
}

#[test]
fn what_doubles_is_refused() {
    let doubling = |one: &dyn Fn(usize) -> String, last: &str| {
        let text = svg(&((0..40).map(one).collect::<String>() + last));
        assert!(refused(text.as_bytes()).contains("unfold"));
    };
    let rect = r#"<rect width="9" height="9"/>"#;
    doubling(
        &|i| format!(r##"<g id="c{i}"><use href="#c{0}"/><use href="#c{0}"/></g>"##, i + 1),
        &format!(r#"<g id="c40">{rect}</g>"#),
    );
    doubling(
        &|i| {
            let inner = format!(r##"<rect width="1" height="1" fill="url(#c{})"/>"##, i + 1);
            format!(r#"<pattern id="c{i}" width="1" height="1">{inner}{inner}</pattern>"#)
        },
        r##"<rect width="9" height="9" fill="url(#c0)"/>"##,
    );
    for kind in ["mask", "clipPath"] {
        let property = if kind == "mask" { "mask" } else { "clip-path" };
        doubling(
            &|i| {
                let inner = format!(r##"<rect width="9" height="9" {property}="url(#c{})"/>"##, i + 1);
                format!(r#"<{kind} id="c{i}">{inner}{inner}</{kind}>"#)
            },
            &format!(r##"<rect width="9" height="9" {property}="url(#c0)"/>"##),
        );
    }
    doubling(
        &|i| {
            let marked =
                format!(r##"<path d="M0 0L1 1L2 2" marker-mid="url(#c{0})" marker-end="url(#c{0})"/>"##, i + 1);
            format!(r#"<marker id="c{i}">{marked}</marker>"#)
        },
        r##"<path d="M0 0L9 9" marker-end="url(#c0)"/>"##,
    );
}

#[test]
fn circular_references_are_cut() {
    let rect = r#"<rect width="9" height="9"/>"#;
    for circle in [
        r##"<use id="a" href="#a"/><g id="g"><use href="#g"/></g>"##.to_string(),
        r##"<g id="a"><use href="#b"/><use href="#b"/></g><g id="b"><use href="#c"/><use href="#c"/></g><g id="c"><use href="#a"/></g>"##.into(),
        r##"<pattern id="p" width="2" height="2"><rect width="1" height="1" fill="url(#p)"/></pattern><rect width="9" height="9" fill="url(#p)"/>"##.into(),
        r##"<linearGradient id="a" href="#b"/><linearGradient id="b" href="#a"/><rect width="9" height="9" fill="url(#a)"/>"##.into(),
        format!(r##"<clipPath id="a"><g/><rect width="9" height="9" clip-path="url(#b)"/></clipPath><clipPath id="b" clip-path="url(#c)">{rect}</clipPath><clipPath id="c" style="clip-path:url(#a)">{rect}</clipPath><g clip-path="url(#a)">{rect}</g>"##),
        format!(r##"<mask id="a" mask="url(#b)">{rect}</mask><mask id="b" mask="url(#a)">{rect}</mask><g mask="url(#a)">{rect}</g>"##),
        r##"<marker id="m"><path d="M0 0L9 9" marker-end="url(#m)"/></marker><path d="M0 0L9 9" marker-end="url(#m)"/>"##.into(),
    ] {
        good_survives(&circle, "refers to itself");
    }
    let sheet = svg(
        r##"<style>rect{fill:url(#p)}</style><pattern id="p" width="2" height="2"><rect width="1" height="1"/></pattern><rect width="9" height="9"/>"##,
    );
    assert!(refused(sheet.as_bytes()).contains("itself"));
}

#[test]
fn numbers_that_are_none_cost_only_their_shape() {
    let broken = r#"<path d="M NaN 0 L 10 inf L -inf NaN Z"/><rect x="NaN" y="inf" width="10" height="10"/><circle cx="50" cy="50" r="nan"/>
        <g transform="scale(NaN)"><rect width="10" height="10"/></g><path d="M1e300 0 L 1e308 5 L 9 1e39 z"/>"#;
    good_survives(broken, "no number");
    assert_eq!(
        good_survives(
            r#"<path d="M50 50l1e-30 0l0 1e-30z"/><rect x="50" y="50" width="1e-20" height="10"/>"#,
            "no area"
        ),
        1
    );
    good_survives(r#"<path d="M-1e30 -1e30 H1e30 V1e30 Z" fill="red"/>"#, "");
}

#[test]
fn extreme_strokes_stay_in_the_viewport() {
    let strokes = r#"<path d="M10 10L90 90" stroke="red" stroke-width="1e6"/><path d="M10 10L90 90" stroke="red" stroke-width="-3"/>
        <path d="M10 50L90 50L10 50.02" stroke="red" stroke-width="2" stroke-miterlimit="1e9" fill="none"/>
        <path d="M10 70 C90 70 10 70 90 70 C10 70 90 70 10 70" stroke="red" stroke-width="3" fill="none"/>
        <circle cx="50" cy="50" r="1e-6" stroke="red" stroke-width="30"/><path d="M0 0H1e9" stroke="red" stroke-dasharray="1e-3"/>"#;
    assert!(good_survives(strokes, "dashes") >= 5);
}

#[test]
fn doubled_and_touching_rings_follow_the_fill_rule() {
    let square = "M10 10h30v30h-30z";
    let area = |d: &str, rule: &str| {
        let text = svg(&format!(r#"<path id="good" fill-rule="{rule}" d="{d}"/>"#));
        kept(&text).0
    };
    assert!((area(&format!("{square}{square}"), "nonzero") - 900.0).abs() < 1e-3);
    assert!(area(&format!("{square}{square}"), "evenodd") < 1e-9);
    assert!(area(&format!("{square}M10 10v30h30v-30z"), "nonzero") < 1e-9);
    assert!((area("M10 10h15v30h-15z M25 10h15v30h-15z", "nonzero") - 900.0).abs() < 1e-3);
    assert!(
        (area("M0 0h90v90h-90z M0 0v10h10v-10z M30 30v10h10v-10z M40 40v10h10v-10z", "nonzero") - 7800.0).abs() < 1e-3
    );
}

#[test]
fn crowds_are_told_in_one_line() {
    let specks: String = (0..15_000).fold(String::new(), |mut text, i| {
        write!(text, "M{} {}h.05v.05h-.05z", i % 150, i / 150).expect("a string");
        text
    });
    assert_eq!(good_survives(&format!(r#"<path d="{specks}"/>"#), "too small to sew"), 1);
    let rects: String = (0..15_000).fold(String::new(), |mut text, i| {
        write!(text, r##"<rect x="{}" y="{}" width=".2" height=".2" fill="#{:03x}"/>"##, i % 90, i / 170, i % 4096)
            .expect("a string");
        text
    });
    assert_eq!(good_survives(&rects, "14999 more"), 1);
}

#[test]
fn outlines_beyond_measure_are_refused() {
    let spikes: String = (0..100_000).fold(String::from("M"), |mut text, i| {
        let (sin, cos) = (f64::from(i) * std::f64::consts::TAU / 1e5).sin_cos();
        let reach = if i % 2 == 0 { 5.0 } else { 45.0 };
        write!(text, " {:.4},{:.4}", 50.0 + reach * cos, 50.0 + reach * sin).expect("a string");
        text
    });
    assert!(refused(svg(&format!(r#"<path d="{spikes}z"/>"#)).as_bytes()).contains("2 km"));
    let scribble: String = (0u64..6_000).fold(String::new(), |mut text, i| {
        let (x, y) = (i * i * 7919 % 1009, i * i * i * 104_729 % 1013);
        write!(text, "{:.1},{:.1} ", x as f64 / 10.0, y as f64 / 10.0).expect("a string");
        text
    });
    assert!(refused(svg(&format!(r#"<polygon points="{scribble}"/>"#)).as_bytes()).contains("cross"));
}

#[test]
fn long_ids_and_style_bombs_are_contained() {
    let id = "i".repeat(250_000);
    good_survives(
        &format!(r#"<rect id="{id}" width="9" height="9"/><rect id="{id}2" width="0" height="9"/>"#),
        "no area",
    );
    let selectors = "a,".repeat(10_000);
    let style = format!("<style>{selectors}b{{{}}}</style>", "fill:red;".repeat(10_000));
    assert!(refused(svg(&style).as_bytes()).contains("style"));
    let attributes: String = (0..5000).map(|i| format!(" a{i}=''")).collect();
    assert!(refused(svg(&format!("<rect{attributes}/>")).as_bytes()).contains("attributes"));
    assert!(refused(svg(&"<g/>".repeat(300_000)).as_bytes()).contains("elements"));
}

#[test]
fn images_inside_images_are_not_opened() {
    let mut inner = svg(GOOD);
    for _ in 0..7 {
        let data: String = inner.bytes().fold(String::new(), |mut text, byte| {
            write!(text, "%{byte:02x}").expect("a string");
            text
        });
        inner = svg(&format!(r#"<image width="9" height="9" href="data:image/svg+xml,{data}"/>"#));
        if inner.len() > 1_000_000 {
            break;
        }
    }
    let (_, count, said) = kept(&inner);
    assert!(count == 0 && said.contains("image"), "{said}");
}

#[test]
fn drawings_cut_anywhere_are_refused_or_read_but_never_abort() {
    let text = svg(&format!(
        r##"<style>.a{{fill:red}}</style><defs><clipPath id="c"><circle r="20"/></clipPath></defs><g clip-path="url(#c)" class="a">{GOOD}</g><text>é</text>"##
    ));
    let bytes = text.as_bytes();
    for end in (0..bytes.len()).step_by(7) {
        assert!(tame(bytes.get(..end).unwrap_or(&[])).is_err());
    }
}
