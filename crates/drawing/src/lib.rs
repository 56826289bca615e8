//! SVG in: one drawing resolved into a short typed list of shapes in millimetres.
//!
//! [`read`] takes the bytes of an SVG file and gives a [`Drawing`]: every fill
//! and every stroke as a [`Shape`] with its name, colour and painted area, clip
//! paths, transforms, dashes and fill rules applied, cut to the viewport as a
//! viewer shows it. What cannot be sewn as drawn (gradients, images, masks,
//! filters, transparency) comes with a warning that names the shape.
//!
//! Nothing that a drawing names is ever opened: no image, style sheet, font or
//! address. Fonts come from the caller ([`Fonts`]). A drawing built to take all
//! time or memory is refused.

mod clip;
mod error;
mod fonts;
mod model;
mod outline;
mod walk;

pub use error::{Error, Place};
pub use fonts::Fonts;
pub use model::{Cap, Drawing, Join, Line, Paint, Shape, Stroke};

use laidwork_plan::Warned;

/// How a drawing is to be read.
#[derive(Clone, Debug)]
pub struct Options {
    /// Width of the sewn drawing, mm; `None` keeps the proportions, or the drawing's own width.
    pub width: Option<f64>,
    /// Height of the sewn drawing, mm; likewise.
    pub height: Option<f64>,
    /// Fonts for text.
    pub fonts: Fonts,
    /// Farthest a straight piece may stray from the curve it stands for, mm.
    pub tolerance: f64,
}

impl Default for Options {
    /// The drawing's own size, no fonts, curves within 0.01 mm.
    fn default() -> Options {
        Options { width: None, height: None, fonts: Fonts::none(), tolerance: 0.01 }
    }
}

/// Reads the drawing in `bytes`.
///
/// # Errors
/// When the bytes are no SVG, its size cannot be told or is over 2000 mm, or
/// it exceeds a limit; see [`Error`].
pub fn read(bytes: &[u8], options: &Options) -> Result<Warned<Drawing>, Error> {
    let text =
        std::str::from_utf8(bytes).map_err(|_| Error::Encoding { what: "the drawing is not in UTF-8".into() })?;
    let parsing = usvg::roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
    let document = usvg::roxmltree::Document::parse_with_options(text, parsing)
        .map_err(|error| Error::Unreadable { what: error.to_string() })?;
    let usvg_options = usvg::Options {
        image_href_resolver: usvg::ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        fontdb: options.fonts.database.clone(),
        ..usvg::Options::default()
    };
    let tree = usvg::Tree::from_xmltree(&document, &usvg_options)
        .map_err(|error| Error::Unreadable { what: error.to_string() })?;
    Ok(walk::shapes(&tree, options))
}
