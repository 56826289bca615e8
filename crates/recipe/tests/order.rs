//! Wishes about the order that contradict each other.

use laidwork_plan::Color;
use laidwork_recipe::{Pins, ShapeFacts, parse};

const SHAPES: [&str; 4] = ["c", "r", "s", "t"];

/// The pins of four shapes, and what was warned of.
fn pins(order: &str) -> (Pins, Vec<String>) {
    let recipe = parse(&format!("[order]\n{order}"), "patch.toml").unwrap_or_else(|wrong| panic!("{wrong}")).value;
    let facts = |name| ShapeFacts { name, color: Color::new(0, 0, 0), stroke: false };
    let pins = recipe.pins(&SHAPES.map(facts));
    (pins.value, pins.warnings.iter().map(ToString::to_string).collect())
}

#[test]
fn of_two_pairs_the_earlier_one_holds() {
    let (pins, told) = pins("before = [\n    [\"r\", \"c\"],\n    [\"c\", \"r\"],\n    [\"s\", \"t\"],\n]");
    assert_eq!(pins.before, [(vec![1], vec![0]), (vec![2], vec![3])]);
    let wanted = "patch.toml:4: `before` has \"c\" sewn before \"r\", which the pair in line 3 contradicts; \
        take one of the two out; the other one holds meanwhile";
    assert_eq!(told, [wanted]);
}

#[test]
fn pairs_that_come_round_are_told() {
    let (pins, told) = pins("before = [[\"c\", \"r\"], [\"r\", \"s\"],\n[\"s\", \"c\"]]");
    assert_eq!(pins.before.len(), 2);
    assert_eq!(told.len(), 1);
    assert!(told[0].starts_with("patch.toml:3: ") && told[0].contains("several pairs before it"), "{told:?}");
}

#[test]
fn first_holds_against_last_and_both_against_pairs() {
    let (of_both, told) = pins("first = \"r\"\nlast = [\"r\", \"s\"]");
    assert_eq!((of_both.first, of_both.last), (vec![1], vec![2]));
    assert_eq!(told.len(), 1);
    assert!(told[0].starts_with("patch.toml:3: `last` picks \"r\", which `first` in line 2 picks too"), "{told:?}");
    let (of_pair, told) = pins("first = \"r\"\nbefore = [[\"c\", \"r\"], [\"*\", \"t\"]]\nlast = \"t\"");
    assert_eq!(of_pair.before, [(vec![0, 1, 2, 3], vec![3])]);
    assert_eq!(told.len(), 1);
    assert!(told[0].starts_with("patch.toml:3: ") && told[0].contains("`first` in line 2 contradicts"), "{told:?}");
}

#[test]
fn a_pair_may_pick_one_shape_on_both_sides() {
    let (all, told) = pins("before = [[\"*\", \"t\"], [\"c\", \"*\"]]");
    assert_eq!(told, [""; 0]);
    assert_eq!(all.before.len(), 2);
    let (none, told) = pins("before = [[\"*\", \"*\"]]");
    assert_eq!(none.before, []);
    assert!(told[0].contains("contradicts itself"), "{told:?}");
}
