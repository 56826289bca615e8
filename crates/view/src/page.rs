//! The page that sews the design: one file that works from disk without a network.
//!
//! The plan goes into the page as data, never as markup: names are JSON strings
//! in which every `<` is escaped, and the page's script puts them on screen as
//! text. A content security policy lets nothing run or load but the page's own
//! script and style, named by their hashes.

use crate::diagram::CELL;
use crate::markup::{escape, fill, hash};
use crate::ramp::ramp;
use crate::{Error, Look, Weave, pack};
use base64::{Engine, engine::general_purpose::STANDARD};
use laidwork_plan::{Color, Plan};
use laidwork_thread::Pace;
use serde::Serialize;

const TEMPLATE: &str = include_str!("page/page.html");
const STYLE: &str = include_str!("page/page.css");
const SCRIPT: &str = concat!(
    "(() => {\n'use strict';\n",
    include_str!("page/unpack.js"),
    include_str!("page/draw.js"),
    include_str!("page/overlay.js"),
    include_str!("page/play.js"),
    include_str!("page/start.js"),
    "})();\n",
);

/// Colours of the density map.
const SHADES: u32 = 64;

/// What the page's script reads.
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Design<'a> {
    title: Option<&'a str>,
    stitches: usize,
    fabric: String,
    woven: bool,
    thread_width: f64,
    threads: Vec<ThreadData<'a>>,
    pieces: Vec<PieceData<'a>>,
    pace: PaceData,
    limits: LimitsData,
    ramp: Vec<String>,
    passes: String,
}

#[derive(Serialize)]
struct ThreadData<'a> {
    color: String,
    name: Option<&'a str>,
}

#[derive(Serialize)]
struct PieceData<'a> {
    name: &'a str,
    method: &'static str,
    thread: usize,
    passes: usize,
}

#[derive(Serialize)]
struct PaceData {
    /// Stitches a minute.
    stitches: f64,
    /// Seconds a trim.
    trim: f64,
    /// Seconds a change of thread.
    change: f64,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct LimitsData {
    warn: f64,
    too_much: f64,
    cell: f64,
}

/// A page that sews `plan`, for any browser of these years.
///
/// Of the look it takes the fabric, its weave, the width of the thread and the
/// limits of density; time counts at `pace`.
///
/// # Errors
/// [`Error::Look`] for a look out of range, [`Error::Pack`] when the plan cannot be written as JSON.
pub fn html(plan: &Plan, look: &Look, pace: &Pace) -> Result<String, Error> {
    look.check()?;
    let design = design(plan, look, pace);
    let json = serde_json::to_string(&design).map_err(|error| Error::Pack(error.to_string()))?;
    let title = plan.title.as_deref().unwrap_or("Design");
    Ok(fill(TEMPLATE, |place| match place {
        "script-hash" => Some(hash(SCRIPT)),
        "style-hash" => Some(hash(STYLE)),
        "title" => Some(escape(title)),
        "style" => Some(STYLE.to_owned()),
        // `<` occurs in JSON only inside strings, where this is the same letter.
        "design" => Some(json.replace('<', "\\u003c")),
        "script" => Some(SCRIPT.to_owned()),
        _ => None,
    }))
}

fn design<'a>(plan: &'a Plan, look: &Look, pace: &Pace) -> Design<'a> {
    let thread = |thread: &'a laidwork_plan::Thread| ThreadData {
        color: thread.color.to_string(),
        name: thread.name.as_deref(),
    };
    let piece = |piece: &'a laidwork_plan::Piece| PieceData {
        name: &piece.name,
        method: piece.method.word(),
        thread: piece.thread,
        passes: piece.passes.len(),
    };
    let shade = |i: u32| -> Color { ramp((f64::from(i) + 0.5) / f64::from(SHADES)) };
    Design {
        title: plan.title.as_deref(),
        stitches: plan.stitches(),
        fabric: look.fabric.to_string(),
        woven: look.weave == Weave::Woven,
        thread_width: look.thread_width,
        threads: plan.threads.iter().map(thread).collect(),
        pieces: plan.pieces.iter().map(piece).collect(),
        pace: PaceData { stitches: pace.stitches_per_minute, trim: pace.trim, change: pace.change },
        limits: LimitsData { warn: look.limits.thread_warn, too_much: look.limits.thread_most, cell: CELL },
        ramp: (0..SHADES).map(|i| shade(i).to_string()).collect(),
        passes: STANDARD.encode(pack::pack(plan)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_plan::{Method, Pass, PassKind, Piece, Point, Thread};

    const HOSTILE: &str = "</script><script>alert(1)</script><!--{script}";

    fn plan(stitches: u32) -> Plan {
        let points = (0..stitches).map(|i| Point::new(f64::from(i % 100) * 0.9, f64::from(i / 100) * 0.22)).collect();
        let passes = vec![Pass::after_jump(PassKind::Top, points)];
        Plan {
            title: Some(HOSTILE.into()),
            threads: vec![Thread { color: Color::new(200, 30, 30), name: Some(HOSTILE.into()) }],
            pieces: vec![Piece { name: HOSTILE.into(), method: Method::Fill, thread: 0, passes }],
            ..Plan::default()
        }
    }

    #[test]
    fn names_never_become_markup() {
        let page = html(&plan(3), &Look::default(), &Pace::default()).unwrap();
        assert!(!page.contains("<script>alert"));
        assert_eq!(page.matches("<script").count(), 2);
        assert_eq!(page.matches("</script").count(), 2);
        assert_eq!(page.matches("<!--").count(), 0);
    }

    #[test]
    fn names_come_back_as_they_were() {
        let page = html(&plan(3), &Look::default(), &Pace::default()).unwrap();
        let json = page.split_once("id=\"design\">").unwrap().1.split_once("</script>").unwrap().0;
        let design: serde_json::Value = serde_json::from_str(json).unwrap();
        assert_eq!(design["pieces"][0]["name"], HOSTILE);
        assert_eq!(design["threads"][0]["name"], HOSTILE);
        assert_eq!(design["stitches"], 3);
    }

    #[test]
    fn the_page_asks_for_nothing_from_outside() {
        let page = html(&plan(3), &Look::default(), &Pace::default()).unwrap();
        assert!(page.contains("default-src 'none'"));
        for word in ["http://", "https://", "src=", "@import", "url("] {
            assert!(!page.contains(word), "{word}");
        }
    }

    #[test]
    fn the_policy_names_the_script_and_style_it_holds() {
        let page = html(&plan(3), &Look::default(), &Pace::default()).unwrap();
        let between = |from: &str, to: &str| page.split_once(from).unwrap().1.split_once(to).unwrap().0;
        assert!(page.contains(&format!("style-src '{}'", hash(between("<style>", "</style>")))));
        assert!(page.contains(&format!("script-src '{}'", hash(between("<script>", "</script>")))));
    }

    #[test]
    fn fifty_thousand_stitches_stay_under_a_megabyte() {
        let page = html(&plan(50_000), &Look::default(), &Pace::default()).unwrap();
        assert!(page.len() < 1_000_000, "{} bytes", page.len());
    }
}
