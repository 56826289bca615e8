//! File names made of cells.
//!
//! A cell can hold anything; a file name must not lead out of its folder, hide
//! itself, mean a device or differ from another only in what some file systems
//! ignore. Letters and digits of any script, `-`, `_` and inner points stay, all
//! else becomes `-`. Two names that some file systems take for one are told
//! apart by a number.

use crate::{Error, Row, Template};
use std::collections::{BTreeMap, BTreeSet};

/// The longest name, bytes: file systems allow 255, endings included.
const LONGEST: usize = 120;

/// Names that mean devices on some systems, whatever their ending.
const DEVICES: [&str; 22] = [
    "con", "prn", "aux", "nul", "com1", "com2", "com3", "com4", "com5", "com6", "com7", "com8", "com9", "lpt1", "lpt2",
    "lpt3", "lpt4", "lpt5", "lpt6", "lpt7", "lpt8", "lpt9",
];

/// The name of a row's files.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named {
    /// Without an ending.
    pub name: String,
    /// The row, by its number, whose name this one's would have been too.
    pub meets: Option<usize>,
}

/// A safe name without ending for each of `rows`, no two alike, none of `taken`.
/// Rows with faults of their own get an error.
///
/// A name depends only on rows above its own: rows added at the end rename nothing.
pub fn file_names(rows: &[Row], template: &Template, taken: &[&str]) -> Vec<Result<Named, Error>> {
    let mut owners: BTreeMap<String, usize> = taken.iter().map(|name| (name.to_lowercase(), 0)).collect();
    let wishes: Vec<_> = rows.iter().map(|row| wish(row, template)).collect();
    // A numbered name gives way to one that was wished for.
    let wished: BTreeSet<String> = wishes.iter().flatten().map(|name| name.to_lowercase()).collect();
    let mut next: BTreeMap<String, usize> = BTreeMap::new();
    let mut names = Vec::with_capacity(rows.len());
    for (row, wish) in rows.iter().zip(wishes) {
        names.push(wish.map(|wish| {
            let key = wish.to_lowercase();
            let Some(&owner) = owners.get(&key) else {
                owners.insert(key, row.number);
                return Named { name: wish, meets: None };
            };
            let number = next.entry(key).or_insert(2);
            let name = loop {
                let name = format!("{wish}-{number}");
                *number += 1;
                let key = name.to_lowercase();
                if !wished.contains(&key) && !owners.contains_key(&key) {
                    owners.insert(key, row.number);
                    break name;
                }
            };
            Named { name, meets: Some(owner) }
        }));
    }
    names
}

/// The name that the row's cells ask for, made safe.
fn wish(row: &Row, template: &Template) -> Result<String, Error> {
    if let Some(fault) = row.fault() {
        let advice = "mend the row".to_owned();
        return Err(Error::Table { line: row.line, what: fault.to_owned(), advice });
    }
    let name = safe(&template.fill(row)?);
    Ok(if name.is_empty() { format!("row-{}", row.number) } else { name })
}

/// `text` as a file name; empty when nothing of it can stay.
fn safe(text: &str) -> String {
    let mut name = String::new();
    for c in text.trim().chars() {
        let c = if c.is_alphanumeric() || matches!(c, '_' | '.') { c } else { '-' };
        if name.len() + c.len_utf8() > LONGEST {
            break;
        }
        // Dashes and points never follow each other, so `..` cannot come about.
        if !(matches!(c, '-' | '.') && name.ends_with(['-', '.'])) {
            name.push(c);
        }
    }
    let name = name.trim_matches(['-', '.']);
    let stem = name.split('.').next().unwrap_or_default().to_lowercase();
    if DEVICES.contains(&stem.as_str()) { format!("_{name}") } else { name.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Table;
    use proptest::prelude::*;
    use std::path::{Component, Path};

    fn names(table: &str) -> Vec<String> {
        let table = Table::read(table.as_bytes()).unwrap();
        let named = file_names(table.rows(), &Template::first_column(&table), &["summary"]);
        named.into_iter().map(|named| named.map_or_else(|error| error.to_string(), |named| named.name)).collect()
    }

    #[test]
    fn no_cell_leads_out_of_the_folder() {
        let table = "name\n../../etc/passwd\n/root\nC:\\x\n..\n.hidden\nnul\nCON.txt\n\"a\nb\"\n";
        assert_eq!(
            names(table),
            ["etc-passwd", "root", "C-x", "row-4", "hidden", "_nul", "_CON.txt", "a-b"].map(String::from)
        );
    }

    #[test]
    fn letters_of_every_script_stay() {
        assert_eq!(names("name\nJosé Ñu\nБоб\n豆\n"), ["José-Ñu", "Боб", "豆"]);
    }

    #[test]
    fn names_that_meet_are_numbered_and_wishes_come_first() {
        assert_eq!(names("name\nAda\nada\nAda-2\nA/da\nADA\n"), ["Ada", "ada-3", "Ada-2", "A-da", "ADA-4"]);
        assert_eq!(names("name\nsummary\n"), ["summary-2"]);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]
        #[test]
        fn every_name_is_one_plain_component(text in any::<String>()) {
            let name = safe(&text);
            prop_assume!(!name.is_empty());
            let parts: Vec<_> = Path::new(&name).components().collect();
            prop_assert!(matches!(parts[..], [Component::Normal(_)]), "{name:?}");
            prop_assert!(!name.starts_with(['.', '-']) && !name.ends_with('.') && name.len() <= LONGEST + 1);
            prop_assert!(!name.contains(['/', '\\', ':', '\0']));
        }
    }
}
