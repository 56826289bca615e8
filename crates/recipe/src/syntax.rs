//! Faults of the TOML itself, told in the words of a recipe.

use crate::nearest::shortened;
use crate::source::{Faults, Source};
use toml::de::Error;

/// What was wrong with the TOML.
pub(crate) fn faults(errors: &[Error], source: &Source) -> Faults {
    let mut faults = Faults::default();
    let mut last = None;
    for error in errors {
        let span = error.span().unwrap_or(0..0);
        if faults.is_full() {
            faults.add(span, "", "");
            continue;
        }
        let about = source.text().get(span.clone()).unwrap_or_default();
        let after = source.text().get(span.start..).unwrap_or_default();
        let after = after.split_inclusive('\n').next().unwrap_or_default();
        let (message, advice) = match number_at(source.text(), span.start) {
            Some(number) if error.message().starts_with("invalid") => {
                ("a number begins or ends with its point".to_owned(), format!("write {number}"))
            }
            _ => told(error.message(), about.trim(), after.trim_start()),
        };
        // The reader may tell of one number twice.
        if last.replace(span.start) != Some(span.start) {
            faults.add(span, message, advice);
        }
    }
    faults
}

/// What is wrong and the way out, from the TOML reader's message, the text it
/// is about, and the rest of the line.
fn told(message: &str, about: &str, after: &str) -> (String, String) {
    let shown = shortened(about);
    let is = |start: &str| message.starts_with(start);
    if is("duplicate key") {
        let advice = "keep one of the two; only `[[thread]]` and `[[rule]]` may stand more than once";
        (format!("`{shown}` is there twice"), advice.to_owned())
    } else if is("string values must be quoted") && after.starts_with('#') {
        let colour: String = after.chars().take_while(|c| *c == '#' || c.is_ascii_hexdigit()).collect();
        let colour = shortened(&colour);
        ("a value is missing".to_owned(), format!("write colours in quotes: \"{colour}\""))
    } else if is("string values must be quoted") && !shown.is_empty() {
        (format!("`{shown}` is not in quotes"), format!("write \"{shown}\""))
    } else if is("string values must be quoted") {
        ("a value is missing".to_owned(), "write it after the `=`".to_owned())
    } else if is("invalid basic string") || is("invalid literal string") {
        ("a text does not end".to_owned(), "close it with a quote on the same line".to_owned())
    } else if is("unclosed inline table") {
        ("a `{` is not closed".to_owned(), "close it with `}`".to_owned())
    } else if is("unclosed table") || is("unclosed array table") {
        ("a heading is not closed".to_owned(), "write `[design]`, but `[[thread]]` and `[[rule]]`".to_owned())
    } else if is("unclosed array") {
        ("a list is not closed".to_owned(), "close it with `]`".to_owned())
    } else if is("key with no value") {
        ("a key has no value".to_owned(), "write `key = value`".to_owned())
    } else if after.starts_with(',') && after.as_bytes().get(1).is_some_and(u8::is_ascii_digit) {
        ("there is a comma in a number".to_owned(), "write fractions with a point, as 0.22".to_owned())
    } else if message.contains("recurs") {
        ("this nests too deep".to_owned(), "a recipe nests three levels deep at most".to_owned())
    } else {
        let first = message.lines().next().unwrap_or("this is not TOML").to_owned();
        (first, "a recipe is TOML: `key = value`, with texts and colours in \"quotes\"".to_owned())
    }
}

/// What `.9` or `9.` around a byte is as TOML wants it: a number with digits on both sides of its point.
fn number_at(text: &str, byte: usize) -> Option<String> {
    let is_part = |c: char| c.is_ascii_digit() || matches!(c, '.' | '+' | '-');
    let (before, after) = text.split_at_checked(byte)?;
    let before = before.get(before.trim_end_matches(is_part).len()..)?;
    let after: String = after.chars().take_while(|c| is_part(*c)).collect();
    let written = format!("{before}{after}");
    let digits = written.trim_start_matches(['+', '-']);
    let sign = written.get(..written.len() - digits.len())?;
    let (whole, fraction) = digits.split_once('.')?;
    let is_bare = whole.is_empty() != fraction.is_empty();
    let all_digits = whole.chars().chain(fraction.chars()).all(|c| c.is_ascii_digit());
    let or_zero = |part: &str| if part.is_empty() { "0".to_owned() } else { part.to_owned() };
    (is_bare && all_digits).then(|| format!("{sign}{}.{}", or_zero(whole), or_zero(fraction)))
}

/// Lines in which nothing that was read means anything: those with a fault, and
/// after a broken heading all up to the next.
pub(crate) fn unreadable_lines(faults: &Faults, source: &Source) -> Vec<usize> {
    let broken = faults.lines(source);
    let mut lines = Vec::new();
    let mut in_broken_table = false;
    for (number, line) in source.text().lines().enumerate().map(|(i, line)| (i + 1, line.trim_start())) {
        let wrong = broken.binary_search(&number).is_ok();
        if line.starts_with('[') {
            in_broken_table = wrong;
        }
        if wrong || in_broken_table {
            lines.push(number);
        }
    }
    lines
}
