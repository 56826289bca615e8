//! The JSON Schema of recipes, judged by a validator that knows nothing of the
//! reader: both have to take and to refuse the same recipes.

mod golden;

use laidwork_recipe::keys::{Key, Keys, Kind, each};
use laidwork_recipe::{parse, schema, table};
use proptest::prelude::*;
use serde_json::Value;
use std::sync::LazyLock;

static VALIDATOR: LazyLock<jsonschema::Validator> = LazyLock::new(|| jsonschema::validator_for(&schema()).unwrap());

fn json(text: &str) -> Option<Value> {
    toml::from_str(text).ok()
}

fn recipes(folder: &str) -> Vec<(String, String)> {
    let mut paths: Vec<_> = std::fs::read_dir(golden::root(folder)).unwrap().map(|e| e.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|end| end == "toml"));
    paths.sort();
    paths.into_iter().map(|path| (path.display().to_string(), std::fs::read_to_string(&path).unwrap())).collect()
}

#[test]
fn the_schema_is_one() {
    jsonschema::meta::validate(&schema()).unwrap();
    assert_eq!(schema()["$schema"], "https://json-schema.org/draft/2020-12/schema");
}

#[test]
fn the_published_schema_is_this_one() {
    let path = golden::root("docs/recipe.schema.json");
    let kept = std::fs::read_to_string(&path).ok().and_then(|text| serde_json::from_str::<Value>(&text).ok());
    let mut made = serde_json::to_string_pretty(&schema()).unwrap();
    made.push('\n');
    // Compared as values: the order of keys is for the eye alone.
    let differences = if kept == Some(schema()) { None } else { golden::differs(&path, &made) };
    golden::settle(differences.into_iter().collect());
}

#[test]
fn every_recipe_that_reads_fits_the_schema() {
    let mut all = recipes("fixtures/recipes");
    all.push(("materials.toml".to_owned(), laidwork_recipe::materials::BUILT_IN.to_owned()));
    assert!(all.len() >= 3, "{} recipes", all.len());
    for (path, text) in all {
        let read = parse(&text, &path).unwrap_or_else(|wrong| panic!("{wrong}"));
        assert_eq!(read.warnings, [], "{path}");
        let value = json(&text).unwrap();
        let faults: Vec<_> = VALIDATOR.iter_errors(&value).map(|e| format!("{e} at {}", e.instance_path())).collect();
        assert!(faults.is_empty(), "{path}: {faults:#?}");
    }
}

#[test]
fn wrong_recipes_do_not_fit_the_schema() {
    let mut seen = 0;
    for (path, text) in recipes("crates/recipe/tests/wrong") {
        let Some(value) = json(&text) else { continue }; // not even TOML
        if ["no-threads", "bases"].iter().any(|name| path.contains(name)) {
            continue; // a schema knows nothing of names
        }
        seen += 1;
        assert!(!VALIDATOR.is_valid(&value), "{path}");
    }
    assert!(seen >= 5, "{seen} recipes");
}

/// A key of the table with the table it stands in, and how that is written.
fn places() -> Vec<(&'static str, &'static str, &'static Key)> {
    let homes: [(&str, &str, Keys); 10] = [
        ("[design]\n", "", table::DESIGN),
        ("[[thread]]\ncolor = '#112233'\n", "", table::THREAD),
        ("[[colourway]]\n", "name = 'dusk'\n", table::COLOURWAY),
        ("[[colourway]]\nname = 'dusk'\n[[colourway.swap]]\n", "", table::SWAP),
        ("[sewing]\n", "", table::SEWING),
        ("[order]\n", "", table::ORDER),
        ("[checks]\n", "", table::CHECKS),
        ("[[rule]]\n", "", table::RULE),
        ("[[rule]]\n[rule.border]\n", "", table::BORDER),
        ("[material.apron]\n", "", table::MATERIAL),
    ];
    let keys = |(head, tail, keys)| each(keys).map(move |key| (head, tail, key));
    let named =
        |key: &Key| matches!(key.kind, Kind::Material | Kind::Thread) || key.name == "color" || key.name == "name";
    homes.into_iter().flat_map(keys).filter(|(_, _, key)| !named(key)).collect()
}

/// Values of every kind, many at the edges of a range.
fn value(key: &'static Key) -> BoxedStrategy<String> {
    let mut edges: Vec<String> =
        ["true", "'auto'", "'#a1b2c3'", "'#a1b2c'", "''", "' a'", "[]", "{}", "3", "0.5", "[1, 2]"]
            .map(str::to_owned)
            .to_vec();
    fits(&key.kind, &mut edges);
    prop_oneof![
        4 => proptest::sample::select(edges),
        1 => (-1e4..1e4).prop_map(|number: f64| format!("{number:?}")),
        1 => "[a-z*/ -]{0,12}".prop_map(|text| format!("'{text}'")),
    ]
    .boxed()
}

fn fits(kind: &Kind, to: &mut Vec<String>) {
    match kind {
        Kind::Number(range) | Kind::Count(range) => {
            for end in [range.least, range.most] {
                to.extend([end, end - 1.0, end + 1.0].map(|number| format!("{}", number.round())));
                to.extend([end, end - 0.01, end + 0.01].map(|number| format!("{number:?}")));
            }
        }
        Kind::Word(words) => to.extend(words.iter().map(|word| format!("'{word}'"))),
        Kind::List { of, least, most } => {
            let mut items = Vec::new();
            fits(of, &mut items);
            for item in items {
                to.push(format!("[{}]", vec![item.as_str(); (*least).max(1)].join(", ")));
                to.push(format!("[{}]", vec![item.as_str(); (*most).min(4) + 1].join(", ")));
            }
        }
        Kind::Either(kinds) => kinds.iter().for_each(|kind| fits(kind, to)),
        _ => to.push("'leaf-*'".to_owned()),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, ..ProptestConfig::default() })]
    #[test]
    fn schema_and_reader_agree(
        (place, value) in proptest::sample::select(places()).prop_flat_map(|place| (Just(place), value(place.2)))
    ) {
        let (head, tail, key) = place;
        let text = format!("{head}{} = {value}\n{tail}", key.name);
        let fits = VALIDATOR.is_valid(&json(&text).unwrap());
        let read = parse(&text, "recipe.toml");
        prop_assert_eq!(fits, read.is_ok(), "{}\n{:?}", text, read.err().map(|wrong| wrong.to_string()));
    }
}
