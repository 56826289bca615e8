//! What a material changes against the usual one, in words for the report.

use crate::materials::{Material, Materials, USUAL};
use crate::settings::UnderlayLayer;
use crate::table::LAYERS;

impl UnderlayLayer {
    /// The word for it in recipes and reports.
    pub fn word(self) -> &'static str {
        LAYERS.get(self as usize).copied().unwrap_or_default()
    }
}

/// What `material` changes against woven cotton, a line for each figure that
/// differs: `pull compensation 0.35 mm at each end (woven-cotton: 0.2 mm)`. Then
/// what to put behind and over the fabric, which needle to take and how fast to sew.
pub fn effects(material: &Material) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(usual) = Materials::built_in().get(USUAL) {
        numbers(material, &usual, &mut lines);
        underlays(material, &usual, &mut lines);
    }
    if lines.is_empty() {
        lines.push("the usual figures".to_owned());
    }
    let advice = [
        ("backing", &material.backing),
        ("topping", &material.topping),
        ("needle", &material.needle),
        ("speed", &material.speed),
    ];
    lines.extend(advice.iter().filter(|(_, text)| !text.is_empty()).map(|(name, text)| format!("{name}: {text}")));
    lines
}

fn numbers(material: &Material, usual: &Material, lines: &mut Vec<String>) {
    type Figure = (&'static str, &'static str, fn(&Material) -> f64);
    const FIGURES: [Figure; 17] = [
        ("default spacing times", "", |m| m.spacing_factor),
        ("pull compensation", " mm at each end", |m| m.pull_compensation),
        ("pull compensation besides", " % of the thread's length", |m| m.pull_percent),
        ("pull compensation at most", " mm at each end", |m| m.pull_limit),
        ("push compensation", " mm at each end of a column", |m| m.push_compensation),
        ("stitches of runs", " mm", |m| m.run_stitch_length),
        ("stitches of runs in tight curves", " mm", |m| m.run_curve_stitch_length),
        ("stitches of fills", " mm", |m| m.fill_stitch_length),
        ("columns up to", " mm wide", |m| m.satin_max_width),
        ("narrow columns below", " mm", |m| m.satin_underlay_narrow_below),
        ("wide columns above", " mm", |m| m.satin_underlay_wide_above),
        ("underlay of columns inset", " mm", |m| m.satin_underlay_inset),
        ("zigzag under columns every", " mm", |m| m.satin_underlay_spacing),
        ("stitches under columns", " mm", |m| m.satin_underlay_stitch_length),
        ("underlay of fills inset", " mm", |m| m.fill_underlay_inset),
        ("open rows under fills every", " mm", |m| m.fill_underlay_spacing),
        ("stitches under fills", " mm", |m| m.fill_underlay_stitch_length),
    ];
    for (name, unit, figure) in FIGURES {
        let (here, there) = (figure(material), figure(usual));
        if here.total_cmp(&there).is_ne() {
            lines.push(format!("{name} {here}{unit} ({USUAL}: {there})"));
        }
    }
}

fn underlays(material: &Material, usual: &Material, lines: &mut Vec<String>) {
    type Layers = (&'static str, fn(&Material) -> &[UnderlayLayer]);
    const LAYERS: [Layers; 4] = [
        ("narrow columns", |m| &m.satin_underlay_narrow),
        ("columns between", |m| &m.satin_underlay_medium),
        ("wide columns", |m| &m.satin_underlay_wide),
        ("fills", |m| &m.fill_underlay),
    ];
    for (name, layers) in LAYERS {
        let (here, there) = (layers(material), layers(usual));
        if here != there {
            lines.push(format!("under {name}: {} ({USUAL}: {})", words(here), words(there)));
        }
    }
}

fn words(layers: &[UnderlayLayer]) -> String {
    if layers.is_empty() {
        return "nothing".to_owned();
    }
    layers.iter().map(|layer| layer.word()).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(name: &str) -> Vec<String> {
        effects(&Materials::built_in().get(name).unwrap())
    }

    #[test]
    fn the_usual_material_changes_nothing() {
        let lines = of(USUAL);
        assert_eq!(lines[0], "the usual figures");
        assert_eq!(lines[1], "backing: two layers of tear-away");
    }

    #[test]
    fn what_jersey_changes_is_told() {
        let lines = of("jersey");
        for line in [
            "default spacing times 1.05 (woven-cotton: 1)",
            "pull compensation 0.35 mm at each end (woven-cotton: 0.2)",
            "under fills: edge-run, crossing-rows (woven-cotton: edge-run, rows)",
        ] {
            assert!(lines.iter().any(|told| told == line), "{line} is not in {lines:#?}");
        }
    }

    #[test]
    fn layers_have_the_words_of_recipes() {
        assert_eq!(UnderlayLayer::CentreRun.word(), "centre-run");
        assert_eq!(UnderlayLayer::CrossingRows.word(), "crossing-rows");
    }
}
