//! Letters: those of a text are sewn alike, and the columns of one with low capitals get spacing and underlay of their own.
//!
//! Whether letters are columns is asked of all of a text together, or the narrow ones among bold ones became runs; and
//! where they are, only strokes that are clearly thinner than the narrowest column are runs, or strokes about as wide as
//! that became now the one, now the other.
//! Below about 6 mm the strokes of letters are about as wide as a thread pair is apart, so that the usual underlay
//! shows at their sides and the usual spacing cuts the fabric: common practice, no source.

use crate::part::{is_thin, is_wide};
use laidwork_drawing::{Drawing, Paint, Shape};
use laidwork_plan::Warning;
use laidwork_recipe::{MethodChoice, Settings};

/// Letters with lower capitals are small, mm.
const SMALL: f64 = 6.0;

/// Letters with lower capitals are too small for columns, mm.
const TINY: f64 = 4.0;

/// The spacing of small letters is so many times the usual one.
const OPENED: f64 = 1.15;

/// Strokes of letters that are columns become runs below this share of the narrowest column's width.
const HAIRLINE: f64 = 0.75;

/// Lays the columns of small letters more openly and over lighter underlay, where the recipe does
/// not say otherwise, and tells of letters that are hard to sew as columns.
pub(crate) fn settle_letters(drawing: &Drawing, settings: &mut [Settings], warnings: &mut Vec<Warning>) {
    for (shape, settings) in drawing.shapes.iter().zip(settings) {
        let Some(height) = shape.cap_height else { continue };
        if !matches!(settings.method, MethodChoice::Auto | MethodChoice::Satin) {
            continue;
        }
        if shape.paint == Paint::Fill {
            sew_alike(shape, settings);
        }
        if height >= SMALL {
            continue;
        }
        let keys = &mut settings.satin;
        if !keys.spacing_is_written {
            keys.spacing *= OPENED;
        }
        if keys.underlay_auto {
            keys.underlay.wide = std::mem::replace(&mut keys.underlay.medium, keys.underlay.narrow.clone());
        }
        warnings.push(warning(shape, height));
    }
}

/// All letters of a text become columns, or all become runs, unless one of them is too wide for columns.
fn sew_alike(shape: &Shape, settings: &mut Settings) {
    let letters = &shape.region.polygons;
    if is_thin(letters, settings) {
        // None of them is as wide as the narrowest column then; one alone is told so by itself.
        if letters.len() > 1 {
            settings.satin.min_width = settings.satin.max_width;
        }
        return;
    }
    settings.satin.min_width *= HAIRLINE;
    if letters.len() > 1 && !letters.iter().any(|letter| is_wide(letter, settings)) {
        settings.method = MethodChoice::Satin;
    }
}

fn warning(shape: &Shape, height: f64) -> Warning {
    let what = format!("its capitals are about {height:.1} mm high, which is little for columns");
    let advice = if height < TINY {
        "draw its letters as single lines and sew them as a run, or make them 4 mm high at least"
    } else {
        "make them 6 mm high, or choose a bold face without serifs and sew a test first"
    };
    Warning::at(&shape.name, what, advice)
}
