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
    assert!(near(one.satin.spacing, 0.17) && near(one.satin.min_width, 1.0) && near(one.satin.max_width, 7.0));
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
         open = true\nstart = [0, 0]\npull_compensation = [0.1, 0.3]\n",
    );
    let fill = &all[0].fill;
    assert_eq!((fill.angle, fill.open), (Some(30.0), true));
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
    assert_eq!(told, ["patch.toml:5: \"stlk\" picks no shape; the nearest name is \"sunflower/stalk\""]);
}

#[test]
fn guides_alone_make_a_fill_guided_and_a_centre_alone_radial() {
    let all =
        settled("[[rule]]\nmatch = 'trowel/*'\nguides = '*/stalk'\n[[rule]]\nmatch = '*/petal-1'\ncentre = [0, 1]");
    assert_eq!((all[3].fill.flow, all[0].fill.flow, all[1].fill.flow), (Flow::Guided, Flow::Radial, Flow::Straight));
    let (all, warnings) = settle("[[rule]]\nguides = '*/petal-1'\nflow = 'guided'");
    assert_eq!(all[3].fill.flow, Flow::Straight);
    let told = [
        "patch.toml:2: \"*/petal-1\" is a filled outline and cannot lead threads; draw the lines that lead them as strokes",
        "patch.toml:3: guided rows have no guides; name the strokes that lead them in `guides`; they are sewn straight meanwhile",
        "patch.toml:2: `guides` changes nothing for the shapes this rule picks; only fills with `flow = \"guided\"` look at it",
    ];
    assert_eq!(warnings, told);
}

#[test]
fn a_key_no_method_looks_at_is_told_of() {
    let text = "[[rule]]\nmatch = 'trowel/*'\nmethod = 'satin'\nangle = 30\nseed = 3\nspacing = 0.3";
    let (_, warnings) = settle(text);
    let told = [
        "patch.toml:4: `angle` changes nothing for the shapes this rule picks; only fills with `flow = \"straight\"` look at it",
        "patch.toml:5: `seed` changes nothing for the shapes this rule picks; only fills with `shifts = \"irregular\"` look at it",
    ];
    assert_eq!(warnings, told);
}

#[test]
fn a_satin_edge_under_a_border_is_told_of() {
    let (_, warnings) = settle("[[rule]]\nmatch = 'trowel/*'\nmethod = 'fill'\nedge = 'satin'\nborder = { width = 2 }");
    let told = "patch.toml:4: `edge` changes nothing for the shapes this rule picks; only fills without a `border`, which replaces the satin edge, look at it";
    assert_eq!(warnings, [told]);
    settled("[[rule]]\nmatch = 'trowel/*'\nmethod = 'fill'\nedge = 'run'\nborder = { width = 2 }");
}

#[test]
fn a_key_that_one_of_many_shapes_looks_at_is_not_told_of() {
    settled("[[rule]]\nangle = 30\nmax_width = 5\nrun = 'triple'\n[[rule]]\npaint = 'stroke'\nmethod = 'run'");
    settled("[[rule]]\nmatch = 'trowel/*'\nmethod = 'fill'\nborder = { width = 2 }\nmax_width = 5");
    settled("[[rule]]\nmatch = 'trowel/*'\nmethod = 'skip'\nspacing = 0.3");
}

#[test]
fn the_widths_that_auto_chooses_by_are_not_idle() {
    let recipe = recipe("[[rule]]\nmatch = 'trowel/*'\nmin_width = 2.5\nmax_width = 5");
    let settled = recipe.settle(&SHAPES).unwrap().value;
    assert_eq!(recipe.idle_once_sewn(&SHAPES, &settled, &[(2, MethodChoice::Run), (3, MethodChoice::Fill)]), []);
}

#[test]
fn once_sewn_it_shows_which_keys_of_auto_shapes_change_nothing() {
    let recipe =
        recipe("[[rule]]\nmatch = 'trowel/*'\nangle = 30\n[[rule]]\nmatch = '*/stalk'\nmethod = 'run'\nmax_width = 3");
    let settled = recipe.settle(&SHAPES).unwrap();
    assert_eq!(settled.warnings.len(), 1);
    let mut sewn = vec![(2, MethodChoice::Run), (3, MethodChoice::Satin), (3, MethodChoice::Fill)];
    assert_eq!(recipe.idle_once_sewn(&SHAPES, &settled.value, &sewn), []);
    sewn.pop();
    let told = recipe.idle_once_sewn(&SHAPES, &settled.value, &sewn);
    assert_eq!(told.len(), 1);
    assert_eq!(told[0].place.as_deref(), Some("patch.toml:3"));
}

#[test]
fn a_rule_that_a_later_more_general_one_overrules_is_told_of() {
    let general = "[[rule]]\nmethod = 'fill'\nspacing = 0.25\n";
    let special = "[[rule]]\nmatch = 'trowel/*'\nmethod = 'satin'\n";
    settled(&format!("{general}{special}"));
    let (_, warnings) = settle(&format!("{special}{general}"));
    let told = "patch.toml:1: the rule changes nothing: the one in line 4 overrules all of it; later rules win, so put the more general rule first";
    assert_eq!(warnings, [told]);
    // Two for every shape: the earlier one is overruled altogether.
    let (_, warnings) = settle("[[rule]]\nspacing = 0.5\n[[rule]]\nspacing = 0.3\n");
    assert_eq!(warnings.len(), 1);
    assert!(warnings[0].starts_with("patch.toml:1: the rule changes nothing: the one in line 3"), "{warnings:?}");
    settled("[[rule]]\nspacing = 0.5\n[[rule]]\nmatch = \"*\"\nspacing = 0.3\n");
    // It says the same, or not about all of the shapes.
    settled("[[rule]]\nmatch = 'trowel/*'\nmethod = 'fill'\n[[rule]]\nmethod = 'fill'");
    settled("[[rule]]\nmatch = '*/petal-*'\nmethod = 'satin'\n[[rule]]\nmatch = '*/petal-1'\nmethod = 'fill'");
}

#[test]
fn a_limit_of_mitres_that_no_border_has_is_told_of() {
    let (_, warnings) = settle("[[rule]]\nborder = { mitre_limit = 3.0 }\n");
    let told = "patch.toml:2: `mitre_limit` changes nothing for the borders this rule gives; only borders with `join = \"mitre\"` look at it";
    assert_eq!(warnings, [told]);
    settled("[[rule]]\nborder = { mitre_limit = 3.0 }\n[[rule]]\nmatch = 'trowel/*'\nborder = { join = 'mitre' }\n");
}

#[test]
fn colours_nothing_has_are_told_of_with_the_nearest() {
    let (_, warnings) =
        settle("[[rule]]\ncolor = '#6b4a2c'\nmethod = 'fill'\n[[thread]]\ncolor = '#ffffff'\nfor = '#2e7d33'");
    let told = [
        "patch.toml:1: the rule picks no shape; the nearest colour of the drawing is #6b4a2b",
        "patch.toml:4: no shape has the colour #2e7d33 this thread is for; the nearest colour of the drawing is #2e7d32",
    ];
    assert_eq!(warnings, told);
}

#[test]
fn a_rule_without_keys_is_told_of() {
    let parsed = parse("[[rule]]\nmatch = 'trowel/*'\n", "patch.toml").unwrap();
    let told: Vec<_> = parsed.warnings.iter().map(|warning| warning.to_string()).collect();
    assert_eq!(told, ["patch.toml:1: the rule says nothing about the shapes it picks; give it a key, as `method`"]);
}

#[test]
fn keys_that_contradict_each_other_are_refused_once_laid_over_each_other() {
    let text = "[[rule]]\nmatch = 'trowel/*'\nshortest_stitch = 1.5\n[[rule]]\nmethod = 'run'\nstitch_length = 1.2\n";
    let wrong = recipe(text).settle(&SHAPES).unwrap_err();
    let told = "patch.toml:6:17: `shortest_stitch` is 1.5 and `stitch_length` is 1.2 for the same shapes; make `shortest_stitch` at most `stitch_length`";
    assert_eq!(wrong.to_string(), told);
}

#[test]
fn a_default_yields_to_what_was_written() {
    let all = settled("[[rule]]\nstitch_length = 0.6\n[checks]\ntoo_dense_thread = 5");
    assert!(near(all[0].fill.shortest_stitch, 0.6) && near(all[0].run.curve_stitch_length, 0.6));
    let checks = recipe("checks.too_dense_thread = 5").checks;
    assert!(near(checks.dense_thread, 5.0) && near(checks.too_dense_thread, 5.0) && near(checks.too_dense_needle, 6.0));
    let all = settled("[[rule]]\npull_compensation = 1.5");
    assert!(near(all[0].satin.pull.at(10.0).0, 1.5));
}

#[test]
fn pull_grows_with_the_length_up_to_its_limit() {
    let pull = settled("[[rule]]\npull_compensation = [0.1, 0.3]\npull_percent = 10\npull_limit = 0.5")[0].satin.pull;
    let (left, right) = pull.at(4.0);
    assert!(near(left, 0.3) && near(right, 0.5));
}

#[test]
fn a_row_of_the_recipe_lies_over_the_built_in_one_and_over_what_it_is_based_on() {
    let text = "design.material = 'apron'\n[material.apron]\nbased_on = 'canvas'\nfill_stitch_length = 3.1\n\
                [material.canvas]\npull_compensation = 0.17\n";
    let all = settled(text);
    assert_eq!(all[0].material, "apron");
    assert!(near(all[0].fill.stitch_length, 3.1) && near(all[0].fill.pull.left, 0.17));
    assert!(near(all[0].satin.max_width, 7.0));
    let recipe = recipe(text);
    let used = recipe.materials_used(&all);
    assert_eq!(used.len(), 1);
    assert_eq!(used[0].needle, "90/14 sharp or jeans needle");
}

#[test]
fn a_material_set_from_outside_has_to_be_there() {
    let mut recipe = recipe("");
    recipe.design.material = "fleec".to_owned();
    let wrong = recipe.settle(&SHAPES).unwrap_err();
    assert_eq!(wrong.errors[0].advice, "did you mean \"fleece\"?");
}

#[test]
fn thousands_of_rules_and_shapes_are_settled_quickly() {
    let names: Vec<String> = (0..3000).map(|i| format!("meadow/leaf-{i}")).collect();
    let shapes: Vec<_> = names.iter().map(|name| ShapeFacts { name, color: GREEN, stroke: false }).collect();
    let rules: String =
        (0..3000).map(|i| format!("[[rule]]\nmatch = 'meadow/leaf-{i}'\nangle = {}\n", i % 180)).collect();
    let start = std::time::Instant::now();
    let settled = recipe(&format!("[[rule]]\nmethod = 'fill'\n{rules}")).settle(&shapes).unwrap();
    assert_eq!(settled.warnings, []);
    assert_eq!(settled.value[2999].fill.angle, Some(f64::from(2999 % 180)));
    assert!(start.elapsed().as_secs() < 20, "{:?}", start.elapsed());
}

#[test]
fn a_colourway_swaps_threads_and_fabric() {
    let recipe = recipe(
        r##"
        [design]
        fabric = "#efe6d0"
        [[thread]]
        name = "Snowdrop"
        color = "#f8f8f2"
        tex = 40
        [[rule]]
        match = "trowel/*"
        border = { width = 2.0, thread = "#010203" }
        [[colourway]]
        name = "Navy"
        fabric = "#203050"
        [[colourway.swap]]
        color = "#e0a21b"
        thread = "#ffd040"
        [[colourway.swap]]
        match = "*/petal-2"
        thread = "Snowdrop"
        [[colourway.swap]]
        match = "*"
        border = "#aabbcc"
        [[colourway]]
        name = "Oatmeal"
        "##,
    );
    assert_eq!(recipe.colourway_named("NAVY"), Ok(0));
    assert_eq!(recipe.colourway_named("Nawy"), Err("did you mean \"Navy\"?".to_owned()));
    let navy = recipe.in_colourway(0).unwrap();
    assert_eq!(navy.design.fabric, Some(Color::new(0x20, 0x30, 0x50)));
    let settled = navy.settle(&SHAPES).unwrap();
    assert_eq!(settled.warnings, []);
    let threads: Vec<String> = settled.value.iter().map(|one| one.thread.color.to_string()).collect();
    assert_eq!(threads, ["#ffd040", "#f8f8f2", "#2e7d32", "#6b4a2b"]);
    // A thread of another weight sets its own spacing.
    assert!(settled.value[1].fill.spacing > settled.value[0].fill.spacing);
    // Only what has a border gets another one.
    let borders: Vec<_> = settled.value.iter().map(|one| one.border.as_ref()).collect();
    assert!(borders[..3].iter().all(Option::is_none));
    let border = borders[3].unwrap();
    assert_eq!(border.thread.as_ref().map(|thread| thread.color), Some(Color::new(0xaa, 0xbb, 0xcc)));
    assert!(near(border.width, 2.0));
    // A colourway that swaps nothing is the design itself.
    let oatmeal = recipe.in_colourway(1).unwrap();
    assert_eq!(oatmeal.design.fabric, recipe.design.fabric);
    assert_eq!(oatmeal.settle(&SHAPES).unwrap().value, recipe.settle(&SHAPES).unwrap().value);
    assert!(recipe.in_colourway(2).is_none());
}

#[test]
fn a_swap_that_picks_nothing_is_told_of() {
    let recipe =
        recipe("[[colourway]]\nname = \"Navy\"\n[[colourway.swap]]\nmatch = \"petle\"\nthread = \"#ffffff\"\n");
    assert_eq!(recipe.settle(&SHAPES).unwrap().warnings, []);
    let told = recipe.in_colourway(0).unwrap().settle(&SHAPES).unwrap().warnings;
    assert_eq!(told.len(), 1);
    assert!(told[0].to_string().starts_with("patch.toml:3: the swap picks no shape; "), "{}", told[0]);
}

#[test]
fn the_limit_of_a_material_holds_for_its_own_compensation_alone() {
    let limited = "[material.lace]\npull_compensation = 0.5\npull_limit = 0.05\n[design]\nmaterial = \"lace\"\n";
    let limit = |rule: &str| settled(&format!("{limited}{rule}"))[0].satin.pull.limit;
    assert!(near(limit(""), 0.05));
    assert!(near(limit("[[rule]]\npull_compensation = 0.4\n"), 0.4));
    assert!(near(limit("[[rule]]\npull_compensation = 0.4\npull_limit = 0.3\n"), 0.3));
}
