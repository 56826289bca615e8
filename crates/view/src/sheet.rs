//! The worksheet: what lies beside the machine while a design is sewn.
//!
//! One HTML file for printing on A4, without scripts and without a network:
//! threads in order with what each takes, a picture of the design after each of
//! them, what was checked, and the cautions. Every name is escaped.

use crate::frame::Frame;
use crate::markup::{escape, fill, hash, image, swatch};
use crate::raster::pack;
use crate::sewn::Sewing;
use crate::{Error, Look};
use base64::{Engine, engine::general_purpose::STANDARD};
use laidwork_plan::{Plan, Segment};
use laidwork_report::{CAUTIONS, Check, Report, Step, Tally, Verdict};

const TEMPLATE: &str = include_str!("page/sheet.html");
const STYLE: &str = include_str!("page/sheet.css");

/// Pixels along the longer side of the design's picture.
const PICTURE: f64 = 640.0;

/// Pixels along the longer side of the picture after a thread.
const THUMBNAIL: f64 = 180.0;

/// So many pictures after a thread at most, lest the file grow beyond printing.
const MOST_THUMBNAILS: usize = 60;

/// What is to be set up besides the design. What is not known is left out.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Setup {
    /// Name of the fabric.
    pub material: Option<String>,
    /// What lies behind it.
    pub backing: Option<String>,
    /// What lies on top of it.
    pub topping: Option<String>,
    /// Needle to use.
    pub needle: Option<String>,
    /// How fast to sew.
    pub speed: Option<String>,
}

/// The worksheet of `plan`, whose `report` it prints.
///
/// Of the look it takes the fabric, its weave and the width of the thread.
///
/// # Errors
/// [`Error::Look`] for a look out of range, [`Error::Pack`] when a picture cannot be packed.
pub fn worksheet(plan: &Plan, report: &Report, setup: &Setup, look: &Look) -> Result<String, Error> {
    look.check()?;
    let segments = segments(plan);
    let all = plan.pieces.len();
    let picture = pictures(plan, &segments, &[all], look, PICTURE)?;
    let ends: Vec<usize> = report.steps.iter().take(MOST_THUMBNAILS).map(|step| step.last_piece).collect();
    let thumbnails = pictures(plan, &segments, &ends, look, THUMBNAIL)?;
    let title = escape(plan.title.as_deref().unwrap_or("Design"));
    let steps = report.steps.iter().enumerate().map(|(i, step)| step_row(plan, step, thumbnails.get(i)));
    let cautions = CAUTIONS.iter().map(|caution| format!("<li>{}</li>\n", escape(caution)));
    let (steps, cautions): (String, String) = (steps.collect(), cautions.collect());
    let checks: String = report.checks.iter().map(check_item).collect();
    let picture = picture.first().map(|data| image(data, "The finished design")).unwrap_or_default();
    Ok(fill(TEMPLATE, |place| match place {
        "title" => Some(title.clone()),
        "style" => Some(STYLE.to_owned()),
        "style-hash" => Some(hash(STYLE)),
        "facts" => Some(facts(report, setup)),
        "picture" => Some(picture.clone()),
        "steps" => Some(steps.clone()),
        "total" => Some(total_row(&report.total)),
        "checks" => Some(checks.clone()),
        "cautions" => Some(cautions.clone()),
        _ => None,
    }))
}

fn segments(plan: &Plan) -> Vec<Segment> {
    let mut segments = Vec::new();
    plan.for_each_segment(|segment| segments.push(segment));
    segments
}

/// The design after so many pieces each, as PNG files in base64, `side` pixels
/// along the longer side. `ends` must not fall. The thread is laid once.
fn pictures(plan: &Plan, segments: &[Segment], ends: &[usize], look: &Look, side: f64) -> Result<Vec<String>, Error> {
    let look = Look { margin: 2.5, weave: crate::Weave::Plain, ..look.clone() };
    let mut frame = Frame::around(plan, &look);
    frame.scale = side / frame.rect.width().max(frame.rect.height());
    let (width, height) = frame.pixels(crate::MOST_PIXELS)?;
    let mut sewing = Sewing::new(plan, frame, (width, height), &look);
    let mut rest = segments;
    let mut pictures = Vec::new();
    for &end in ends {
        let (now, later) = rest.split_at(rest.partition_point(|segment| segment.piece < end));
        now.iter().for_each(|segment| sewing.lay(segment));
        rest = later;
        pictures.push(STANDARD.encode(pack(width, height, &sewing.so_far(), look.finish)?));
    }
    Ok(pictures)
}

fn facts(report: &Report, setup: &Setup) -> String {
    let mut facts = String::new();
    let mut fact = |name: &str, value: Option<String>| {
        if let Some(value) = value {
            facts.push_str(&format!("<dt>{name}</dt><dd>{}</dd>\n", escape(&value)));
        }
    };
    let total = &report.total;
    fact("Size", report.size.map(|size| format!("{:.1} × {:.1} mm", size.width, size.height)));
    fact(
        "Hoop",
        report.hoop.map(|hoop| {
            let room = hoop.least();
            let fits =
                if room < 0.0 { format!("too small by {:.1} mm", -room) } else { format!("{room:.1} mm of room") };
            format!("{:.0} × {:.0} mm, {fits}", hoop.width, hoop.height)
        }),
    );
    fact("Fabric", setup.material.clone());
    fact("Backing", setup.backing.clone());
    fact("Topping", setup.topping.clone());
    fact("Needle", setup.needle.clone());
    fact("Speed", setup.speed.clone());
    fact("Stitches", Some(total.stitches.to_string()));
    fact("Time", Some(time(total.seconds)));
    fact("Top thread", Some(format!("{:.1} m", total.top_m)));
    fact("Bobbin thread", Some(format!("{:.1} m", total.bobbin_m)));
    fact("Thread changes", Some(total.thread_changes.to_string()));
    fact(
        "Density",
        report.density.as_ref().map(|density| {
            format!(
                "{:.1} mm/mm² on the whole, {:.1} at most; {:.1} and {:.1} needle points per mm²",
                density.thread_mean, density.thread_most.value, density.needle_mean, density.needle_most.value
            )
        }),
    );
    facts
}

fn step_row(plan: &Plan, step: &Step, thumbnail: Option<&String>) -> String {
    let thread = plan.threads.get(step.thread.saturating_sub(1));
    let color = thread.map_or(crate::paint::UNKNOWN, |thread| thread.color);
    let name = thread.and_then(|thread| thread.name.clone()).unwrap_or_else(|| format!("Thread {}", step.thread));
    let pieces = if step.first_piece == step.last_piece {
        step.first_piece.to_string()
    } else {
        format!("{} to {}", step.first_piece, step.last_piece)
    };
    let picture = thumbnail.map(|data| image(data, &format!("The design after {name}"))).unwrap_or_default();
    format!(
        "<tr><td><span class=\"tick\"></span></td>\
         <td>{}</td>\
         <td class=\"name\">{}<small>{}, {color}</small></td><td>{pieces}</td>{}<td>{picture}</td></tr>\n",
        swatch(color),
        escape(&name),
        step.thread,
        figures(&step.tally),
    )
}

fn total_row(total: &Tally) -> String {
    format!("<tr><td></td><td colspan=\"2\">All</td><td></td>{}<td></td></tr>\n", figures(total))
}

fn figures(tally: &Tally) -> String {
    let cells = [
        tally.stitches.to_string(),
        tally.trims.to_string(),
        tally.stops.to_string(),
        time(tally.seconds),
        format!("{:.1} m", tally.top_m),
        format!("{:.1} m", tally.bobbin_m),
    ];
    cells.iter().map(|cell| format!("<td class=\"n\">{cell}</td>")).collect()
}

fn check_item(check: &Check) -> String {
    let class = match check.verdict {
        Verdict::Ok => "verdict",
        Verdict::Thin | Verdict::Warn => "verdict mind",
        Verdict::TooMuch | Verdict::Broken => "verdict bad",
    };
    let mut item = format!(
        "<li><span class=\"{class}\">{}</span><span>{}: {}</span>",
        check.verdict.word(),
        escape(&check.name),
        escape(&check.found_where())
    );
    if let Some(advice) = &check.advice {
        item.push_str(&format!("<small>Allowed: {}; {}.</small>", escape(&check.allowed), escape(advice)));
    }
    item + "</li>\n"
}

/// Minutes and seconds, or hours and minutes.
fn time(seconds: f64) -> String {
    let seconds = seconds.round().max(0.0) as u64;
    match (seconds / 3600, seconds / 60 % 60, seconds % 60) {
        (0, 0, seconds) => format!("{seconds} s"),
        (0, minutes, seconds) => format!("{minutes} min {seconds:02} s"),
        (hours, minutes, _) => format!("{hours} h {minutes:02} min"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_plan::{Color, Hoop, Method, Pass, PassKind, Piece, Point, Thread};
    use laidwork_report::{ReportSettings, report};

    const HOSTILE: &str = "</style><script>alert(1)</script>&\"'";

    fn plan() -> Plan {
        let line = |y: f64| {
            let mut pass = Pass::after_jump(PassKind::Top, (0..9).map(|i| Point::new(f64::from(i), y)).collect());
            pass.trim = true;
            vec![pass]
        };
        let thread = |red, name: Option<&str>| Thread { color: Color::new(red, 20, 30), name: name.map(str::to_owned) };
        let piece = |thread, y| Piece { name: HOSTILE.into(), method: Method::Run, thread, passes: line(y) };
        Plan {
            title: Some(HOSTILE.into()),
            hoop: Some(Hoop { width: 100.0, height: 100.0 }),
            threads: vec![thread(200, Some(HOSTILE)), thread(90, None)],
            pieces: vec![piece(0, 0.0), piece(1, 3.0), piece(0, 6.0)],
            ..Plan::default()
        }
    }

    fn sheet(plan: &Plan) -> String {
        let setup = Setup { needle: Some("75/11 <sharp>".into()), ..Setup::default() };
        worksheet(plan, &report(plan, &ReportSettings::default()), &setup, &Look::default()).unwrap()
    }

    #[test]
    fn it_has_a_row_and_a_picture_for_every_step() {
        let text = sheet(&plan());
        assert_eq!(text.matches("class=\"tick\"").count(), 3);
        assert_eq!(text.matches("<img ").count(), 4);
        assert!(text.contains("#c8141e") && text.contains("#5a141e"));
    }

    #[test]
    fn the_pictures_show_more_with_every_step() {
        let plan = plan();
        let pictures = pictures(&plan, &segments(&plan), &[0, 1, 2, 3], &Look::default(), 100.0).unwrap();
        assert_eq!(pictures.len(), 4);
        assert!(pictures.windows(2).all(|pair| pair[0] != pair[1]));
    }

    #[test]
    fn names_never_become_markup() {
        let text = sheet(&plan());
        assert_eq!(text.matches("<script").count(), 0);
        assert_eq!(text.matches("</style").count(), 1);
        assert!(text.contains("75/11 &lt;sharp&gt;"));
        assert!(text.contains("&lt;/style&gt;&lt;script&gt;alert(1)&lt;/script&gt;&amp;&quot;&#39;"));
    }

    #[test]
    fn it_warns_of_what_may_hurt() {
        let text = sheet(&plan());
        assert!(CAUTIONS.iter().all(|caution| text.contains(&escape(caution))));
        assert!(text.contains("eye protection"));
    }

    #[test]
    fn checks_say_where() {
        let mut plan = plan();
        plan.pieces[1].passes[0].points.push(Point::new(40.0, 3.0));
        let report = report(&plan, &ReportSettings::default());
        let long =
            report.checks.iter().find(|check| check.verdict == Verdict::TooMuch && check.place.is_some()).unwrap();
        assert!(long.found_where().len() > long.found.len());
        assert!(sheet(&plan).contains(&escape(&long.found_where())));
    }

    #[test]
    fn an_empty_plan_has_a_worksheet() {
        assert!(sheet(&Plan::default()).contains("<h1>Design</h1>"));
    }
}
