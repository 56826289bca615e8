//! Laws that hold of every recipe.

use laidwork_plan::Color;
use laidwork_recipe::{Materials, ShapeFacts, parse};
use proptest::prelude::*;

const SHAPES: [ShapeFacts<'static>; 3] = [
    ShapeFacts { name: "trowel/blade", color: Color::new(1, 2, 3), stroke: false },
    ShapeFacts { name: "trowel/handle", color: Color::new(4, 5, 6), stroke: false },
    ShapeFacts { name: "string", color: Color::new(1, 2, 3), stroke: true },
];

/// Reads, and settles what reads; gives back the faults' places.
fn all_of(text: &str) {
    match parse(text, "recipe.toml") {
        Ok(recipe) => {
            let settled = recipe.value.settle(&SHAPES);
            if let Ok(settled) = settled {
                assert_eq!(settled.value.len(), SHAPES.len());
            }
            let _ = recipe.value.pins(&SHAPES);
        }
        Err(wrong) => {
            assert!(!wrong.errors.is_empty());
            for error in &wrong.errors {
                assert!(text.get(error.span.clone()).is_some(), "{error:?}");
                assert!(error.line >= 1 && error.line <= text.split('\n').count(), "{error:?}");
                assert!(!error.message.is_empty() && !error.advice.is_empty());
            }
        }
    }
    let _ = Materials::built_in().with_overrides(text, "materials.toml");
}

/// Keys with values that may or may not suit them.
fn line() -> impl Strategy<Value = String> {
    const KEYS: [&str; 23] = [
        "match",
        "color",
        "paint",
        "method",
        "thread",
        "material",
        "border",
        "spacing",
        "underlay",
        "angle",
        "shifts",
        "guides",
        "crossings",
        "width",
        "hoop",
        "keep",
        "before",
        "around",
        "for",
        "name",
        "based_on",
        "start",
        "split",
    ];
    const VALUES: [&str; 22] = [
        "1",
        "0.3",
        "-2.5",
        "1e300",
        "nan",
        "true",
        "'satin'",
        "'trowel/*'",
        "'*'",
        "['*', 'string']",
        "[['a'], 'b']",
        "'#010203'",
        "{ width = 2 }",
        "{ on = false, thread = 'a' }",
        "[[1, 2], [3]]",
        "'canvas'",
        "[]",
        "{",
        "'é",
        "1979-05-27",
        "[0, 0.5]",
        "[['*', 'string']]",
    ];
    const HEADS: [&str; 13] = [
        "[design]",
        "[[thread]]",
        "[sewing]",
        "[order]",
        "[checks]",
        "[defaults]",
        "[[rule]]",
        "[material.canvas]",
        "[rule.border]",
        "[[rule.border]]",
        "[",
        "]]",
        "# é",
    ];
    prop_oneof![
        3 => (proptest::sample::select(&KEYS[..]), proptest::sample::select(&VALUES[..])).prop_map(|(k, v)| format!("{k} = {v}")),
        2 => proptest::sample::select(&HEADS[..]).prop_map(str::to_owned),
    ]
}

/// A key that every shape looks at, with a value, and what it comes to.
fn law_keys() -> impl Strategy<Value = (&'static str, u32)> {
    (
        proptest::sample::select(&["spacing", "stitch_length", "pull_compensation", "edge_width", "max_width"][..]),
        100u32..300,
    )
}

fn written(keys: &[(&str, u32)]) -> String {
    let mut seen = std::collections::BTreeMap::new();
    keys.iter().for_each(|(key, value)| {
        seen.insert(*key, *value);
    });
    seen.iter().map(|(key, value)| format!("{key} = {}\n", f64::from(*value) / 100.0)).collect()
}

/// Some figures of each shape, as text.
fn figures(text: &str) -> Vec<String> {
    let recipe = parse(text, "recipe.toml").unwrap_or_else(|wrong| panic!("{wrong}\n{text}")).value;
    let settled = recipe.settle(&SHAPES).unwrap_or_else(|wrong| panic!("{wrong}\n{text}")).value;
    let of = |s: &laidwork_recipe::Settings| {
        let fill = &s.fill;
        format!("{:?}", (fill.spacing, fill.stitch_length, fill.pull.left, fill.edge_width, s.satin.max_width))
    };
    settled.iter().map(of).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_read_or_told_of(text in any::<String>()) {
        all_of(&text);
    }

    #[test]
    fn any_bytes_are_read_or_told_of(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        all_of(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn any_recipe_is_read_or_told_of(lines in proptest::collection::vec(line(), 0..30)) {
        all_of(&lines.join("\n"));
    }

    #[test]
    fn a_rule_cut_in_two_comes_to_the_same(keys in proptest::collection::vec(law_keys(), 1..6)) {
        let apart: String = keys.iter().map(|one| format!("[[rule]]\n{}", written(&[*one]))).collect();
        prop_assert_eq!(figures(&apart), figures(&format!("[[rule]]\n{}", written(&keys))));
    }

    #[test]
    fn the_last_rule_wins_key_by_key(
        first in proptest::collection::vec(law_keys(), 0..5),
        second in proptest::collection::vec(law_keys(), 0..5),
    ) {
        let both = figures(&format!("[[rule]]\n{}[[rule]]\nmatch = 'trowel/*'\n{}", written(&first), written(&second)));
        let merged = [first.as_slice(), second.as_slice()].concat();
        let (alone, over) = (figures(&format!("[[rule]]\n{}", written(&first))), figures(&format!("[[rule]]\n{}", written(&merged))));
        prop_assert_eq!(&both[0], &over[0]);
        prop_assert_eq!(&both[1], &over[1]);
        prop_assert_eq!(&both[2], &alone[2]);
    }

    #[test]
    fn defaults_lie_under_rules_and_over_the_material(
        defaults in proptest::collection::vec(law_keys(), 0..5),
        rule in proptest::collection::vec(law_keys(), 0..5),
        material in proptest::sample::select(&["jersey", "leather", "towel"][..]),
    ) {
        let head = format!("[design]\nmaterial = '{material}'\n");
        let both = figures(&format!("{head}[defaults]\n{}[[rule]]\n{}", written(&defaults), written(&rule)));
        let merged = [defaults.as_slice(), rule.as_slice()].concat();
        prop_assert_eq!(both, figures(&format!("{head}[[rule]]\n{}", written(&merged))));
    }
}

#[test]
fn hostile_texts_are_told_of_and_quickly() {
    let n = 100_000;
    let texts = [
        "a.".repeat(n) + "a = 1",
        "[".to_owned() + &"a.".repeat(n) + "a]",
        "a = ".to_owned() + &"[".repeat(n),
        "a = { a = ".repeat(n / 10),
        "[[rule]]\n".repeat(n / 10),
        "\"".repeat(n),
        "=".repeat(n),
        format!("[design]\ntitle = '{}'", "x".repeat(10 * n)),
        (0..n / 10).map(|i| format!("key{i} = 1\n")).collect(),
        (1..n / 50).map(|i| format!("[material.m{i}]\nbased_on = 'm{}'\n", i - 1)).collect(),
        (0..n / 50)
            .map(|i| format!("[[thread]]\ncolor = '#000000'\nname = 't{i}'\n[[rule]]\nthread = 't{i}'\n"))
            .collect(),
        format!("[[rule]]\nmatch = '{}'", "*a".repeat(n / 10)),
    ];
    let start = std::time::Instant::now();
    texts.iter().for_each(|text| all_of(text));
    // Far more than it takes; what is quadratic takes minutes.
    assert!(start.elapsed().as_secs() < 30, "{:?}", start.elapsed());
}
