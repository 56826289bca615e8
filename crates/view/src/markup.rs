//! Pieces of HTML that pages share. Whatever comes from outside is escaped here.

use base64::{Engine, engine::general_purpose::STANDARD};
use laidwork_plan::Color;
use sha2::{Digest, Sha256};

/// The template with every `{place}` it knows filled in, in one go: what is
/// filled in is not looked at again.
pub(crate) fn fill(template: &str, with: impl Fn(&str) -> Option<String>) -> String {
    let mut filled = String::new();
    let mut rest = template;
    while let Some((before, after)) = rest.split_once('{') {
        filled.push_str(before);
        match after.split_once('}').and_then(|(place, behind)| with(place).map(|text| (text, behind))) {
            Some((text, behind)) => {
                filled.push_str(&text);
                rest = behind;
            }
            None => {
                filled.push('{');
                rest = after;
            }
        }
    }
    filled.push_str(rest);
    filled
}

/// Text for the inside of an HTML element or a quoted attribute.
pub(crate) fn escape(text: &str) -> String {
    let mut safe = String::new();
    for letter in text.chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            _ => safe.push(letter),
        }
    }
    safe
}

/// The name of an inline script or style in a content security policy.
pub(crate) fn hash(text: &str) -> String {
    format!("sha256-{}", STANDARD.encode(Sha256::digest(text)))
}

/// A picture from the base64 of its PNG file.
pub(crate) fn image(data: &str, words: &str) -> String {
    format!("<img src=\"data:image/png;base64,{data}\" alt=\"{}\">", escape(words))
}

/// A patch of a colour.
pub(crate) fn swatch(color: Color) -> String {
    format!(
        "<svg class=\"swatch\" viewBox=\"0 0 9 7\" aria-hidden=\"true\">\
         <rect x=\"0.15\" y=\"0.15\" width=\"8.7\" height=\"6.7\" rx=\"1\" fill=\"{color}\" stroke=\"#8d8698\" stroke-width=\"0.3\"/></svg>"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_filled_in_is_not_filled_again() {
        let with = |place: &str| (place == "a").then(|| "{a}{b}".to_owned());
        assert_eq!(fill("{a} {b} {", with), "{a}{b} {b} {");
    }
}
