//! The page of `laidwork tune`: what it lets in, and what it does in a real browser.
//!
//! The tests in a browser need Chromium and its driver. Where they are missing
//! they say that they did not run; with `CI` set they fail.

use laidwork_report::ReportSettings;
use laidwork_tests::browser::{Browser, on_browser};
use laidwork_tune::{Serving, Tuner, serve};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

const DRAWING: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="20mm" viewBox="0 0 30 20">
    <rect id="leaf" x="2" y="4" width="12" height="12" fill="#4f8a3c"/>
    <g id="&lt;b&gt;"><circle id="seed" cx="22" cy="10" r="5" fill="#6b3f1d"/></g></svg>"##;

const RECIPE: &str =
    "# Kept by hand.\n[design]\nmaterial = \"canvas\"\n\n[[rule]]            # both\nmethod = \"fill\"\n";

/// A page being served, and the recipe it writes into.
struct Bench {
    serving: Serving,
    recipe: PathBuf,
    _folder: tempfile::TempDir,
}

impl Bench {
    fn new() -> Bench {
        let folder = tempfile::tempdir().unwrap();
        let recipe = folder.path().join("leaf.toml");
        std::fs::write(&recipe, RECIPE).unwrap();
        let drawing = laidwork_drawing::read(DRAWING.as_bytes(), &laidwork_drawing::Options::default()).unwrap().value;
        let tuner = Tuner::new(drawing, "leaf.toml", RECIPE, |_, _| ReportSettings::default()).unwrap();
        let path = recipe.clone();
        let read = {
            let path = recipe.clone();
            move || std::fs::read_to_string(&path).map_err(|error| error.to_string())
        };
        let write = move |before: &str, after: &str| {
            assert_eq!(std::fs::read_to_string(&path).unwrap(), before);
            std::fs::write(&path, after).map_err(|error| error.to_string())
        };
        Bench { serving: serve(tuner, read, write).unwrap(), recipe, _folder: folder }
    }

    fn written(&self) -> String {
        std::fs::read_to_string(&self.recipe).unwrap()
    }

    fn port(&self) -> u16 {
        self.serving.url().split([':', '/']).nth(4).unwrap().parse().unwrap()
    }

    fn token(&self) -> &str {
        self.serving.url().split('/').nth(3).unwrap()
    }

    /// The status a request is answered with, and its whole answer.
    fn ask(&self, method: &str, path: &str, headers: &str, body: &str) -> (u16, String) {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port())).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
        let length = body.len();
        write!(
            stream,
            "{method} {path} HTTP/1.1\r\n{headers}Content-Length: {length}\r\nConnection: close\r\n\r\n{body}"
        )
        .unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        (answer.split(' ').nth(1).unwrap().parse().unwrap(), answer)
    }
}

const SPACED: &str = r#"{"changes":[{"shape":"leaf","key":"spacing","value":0.4}]}"#;

#[test]
fn the_page_is_given_to_who_knows_its_address() {
    let bench = Bench::new();
    let (port, token) = (bench.port(), bench.token());
    let host = format!("Host: 127.0.0.1:{port}\r\n");
    let (status, answer) = bench.ask("GET", &format!("/{token}/"), &host, "");
    assert_eq!(status, 200);
    assert!(answer.contains("frame-ancestors 'none'") && answer.contains("no-referrer"), "{answer}");
    let own = format!("{host}Origin: http://127.0.0.1:{port}\r\n");
    assert_eq!(bench.ask("POST", &format!("/{token}/try"), &own, SPACED).0, 200);
    assert_eq!(bench.ask("POST", &format!("/{token}/try"), &own, "{}").0, 422);
    let strange = SPACED.replace("leaf", "laef");
    assert_eq!(bench.ask("POST", &format!("/{token}/write"), &own, &strange).0, 422);
    let wild = r#"{"changes":[{"shape":null,"key":"title","value":"x"}]}"#;
    assert_eq!(bench.ask("POST", &format!("/{token}/write"), &own, wild).0, 422);
    assert_eq!(bench.ask("GET", &format!("/{token}/../../etc/passwd"), &host, "").0, 404);
    assert_eq!(bench.written(), RECIPE);
}

#[test]
fn a_page_that_is_loaded_shows_the_recipe_as_it_stands() {
    let bench = Bench::new();
    std::fs::write(&bench.recipe, "[[rule]]\nmatch = \"leaf\"\nunderlay = [\"edge-run\"]\n").unwrap();
    let host = format!("Host: 127.0.0.1:{}\r\n", bench.port());
    let design = format!("/{}/design", bench.token());
    let (status, answer) = bench.ask("GET", &design, &host, "");
    assert_eq!(status, 200);
    assert!(answer.contains(r#""underlay":["edge-run"]"#) && answer.contains(r#""underlay":null"#), "{answer}");
    std::fs::write(&bench.recipe, "[[rule").unwrap();
    assert_eq!(bench.ask("GET", &design, &host, "").0, 422);
}

#[test]
fn a_wrong_token_host_or_origin_is_refused() {
    let bench = Bench::new();
    let (port, token) = (bench.port(), bench.token().to_owned());
    let wrong = format!("{}{}", if token.starts_with('0') { "1" } else { "0" }, &token[1..]);
    let host = format!("Host: 127.0.0.1:{port}\r\n");
    let own = format!("{host}Origin: http://127.0.0.1:{port}\r\n");
    for path in ["/".to_owned(), format!("/{wrong}/"), "/write".into(), format!("/{wrong}/write")] {
        assert_eq!(bench.ask("GET", &path, &host, "").0, 403, "{path}");
        assert_eq!(bench.ask("POST", &path, &own, SPACED).0, 403, "{path}");
    }
    for headers in [
        String::new(),
        host.clone(),
        format!("Host: evil.example:{port}\r\nOrigin: http://127.0.0.1:{port}\r\n"),
        format!("Host: localhost:{port}\r\nOrigin: http://127.0.0.1:{port}\r\n"),
        format!("{host}Origin: http://evil.example\r\n"),
        format!("{host}Origin: null\r\n"),
        format!("{host}Origin: http://127.0.0.1:{}\r\n", port ^ 1),
    ] {
        for path in ["write", "try"] {
            assert_eq!(bench.ask("POST", &format!("/{token}/{path}"), &headers, SPACED).0, 403, "{headers}");
        }
    }
    assert_eq!(bench.written(), RECIPE);
}

fn wait_until(browser: &Browser, what: &str, condition: &str) {
    let start = Instant::now();
    while browser.run(&format!("return Boolean({condition})")) != true {
        assert!(start.elapsed() < Duration::from_secs(60), "waited in vain for {what}: {:?}", browser.complaints());
        std::thread::sleep(Duration::from_millis(50));
    }
}

/// The page, with both settings shown.
fn open(browser: &Browser, bench: &Bench) {
    browser.visit(bench.serving.url());
    wait_until(browser, "both settings", "[0, 1].every(i => document.getElementById(`picture-${i}`).src.length > 100)");
}

fn text(browser: &Browser, id: &str) -> String {
    browser.run(&format!("return document.getElementById('{id}').textContent")).as_str().unwrap().to_owned()
}

fn slide(browser: &Browser, key: &str, value: f64) {
    browser.run(&format!(
        "const s = document.getElementById('knob-{key}'); s.value = {value}; s.dispatchEvent(new Event('input'))"
    ));
}

fn pick(browser: &Browser, id: &str, value: &str) {
    browser.run(&format!(
        "const s = document.getElementById('{id}'); s.value = '{value}'; s.dispatchEvent(new Event('input'))"
    ));
}

#[test]
fn a_setting_is_tried_and_written_with_comments_kept() {
    on_browser(1280, 900, |browser| {
        let bench = Bench::new();
        open(browser, &bench);
        assert_eq!(text(browser, "figures-0"), text(browser, "figures-1"));
        pick(browser, "shape", "leaf");
        slide(browser, "spacing", 0.5);
        wait_until(
            browser,
            "other figures",
            "document.getElementById('figures-0').textContent !== document.getElementById('figures-1').textContent",
        );
        wait_until(browser, "its lines", "document.getElementById('lines').textContent.includes('spacing = 0.5')");
        let differ = |name: &str| {
            let same =
                format!("return document.getElementById('{name}-0').src === document.getElementById('{name}-1').src");
            assert_eq!(browser.run(&same), false, "{name}");
        };
        ["picture", "density", "bare"].into_iter().for_each(differ);
        assert_eq!(bench.written(), RECIPE);
        browser.run("document.getElementById('write').click()");
        wait_until(browser, "the recipe", "document.getElementById('said').textContent.startsWith('Written')");
        assert_eq!(bench.written(), format!("{RECIPE}\n[[rule]]\nmatch = \"leaf\"\nspacing = 0.5\n"));
        wait_until(
            browser,
            "both sides alike",
            "document.getElementById('figures-0').textContent === document.getElementById('figures-1').textContent",
        );
        assert_eq!(browser.complaints(), Vec::<String>::new());
    });
}

#[test]
fn two_settings_lie_side_by_side() {
    on_browser(1280, 900, |browser| {
        let bench = Bench::new();
        open(browser, &bench);
        browser.run("document.querySelector('[name=side][value=\"1\"]').click()");
        pick(browser, "knob-material", "towel");
        pick(browser, "knob-underlay", "");
        slide(browser, "angle", 45.0);
        wait_until(browser, "another picture", "document.getElementById('lines').textContent.includes('angle = 45')");
        let lines = text(browser, "lines");
        for line in ["material = \"towel\"", "underlay = []", "angle = 45.0"] {
            assert!(lines.contains(line), "{lines}");
        }
        assert_ne!(text(browser, "figures-0"), text(browser, "figures-1"));
        browser.run("document.getElementById('reset').click()");
        wait_until(
            browser,
            "the recipe's own",
            "document.getElementById('figures-0').textContent === document.getElementById('figures-1').textContent",
        );
        assert_eq!(bench.written(), RECIPE);
        assert_eq!(browser.complaints(), Vec::<String>::new());
    });
}

#[test]
fn it_fits_a_phone_and_names_stay_text() {
    on_browser(390, 844, |browser| {
        let bench = Bench::new();
        open(browser, &bench);
        assert_eq!(browser.run("return document.documentElement.scrollWidth - window.innerWidth"), 0);
        // Knobs are at hand while both pictures are in sight.
        let shown = "const box = id => document.getElementById(id).getBoundingClientRect();
            const knobs = document.querySelector('.bench').getBoundingClientRect();
            return box('picture-0').top >= 0 && box('picture-0').top === box('picture-1').top
                && box('picture-0').bottom < knobs.top && knobs.bottom <= innerHeight && box('shape').bottom < innerHeight";
        assert_eq!(browser.run(shown), true);
        let names = browser.run("return [...document.querySelectorAll('#shape option')].map(o => o.value)");
        assert_eq!(names, serde_json::json!(["", "leaf", "<b>/seed"]));
        assert_eq!(browser.run("return document.querySelectorAll('#shape b').length"), 0);
        let nameless = browser.run(
            "return [...document.querySelectorAll('button, input, select')]
               .filter(e => !(e.getAttribute('aria-label') || e.textContent.trim() || e.labels && e.labels.length)).length",
        );
        assert_eq!(nameless, 0);
    });
}

/// Keeps the fixture this page is measured with where it is looked for.
#[test]
fn the_garden_patch_can_be_tuned() {
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures");
    let svg = std::fs::read(fixtures.join("drawings/garden-patch.svg")).unwrap();
    let text = std::fs::read_to_string(fixtures.join("recipes/garden-patch.toml")).unwrap();
    let drawing = laidwork_drawing::read(&svg, &laidwork_drawing::Options::default()).unwrap().value;
    let tuner = Tuner::new(drawing, "garden-patch.toml", &text, |_, _| ReportSettings::default()).unwrap();
    let trial = tuner.trial(&[]).unwrap();
    assert!(trial.coverage > 0.97, "{}", trial.coverage);
    assert!(trial.shapes.iter().flatten().count() > 15);
}
