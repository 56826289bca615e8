//! Texts of the drawing replaced by the caller's: a letter swapped without
//! touching the file, be it text or a path that draws it.

use crate::error::{Error, quote};
use crate::places::escaped;
use crate::{Fonts, letters};
use std::ops::Range;

/// `svg` with the text of each named element replaced. `texts` are pairs of an
/// id and its new text. The first run of letters inside the element takes the
/// new text, and with it its own style; the others go. A path gets the outlines of
/// the letters in the first of the `fonts` instead of its own.
///
/// # Errors
/// When there is no element of that id, no text in it and no path, or no font for a path's letters.
pub(crate) fn replaced(svg: &str, texts: &[(String, String)], fonts: &Fonts) -> Result<String, Error> {
    let document = crate::parse(svg)?;
    let mut splices: Vec<(Range<usize>, String)> = Vec::new();
    for (id, text) in texts {
        let element = document
            .descendants()
            .find(|node| node.attribute("id") == Some(id.as_str()))
            .ok_or_else(|| unfit(id, "there is no element of that id", &document))?;
        if let Some(data) = element.attribute_node("d").filter(|_| element.has_tag_name((crate::survey::SVG, "path"))) {
            if fonts.database.is_empty() {
                let (id, what) = (quote(id), "it is a path, and there is no font to draw letters with".into());
                return Err(Error::Text { id, what, advice: "name a font file with --font".into() });
            }
            let drawn = letters::in_place_of(data.value(), text, fonts)?;
            let what = "it draws nothing, or the font has none of the letters";
            splices.push((data.range_value(), drawn.ok_or_else(|| unfit(id, what, &document))?));
            continue;
        }
        let mut places = element
            .descendants()
            .filter(|node| node.is_text() && node.text().is_some_and(|text| !text.trim().is_empty()))
            .filter(|node| node.ancestors().any(|above| above.has_tag_name((crate::survey::SVG, "text"))))
            .map(|node| node.range())
            .peekable();
        if places.peek().is_none() {
            return Err(unfit(id, "there is no text in it", &document));
        }
        let mut new = escaped(text);
        splices.extend(places.map(|place| (place, std::mem::take(&mut new))));
    }
    splices.sort_by_key(|(place, _)| place.start);
    let mut result = String::with_capacity(svg.len());
    let mut from = 0;
    for (place, text) in splices {
        // An element inside another one of the list: the outer one was first.
        if place.start < from {
            continue;
        }
        result.push_str(svg.get(from..place.start).unwrap_or_default());
        result.push_str(&text);
        from = place.end;
    }
    result.push_str(svg.get(from..).unwrap_or_default());
    Ok(result)
}

fn unfit(id: &str, what: &str, document: &roxmltree::Document<'_>) -> Error {
    let named = document
        .descendants()
        .filter(|node| node.has_tag_name((crate::survey::SVG, "text")))
        .filter_map(|node| node.attribute("id"))
        .take(5)
        .map(quote)
        .collect::<Vec<_>>()
        .join(", ");
    let advice = if named.is_empty() {
        "name a <path> that draws a letter, or give a <text> element of the drawing an id".to_owned()
    } else {
        format!("texts with an id are: {named}")
    };
    Error::Text { id: quote(id), what: what.into(), advice }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SVG: &str =
        r#"<svg xmlns="http://www.w3.org/2000/svg"><text id="initial"><tspan>A</tspan> b</text><g id="bare"/></svg>"#;

    fn with(id: &str, text: &str) -> Result<String, Error> {
        replaced(SVG, &[(id.into(), text.into())], &Fonts::none())
    }

    #[test]
    fn the_first_run_of_letters_takes_the_text() {
        assert!(with("initial", "R").unwrap().contains("<tspan>R</tspan></text>"));
    }

    #[test]
    fn markup_stays_text() {
        assert!(with("initial", "<b>&").unwrap().contains("<tspan>&lt;b&gt;&amp;</tspan>"));
    }

    #[test]
    fn a_path_takes_outlines_and_keeps_the_rest() {
        let svg = r#"<svg xmlns="http://www.w3.org/2000/svg"><path id="i" fill="red" d="M0 0h5v9h-5z"/></svg>"#;
        let texts = [("i".to_owned(), "K".to_owned())];
        let font = include_bytes!("../../../fixtures/fonts/Inconsolata.otf").to_vec();
        let swapped = replaced(svg, &texts, &Fonts::from_bytes(vec![font])).unwrap();
        assert!(swapped.contains(r#"<path id="i" fill="red" d="M"#) && !swapped.contains("h5v9"), "{swapped}");
        let error = replaced(svg, &texts, &Fonts::none()).unwrap_err().to_string();
        assert!(error.contains("--font"), "{error}");
    }

    #[test]
    fn what_is_not_there_is_told() {
        assert!(with("monogram", "R").unwrap_err().to_string().contains("initial"));
        assert!(matches!(with("bare", "R"), Err(Error::Text { .. })));
    }
}
