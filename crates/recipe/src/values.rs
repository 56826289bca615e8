//! Values that were read, each with its place in the text, and how sets of
//! them are laid over each other.

use crate::keys::{Key, Keys, Preset, each};
use crate::pattern::Pattern;
use laidwork_plan::{Color, Point};
use std::collections::BTreeMap;
use std::ops::Range;

/// A value of the right kind.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Value {
    Number(f64),
    Bool(bool),
    Text(String),
    Color(Color),
    List(Vec<Found>),
    Table(Values),
    Tables(Vec<Found>),
    Rows(Vec<(String, Found)>),
}

/// A value and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Found {
    pub(crate) value: Value,
    /// Bytes of the value.
    pub(crate) span: Range<usize>,
    /// First byte of its key, or of itself within a list.
    pub(crate) start: usize,
}

/// What was written of a table, by the names of its keys.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Values(BTreeMap<&'static str, Found>);

impl Values {
    pub(crate) fn insert(&mut self, key: &'static str, found: Found) {
        self.0.insert(key, found);
    }

    /// Another value for a key that is written, at the same place in the text.
    pub(crate) fn replace(&mut self, key: &str, value: Value) {
        if let Some(found) = self.0.get_mut(key) {
            found.value = value;
        }
    }

    pub(crate) fn get(&self, key: &str) -> Option<&Found> {
        self.0.get(key)
    }

    /// Everything written, in the order of the keys' names.
    pub(crate) fn iter(&self) -> impl Iterator<Item = (&'static str, &Found)> {
        self.0.iter().map(|(key, found)| (*key, found))
    }

    pub(crate) fn len(&self) -> usize {
        self.0.len()
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether laying `over` over these values leaves none of them, and changes some.
    pub(crate) fn undone_by(&self, over: &Values) -> bool {
        let changes = |(key, found): (&str, &Found)| over.get(key).is_some_and(|over| !found.value.same(&over.value));
        self.all_within(over) && self.iter().any(changes)
    }

    fn all_within(&self, over: &Values) -> bool {
        self.iter().all(|(key, found)| match (&found.value, over.get(key).map(|over| &over.value)) {
            (_, None) => false,
            (Value::Table(under), Some(Value::Table(over))) => under.all_within(over),
            (_, Some(_)) => true,
        })
    }

    /// Lays `over` over these values: key by key, tables within likewise.
    pub(crate) fn overlay(&mut self, over: &Values) {
        for (key, found) in over.iter() {
            match (self.0.get_mut(key).map(|under| &mut under.value), &found.value) {
                (Some(Value::Table(under)), Value::Table(over)) => under.overlay(over),
                _ => self.insert(key, found.clone()),
            }
        }
    }

    pub(crate) fn table(&self, key: &str) -> Option<&Values> {
        match &self.get(key)?.value {
            Value::Table(values) => Some(values),
            _ => None,
        }
    }

    pub(crate) fn tables(&self, key: &str) -> &[Found] {
        match self.get(key).map(|found| &found.value) {
            Some(Value::Tables(tables)) => tables,
            _ => &[],
        }
    }

    pub(crate) fn rows(&self, key: &str) -> &[(String, Found)] {
        match self.get(key).map(|found| &found.value) {
            Some(Value::Rows(rows)) => rows,
            _ => &[],
        }
    }
}

/// What was written of a table, with the defaults of its keys behind it.
#[derive(Clone, Copy)]
pub(crate) struct View<'a> {
    pub(crate) keys: Keys,
    pub(crate) values: &'a Values,
}

impl<'a> View<'a> {
    pub(crate) fn new(keys: Keys, values: &'a Values) -> View<'a> {
        View { keys, values }
    }

    fn preset(&self, name: &str) -> Option<&'static Preset> {
        let key: Option<&'static Key> = each(self.keys).find(|key| key.name == name);
        debug_assert!(key.is_some(), "no key {name:?} in the table of keys");
        key.map(|key| &key.preset)
    }

    fn value(&self, name: &str) -> Option<&'a Value> {
        debug_assert!(self.preset(name).is_some());
        self.values.get(name).map(|found| &found.value)
    }

    pub(crate) fn number_if_given(&self, name: &str) -> Option<f64> {
        match self.value(name) {
            Some(Value::Number(number)) => Some(*number),
            _ => None,
        }
    }

    pub(crate) fn number(&self, name: &str) -> f64 {
        self.number_if_given(name).or_else(|| self.preset(name)?.number()).unwrap_or_default()
    }

    pub(crate) fn count(&self, name: &str) -> u64 {
        self.number(name) as u64
    }

    pub(crate) fn bool(&self, name: &str) -> bool {
        match self.value(name) {
            Some(Value::Bool(value)) => *value,
            _ => matches!(self.preset(name), Some(Preset::Bool(true))),
        }
    }

    pub(crate) fn text_if_given(&self, name: &str) -> Option<&'a str> {
        match self.value(name) {
            Some(Value::Text(text)) => Some(text),
            _ => None,
        }
    }

    /// A text or a word, or its default.
    pub(crate) fn word(&self, name: &str) -> &'a str {
        self.text_if_given(name).unwrap_or_else(|| match self.preset(name) {
            Some(Preset::Word(word)) => word,
            _ => "",
        })
    }

    pub(crate) fn color(&self, name: &str) -> Option<Color> {
        match self.value(name) {
            Some(Value::Color(color)) => Some(*color),
            _ => None,
        }
    }

    /// A colour or a list of them.
    pub(crate) fn colors(&self, name: &str) -> Vec<Color> {
        match self.value(name) {
            Some(Value::Color(color)) => vec![*color],
            Some(Value::List(list)) => list.iter().filter_map(|found| found.color()).collect(),
            _ => Vec::new(),
        }
    }

    /// A list of numbers; a single number is a list of one.
    pub(crate) fn numbers(&self, name: &str) -> Option<Vec<f64>> {
        match self.value(name) {
            Some(Value::Number(number)) => Some(vec![*number]),
            Some(Value::List(list)) => Some(list.iter().filter_map(Found::number).collect()),
            _ => None,
        }
    }

    pub(crate) fn point(&self, name: &str) -> Option<Point> {
        match *self.numbers(name)?.as_slice() {
            [x, y] => Some(Point::new(x, y)),
            _ => None,
        }
    }

    /// One number for both, or one each.
    pub(crate) fn pair(&self, name: &str) -> Option<[f64; 2]> {
        match *self.numbers(name)?.as_slice() {
            [both] => Some([both, both]),
            [first, second] => Some([first, second]),
            _ => None,
        }
    }

    /// A pattern or a list of them.
    pub(crate) fn patterns(&self, name: &str) -> Vec<Pattern> {
        self.values.get(name).map(Found::patterns).unwrap_or_default()
    }

    pub(crate) fn list(&self, name: &str) -> &'a [Found] {
        match self.value(name) {
            Some(Value::List(list)) => list,
            _ => &[],
        }
    }
}

impl Value {
    /// Whether both say the same, wherever they stand; of tables: whether the
    /// other says all that this one does.
    fn same(&self, other: &Value) -> bool {
        match (self, other) {
            (Value::Number(a), Value::Number(b)) => a.total_cmp(b).is_eq(),
            (Value::List(a), Value::List(b)) => {
                a.len() == b.len() && a.iter().zip(b).all(|(a, b)| a.value.same(&b.value))
            }
            (Value::Table(a), Value::Table(b)) => {
                a.iter().all(|(key, found)| b.get(key).is_some_and(|b| found.value.same(&b.value)))
            }
            (a, b) => a == b,
        }
    }
}

impl Preset {
    fn number(&self) -> Option<f64> {
        match self {
            Preset::Number(number) => Some(*number),
            _ => None,
        }
    }
}

impl Found {
    fn color(&self) -> Option<Color> {
        match self.value {
            Value::Color(color) => Some(color),
            _ => None,
        }
    }

    fn number(&self) -> Option<f64> {
        match self.value {
            Value::Number(number) => Some(number),
            _ => None,
        }
    }

    pub(crate) fn text(&self) -> Option<&str> {
        match &self.value {
            Value::Text(text) => Some(text),
            _ => None,
        }
    }

    /// The patterns it holds: itself or the items of its list.
    pub(crate) fn patterns(&self) -> Vec<Pattern> {
        match &self.value {
            Value::Text(text) => vec![Pattern::at(text, self.span.start)],
            Value::List(list) => list.iter().filter_map(|f| Some(Pattern::at(f.text()?, f.span.start))).collect(),
            _ => Vec::new(),
        }
    }
}
