//! Names of shapes: id paths that a recipe can match.
//!
//! A name is the ids of the groups a shape lies in and its own, joined by `/`:
//! `flower/petal-3`. Groups without an id are passed over. A shape without one
//! is called by its element and its number among those elements of the
//! drawing, counted from 1 in the order of the text (`rect-4`); a `<use>` by
//! the id it refers to. What a `<use>` or a marker brings in has no ids of its
//! own and is called `path-1`, `path-2` and so on below it, or by the
//! `<use>` alone when it is a single shape. Names that occur again get `-2`,
//! `-3` and so on.

use std::collections::{BTreeMap, BTreeSet};

/// The longest part of a name, in characters.
const LONGEST_PART: usize = 40;
/// The longest name, in characters.
const LONGEST_NAME: usize = 160;

/// `text` as one clean part of a name: one line, no invisible characters, not
/// longer than [`LONGEST_PART`]; `None` when nothing is left.
pub(crate) fn clean(text: &str) -> Option<String> {
    clean_to(text, LONGEST_PART)
}

/// As [`clean`], with a length of its own.
pub(crate) fn clean_to(text: &str, longest: usize) -> Option<String> {
    let mut clean = String::new();
    let mut count = 0;
    let mut space = false;
    for c in text.chars() {
        if c.is_whitespace() || c.is_control() {
            space = count > 0;
            continue;
        }
        if is_invisible(c) {
            continue;
        }
        if count >= longest {
            clean.push('…');
            break;
        }
        if std::mem::take(&mut space) {
            clean.push(' ');
            count += 1;
        }
        clean.push(c);
        count += 1;
    }
    (!clean.is_empty()).then_some(clean)
}

/// Marks that print nothing but change the order or the look of what follows.
fn is_invisible(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}')
}

/// Adds a part to an id path.
pub(crate) fn join(path: &str, part: &str) -> String {
    let whole = match (path.is_empty(), part.is_empty()) {
        (_, true) => path.to_string(),
        (true, false) => part.to_string(),
        (false, false) => format!("{path}/{part}"),
    };
    let excess = whole.chars().count().saturating_sub(LONGEST_NAME);
    if excess == 0 {
        return whole;
    }
    // Too deep: the outermost groups go.
    let tail: String = whole.chars().skip(excess + 2).collect();
    let tail = tail.split_once('/').map_or(tail.as_str(), |(_, rest)| rest);
    format!("…/{tail}")
}

/// Names given so far.
#[derive(Debug, Default)]
pub(crate) struct Names {
    given: BTreeSet<String>,
    counts: BTreeMap<String, usize>,
}

impl Names {
    /// `name` with the first number from 1 that is still free.
    pub fn numbered(&mut self, name: &str) -> String {
        let count = self.counts.entry(name.to_string()).or_insert(0);
        loop {
            *count += 1;
            let free = format!("{name}-{count}");
            if self.given.insert(free.clone()) {
                return free;
            }
        }
    }

    /// `name`, or with the first number after it that is still free.
    pub fn unique(&mut self, name: String) -> String {
        let count = self.counts.entry(name.clone()).or_insert(0);
        let mut free = name.clone();
        loop {
            *count += 1;
            if *count > 1 {
                free = format!("{name}-{count}");
            }
            if self.given.insert(free.clone()) {
                return free;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_is_one_clean_line() {
        assert_eq!(clean(" a\n\u{7}b\u{202e}c ").as_deref(), Some("a bc"));
        assert_eq!(clean("\u{200b} \t"), None);
        let long = clean(&"x".repeat(250_000)).unwrap();
        assert_eq!(long.chars().count(), LONGEST_PART + 1);
    }

    #[test]
    fn a_deep_path_loses_its_outermost_groups() {
        let mut path = String::new();
        for i in 0..50 {
            path = join(&path, &format!("group-{i}"));
        }
        assert!(path.starts_with("…/group-") && path.ends_with("/group-49"), "{path}");
        assert!(path.chars().count() <= LONGEST_NAME);
    }

    #[test]
    fn names_are_unique_even_against_numbered_ones() {
        let mut names = Names::default();
        let given: Vec<_> = ["a", "a-2", "a", "a", "b"].map(|name| names.unique(name.into())).to_vec();
        assert_eq!(given, ["a", "a-2", "a-3", "a-4", "b"]);
        assert_eq!([names.numbered("path"), names.numbered("path")], ["path-1", "path-2"]);
    }
}
