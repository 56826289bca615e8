//! What a key is: its kind, unit, range, default and meaning.
//!
//! The reader, the JSON Schema and `docs/recipe.md` are all made from the one
//! table of keys in [`table`](crate::table), so that they cannot drift apart.

use std::fmt;

/// The keys of a table, in groups that belong together.
pub type Keys = &'static [&'static [Key]];

/// A key of the recipe.
#[derive(Debug)]
pub struct Key {
    /// As written.
    pub name: &'static str,
    /// What may be written for it.
    pub kind: Kind,
    /// What holds where it is not written.
    pub preset: Preset,
    /// The methods that look at it.
    pub used_by: Uses,
    /// What it means, in a sentence or two.
    pub about: &'static str,
}

/// What may be written for a key.
#[derive(Debug)]
pub enum Kind {
    /// A number, with or without a fraction.
    Number(Range),
    /// A whole number.
    Count(Range),
    /// `true` or `false`.
    Bool,
    /// One of these words.
    Word(&'static [&'static str]),
    /// One line of text.
    Text,
    /// `#rrggbb`.
    Color,
    /// An id path, `*` standing for any run of characters.
    Match,
    /// The name of a material.
    Material,
    /// The name of a thread of the recipe, or a colour.
    Thread,
    /// A list of `least` to `most` of the same.
    List {
        /// What it is a list of.
        of: &'static Kind,
        /// The fewest.
        least: usize,
        /// The most.
        most: usize,
    },
    /// Any of these; told apart by their TOML type.
    Either(&'static [Kind]),
    /// A table of its own.
    Table(Keys),
    /// Any number of tables, `[[name]]`.
    Tables(Keys),
    /// Tables under names of the user's choice, `[name.row]`.
    Rows(Keys),
}

/// The numbers that are allowed, both ends among them.
#[derive(Clone, Copy, Debug)]
pub struct Range {
    /// The least.
    pub least: f64,
    /// The most.
    pub most: f64,
    /// What they count; empty for bare numbers.
    pub unit: &'static str,
}

/// What holds where a key is not written.
#[derive(Debug)]
pub enum Preset {
    /// Nothing; the text says what that comes to.
    Unset(&'static str),
    /// A number.
    Number(f64),
    /// One number for each method that looks at the key.
    Numbers {
        /// For runs.
        run: Option<f64>,
        /// For columns.
        satin: Option<f64>,
        /// For rows.
        fill: Option<f64>,
    },
    /// Yes or no.
    Bool(bool),
    /// A word.
    Word(&'static str),
    /// A list of numbers.
    List(&'static [f64]),
    /// What the material's row says.
    Material,
    /// It has to be written.
    Needed,
}

/// Methods that look at a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Uses {
    /// Runs do.
    pub run: bool,
    /// Columns do.
    pub satin: bool,
    /// Rows do.
    pub fill: bool,
}

/// Every key of a table, group after group.
pub fn each(keys: Keys) -> impl Iterator<Item = &'static Key> + Clone {
    keys.iter().copied().flatten()
}

/// The key of that name.
pub fn find(keys: Keys, name: &str) -> Option<&'static Key> {
    each(keys).find(|key| key.name == name)
}

impl Kind {
    /// What may be written, as the end of a sentence.
    pub fn described(&self) -> String {
        match self {
            Kind::Number(range) => format!("a number from {range}"),
            Kind::Count(range) => format!("a whole number from {range}"),
            Kind::Bool => "true or false".to_owned(),
            Kind::Word([word]) => format!("\"{word}\""),
            Kind::Word(words) => format!("one of \"{}\"", words.join("\", \"")),
            Kind::Text => "one line of text".to_owned(),
            Kind::Color => "a colour \"#rrggbb\"".to_owned(),
            Kind::Match => "an id path (`*` for any run of characters)".to_owned(),
            Kind::Material => "the name of a material".to_owned(),
            Kind::Thread => "the name of a `[[thread]]` or a colour \"#rrggbb\"".to_owned(),
            Kind::List { of, least, most } if least == most => format!("a list of {least}, each {}", of.described()),
            Kind::List { of, .. } => format!("a list, each {}", of.described()),
            Kind::Either([one, Kind::List { of, least, most }]) if one.described() == of.described() => {
                let many =
                    if least == most { format!("a list of {least} of them") } else { "a list of them".to_owned() };
                format!("{}, or {many}", one.described())
            }
            Kind::Either(kinds) => kinds.iter().map(Kind::described).collect::<Vec<_>>().join(", or "),
            Kind::Table(_) => "a table".to_owned(),
            Kind::Tables(_) => "tables, each under a heading in double brackets".to_owned(),
            Kind::Rows(_) => "tables under names of your own".to_owned(),
        }
    }
}

impl Kind {
    /// The unit of its numbers.
    pub fn unit(&self) -> Option<&'static str> {
        match self {
            Kind::Number(range) | Kind::Count(range) => Some(range.unit).filter(|unit| !unit.is_empty()),
            Kind::List { of, .. } => of.unit(),
            Kind::Either(kinds) => kinds.iter().find_map(Kind::unit),
            _ => None,
        }
    }
}

impl Preset {
    /// What holds, as tables of keys show it.
    pub fn described(&self) -> String {
        match self {
            Preset::Unset(what) => (*what).to_owned(),
            Preset::Number(number) => number.to_string(),
            Preset::Numbers { run, satin, fill } => {
                let each = [(fill, "fills"), (satin, "columns"), (run, "runs")];
                let shown = each.iter().filter_map(|(number, name)| Some(format!("{} for {name}", (**number)?)));
                shown.collect::<Vec<_>>().join(", ")
            }
            Preset::Bool(value) => value.to_string(),
            Preset::Word(word) => format!("\"{word}\""),
            Preset::List(list) => format!("{list:?}"),
            Preset::Material => "the material's".to_owned(),
            Preset::Needed => "has to be written".to_owned(),
        }
    }
}

impl Uses {
    /// The methods, in plural.
    pub fn described(self) -> String {
        let names = [(self.run, "runs"), (self.satin, "columns"), (self.fill, "fills")];
        let names: Vec<_> = names.iter().filter(|(uses, _)| *uses).map(|(_, name)| *name).collect();
        names.join(" and ")
    }
}

impl fmt::Display for Range {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} to {}", self.least, self.most)?;
        if !self.unit.is_empty() {
            write!(f, " {}", self.unit)?;
        }
        Ok(())
    }
}
