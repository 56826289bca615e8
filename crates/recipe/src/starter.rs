//! The recipe to start from: it names every shape of a drawing, says what would
//! become of it, and changes nothing until its `#` signs are taken away.

use crate::keys::{Key, Preset, find};
use crate::materials::{Materials, USUAL};
use crate::recipe::ShapeFacts;
use crate::settings::MethodChoice;
use crate::table::{self, STITCH};
use laidwork_plan::Color;
use std::collections::{BTreeMap, BTreeSet};

/// The drawing as a whole, for the head of the recipe.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StarterDesign<'a> {
    /// What the drawing is called.
    pub drawing: &'a str,
    /// The drawing's title, if it has one.
    pub title: Option<&'a str>,
    /// Its sewn width, mm.
    pub width: f64,
    /// Its sewn height, mm.
    pub height: f64,
}

/// A shape, as the starter recipe shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct StarterShape<'a> {
    /// What rules pick it by.
    pub facts: ShapeFacts<'a>,
    /// Its width as sewn, mm.
    pub width: f64,
    /// Its height as sewn, mm.
    pub height: f64,
    /// How it would be sewn without a recipe.
    pub suggested: MethodChoice,
}

/// Shapes that share a rule: one name, or names that differ in their last number.
struct Family<'a> {
    pattern: String,
    paint: Option<&'static str>,
    shapes: Vec<&'a StarterShape<'a>>,
}

/// A commented recipe that names every shape. It reads without warnings and
/// settles to what holds without a recipe.
pub fn starter(design: &StarterDesign<'_>, shapes: &[StarterShape<'_>]) -> String {
    let mut text = String::new();
    head(design, &mut text);
    threads(shapes, &mut text);
    defaults(&mut text);
    line(&mut text, "\n# The shapes, in the order they are drawn. `auto` follows the width of the shape; the");
    line(&mut text, "# method it comes to stands behind it.");
    for family in families(shapes) {
        rule(&family, &mut text);
    }
    text
}

/// Where comments behind a key begin.
const COMMENT: usize = 30;

fn line(text: &mut String, line: &str) {
    text.push_str(line);
    text.push('\n');
}

fn commented(text: &mut String, code: &str, comment: &str) {
    line(text, &format!("{code:<COMMENT$} # {comment}"));
}

fn head(design: &StarterDesign<'_>, text: &mut String) {
    let drawing = one_line(design.drawing);
    line(text, &format!("# How {drawing} is sewn. Take away a `#` to use a line; later rules win, key by key."));
    line(text, "# Lengths are in mm, angles in degrees clockwise, colours \"#rrggbb\".");
    line(text, "\n[design]");
    if let Some(title) = design.title.map(one_line).filter(|title| !title.is_empty()) {
        line(text, &format!("title = {}", quoted(&title)));
    }
    let width = (design.width * 100.0).round() / 100.0;
    let sign = if (1.0..=2000.0).contains(&width) { "" } else { "# " };
    commented(text, &format!("{sign}width = {width:?}"), &format!("mm; the height follows: {:.1}", design.height));
    commented(text, "# hoop = [100.0, 100.0]", "mm inside; or { round = 100.0 }");
    let materials = Materials::built_in();
    let material = find(table::DESIGN, "material").map(|key| key.preset.described()).unwrap_or_default();
    let names = materials.names().collect::<Vec<_>>().join(", ");
    commented(text, &format!("material = {material}"), &names);
    commented(text, "# fabric = \"#f4ead5\"", "colour of the fabric in pictures");
}

fn threads(shapes: &[StarterShape<'_>], text: &mut String) {
    let mut colors: Vec<(Color, Vec<&str>)> = Vec::new();
    let mut numbers: BTreeMap<Color, usize> = BTreeMap::new();
    for shape in shapes {
        let number = *numbers.entry(shape.facts.color).or_insert_with(|| {
            colors.push((shape.facts.color, Vec::new()));
            colors.len() - 1
        });
        if let Some((_, names)) = colors.get_mut(number) {
            names.push(shape.facts.name);
        }
    }
    line(text, "\n# The colours of the drawing. Where you have another thread for one, write its colour");
    line(text, "# and name here, and the drawing's colour in `for`.");
    for (color, names) in colors {
        let more = if names.len() > 1 { format!(" and {} more", names.len() - 1) } else { String::new() };
        let first = names.first().copied().map(one_line).unwrap_or_default();
        line(text, "# [[thread]]");
        commented(text, &format!("# color = \"{color}\""), "the thread");
        line(text, "# name = \"...\"");
        commented(text, &format!("# for = [\"{color}\"]"), &format!("{first}{more}"));
    }
}

fn defaults(text: &mut String) {
    let material = Materials::built_in().get(USUAL);
    line(text, "\n# What holds for every shape that no rule says otherwise for.\n[defaults]");
    for name in ["spacing", "pull_compensation", "underlay", "angle", "knock_out", "overlap"] {
        let Some(key) = find(STITCH, name) else { continue };
        let (value, note) = match (&key.preset, &material) {
            (Preset::Numbers { fill: Some(fill), .. }, _) => {
                (fill.to_string(), format!(" ({})", key.preset.described()))
            }
            (Preset::Material, Some(usual)) => (usual.pull_compensation.to_string(), format!(" ({USUAL})")),
            (preset, _) => (preset.described(), String::new()),
        };
        commented(text, &format!("# {name} = {value}"), &format!("{}{note}", short(key)));
    }
}

/// The first sentence of what a key means, and its unit.
fn short(key: &Key) -> String {
    let first = key.about.split(['.', ';']).next().unwrap_or_default();
    let unit = key.kind.unit().map(|unit| format!("{unit}: ")).unwrap_or_default();
    format!("{unit}{first}")
}

fn rule(family: &Family<'_>, text: &mut String) {
    let Some(first) = family.shapes.first() else { return };
    line(text, &format!("\n[[rule]]\nmatch = {}", quoted(&family.pattern)));
    if family.shapes.len() > 1 || family.pattern != first.facts.name {
        names(family, text);
    }
    if let Some(paint) = family.paint {
        line(text, &format!("paint = \"{paint}\""));
    }
    commented(text, "method = \"auto\"", &described(&family.shapes));
    match first.suggested {
        MethodChoice::Run => commented(text, "# run = \"triple\"", "or \"single\", \"there-and-back\""),
        MethodChoice::Satin => commented(text, "# pull_compensation = 0.25", "mm at each end"),
        MethodChoice::Fill => commented(text, "# angle = 45.0", "degrees; or \"auto\""),
        MethodChoice::Auto | MethodChoice::Skip => {}
    }
}

/// The names of a family's shapes as comments, several to a line.
fn names(family: &Family<'_>, text: &mut String) {
    let mut row = String::from("#");
    for name in family.shapes.iter().map(|shape| one_line(shape.facts.name)) {
        if row.len() > 1 && row.chars().count() + name.chars().count() > 98 {
            line(text, &row);
            row = String::from("#");
        }
        row.push(' ');
        row.push_str(&name);
    }
    line(text, &row);
}

/// `satin, 12 shapes of 3.1 x 8.0 to 3.4 x 8.2 mm, #e0a21b`.
fn described(shapes: &[&StarterShape<'_>]) -> String {
    let methods: BTreeSet<&str> = shapes.iter().map(|shape| word(shape.suggested)).collect();
    let methods = methods.into_iter().collect::<Vec<_>>().join(" or ");
    let colors: BTreeSet<Color> = shapes.iter().map(|shape| shape.facts.color).collect();
    let colors = colors.iter().take(3).map(Color::to_string).collect::<Vec<_>>().join(" ");
    let size = |shape: &&StarterShape<'_>| format!("{:.1} x {:.1}", shape.width, shape.height);
    let by_area =
        |a: &&&StarterShape<'_>, b: &&&StarterShape<'_>| (a.width * a.height).total_cmp(&(b.width * b.height));
    let (small, large) = (shapes.iter().min_by(by_area).map(size), shapes.iter().max_by(by_area).map(size));
    let (small, large) = (small.unwrap_or_default(), large.unwrap_or_default());
    let stroke = if shapes.iter().all(|shape| shape.facts.stroke) { "stroke, " } else { "" };
    let sizes = match shapes.len() {
        1 => format!("{small} mm"),
        n if small == large => format!("{n} shapes of {small} mm"),
        n => format!("{n} shapes of {small} to {large} mm"),
    };
    format!("{methods}; {stroke}{sizes}, {colors}")
}

fn word(method: MethodChoice) -> &'static str {
    match method {
        MethodChoice::Auto => "auto",
        MethodChoice::Run => "run",
        MethodChoice::Satin => "satin",
        MethodChoice::Fill => "fill",
        MethodChoice::Skip => "skip",
    }
}

/// Shapes by name, in the order of their first; names that differ in their last
/// number alone go together, where no other shape would be picked along with them.
fn families<'a>(shapes: &'a [StarterShape<'a>]) -> Vec<Family<'a>> {
    let mut by_stem: BTreeMap<&str, Vec<&StarterShape<'_>>> = BTreeMap::new();
    for shape in shapes {
        by_stem.entry(stem(shape.facts.name)).or_default().push(shape);
    }
    let mut sorted: Vec<&str> = shapes.iter().map(|shape| shape.facts.name).collect();
    sorted.sort_unstable();
    let painted = shapes.iter().map(|shape| (shape.facts.name, shape.facts.stroke)).collect();
    let alone = |stem: &str, count: usize| {
        let first = sorted.partition_point(|name| *name < stem);
        sorted.get(first..).is_some_and(|rest| rest.iter().take_while(|name| name.starts_with(stem)).count() == count)
    };
    let mut families: Vec<Family<'_>> = Vec::new();
    let mut known: BTreeMap<(String, Option<&str>), usize> = BTreeMap::new();
    for shape in shapes {
        let (name, stem) = (shape.facts.name, stem(shape.facts.name));
        let siblings = by_stem.get(stem).map(Vec::as_slice).unwrap_or_default();
        let together = siblings.len() > 2 && !stem.is_empty() && alone(stem, siblings.len()) && alike(siblings);
        let pattern = if together { format!("{}*", safe(stem)) } else { safe(name) };
        let paint = if together { None } else { paint(shape, &painted) };
        let number = *known.entry((pattern.clone(), paint)).or_insert_with(|| {
            families.push(Family { pattern, paint, shapes: Vec::new() });
            families.len() - 1
        });
        if let Some(family) = families.get_mut(number) {
            family.shapes.push(shape);
        }
    }
    families
}

/// The name without the number at its end.
fn stem(name: &str) -> &str {
    name.trim_end_matches(|c: char| c.is_ascii_digit())
}

/// Whether shapes are painted and would be sewn the same way.
fn alike(shapes: &[&StarterShape<'_>]) -> bool {
    shapes.windows(2).all(|pair| match pair {
        [a, b] => a.suggested == b.suggested && a.facts.color == b.facts.color && a.facts.stroke == b.facts.stroke,
        _ => true,
    })
}

/// `fill` or `stroke`, where a shape shares its name with its own other paint.
fn paint(shape: &StarterShape<'_>, painted: &BTreeSet<(&str, bool)>) -> Option<&'static str> {
    let other = painted.contains(&(shape.facts.name, !shape.facts.stroke));
    other.then_some(if shape.facts.stroke { "stroke" } else { "fill" })
}

/// A name as a pattern that a recipe can hold: what it cannot is left to `*`.
fn safe(name: &str) -> String {
    let safe: String = name.chars().map(|c| if c.is_control() { '*' } else { c }).collect();
    let start = if safe.starts_with(char::is_whitespace) { "*" } else { "" };
    let end = if safe.ends_with(char::is_whitespace) || safe.is_empty() { "*" } else { "" };
    format!("{start}{}{end}", safe.trim())
}

fn one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect::<String>().trim().to_owned()
}

/// A TOML text.
fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        if matches!(c, '"' | '\\') {
            quoted.push('\\');
        }
        quoted.push(c);
    }
    quoted.push('"');
    quoted
}
