//! Reads TOML against the table of keys: every error of the text at once, each
//! with its place.
//!
//! Takes time in proportion to the length of the text. The TOML reader bounds
//! how deep a value may nest, and tables are only followed as deep as the table
//! of keys goes.

use crate::keys::{Key, Keys, Kind, Preset, Range, each, find};
use crate::nearest::{listed, nearest, shortened};
use crate::source::{Diagnostics, Faults, Source};
use crate::values::{Found, Value, Values};
use crate::{syntax, table};
use std::ops;
use toml::Spanned;
use toml::de::{DeArray, DeInteger, DeTable, DeValue};

/// Names looked up among the right ones, at most: hostile texts have too many.
const MOST_SUGGESTIONS: usize = 500;

/// What is being read, and what was found wrong with it.
pub(crate) struct Reader<'s> {
    source: &'s Source,
    faults: Faults,
    suggestions: usize,
}

/// A table of the text, and the key it is the value of.
struct Place<'a, 'i> {
    table: &'a DeTable<'i>,
    owner: Option<&'static Key>,
    span: ops::Range<usize>,
}

impl<'s> Reader<'s> {
    pub(crate) fn new(source: &'s Source) -> Reader<'s> {
        Reader { source, faults: Faults::default(), suggestions: 0 }
    }

    /// The whole text as a table.
    pub(crate) fn document(&mut self, keys: Keys) -> Values {
        let (document, errors) = DeTable::parse_recoverable(self.source.text());
        let place = Place { table: document.get_ref(), owner: None, span: 0..0 };
        let values = self.table(&place, keys);
        let syntax = syntax::faults(&errors, self.source);
        if !syntax.is_empty() {
            self.faults.leave_out(&syntax::unreadable_lines(&syntax, self.source), self.source);
        }
        self.faults.append(syntax);
        values
    }

    /// `value`, if nothing was wrong with the text.
    pub(crate) fn finish<T>(self, value: T) -> Result<T, Diagnostics> {
        self.faults.or(value, self.source)
    }

    /// Whether there is time to look for the nearest name.
    pub(crate) fn may_suggest(&mut self) -> bool {
        self.suggestions += 1;
        self.suggestions <= MOST_SUGGESTIONS
    }

    pub(crate) fn wrong(&mut self, span: ops::Range<usize>, message: impl Into<String>, advice: impl Into<String>) {
        self.faults.add(span, message, advice);
    }

    fn table(&mut self, place: &Place<'_, '_>, keys: Keys) -> Values {
        let mut values = Values::default();
        let mut meant = Vec::new();
        for (name, value) in place.table {
            let Some(key) = find(keys, name.get_ref()) else {
                let (advice, near) = self.advice_for_unknown(name.get_ref(), keys, place.owner);
                let owner = place.owner.map_or("a recipe".to_owned(), |owner| format!("`{}`", owner.name));
                self.wrong(name.span(), format!("{owner} has no key `{}`", shortened(name.get_ref())), advice);
                meant.extend(near);
                continue;
            };
            if let Some(found) = self.value(&key.kind, value, key) {
                values.insert(key.name, Found { start: name.span().start, ..found });
            }
        }
        for key in each(keys).filter(|key| matches!(key.preset, Preset::Needed) && !meant.contains(&key.name)) {
            if !place.table.keys().any(|name| name.get_ref() == key.name) {
                let owner = place.owner.map_or("the file", |owner| owner.name);
                let advice = format!("write `{} =` and {}", key.name, key.kind.described());
                self.wrong(place.span.clone(), format!("`{owner}` lacks its key `{}`", key.name), advice);
            }
        }
        values
    }

    /// The nearest key of this table, or the table where it belongs.
    fn advice_for_unknown(&mut self, written: &str, keys: Keys, owner: Option<&Key>) -> (String, Option<&'static str>) {
        if !self.may_suggest() {
            return ("see the list of keys".to_owned(), None);
        }
        let homes = table::homes().filter(|(_, home)| find(home, written).is_some());
        let homes = homes.map(|(name, _)| name).collect::<Vec<_>>().join(" or ");
        let near = nearest(written, each(keys).map(|key| key.name));
        let advice = match near {
            Some(near) if homes.is_empty() => format!("did you mean `{near}`?"),
            Some(near) if owner.is_some() && strsim::damerau_levenshtein(written, near) <= 2 => {
                format!("did you mean `{near}`? or it belongs in {homes}")
            }
            _ if !homes.is_empty() => format!("it belongs in {homes}"),
            _ => advice_from_elsewhere(written, keys),
        };
        (advice, near)
    }

    fn value(&mut self, kind: &'static Kind, value: &Spanned<DeValue<'_>>, key: &'static Key) -> Option<Found> {
        let span = value.span();
        let read = match (kind, value.get_ref()) {
            (Kind::Either(kinds), one) => match kinds.iter().find(|kind| kind.may_be(one)) {
                Some(kind) => return self.value(kind, value, key),
                None => Err(mismatch(one, key)),
            },
            (Kind::Number(range), DeValue::Float(float)) => {
                in_range(float.as_str().parse().ok(), float.as_str(), range, key)
            }
            (Kind::Number(range) | Kind::Count(range), DeValue::Integer(integer)) => {
                in_range(whole(integer), integer.as_str(), range, key)
            }
            (Kind::Count(range), DeValue::Float(float)) => {
                let number: Option<f64> = float.as_str().parse().ok();
                in_range(number.filter(|number| number.fract().abs() < f64::MIN_POSITIVE), float.as_str(), range, key)
            }
            (Kind::Bool, DeValue::Boolean(value)) => Ok(Value::Bool(*value)),
            (Kind::Word(words), DeValue::String(text)) => return self.word(words, text, span, key),
            (Kind::Color, DeValue::String(text)) => {
                text.parse().map(Value::Color).map_err(|_| format!("\"{}\" is no colour", shortened(text)))
            }
            (Kind::Text | Kind::Match | Kind::Material | Kind::Thread, DeValue::String(text)) => one_line(text, key),
            (Kind::List { of, least, most }, DeValue::Array(items)) => {
                if (*least..=*most).contains(&items.len()) {
                    return self.list(of, items, span, key);
                }
                Err(format!("`{}` cannot be a list of {}", key.name, items.len()))
            }
            (Kind::Table(keys), DeValue::Table(table)) => {
                Ok(Value::Table(self.table(&Place { table, owner: Some(key), span: span.clone() }, keys)))
            }
            (Kind::Tables(keys), DeValue::Array(items)) => Ok(Value::Tables(self.tables(kind, keys, items, key))),
            (Kind::Rows(keys), DeValue::Table(table)) => Ok(Value::Rows(self.rows(kind, keys, table, key))),
            (_, other) => Err(mismatch(other, key)),
        };
        match read {
            Ok(value) => Some(Found { value, start: span.start, span }),
            Err(message) => {
                self.wrong(span, message, advice_for(kind, key));
                None
            }
        }
    }

    fn word(&mut self, words: &[&str], text: &str, span: ops::Range<usize>, key: &'static Key) -> Option<Found> {
        if words.contains(&text) {
            return Some(Found { value: Value::Text(text.to_owned()), start: span.start, span });
        }
        let near = if self.may_suggest() { nearest(text, words.iter().copied()) } else { None };
        let advice = match near {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("write {}", key.kind.described()),
        };
        self.wrong(span, format!("`{}` cannot be \"{}\"", key.name, shortened(text)), advice);
        None
    }

    fn list(
        &mut self,
        of: &'static Kind,
        items: &DeArray<'_>,
        span: ops::Range<usize>,
        key: &'static Key,
    ) -> Option<Found> {
        let list: Vec<_> = items.iter().filter_map(|item| self.value(of, item, key)).collect();
        let complete = list.len() == items.len();
        complete.then_some(Found { value: Value::List(list), start: span.start, span })
    }

    fn tables(&mut self, kind: &Kind, keys: Keys, items: &DeArray<'_>, key: &'static Key) -> Vec<Found> {
        let mut tables = Vec::with_capacity(items.len());
        for item in items.iter() {
            match item.get_ref() {
                DeValue::Table(table) => {
                    let place = Place { table, owner: Some(key), span: item.span() };
                    let value = Value::Table(self.table(&place, keys));
                    tables.push(Found { value, start: item.span().start, span: item.span() });
                }
                other => self.wrong(item.span(), mismatch(other, key), advice_for(kind, key)),
            }
        }
        tables
    }

    fn rows(&mut self, kind: &Kind, keys: Keys, table: &DeTable<'_>, key: &'static Key) -> Vec<(String, Found)> {
        let mut rows = Vec::with_capacity(table.len());
        for (name, item) in table {
            match item.get_ref() {
                DeValue::Table(table) => {
                    let place = Place { table, owner: Some(key), span: name.span() };
                    let value = Value::Table(self.table(&place, keys));
                    let found = Found { value, start: name.span().start, span: name.span() };
                    rows.push((name.get_ref().to_string(), found));
                }
                other => self.wrong(item.span(), mismatch(other, key), advice_for(kind, key)),
            }
        }
        rows
    }
}

impl Kind {
    /// Whether a value has the TOML type that this kind is written as.
    fn may_be(&self, value: &DeValue<'_>) -> bool {
        match value {
            DeValue::String(_) => {
                matches!(self, Kind::Word(_) | Kind::Text | Kind::Color | Kind::Match | Kind::Material | Kind::Thread)
            }
            DeValue::Integer(_) => matches!(self, Kind::Number(_) | Kind::Count(_)),
            DeValue::Float(_) => matches!(self, Kind::Number(_) | Kind::Count(_)),
            DeValue::Boolean(_) => matches!(self, Kind::Bool),
            DeValue::Array(_) => matches!(self, Kind::List { .. } | Kind::Tables(_)),
            DeValue::Table(_) => matches!(self, Kind::Table(_) | Kind::Rows(_)),
            DeValue::Datetime(_) => false,
        }
    }
}

/// Other words for a key, keys of other tables, or else the keys there are.
fn advice_from_elsewhere(written: &str, keys: Keys) -> String {
    if let Some((_, instead)) = table::OTHER_WORDS.iter().find(|(word, _)| written.eq_ignore_ascii_case(word))
        && find(keys, instead).is_some()
    {
        return format!("did you mean `{instead}`?");
    }
    let elsewhere = || table::homes().flat_map(|(name, home)| each(home).map(move |key| (name, key.name)));
    let near = nearest(written, elsewhere().map(|(_, key)| key));
    match near.and_then(|near| elsewhere().find(|(_, key)| *key == near)) {
        Some((name, near)) => format!("did you mean `{near}` in {name}?"),
        None => format!("its keys are {}", listed(each(keys).map(|key| key.name))),
    }
}

fn in_range(number: Option<f64>, written: &str, range: &Range, key: &Key) -> Result<Value, String> {
    match number {
        Some(number) if range.least <= number && number <= range.most => Ok(Value::Number(number)),
        _ => Err(format!("{} is out of the range of `{}`", shortened(written), key.name)),
    }
}

fn one_line(text: &str, key: &Key) -> Result<Value, String> {
    if text.trim().is_empty() {
        Err(format!("`{}` is empty", key.name))
    } else if text.trim() != text || text.chars().any(char::is_control) {
        Err(format!("`{}` is not one line without spaces at its ends", key.name))
    } else {
        Ok(Value::Text(text.to_owned()))
    }
}

/// What to write for a key, as a sentence.
fn advice_for(kind: &Kind, key: &Key) -> String {
    match kind {
        Kind::Tables(_) => format!("write tables under `[[{}]]`", key.name),
        Kind::Rows(_) => format!("write tables under `[{}.NAME]`", key.name),
        Kind::Table(_) => format!("write a table: `{} = {{ key = value }}`", key.name),
        _ => format!("write {}", kind.described()),
    }
}

fn mismatch(value: &DeValue<'_>, key: &Key) -> String {
    let what = match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number with a fraction",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    };
    format!("`{}` cannot be {what}", key.name)
}

/// A whole number that a float holds exactly.
fn whole(integer: &DeInteger<'_>) -> Option<f64> {
    let value = i64::from_str_radix(integer.as_str(), integer.radix()).ok()?;
    (value.unsigned_abs() < 1 << 53).then_some(value as f64)
}
