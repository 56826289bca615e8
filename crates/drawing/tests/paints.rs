//! Colours, and what cannot be sewn as drawn.

mod common;

use common::{area, drawing, near, shapes, warnings};
use laidwork_plan::Color;

fn colour(paint: &str) -> Color {
    shapes(&format!(
        r##"<linearGradient id="g"><stop stop-color="#000"/><stop offset="1" stop-color="#fff"/></linearGradient>
        <radialGradient id="r"><stop offset=".5" stop-color="red"/><stop offset=".5" stop-color="blue"/></radialGradient>
        <pattern id="p" width="4" height="4" patternUnits="userSpaceOnUse"><rect width="4" height="3" fill="red"/><rect y="3" width="4" height="1" fill="lime"/></pattern>
        <rect width="30" height="30" fill="{paint}"/>"##
    ))[0]
        .color
}

#[test]
fn colours_of_every_notation() {
    for paint in ["#e0a21b", "rgb(224,162,27)", "hsl(41, 78.5%, 49.2%)", "#e0a21bff"] {
        assert_eq!(colour(paint), Color::new(224, 162, 27), "{paint}");
    }
    assert_eq!(colour("currentColor"), Color::new(0, 0, 0));
}

#[test]
fn gradients_and_patterns_are_averaged_in_linear_light() {
    // 1.055 * 0.5^(1 / 2.4) - 0.055 = 0.7354 = 188 / 255 (IEC 61966-2-1).
    assert_eq!(colour("url(#g)"), Color::new(188, 188, 188));
    assert_eq!(colour("url(#r)"), Color::new(188, 0, 188));
    // 1.055 * 0.75^(1 / 2.4) - 0.055 = 0.8808 = 225 / 255 and 0.25 gives 137.
    assert_eq!(colour("url(#p)"), Color::new(225, 137, 0));
}

#[test]
fn what_is_not_sewn_as_drawn_is_said() {
    let gradient = r#"<linearGradient id="g"><stop stop-color="red"/><stop offset="1"/></linearGradient>"#;
    for (inside, word) in [
        (format!(r#"{gradient}<rect id="it" width="30" height="30" fill="url(#g)"/>"#), "gradient"),
        (r#"<pattern id="p" width="9" height="9"><rect width="5" height="5"/></pattern><rect id="it" width="30" height="30" fill="url(#p)"/>"#.into(), "pattern"),
        (r#"<rect id="it" width="30" height="30" opacity=".5"/>"#.into(), "transparent"),
        (r#"<g opacity=".7"><rect id="it" width="30" height="30" fill-opacity=".9"/></g>"#.into(), "transparent"),
        (r#"<filter id="f"><feGaussianBlur stdDeviation="3"/></filter><rect id="it" width="30" height="30" filter="url(#f)"/>"#.into(), "filter"),
        (r#"<rect id="it" width="30" height="30" style="mix-blend-mode:multiply"/>"#.into(), "blended"),
        (r#"<image id="it" href="file:///etc/passwd" width="30" height="30"/><rect width="9" height="9"/>"#.into(), "image"),
        (r#"<foreignObject id="it" width="30" height="30"/><rect width="9" height="9"/>"#.into(), "foreign"),
        (r##"<rect id="it" width="30" height="30" fill="url(#none)"/><rect width="9" height="9"/>"##.into(), "not in the drawing"),
        (r#"<use id="it" href="other.svg#a"/><rect width="9" height="9"/>"#.into(), "another file"),
        (r#"<path id="it" d="M0 0 H30 V30 H0 z M5 Q"/>"#.into(), "cannot be read"),
        (r#"<rect id="it" width="30" height="NaN"/><rect width="9" height="9"/>"#.into(), "no number"),
        (r#"<rect id="it" width="30" height="0"/><rect width="9" height="9"/>"#.into(), "no area"),
        (r#"<path id="it" d="M5 5H50" stroke="red" stroke-width=".001"/><rect width="9" height="9"/>"#.into(), "0.01 mm"),
        (r#"<path id="it" d="M5 5H50" stroke="red" stroke-dasharray="1e-5"/>"#.into(), "dashes"),
        (r#"<rect id="it" width="30" height="30" fill="var(--leaf)"/>"#.into(), "colour that cannot be read"),
        (r#"<g transform="translate(-5e6)"><rect id="it" x="5000010" width="30" height="30"/></g>"#.into(), "far"),
    ] {
        let d = drawing(&inside);
        let said: Vec<String> = d.warnings.iter().map(ToString::to_string).collect();
        assert_eq!(said.len(), 1, "{inside} {said:?}");
        assert!(said[0].contains(word) && said[0].starts_with("it:"), "{said:?}");
        assert_eq!(d.value.shapes.len(), 1, "{inside}");
    }
}

#[test]
fn what_nobody_sees_is_not_sewn_and_not_said() {
    for inside in [
        r#"<rect width="30" height="30" fill="none"/>"#,
        r#"<rect width="30" height="30" fill="none" stroke="none"/>"#,
        r#"<rect width="30" height="30" fill="transparent"/>"#,
        r#"<rect width="30" height="30" fill-opacity="0"/>"#,
        r#"<rect width="30" height="30" fill="rgba(1,2,3,0)"/>"#,
        r#"<g opacity="0"><rect width="30" height="30"/></g>"#,
        r#"<g visibility="hidden"><rect width="30" height="30"/></g>"#,
        r#"<g display="none"><rect width="30" height="30"/></g>"#,
        r#"<g style="display:none"><rect width="30" height="30"/></g>"#,
        r#"<defs><rect width="30" height="30"/></defs>"#,
        r#"<path/><path d=""/>"#,
        "",
    ] {
        let d = drawing(inside);
        assert!(d.value.shapes.is_empty(), "{inside}");
        assert_eq!(d.warnings.len(), 1, "{:?}", d.warnings);
        assert!(d.warnings[0].what.contains("nothing"));
    }
}

#[test]
fn hidden_groups_may_hold_visible_shapes() {
    near(
        area(
            r#"<g visibility="hidden"><rect width="9" height="9"/><rect x="20" width="8" height="8" visibility="visible"/></g>"#,
        ),
        64.0,
        1e-3,
    );
}

#[test]
fn style_sheets_apply() {
    let d = shapes(
        r#"<style>.leaf { fill: #2f5d34 } #b { display: none } g > rect { stroke: red !important }</style>
        <rect class="leaf" width="9" height="9"/><rect id="b" width="9" height="9"/><g><rect x="20" y="20" width="9" height="9" style="stroke:none;fill:none"/></g>"#,
    );
    assert_eq!(d.iter().map(|s| s.color).collect::<Vec<_>>(), [Color::new(0x2f, 0x5d, 0x34), Color::new(255, 0, 0)]);
}

#[test]
fn clip_paths_cut_also_when_nested_and_mixed() {
    near(
        area(
            r##"<clipPath id="c"><rect x="10" y="10" width="20" height="20"/></clipPath><rect width="50" height="50" clip-path="url(#c)"/>"##,
        ),
        400.0,
        1e-3,
    );
    // Clips of a group and of its child, in coordinates of their own.
    near(
        area(
            r##"<clipPath id="c"><rect width="20" height="20"/></clipPath>
        <g clip-path="url(#c)" transform="translate(5 5)"><rect width="50" height="50" clip-path="url(#c)" transform="translate(10 10)"/></g>"##,
        ),
        100.0,
        1e-3,
    );
    // A clip path on a clip path.
    near(
        area(
            r##"<clipPath id="c" clip-path="url(#d)"><rect width="20" height="20"/></clipPath><clipPath id="d"><rect x="15" width="20" height="20"/></clipPath>
        <rect width="50" height="50" clip-path="url(#c)"/>"##,
        ),
        100.0,
        1e-3,
    );
    // Two rules in one: a frame of 800 and a square of 100 elsewhere.
    near(
        area(
            r##"<clipPath id="c"><path clip-rule="evenodd" d="M10 10h30v30h-30z M20 20h10v10h-10z"/><path d="M60 10h10v10h-10z M60 10h10v10h-10z"/></clipPath>
        <rect width="100" height="80" clip-path="url(#c)"/>"##,
        ),
        900.0,
        1e-3,
    );
    near(
        area(
            r##"<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width=".5" height=".5"/></clipPath><rect x="8" width="40" height="20" clip-path="url(#c)"/>"##,
        ),
        200.0,
        1e-3,
    );
}

#[test]
fn clip_paths_cut_centre_lines_too() {
    let d = shapes(
        r##"<clipPath id="c"><rect x="20" width="30" height="80"/></clipPath><path d="M0 10 H100 V30 H0" fill="none" stroke="red" stroke-width="2" clip-path="url(#c)"/>"##,
    );
    near(d[0].region.area(), 120.0, 1e-3);
    let lines = &d[0].stroke.as_ref().expect("a stroke").lines;
    assert_eq!(lines.len(), 2);
    lines.iter().for_each(|line| near(line.length(), 30.02, 1e-3));
}

#[test]
fn masks_that_do_not_fade_cut() {
    let masked = |mask: &str| {
        format!(r##"<mask id="m" {mask}</mask><rect x="10" y="10" width="60" height="60" mask="url(#m)"/>"##)
    };
    let hole = masked(r#"><rect width="100" height="80" fill="white"/><rect x="20" y="20" width="10" height="10"/>"#);
    near(area(&hole), 3500.0, 1e-3);
    assert!(warnings(&hole).is_empty());
    near(area(&masked(r##"mask-type="alpha"><rect width="30" height="30" fill="#777"/>"##)), 400.0, 1e-3);
    near(
        area(&masked(
            r#"maskUnits="userSpaceOnUse" x="0" y="0" width="20" height="80"><rect width="100" height="80" fill="white"/>"#,
        )),
        600.0,
        1e-3,
    );
    let fading = masked(r##"><rect width="30" height="30" fill="#777"/>"##);
    near(area(&fading), 3600.0, 1e-3);
    assert!(warnings(&fading).contains("mask"));
}

#[test]
fn a_paint_of_another_file_leaves_its_place_to_the_one_behind() {
    let blue = Color::new(0, 0, 255);
    for inside in [
        r#"<rect width="30" height="30" fill="url(file:///a.svg#b) #00f"/>"#,
        r#"<rect width="30" height="30" style="fill: url( 'a.svg#b' )  blue"/>"#,
        r#"<g style="fill:url(http://127.0.0.1/a.svg#b) #00f"><rect width="30" height="30"/></g>"#,
        r#"<style>rect { fill: url(a.svg#b) #00f }</style><rect width="30" height="30"/>"#,
        r#"<style>rect { fill: url(a.svg#b) #00f }</style><rect id="r" width="30" height="30" style="stroke-width:3"/>"#,
    ] {
        assert_eq!(shapes(inside)[0].color, blue, "{inside}");
        let said = warnings(inside);
        assert!(said.contains("another file") && !said.contains("becomes black"), "{inside} {said}");
    }
    // With nothing behind it nobody knows.
    let inside = r#"<rect width="30" height="30" fill="url(a.svg#b)"/>"#;
    assert_eq!(shapes(inside)[0].color, Color::new(0, 0, 0));
    assert!(warnings(inside).contains("becomes black"));
}

#[test]
fn a_mitre_limit_beyond_measure_in_a_style_sheet_is_lowered() {
    let path = r#"<path d="M9 50H90L9 90" fill="none" stroke="red" stroke-width="2""#;
    for sheet in ["path{stroke-miterlimit:1e300}", "path{stroke-miterlimit:4}"] {
        for style in ["", r#"id="own" style="stroke-linecap:round""#] {
            assert_eq!(shapes(&format!("<style>{sheet}</style>{path} {style}/>")).len(), 1, "{sheet} {style}");
        }
    }
}

#[test]
fn path_data_that_closes_a_million_times_is_read() {
    let found = area(&format!(r#"<path d="M0 0h20v20h-20{}"/>"#, "z".repeat(1_000_000)));
    near(found, 400.0, 1e-3);
    let entity = format!("<!DOCTYPE svg [<!ENTITY a '<path d=\"M0 0h9v9{}\"/>'>]>", "z".repeat(1_000_000));
    let text = format!("{entity}{}", common::svg("&a;"));
    assert!(common::try_read(&text).is_err());
}
