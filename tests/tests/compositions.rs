//! The order of sewing, seen in whole designs: less waste than the drawing's own order, wedges in turn.

use laidwork_engine::{Recipe, Sewn, compose, sew};
use laidwork_plan::Plan;
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

fn recipes() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/recipes")
}

/// What a recipe file sews, with more lines of recipe before it.
fn sewn(name: &str, more: &str) -> Sewn {
    let text = fs::read_to_string(recipes().join(name)).unwrap();
    let order = if text.contains("[order]") {
        text.replace("[order]", &format!("[order]\n{more}"))
    } else {
        format!("{text}\n[order]\n{more}")
    };
    let recipe = laidwork_recipe::parse(&order, name).unwrap().value;
    let read = |file: &str, width: Option<f64>| {
        let options = laidwork_drawing::Options { width, ..Default::default() };
        laidwork_drawing::read(&fs::read(recipes().join(file)).unwrap(), &options).unwrap().value
    };
    let drawing = if recipe.places.is_empty() {
        read("../drawings/garden-patch.svg", None)
    } else {
        let drawings = recipe.places.iter().map(|place| read(place.drawing.as_deref().unwrap(), place.width)).collect();
        compose(drawings, &recipe.places, recipe.design.hoop.map(|hoop| hoop.size()), "recipe.toml").unwrap().value
    };
    let sewn = sew(&drawing, &recipe).unwrap().value;
    assert_eq!(sewn.plan.sanity_check(), [], "{name}");
    sewn
}

#[test]
fn the_best_order_wastes_less_than_the_drawing_s() {
    for name in ["garden-patch.toml", "sunflower-ring.toml", "seed-rows.toml", "trowel-wreath.toml"] {
        let (drawn, best) = (sewn(name, "keep = \"drawing\"\n"), sewn(name, ""));
        let counts = |sewn: &Sewn| (sewn.plan.thread_changes(), sewn.plan.trims());
        let ((drawn_changes, drawn_trims), (changes, trims)) = (counts(&drawn), counts(&best));
        println!("{name}: {drawn_changes} changes and {drawn_trims} trims as drawn, {changes} and {trims} at best");
        assert!(changes <= drawn_changes, "{name}");
        assert!(75 * changes + 8 * trims <= 75 * drawn_changes + 8 * drawn_trims, "{name}");
        assert!(best.order.seconds <= best.order.drawing_order_seconds + 1e-6, "{name}");
        assert!(best.order.lower_bound <= best.order.seconds + 1e-6, "{name}");
    }
}

/// Sixteen wedges round a disc, in the colours given in turn, drawn one after the other; neighbours lie within a
/// millimetre of each other, or abut.
fn wheel(colors: &[&str], part: f64, recipe: &str) -> Plan {
    let mut svg =
        String::from(r#"<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="-30 -30 60 60">"#);
    for i in 0..16 {
        let point = |radius: f64, turn: f64| {
            let (sin, cos) = (turn * std::f64::consts::TAU / 16.0).sin_cos();
            format!("{:.4} {:.4}", radius * cos, radius * sin)
        };
        let (from, to) = (f64::from(i) + part, f64::from(i) + 1.0 - part);
        let color = colors[i as usize % colors.len()];
        let _ = write!(
            svg,
            r#"<path id="wedge-{i}" fill="{color}" d="M{} L{} A26 26 0 0 1 {} L{} Z"/>"#,
            point(10.5, from),
            point(26.0, from),
            point(26.0, to),
            point(10.5, to)
        );
    }
    svg.push_str(r##"<circle id="disc" r="11" fill="#6b3f1d"/></svg>"##);
    let drawing = laidwork_drawing::read(svg.as_bytes(), &Default::default()).unwrap().value;
    let recipe: Recipe = laidwork_recipe::parse(recipe, "wheel").unwrap().value;
    let plan = sew(&drawing, &recipe).unwrap().value.plan;
    assert_eq!(plan.sanity_check(), []);
    plan
}

fn wedges(plan: &Plan) -> Vec<usize> {
    plan.pieces.iter().filter_map(|piece| piece.name.strip_prefix("wedge-")?.parse().ok()).collect()
}

#[test]
fn wedges_of_a_ring_are_sewn_in_turn() {
    for part in [0.04, 0.0] {
        let plan = wheel(&["#e0a21b"], part, "[[rule]]\nmethod = \"fill\"\n");
        let order = wedges(&plan);
        assert_eq!(order.len(), 16);
        for pair in order.windows(2) {
            let apart = (pair[0] + 16 - pair[1]) % 16;
            assert!(apart == 1 || apart == 15, "{order:?}");
        }
        assert!(plan.thread_changes() <= 1);
        // One at the end of the wedges, one at the end of the disc; none between neighbours.
        assert!(plan.trims() <= 2, "{} trims", plan.trims());
    }
}

#[test]
fn wedges_by_turns_in_two_threads_take_two_changes() {
    for part in [0.04, 0.0] {
        for order in ["", "[order]\naround = [\"wedge-*\"]\n"] {
            let plan = wheel(&["#e0a21b", "#b3402e"], part, &format!("{order}[[rule]]\nmethod = \"fill\"\n"));
            assert!(plan.thread_changes() <= 2, "{} changes", plan.thread_changes());
            // Those of one thread go on from one to the next under the disc.
            assert!(plan.trims() <= 3, "{part} {order}: {} trims", plan.trims());
            let order = wedges(&plan);
            for pair in order[..8].windows(2).chain(order[8..].windows(2)) {
                let apart = (pair[0] + 16 - pair[1]) % 16;
                assert!(apart == 2 || apart == 14, "{order:?}");
            }
        }
    }
}
