//! Small changes to the drawing's text before the resolver reads it.

use std::ops::Range;

/// Replacements of byte ranges, and insertions where a range is empty.
#[derive(Debug, Default)]
pub(crate) struct Edits {
    edits: Vec<(Range<usize>, String)>,
}

impl Edits {
    /// Puts `text` in place of `range`.
    pub fn replace(&mut self, range: Range<usize>, text: impl Into<String>) {
        self.edits.push((range, text.into()));
    }

    /// Puts `text` before the byte `at`.
    pub fn insert(&mut self, at: usize, text: impl Into<String>) {
        self.replace(at..at, text);
    }

    /// `text` with the edits made. Of edits that overlap the first is made, and
    /// of two that are the same; one that does not lie on characters is not made.
    pub fn apply(mut self, text: &str) -> String {
        self.edits.sort_by_key(|(range, _)| (range.start, range.end));
        let mut changed = String::with_capacity(text.len() + self.edits.len() * 16);
        let mut at = 0;
        let mut last: Option<Range<usize>> = None;
        for (range, new) in self.edits {
            if range.start < at || last.as_ref() == Some(&range) {
                continue;
            }
            if let (Some(kept), Some(_)) = (text.get(at..range.start), text.get(range.clone())) {
                changed.push_str(kept);
                changed.push_str(&new);
                at = range.end;
                last = Some(range);
            }
        }
        changed.push_str(text.get(at..).unwrap_or(""));
        changed
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edits_are_made_in_the_order_of_the_text() {
        let mut edits = Edits::default();
        edits.replace(6..7, "none");
        edits.insert(2, "->");
        edits.insert(2, "->");
        edits.replace(5..7, "over");
        edits.replace(90..91, "beyond");
        assert_eq!(edits.apply("abcdefgh"), "ab->cdeoverh");
    }
}
