//! Where in a TOML text a value may be put, and how it is written there.

use std::ops::Range;

/// What a stretch of a TOML text is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    /// Keys, values, brackets.
    Bare,
    /// The inside of a string with escapes.
    Text,
    /// The inside of a string without escapes.
    Literal,
    /// From `#` to the end of the line.
    Comment,
}

/// The stretches of `text`, in order. A string that is not closed ends with the
/// line or the text; the recipe's reader tells of it.
pub(crate) fn parts(text: &str) -> Vec<(Range<usize>, Part)> {
    let mut parts = Vec::new();
    let (mut at, mut bare) = (0, 0);
    while let Some(found) = text.get(at..).and_then(|rest| rest.find(['"', '\'', '#'])).map(|found| at + found) {
        parts.push((bare..found, Part::Bare));
        let rest = &text[found..];
        let (mark, part) = match rest.as_bytes() {
            [b'"', b'"', b'"', ..] => ("\"\"\"", Part::Text),
            [b'\'', b'\'', b'\'', ..] => ("'''", Part::Literal),
            [b'"', ..] => ("\"", Part::Text),
            [b'\'', ..] => ("'", Part::Literal),
            _ => ("#", Part::Comment),
        };
        let inside = found + mark.len();
        let end = end_of(text, inside, mark, part);
        parts.push((inside..end, part));
        at = if part == Part::Comment { end } else { (end + mark.len()).min(text.len()) };
        while !text.is_char_boundary(at) {
            at += 1;
        }
        bare = at;
    }
    parts.push((bare..text.len(), Part::Bare));
    parts
}

/// Where the string or comment whose inside begins at `from` ends.
fn end_of(text: &str, from: usize, mark: &str, part: Part) -> usize {
    let one_line = mark.len() == 1;
    let mut escaped = false;
    for (at, c) in text[from..].char_indices().map(|(at, c)| (from + at, c)) {
        if escaped {
            escaped = false;
            continue;
        }
        match c {
            '\n' if one_line => return at,
            '\\' if part == Part::Text => escaped = true,
            _ if part != Part::Comment && text[at..].starts_with(mark) => return at,
            _ => {}
        }
    }
    text.len()
}

/// `cell` as it stands inside a string with escapes.
pub(crate) fn escaped(cell: &str) -> String {
    let mut text = String::with_capacity(cell.len());
    for c in cell.chars() {
        match c {
            '"' | '\\' => text.extend(['\\', c]),
            c if c.is_control() => text.push_str(&format!("\\u{:04x}", u32::from(c))),
            c => text.push(c),
        }
    }
    text
}

/// `cell` as a value: a plain number or `true` or `false` as it stands, anything else as a string.
pub(crate) fn value(cell: &str) -> String {
    if is_number(cell) || matches!(cell, "true" | "false") { cell.to_owned() } else { format!("\"{}\"", escaped(cell)) }
}

/// Whether TOML reads `text` as a decimal number: no leading zeros, digits on both sides of a point.
fn is_number(text: &str) -> bool {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let unsigned = text.strip_prefix('-').unwrap_or(text);
    let (whole, part) = unsigned.split_once('.').map_or((unsigned, None), |(whole, part)| (whole, Some(part)));
    let leads_with_zero = whole.len() > 1 && whole.starts_with('0');
    text.len() <= 15 && digits(whole) && !leads_with_zero && part.is_none_or(digits)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strings_comments_and_the_rest_are_told_apart() {
        let text = "a = \"x\\\"{b}\" # {c}\nd = 'y' ; e = \"\"\"\n\"z\" \"\"\" f";
        let of = |wanted| -> Vec<&str> {
            parts(text).into_iter().filter(|(_, part)| *part == wanted).map(|(range, _)| &text[range]).collect()
        };
        assert_eq!(of(Part::Text), ["x\\\"{b}", "\n\"z\" "]);
        assert_eq!(of(Part::Literal), ["y"]);
        assert_eq!(of(Part::Comment), [" {c}"]);
        assert_eq!(of(Part::Bare).concat(), "a =  \nd =  ; e =  f");
    }

    #[test]
    fn numbers_are_those_of_toml() {
        for text in ["0", "-1", "80.5", "0.25"] {
            assert_eq!(value(text), text);
        }
        for text in ["007", "1.", ".5", "+", "1e5", "nan", "1_000", "1\n2", "1 # x", "99999999999999999999"] {
            assert!(value(text).starts_with('"'), "{text}");
        }
        assert_eq!((value("true"), value("yes")), ("true".into(), "\"yes\"".into()));
    }
}
