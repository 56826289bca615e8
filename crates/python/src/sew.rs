//! Drawings, recipes and lists as Python hands them over.

use crate::error;
use crate::plan::{self, Plan, Warnings};
use laidwork_drawing::{Drawing, Fonts, Options, Shape};
use laidwork_engine::{Recipe, pace, report_settings};
use laidwork_plan::{Color, Warning};
use laidwork_report::{ReportSettings, cloth_contrast};
use laidwork_thread::Pace;
use pyo3::prelude::*;
use pyo3::types::PyBytes;
use std::path::{Path, PathBuf};

/// How a drawing is to be read: its size in mm, fonts, and new texts by id.
#[derive(FromPyObject)]
#[pyo3(from_item_all)]
pub struct Reading {
    width: Option<f64>,
    height: Option<f64>,
    fonts: Vec<PathBuf>,
    texts: Vec<(String, String)>,
}

impl Reading {
    /// The reader's options; `design` has the size where none is given.
    fn options(&self, recipe: &Recipe, warnings: &mut Vec<Warning>) -> PyResult<Options> {
        let fonts = match self.fonts.as_slice() {
            [] => Fonts::none(),
            paths => Fonts::load(paths).map_err(|error| error::drawing("fonts", &error))?.take(warnings),
        };
        let given = self.width.is_some() || self.height.is_some();
        let (width, height) =
            if given { (self.width, self.height) } else { (recipe.design.width, recipe.design.height) };
        Ok(Options { width, height, fonts, texts: self.texts.clone(), ..Options::default() })
    }
}

/// A text or file and what it is called in messages.
pub type Named<'a> = (&'a [u8], String);

fn read_drawing((bytes, file): Named<'_>, options: &Options, warnings: &mut Vec<Warning>) -> PyResult<Drawing> {
    Ok(laidwork_drawing::read(bytes, options).map_err(|error| error::drawing(&file, &error))?.take(warnings))
}

/// The recipe of `text`, in the colourway of that name.
fn read_recipe(
    named: Option<(String, String)>,
    colourway: Option<&str>,
    warnings: &mut Vec<Warning>,
) -> PyResult<(Recipe, String)> {
    let (recipe, file) = match named {
        Some((text, file)) => {
            (laidwork_recipe::parse(&text, &file).map_err(|found| error::recipe(&found))?.take(warnings), file)
        }
        None => (Recipe::default(), "recipe".into()),
    };
    let Some(name) = colourway else { return Ok((recipe, file)) };
    let number = recipe.colourway_named(name);
    match number.map(|number| recipe.in_colourway(number)) {
        Ok(Some(chosen)) => Ok((chosen, file)),
        Ok(None) => Ok((recipe, file)),
        Err(advice) => Err(error::recipe_at(&file, None, format!("there is no colourway {name:?}"), advice)),
    }
}

/// What the recipe places in the hoop; its files are seen from `folder`, a place without one takes `given`.
fn compose(
    given: Option<Named<'_>>,
    (recipe, file): (&Recipe, &str),
    folder: &Path,
    options: &Options,
    warnings: &mut Vec<Warning>,
) -> PyResult<Drawing> {
    let mut drawings = Vec::with_capacity(recipe.places.len());
    for place in &recipe.places {
        let options = Options { width: place.width, height: place.height, ..options.clone() };
        let drawing = match (&place.drawing, &given) {
            (Some(name), _) => {
                let path = folder.join(name);
                let bytes = std::fs::read(&path).map_err(|cause| {
                    let message = format!("cannot read the drawing {}: {cause}", path.display());
                    error::recipe_at(file, Some(place.line), message, "name a file, seen from the recipe's folder")
                })?;
                read_drawing((&bytes, path.display().to_string()), &options, warnings)?
            }
            (None, Some((bytes, name))) => read_drawing((bytes, name.clone()), &options, warnings)?,
            (None, None) => {
                let message = "the place names no drawing, and none is given";
                return Err(error::recipe_at(file, Some(place.line), message, "give it a `drawing`"));
            }
        };
        drawings.push(drawing);
    }
    let hoop = recipe.design.hoop.map(laidwork_recipe::Hoop::size);
    let composed = laidwork_engine::compose(drawings, &recipe.places, hoop, file);
    let composed = composed.map_err(|much| error::recipe_at(file, Some(much.line), much.to_string(), much.advice()))?;
    Ok(composed.take(warnings))
}

/// Sews a drawing by a recipe: its text, its name and the folder that its files are seen from.
#[pyfunction]
pub fn sew(
    py: Python<'_>,
    drawing: Option<Named<'_>>,
    recipe: Option<(String, String)>,
    folder: PathBuf,
    reading: Reading,
    colourway: Option<&str>,
) -> PyResult<Plan> {
    py.detach(|| {
        let mut warnings = Vec::new();
        let (recipe, file) = read_recipe(recipe, colourway, &mut warnings)?;
        let options = reading.options(&recipe, &mut warnings)?;
        let composed = !recipe.places.is_empty();
        let drawing = match drawing {
            given if composed => compose(given, (&recipe, &file), &folder, &options, &mut warnings)?,
            Some(given) => read_drawing(given, &options, &mut warnings)?,
            None => return Err(error::unsewn("name a drawing; the recipe places none")),
        };
        let sewn = laidwork_engine::sew(&drawing, &recipe).map_err(|found| error::recipe(&found))?;
        let mut sewn = sewn.take(&mut warnings);
        if composed {
            sewn.plan.drawing = None; // no one drawing lies under the stitches
        }
        if sewn.plan.pieces.is_empty() {
            let why = warnings.first().map_or_else(String::new, |warning| format!(" ({warning})"));
            return Err(error::unsewn(format!("nothing in the drawing can be sewn{why}")));
        }
        if let Some(fabric) = recipe.design.fabric {
            warnings.extend(cloth_contrast(&sewn.plan, fabric).warnings(&sewn.plan));
        }
        Ok(Plan {
            settings: report_settings(&recipe, &sewn),
            fabric: recipe.design.fabric,
            pace: pace(&recipe, sewn.plan.threads.len()),
            shapes: drawing.shapes,
            warnings: told(warnings),
            plan: sewn.plan,
        })
    })
}

fn told(warnings: Vec<Warning>) -> Warnings {
    warnings.into_iter().map(|warning| (warning.place, warning.what, warning.advice)).collect()
}

/// A shape for Python: name, colour, whether it is a stroke, and the rings of its polygons as 64-bit floats.
pub type PyShape<'py> = (String, String, bool, Vec<Vec<Bound<'py, PyBytes>>>);

/// A shape as Python takes it.
pub fn shape<'py>(py: Python<'py>, shape: &Shape) -> PyShape<'py> {
    let polygons = shape.region.polygons.iter();
    let rings = polygons.map(|polygon| {
        let rings = std::iter::once(&polygon.outer).chain(&polygon.holes);
        rings.map(|ring| PyBytes::new(py, &plan::floats(&ring.points))).collect()
    });
    (shape.name.clone(), shape.color.to_string(), shape.stroke.is_some(), rings.collect())
}

/// Reads the shapes of a drawing without sewing them.
#[pyfunction]
pub fn shapes<'py>(py: Python<'py>, drawing: Named<'_>, reading: Reading) -> PyResult<(Vec<PyShape<'py>>, Warnings)> {
    let (drawing, warnings) = py.detach(|| {
        let mut warnings = Vec::new();
        let options = reading.options(&Recipe::default(), &mut warnings)?;
        let drawing = read_drawing(drawing, &options, &mut warnings)?;
        Ok::<_, PyErr>((drawing, told(warnings)))
    })?;
    Ok((drawing.shapes.iter().map(|found| shape(py, found)).collect(), warnings))
}

/// Reads a stitch list, or its twin of `kind` `csv` or `json`.
#[pyfunction]
pub fn read(py: Python<'_>, list: Named<'_>, kind: &str) -> PyResult<Plan> {
    let (bytes, file) = list;
    py.detach(|| {
        let plan = match kind {
            "csv" => laidwork_list::from_csv(bytes),
            "json" => laidwork_list::from_json(bytes),
            _ => laidwork_list::read(bytes),
        };
        Ok(Plan {
            plan: plan.map_err(|error| error::list(&file, &error))?,
            settings: ReportSettings::default(),
            fabric: None::<Color>,
            pace: Pace::default(),
            shapes: Vec::new(),
            warnings: Vec::new(),
        })
    })
}
