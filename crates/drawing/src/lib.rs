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

mod arcs;
mod budget;
mod clip;
mod closes;
mod color;
mod edit;
mod error;
mod fonts;
mod letters;
mod links;
mod mask;
mod model;
mod names;
mod notes;
mod page;
mod places;
mod resolve;
mod shape_path;
mod skim;
mod source;
mod stroke;
mod styles;
mod survey;
mod texts;
mod walk;

pub use error::{Error, Place};
pub use fonts::Fonts;
pub use model::{Cap, Drawing, Join, Line, Paint, Shape, Stroke};
pub use page::LONGEST_SIDE;
pub use places::{TextPlace, escaped, text_places};

use edit::Edits;
use error::quote;
use kurbo::{Affine, Rect};
use laidwork_plan::{Warned, Warning};
use notes::Notes;
use page::Page;
use std::thread;

/// Stack of the thread that resolves a drawing: [`links::DEEPEST`] levels take
/// less than a tenth of it even in unoptimised code. It is only reserved, not used up.
const STACK: usize = 256 << 20;

/// The name of the thread that resolves a drawing. A panic on it becomes [`Error::Unreadable`].
pub const THREAD: &str = "drawing";

/// How a drawing is to be read.
#[derive(Clone, Debug)]
pub struct Options {
    /// Width of the sewn drawing, mm; `None` keeps the proportions, or the drawing's own width.
    pub width: Option<f64>,
    /// Height of the sewn drawing, mm; likewise.
    pub height: Option<f64>,
    /// Fonts for text.
    pub fonts: Fonts,
    /// New texts for elements of the drawing: pairs of an id and its text.
    pub texts: Vec<(String, String)>,
    /// Farthest a straight piece may stray from the curve it stands for, mm.
    pub tolerance: f64,
}

impl Default for Options {
    /// The drawing's own size, no fonts, curves within 0.01 mm.
    fn default() -> Options {
        Options { width: None, height: None, fonts: Fonts::none(), texts: Vec::new(), tolerance: 0.01 }
    }
}

/// Reads the drawing in `bytes`: SVG, or SVG compressed with gzip (`.svgz`).
///
/// # Errors
/// When the bytes are no SVG, its size cannot be told or is over 2000 mm, or
/// it exceeds a limit; see [`Error`].
pub fn read(bytes: &[u8], options: &Options) -> Result<Warned<Drawing>, Error> {
    let give_up = |what: &str| Error::Unreadable { what: what.into() };
    thread::scope(|scope| {
        thread::Builder::new()
            .name(THREAD.into())
            .stack_size(STACK)
            .spawn_scoped(scope, || read_here(bytes, options))
            .map_err(|_| give_up("there is no memory for its thread"))?
            .join()
            .unwrap_or_else(|_| Err(give_up("the reader met something it does not expect")))
    })
}

/// Reads a drawing on this thread, which needs a stack of [`STACK`].
fn read_here(bytes: &[u8], options: &Options) -> Result<Warned<Drawing>, Error> {
    let text = source::text(bytes)?;
    skim::skim(&text)?;
    let text = if options.texts.is_empty() { text } else { texts::replaced(&text, &options.texts, &options.fonts)? };
    let mut notes = Notes::default();
    let document = parse(&text)?;
    let root = document.root_element();
    let place = survey::place(root);
    if root.tag_name().name() != "svg" || !matches!(root.tag_name().namespace(), None | Some(survey::SVG)) {
        return Err(Error::NotSvg { place, root: quote(root.tag_name().name()) });
    }
    let page = Page::read(root, &place, options, &mut notes)?;
    let too_large = |what| Error::TooLarge { place: String::new(), what, advice: "simplify its style sheet".into() };
    let styles = styles::Styles::read(&document).map_err(too_large)?;
    let elements = document.descendants().count();
    if styles.len().saturating_mul(elements) > styles::MOST_MATCHES {
        return Err(too_large(format!("{} style rules for {elements} elements are too many", styles.len())));
    }
    let mut edits = Edits::default();
    let has_fonts = !options.fonts.database.is_empty();
    let survey = survey::survey(&document, &text, &styles, has_fonts, &mut edits, &mut notes);
    let unfolded = links::check(&survey, &text, &mut edits, &mut notes)?;
    if (styles.len() as u64).saturating_mul(unfolded) > styles::MOST_MATCHES as u64 {
        return Err(too_large(format!("{} style rules for {unfolded} copied elements are too many", styles.len())));
    }
    page.write(root, &text, &mut edits);
    let prepared = edits.apply(&text);
    let asked = fonts::Asked::default();
    let tree = resolve::resolve(&prepared, &options.fonts, &asked)?;
    let px = page.viewport(&tree).ok_or_else(|| Error::Size {
        place,
        what: "the drawing has no size of its own and nothing in it to take it from".into(),
        advice: "give the root element a width, a height and a viewBox".into(),
    })?;
    let (sx, sy) = page.scale(px, options, &mut notes)?;
    let (width, height) = (px.width() * sx, px.height() * sy);
    let rect = Rect::new(-width / 2.0, -height / 2.0, width / 2.0, height / 2.0);
    let to_mm = Affine::new([sx, 0.0, 0.0, sy, rect.x0 - px.x0 * sx, rect.y0 - px.y0 * sy]);
    let setting = walk::Setting { to_mm, rect, tolerance: tolerance(options), survey: &survey };
    let shapes = walk::shapes(&tree, &setting, &mut notes)?;
    if shapes.is_empty() {
        notes.push(Warning::new("nothing in the drawing can be sewn", "give its shapes a fill or a stroke that shows"));
    }
    let mut warnings = notes.into_warnings();
    if has_fonts {
        warnings.extend(asked.into_warnings());
    }
    Ok(Warned { value: Drawing { title: title(root), rect, shapes }, warnings })
}

/// The tolerance asked for, held to what makes sense.
fn tolerance(options: &Options) -> f64 {
    if options.tolerance.is_finite() { options.tolerance.clamp(1e-4, 1.0) } else { Options::default().tolerance }
}

/// The text of the root's own `<title>`.
fn title(root: roxmltree::Node) -> Option<String> {
    let title = root.children().find(|node| node.tag_name().name() == "title")?;
    let text: String = title.descendants().filter(|node| node.is_text()).filter_map(|node| node.text()).collect();
    names::clean_to(&text, 120)
}

/// Parses XML, entities included; nothing outside the text is opened.
fn parse(text: &str) -> Result<roxmltree::Document<'_>, Error> {
    let options = roxmltree::ParsingOptions { allow_dtd: true, nodes_limit: MOST_NODES, ..Default::default() };
    roxmltree::Document::parse_with_options(text, options).map_err(|error| {
        let at = error.pos();
        let whole = roxmltree::TextPos::new(1, 1);
        // Some faults have no place of their own: they are found at the end of the text.
        let lines = text.lines().count().max(1);
        let end =
            roxmltree::TextPos::new(lines as u32, text.lines().last().map_or(0, |l| l.chars().count()) as u32 + 1);
        let at = if at == whole { end } else { at };
        match error {
            roxmltree::Error::NodesLimitReached => Error::TooLarge {
                place: String::new(),
                what: format!("the drawing unfolds to more than {MOST_NODES} XML nodes"),
                advice: "simplify it or split it into several drawings".into(),
            },
            error => {
                let place = Place { line: at.row, column: at.col, id: String::new() };
                Error::Xml { place, what: error::quote_to(&xml_fault(&error), 120) }
            }
        }
    })
}

/// What is wrong with the XML, without the place that the parser adds.
fn xml_fault(error: &roxmltree::Error) -> String {
    let text = error.to_string();
    text.rsplit_once(" at ").map_or(text.clone(), |(what, _)| what.to_string())
}

/// The most XML nodes (elements, texts, comments) a drawing may have.
const MOST_NODES: u32 = 1_000_000;
