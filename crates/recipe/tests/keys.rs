//! Every key of the table of keys reaches what the reader makes: written with
//! another value, something comes out different.

use laidwork_plan::Color;
use laidwork_recipe::keys::{Key, Keys, Kind, each};
use laidwork_recipe::{Place, ShapeFacts, parse, table};
use std::collections::BTreeSet;

const SHAPES: [ShapeFacts<'static>; 3] = [
    ShapeFacts { name: "meadow/leaf", color: Color::new(1, 2, 3), stroke: false },
    ShapeFacts { name: "meadow/vein", color: Color::new(4, 5, 6), stroke: true },
    ShapeFacts { name: "pond", color: Color::new(7, 8, 9), stroke: false },
];

/// Some values that a key may have.
fn values(kind: &Kind) -> Vec<String> {
    match kind {
        Kind::Number(range) => {
            [range.least, range.most, range.least.midpoint(range.most)].map(|n| n.to_string()).to_vec()
        }
        Kind::Count(range) => [range.least, range.most].map(|n| n.to_string()).to_vec(),
        Kind::Bool => ["true", "false"].map(str::to_owned).to_vec(),
        Kind::Word(words) => words.iter().map(|word| format!("'{word}'")).collect(),
        Kind::Text => ["'bean'", "'pod'"].map(str::to_owned).to_vec(),
        Kind::Color => ["'#010203'", "'#040506'"].map(str::to_owned).to_vec(),
        Kind::Match => ["'meadow/*'", "'*/vein'", "'pond'"].map(str::to_owned).to_vec(),
        Kind::Material => ["'canvas'", "'leather'"].map(str::to_owned).to_vec(),
        Kind::Thread => ["'#112233'", "'#445566'"].map(str::to_owned).to_vec(),
        Kind::List { of, least, .. } => {
            values(of).into_iter().map(|one| format!("[{}]", vec![one; (*least).max(1)].join(", "))).collect()
        }
        Kind::Either(kinds) => kinds.iter().flat_map(values).collect(),
        Kind::Table(keys) => each(keys)
            .flat_map(|key| values(&key.kind).into_iter().map(|v| format!("{{ {} = {v} }}", key.name)))
            .collect(),
        Kind::Tables(keys) => each(keys)
            .flat_map(|key| values(&key.kind).into_iter().map(|v| format!("[{{ {} = {v} }}]", key.name)))
            .collect(),
        Kind::Rows(_) => Vec::new(),
    }
}

/// All that is made of a recipe, as text.
fn made(text: &str) -> String {
    let recipe = parse(text, "recipe.toml").unwrap_or_else(|wrong| panic!("{wrong}\n{text}")).value;
    let settled = recipe.settle(&SHAPES).unwrap_or_else(|wrong| panic!("{wrong}\n{text}")).value;
    let pins = recipe.pins(&SHAPES).value;
    let ways: Vec<_> = recipe.colourways.iter().map(|way| (&way.name, way.fabric)).collect();
    let swapped = recipe.in_colourway(0).map(|way| way.settle(&SHAPES).unwrap().value);
    let ways = format!("{ways:?} {swapped:?}");
    let materials: Vec<_> = recipe.materials.names().map(|name| recipe.materials.get(name)).collect();
    let whole = (&recipe.design, &recipe.sewing, &recipe.order, &recipe.checks);
    let threads: Vec<_> = recipe.threads.iter().map(|t| (t.color, t.name.clone(), t.tex, t.replaces.clone())).collect();
    let places: Vec<_> = recipe.places.into_iter().map(|place| Place { line: 0, ..place }).collect();
    format!("{whole:?} {threads:?} {places:?} {settled:?} {pins:?} {materials:?} {ways}")
}

fn check(keys: Keys, around: impl Fn(&Key, &str) -> String) {
    let mut seen = 0;
    for key in each(keys) {
        seen += 1;
        let outcomes: BTreeSet<String> = values(&key.kind).iter().map(|value| made(&around(key, value))).collect();
        assert!(outcomes.len() > 1, "whatever `{}` is, the same comes out", key.name);
    }
    assert!(seen >= 3, "{seen} keys");
}

#[test]
fn every_key_of_the_whole_design_matters() {
    check(table::DESIGN, |key, value| format!("[design]\n{} = {value}\n", key.name));
    check(table::SEWING, |key, value| format!("[sewing]\n{} = {value}\n", key.name));
    check(table::ORDER, |key, value| format!("[order]\n{} = {value}\n", key.name));
    check(table::CHECKS, |key, value| format!("[checks]\n{} = {value}\n", key.name));
}

#[test]
fn every_key_of_a_thread_matters() {
    check(table::THREAD, |key, value| {
        let color = if key.name == "color" { "" } else { "color = '#010203'\n" };
        format!("[[thread]]\n{color}{} = {value}\n", key.name)
    });
}

#[test]
fn every_key_of_a_colourway_matters() {
    check(table::COLOURWAY, |key, value| {
        let name = if key.name == "name" { "" } else { "name = 'dusk'\n" };
        format!("[[colourway]]\n{name}{} = {value}\n", key.name)
    });
    check(table::SWAP, |key, value| {
        let thread = if matches!(key.name, "match" | "color" | "paint") { "thread = '#778899'\n" } else { "" };
        let rule = "[[rule]]\nborder = { width = 2 }\n";
        format!("{rule}[[colourway]]\nname = 'dusk'\n[[colourway.swap]]\n{thread}{} = {value}\n", key.name)
    });
}

#[test]
fn every_key_of_a_place_matters() {
    check(table::PLACE, |key, value| {
        let value = match key.name {
            "ring" => value
                .replace("{ ", "{ count = 3, radius = 9, ")
                .replace("count = 3, radius = 9, count", "radius = 9, count"),
            "grid" => value.replace("{ ", "{ step = [1, 2], ").replace("step = [1, 2], step", "step"),
            _ => value.to_owned(),
        };
        let value = value.replace("count = 3, radius = 9, radius", "count = 3, radius");
        format!("[[place]]\n{} = {value}\n", key.name)
    });
}

#[test]
fn every_key_of_a_rule_matters() {
    static PICKS: Keys = &[&table::PICK];
    check(PICKS, |key, value| format!("[[rule]]\nmethod = 'satin'\n{} = {value}\n", key.name));
    check(table::STITCH, |key, value| {
        let with = match key.name {
            "seed" => "shifts = 'irregular'\n",
            "spacing_angle" => "spacing_to = 0.5\n",
            "pull_limit" => "pull_percent = 10\n",
            _ => "",
        };
        format!("[[rule]]\n{with}{} = {value}\n", key.name)
    });
}

#[test]
fn every_key_of_a_border_matters() {
    check(table::BORDER, |key, value| format!("[[rule]]\nborder = {{ {} = {value} }}\n", key.name));
}

#[test]
fn every_key_of_a_material_matters() {
    check(table::MATERIAL, |key, value| {
        format!("[design]\nmaterial = 'apron'\n[material.apron]\n{} = {value}\n", key.name)
    });
}
