//! Changes to the text of a recipe, its comments and layout kept.
//!
//! Later rules win, so a change for one shape goes into the rule that names just
//! this shape, when no later rule has a say in the key; else into a new rule at
//! the end. A change for every shape goes into a rule without `match` at the
//! end, its material into `[design]`.

use serde::{Deserialize, Serialize};
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, Value};

/// A key of the recipe that may be changed.
const KEYS: [&str; 6] = ["spacing", "angle", "stitch_length", "pull_compensation", "underlay", "material"];

/// Keys that pick shapes.
const PICKS: [&str; 3] = ["match", "color", "paint"];

/// One setting to try.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Change {
    /// Name of the shape; `None`: every shape.
    pub shape: Option<String>,
    /// `spacing`, `angle`, `stitch_length`, `pull_compensation`, `underlay` or `material`.
    pub key: String,
    /// Its value: a number, a word, or a list of words.
    pub value: Setting,
}

/// The value of a setting.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Setting {
    /// A number, in the key's own unit.
    Number(f64),
    /// A word.
    Word(String),
    /// A list of words.
    Words(Vec<String>),
}

/// Why a recipe cannot be changed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// The text is not TOML.
    #[error("the recipe cannot be read: {0}")]
    Syntax(String),
    /// The key is none that may be changed here.
    #[error("`{0}` is not set here")]
    Key(String),
    /// The recipe says something else where rules or the design should stand.
    #[error("`{0}` is not written as tables")]
    Shape(&'static str),
}

impl From<&Setting> for Value {
    fn from(setting: &Setting) -> Value {
        match setting {
            // Sliders move in steps; what lies below a thousandth is noise.
            Setting::Number(number) => Value::from((number * 1000.0).round() / 1000.0),
            Setting::Word(word) => Value::from(word.as_str()),
            Setting::Words(words) => Value::Array(words.iter().map(String::as_str).collect::<Array>()),
        }
    }
}

/// The text of a recipe with these changes, in their order.
///
/// # Errors
/// [`EditError`]; whether a value is in its range only the recipe's reader knows.
pub fn edited(text: &str, changes: &[Change]) -> Result<String, EditError> {
    if changes.is_empty() {
        return Ok(text.to_owned());
    }
    let mut document: DocumentMut =
        text.parse().map_err(|error: toml_edit::TomlError| EditError::Syntax(error.to_string()))?;
    for change in changes {
        let Some(key) = KEYS.iter().find(|key| **key == change.key) else {
            return Err(EditError::Key(change.key.chars().take(40).collect()));
        };
        let value = Value::from(&change.value);
        match (&change.shape, *key) {
            (None, "material") => put(design(&mut document)?, key, value),
            (shape, key) => put(rule(&mut document, shape.as_deref(), key)?, key, value),
        }
    }
    Ok(document.to_string())
}

/// Writes a value, beside the comment that the one before it had.
fn put(table: &mut Table, key: &str, value: Value) {
    match table.get_mut(key).and_then(Item::as_value_mut) {
        Some(old) => {
            let decor = old.decor().clone();
            *old = value;
            *old.decor_mut() = decor;
        }
        None => {
            table.insert(key, Item::Value(value));
        }
    }
}

fn design(document: &mut DocumentMut) -> Result<&mut Table, EditError> {
    let design = document.entry("design").or_insert_with(|| Item::Table(Table::new()));
    if let Item::Value(Value::InlineTable(inline)) = design {
        *design = Item::Table(std::mem::take(inline).into_table());
    }
    design.as_table_mut().ok_or(EditError::Shape("design"))
}

/// The rule to write a key of a shape into; of every shape for `None`.
fn rule<'a>(document: &'a mut DocumentMut, shape: Option<&str>, key: &str) -> Result<&'a mut Table, EditError> {
    let rules = document.entry("rule").or_insert_with(|| Item::ArrayOfTables(ArrayOfTables::new()));
    if rules.is_value() {
        // `rule = [{ ... }]` says the same as tables.
        let inline = std::mem::take(rules);
        *rules = Item::ArrayOfTables(inline.into_array_of_tables().map_err(|_| EditError::Shape("rule"))?);
    }
    let rules = rules.as_array_of_tables_mut().ok_or(EditError::Shape("rule"))?;
    let own = (0..rules.len()).rev().find(|&number| rules.get(number).is_some_and(|rule| is_for(rule, shape)));
    let overruled =
        |own: usize| (own + 1..rules.len()).any(|later| rules.get(later).is_some_and(|rule| rule.contains_key(key)));
    let number = match own {
        Some(own) if !overruled(own) => own,
        _ => {
            let mut rule = Table::new();
            if let Some(shape) = shape {
                rule.insert("match", Item::Value(Value::from(shape)));
            }
            rules.push(rule);
            rules.len() - 1
        }
    };
    rules.get_mut(number).ok_or(EditError::Shape("rule"))
}

/// Whether a rule picks just this shape; every shape for `None`.
fn is_for(rule: &Table, shape: Option<&str>) -> bool {
    let Some(shape) = shape else { return PICKS.iter().all(|pick| !rule.contains_key(pick)) };
    let names = rule.get("match").and_then(Item::as_value);
    let just = match names {
        Some(Value::String(name)) => name.value() == shape,
        Some(Value::Array(names)) => names.len() == 1 && names.get(0).and_then(Value::as_str) == Some(shape),
        _ => false,
    };
    just && !rule.contains_key("color") && !rule.contains_key("paint")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn change(shape: Option<&str>, key: &str, value: Setting) -> Change {
        Change { shape: shape.map(str::to_owned), key: key.to_owned(), value }
    }

    const RECIPE: &str = "# My patch.\n[design]\nmaterial = \"canvas\"   # the apron\n\n\
        # The leaf lies flat.\n[[rule]]\nmatch = \"leaf\"\nspacing = 0.22    # mm\n\n\
        [[rule]]\nmatch = \"petal-*\"\nspacing = 0.2\n\n# Cloth.\n[[colourway]]\nname = \"Navy\"\n";

    #[test]
    fn a_value_changes_and_its_comment_stays() {
        let angled = change(Some("leaf"), "angle", Setting::Number(30.0));
        let text = edited(RECIPE, &[angled]).unwrap();
        assert_eq!(text, RECIPE.replace("0.22    # mm\n", "0.22    # mm\nangle = 30.0\n"));
        let cloth = change(None, "material", Setting::Word("jersey".into()));
        assert_eq!(edited(RECIPE, &[cloth]).unwrap(), RECIPE.replace("\"canvas\"   #", "\"jersey\"   #"));
    }

    #[test]
    fn a_later_rule_that_has_a_say_is_not_left_to_win() {
        let spaced = change(Some("leaf"), "spacing", Setting::Number(0.3));
        let text = edited(RECIPE, std::slice::from_ref(&spaced)).unwrap();
        let wanted = "spacing = 0.2\n\n[[rule]]\nmatch = \"leaf\"\nspacing = 0.3\n\n# Cloth.";
        assert_eq!(text, RECIPE.replace("spacing = 0.2\n\n# Cloth.", wanted));
        // Once it stands there it is changed in place.
        let again = edited(&text, &[Change { value: Setting::Number(0.35), ..spaced }]).unwrap();
        assert_eq!(again, text.replace("spacing = 0.3\n", "spacing = 0.35\n"));
    }

    #[test]
    fn every_shape_takes_a_rule_at_the_end() {
        let all = change(None, "pull_compensation", Setting::Number(0.1 + 0.2));
        let layers = change(None, "underlay", Setting::Words(vec!["edge-run".into(), "rows".into()]));
        let text = edited(RECIPE, &[all, layers]).unwrap();
        let end = "[[rule]]\npull_compensation = 0.3\nunderlay = [\"edge-run\", \"rows\"]\n\n# Cloth.";
        assert!(text.contains(end), "{text}");
    }

    #[test]
    fn an_empty_recipe_and_inline_rules_will_do() {
        let spaced = change(Some("leaf"), "spacing", Setting::Number(0.3));
        assert_eq!(edited("", std::slice::from_ref(&spaced)).unwrap(), "[[rule]]\nmatch = \"leaf\"\nspacing = 0.3\n");
        let text = edited("rule = [{ match = \"leaf\", angle = 4 }]\n", &[spaced]).unwrap();
        let recipe = laidwork_recipe::parse(&text, "r.toml").unwrap().value;
        assert_eq!(recipe.rules.len(), 1);
        let cloth = change(None, "material", Setting::Word("jersey".into()));
        let text = edited("design = { width = 50 }\n", &[cloth]).unwrap();
        assert_eq!(laidwork_recipe::parse(&text, "r.toml").unwrap().value.design.material, "jersey");
    }

    #[test]
    fn the_garden_patch_keeps_every_line_it_had() {
        let recipe = include_str!("../../../fixtures/recipes/garden-patch.toml");
        let settings = [
            ("spacing", Setting::Number(0.31)),
            ("angle", Setting::Number(77.0)),
            ("stitch_length", Setting::Number(3.3)),
            ("pull_compensation", Setting::Number(0.11)),
            ("underlay", Setting::Words(vec!["edge-run".into()])),
            ("material", Setting::Word("jersey".into())),
        ];
        let mut seen = 0;
        for shape in [None, Some("flower/disc"), Some("trowel/blade"), Some("bean/pod"), Some("edge")] {
            let changes: Vec<Change> = settings.iter().map(|(key, value)| change(shape, key, value.clone())).collect();
            let text = edited(recipe, &changes).unwrap();
            let read = laidwork_recipe::parse(&text, "garden-patch.toml");
            assert!(read.is_ok(), "{text}\n{}", read.unwrap_err());
            let mut lines = text.lines();
            for line in recipe.lines() {
                // A value may have changed, but not what stands before or behind it, nor its place.
                let (key, comment) = (line.split('=').next().unwrap_or_default(), line.split('#').nth(1));
                let kept = |new: &str| new == line || (new.starts_with(key) && new.split('#').nth(1) == comment);
                assert!(lines.any(kept), "{shape:?} lost {line:?}:\n{text}");
                seen += 1;
            }
            // Made twice, it changes nothing more.
            assert_eq!(edited(&text, &changes).unwrap(), text);
        }
        assert!(seen > 500, "{seen} lines");
    }

    #[test]
    fn nothing_else_is_changed_here() {
        let title = change(None, "title", Setting::Word("x".into()));
        assert_eq!(edited("", &[title]), Err(EditError::Key("title".into())));
        let spaced = change(None, "spacing", Setting::Number(0.3));
        assert!(matches!(edited("[[rule", std::slice::from_ref(&spaced)), Err(EditError::Syntax(_))));
        assert_eq!(edited("rule = 3", &[spaced]), Err(EditError::Shape("rule")));
        assert_eq!(edited("no = toml = at all", &[]), Ok("no = toml = at all".to_owned()));
    }
}
