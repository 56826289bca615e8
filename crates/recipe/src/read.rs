//! Reads TOML against the table of keys: every error of the text at once, each
//! with its place.
//!
//! Takes time in proportion to the length of the text. The TOML reader bounds
//! how deep a value may nest, and tables are only followed as deep as the table
//! of keys goes.

use crate::keys::{Key, Keys, Kind, each, find};
use crate::source::{Diagnostic, Source};
use crate::table;
use crate::values::{Found, Value, Values};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeInteger, DeTable, DeValue};

/// Names looked up among the right ones, at most: hostile texts have too many.
const MOST_SUGGESTIONS: usize = 500;

/// What is being read, and what was found wrong with it.
pub(crate) struct Reader<'s> {
    source: &'s Source,
    pub(crate) errors: Vec<Diagnostic>,
    suggestions: usize,
}

impl<'s> Reader<'s> {
    pub(crate) fn new(source: &'s Source) -> Reader<'s> {
        Reader { source, errors: Vec::new(), suggestions: 0 }
    }

    /// The whole text as a table.
    pub(crate) fn document(&mut self, keys: Keys) -> Values {
        let (document, errors) = DeTable::parse_recoverable(&self.source.text);
        for error in errors {
            let advice = if error.message().contains("duplicate") {
                "keep one of them; tables that may repeat are written `[[thread]]` and `[[rule]]`"
            } else {
                "a recipe is written in TOML: `key = value`, texts in \"quotes\""
            };
            self.wrong(error.span().unwrap_or(0..0), first_line(error.message()), advice.to_owned());
        }
        self.table(document.get_ref(), keys, None)
    }

    pub(crate) fn wrong(&mut self, span: Range<usize>, message: impl Into<String>, advice: impl Into<String>) {
        self.errors.push(self.source.diagnostic(span, message.into(), advice.into()));
    }

    /// A table within the value of `owner`, or the whole file.
    fn table(&mut self, table: &DeTable<'_>, keys: Keys, owner: Option<&Key>) -> Values {
        let mut values = Values::default();
        for (name, value) in table {
            let Some(key) = find(keys, name.get_ref()) else {
                self.unknown(name, keys, owner);
                continue;
            };
            let start = name.span().start;
            if let Some(found) = self.value(&key.kind, value, key) {
                values.insert(key.name, Found { start, ..found });
            }
        }
        values
    }

    fn unknown(&mut self, name: &Spanned<impl AsRef<str>>, keys: Keys, owner: Option<&Key>) {
        let written = name.get_ref().as_ref();
        let place = owner.map_or("the recipe".to_owned(), |owner| format!("`{}`", owner.name));
        let message = format!("{place} has no key `{}`", shortened(written));
        let advice = self.advice_for_unknown(written, keys, owner);
        self.wrong(name.span(), message, advice);
    }

    fn advice_for_unknown(&mut self, written: &str, keys: Keys, owner: Option<&Key>) -> String {
        let elsewhere = table::homes().filter(|(_, home)| find(home, written).is_some()).map(|(name, _)| name);
        let elsewhere: Vec<_> = elsewhere.collect();
        if !elsewhere.is_empty() && owner.is_none_or(|owner| !owner.is_shape_table()) {
            return format!("it belongs in {}", elsewhere.join(" or "));
        }
        if let Some(near) = self.nearest(written, each(keys).map(|key| key.name)) {
            return format!("did you mean `{near}`?");
        }
        if !elsewhere.is_empty() {
            return format!("it belongs in {}", elsewhere.join(" or "));
        }
        if let Some((name, near)) = self.nearest_elsewhere(written) {
            return format!("did you mean `{near}` in {name}?");
        }
        format!("its keys are {}", listed(each(keys).map(|key| key.name)))
    }

    fn nearest_elsewhere(&mut self, written: &str) -> Option<(&'static str, &'static str)> {
        let names = table::homes().flat_map(|(name, home)| each(home).map(move |key| (name, key.name)));
        let near = self.nearest(written, names.clone().map(|(_, key)| key))?;
        names.into_iter().find(|(_, key)| *key == near)
    }

    /// The right name that is most like the one written, if any is like it.
    pub(crate) fn nearest<'a>(&mut self, written: &str, names: impl Iterator<Item = &'a str>) -> Option<&'a str> {
        self.suggestions += 1;
        if self.suggestions > MOST_SUGGESTIONS { None } else { nearest(written, names) }
    }

    fn value(&mut self, kind: &'static Kind, value: &Spanned<DeValue<'_>>, key: &'static Key) -> Option<Found> {
        let found = |value, span: Range<usize>| Some(Found { value, start: span.start, span });
        let span = value.span();
        let fault = match (kind, value.get_ref()) {
            (Kind::Either(kinds), value_) => match kinds.iter().find(|kind| kind.may_be(value_)) {
                Some(kind) => return self.value(kind, value, key),
                None => None,
            },
            (Kind::Number(range), DeValue::Integer(_) | DeValue::Float(_)) => match number(value.get_ref()) {
                Some(number) if range.least <= number && number <= range.most => {
                    return found(Value::Number(number), span);
                }
                _ => Some(format!("`{}` is out of its range", key.name)),
            },
            (Kind::Count(range), DeValue::Integer(integer)) => match whole(integer) {
                Some(number) if range.least <= number && number <= range.most => {
                    return found(Value::Number(number), span);
                }
                _ => Some(format!("`{}` is out of its range", key.name)),
            },
            (Kind::Bool, DeValue::Boolean(value)) => return found(Value::Bool(*value), span),
            (Kind::Word(words), DeValue::String(text)) => {
                if words.contains(&text.as_ref()) {
                    return found(Value::Text(text.to_string()), span);
                }
                let near = self.nearest(text, words.iter().copied());
                let near = near.map_or_else(|| key.kind.described(), |near| format!("\"{near}\""));
                let message = format!("`{}` cannot be \"{}\"", key.name, shortened(text));
                self.wrong(
                    span,
                    message,
                    format!("did you mean {near}?").replace("did you mean one of", "write one of"),
                );
                return None;
            }
            (Kind::Color, DeValue::String(text)) => match text.parse() {
                Ok(color) => return found(Value::Color(color), span),
                Err(_) => Some(format!("`{}` is no colour: \"{}\"", key.name, shortened(text))),
            },
            (Kind::Text | Kind::Match | Kind::Material | Kind::Thread, DeValue::String(text)) => {
                if !text.trim().is_empty() && !text.chars().any(char::is_control) {
                    return found(Value::Text(text.to_string()), span);
                }
                Some(format!("`{}` is not one line of text", key.name))
            }
            (Kind::List { of, least, most }, DeValue::Array(items)) => {
                if (*least..=*most).contains(&items.len()) {
                    let before = self.errors.len();
                    let list: Vec<_> = items.iter().filter_map(|item| self.value(of, item, key)).collect();
                    return if self.errors.len() == before { found(Value::List(list), span) } else { None };
                }
                Some(format!("`{}` has {} items", key.name, items.len()))
            }
            (Kind::Table(keys), DeValue::Table(table)) => {
                self.needed(table, keys, key, &span);
                return found(Value::Table(self.table(table, keys, Some(key))), span);
            }
            (Kind::Tables(keys), DeValue::Array(items)) => {
                let mut tables = Vec::new();
                for item in items.iter() {
                    if let DeValue::Table(table) = item.get_ref() {
                        self.needed(table, keys, key, &item.span());
                        let value = Value::Table(self.table(table, keys, Some(key)));
                        tables.push(Found { value, span: item.span(), start: item.span().start });
                    } else {
                        self.mismatch(kind, item, key);
                    }
                }
                return found(Value::Tables(tables), span);
            }
            (Kind::Rows(keys), DeValue::Table(table)) => {
                let mut rows = Vec::new();
                for (name, item) in table {
                    if let DeValue::Table(table) = item.get_ref() {
                        let value = Value::Table(self.table(table, keys, Some(key)));
                        let at = Found { value, span: name.span(), start: name.span().start };
                        rows.push((name.get_ref().to_string(), at));
                    } else {
                        self.mismatch(kind, item, key);
                    }
                }
                return found(Value::Rows(rows), span);
            }
            _ => None,
        };
        match fault {
            Some(message) => self.wrong(span, message, format!("write {}", kind.described())),
            None => self.mismatch(kind, value, key),
        }
        None
    }

    fn mismatch(&mut self, kind: &Kind, value: &Spanned<DeValue<'_>>, key: &Key) {
        let what = match value.get_ref() {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) => "a whole number",
            DeValue::Float(_) => "a number with a fraction",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        self.wrong(value.span(), format!("`{}` cannot be {what}", key.name), format!("write {}", kind.described()));
    }

    fn needed(&mut self, table: &DeTable<'_>, keys: Keys, owner: &Key, span: &Range<usize>) {
        for key in each(keys).filter(|key| matches!(key.preset, crate::keys::Preset::Needed)) {
            if !table.keys().any(|name| name.get_ref() == key.name) {
                let message = format!("`{}` lacks its key `{}`", owner.name, key.name);
                self.wrong(span.clone(), message, format!("write `{} = ` and {}", key.name, key.kind.described()));
            }
        }
    }
}

impl Key {
    /// Whether it is a table that takes the keys of shapes.
    fn is_shape_table(&self) -> bool {
        matches!(self.name, "rule" | "defaults")
    }
}

impl Kind {
    /// Whether a value has a TOML type that this kind is written as.
    fn may_be(&self, value: &DeValue<'_>) -> bool {
        match value {
            DeValue::String(_) => {
                matches!(self, Kind::Word(_) | Kind::Text | Kind::Color | Kind::Match | Kind::Material | Kind::Thread)
            }
            DeValue::Integer(_) => matches!(self, Kind::Number(_) | Kind::Count(_)),
            DeValue::Float(_) => matches!(self, Kind::Number(_)),
            DeValue::Boolean(_) => matches!(self, Kind::Bool),
            DeValue::Array(_) => matches!(self, Kind::List { .. } | Kind::Tables(_)),
            DeValue::Table(_) => matches!(self, Kind::Table(_) | Kind::Rows(_)),
            DeValue::Datetime(_) => false,
        }
    }
}

/// The name among `names` that is most like `written`, if any is like it.
pub(crate) fn nearest<'a>(written: &str, names: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    if written.len() > 80 {
        return None;
    }
    let written = written.to_lowercase();
    let mut best: Option<(f64, &str)> = None;
    for name in names.filter(|name| name.len() <= 200) {
        let likeness = strsim::normalized_damerau_levenshtein(&written, &name.to_lowercase());
        if likeness >= 0.5 && best.is_none_or(|(most, _)| likeness > most) {
            best = Some((likeness, name));
        }
    }
    best.map(|(_, name)| name)
}

/// The first line of a message of the TOML reader.
fn first_line(message: &str) -> String {
    message.lines().next().unwrap_or("not TOML").to_owned()
}

/// A text as messages show it: long ones cut.
pub(crate) fn shortened(text: &str) -> String {
    let mut shown: String = text.chars().filter(|c| !c.is_control()).take(40).collect();
    if text.chars().nth(40).is_some() {
        shown.push('…');
    }
    shown
}

pub(crate) fn listed<'a>(names: impl Iterator<Item = &'a str>) -> String {
    names.collect::<Vec<_>>().join(", ")
}

fn number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(integer) => whole(integer),
        DeValue::Float(float) => float.as_str().parse().ok(),
        _ => None,
    }
}

/// A whole number that a float can hold exactly.
fn whole(integer: &DeInteger<'_>) -> Option<f64> {
    let value = i64::from_str_radix(integer.as_str(), integer.radix()).ok()?;
    (value.unsigned_abs() < 1 << 53).then_some(value as f64)
}
