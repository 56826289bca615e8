//! How material, defaults and rules come to the settings of a shape.

use laidwork_plan::Color;
use laidwork_recipe::{
    BorderJoin, Flow, Hoop, MethodChoice, Recipe, Settings, ShapeFacts, Shifts, Side, UnderlayLayer, parse,
};

const BROWN: Color = Color::new(0x6b, 0x4a, 0x2b);
const GREEN: Color = Color::new(0x2e, 0x7d, 0x32);

const SHAPES: [ShapeFacts<'static>; 4] = [
    ShapeFacts { name: "sunflower/petal-1", color: Color::new(0xe0, 0xa2, 0x1b), stroke: false },
    ShapeFacts { name: "sunflower/petal-2", color: Color::new(0xe0, 0xa2, 0x1b), stroke: false },
    ShapeFacts { name: "sunflower/stalk", color: GREEN, stroke: true },
    ShapeFacts { name: "trowel/blade", color: BROWN, stroke: false },
];

fn recipe(text: &str) -> Recipe {
    let parsed = parse(text, "patch.toml").unwrap_or_else(|wrong| panic!("{wrong}"));
    assert_eq!(parsed.warnings, []);
    parsed.value
}

/// The settings of the four shapes, and what was warned of.
fn settle(text: &str) -> (Vec<Settings>, Vec<String>) {
    let settled = recipe(text).settle(&SHAPES).unwrap_or_else(|wrong| panic!("{wrong}"));
    assert_eq!(settled.value.len(), SHAPES.len());
    (settled.value, settled.warnings.iter().map(|warning| warning.to_string()).collect())
}

/// The settings of the four shapes, without a warning.
fn settled(text: &str) -> Vec<Settings> {
    let (settings, warnings) = settle(text);
    assert!(warnings.is_empty(), "{warnings:?}");
    settings
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

#[test]
fn without_a_recipe_the_usual_figures_hold() {
    let all = settled("");
    let one = &all[0];
    assert_eq!(one.method, MethodChoice::Auto);
    assert_eq!(one.material, "woven-cotton");
    assert!(near(one.fill.spacing, 0.22) && near(one.fill.stitch_length, 4.0) && near(one.fill.shortest_stitch, 0.8));
    assert!(near(one.satin.spacing, 0.20) && near(one.satin.min_width, 1.0) && near(one.satin.max_width, 7.0));
    assert!(near(one.run.stitch_length, 2.5) && near(one.run.curve_stitch_length, 1.5));
    assert!(near(one.satin.pull.left, 0.20) && near(one.satin.push, 0.4) && near(one.knock_out.overlap, 1.0));
    assert_eq!(one.satin.underlay.at(1.2), [UnderlayLayer::CentreRun]);
    assert_eq!(one.satin.underlay.at(3.0), [UnderlayLayer::EdgeRun]);
    assert_eq!(one.satin.underlay.at(5.0), [UnderlayLayer::EdgeRun, UnderlayLayer::Zigzag]);
    assert_eq!(one.fill.underlay, [UnderlayLayer::EdgeRun, UnderlayLayer::Rows]);
    assert_eq!(one.thread.color, SHAPES[0].color);
    assert!(one.border.is_none() && one.knock_out.on);
    assert_eq!(Recipe::default().settle(&SHAPES).unwrap().value, all);
}

#[test]
fn the_smallest_forms_work() {
    let text = r#"
        [design]
        width = 80.0                 # mm
        hoop = [100.0, 100.0]        # mm
        material = "woven-cotton"

        [[rule]]                     # no match: every shape
        method = "fill"              # run | satin | fill | skip
        spacing = 0.22               # mm between neighbouring threads

        [[rule]]                     # later rules win, key by key
        match = "sunflower/petal-*"
        method = "satin"
        pull_compensation = 0.25     # mm at each end
    "#;
    let parsed = recipe(text);
    assert_eq!(parsed.design.width, Some(80.0));
    assert_eq!(parsed.design.hoop, Some(Hoop::Rectangle { width: 100.0, height: 100.0 }));
    let all = settled(text);
    assert_eq!(all[0].method, MethodChoice::Satin);
    assert_eq!(all[3].method, MethodChoice::Fill);
    assert!(
        near(all[1].satin.pull.left, 0.25) && near(all[1].satin.spacing, 0.22) && near(all[3].satin.pull.left, 0.2)
    );
}

#[test]
fn material_defaults_and_rules_lie_over_each_other_key_by_key() {
    let all = settled(
        r##"
        design.material = "jersey"
        [defaults]
        stitch_length = 3.2
        [[rule]]
        color = "#6b4a2b"
        material = "canvas"
        [[rule]]
        match = ["trowel/*", "sunflower/petal-2"]
        stitch_length = 2.8
        "##,
    );
    assert!(near(all[0].fill.pull.left, 0.35) && near(all[0].fill.spacing, 0.22 * 1.05));
    assert!(near(all[0].fill.stitch_length, 3.2) && near(all[1].fill.stitch_length, 2.8));
    assert_eq!(all[3].material, "canvas");
    assert!(
        near(all[3].fill.pull.left, 0.15) && near(all[3].fill.spacing, 0.22) && near(all[3].fill.stitch_length, 2.8)
    );
}

#[test]
fn paint_tells_strokes_from_outlines() {
    let all = settled("[[rule]]\npaint = 'stroke'\nmethod = 'run'\n[[rule]]\npaint = 'fill'\nmethod = 'fill'");
    assert_eq!(all[2].method, MethodChoice::Run);
    assert_eq!(all[3].method, MethodChoice::Fill);
}

#[test]
fn a_rule_that_picks_nothing_is_told_with_the_nearest_name() {
    let (_, warnings) = settle("[[rule]]\nmatch = 'sunflower/petals-*'\nmethod = 'satin'\n");
    let told = "patch.toml:1: the rule picks no shape; the nearest name is \"sunflower/petal-1\"";
    assert_eq!(warnings, [told]);
}

#[test]
fn a_border_changes_key_by_key_and_can_be_taken_away() {
    let all = settled(
        r##"
        [[thread]]
        color = "#224411"
        name = "Moss"
        [[rule]]
        border = { width = 2.5, join = "mitre", thread = "Moss" }
        [[rule]]
        match = "trowel/*"
        border = { side = "in", only = true }
        [[rule]]
        match = "*/stalk"
        border.on = false
        "##,
    );
    let blade = all[3].border.as_ref().unwrap();
    assert!(near(blade.width, 2.5) && near(blade.overlap, 0.8) && blade.only);
    assert_eq!((blade.side, blade.join), (Side::In, BorderJoin::Mitre));
    assert_eq!(blade.thread.as_ref().unwrap().name.as_deref(), Some("Moss"));
    assert!(!all[0].border.as_ref().unwrap().only);
    assert!(all[2].border.is_none());
}

#[test]
fn threads_are_found_by_drawing_colour_by_name_and_by_colour() {
    let all = settled(
        r##"
        [[thread]]
        color = "#dd9922"
        name = "Marigold"
        tex = 30
        for = ["#e0a21b"]
        [[thread]]
        color = "#2e7d32"
        name = "Bean pod"
        [[rule]]
        match = "sunflower/petal-2"
        thread = "Bean pod"
        [[rule]]
        match = "trowel/*"
        thread = "#112233"
        "##,
    );
    assert_eq!((all[0].thread.listed, all[0].thread.name.as_deref()), (Some(0), Some("Marigold")));
    assert!(near(all[0].thread.tex, 30.0) && near(all[0].fill.spacing, 0.22 * (30.0f64 / 27.0).sqrt()));
    assert_eq!(all[1].thread.listed, Some(1));
    assert_eq!((all[2].thread.listed, all[2].thread.tex.round() as i64), (Some(1), 27));
    assert_eq!((all[3].thread.listed, all[3].thread.color), (None, Color::new(0x11, 0x22, 0x33)));
}

#[test]
fn lines_that_lead_others_are_not_sewn_themselves() {
    let all = settled("[[rule]]\nmatch='trowel/*'\nflow='guided'\nguides='*/stalk'\nmethod='fill'");
    assert_eq!(all[3].fill.guides.as_ref(), [2]);
    assert_eq!((all[3].fill.flow, all[2].method), (Flow::Guided, MethodChoice::Skip));
    let all = settled("[[rule]]\ncrossings='*/stalk'\n[[rule]]\nmatch='*/stalk'\nmethod='run'");
    assert_eq!((all[0].satin.crossings.as_ref(), all[2].method), ([2].as_slice(), MethodChoice::Run));
}

#[test]
fn fill_keys_are_read() {
    let all = settled(
        "[[rule]]\nangle = 30\nshifts = [0, 0.5]\ncentre = [1, -2.5]\nspacing_to = 0.5\nunderlay = ['rows', 'edge-run']\n\
         seed = 7\nopen = true\nstart = [0, 0]\npull_compensation = [0.1, 0.3]\n",
    );
    let fill = &all[0].fill;
    assert_eq!((fill.angle, fill.seed, fill.open), (Some(30.0), 7, true));
    assert_eq!(fill.shifts, Shifts::Cycle(vec![0.0, 0.5]));
    assert_eq!(fill.centre.map(|c| (c.x, c.y)), Some((1.0, -2.5)));
    assert_eq!(fill.gradient.map(|g| (g.spacing_to, g.angle)), Some((0.5, None)));
    assert_eq!(fill.underlay, [UnderlayLayer::Rows, UnderlayLayer::EdgeRun]);
    assert_eq!(all[0].satin.underlay.at(0.5), fill.underlay);
    assert!(near(fill.pull.mean(10.0), 0.2));
}

#[test]
fn the_order_names_shapes_by_number() {
    let text =
        "[order]\nkeep = 'drawing'\nbefore = [['trowel/*', 'sunflower/*']]\naround = ['*/petal-*']\nlast = 'stlk'";
    let pins = recipe(text).pins(&SHAPES);
    assert_eq!(pins.value.before, [(vec![3], vec![0, 1, 2])]);
    assert_eq!(pins.value.around, [[0, 1]]);
    assert_eq!(pins.value.last, [0usize; 0]);
    let told: Vec<_> = pins.warnings.iter().map(|warning| warning.to_string()).collect();
    assert_eq!(told, ["patch.toml:5: \"stlk\" picks no shape; name a shape of the drawing, or take it out"]);
}
