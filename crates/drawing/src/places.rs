//! Where in a drawing's own text other words may be put: for templates, whose
//! placeholders must not reach into markup or style sheets.

use crate::{Error, skim, source};
use std::ops::Range;

/// A stretch of a drawing's text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TextPlace {
    /// Bytes of the text.
    pub range: Range<usize>,
    /// Letters that people read: those of `<text>` and `<title>`. Otherwise the value of an attribute.
    pub is_lettering: bool,
    /// Letters that are sewn: those of `<text>`.
    pub is_sewn: bool,
}

/// The drawing in `bytes` (SVG, or SVG compressed with gzip) as text, with the
/// places of its letters and of its attributes' values, in order. What is put there
/// has to be [`escaped`]. CDATA sections, style sheets and comments are no such places.
///
/// # Errors
/// When the bytes are no XML, or exceed a limit.
pub fn text_places(bytes: &[u8]) -> Result<(String, Vec<TextPlace>), Error> {
    let text = source::text(bytes)?;
    skim::skim(&text)?;
    let document = crate::parse(&text)?;
    let mut places = Vec::new();
    for node in document.descendants() {
        let values = node.attributes().map(|attribute| TextPlace {
            range: attribute.range_value(),
            is_lettering: false,
            is_sewn: false,
        });
        places.extend(values);
        let range = node.range();
        let is_plain = || text.get(range.clone()).is_some_and(|raw| !raw.starts_with("<![CDATA["));
        let is_sewn = lies_in(node, "text");
        if node.is_text() && (is_sewn || lies_in(node, "title")) && is_plain() {
            places.push(TextPlace { range: range.clone(), is_lettering: true, is_sewn });
        }
    }
    // What an entity stands for has the place of the entity, many times over.
    places.sort_by_key(|place| (place.range.start, place.range.end));
    let mut end = 0;
    places.retain(|place| {
        let apart = place.range.start >= end && text.get(place.range.clone()).is_some();
        end = if apart { place.range.end } else { end };
        apart
    });
    drop(document);
    Ok((text, places))
}

/// Whether a node lies in an element of this name.
fn lies_in(node: roxmltree::Node, name: &str) -> bool {
    node.ancestors().any(|above| above.is_element() && above.tag_name().name() == name)
}

/// Text as XML holds it, between tags and in quotes. White space of any kind
/// becomes a space, other control characters are left out.
pub fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&apos;"),
            c if c.is_whitespace() => safe.push(' '),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => {}
            c => safe.push(c),
        }
    }
    safe
}
