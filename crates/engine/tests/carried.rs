//! A fill that lies on the rows of another has no underlay of its own there.

use laidwork_engine::sew;
use laidwork_plan::{PassKind, Plan};

fn sewn(shapes: &str, recipe: &str) -> Plan {
    let svg = format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">{shapes}</svg>"##
    );
    let drawing = laidwork_drawing::read(svg.as_bytes(), &laidwork_drawing::Options::default()).unwrap().value;
    sew(&drawing, &laidwork_recipe::parse(recipe, "recipe.toml").unwrap().value).unwrap().value.plan
}

/// Length of a piece's underlay, mm.
fn underlay(plan: &Plan, name: &str) -> f64 {
    let piece = plan.pieces.iter().find(|piece| piece.name == name).unwrap();
    let passes = piece.passes.iter().filter(|pass| pass.kind == PassKind::Underlay);
    passes.flat_map(|pass| pass.points.windows(2).map(|pair| pair[0].distance(pair[1]))).sum()
}

const FIELD: &str = r##"<rect id="field" width="60" height="60" fill="#225522"/>"##;
const DISC: &str = r##"<circle id="disc" cx="30" cy="30" r="14" fill="#cc3333"/>"##;

#[test]
fn rows_beneath_carry_what_lies_on_them() {
    let whole = "[[rule]]\nmethod = \"fill\"\nknock_out = false\n";
    assert!(underlay(&sewn(DISC, whole), "disc") > 100.0);
    let stacked = sewn(&format!("{FIELD}{DISC}"), whole);
    assert!(underlay(&stacked, "disc") < 1e-9);
    assert!(underlay(&stacked, "field") > 500.0);
}

#[test]
fn a_rim_beneath_carries_but_the_edge() {
    let cut = "[[rule]]\nmethod = \"fill\"\n";
    let alone = underlay(&sewn(DISC, cut), "disc");
    let on_a_rim = underlay(&sewn(&format!("{FIELD}{DISC}"), cut), "disc");
    assert!(on_a_rim > 0.5 * alone && on_a_rim < alone, "{on_a_rim} of {alone}");
}

#[test]
fn open_rows_carry_nothing() {
    let open = "[[rule]]\nmatch = \"field\"\nmethod = \"fill\"\nopen = true\nspacing = 2.0\n[[rule]]\nmatch = \"disc\"\nmethod = \"fill\"\n";
    let over_open = underlay(&sewn(&format!("{FIELD}{DISC}"), open), "disc");
    let alone = underlay(&sewn(DISC, "[[rule]]\nmethod = \"fill\"\n"), "disc");
    assert!((over_open - alone).abs() < 1.0, "{over_open} {alone}");
}

#[test]
fn columns_on_rows_take_the_lightest_underlay() {
    let bar = r##"<rect id="bar" x="10" y="28" width="40" height="5" fill="#cc3333"/>"##;
    let recipe = "[[rule]]\nknock_out = false\n[[rule]]\nmatch = \"bar\"\nmethod = \"satin\"\n";
    let (alone, carried) = (sewn(bar, recipe), sewn(&format!("{FIELD}{bar}"), recipe));
    assert!(underlay(&carried, "bar") < 0.7 * underlay(&alone, "bar"));
    assert!(underlay(&carried, "bar") > 20.0);
}

#[test]
fn columns_whose_edges_lie_on_rims_take_no_edge_runs() {
    let bar = |height: f64| format!(r##"<rect id="bar" x="10" y="28" width="40" height="{height}" fill="#cc3333"/>"##);
    let recipe = "[[rule]]\nmatch = \"bar\"\nmethod = \"satin\"\n";
    let of = |shapes: &str| underlay(&sewn(shapes, recipe), "bar");
    for (height, share) in [(3.5, 0.7), (5.0, 0.9)] {
        let (alone, on_rims) = (of(&bar(height)), of(&format!("{FIELD}{}", bar(height))));
        assert!(on_rims < share * alone && on_rims > 20.0, "{height}: {on_rims} of {alone}");
    }
    // Half of it beside the rows: they carry one side only.
    let half = r##"<rect id="half" width="60" height="30" fill="#225522"/>"##;
    let beside = of(&format!("{half}{}", bar(3.5)));
    assert!((beside / of(&bar(3.5)) - 1.0).abs() < 0.05, "{beside}");
}

/// Length of a piece's top stitches, mm.
fn top(plan: &Plan, name: &str) -> f64 {
    let piece = plan.pieces.iter().find(|piece| piece.name == name).unwrap();
    let passes = piece.passes.iter().filter(|pass| pass.kind == PassKind::Top);
    passes.flat_map(|pass| pass.points.windows(2).map(|pair| pair[0].distance(pair[1]))).sum()
}

#[test]
fn narrow_columns_on_rows_take_fewer_threads() {
    let bar = r##"<rect id="bar" x="10" y="28" width="40" height="1.5" fill="#cc3333"/>"##;
    let auto = "[[rule]]\nmatch = \"bar\"\nmethod = \"satin\"\n";
    let of = |shapes: &str, recipe: &str| top(&sewn(shapes, recipe), "bar");
    let on_rows = format!("{FIELD}{bar}");
    let (alone, carried) = (of(bar, auto), of(&on_rows, auto));
    assert!(carried < 0.9 * alone && carried > 0.8 * alone, "{carried} of {alone}");
    // A spacing that was asked for is sewn.
    let asked = format!("{auto}spacing = 0.17\n");
    assert!(of(&on_rows, &asked) > 0.99 * alone);
}

#[test]
fn an_underlay_that_was_asked_for_is_sewn() {
    let asked = "[[rule]]\nmethod = \"fill\"\nknock_out = false\nunderlay = [\"edge-run\", \"rows\"]\n";
    assert!(underlay(&sewn(&format!("{FIELD}{DISC}"), asked), "disc") > 100.0);
}
