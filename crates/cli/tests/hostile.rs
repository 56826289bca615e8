//! Hostile drawings through the real command, each family at several sizes: exit 0, 1 or 2 and never a panic, within
//! 10 s of processor time and 1 GB, with few words, and with no file but the one asked for.
#![cfg(target_os = "linux")]

mod desk;

use desk::Desk;
use std::fmt::Write;
use std::process::Command;

/// Processor time that a run may take, s: the kernel ends it beyond.
const SECONDS: u32 = 10;

/// Address space that a run may take, kB: 1 GB, and 0.6 GB that stacks and the allocator reserve but never touch.
const KILOBYTES: u32 = 1_600_000;

/// A run may say at most so many lines and characters.
const SAID: (usize, usize) = (40, 8_000);

fn svg(inside: &str) -> String {
    sized("100mm", "100mm", "0 0 100 100", inside)
}

fn sized(width: &str, height: &str, view: &str, inside: &str) -> String {
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="{width}" height="{height}" viewBox="{view}">{inside}</svg>"#
    )
}

fn repeated(count: usize, one: impl Fn(usize) -> String) -> String {
    (0..count).map(one).collect()
}

/// Sews `drawing` under the limits by `args`; panics unless it ends as promised.
fn tame(name: &str, size: usize, drawing: &[u8], args: &[&str]) {
    let desk = Desk::new();
    std::fs::write(desk.path("x.svg"), drawing).unwrap();
    let script = format!("ulimit -c 0; ulimit -t {SECONDS}; ulimit -v {KILOBYTES}; exec \"$0\" \"$@\"");
    let mut shell = Command::new("sh");
    shell.args(["-c", &script, env!("CARGO_BIN_EXE_laidwork"), "sew", "x.svg", "-o", "x.stitches"]).args(args);
    let output = shell.current_dir(desk.path("")).output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    let code = output.status.code();
    assert!(matches!(code, Some(0..=2)), "{name} {size} {args:?}: {} {said}", output.status);
    assert!(!said.contains("panicked"), "{name} {size}: {said}");
    assert!(said.lines().count() <= SAID.0 && said.len() <= SAID.1, "{name} {size}: {said}");
    assert!(code != Some(2) || said.starts_with("error: ") || said.contains("\nerror: "), "{name} {size}: {said}");
    let wanted: &[&str] = if code == Some(2) { &["x.svg"] } else { &["x.stitches", "x.svg"] };
    assert_eq!(desk.files(), wanted, "{name} {size}");
}

/// Every size of a family, sewn by widths.
fn family(name: &str, sizes: &[usize], drawing: impl Fn(usize) -> String) {
    assert!(!sizes.is_empty());
    for size in sizes {
        tame(name, *size, drawing(*size).as_bytes(), &[]);
    }
}

#[test]
fn nesting() {
    let rect = r#"<rect width="50" height="50"/>"#;
    family("groups", &[10, 250, 5_000, 200_000], |n| svg(&format!("{}{rect}{}", "<g>".repeat(n), "</g>".repeat(n))));
    family("faded groups", &[10, 240, 2_000], |n| {
        svg(&format!("{}{rect}{}", "<g opacity='.9'>".repeat(n), "</g>".repeat(n)))
    });
    family("roots", &[10, 200, 20_000], |n| {
        svg(&format!("{}{rect}{}", "<svg viewBox='0 0 9 9'>".repeat(n), "</svg>".repeat(n)))
    });
    family("switches", &[10, 5_000], |n| svg(&format!("{}{rect}{}", "<switch>".repeat(n), "</switch>".repeat(n))));
}

#[test]
fn chains() {
    let sizes = [10, 100, 2_000, 30_000];
    let rect = r#"<rect width="50" height="50"/>"#;
    family("uses", &sizes, |n| {
        let links = repeated(n, |i| format!(r##"<use id="c{i}" href="#c{}"/>"##, i + 1));
        svg(&format!(r#"{links}<g id="c{n}">{rect}</g>"#))
    });
    for (element, property) in [("clipPath", "clip-path"), ("mask", "mask")] {
        family(element, &sizes, |n| {
            let links =
                repeated(n, |i| format!(r##"<{element} id="c{i}" {property}="url(#c{})">{rect}</{element}>"##, i + 1));
            svg(&format!(r##"{links}<{element} id="c{n}">{rect}</{element}><g {property}="url(#c0)">{rect}</g>"##))
        });
    }
    family("gradients", &sizes, |n| {
        let links = repeated(n, |i| format!(r##"<linearGradient id="c{i}" href="#c{}"/>"##, i + 1));
        svg(&format!(
            r##"{links}<linearGradient id="c{n}"><stop stop-color="red"/></linearGradient><rect width="50" height="50" fill="url(#c0)"/>"##
        ))
    });
    family("patterns", &sizes, |n| {
        let links = repeated(n, |i| {
            format!(
                r##"<pattern id="c{i}" width="1" height="1"><rect width="1" height="1" fill="url(#c{})"/></pattern>"##,
                i + 1
            )
        });
        svg(&format!(r##"{links}<rect width="50" height="50" fill="url(#c0)"/>"##))
    });
}

#[test]
fn doublings() {
    let sizes = [4, 12, 17, 40];
    let rect = r#"<rect width="50" height="50"/>"#;
    family("uses", &sizes, |n| {
        let levels =
            repeated(n, |i| format!(r##"<g id="c{i}"><use href="#c{0}"/><use href="#c{0}" x="1"/></g>"##, i + 1));
        svg(&format!(r##"<defs>{levels}</defs><g id="c{n}">{rect}</g><use href="#c0"/>"##))
    });
    family("masks", &sizes, |n| {
        let inner = |i: usize| format!(r##"<rect width="50" height="50" fill="white" mask="url(#c{})"/>"##, i + 1);
        let levels = repeated(n, |i| format!(r#"<mask id="c{i}">{0}{0}</mask>"#, inner(i)));
        svg(&format!(r##"{levels}<g mask="url(#c0)">{rect}</g>"##))
    });
    family("markers", &sizes, |n| {
        let inner =
            |i: usize| format!(r##"<path d="M0 0L3 3L9 1" marker-mid="url(#c{0})" marker-end="url(#c{0})"/>"##, i + 1);
        let levels = repeated(n, |i| format!(r#"<marker id="c{i}">{}</marker>"#, inner(i)));
        svg(&format!(r##"{levels}<path d="M0 0L50 50L60 9" fill="none" stroke="red" marker-mid="url(#c0)"/>"##))
    });
    family("entities", &[3, 6, 9, 30], |n| {
        let levels = repeated(n, |i| format!("<!ENTITY a{} '{}'>", i + 1, format!("&a{i};").repeat(8)));
        format!("<!DOCTYPE svg [<!ENTITY a0 '{rect}'>{levels}]>{}", svg(&format!("&a{n};")))
    });
    family("long entities", &[10, 1_000, 20_000], |n| {
        let entity = format!("<!ENTITY a '{}'>", "x".repeat(50_000));
        format!("<!DOCTYPE svg [{entity}]>{}", svg(&format!("<desc>{}</desc>{rect}", "&a;".repeat(n))))
    });
}

#[test]
fn crowds() {
    family("elements", &[100, 5_000, 60_000], |n| {
        svg(&repeated(n, |i| format!(r#"<rect x="{}" y="{}" width=".3" height=".3"/>"#, i % 97, i * 7 % 89)))
    });
    family("colours", &[100, 4_000], |n| {
        svg(&repeated(n, |i| {
            format!(
                r##"<rect x="{}" y="{}" width="1.5" height="1.5" fill="#{:06x}"/>"##,
                i % 50 * 2,
                i / 50 * 2 % 98,
                i * 4099 % 0xff_ffff
            )
        }))
    });
    family("rings of one path", &[100, 5_000, 40_000], |n| {
        let rings = repeated(n, |i| format!("M{} {}h.1v.1h-.1z", i % 200 / 2, i / 200 / 2));
        svg(&format!(r#"<path d="{rings}"/>"#))
    });
    family("rings in rings", &[10, 100, 1_000, 2_000], |n| {
        let rings = repeated(n, |i| {
            let inset = 49.0 * i as f64 / n as f64;
            let side = 2.0 * (49.0 - inset) + 1.0;
            format!("M{inset} {inset}h{side}v{side}h-{side}z")
        });
        svg(&format!(r#"<path fill-rule="evenodd" d="{rings}"/>"#))
    });
    family("attributes", &[10, 250, 20_000], |n| {
        svg(&format!(r#"<rect width="9" height="9"{}/>"#, repeated(n, |i| format!(" a{i}=''"))))
    });
    family("attributes in all", &[100, 20_000], |n| {
        svg(&repeated(n, |_| format!("<g{}/>", repeated(200, |i| format!(" a{i}=''")))))
    });
    family("declarations of one element", &[100, 10_000, 1_000_000], |n| {
        svg(&format!(r#"<rect width="9" height="9" style="{}"/>"#, "a:b;".repeat(n)))
    });
    family("declarations of one rule", &[100, 10_000, 190_000], |n| {
        svg(&format!(r#"<style>rect{{{}}}</style><rect width="9" height="9"/>"#, "fill:red;".repeat(n)))
    });
    family("rules", &[100, 10_000, 190_000], |n| {
        svg(&format!(r#"<style>{}</style><rect width="9" height="9"/>"#, "rect{fill:red}".repeat(n)))
    });
    family("fonts of one text", &[100, 10_000_000], |n| {
        svg(&format!(r#"<text font-family="{}">a</text>"#, "a,".repeat(n)))
    });
    family("points of one outline", &[100, 1_000_000, 14_000_000], |n| {
        svg(&format!(r#"<path d="M0 0{}"/>"#, "L1 1".repeat(n)))
    });
    family("selectors", &[10, 1_000, 30_000], |n| {
        svg(&format!(r#"<style>{}b{{fill:red}}</style><rect width="9" height="9"/>"#, "a,".repeat(n)))
    });
    family("long ids", &[1_000, 1_000_000], |n| {
        svg(&format!(r#"<rect id="{}" width="9" height="9"/>"#, "i".repeat(n)))
    });
    family("dashes", &[10, 1_000, 1_000_000], |n| {
        let dash = 100.0 / n as f64;
        svg(&format!(r#"<path d="M5 5L95 95" fill="none" stroke="red" stroke-width="3" stroke-dasharray="{dash}"/>"#))
    });
}

#[test]
fn repeats() {
    let rect = r#"<rect x="20" y="20" width="30" height="30"/>"#;
    family("closes", &[100, 10_000, 1_000_000], |n| svg(&format!(r#"<path d="M1 1h9v9{}"/>"#, "z".repeat(n))));
    family("moves", &[100, 100_000], |n| svg(&format!(r#"<path d="{}z"/>{rect}"#, "M1 1 ".repeat(n))));
    family("style sheets", &[100, 3_000, 60_000], |n| {
        svg(&format!("{}{rect}", "<style>rect{fill:red}</style>".repeat(n)))
    });
    family("texts in texts", &[10, 200, 100_000], |n| {
        svg(&format!("{}{rect}{}", "<text>".repeat(n), "</text>".repeat(n)))
    });
    family("transforms", &[100, 200_000], |n| {
        svg(&format!(r#"<g transform="{}">{rect}</g>"#, "scale(1.0001)".repeat(n)))
    });
    family("namespaces", &[100, 20_000], |n| {
        svg(&format!("<g{}>{rect}</g>", repeated(n, |i| format!(" xmlns:n{i}='u{i}'"))))
    });
    family("entities declared", &[100, 100_000], |n| {
        format!("<!DOCTYPE svg [{}]>{}", repeated(n, |i| format!("<!ENTITY a{i} 'x'>")), svg(rect))
    });
    family("corners with markers", &[100, 200_000], |n| {
        let path = format!(r#"<path fill="none" stroke="red" marker-mid="url(#m)" d="M0 0{}"/>"#, "l.01 .01".repeat(n));
        svg(&format!(r#"<marker id="m"><path d="M0 0h1v1z"/></marker>{path}"#))
    });
}

/// What a drawing names outside itself is never opened; circles of every kind are cut.
#[test]
fn references() {
    let rect = r#"<rect width="30" height="30"/>"#;
    for (name, inside) in [
        ("file", r##"<image href="file:///etc/passwd" width="9" height="9"/><use href="file:///etc/passwd#a"/>"##),
        (
            "feImage",
            r##"<filter id="f"><feImage href="file:///etc/passwd"/></filter><rect filter="url(#f)" width="9" height="9"/>"##,
        ),
        ("paint", r##"<rect width="9" height="9" style="fill:url(file:///etc/passwd#a) #00f"/>"##),
        ("sheet", r##"<style>@import url(file:///etc/passwd);rect{fill:url(file:///etc/passwd#a) red}</style>"##),
        (
            "textPath",
            r##"<text id="t"><textPath href="#t">a</textPath><textPath href="file:///etc/passwd#p">b</textPath></text>"##,
        ),
        ("symbol", r##"<symbol id="s"><use href="#s"/><rect width="9" height="9"/></symbol><use href="#s"/>"##),
        (
            "clip of a clip",
            r##"<clipPath id="a" clip-path="url(#b)"><path d="M0 0h9v9z"/></clipPath><clipPath id="b" clip-path="url(#a)"><path d="M0 0h9v9z"/></clipPath><path clip-path="url(#a)" d="M0 0h9v9z"/>"##,
        ),
        (
            "use in a clip",
            r##"<clipPath id="c"><use href="#u"/></clipPath><g id="u" clip-path="url(#c)"><rect width="30" height="30"/></g>"##,
        ),
        (
            "mask and pattern",
            r##"<mask id="m"><rect width="30" height="30" fill="url(#p)"/></mask><pattern id="p" width="9" height="9"><rect width="9" height="9" mask="url(#m)"/></pattern><rect mask="url(#m)" width="30" height="30"/>"##,
        ),
        (
            "classes",
            r##"<style>.m{mask:url(#a)}</style><mask id="a"><path class="m" d="M0 0h9v9z"/></mask><path class="m" d="M0 0h9v9z"/>"##,
        ),
        ("gradient", r##"<radialGradient id="g" href="#g"/><rect width="30" height="30" fill="url(#g)"/>"##),
        (
            "filters",
            r##"<filter id="f" href="#g"/><filter id="g" href="#f"/><rect filter="url(#f)" width="30" height="30"/>"##,
        ),
    ] {
        tame(name, 1, svg(&format!("{inside}{rect}")).as_bytes(), &[]);
    }
    let outside =
        "<!DOCTYPE svg [<!ENTITY e SYSTEM 'file:///etc/passwd'><!ENTITY % p SYSTEM 'http://127.0.0.1:9/'>%p;]>";
    tame("outside entity", 1, format!("{outside}{}", svg(&format!("<text>&e;</text>{rect}"))).as_bytes(), &[]);
}

#[test]
fn outlines() {
    let point = |text: &mut String, x: f64, y: f64| write!(text, " {x:.4},{y:.4}").unwrap();
    let polygon = |points: &str| svg(&format!(r#"<polygon points="{points}"/>"#));
    family("spikes", &[10, 300, 3_000, 10_000, 100_000], |n| {
        polygon(&(0..n).fold(String::new(), |mut text, i| {
            let (sin, cos) = (i as f64 * std::f64::consts::TAU / n as f64).sin_cos();
            let reach = if i % 2 == 0 { 5.0 } else { 45.0 };
            point(&mut text, 50.0 + reach * cos, 50.0 + reach * sin);
            text
        }))
    });
    family("scribbles", &[10, 100, 300, 2_000, 6_000], |n| {
        polygon(&(0..n as u64).fold(String::new(), |mut text, i| {
            point(&mut text, (i * i * 7919 % 1009) as f64 / 10.1, (i * i * i * 104_729 % 1013) as f64 / 10.2);
            text
        }))
    });
    family("combs", &[10, 120, 200, 2_000, 4_000], |n| {
        let width = 95.0 / n as f64;
        let teeth = repeated(n, |i| {
            format!("L{0} 5L{0} 90L{1} 90L{1} 5", 2.0 + width * i as f64, 2.0 + width * (i as f64 + 0.4))
        });
        svg(&format!(r#"<path d="M2 2{teeth}L98 2Z"/>"#))
    });
}

/// A place for each index, spread evenly without order.
fn scattered(i: usize) -> (f64, f64) {
    ((i * 7919 % 1009) as f64 / 1009.0, (i * 104_729 % 1013) as f64 / 1013.0)
}

#[test]
fn piles() {
    family("discs of colours of their own", &[20, 150, 1_500], |n| {
        svg(&repeated(n, |i| {
            let (x, y) = scattered(i);
            let (x, y, colour) = (30.0 + 40.0 * x, 30.0 + 40.0 * y, i * 4099 % 0xff_ffff);
            format!(r##"<circle cx="{x:.3}" cy="{y:.3}" r="29" fill="#{colour:06x}"/>"##)
        }))
    });
    family("wide strokes of one colour", &[20, 100, 600], |n| {
        let strokes = repeated(n, |i| {
            let ((a, b), (c, d)) = (scattered(i), scattered(3 * i + 500));
            let [a, b, c, d] = [a, b, c, d].map(|share| 5.0 + 90.0 * share);
            format!(r#"<path d="M{a:.3} {b:.3}L{c:.3} {d:.3}"/>"#)
        });
        svg(&format!(r#"<g fill="none" stroke="red" stroke-width="3">{strokes}</g>"#))
    });
    family("turned squares", &[20, 100, 1_500], |n| {
        svg(&repeated(n, |i| {
            let ((x, y), (turn, _)) = (scattered(i), scattered(5 * i + 300));
            let (x, y, turn, colour) = (30.0 + 40.0 * x, 30.0 + 40.0 * y, 90.0 * turn, i * 4099 % 0xff_ffff);
            format!(
                r##"<path d="M-20-20h40v40h-40z" fill="#{colour:06x}" transform="translate({x:.3} {y:.3}) rotate({turn:.2})"/>"##
            )
        }))
    });
    family("rings of thin strokes", &[10, 60, 150], |n| {
        let rings =
            repeated(n, |i| format!(r#"<circle cx="50" cy="50" r="{:.4}"/>"#, 49.0 * (i + 1) as f64 / n as f64));
        svg(&format!(r#"<g fill="none" stroke="red" stroke-width=".05">{rings}</g>"#))
    });
    family("circles beside each other", &[10, 125, 200, 500, 2_000], |n| {
        let circles = repeated(n, |i| format!("M{:.2} 50a25 25 0 1 0 50 0a25 25 0 1 0 -50 0z", 20.0 + 0.01 * i as f64));
        svg(&format!(r#"<path d="{circles}"/>"#))
    });
    family("squares almost over each other", &[20, 200], |n| {
        svg(&repeated(n, |i| {
            let (x, colour) = (20.0 + 0.01 * i as f64, i * 4099 % 0xff_ffff);
            format!(r##"<rect x="{x:.2}" y="20" width="40" height="40" fill="#{colour:06x}"/>"##)
        }))
    });
}

#[test]
fn intricate() {
    let star = |(x, y): (f64, f64), (inner, outer): (f64, f64), corners: usize| {
        let corner = |i: usize| {
            let (sin, cos) = (i as f64 * std::f64::consts::TAU / corners as f64).sin_cos();
            let reach = if i.is_multiple_of(2) { inner } else { outer };
            format!("{}{:.4} {:.4}", if i == 0 { 'M' } else { 'L' }, x + reach * cos, y + reach * sin)
        };
        repeated(corners, corner) + "Z"
    };
    family("spikes about a disc", &[100, 1_000, 14_000, 20_000], |n| {
        svg(&format!(r#"<path d="{}"/>"#, star((50.0, 50.0), (40.0, 45.0), n)))
    });
    family("spiky holes", &[4, 36, 100], |n| {
        let side = n.isqrt();
        let pitch = 98.0 / side as f64;
        let holes = repeated(side * side, |i| {
            let [x, y] = [i % side, i / side].map(|at| 1.0 + pitch * (at as f64 + 0.5));
            star((x, y), (0.12 * pitch, 0.45 * pitch), 24)
        });
        svg(&format!(r#"<path fill-rule="evenodd" d="M1 1H99V99H1Z{holes}"/>"#))
    });
    family("wide combs", &[20, 150, 300, 2_400], |n| {
        let width = 1_805.0 / n as f64;
        let teeth = repeated(n, |i| {
            let (a, b) = (2.0 + width * i as f64, 2.0 + width * (i as f64 + 0.4));
            format!("L{a:.4} 5L{a:.4} 90L{b:.4} 90L{b:.4} 5")
        });
        sized("1900mm", "100mm", "0 0 1900 100", &format!(r#"<path d="M2 2{teeth}L1862 2Z"/>"#))
    });
    family("square holes", &[100, 2_500, 20_000], |n| {
        let side = n.isqrt();
        let length = 2 * side + 2;
        let holes = repeated(side * side, |i| format!("M{} {}h1v1h-1z", 1 + 2 * (i % side), 1 + 2 * (i / side)));
        let d = format!("M0 0H{length}V{length}H0Z{holes}");
        let size = format!("{length}mm");
        sized(&size, &size, &format!("0 0 {length} {length}"), &format!(r#"<path fill-rule="evenodd" d="{d}"/>"#))
    });
    family("grids in one stroke", &[10, 60, 120], |n| {
        let end = 1.2 * n as f64 + 1.0;
        let lines = repeated(n, |i| {
            let at = 1.0 + 1.2 * i as f64;
            format!("M1 {at:.1}H{end:.1}M{at:.1} 1V{end:.1}")
        });
        let size = format!("{:.1}mm", end + 1.0);
        let view = format!("0 0 {0:.1} {0:.1}", end + 1.0);
        sized(&size, &size, &view, &format!(r#"<path d="{lines}" fill="none" stroke="red" stroke-width="0.5"/>"#))
    });
    family("rings just wide enough", &[20, 60], |n| {
        let rings = repeated(n, |i| {
            let inset = 49.0 * i as f64 / n as f64;
            let side = 2.0 * (49.0 - inset) + 1.0;
            format!("M{inset:.4} {inset:.4}h{side:.4}v{side:.4}h-{side:.4}z")
        });
        svg(&format!(r#"<path fill-rule="evenodd" d="{rings}"/>"#))
    });
}

#[test]
fn numbers() {
    let powers = [0, 2, 4, 6, 9, 12, 30, 38, 300];
    let rect = r#"<rect x="20" y="20" width="30" height="30"/>"#;
    family("far coordinates", &powers, |n| svg(&format!(r#"<path d="M-1e{n} 5H1e{n}V60L3 1e{n}Z"/>{rect}"#)));
    family("near coordinates", &powers, |n| svg(&format!(r#"<path d="M50 50l1e-{n} 0l0 1e-{n}z"/>{rect}"#)));
    family("wide strokes", &powers, |n| {
        svg(&format!(r#"<path d="M9 9L90 90" stroke="red" stroke-width="1e{n}"/>{rect}"#))
    });
    family("thin strokes", &powers, |n| {
        svg(&format!(r#"<path d="M9 9L90 90" stroke="red" stroke-width="1e-{n}"/>{rect}"#))
    });
    family("scales", &powers, |n| svg(&format!(r#"<g transform="scale(1e{n}) scale(1e-{n})">{rect}</g>"#)));
    family("skews", &[0, 45, 89, 90], |n| svg(&format!(r#"<g transform="skewX({n}.0) skewY({n}.0)">{rect}</g>"#)));
    family("mitres", &powers, |n| {
        svg(&format!(
            r#"<path d="M9 50L90 50L9 50.01" fill="none" stroke="red" stroke-width="2" stroke-miterlimit="1e{n}"/>{rect}"#
        ))
    });
    family("mitres in styles", &powers, |n| {
        svg(&format!(
            r#"<path d="M9 50L90 50L9 50.01" style="fill:none;stroke:red;stroke-width:2;stroke-miterlimit: 1e{n}"/>{rect}"#
        ))
    });
    family("mitres in sheets", &powers, |n| {
        svg(&format!(
            r#"<style>path {{ stroke-miterlimit: 1e{n} }}</style><path d="M9 50L90 50L9 50.01" stroke="red"/>{rect}"#
        ))
    });
    family("sizes", &[1, 20, 300, 2_000, 50_000, 1_000_000], |n| {
        sized(&format!("{n}mm"), &format!("{n}mm"), "0 0 100 100", rect)
    });
    family("views", &powers, |n| sized("90mm", "90mm", &format!("0 0 1e{n} 1e{n}"), rect));
    family("flat views", &powers, |n| sized("90mm", "90mm", &format!("0 0 100 1e-{n}"), rect));
    family("arcs", &powers, |n| svg(&format!(r#"<path d="M10 10A1e{n} 1e-{n} 33 1 1 60 61L9 90Z"/>{rect}"#)));
    family("wide arcs", &[12, 20, 38, 50, 100, 300], |n| {
        svg(&format!(r#"<path d="M10 10A1e{n} 1 0 0 1 60 61L9 90ZM1 1A1e{n} 1e{n} 0 1 1 9 9Z"/>{rect}"#))
    });
    family("wide circles", &[9, 12, 20, 30, 38, 50, 300], |n| svg(&format!(r#"<circle r="1e{n}"/>{rect}"#)));
    family("wide circles again", &[10, 5_000], |n| svg(&r#"<circle r="1e30"/>"#.repeat(n)));
    family("chains of wide arcs", &[10, 1_000, 20_000, 200_000], |n| {
        svg(&format!(r#"<path d="M1 1{}"/>{rect}"#, "a1e12 1 0 0 1 1 1".repeat(n)))
    });
    family("chains of wide curves", &[10, 1_000, 100_000], |n| {
        let curves = "C1e9 0 0 1e9 1 1".repeat(n);
        svg(&format!(r#"<path d="M1 1{curves}" stroke="red" stroke-width="2"/>{rect}"#))
    });
    for word in ["NaN", "inf", "-inf", "1e999", "0x10", "", "--1", "1e", "٣"] {
        let drawing =
            svg(&format!(r#"<path d="M{word} 1L2 {word}Z"/><rect x="{word}" width="{word}" height="9"/>{rect}"#));
        tame("words for numbers", word.len(), drawing.as_bytes(), &[]);
        tame("words for sizes", word.len(), sized(word, word, word, rect).as_bytes(), &[]);
    }
}

#[test]
fn bytes() {
    let whole = svg(r#"<rect x="20" y="20" width="30" height="30"/><text>é</text>"#);
    for cut in (0..whole.len()).step_by(whole.len() / 12) {
        tame("cut", cut, &whole.as_bytes()[..cut], &[]);
    }
    for place in (0..whole.len()).step_by(whole.len() / 12) {
        let mut broken = whole.clone().into_bytes();
        broken[place] = 0xff;
        tame("broken byte", place, &broken, &[]);
    }
    for size in [1, 100, 100_000] {
        tame("noise", size, &(0..size).map(|i| (i * i * 31 + i * 7) as u8).collect::<Vec<_>>(), &[]);
        tame("zeroes", size, &vec![0; size], &[]);
        tame("brackets", size, "<".repeat(size).as_bytes(), &[]);
    }
}

#[test]
fn methods() {
    let star = |n: usize| {
        let step = n / 2;
        repeated(n, |i| {
            let (sin, cos) = ((i * step % n) as f64 * std::f64::consts::TAU / n as f64).sin_cos();
            format!(" {:.3},{:.3}", 50.0 + 45.0 * cos, 50.0 + 45.0 * sin)
        })
    };
    for method in ["run", "satin", "fill"] {
        for size in [5, 31, 201] {
            let drawing = svg(&format!(r#"<polygon fill-rule="evenodd" points="{}"/>"#, star(size)));
            let folder = tempfile::tempdir().unwrap();
            let recipe = folder.path().join("r.toml");
            std::fs::write(&recipe, format!("[[rule]]\nmethod = \"{method}\"\n")).unwrap();
            tame(method, size, drawing.as_bytes(), &["-r", recipe.to_str().unwrap()]);
        }
    }
}
