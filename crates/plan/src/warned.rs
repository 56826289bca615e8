//! A value and what its maker has to say about it.

use std::fmt;

/// Something the user should know: what happened, where, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Warning {
    /// The shape, piece or line concerned, if there is one.
    pub place: Option<String>,
    /// What happened, as a sentence without its full stop.
    pub what: String,
    /// The way out, as a sentence without its full stop.
    pub advice: String,
    /// Something that is drawn was left out though it could be sewn, so that the design is not whole.
    pub incomplete: bool,
}

impl Warning {
    /// A warning about the whole design.
    pub fn new(what: impl Into<String>, advice: impl Into<String>) -> Warning {
        Warning { place: None, what: what.into(), advice: advice.into(), incomplete: false }
    }

    /// A warning about one shape, piece or line.
    pub fn at(place: impl Into<String>, what: impl Into<String>, advice: impl Into<String>) -> Warning {
        Warning { place: Some(place.into()), ..Warning::new(what, advice) }
    }
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(place) = &self.place {
            write!(f, "{place}: ")?;
        }
        write!(f, "{}; {}", self.what, self.advice)
    }
}

/// A value with the warnings that came with it.
#[derive(Clone, Debug, PartialEq)]
#[must_use = "the warnings inside want to be shown"]
pub struct Warned<T> {
    /// The value.
    pub value: T,
    /// What its maker has to say, in the order it was found.
    pub warnings: Vec<Warning>,
}

impl<T> Warned<T> {
    /// A value nothing is to be said about.
    pub fn quiet(value: T) -> Warned<T> {
        Warned { value, warnings: Vec::new() }
    }

    /// Another value under the same warnings.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Warned<U> {
        Warned { value: change(self.value), warnings: self.warnings }
    }

    /// The value, its warnings moved to the end of `to`.
    pub fn take(mut self, to: &mut Vec<Warning>) -> T {
        to.append(&mut self.warnings);
        self.value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_warning_says_where_what_and_the_way_out() {
        let warning = Warning::at("leaf", "0.3 mm wide", "make it wider or sew it as a run");
        assert_eq!(warning.to_string(), "leaf: 0.3 mm wide; make it wider or sew it as a run");
    }

    #[test]
    fn taking_a_value_keeps_its_warnings() {
        let mut kept = vec![Warning::new("a", "b")];
        let value = Warned { value: 3, warnings: vec![Warning::new("c", "d")] }.map(|n| n + 1).take(&mut kept);
        assert_eq!((value, kept.len()), (4, 2));
    }
}
