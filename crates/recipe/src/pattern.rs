//! Patterns that pick shapes by their id path: `*` stands for any run of
//! characters, everything else for itself.

use std::fmt;

/// An id path with `*` in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pattern {
    text: String,
    pub(crate) start: usize,
}

impl Pattern {
    /// A pattern from its text.
    pub fn new(text: impl Into<String>) -> Pattern {
        Pattern { text: text.into(), start: 0 }
    }

    /// A pattern that stands at a byte of the recipe.
    pub(crate) fn at(text: &str, start: usize) -> Pattern {
        Pattern { text: text.to_owned(), start }
    }

    /// Its text.
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// Whether all of `name` fits. Takes at most time in proportion to the
    /// product of both lengths, and in proportion to their sum for one `*`.
    pub fn matches(&self, name: &str) -> bool {
        let (pattern, name) = (self.text.as_bytes(), name.as_bytes());
        let (mut p, mut n) = (0, 0);
        let mut star: Option<(usize, usize)> = None; // after the last `*`, and where its run may end
        while n < name.len() {
            if pattern.get(p) == Some(&b'*') {
                p += 1;
                star = Some((p, n));
            } else if pattern.get(p) == name.get(n) {
                p += 1;
                n += 1;
            } else if let Some((after, end)) = star {
                p = after;
                n = end + 1;
                star = Some((after, n));
            } else {
                return false;
            }
        }
        pattern.get(p..).is_some_and(|rest| rest.iter().all(|b| *b == b'*'))
    }
}

impl fmt::Display for Pattern {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn matches(pattern: &str, name: &str) -> bool {
        Pattern::new(pattern).matches(name)
    }

    #[test]
    fn without_a_star_the_whole_name_has_to_fit() {
        assert!(matches("bean/pod", "bean/pod"));
        assert!(!matches("bean", "bean/pod"));
        assert!(!matches("pod", "bean/pod"));
    }

    #[test]
    fn a_star_stands_for_any_run_of_characters() {
        for pattern in ["*", "flower/*", "*/petal-3", "flower/petal-*", "f*p*3", "**", "flower/petal-3*"] {
            assert!(matches(pattern, "flower/petal-3"), "{pattern}");
        }
        assert!(!matches("flower/petal-*4", "flower/petal-3"));
        assert!(matches("*", ""));
        assert!(matches("*ä*", "blüte/kräuter"));
    }

    #[test]
    fn many_stars_do_not_take_for_ever() {
        let pattern = format!("{}b", "*a".repeat(200));
        assert!(!matches(&pattern, &"a".repeat(20_000)));
    }
}
