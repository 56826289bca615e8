//! What a report is held against, and what to do about what it finds.

use crate::{Limits, PieceFigures, Report, Spot};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How a figure compares with its limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// As it should be.
    Ok,
    /// The fabric may show through.
    Thin,
    /// It may do; try it on a scrap.
    Warn,
    /// It will break thread or fabric.
    TooMuch,
    /// The plan does not keep what it promises.
    Broken,
}

impl Verdict {
    /// The word for it in reports.
    pub const fn word(self) -> &'static str {
        match self {
            Verdict::Ok => "ok",
            Verdict::Thin => "thin",
            Verdict::Warn => "warn",
            Verdict::TooMuch => "too much",
            Verdict::Broken => "broken",
        }
    }
}

/// Where a check found what it found.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Place {
    /// mm; none when it concerns whole pieces.
    pub x: Option<f64>,
    /// mm.
    pub y: Option<f64>,
    /// Numbers of the pieces concerned, from 1.
    pub pieces: Vec<usize>,
}

/// One thing checked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Check {
    /// What was checked.
    pub name: String,
    /// How it came out.
    pub verdict: Verdict,
    /// What was found.
    pub found: String,
    /// What would do.
    pub allowed: String,
    /// What to do about it; none when there is nothing to do.
    pub advice: Option<String>,
    /// Where it was found.
    #[serde(rename = "where")]
    pub place: Option<Place>,
}

impl Check {
    fn new(name: &str, verdict: Verdict, found: String, allowed: String) -> Check {
        Check { name: name.into(), verdict, found, allowed, advice: None, place: None }
    }

    /// With what to do, unless all is well.
    fn advise(mut self, advice: &str) -> Check {
        self.advice = (self.verdict != Verdict::Ok).then(|| advice.into());
        self
    }

    fn at(mut self, spot: Option<&Spot>) -> Check {
        self.place = spot.map(|spot| Place { x: Some(spot.x), y: Some(spot.y), pieces: spot.pieces.clone() });
        self
    }

    fn on(mut self, pieces: Vec<usize>) -> Check {
        self.place = (!pieces.is_empty()).then_some(Place { x: None, y: None, pieces });
        self
    }
}

/// `most` and `much` in a verdict.
fn graded(value: f64, warn: f64, most: f64) -> Verdict {
    match value {
        value if value > most => Verdict::TooMuch,
        value if value > warn => Verdict::Warn,
        _ => Verdict::Ok,
    }
}

/// Everything a report is held against.
pub(crate) fn checks(report: &Report, limits: &Limits) -> Vec<Check> {
    let mut checks = Vec::new();
    checks.extend(hoop(report));
    checks.extend(density(report, limits));
    checks.push(cover(report, limits));
    checks.extend(crowd(report, limits));
    checks.push(longest(report, limits));
    checks.push(short(report, limits));
    checks.push(zero(report));
    checks.push(floats(report, limits));
    checks.push(promises(report));
    checks
}

fn hoop(report: &Report) -> Option<Check> {
    let fit = report.hoop?;
    let verdict = if fit.least() < 0.0 { Verdict::TooMuch } else { Verdict::Ok };
    let sides = [("left", fit.left), ("right", fit.right), ("top", fit.above), ("bottom", fit.below)];
    let out: Vec<String> =
        sides.iter().filter(|side| side.1 < 0.0).map(|(side, room)| format!("{:.1} mm at the {side}", -room)).collect();
    let over = fit.rim.filter(|rim| *rim < 0.0).map(|rim| format!("{:.1} mm over the round rim", -rim));
    let out: Vec<String> = over.into_iter().chain(out).collect();
    let found = if out.is_empty() {
        format!("at least {:.1} mm of room on every side", fit.least())
    } else {
        format!("sticks out {}", out.join(", "))
    };
    let allowed = match fit.rim {
        Some(_) => format!("{:.1} mm across, round", fit.width),
        None => format!("{:.1} x {:.1} mm", fit.width, fit.height),
    };
    Some(Check::new("hoop", verdict, found, allowed).advise("make the design smaller, move it, or take a larger hoop"))
}

fn density(report: &Report, limits: &Limits) -> Vec<Check> {
    let Some(density) = &report.density else {
        // Without points there is nothing to measure; with points they lie too far apart.
        let far = report.total.stitches > 0;
        let check = || {
            let found = "not measured: the stitches lie farther apart than any hoop is wide".into();
            Check::new("density", Verdict::Broken, found, "a design of at most 8 m".into())
                .advise("look for stray points in the plan")
        };
        return far.then(check).into_iter().collect();
    };
    let check = |name, spot: &Spot, unit: &str, [warn, most]: [f64; 2], advice| {
        let found = format!("up to {:.1} {unit}", spot.value);
        let allowed = format!("{warn} {unit}, {most} at most");
        Check::new(name, graded(spot.value, warn, most), found, allowed).advise(advice).at(Some(spot))
    };
    vec![
        check(
            "thread density",
            &density.thread_most,
            "mm/mm²",
            [limits.thread_warn, limits.thread_most],
            "widen the spacing there, use a lighter underlay, or knock out what is hidden below",
        ),
        check(
            "needle density",
            &density.needle_most,
            "points/mm²",
            [limits.needle_warn, limits.needle_most],
            "use longer stitches or a wider spacing there, or knock out what is hidden below",
        ),
    ]
}

/// The spacing of a piece that wants to cover: as set, else as measured.
fn spacing(piece: &PieceFigures) -> Option<f64> {
    piece.spacing.or(piece.measured_spacing).map(|spacing| spacing.mm)
}

fn cover(report: &Report, limits: &Limits) -> Check {
    let covers = |piece: &&PieceFigures| matches!(piece.method.as_str(), "fill" | "satin") && !piece.open;
    let pieces = || report.pieces.iter().filter(covers);
    let widest = pieces().filter_map(spacing).max_by(f64::total_cmp);
    // Measured spacings are good to a hundredth.
    let thin: Vec<usize> = pieces()
        .filter(|piece| spacing(piece).is_some_and(|mm| mm > limits.widest_spacing + 0.01))
        .map(|piece| piece.number)
        .collect();
    let verdict = if thin.is_empty() { Verdict::Ok } else { Verdict::Thin };
    let found = match widest {
        Some(mm) => format!("threads up to {mm:.2} mm apart"),
        None => "no spacing to tell".into(),
    };
    let allowed = format!("{:.2} mm, as a thread lies about that wide", limits.widest_spacing);
    Check::new("cover", verdict, found, allowed)
        .advise("narrow the spacing where the fabric must not show through")
        .on(thin)
}

fn crowd(report: &Report, limits: &Limits) -> Option<Check> {
    let spot = report.crowd.as_ref()?;
    let (warn, most) = (limits.crowd_warn, limits.crowd_most);
    let verdict = graded(spot.value, warn as f64, most as f64);
    let found = format!("up to {:.0} within 0.5 mm of one", spot.value);
    let check = Check::new("needle points", verdict, found, format!("{warn}, {most} at most"));
    Some(
        check
            .advise("many needle points in one spot cut the fabric; spread them or sew fewer layers there")
            .at(Some(spot)),
    )
}

fn longest(report: &Report, limits: &Limits) -> Check {
    let spot = report.stitches.longest.as_ref();
    let longest = spot.map_or(0.0, |spot| spot.value);
    // A list keeps hundredths.
    let verdict = graded(longest, limits.longest + 0.005, limits.longest + 0.005);
    let allowed = format!("{:.1} mm at most", limits.longest);
    Check::new("longest stitch", verdict, format!("{longest:.2} mm"), allowed)
        .advise("split the stitch, or sew the shape as a fill: long threads catch and machines refuse them")
        .at(spot)
}

fn short(report: &Report, limits: &Limits) -> Check {
    let (short, all) = (report.stitches.short, report.total.stitches.max(1));
    let verdict = match short {
        0 => Verdict::Ok,
        _ if short as f64 <= limits.short_share * all as f64 => Verdict::Warn,
        _ => Verdict::TooMuch,
    };
    let found = format!("{short} under {:.1} mm outside ties", limits.shortest);
    let allowed = format!("0, {} % at most", limits.short_share * 100.0);
    let spot = report.stitches.shortest.as_ref().filter(|_| short > 0);
    Check::new("short stitches", verdict, found, allowed)
        .advise("drop points or lengthen the stitches: short ones pile up thread and break it")
        .at(spot)
}

fn zero(report: &Report) -> Check {
    let zero = report.stitches.zero;
    let verdict = if zero == 0 { Verdict::Ok } else { Verdict::Broken };
    Check::new("stitches of no length", verdict, zero.to_string(), "0".into())
        .advise("drop needle points that repeat the one before")
}

fn floats(report: &Report, limits: &Limits) -> Check {
    let spot = report.stitches.longest_float.as_ref();
    let longest = spot.map_or(0.0, |spot| spot.value);
    let verdict = graded(longest, limits.float_warn + 1e-6, limits.float_most + 1e-6);
    let found =
        format!("{} over {:.0} mm, the longest {longest:.1} mm", report.stitches.long_floats, limits.float_warn);
    let allowed = format!("none over {:.0} mm, {:.0} mm at most", limits.float_warn, limits.float_most);
    Check::new("floats", verdict, found, allowed)
        .advise("trim before the jump, or sew the pieces in another order")
        .at(spot.filter(|_| verdict != Verdict::Ok))
}

fn promises(report: &Report) -> Check {
    let verdict = if report.broken_count == 0 { Verdict::Ok } else { Verdict::Broken };
    let found = match report.broken.first() {
        Some(first) if report.broken_count > 1 => format!("{} broken, the first: {first}", report.broken_count),
        Some(first) => first.clone(),
        None => "all kept".into(),
    };
    Check::new("promises of the plan", verdict, found, "none broken".into())
        .advise("mend what made the plan: it must tie and trim threads, and keep stitches whole")
}
