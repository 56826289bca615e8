//! The root element's size: the viewport in px, and what a px is in millimetres.
//!
//! Read here and not by the resolver, which takes a decimal comma or an unknown
//! unit for no size at all and scales wrong without a word.

use crate::edit::Edits;
use crate::error::{Place, quote};
use crate::notes::Notes;
use crate::{Error, Options};
use kurbo::Rect;
use laidwork_plan::Warning;

/// The longest side a drawing may be sewn at, mm.
pub const LONGEST_SIDE: f64 = 2000.0;
/// A side is over the limit when it is longer by more than this, mm: 2000 mm in px and back is not quite 2000 mm.
const ROUNDING: f64 = 1e-6;

/// Millimetres in a px of 96 dpi (CSS Values and Units 4, section 6.2).
const MM_PER_PX: f64 = 25.4 / 96.0;

/// A side without a size of its own, px: the default size of a browser's image.
const UNTOLD_SIDE: f64 = 300.0;

/// The root element's size as it is written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Page {
    /// Width, px of 96 dpi; `None` where only the content tells it.
    pub width: Option<f64>,
    /// Height, likewise.
    pub height: Option<f64>,
    /// Whether a unit of length was written, so that the size is not a guess.
    physical: bool,
}

/// A length on the root element.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Length {
    /// None, `auto`, or a share of nobody knows what.
    Unknown,
    /// So many px; `true` when the unit was one of length.
    Px(f64, bool),
}

impl Page {
    /// Reads the root element at `place`.
    pub fn read(root: roxmltree::Node, place: &Place, options: &Options, notes: &mut Notes) -> Result<Page, Error> {
        let view_box = view_box(root, place)?;
        let given = options.width.is_some() || options.height.is_some();
        let mut length = |name: &str| match parse_length(root.attribute(name)) {
            Ok(length) => Ok(length),
            Err(fault) => {
                let what = format!("{name}=\"{}\" {fault}", quote(root.attribute(name).unwrap_or("")));
                if given && view_box.is_some() {
                    notes.push(Warning::new(what, "its proportions are taken from the viewBox instead"));
                    return Ok(Length::Unknown);
                }
                let advice = "write a number with a decimal point and one of mm, cm, in, px, pt, pc or Q, \
                              or give --width MM and a viewBox";
                Err(Error::Size { place: place.clone(), what, advice: advice.into() })
            }
        };
        let lengths = (length("width")?, length("height")?);
        let (width, height, physical) = match (lengths, view_box) {
            ((Length::Px(w, a), Length::Px(h, b)), _) => (Some(w), Some(h), a && b),
            ((Length::Px(w, physical), Length::Unknown), Some((vw, vh))) => (Some(w), Some(w * vh / vw), physical),
            ((Length::Unknown, Length::Px(h, physical)), Some((vw, vh))) => (Some(h * vw / vh), Some(h), physical),
            ((Length::Unknown, Length::Unknown), Some((vw, vh))) => (Some(vw), Some(vh), false),
            ((Length::Px(w, physical), Length::Unknown), None) => (Some(w), None, physical),
            ((Length::Unknown, Length::Px(h, physical)), None) => (None, Some(h), physical),
            ((Length::Unknown, Length::Unknown), None) => (None, None, false),
        };
        let page = Page { width, height, physical };
        for (name, side) in [("width", width), ("height", height)] {
            if side.is_some_and(|side| !(1e-6..=1e9).contains(&side)) {
                let what = format!("the drawing's {name} of {:e} px makes no sense", side.unwrap_or(0.0));
                let advice = "mend width, height and viewBox of the root element".into();
                return Err(Error::Size { place: place.clone(), what, advice });
            }
        }
        Ok(page)
    }

    /// Writes the size into the root element's tag in px, as the resolver reads it right.
    pub fn write(&self, root: roxmltree::Node, text: &str, edits: &mut Edits) {
        let tag = root.range().start + 1;
        let name_end =
            text.get(tag..).and_then(|rest| rest.find(|c: char| c.is_whitespace() || matches!(c, '/' | '>')));
        for (name, side) in [("width", self.width), ("height", self.height)] {
            // A side that only the content tells is written as some length, which nothing depends on.
            let value = side.unwrap_or(UNTOLD_SIDE).to_string();
            let own = |attribute: &roxmltree::Attribute| attribute.name() == name && attribute.namespace().is_none();
            match root.attributes().find(own) {
                Some(attribute) => edits.replace(attribute.range_value(), value),
                None => edits.insert(tag + name_end.unwrap_or(0), format!(" {name}=\"{value}\"")),
            }
        }
    }

    /// The viewport in px; `None` when there is nothing to take its size from.
    pub fn viewport(&self, tree: &usvg::Tree) -> Option<Rect> {
        let content = tree.root().abs_stroke_bounding_box();
        let side = |size: Option<f64>, from: f32, to: f32| match size {
            Some(size) => (0.0, size),
            None => (f64::from(from), f64::from(to)),
        };
        let (x0, x1) = side(self.width, content.left(), content.right());
        let (y0, y1) = side(self.height, content.top(), content.bottom());
        let rect = Rect::new(x0, y0, x1, y1);
        (rect.is_finite() && rect.width() > 0.0 && rect.height() > 0.0).then_some(rect)
    }

    /// Millimetres per px along x and y for a viewport of `px`, checked.
    pub fn scale(&self, px: Rect, options: &Options, notes: &mut Notes) -> Result<(f64, f64), Error> {
        let sides = [("--width", options.width), ("--height", options.height)];
        for (name, side) in sides {
            if side.is_some_and(|side| !(side > 0.0 && side <= LONGEST_SIDE)) {
                return Err(Error::TooLarge {
                    place: format!("{name}: "),
                    what: format!("{} mm is no size to sew", side.unwrap_or(0.0)),
                    advice: format!("give a number of millimetres above 0 and up to {LONGEST_SIDE}"),
                });
            }
        }
        let by_width = options.width.map(|width| width / px.width());
        let by_height = options.height.map(|height| height / px.height());
        let (sx, sy) = match (by_width, by_height) {
            (Some(sx), Some(sy)) => (sx, sy),
            (Some(s), None) | (None, Some(s)) => (s, s),
            (None, None) => (MM_PER_PX, MM_PER_PX),
        };
        let (width, height) = (px.width() * sx, px.height() * sy);
        if width.max(height) > LONGEST_SIDE + ROUNDING {
            return Err(Error::TooLarge {
                place: String::new(),
                what: format!(
                    "the drawing is {} x {} mm, over the limit of {LONGEST_SIDE} mm a side",
                    beside_limit(width),
                    beside_limit(height)
                ),
                advice: "give the size to sew with --width MM".into(),
            });
        }
        if (sx / sy - 1.0).abs() > 0.005 {
            let (more, less, by) = if sx > sy { ('x', 'y', sx / sy) } else { ('y', 'x', sy / sx) };
            let what =
                format!("the drawing is stretched by {:.0} % more along {more} than along {less}", (by - 1.0) * 100.0);
            notes.push(Warning::new(what, "give only --width or only --height to keep its proportions"));
        }
        if !self.physical && by_width.is_none() && by_height.is_none() {
            let what = format!(
                "the drawing has no physical size; at 96 px an inch it is sewn {width:.1} mm wide and {height:.1} mm high"
            );
            notes.push(Warning::new(what, "give the size to sew with --width MM"));
        }
        Ok((sx, sy))
    }
}

/// Width and height of the `viewBox`, if there is one.
fn view_box(root: roxmltree::Node, place: &Place) -> Result<Option<(f64, f64)>, Error> {
    let Some(text) = root.attribute("viewBox") else { return Ok(None) };
    let refuse = |fault: &str, advice: &str| {
        let what = format!("viewBox=\"{}\" {fault}", quote(text));
        Err(Error::Size { place: place.clone(), what, advice: advice.into() })
    };
    let words = text.split(|c: char| c.is_ascii_whitespace() || c == ',').filter(|word| !word.is_empty());
    let numbers: Vec<f64> = words.map_while(|word| word.parse().ok().filter(|n: &f64| n.is_finite())).collect();
    let count = text.split(|c: char| c.is_ascii_whitespace() || c == ',').filter(|word| !word.is_empty()).count();
    match numbers[..] {
        [_, _, width, height] if count == 4 => {
            if width > 0.0 && height > 0.0 {
                Ok(Some((width, height)))
            } else {
                refuse("encloses no area, so nothing is shown", "give it a width and a height above 0")
            }
        }
        _ if count > 4 => refuse(
            &format!("has {count} numbers instead of 4"),
            "if these are decimal commas, write points; numbers are left, top, width and height",
        ),
        _ => refuse("is not four numbers", "write left, top, width and height"),
    }
}

/// A `width` or `height` of the root element; the error is what is wrong with it.
fn parse_length(text: Option<&str>) -> Result<Length, &'static str> {
    let Some(text) = text.map(str::trim).filter(|text| !text.is_empty() && *text != "auto") else {
        return Ok(Length::Unknown);
    };
    let unit_at = text
        .char_indices()
        .find(|&(at, c)| {
            let exponent = matches!(c, 'e' | 'E')
                && text
                    .get(at + 1..)
                    .is_some_and(|rest| rest.starts_with(|d: char| d.is_ascii_digit() || d == '-' || d == '+'));
            !(c.is_ascii_digit() || matches!(c, '+' | '-' | '.') || exponent)
        })
        .map_or(text.len(), |(at, _)| at);
    let (number, unit) = text.split_at(unit_at);
    if unit.starts_with(',') {
        return Err("has a decimal comma");
    }
    let number: f64 = number.parse().map_err(|_| "is no length")?;
    let (px, physical) = match unit.trim().to_ascii_lowercase().as_str() {
        "" | "px" => (1.0, false),
        "in" => (96.0, true),
        "mm" => (96.0 / 25.4, true),
        "cm" => (96.0 / 2.54, true),
        "q" => (96.0 / 101.6, true),
        "pt" => (96.0 / 72.0, true),
        "pc" => (16.0, true),
        "em" | "rem" => (16.0, false),
        "ex" => (8.0, false),
        "%" => return if number > 0.0 { Ok(Length::Unknown) } else { Err("is not above 0") },
        _ => return Err("has a unit that SVG does not know"),
    };
    let length = number * px;
    if !length.is_finite() {
        Err("is no length")
    } else if length <= 0.0 {
        Err("is not above 0")
    } else {
        Ok(Length::Px(length, physical))
    }
}

/// A length in whole mm, or in as many digits as tell it from the limit.
fn beside_limit(length: f64) -> String {
    let is_told = |digits: &usize| {
        let shown = format!("{length:.digits$}");
        length <= LONGEST_SIDE || shown.parse::<f64>().is_ok_and(|shown| shown > LONGEST_SIDE)
    };
    let digits = (0..=12).find(is_told).unwrap_or(12);
    format!("{length:.digits$}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_over_the_limit_is_told_from_it() {
        assert_eq!(beside_limit(2000.04), "2000.04");
        assert_eq!(beside_limit(2_000.000_3), "2000.0003");
        assert_eq!(beside_limit(50_000.2), "50000");
        assert_eq!(beside_limit(1999.7), "2000");
    }

    #[test]
    fn units_of_length() {
        for (text, mm) in [
            ("10mm", 10.0),
            ("1cm", 10.0),
            ("1in", 25.4),
            ("96", 25.4),
            ("96px", 25.4),
            ("72pt", 25.4),
            ("6pc", 25.4),
            ("40Q", 10.0),
            (" 1e1 MM ", 10.0),
            ("1E+1mm", 10.0),
            (".5cm", 5.0),
        ] {
            match parse_length(Some(text)) {
                Ok(Length::Px(px, _)) => assert!((px * MM_PER_PX - mm).abs() < 1e-9, "{text}"),
                other => panic!("{text}: {other:?}"),
            }
        }
        assert_eq!(parse_length(Some("2em")), Ok(Length::Px(32.0, false)));
    }

    #[test]
    fn sizes_that_tell_nothing() {
        for text in [None, Some(""), Some("auto"), Some("100%")] {
            assert_eq!(parse_length(text), Ok(Length::Unknown));
        }
    }

    #[test]
    fn sizes_that_are_wrong() {
        for text in ["100,5mm", "50m", "-3mm", "0", "mm", "1e400", "NaN", "ten", "1 0mm", "0%", "--1"] {
            assert!(parse_length(Some(text)).is_err(), "{text}");
        }
    }
}
