//! The starter recipe names every shape and changes nothing.

mod golden;

use laidwork_plan::Color;
use laidwork_recipe::{MethodChoice, Recipe, ShapeFacts, StarterDesign, StarterShape, parse, starter};
use proptest::prelude::*;

const GOLD: Color = Color::new(0xe0, 0xa2, 0x1b);
const BROWN: Color = Color::new(0x6b, 0x4a, 0x2b);

fn shape(name: &str, color: Color, stroke: bool, suggested: MethodChoice) -> StarterShape<'_> {
    StarterShape { facts: ShapeFacts { name, color, stroke }, width: 12.34, height: 5.0, suggested }
}

fn patch() -> String {
    let petals: Vec<String> = (1..=12).map(|i| format!("sunflower/petal-{i}")).collect();
    let mut shapes: Vec<_> = petals.iter().map(|name| shape(name, GOLD, false, MethodChoice::Satin)).collect();
    shapes.push(shape("sunflower/heart", BROWN, false, MethodChoice::Fill));
    shapes.push(shape("sunflower/heart", GOLD, true, MethodChoice::Run));
    shapes.push(shape("bean \"pod\"", Color::new(0x2e, 0x7d, 0x32), false, MethodChoice::Fill));
    let design = StarterDesign { drawing: "garden-patch.svg", title: Some("Tool roll"), width: 80.0, height: 64.25 };
    starter(&design, &shapes)
}

#[test]
fn the_starter_of_a_patch_is_as_before() {
    let path = golden::root("crates/recipe/tests/starter.toml");
    golden::settle(golden::differs(&path, &patch()).into_iter().collect());
}

/// The starter reads without warnings and settles to the defaults.
fn check(design: &StarterDesign<'_>, shapes: &[StarterShape<'_>]) {
    let text = starter(design, shapes);
    let facts: Vec<_> = shapes.iter().map(|shape| shape.facts).collect();
    let read = parse(&text, "starter.toml").unwrap_or_else(|wrong| panic!("{wrong}\n{text}"));
    assert_eq!(read.warnings, [], "{text}");
    let settled = read.value.settle(&facts).unwrap_or_else(|wrong| panic!("{wrong}\n{text}"));
    assert_eq!(settled.warnings, [], "{text}");
    assert_eq!(settled.value, Recipe::default().settle(&facts).unwrap().value, "{text}");
    for shape in shapes.iter().filter(|shape| !shape.facts.name.chars().any(|c| c.is_control() || "\"\\".contains(c))) {
        assert!(text.contains(shape.facts.name.trim()), "{:?} is not named in\n{text}", shape.facts.name);
    }
}

#[test]
fn without_its_signs_every_line_of_the_starter_is_a_recipe() {
    // The lines behind a `#` that hold a key have to be right as well.
    let text = patch();
    fn keys(line: &str) -> Option<&str> {
        line.strip_prefix("# ").filter(|rest| rest.contains(" = ") && !rest.starts_with("name"))
    }
    let lines = text.lines().map(|line| keys(line).unwrap_or(line)).filter(|line| !line.starts_with("for"));
    let opened: Vec<&str> = lines.map(|line| if line == "# [[thread]]" { "[[thread]]" } else { line }).collect();
    let opened = opened.join("\n");
    assert!(opened.lines().filter(|line| line.contains(" = ")).count() > 20, "{opened}");
    let read = parse(&opened, "starter.toml").unwrap_or_else(|wrong| panic!("{wrong}\n{opened}"));
    assert_eq!(read.warnings, []);
}

#[test]
fn a_drawing_without_shapes_or_size_has_a_starter_too() {
    check(&StarterDesign::default(), &[]);
    check(&StarterDesign { width: f64::NAN, height: 1e9, drawing: "a\nb", title: Some("\u{7}") }, &[]);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]
    #[test]
    fn whatever_the_names_the_starter_changes_nothing(
        names in proptest::collection::vec(
            prop_oneof![3 => "[a-c]/[a-b]-?[0-9]{0,2}", 1 => "\\PC{0,8}", 1 => any::<String>(), 1 => "[*a\"\\\\\t ]{0,4}"], 0..20),
        kinds in proptest::collection::vec((0u8..3, any::<bool>(), 0u8..3), 20),
        width in prop_oneof![0.0..3000.0, Just(f64::NAN)],
    ) {
        let methods = [MethodChoice::Run, MethodChoice::Satin, MethodChoice::Fill];
        let shapes: Vec<_> = names.iter().zip(&kinds)
            .map(|(name, (red, stroke, method))| shape(name, Color::new(*red, 0, 0), *stroke, methods[*method as usize]))
            .collect();
        check(&StarterDesign { drawing: "patch.svg", title: None, width, height: 10.0 }, &shapes);
    }
}
