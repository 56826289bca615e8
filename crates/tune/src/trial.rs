//! A design sewn with settings that are being tried.

use crate::coverage::{Coverage, coverage};
use crate::design::Design;
use crate::edit::{Change, edited};
use base64::{Engine, engine::general_purpose::STANDARD};
use laidwork_drawing::Drawing;
use laidwork_engine::{Sewn, facts, sew};
use laidwork_plan::Warning;
use laidwork_recipe::{MethodChoice, Recipe, parse};
use laidwork_report::{Report, ReportSettings, Verdict, report};
use laidwork_view::{Finish, Look, Show, pixels_png, png};
use serde::Serialize;
use std::collections::BTreeSet;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Instant;

/// Pixels along the longer side of the picture of thread.
const PICTURE: f64 = 560.0;

/// Pixels along the longer side of the map of density.
const MAP: f64 = 400.0;

/// Warnings told of one trial, at most.
const MOST_WARNINGS: usize = 12;

/// Why something cannot be tried or written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct TuneError(pub String);

impl TuneError {
    fn new(error: impl ToString) -> TuneError {
        TuneError(error.to_string())
    }
}

/// What the settings come to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Trial {
    /// The design as sewn, PNG in base64.
    pub picture: String,
    /// Thread per mm², PNG in base64.
    pub density: String,
    /// What is drawn and not covered, PNG in base64.
    pub bare: String,
    /// Figures in words, in order: name and value.
    pub figures: Vec<(String, String)>,
    /// Checks that found something: verdict, what was found, and what to do.
    pub checks: Vec<(String, String, String)>,
    /// Share of the drawn area under top thread, 0 to 1.
    pub coverage: f64,
    /// For each shape its share, 0 to 1; none for shapes without area that are not sewn.
    pub shapes: Vec<Option<f64>>,
    /// What the engine has to say.
    pub warnings: Vec<String>,
    /// Lines of the recipe that are new, as they would be written.
    pub lines: Vec<String>,
    /// Time it took, ms.
    pub ms: f64,
}

/// How the report of a recipe's plan is to be made.
pub type Reporting = fn(&Recipe, &Sewn) -> ReportSettings;

/// A drawing and the recipe that is tuned.
pub struct Tuner {
    drawing: Drawing,
    file: String,
    text: Mutex<String>,
    reporting: Reporting,
}

impl Tuner {
    /// Tunes the recipe called `file` for `drawing`, which is read at its size already.
    ///
    /// # Errors
    /// A drawing without shapes, a recipe that cannot be read, or one that this drawing does not suit.
    pub fn new(drawing: Drawing, file: &str, text: &str, reporting: Reporting) -> Result<Tuner, TuneError> {
        if drawing.shapes.is_empty() {
            return Err(TuneError("nothing in the drawing can be sewn".into()));
        }
        let tuner = Tuner { drawing, file: file.to_owned(), text: Mutex::new(text.to_owned()), reporting };
        tuner.design()?;
        Ok(tuner)
    }

    /// What is known before anything is tried.
    ///
    /// # Errors
    /// As [`Tuner::new`].
    pub fn design(&self) -> Result<Design, TuneError> {
        let recipe = self.recipe(&self.text())?;
        let settled = recipe.settle(&facts(&self.drawing)).map_err(TuneError::new)?.value;
        Ok(Design::new(&self.drawing, &recipe, &settled, &self.file))
    }

    /// The recipe with these changes, as it would be written.
    ///
    /// # Errors
    /// A change that cannot be made, or that the recipe's reader refuses.
    pub fn changed(&self, changes: &[Change]) -> Result<String, TuneError> {
        let text = self.edited(&self.text(), changes)?;
        let recipe = self.recipe(&text)?;
        let _ = recipe.settle(&facts(&self.drawing)).map_err(TuneError::new)?; // warnings are told by trials
        Ok(text)
    }

    /// Writes these changes through `write`, which is given the text before and the new one.
    ///
    /// # Errors
    /// As [`Tuner::changed`], and whatever `write` says.
    pub fn write(
        &self,
        changes: &[Change],
        write: impl FnOnce(&str, &str) -> Result<(), String>,
    ) -> Result<(), TuneError> {
        let text = self.changed(changes)?;
        let mut kept = self.kept();
        write(&kept, &text).map_err(TuneError)?;
        *kept = text;
        Ok(())
    }

    /// Sews the drawing with these changes.
    ///
    /// # Errors
    /// As [`Tuner::changed`], and when nothing of the drawing is left to sew.
    pub fn trial(&self, changes: &[Change]) -> Result<Trial, TuneError> {
        let start = Instant::now();
        let before = self.text();
        let text = self.edited(&before, changes)?;
        let recipe = self.recipe(&text)?;
        let mut warnings: Vec<Warning> = Vec::new();
        let sewn = sew(&self.drawing, &recipe).map_err(TuneError::new)?.take(&mut warnings);
        if sewn.plan.pieces.is_empty() {
            return Err(TuneError("nothing in the drawing can be sewn like this".into()));
        }
        let fabric = recipe.design.fabric.unwrap_or(Look::default().fabric);
        let look = Look { fabric, finish: Finish::Draft, ..Look::default() };
        let side = self.side(&sewn);
        let (picture, (density, figures, covered)) = std::thread::scope(|scope| {
            let picture = scope.spawn(|| png(&sewn.plan, &Look { pixels_per_mm: PICTURE / side, ..look.clone() }));
            let figures = report(&sewn.plan, &(self.reporting)(&recipe, &sewn));
            let look = Look { pixels_per_mm: MAP / side, show: Show::Density, ..look.clone() };
            let rest = (png(&sewn.plan, &look), figures, self.coverage(&recipe, &sewn));
            (picture.join(), rest)
        });
        let picture = picture.map_err(|_| TuneError("the picture could not be painted".into()))?;
        let image = |file: Result<Vec<u8>, laidwork_view::Error>| {
            file.map(|file| STANDARD.encode(file)).map_err(TuneError::new)
        };
        warnings.truncate(MOST_WARNINGS);
        Ok(Trial {
            picture: image(picture)?,
            density: image(density)?,
            bare: image(bare_picture(&covered))?,
            figures: words(&figures, &covered),
            checks: findings(&figures),
            coverage: covered.share(),
            shapes: covered
                .shapes
                .iter()
                .map(|&(all, covered)| (all > 0).then(|| covered as f64 / all as f64))
                .collect(),
            warnings: warnings.iter().map(ToString::to_string).collect(),
            lines: new_lines(&before, &text),
            ms: start.elapsed().as_secs_f64() * 1000.0,
        })
    }

    /// Takes over what its file holds now, when somebody else has written it.
    ///
    /// # Errors
    /// As [`Tuner::new`]; then everything stays as it was.
    pub fn reread(&self, text: String) -> Result<(), TuneError> {
        let recipe = self.recipe(&text)?;
        let _ = recipe.settle(&facts(&self.drawing)).map_err(TuneError::new)?; // warnings are told by trials
        *self.kept() = text;
        Ok(())
    }

    /// The recipe with these changes, of shapes that the drawing has.
    fn edited(&self, text: &str, changes: &[Change]) -> Result<String, TuneError> {
        let names: BTreeSet<&str> = self.drawing.shapes.iter().map(|shape| shape.name.as_str()).collect();
        let mut shapes = changes.iter().filter_map(|change| change.shape.as_deref());
        if let Some(unknown) = shapes.find(|shape| !names.contains(shape)) {
            let shown: String = unknown.chars().take(40).collect();
            return Err(TuneError(format!("the drawing has no shape {shown:?}")));
        }
        edited(text, changes).map_err(TuneError::new)
    }

    /// What is covered of the shapes that the recipe sews as areas.
    fn coverage(&self, recipe: &Recipe, sewn: &Sewn) -> Coverage {
        let settled = recipe.settle(&facts(&self.drawing)).map(|settled| settled.value).unwrap_or_default();
        let areas = sewn.plan.pieces.iter().filter(|piece| piece.method != laidwork_plan::Method::Run);
        let areas: BTreeSet<&str> = areas.map(|piece| piece.name.as_str()).collect();
        // Its pieces are called as the shape is, or so and `.2`.
        let is_area = |name: &str| {
            let part = format!("{name}.");
            areas.contains(name) || areas.range(part.as_str()..).next().is_some_and(|piece| piece.starts_with(&part))
        };
        let counts = |shape: usize| {
            settled.get(shape).is_some_and(|settings| settings.method != MethodChoice::Skip && !settings.fill.open)
                && self.drawing.shapes.get(shape).is_some_and(|shape| is_area(&shape.name))
        };
        coverage(&self.drawing, &sewn.plan, counts)
    }

    /// The longer side of what is shown, mm.
    fn side(&self, sewn: &Sewn) -> f64 {
        let bounds = sewn.plan.bounds().unwrap_or(self.drawing.rect);
        bounds.width().max(bounds.height()) + 2.0 * Look::default().margin
    }

    fn recipe(&self, text: &str) -> Result<Recipe, TuneError> {
        parse(text, &self.file).map(|recipe| recipe.value).map_err(TuneError::new)
    }

    fn kept(&self) -> MutexGuard<'_, String> {
        self.text.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn text(&self) -> String {
        self.kept().clone()
    }
}

/// Covered ground pale, bare ground dark.
fn bare_picture(covered: &Coverage) -> Result<Vec<u8>, laidwork_view::Error> {
    let color = |cell: Option<bool>| match cell {
        None => [0xfb, 0xfa, 0xf6],
        Some(true) => [0xcf, 0xd6, 0xdd],
        Some(false) => [0xd5, 0x5e, 0x00],
    };
    let pixels: Vec<u8> = covered.cells().flat_map(color).collect();
    pixels_png(covered.columns as u32, covered.rows as u32, &pixels, Finish::Draft)
}

fn words(figures: &Report, covered: &Coverage) -> Vec<(String, String)> {
    let total = &figures.total;
    let bare: f64 = (0..covered.shapes.len()).map(|shape| covered.bare(shape)).sum();
    let mut words = vec![
        ("covered", format!("{:.2} %, {bare:.1} mm² bare", covered.share() * 100.0)),
        ("stitches", total.stitches.to_string()),
        ("time", format!("{:.0} min {:02.0} s", (total.seconds / 60.0).floor(), (total.seconds % 60.0).floor())),
        ("top thread", format!("{:.1} m", total.top_m)),
        ("trims", total.trims.to_string()),
    ];
    if let Some(density) = &figures.density {
        let most = (density.thread_most.value, density.needle_most.value);
        words.push(("thread per mm²", format!("{:.1} mm, {:.1} at most", density.thread_mean, most.0)));
        words.push(("needle points per mm²", format!("{:.1}, {:.1} at most", density.needle_mean, most.1)));
    }
    words.into_iter().map(|(name, value)| (name.to_owned(), value)).collect()
}

fn findings(figures: &Report) -> Vec<(String, String, String)> {
    let found = figures.checks.iter().filter(|check| check.verdict != Verdict::Ok);
    let told = |check: &laidwork_report::Check| {
        let what = format!("{}: {}", check.name, check.found);
        (check.verdict.word().to_owned(), what, check.advice.clone().unwrap_or_default())
    };
    found.map(told).collect()
}

/// Lines of `after` that differ from the line of `before` at their place, apart from those that both end with.
fn new_lines(before: &str, after: &str) -> Vec<String> {
    let (old, new): (Vec<&str>, Vec<&str>) = (before.lines().collect(), after.lines().collect());
    let mut lines = Vec::new();
    let mut at = 0;
    for line in new {
        match old.get(at..).and_then(|rest| rest.iter().position(|old| *old == line)) {
            Some(skipped) => at += skipped + 1,
            None => lines.push(line.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::edit::Setting;

    const LEAF: &[u8] = br##"<svg xmlns="http://www.w3.org/2000/svg" width="24mm" height="24mm" viewBox="0 0 24 24">
        <circle id="leaf" cx="12" cy="12" r="10" fill="#4f8a3c"/></svg>"##;

    fn tuner(text: &str) -> Result<Tuner, TuneError> {
        let drawing = laidwork_drawing::read(LEAF, &laidwork_drawing::Options::default()).unwrap().value;
        Tuner::new(drawing, "leaf.toml", text, |_, _| ReportSettings::default())
    }

    fn spaced(spacing: f64) -> Change {
        Change { shape: Some("leaf".into()), key: "spacing".into(), value: Setting::Number(spacing) }
    }

    #[test]
    fn wider_rows_cover_less() {
        let tuner = tuner("# Leaf.\n").unwrap();
        let (dense, open) = (tuner.trial(&[]).unwrap(), tuner.trial(&[spaced(0.6)]).unwrap());
        assert!(dense.coverage > 0.99, "{}", dense.coverage);
        assert!((0.4..0.75).contains(&open.coverage), "{}", open.coverage);
        assert_ne!(dense.picture, open.picture);
        assert_ne!(dense.density, open.density);
        assert_eq!(dense.lines, Vec::<String>::new());
        assert_eq!(open.lines, ["[[rule]]", "match = \"leaf\"", "spacing = 0.6"]);
    }

    #[test]
    fn what_is_tried_is_what_is_written() {
        let tuner = tuner("# Leaf.\n").unwrap();
        let wanted = tuner.changed(&[spaced(0.3)]).unwrap();
        let mut written = None;
        let write = |before: &str, after: &str| {
            written = Some((before.to_owned(), after.to_owned()));
            Ok(())
        };
        tuner.write(&[spaced(0.3)], write).unwrap();
        assert_eq!(written, Some(("# Leaf.\n".to_owned(), wanted)));
        assert!((tuner.design().unwrap().shapes[0].fill_spacing - 0.3).abs() < 1e-9);
        // Refused by the caller, nothing is kept.
        let refused = tuner.write(&[spaced(0.4)], |_, _| Err("the file was changed meanwhile".into()));
        assert_eq!(refused, Err(TuneError("the file was changed meanwhile".into())));
        assert!((tuner.design().unwrap().shapes[0].fill_spacing - 0.3).abs() < 1e-9);
    }

    #[test]
    fn what_somebody_else_wrote_is_taken_over() {
        let tuner = tuner("# Leaf.\n").unwrap();
        tuner.reread("# Leaf, by hand.\n[[rule]]\nspacing = 0.3\n".into()).unwrap();
        assert!((tuner.design().unwrap().shapes[0].fill_spacing - 0.3).abs() < 1e-9);
        assert!(tuner.changed(&[spaced(0.4)]).unwrap().starts_with("# Leaf, by hand."));
        assert!(tuner.reread("[[rule".into()).is_err());
        assert!((tuner.design().unwrap().shapes[0].fill_spacing - 0.3).abs() < 1e-9);
    }

    #[test]
    fn shapes_that_are_not_there_are_refused() {
        let tuner = tuner("").unwrap();
        let strange = Change { shape: Some("laef".into()), ..spaced(0.3) };
        assert_eq!(tuner.changed(&[strange]), Err(TuneError("the drawing has no shape \"laef\"".into())));
    }

    #[test]
    fn what_the_reader_refuses_is_never_written() {
        let tuner = tuner("").unwrap();
        let refused = tuner.write(&[spaced(99.0)], |_, _| panic!("written"));
        assert!(refused.unwrap_err().0.contains("out of the range"));
        assert!(tuner.trial(&[spaced(-1.0)]).is_err());
        assert!(super::tests::tuner("[[rule").is_err());
        let empty = br#"<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"/>"#;
        let empty = laidwork_drawing::read(empty, &laidwork_drawing::Options::default()).unwrap().value;
        assert!(Tuner::new(empty, "leaf.toml", "", |_, _| ReportSettings::default()).is_err());
    }
}
