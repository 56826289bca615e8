//! The engine's errors as the exceptions of `laidwork.errors`, with their places.

use laidwork_drawing::{Error, Place};
use laidwork_list::ReadError;
use laidwork_recipe::Diagnostics;
use pyo3::PyErr;
use std::fmt::Display;

mod raised {
    use pyo3::import_exception;

    import_exception!(laidwork.errors, DrawingError);
    import_exception!(laidwork.errors, RecipeError);
    import_exception!(laidwork.errors, ListError);
    import_exception!(laidwork.errors, PictureError);
}

/// A drawing called `file` that cannot be read.
pub fn drawing(file: &str, error: &Error) -> PyErr {
    let place = match error {
        Error::Xml { place, .. } | Error::NotSvg { place, .. } | Error::Size { place, .. } => Some(place),
        _ => None,
    };
    let at = place.map(|Place { line, column, .. }| (*line, *column));
    raised::DrawingError::new_err((error.to_string(), file.to_owned(), at))
}

/// A drawing that cannot be sewn as a whole.
pub fn unsewn(what: impl Into<String>) -> PyErr {
    raised::DrawingError::new_err((what.into(),))
}

/// Everything that is wrong with a recipe.
pub fn recipe(found: &Diagnostics) -> PyErr {
    let errors = found.errors.iter();
    let told: Vec<_> =
        errors.map(|error| (error.message.clone(), error.advice.clone(), error.line, error.column)).collect();
    raised::RecipeError::new_err((found.file.to_string(), told, found.left_out))
}

/// One thing that is wrong with a recipe, at a line of it where one is to blame.
pub fn recipe_at(file: &str, line: Option<usize>, message: impl Into<String>, advice: impl Into<String>) -> PyErr {
    let told = vec![(message.into(), advice.into(), line.unwrap_or(0), 0)];
    raised::RecipeError::new_err((file.to_owned(), told, 0))
}

/// A stitch list called `file` that is not read.
pub fn list(file: &str, error: &ReadError) -> PyErr {
    raised::ListError::new_err((error.to_string(), file.to_owned(), error.line()))
}

/// A plan that cannot be written as a list.
pub fn unwritten(error: impl Display) -> PyErr {
    raised::ListError::new_err((error.to_string(),))
}

/// A picture that cannot be made.
pub fn picture(error: impl Display) -> PyErr {
    raised::PictureError::new_err((error.to_string(),))
}
