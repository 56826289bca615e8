//! Text of all sizes, straight and on a path.

// What the tests of columns measure with.
#[allow(dead_code, reason = "the tests of columns ask for more figures")]
#[path = "../../satin/tests/common/figures.rs"]
mod figures;

use figures::{Figures, figures};
use laidwork_drawing::{Drawing, Fonts, Options};
use laidwork_engine::{Recipe, Sewn, sew};
use laidwork_plan::{Method, PassKind, Warned};

/// Capitals of the font of the fixtures are this share of its size high (its OS/2 table).
const CAPITALS: f64 = 0.623;

fn sewn(text: &str, recipe: &str) -> (Drawing, Warned<Sewn>) {
    let font = std::path::PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/fonts/Inconsolata.otf"));
    let fonts = Fonts::load(&[font]).unwrap().value;
    let svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="120mm" viewBox="0 0 400 120">{text}</svg>"#
    );
    let drawing = laidwork_drawing::read(svg.as_bytes(), &Options { fonts, ..Options::default() }).unwrap().value;
    let recipe: Recipe = laidwork_recipe::parse(recipe, "recipe.toml").unwrap().value;
    let sewn = sew(&drawing, &recipe).unwrap();
    (drawing, sewn)
}

/// A word with capitals `height` mm high.
fn word(height: f64) -> String {
    let size = height / CAPITALS;
    format!(r#"<text id="word" x="10" y="100" font-family="Inconsolata" font-size="{size}">ABe</text>"#)
}

/// The figures of each letter.
fn letters(drawing: &Drawing, sewn: &Sewn) -> Vec<Figures> {
    let shape = &drawing.shapes[0];
    let of_letter = |number: usize| {
        let name = if number == 0 { shape.name.clone() } else { format!("{}.{}", shape.name, number + 1) };
        let pieces: Vec<_> = sewn.plan.pieces.iter().filter(|piece| piece.name == name).collect();
        assert_eq!(pieces.len(), 1, "{name}");
        let passes: Vec<_> = pieces[0].passes.iter().filter(|pass| pass.kind != PassKind::Tie).cloned().collect();
        assert!(passes.iter().skip(1).all(|pass| pass.jumps.is_empty()), "{name} is one chain");
        figures(&shape.region.polygons[number], &passes)
    };
    (0..shape.region.polygons.len()).map(of_letter).collect()
}

#[test]
fn letters_of_all_sizes_are_covered_in_one_chain_each() {
    for (height, least) in [(5.0, 0.85), (10.0, 0.93), (20.0, 0.97), (40.0, 0.98), (60.0, 0.98)] {
        let (drawing, sewn) = sewn(&word(height), "[[rule]]\nmethod = \"satin\"\n");
        for figures in letters(&drawing, &sewn.value) {
            assert!(figures.coverage >= least, "{height} mm: {figures:?}");
            assert!(figures.crowd <= 14 && figures.longest <= 8.0, "{height} mm: {figures:?}");
            assert!(figures.overrun <= 0.005, "{height} mm: {figures:?}");
        }
    }
}

#[test]
fn small_letters_are_told_of_and_laid_more_openly() {
    let spacing = |height: f64, recipe: &str| sewn(&word(height), recipe).1.value.spacings[0].unwrap();
    let satin = "[[rule]]\nmethod = \"satin\"\n";
    assert!((spacing(5.0, satin) / spacing(20.0, satin) - 1.15).abs() < 1e-9);
    assert!((spacing(5.0, "[[rule]]\nmethod = \"satin\"\nspacing = 0.3\n") - 0.3).abs() < 1e-9);
    let told = |height: f64| {
        let warnings = sewn(&word(height), satin).1.warnings;
        warnings.iter().map(ToString::to_string).filter(|said| said.contains("capitals")).collect::<Vec<_>>().join("\n")
    };
    assert_eq!(told(10.0), "");
    assert!(told(5.0).contains("6 mm high") && told(5.0).starts_with("word"), "{}", told(5.0));
    assert!(told(3.0).contains("a run"), "{}", told(3.0));
}

#[test]
fn light_letters_are_runs_along_their_middle() {
    let (_, sewn) = sewn(&word(6.5), "[[rule]]\nmin_width = 1.4\nrun = \"triple\"\n");
    let piece = &sewn.value.plan.pieces[0];
    assert_eq!(piece.method, Method::Run);
    let top: f64 = piece
        .passes
        .iter()
        .filter(|pass| pass.kind == PassKind::Top)
        .flat_map(|pass| pass.points.windows(2).map(|pair| pair[0].distance(pair[1])))
        .sum();
    // An A of two legs 6.5 mm high and a bar, three times each.
    assert!(top > 3.0 * 14.0 && top < 3.0 * 24.0, "{top}");
}

#[test]
fn letters_on_a_path_are_columns() {
    let path = r##"<path id="arc" d="M20 100 A90 90 0 0 1 200 100" fill="none"/>
        <text id="word" font-family="Inconsolata" font-size="40"><textPath href="#arc">Kelp</textPath></text>"##;
    let (drawing, sewn) = sewn(path, "[[rule]]\nmethod = \"satin\"\n");
    assert_eq!(drawing.shapes[0].region.polygons.len(), 4);
    for figures in letters(&drawing, &sewn.value) {
        assert!(figures.coverage >= 0.97 && figures.crowd <= 12 && figures.longest <= 8.0, "{figures:?}");
    }
}

#[test]
fn letters_of_a_text_are_sewn_alike() {
    let mut methods = std::collections::BTreeSet::new();
    for step in 0..24 {
        let size = (6.0 + 0.5 * f64::from(step)) / CAPITALS;
        let text =
            format!(r#"<text id="word" x="10" y="100" font-family="Inconsolata" font-size="{size}">Maslexitr</text>"#);
        let (_, sewn) = sewn(&text, "");
        let letters: Vec<Method> = sewn.value.plan.pieces.iter().map(|piece| piece.method).collect();
        assert!(letters.len() >= 9 && letters.iter().all(|method| *method == letters[0]), "{size}: {letters:?}");
        methods.insert(format!("{:?}", letters[0]));
    }
    assert_eq!(methods.len(), 2, "runs where they are small, columns where they are large: {methods:?}");
}

#[test]
fn strokes_about_as_wide_as_the_narrowest_column_are_all_columns() {
    // Strokes of this font are 0.07 of its size wide, the narrowest column is 1 mm.
    for size in [14.0, 14.5, 15.0, 15.5] {
        let text =
            format!(r#"<text id="word" x="10" y="100" font-family="Inconsolata" font-size="{size}">Garden</text>"#);
        let (drawing, sewn) = sewn(&text, "");
        let areas = drawing.shapes[0].region.polygons.iter().map(|letter| letter.area());
        for (piece, area) in sewn.value.plan.pieces.iter().zip(areas) {
            let tops = piece.passes.iter().filter(|pass| pass.kind == PassKind::Top);
            let dense = tops.map(|pass| pass.points.len() as f64).sum::<f64>() / area;
            // A column has 1 / 0.17 threads on a mm of its length, a run one or two points.
            assert!(dense > 4.5, "{size}, {}: {dense} points on a mm²", piece.name);
        }
    }
}
