//! Texts with `{column}` placeholders.
//!
//! A placeholder is a column's name in braces. Where it may stand depends on
//! what the text is:
//!
//! - a drawing: in the letters of `<text>` and `<title>`, and in values of attributes.
//! - a recipe: in strings, where the cell becomes part of the string; and as a
//!   value of its own, where a number or `true` or `false` is put as it stands and
//!   anything else as a string. Comments stay as they are.
//! - a file name, or a text given beside the drawing: anywhere.
//!
//! A word in braces that names no column is an error where letters are read by
//! people, so that no slip of the pen is sewn; in attributes it is left alone.
//! Cells are escaped for their place: none can end a string, a tag or a line.

use crate::toml_text::{self, Part};
use crate::{Error, Row, Table};
use std::ops::Range;

/// How a cell is written into its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Style {
    /// As it is.
    Plain,
    /// XML text or attribute.
    Xml,
    /// Inside a TOML string with escapes.
    TomlString,
    /// Inside a TOML string without escapes.
    TomlLiteral,
    /// As a TOML value.
    TomlValue,
}

#[derive(Clone, Debug)]
struct Slot {
    range: Range<usize>,
    column: usize,
    name: String,
    style: Style,
}

/// A text with placeholders for cells.
#[derive(Clone, Debug)]
pub struct Template {
    text: String,
    slots: Vec<Slot>,
    /// Whether a cell becomes letters that are sewn.
    is_lettered: bool,
}

impl Template {
    /// A drawing: SVG, or SVG compressed with gzip.
    ///
    /// # Errors
    /// When it is no XML, or a word in braces in its letters names no column.
    pub fn drawing(bytes: &[u8], table: &Table) -> Result<Template, Error> {
        let (text, places) = laidwork_drawing::text_places(bytes)?;
        let mut template = Template { text, slots: Vec::new(), is_lettered: false };
        for place in places {
            let before = template.slots.len();
            template.add(place.range, table, Style::Xml, place.is_lettering)?;
            template.is_lettered |= place.is_sewn && template.slots.len() > before;
        }
        Ok(template)
    }

    /// A recipe.
    ///
    /// # Errors
    /// When a word in braces names no column.
    pub fn recipe(text: &str, table: &Table) -> Result<Template, Error> {
        let mut template = Template { text: text.to_owned(), slots: Vec::new(), is_lettered: false };
        for (range, part) in toml_text::parts(text) {
            let style = match part {
                Part::Comment => continue,
                Part::Text => Style::TomlString,
                Part::Literal => Style::TomlLiteral,
                Part::Bare => Style::TomlValue,
            };
            template.add(range, table, style, true)?;
        }
        Ok(template)
    }

    /// A file name, or any other text.
    ///
    /// # Errors
    /// When a word in braces names no column.
    pub fn plain(text: &str, table: &Table) -> Result<Template, Error> {
        let mut template = Template { text: text.to_owned(), slots: Vec::new(), is_lettered: false };
        template.add(0..text.len(), table, Style::Plain, true)?;
        Ok(template)
    }

    /// A placeholder for the first column and nothing else.
    pub fn first_column(table: &Table) -> Template {
        let slot = Slot { range: 0..0, column: 0, name: table.name(0).to_owned(), style: Style::Plain };
        Template { text: String::new(), slots: vec![slot], is_lettered: false }
    }

    /// Whether it has placeholders.
    pub fn has_placeholders(&self) -> bool {
        !self.slots.is_empty()
    }

    /// Whether a cell becomes letters that are sewn, for which there has to be a font.
    pub fn is_lettered(&self) -> bool {
        self.is_lettered
    }

    /// The text with the cells of `row` in it.
    ///
    /// # Errors
    /// When a cell cannot stand in its place.
    pub fn fill(&self, row: &Row) -> Result<String, Error> {
        let mut filled = String::with_capacity(self.text.len());
        let mut from = 0;
        for slot in &self.slots {
            filled.push_str(self.text.get(from..slot.range.start).unwrap_or_default());
            filled.push_str(&written(&row.cell(slot.column), slot)?);
            from = slot.range.end;
        }
        filled.push_str(self.text.get(from..).unwrap_or_default());
        Ok(filled)
    }

    /// Finds the placeholders in a part of the text.
    fn add(&mut self, within: Range<usize>, table: &Table, style: Style, strict: bool) -> Result<(), Error> {
        let part = self.text.get(within.clone()).unwrap_or_default();
        let mut from = 0;
        while let Some(open) = part.get(from..).and_then(|rest| rest.find('{')).map(|at| from + at) {
            let after = part.get(open + 1..).unwrap_or_default();
            let Some(length) = after.find(['{', '}']).filter(|&at| after[at..].starts_with('}')) else {
                from = open + 1;
                continue;
            };
            let inside = &after[..length];
            let name = inside.trim();
            let range = within.start + open..within.start + open + length + 2;
            from = open + length + 2;
            // An inline table of a recipe has keys or nothing in its braces.
            let is_table = style == Style::TomlValue && (name.is_empty() || name.contains('='));
            match table.place(name) {
                Some(column) => self.slots.push(Slot { range, column, name: name.to_owned(), style }),
                None if is_table || !strict => {}
                None => {
                    let line = 1 + self.text[..range.start].matches('\n').count();
                    return Err(Error::Unknown { line, name: name.to_owned(), columns: table.columns().join(", ") });
                }
            }
        }
        Ok(())
    }
}

/// A cell as it stands in its slot.
fn written(cell: &str, slot: &Slot) -> Result<String, Error> {
    let wrong = |what: &str, advice: &str| {
        Err(Error::Cell { column: slot.name.clone(), what: what.into(), advice: advice.into() })
    };
    match slot.style {
        Style::Plain => Ok(cell.to_owned()),
        Style::Xml => Ok(laidwork_drawing::escaped(cell)),
        Style::TomlString => Ok(toml_text::escaped(cell)),
        Style::TomlLiteral if cell.contains('\'') || cell.chars().any(char::is_control) => {
            wrong("does not fit into a string in single quotes", "write the recipe's string in double quotes")
        }
        Style::TomlLiteral => Ok(cell.to_owned()),
        Style::TomlValue if cell.is_empty() => wrong("is empty, and the recipe wants a value", "fill it in"),
        Style::TomlValue => Ok(toml_text::value(cell)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn table(cell: &str) -> Table {
        let quoted = format!("\"{}\"", cell.replace('"', "\"\""));
        Table::read(format!("plant,bed\n{quoted},7\n").as_bytes()).unwrap()
    }

    fn filled(recipe: &str, cell: &str) -> Result<String, Error> {
        let table = table(cell);
        Template::recipe(recipe, &table)?.fill(&table.rows()[0])
    }

    fn drawn(svg: &str, cell: &str) -> Result<String, Error> {
        let table = table(cell);
        Template::drawing(svg.as_bytes(), &table)?.fill(&table.rows()[0])
    }

    #[test]
    fn recipes_take_strings_numbers_and_words() {
        assert_eq!(filled("title = \"for {plant}\"", "Ada \"B\"").unwrap(), "title = \"for Ada \\\"B\\\"\"");
        assert_eq!(filled("width = {plant}", "80.5").unwrap(), "width = 80.5");
        assert_eq!(filled("material = {plant}", "jersey").unwrap(), "material = \"jersey\"");
        assert_eq!(filled("hoop = { round = {bed} } # {note}", "x").unwrap(), "hoop = { round = 7 } # {note}");
    }

    #[test]
    fn a_slip_of_the_pen_is_told_with_its_line() {
        let error = filled("[design]\ntitle = \"{plnat}\"", "Pea").unwrap_err().to_string();
        assert!(error.contains("line 2") && error.contains("plant, bed"), "{error}");
    }

    #[test]
    fn letters_are_told_from_titles_and_attributes() {
        let table = table("Pea");
        let is_lettered = |inner: &str| {
            let svg = format!("<svg xmlns=\"http://www.w3.org/2000/svg\">{inner}</svg>");
            Template::drawing(svg.as_bytes(), &table).unwrap().is_lettered()
        };
        assert!(is_lettered("<text>Bed <tspan>{bed}</tspan></text>"));
        assert!(!is_lettered("<title>{plant}</title><text class='{plant}'>Bed</text>"));
    }

    #[test]
    fn letters_and_attributes_of_a_drawing_are_filled() {
        let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\"><style>.a{plant}</style>\
            <text class=\"{other}\" fill='{plant}'>Bed {bed}: <tspan>{ plant }</tspan></text></svg>";
        let wanted = "<svg xmlns=\"http://www.w3.org/2000/svg\"><style>.a{plant}</style>\
            <text class=\"{other}\" fill='&lt;a&gt;'>Bed 7: <tspan>&lt;a&gt;</tspan></text></svg>";
        assert_eq!(drawn(svg, "<a>").unwrap(), wanted);
        assert!(drawn("<svg xmlns=\"http://www.w3.org/2000/svg\"><text>{plnt}</text></svg>", "x").is_err());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        #[test]
        fn no_cell_breaks_out_of_a_recipe(cell in "[ -~\n\t\u{e9}\u{2028}]{1,20}") {
            let recipe = "a = \"{plant}\"\nb = \"\"\"\n{plant}\"\"\"\nc = {plant}\nd = 1\n";
            prop_assume!(!cell.trim().is_empty());
            let text = filled(recipe, &cell).unwrap();
            let read: toml::Table = text.parse().unwrap();
            prop_assert_eq!(read.len(), 4);
            prop_assert_eq!(read["a"].as_str().unwrap(), cell.trim());
            prop_assert_eq!(read["b"].as_str().unwrap(), cell.trim());
            if let Some(text) = read["c"].as_str() {
                prop_assert_eq!(text, cell.trim());
            }
        }

        #[test]
        fn no_cell_breaks_out_of_a_drawing(cell in "[ -~\u{e9}]{1,20}") {
            prop_assume!(!cell.trim().is_empty());
            let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\"><text id=\"{plant}\">{plant}</text></svg>";
            let text = drawn(svg, &cell).unwrap();
            let (read, places) = laidwork_drawing::text_places(text.as_bytes()).unwrap();
            prop_assert_eq!(read, text);
            prop_assert_eq!(places.len(), 2); // the namespace is none of them
        }
    }
}
