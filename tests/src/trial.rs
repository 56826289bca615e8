//! One drawing sewn in every way, and what came of it: the check that whole corpora pass.

use laidwork_drawing::{Options, read};
use laidwork_engine::{Recipe, sew};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant};

/// Every way of sewing that is tried: its name, and its recipe.
pub const WAYS: [(&str, &str); 6] = [
    ("by width", ""),
    ("run", "[[rule]]\nmethod = \"run\"\n"),
    ("satin", "[[rule]]\nmethod = \"satin\"\n"),
    ("fill", "[[rule]]\nmethod = \"fill\"\n"),
    ("contour fill", "[[rule]]\nmethod = \"fill\"\nflow = \"contour\"\n"),
    ("radial fill", "[[rule]]\nmethod = \"fill\"\nflow = \"radial\"\n"),
];

/// The width that drawings are sewn at, mm.
pub const WIDTH: f64 = 30.0;

/// What came of a drawing sewn in one way.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// A plan that keeps every promise.
    Sound {
        /// Its needle points.
        stitches: usize,
        /// How long reading and sewing took.
        time: Duration,
    },
    /// A drawing of which nothing is left to sew, with the warning or error that says so.
    Nothing,
    /// A plan that breaks promises of [`laidwork_plan::Plan::sanity_check`], or a list that does not read back.
    Invalid(String),
    /// The library panicked.
    Panic(String),
}

impl Outcome {
    /// Whether this must never happen.
    pub fn is_fault(&self) -> bool {
        matches!(self, Outcome::Invalid(_) | Outcome::Panic(_))
    }
}

/// The recipes of [`WAYS`].
///
/// # Panics
/// When one of them is no recipe.
pub fn recipes() -> Vec<(&'static str, Recipe)> {
    let parse = |(name, text): &(&'static str, &str)| (*name, laidwork_recipe::parse(text, name).unwrap().value);
    WAYS.iter().map(parse).collect()
}

/// Sews one drawing by one recipe.
pub fn try_one(svg: &[u8], recipe: &Recipe) -> Outcome {
    let start = Instant::now();
    match catch_unwind(AssertUnwindSafe(|| plan_of(svg, recipe))) {
        Ok(Ok(0)) => Outcome::Nothing,
        Ok(Ok(stitches)) => Outcome::Sound { stitches, time: start.elapsed() },
        Ok(Err(broken)) => Outcome::Invalid(broken),
        Err(cause) => {
            let text = cause.downcast_ref::<String>().cloned();
            let text = text.or_else(|| cause.downcast_ref::<&str>().map(|text| (*text).to_owned()));
            Outcome::Panic(text.unwrap_or_default())
        }
    }
}

/// How many stitches the plan has, or which promise it breaks.
fn plan_of(svg: &[u8], recipe: &Recipe) -> Result<usize, String> {
    let options = Options { width: Some(WIDTH), ..Options::default() };
    let Ok(drawing) = read(svg, &options) else { return Ok(0) };
    let sewn = sew(&drawing.value, recipe).map_err(|errors| format!("{errors:?}"))?;
    if sewn.value.plan.pieces.is_empty() {
        let told = !drawing.warnings.is_empty() || !sewn.warnings.is_empty() || drawing.value.shapes.is_empty();
        return if told { Ok(0) } else { Err("nothing was sewn, and no warning says why".into()) };
    }
    let plan = sewn.value.plan;
    if let Some(broken) = plan.sanity_check().first() {
        return Err(format!("{broken:?}"));
    }
    let text = laidwork_list::to_text(&plan, laidwork_list::WriteOptions::default()).map_err(|e| e.to_string())?;
    let back = laidwork_list::read(text.as_bytes()).map_err(|e| e.to_string())?;
    if back == plan { Ok(plan.stitches()) } else { Err("the list reads back as another plan".into()) }
}
