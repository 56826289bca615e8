//! The tables of `docs/recipe.md` and `docs/materials.md` are made from the
//! table of keys and the materials, so that they say what the reader does.

mod golden;

use laidwork_recipe::keys::{Key, Kind, Uses, each};
use laidwork_recipe::{Materials, UnderlayLayer, effects, table};
use std::fmt::Write;

/// The keys of each marked table.
fn groups() -> Vec<(&'static str, Vec<&'static Key>)> {
    let all = |keys| each(keys).collect::<Vec<_>>();
    vec![
        ("design", all(table::DESIGN)),
        ("thread", all(table::THREAD)),
        ("place", all(table::PLACE)),
        ("ring", all(table::RING)),
        ("grid", all(table::GRID)),
        ("colourway", all(table::COLOURWAY)),
        ("swap", all(table::SWAP)),
        ("sewing", all(table::SEWING)),
        ("order", all(table::ORDER)),
        ("checks", all(table::CHECKS)),
        ("pick", table::PICK.iter().collect()),
        ("shape", table::SHAPE.iter().collect()),
        ("border", all(table::BORDER)),
        ("threads", table::THREADS.iter().collect()),
        ("underlay", table::UNDERLAY.iter().collect()),
        ("runs", table::RUNS.iter().collect()),
        ("columns", table::COLUMNS.iter().collect()),
        ("rows", table::ROWS.iter().collect()),
        ("material", all(table::MATERIAL)),
    ]
}

/// A table of keys in Markdown.
fn keys_table(keys: &[&Key]) -> String {
    let everyone = Uses { run: true, satin: true, fill: true };
    let mixed = keys.windows(2).any(|pair| pair[0].used_by != pair[1].used_by);
    let mut text = String::from("| key | value | default | |\n| --- | --- | --- | --- |\n");
    for key in keys {
        let users = key.used_by.described();
        let users = if mixed && key.used_by != everyone { format!(" Used by {users}.") } else { String::new() };
        let (name, value, preset) = (key.name, value(&key.kind), key.preset.described());
        writeln!(text, "| `{name}` | {value} | {preset} | {}{users} |", key.about).unwrap();
    }
    text
}

fn value(kind: &Kind) -> String {
    match kind {
        Kind::Number(range) | Kind::Count(range) => range.to_string().replace(" to ", " – "),
        Kind::Bool => "`true`, `false`".to_owned(),
        Kind::Word(words) => words.iter().map(|word| format!("`\"{word}\"`")).collect::<Vec<_>>().join(", "),
        Kind::Text => "text".to_owned(),
        Kind::Color => "colour".to_owned(),
        Kind::Match => "id path".to_owned(),
        Kind::Material => "a material".to_owned(),
        Kind::Thread => "a thread or a colour".to_owned(),
        Kind::List { of: Kind::Either(kinds), .. } => format!("list of groups: {}", value(&Kind::Either(kinds))),
        Kind::List { of: Kind::List { of, .. }, .. } => format!("list of pairs, each {}", value(of)),
        Kind::List { of, least, most } if least == most => format!("list of {least}: {}", value(of)),
        Kind::List { of, .. } => format!("list of: {}", value(of)),
        Kind::Either([one, Kind::List { of, least, most }]) if value(one) == value(of) => {
            format!("{}; or a list{}", value(one), if least == most { format!(" of {least}") } else { String::new() })
        }
        Kind::Either(kinds) => kinds.iter().map(value).collect::<Vec<_>>().join("; or "),
        Kind::Table(keys) => {
            let names: Vec<_> = each(keys).map(|key| format!("`{}`", key.name)).take(2).collect();
            format!("table: {}{}", names.join(", "), if each(keys).count() > 2 { ", ..." } else { "" })
        }
        Kind::Tables(_) | Kind::Rows(_) => "tables".to_owned(),
    }
}

/// The built-in materials in Markdown: figures, then what to put behind and over.
fn materials_table() -> String {
    let table = Materials::built_in();
    let all: Vec<_> = table.names().filter_map(|name| table.get(name)).collect();
    let mut text =
        String::from("| material | spacing x | pull, mm | push, mm | run, mm | fill, mm | satin up to, mm |\n");
    text.push_str("| --- | --- | --- | --- | --- | --- | --- |\n");
    for m in &all {
        let run = format!("{} ({} in curves)", m.run_stitch_length, m.run_curve_stitch_length);
        let figures = [m.spacing_factor, m.pull_compensation, m.push_compensation].map(|figure| figure.to_string());
        let (fill, satin) = (m.fill_stitch_length, m.satin_max_width);
        writeln!(text, "| `{}` | {} | {run} | {fill} | {satin} |", m.name, figures.join(" | ")).unwrap();
    }
    text.push_str(
        "\n| material | under narrow columns | between | wide | under fills |\n| --- | --- | --- | --- | --- |\n",
    );
    for m in &all {
        let layers = [&m.satin_underlay_narrow, &m.satin_underlay_medium, &m.satin_underlay_wide, &m.fill_underlay];
        writeln!(text, "| `{}` | {} |", m.name, layers.map(|layers| words(layers)).join(" | ")).unwrap();
    }
    text.push_str(
        "\n| material | what it is | backing | topping | needle | speed |\n| --- | --- | --- | --- | --- | --- |\n",
    );
    for m in &all {
        let advice = [&m.about, &m.backing, &m.topping, &m.needle, &m.speed].map(String::as_str);
        writeln!(text, "| `{}` | {} |", m.name, advice.join(" | ")).unwrap();
    }
    text
}

fn words(layers: &[UnderlayLayer]) -> String {
    let words: Vec<_> = layers.iter().map(|layer| layer.word()).collect();
    if words.is_empty() { "none".to_owned() } else { words.join(", ") }
}

/// The page with what stands between each marker and its end made anew; the
/// markers found.
fn made(page: &str) -> (String, Vec<String>) {
    let (mut text, mut markers, mut skipping) = (String::new(), Vec::new(), false);
    for line in page.lines() {
        skipping &= line != "<!-- end -->";
        if !skipping {
            text.push_str(line);
            text.push('\n');
        }
        let Some(marker) = line.strip_prefix("<!-- ").and_then(|rest| rest.strip_suffix(" -->")) else { continue };
        let made = match marker.strip_prefix("keys: ") {
            Some(group) => {
                let groups = groups();
                let found = groups.iter().find(|(name, _)| *name == group);
                keys_table(&found.unwrap_or_else(|| panic!("no keys {group:?}")).1)
            }
            None if marker == "materials" => materials_table(),
            None => continue,
        };
        writeln!(text, "\n{made}").unwrap();
        markers.push(marker.to_owned());
        skipping = true;
    }
    (text, markers)
}

#[test]
fn the_pages_say_what_the_tables_say() {
    let mut differences = Vec::new();
    let mut markers = Vec::new();
    for page in ["docs/recipe.md", "docs/materials.md"] {
        let path = golden::root(page);
        let (text, found) = made(&std::fs::read_to_string(&path).unwrap());
        markers.extend(found);
        differences.extend(golden::differs(&path, &text));
    }
    for (group, _) in groups() {
        assert!(markers.contains(&format!("keys: {group}")), "no page shows the keys of {group}");
    }
    assert!(markers.contains(&"materials".to_owned()));
    golden::settle(differences);
}

#[test]
fn every_key_is_documented_and_within_its_own_range() {
    let mut seen = 0;
    for (group, keys) in groups() {
        for key in keys {
            seen += 1;
            assert!(key.about.ends_with('.') && key.about.len() > 10, "{group}.{}: {:?}", key.name, key.about);
            check_preset(key);
        }
    }
    assert!(seen > 90, "{seen} keys");
}

/// A default has to be a value that may be written.
fn check_preset(key: &Key) {
    use laidwork_recipe::keys::Preset;
    let kinds: Vec<&Kind> = match &key.kind {
        Kind::Either(kinds) => kinds.iter().collect(),
        kind => vec![kind],
    };
    let number = |number: f64| {
        kinds.iter().any(|kind| match kind {
            Kind::Number(range) | Kind::Count(range) => range.least <= number && number <= range.most,
            _ => false,
        })
    };
    let fits = match &key.preset {
        Preset::Number(value) => number(*value),
        Preset::Numbers { run, satin, fill } => {
            assert_eq!(
                (run.is_some(), satin.is_some(), fill.is_some()),
                (key.used_by.run, key.used_by.satin, key.used_by.fill)
            );
            [run, satin, fill].into_iter().flatten().all(|value| number(*value))
        }
        Preset::Bool(_) => matches!(key.kind, Kind::Bool),
        Preset::Word(word) => kinds.iter().any(|kind| match kind {
            Kind::Word(words) => words.contains(word),
            Kind::Material => Materials::built_in().get(word).is_some(),
            _ => false,
        }),
        Preset::List(_) => kinds.iter().any(|kind| matches!(kind, Kind::List { .. })),
        Preset::Unset(what) => !what.is_empty(),
        Preset::Material | Preset::Needed => true,
    };
    assert!(fits, "{}: {:?} is not one of its values", key.name, key.preset);
}

#[test]
fn every_material_is_complete_and_told() {
    let table = Materials::built_in();
    assert!(table.names().count() >= 7);
    for name in table.names() {
        let material = table.get(name).unwrap();
        for text in [&material.about, &material.backing, &material.topping, &material.needle, &material.speed] {
            assert!(!text.is_empty(), "{name}");
        }
        assert!(material.pull_compensation > 0.0 && material.satin_max_width >= 1.0, "{name}");
        assert!(material.run_curve_stitch_length <= material.run_stitch_length, "{name}");
        assert!(effects(&material).len() >= 5, "{name}");
    }
    let pull = |name: &str| table.get(name).unwrap().pull_compensation.to_string();
    let trade = [
        ("woven-cotton", "0.2"),
        ("canvas", "0.15"),
        ("jersey", "0.35"),
        ("fleece", "0.45"),
        ("towel", "0.45"),
        ("satin-silk", "0.15"),
    ];
    for (name, figure) in trade {
        assert_eq!(pull(name), figure, "{name}");
    }
}

#[test]
fn rows_lie_over_built_in_ones_key_by_key() {
    let text =
        "[material.jersey]\npull_compensation = 0.4\n[material.rib]\nbased_on = 'jersey'\npush_compensation = 0.5\n";
    let table = Materials::built_in().with_overrides(text, "mine.toml").unwrap();
    let rib = table.get("rib").unwrap();
    let figures = (rib.pull_compensation, rib.push_compensation, rib.spacing_factor, rib.satin_max_width);
    assert_eq!(format!("{figures:?}"), "(0.4, 0.5, 1.05, 7.0)");
    assert_eq!(table.get("canvas"), Materials::built_in().get("canvas"));
    let wrong = Materials::built_in().with_overrides("[material.x]\nbased_on = 'jersy'\n", "mine.toml").unwrap_err();
    assert_eq!(wrong.to_string(), "mine.toml:2:12: there is no material \"jersy\"; did you mean \"jersey\"?");
    let wrong = Materials::built_in().with_overrides("[design]\nwidth = 3\n", "mine.toml").unwrap_err();
    assert_eq!(wrong.errors.len(), 1);
}
