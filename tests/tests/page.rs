//! The page that sews a design, opened from disk in a real browser.
//!
//! Needs Chromium and its driver. Where they are missing the tests say that
//! they did not run; with `CI` set they fail.

use laidwork_plan::{Color, Method, Pass, PassKind, Piece, Plan, Point, Thread};
use laidwork_report::{DensityGrid, ReportSettings, report};
use laidwork_tests::browser::{Browser, on_browser};
use laidwork_thread::{Chart, Need, Pace, Wishes, select};
use laidwork_view::{Colourway, Look, Setup, contact_sheet, html, thread_card, worksheet};
use std::time::{Duration, Instant};

const HOSTILE: &str = "</script><script>alert(1)</script>";
const BOLD: &str = "<img src=x onerror=alert(2)> & \"leaf\"";

fn thread(color: Color, name: Option<&str>) -> Thread {
    Thread { color, name: name.map(str::to_owned) }
}

/// Rows of stitches over a square, with its upper left corner at (`left`, 0).
fn square(left: f64, rows: u32) -> Vec<Point> {
    let row = |row: u32| {
        let columns = (0..6).map(move |i| if row.is_multiple_of(2) { i } else { 5 - i });
        columns.map(move |i| Point::new(left + f64::from(i) * 2.0, f64::from(row) * 0.22))
    };
    (0..rows).flat_map(row).collect()
}

/// Three pieces in two threads, with a trim, a jump that was cut, and a float.
fn plan() -> Plan {
    let mut first = Pass::after_jump(PassKind::Top, square(0.0, 40));
    first.trim = true;
    let second =
        vec![Pass::after_jump(PassKind::Underlay, square(15.0, 4)), Pass::new(PassKind::Top, square(15.0, 60))];
    let third = vec![Pass::after_jump(PassKind::Top, square(28.0, 10))];
    let piece = |name: &str, thread, passes| Piece { name: name.into(), method: Method::Fill, thread, passes };
    Plan {
        title: Some(HOSTILE.into()),
        threads: vec![thread(Color::new(224, 162, 27), Some(HOSTILE)), thread(Color::new(47, 93, 52), None)],
        pieces: vec![piece(HOSTILE, 0, vec![first]), piece(BOLD, 1, second), piece("third", 1, third)],
        ..Plan::default()
    }
}

/// The page of a plan, open in a browser of a window `width` by `height`.
fn open(browser: &Browser, plan: &Plan) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("page.html");
    std::fs::write(&path, html(plan, &Look::default(), &Pace::default()).unwrap()).unwrap();
    browser.open(&path);
    folder
}

fn text(browser: &Browser, id: &str) -> String {
    browser.run(&format!("return document.getElementById('{id}').textContent")).as_str().unwrap().to_owned()
}

fn wait_until(browser: &Browser, what: &str, condition: &str) {
    let start = Instant::now();
    while browser.run(&format!("return Boolean({condition})")) != true {
        assert!(start.elapsed() < Duration::from_secs(60), "waited in vain for {what}");
        std::thread::sleep(Duration::from_millis(50));
    }
}

/// Tells how many pixels of the sewn canvas are clearly of another colour than the fabric around.
const SEWN_PIXELS: &str = "const sewn = document.getElementById('sewn');
    const c = Object.assign(document.createElement('canvas'), { width: sewn.width, height: sewn.height });
    const copy = c.getContext('2d', { willReadFrequently: true });
    copy.drawImage(sewn, 0, 0);
    const p = copy.getImageData(0, 0, c.width, c.height).data;
    let n = 0;
    for (let i = 0; i < p.length; i += 4) if (Math.max(p[i], p[i + 1], p[i + 2]) - Math.min(p[i], p[i + 1], p[i + 2]) > 40) n++;
    return n;";

#[test]
fn it_opens_from_disk_with_the_counts_of_the_plan() {
    on_browser(1280, 800, |browser| {
        let plan = plan();
        let _folder = open(browser, &plan);
        assert_eq!(text(browser, "total"), plan.stitches().to_string());
        assert_eq!(text(browser, "count"), plan.stitches().to_string());
        assert_eq!(browser.run("return document.querySelectorAll('#pieces button').length"), plan.pieces.len());
        let figures = browser.run("return [...document.querySelectorAll('#pieces .figures')].map(e => e.textContent)");
        for (piece, line) in plan.pieces.iter().zip(figures.as_array().unwrap()) {
            let count: usize = piece.passes.iter().map(|pass| pass.points.len()).sum();
            assert!(line.as_str().unwrap().contains(&format!("{count}\u{a0}stitches")), "{line}");
        }
        wait_until(browser, "the finished picture", &format!("(() => {{ {SEWN_PIXELS} }})() > 2000"));
        assert_eq!(browser.complaints(), Vec::<String>::new());
    });
}

#[test]
fn names_stay_text() {
    on_browser(1280, 800, |browser| {
        let _folder = open(browser, &plan());
        assert_eq!(text(browser, "title"), HOSTILE);
        assert_eq!(browser.run("return document.title"), HOSTILE);
        let names = browser.run("return [...document.querySelectorAll('#pieces .name')].map(e => e.textContent)");
        assert_eq!(names, serde_json::json!([HOSTILE, BOLD, "third"]));
        assert_eq!(browser.run("return document.querySelectorAll('script').length"), 2);
        assert_eq!(browser.run("return document.querySelectorAll('img').length"), 0);
        // An alert would block this very call.
        assert_eq!(browser.complaints(), Vec::<String>::new());
    });
}

#[test]
fn it_sews_to_the_end() {
    on_browser(1280, 800, |browser| {
        let plan = plan();
        let _folder = open(browser, &plan);
        browser.run("document.getElementById('play').click()");
        wait_until(browser, "the first stitches", "document.body.dataset.state === 'playing'");
        let early: usize = text(browser, "count").parse().unwrap();
        assert!(early < plan.stitches(), "{early} at once");
        browser.run("const s = document.getElementById('speed'); s.value = 100; s.dispatchEvent(new Event('input'))");
        wait_until(browser, "the end", "document.body.dataset.state === 'finished'");
        assert_eq!(text(browser, "count"), plan.stitches().to_string());
        assert_eq!(text(browser, "left"), "done");
        assert_eq!(browser.complaints(), Vec::<String>::new());
    });
}

#[test]
fn time_can_be_dragged_both_ways() {
    on_browser(1280, 800, |browser| {
        let _folder = open(browser, &plan());
        let go = |stitch: u32| {
            browser.run(&format!(
                "const t = document.getElementById('time'); t.value = {stitch}; t.dispatchEvent(new Event('input'))"
            ));
            wait_until(
                browser,
                "the place in time",
                &format!("document.getElementById('count').textContent === '{stitch}'"),
            );
        };
        let full = browser.run(SEWN_PIXELS).as_u64().unwrap();
        go(0);
        wait_until(browser, "bare fabric", &format!("(() => {{ {SEWN_PIXELS} }})() === 0"));
        go(240); // the first piece
        wait_until(browser, "one piece", &format!("(() => {{ {SEWN_PIXELS} }})() > 500"));
        assert!(browser.run(SEWN_PIXELS).as_u64().unwrap() < full * 3 / 4);
        assert_eq!(text(browser, "thread"), HOSTILE);
        browser.run("document.getElementById('ahead').click()");
        wait_until(browser, "the next piece", "document.getElementById('count').textContent === '624'");
        assert_eq!(browser.complaints(), Vec::<String>::new());
    });
}

#[test]
fn its_density_is_that_of_the_report() {
    on_browser(1280, 800, |browser| {
        let plan = plan();
        let _folder = open(browser, &plan);
        browser.run("document.getElementById('density').click()");
        let grid = DensityGrid::of(&plan, 2.0).unwrap();
        let most = (0..grid.thread_mm.len()).map(|cell| grid.thread_density(cell)).fold(0.0, f64::max);
        assert!(most > 4.0);
        assert_eq!(text(browser, "density-most"), format!("– most {most:.1}"));
    });
}

#[test]
fn the_keyboard_does_it_all() {
    on_browser(1280, 800, |browser| {
        let plan = plan();
        let _folder = open(browser, &plan);
        let count = |expected: usize| {
            wait_until(browser, "the count", &format!("document.getElementById('count').textContent === '{expected}'"));
        };
        browser.press("p");
        count(624);
        browser.press(",");
        count(623);
        browser.press("n");
        count(624);
        browser.press("\u{e011}"); // Home
        count(0);
        browser.press(" ");
        wait_until(browser, "sewing", "document.body.dataset.state === 'playing'");
        browser.press(" ");
        wait_until(browser, "a pause", "document.body.dataset.state === 'paused'");
        browser.press("\u{e010}"); // End
        count(plan.stitches());
    });
}

#[test]
fn every_control_has_a_name_and_nothing_is_wider_than_a_phone() {
    on_browser(390, 844, |browser| {
        let _folder = open(browser, &plan());
        let nameless = browser.run(
            "return [...document.querySelectorAll('button, input, canvas:not([aria-hidden]):not(#sewn)')]
               .filter(e => !(e.getAttribute('aria-label') || e.textContent.trim() || e.closest('label')?.textContent.trim()))
               .map(e => e.outerHTML)",
        );
        assert_eq!(nameless, serde_json::json!([]));
        let wide = browser.run("return document.documentElement.scrollWidth - window.innerWidth");
        assert_eq!(wide, 0);
    });
}

#[test]
fn sheets_without_scripts_keep_to_their_policy_and_to_a_phone() {
    let plan = plan();
    let (look, figures) = (Look::default(), report(&plan, &ReportSettings::default()));
    let colors = ["#22304f", "#efe6d0", "#e2725b"].map(|color| color.parse().unwrap());
    let ways = colors.map(|fabric| Colourway { name: HOSTILE, plan: &plan, fabric });
    let chart =
        Chart::read(b"code,name,colour,tex,left\na,<b>Ash,#707070,27,1\nb,Bay,#305030,27,\n".as_slice()).unwrap();
    let need = |thread: &Thread| Need {
        color: thread.color,
        name: thread.name.clone(),
        pieces: vec![BOLD.into()],
        metres: 2.0,
    };
    let needs: Vec<Need> = plan.threads.iter().map(need).collect();
    let wishes = Wishes { fabrics: &colors, offers: 2, at_most: None };
    let sheets = [
        worksheet(&plan, &figures, &Setup::default(), &look).unwrap(),
        contact_sheet(&ways, &look).unwrap(),
        thread_card(&select(&chart, &needs, &[(0, 1)], &wishes).unwrap().value, HOSTILE),
    ];
    for (width, height) in [(390, 844), (1280, 800)] {
        on_browser(width, height, |browser| {
            for sheet in &sheets {
                let folder = tempfile::tempdir().unwrap();
                let path = folder.path().join("sheet.html");
                std::fs::write(&path, sheet).unwrap();
                browser.open(&path);
                assert_eq!(browser.run("return document.documentElement.scrollWidth - window.innerWidth"), 0);
                assert_eq!(browser.run("return document.querySelectorAll('script').length"), 0);
                let broken = "return [...document.images].filter(i => !i.complete || !i.naturalWidth).length";
                assert_eq!(browser.run(broken), 0);
                let styled = "return getComputedStyle(document.querySelector('h1')).marginTop";
                assert_eq!(browser.run(styled), "0px", "the style was refused");
                assert_eq!(browser.complaints(), Vec::<String>::new());
            }
        });
    }
}

#[test]
fn an_empty_plan_is_a_page_too() {
    on_browser(1280, 800, |browser| {
        let _folder = open(browser, &Plan::default());
        assert_eq!(text(browser, "total"), "0");
        browser.run("document.getElementById('play').click(); document.getElementById('density').click()");
        browser.press("n");
        assert_eq!(browser.complaints(), Vec::<String>::new());
    });
}
