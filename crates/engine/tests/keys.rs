//! Keys of a recipe and what follows from them.

use laidwork_engine::{Recipe, Sewn, pace, sew};
use laidwork_plan::{Method, PassKind};

/// A square with a bar over it and a square beside it, in three colours.
const SVG: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="30mm" viewBox="0 0 60 30">
    <rect id="below" x="1" y="1" width="28" height="28" fill="#335577"/>
    <rect id="bar" x="5" y="13" width="20" height="2.8" fill="#ddaa33"/>
    <rect id="beside" x="40" y="5" width="12" height="12" fill="#aa3344"/>
</svg>"##;

fn sewn(recipe: &str) -> (Sewn, Recipe) {
    let drawing = laidwork_drawing::read(SVG.as_bytes(), &laidwork_drawing::Options::default()).unwrap().value;
    let recipe = laidwork_recipe::parse(recipe, "recipe.toml").unwrap().value;
    (sew(&drawing, &recipe).unwrap().value, recipe)
}

fn names(sewn: &Sewn) -> Vec<&str> {
    sewn.plan.pieces.iter().map(|piece| piece.name.as_str()).collect()
}

/// Thread of the top passes of a piece, mm.
fn top(sewn: &Sewn, name: &str) -> f64 {
    let pieces = sewn.plan.pieces.iter().filter(|piece| piece.name == name);
    let passes = pieces.flat_map(|piece| &piece.passes).filter(|pass| pass.kind == PassKind::Top);
    passes.flat_map(|pass| pass.points.windows(2).map(|pair| pair[0].distance(pair[1]))).sum()
}

#[test]
fn a_shape_that_becomes_a_run_cuts_nothing() {
    let whole = top(&sewn("[[rule]]\nknock_out = false\n").0, "below");
    let narrow = "[[rule]]\noverlap = 0.0\n\n[[rule]]\nmatch = \"bar\"\nmin_width = 3.0\n";
    assert!((top(&sewn(narrow).0, "below") - whole).abs() < 0.02 * whole);
    assert!(top(&sewn("[[rule]]\noverlap = 0.0\n").0, "below") < 0.95 * whole);
}

#[test]
fn only_fills_get_an_edge_of_satin() {
    let edged = |method| {
        let (sewn, _) = sewn(&format!("[[rule]]\nmethod = \"{method}\"\nedge = \"satin\"\n"));
        names(&sewn).iter().filter(|name| name.ends_with("/border")).count()
    };
    assert_eq!([edged("fill"), edged("auto"), edged("satin"), edged("run")], [3, 2, 0, 0]);
}

#[test]
fn changes_take_time_while_there_are_fewer_needles_than_threads() {
    for (needles, change) in [(1, 75.0), (2, 75.0), (3, 0.0), (8, 0.0)] {
        let (sewn, recipe) = sewn(&format!("[sewing]\nneedles = {needles}\n"));
        assert_eq!(sewn.plan.threads.len(), 3);
        let pace = pace(&recipe, sewn.plan.threads.len());
        assert!((pace.change - change).abs() < 1e-9, "{needles}");
        let hands = 2.0 * f64::from(change > 0.0) * (75.0 - 8.0);
        let base = sewn.order.seconds - hands;
        let (free, _) = self::sewn("[sewing]\nneedles = 3\n");
        assert!((base - free.order.seconds).abs() < 1e-6, "{needles}");
    }
}

#[test]
fn threads_of_one_look_and_two_thicknesses_stay_two() {
    let (sewn, _) = sewn(
        "[[thread]]\ncolor = \"#222222\"\nname = \"fine\"\ntex = 20\n\n[[thread]]\ncolor = \"#222222\"\nname = \"thick\"\ntex = 40\n\n\
         [[rule]]\nthread = \"fine\"\n[[rule]]\nmatch = \"beside\"\nthread = \"thick\"\n",
    );
    let mut tex = sewn.tex.clone();
    tex.sort_by(f64::total_cmp);
    assert_eq!((sewn.plan.threads.len(), tex), (2, vec![20.0, 40.0]));
}

#[test]
fn every_piece_has_a_name_of_its_own() {
    let svg = r##"<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="30mm" viewBox="0 0 60 30">
        <path id="a" d="M1 1H9V9H1ZM21 1H29V9H21Z"/><rect id="a.2" x="40" y="1" width="8" height="8"/>
        <g id="b"><rect id="border" x="1" y="15" width="8" height="8"/></g></svg>"##;
    let drawing = laidwork_drawing::read(svg.as_bytes(), &laidwork_drawing::Options::default()).unwrap().value;
    let recipe = laidwork_recipe::parse("[[rule]]\nborder = { width = 2.0 }\n", "recipe.toml").unwrap().value;
    let plan = sew(&drawing, &recipe).unwrap().value.plan;
    let names: std::collections::BTreeSet<&str> = plan.pieces.iter().map(|piece| piece.name.as_str()).collect();
    assert_eq!(names.len(), plan.pieces.len(), "{names:?}");
    assert!(plan.pieces.len() >= 8);
}

#[test]
fn layers_of_underlay_that_nobody_has_are_told() {
    let drawing = laidwork_drawing::read(SVG.as_bytes(), &laidwork_drawing::Options::default()).unwrap().value;
    let told = |recipe: &str| {
        let recipe = laidwork_recipe::parse(recipe, "recipe.toml").unwrap().value;
        sew(&drawing, &recipe).unwrap().warnings.iter().filter(|w| w.to_string().contains("`zigzag`")).count()
    };
    assert_eq!(told("[[rule]]\nmatch = \"beside\"\nmethod = \"fill\"\nunderlay = [\"edge-run\", \"zigzag\"]\n"), 1);
    assert_eq!(told("[[rule]]\nmatch = \"bar\"\nmethod = \"satin\"\nunderlay = [\"edge-run\", \"zigzag\"]\n"), 0);
}

#[test]
fn what_a_later_shape_leaves_of_a_body_is_no_limb() {
    let muzzle = r##"<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">
        <ellipse id="muzzle" cx="30" cy="30" rx="14" ry="22" fill="#eeddaa"/>
        <circle id="nose" cx="30" cy="22" r="12" fill="#222222"/>
    </svg>"##;
    let drawing = laidwork_drawing::read(muzzle.as_bytes(), &laidwork_drawing::Options::default()).unwrap().value;
    let sewn = sew(&drawing, &laidwork_recipe::parse("", "recipe.toml").unwrap().value).unwrap().value;
    let muzzle = sewn.plan.pieces.iter().find(|piece| piece.name == "muzzle").unwrap();
    assert_eq!(muzzle.method, laidwork_plan::Method::Fill);
}

/// A pan and a balloon on a string, each one outline: a wide body and a narrow limb.
const BODIES: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="60mm" viewBox="0 0 120 60">
    <path id="pan" d="M5 10 H35 V23 H70 V27 H35 V40 H5 Z" fill="#335577"/>
    <path id="balloon" d="M100 2 a14 14 0 0 1 1 28 l-0.3 28 h-1.4 l-0.3 -28 a14 14 0 0 1 1 -28 Z" fill="#aa3344"/>
</svg>"##;

#[test]
fn a_body_is_filled_and_its_limbs_are_columns() {
    let drawing = laidwork_drawing::read(BODIES.as_bytes(), &laidwork_drawing::Options::default()).unwrap().value;
    let sewn = sew(&drawing, &laidwork_recipe::parse("", "recipe.toml").unwrap().value).unwrap();
    assert_eq!(names(&sewn.value), ["pan", "balloon"]);
    for (piece, shape) in sewn.value.plan.pieces.iter().zip(&drawing.shapes) {
        assert!(piece.passes.iter().skip(1).all(|pass| pass.jumps.is_empty()), "{} is one chain", piece.name);
        // Threads of the limb lie across it: from one of its sides to the other.
        let bounds = shape.region.bounds().unwrap();
        let is_limb = |p: &laidwork_plan::Point| if piece.name == "pan" { p.x > -15.0 } else { p.y > 8.0 };
        let top = piece.passes.iter().filter(|pass| pass.kind == PassKind::Top);
        let pairs: Vec<_> =
            top.flat_map(|pass| pass.points.windows(2)).filter(|p| is_limb(&p[0]) && is_limb(&p[1])).collect();
        let across = |p: &[laidwork_plan::Point]| {
            let (x, y) = ((p[1].x - p[0].x).abs(), (p[1].y - p[0].y).abs());
            if piece.name == "pan" { y > x } else { x > y }
        };
        let share = pairs.iter().filter(|pair| across(pair)).count() as f64 / pairs.len().max(1) as f64;
        assert!(
            pairs.len() > 60 && share > 0.95,
            "{}: {} stitches in {bounds:?}, {share} across",
            piece.name,
            pairs.len()
        );
    }
}

#[test]
fn a_border_of_a_thin_stroke_does_not_pile_up() {
    let svg = r##"<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
        <path id="vine" d="M8 30 C20 0 40 40 52 10" stroke="#335577" stroke-width="1" fill="none"/></svg>"##;
    let drawing = laidwork_drawing::read(svg.as_bytes(), &laidwork_drawing::Options::default()).unwrap().value;
    let recipe = "[[rule]]\nborder = { width = 3.0, only = true }\n";
    let sewn = sew(&drawing, &laidwork_recipe::parse(recipe, "recipe.toml").unwrap().value).unwrap().value;
    let length: f64 = top(&sewn, "vine/border");
    // A band 4 mm wide and about 70 mm long, its threads 0.17 mm apart and lengthened by 0.2 at each end.
    assert!(length > 1200.0 && length < 2400.0, "{length}");
}

#[test]
fn what_a_later_shape_leaves_of_a_wide_one_is_filled() {
    let ring = |drawn: &str| {
        let svg = format!(
            r##"<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">{drawn}</svg>"##
        );
        let drawing = laidwork_drawing::read(svg.as_bytes(), &laidwork_drawing::Options::default()).unwrap().value;
        let sewn = sew(&drawing, &Recipe::default()).unwrap().value;
        let piece = sewn.plan.pieces.iter().find(|piece| piece.name == "disc").unwrap();
        piece.method
    };
    let disc = |r: f64, hidden: f64| {
        ring(&format!(
            r##"<circle id="disc" cx="20" cy="20" r="{r}" fill="#335577"/>
            <circle id="middle" cx="20" cy="20" r="{hidden}" fill="#ddaa33"/>"##
        ))
    };
    // A band of 1.0 mm lies under the middle.
    assert_eq!(disc(9.0, 5.0), Method::Fill, "rows thin out under the middle");
    assert_eq!(disc(9.0, 8.5), Method::Satin, "no room for rows");
    let drawn = r##"<path id="disc" fill="none" stroke="#335577" stroke-width="5" d="M8 20 a12 12 0 1 0 24 0"/>"##;
    assert_eq!(ring(drawn), Method::Satin, "drawn as narrow as that");
}

#[test]
fn the_points_of_a_star_have_borders_alike() {
    let corner = |i: i32| {
        let (radius, turn) = (if i % 2 == 0 { 18.0 } else { 7.0 }, f64::from(i) * std::f64::consts::TAU / 10.0);
        format!("{} {}", 25.0 + radius * turn.sin(), 25.0 - radius * turn.cos())
    };
    let corners: Vec<String> = (0..10).map(corner).collect();
    let svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="50mm" viewBox="0 0 50 50">
        <polygon id="star" points="{}" fill="red"/></svg>"#,
        corners.join(" ")
    );
    let drawing = laidwork_drawing::read(svg.as_bytes(), &laidwork_drawing::Options::default()).unwrap().value;
    for join in ["round", "mitre", "bevel"] {
        let recipe = format!("[[rule]]\nborder = {{ width = 3.0, only = true, join = \"{join}\" }}\n");
        let sewn = sew(&drawing, &laidwork_recipe::parse(&recipe, "recipe.toml").unwrap().value).unwrap().value;
        let points: Vec<_> = sewn.plan.pieces[0].passes.iter().flat_map(|pass| pass.points.iter().copied()).collect();
        let about = |tip: i32| {
            let place: Vec<f64> = corners[tip as usize].split(' ').map(|v| v.parse().unwrap()).collect();
            let tip = laidwork_plan::Point::new(place[0] - 25.0, place[1] - 25.0);
            points.iter().filter(|point| point.distance(tip) < 6.0).count() as f64
        };
        let counts: Vec<f64> = (0..5).map(|i| about(2 * i)).collect();
        let (least, most) = counts.iter().fold((f64::MAX, 0.0), |(low, high), &n| (n.min(low), n.max(high)));
        // One of them holds the beginning and the end.
        assert!(most <= 1.35 * least, "{join}: {counts:?}");
    }
}
