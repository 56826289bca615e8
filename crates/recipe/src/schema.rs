//! The JSON Schema (2020-12) of a recipe, made from the table of keys.
//!
//! Recipes are TOML; editors that check TOML against a JSON Schema take it as
//! it stands. Tables of keys that stand at several places are in `$defs`.

use crate::keys::{Key, Keys, Kind, Preset, Range, Uses, each};
use crate::materials::Materials;
use crate::table::{self, ROOT};
use serde_json::{Map, Value, json};

/// One line of text without spaces at its ends.
const ONE_LINE: &str = r"^\S([^\u0000-\u001f\u007f-\u009f]*\S)?$";

/// The JSON Schema of a recipe file.
pub fn schema() -> Value {
    let mut whole = table_schema(ROOT);
    let head = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Laidwork recipe",
        "description": "How the shapes of a drawing become stitches.",
        "$defs": {
            "stitch": properties(table::STITCH),
            "border": table_schema(table::BORDER),
        },
    });
    if let (Some(whole), Value::Object(head)) = (whole.as_object_mut(), head) {
        whole.extend(head);
    }
    whole
}

/// A table of exactly these keys.
fn table_schema(keys: Keys) -> Value {
    let required: Vec<_> = each(keys).filter(|key| matches!(key.preset, Preset::Needed)).map(|key| key.name).collect();
    let mut table = json!({ "type": "object", "properties": properties(keys), "additionalProperties": false });
    if let Some(table) = table.as_object_mut()
        && !required.is_empty()
    {
        table.insert("required".to_owned(), json!(required));
    }
    table
}

/// The schema of each key, by name.
fn properties(keys: Keys) -> Value {
    Value::Object(each(keys).map(|key| (key.name.to_owned(), key_schema(key))).collect())
}

fn key_schema(key: &Key) -> Value {
    let mut schema = match &key.kind {
        Kind::Table(keys) if std::ptr::eq(*keys, table::BORDER) => refers("border", None),
        Kind::Table(keys) if std::ptr::eq(*keys, table::STITCH) => shape_table(&[]),
        Kind::Tables(keys) if std::ptr::eq(*keys, table::RULE) => {
            Map::from_iter([("type".to_owned(), json!("array")), ("items".to_owned(), shape_table(PICKS).into())])
        }
        kind => kind_schema(kind),
    };
    schema.insert("description".to_owned(), description(key).into());
    if let Some(preset) = preset(&key.preset) {
        schema.insert("default".to_owned(), preset);
    }
    Value::Object(schema)
}

/// The keys that only rules have.
static PICKS: Keys = &[&table::PICK];

/// A table of the keys about shapes, and of these.
fn shape_table(more: Keys) -> Map<String, Value> {
    let mut properties = properties(more);
    if let Some(properties) = properties.as_object_mut() {
        for key in each(table::STITCH) {
            properties.insert(key.name.to_owned(), refers("stitch", Some(key.name)).into());
        }
    }
    object(json!({ "type": "object", "properties": properties, "additionalProperties": false }))
}

fn refers(to: &str, key: Option<&str>) -> Map<String, Value> {
    let key = key.map(|key| format!("/{key}")).unwrap_or_default();
    object(json!({ "$ref": format!("#/$defs/{to}{key}") }))
}

fn kind_schema(kind: &Kind) -> Map<String, Value> {
    object(match kind {
        Kind::Number(range) => number("number", range),
        Kind::Count(range) => number("integer", range),
        Kind::Bool => json!({ "type": "boolean" }),
        Kind::Word(words) => json!({ "enum": words }),
        Kind::Text | Kind::Match | Kind::Thread => json!({ "type": "string", "pattern": ONE_LINE }),
        Kind::Material => {
            let materials = Materials::built_in();
            json!({ "type": "string", "pattern": ONE_LINE, "examples": materials.names().collect::<Vec<_>>() })
        }
        Kind::Color => json!({ "type": "string", "pattern": "^#[0-9a-fA-F]{6}$" }),
        Kind::List { of, least, most } => {
            json!({ "type": "array", "items": kind_schema(of), "minItems": least, "maxItems": most })
        }
        Kind::Either(kinds) => json!({ "anyOf": kinds.iter().map(kind_schema).collect::<Vec<_>>() }),
        Kind::Table(keys) => table_schema(keys),
        Kind::Tables(keys) => json!({ "type": "array", "items": table_schema(keys) }),
        Kind::Rows(keys) => json!({ "type": "object", "additionalProperties": table_schema(keys) }),
    })
}

fn number(type_: &str, range: &Range) -> Value {
    let bound = |value: f64| if type_ == "integer" { json!(value as i64) } else { json!(value) };
    json!({ "type": type_, "minimum": bound(range.least), "maximum": bound(range.most) })
}

fn object(value: Value) -> Map<String, Value> {
    match value {
        Value::Object(object) => object,
        _ => Map::new(),
    }
}

/// What a key means, its unit, who looks at it and what holds without it.
fn description(key: &Key) -> String {
    let mut text = key.about.to_owned();
    if let Some(unit) = key.kind.unit() {
        text.push_str(&format!(" In {unit}."));
    }
    if key.used_by != (Uses { run: true, satin: true, fill: true }) {
        text.push_str(&format!(" For {}.", key.used_by.described()));
    }
    match &key.preset {
        Preset::Unset(what) => text.push_str(&format!(" Unset: {what}.")),
        Preset::Material => text.push_str(" Unset: what the material says."),
        Preset::Numbers { .. } => text.push_str(&format!(" Unset: {}.", key.preset.described())),
        _ => {}
    }
    text
}

fn preset(preset: &Preset) -> Option<Value> {
    match preset {
        Preset::Number(number) => Some(json!(number)),
        Preset::Bool(value) => Some(json!(value)),
        Preset::Word(word) => Some(json!(word)),
        Preset::List(list) => Some(json!(list)),
        Preset::Unset(_) | Preset::Numbers { .. } | Preset::Material | Preset::Needed => None,
    }
}
