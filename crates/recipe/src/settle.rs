//! Lays material, defaults and rules over each other for every shape.
//!
//! Shapes that the same rules pick come to the same values, so the layers are
//! laid over each other once for each such group. Takes time in proportion to
//! shapes times patterns.

use crate::materials::{Material, USUAL};
use crate::nearest::nearest;
use crate::pattern::Pattern;
use crate::recipe::{Pins, Recipe, Rule, ShapeFacts};
use crate::resolve::Layered;
use crate::settings::{Flow, MethodChoice, Settings};
use crate::source::{Diagnostics, Faults};
use crate::table::STITCH;
use crate::values::{Values, View};
use laidwork_plan::{Warned, Warning};
use std::collections::BTreeMap;
use std::sync::Arc;

/// What shapes share that the same rules pick.
struct Group {
    values: Values,
    material: Material,
    crossings: Arc<[usize]>,
    guides: Arc<[usize]>,
}

impl Recipe {
    /// One complete [`Settings`] for each shape, in their order: the material's
    /// row, then `[defaults]`, then the rules in their order, key by key.
    ///
    /// Strokes that lead the threads of others (`crossings`, `guides`) are left
    /// out themselves, unless a rule with `match` gives them a method.
    ///
    /// # Errors
    /// Keys that cannot go together once they are laid over each other.
    pub fn settle(&self, shapes: &[ShapeFacts<'_>]) -> Result<Warned<Vec<Settings>>, Diagnostics> {
        let picked = self.picked(shapes);
        let mut finder = Finder::new(self, shapes);
        self.warn_of_idle_rules(shapes, &picked, &mut finder.warnings);
        let mut groups: BTreeMap<&[usize], Group> = BTreeMap::new();
        let mut faults = Faults::default();
        for rules in &picked {
            if !groups.contains_key(rules.as_slice()) {
                groups.insert(rules, self.group(rules, &mut finder, &mut faults));
            }
        }
        faults.or((), &self.source)?;
        let of =
            |(shape, rules): (_, &Vec<usize>)| groups.get(rules.as_slice()).map(|group| self.settings(shape, group));
        let mut settled: Vec<Settings> = shapes.iter().zip(&picked).filter_map(of).collect();
        self.leave_out_leading_lines(&mut settled, &picked);
        Ok(Warned { value: settled, warnings: finder.warnings })
    }

    /// The wishes about the order, as numbers of shapes; a warning for each
    /// pattern that picks none.
    pub fn pins(&self, shapes: &[ShapeFacts<'_>]) -> Warned<Pins> {
        let mut finder = Finder::new(self, shapes);
        let order = &self.order;
        let mut find = |patterns: &[Pattern]| finder.find(patterns).to_vec();
        let mut groups = |groups: &[Vec<Pattern>]| groups.iter().map(|group| find(group)).collect();
        let together = groups(&order.together);
        let outside_in = groups(&order.outside_in);
        let inside_out = groups(&order.inside_out);
        let around = groups(&order.around);
        let first = find(&order.first);
        let last = find(&order.last);
        let mut one = |pattern: &Pattern| find(std::slice::from_ref(pattern));
        let before = order.before.iter().map(|(earlier, later)| (one(earlier), one(later))).collect();
        let pins = Pins { keep: order.keep, first, last, before, together, outside_in, inside_out, around };
        Warned { value: pins, warnings: finder.warnings }
    }

    /// The rows of the materials table that the design and its rules use.
    pub fn materials_used(&self, settled: &[Settings]) -> Vec<Material> {
        let names: std::collections::BTreeSet<&str> = settled.iter().map(|one| one.material.as_str()).collect();
        names.into_iter().filter_map(|name| self.materials.get(name)).collect()
    }

    /// For each shape the numbers of the rules that pick it.
    fn picked(&self, shapes: &[ShapeFacts<'_>]) -> Vec<Vec<usize>> {
        let of = |shape| {
            let picks = |(i, rule): (usize, &Rule)| rule.selector.picks(shape).then_some(i);
            self.rules.iter().enumerate().filter_map(picks).collect()
        };
        shapes.iter().map(of).collect()
    }

    fn warn_of_idle_rules(&self, shapes: &[ShapeFacts<'_>], picked: &[Vec<usize>], warnings: &mut Vec<Warning>) {
        let mut busy = vec![false; self.rules.len()];
        for rule in picked.iter().flatten() {
            if let Some(busy) = busy.get_mut(*rule) {
                *busy = true;
            }
        }
        for (rule, _) in self.rules.iter().zip(busy).filter(|(_, busy)| !busy) {
            let near = rule.selector.names.iter().find_map(|name| nearest_shape(name, shapes));
            let advice = match near {
                Some(name) => format!("the nearest name is \"{name}\""),
                None => "name a shape of the drawing, or take the rule out".to_owned(),
            };
            let place = format!("{}:{}", self.source.file, rule.line);
            warnings.push(Warning::at(place, "the rule picks no shape", advice));
        }
    }

    fn group(&self, rules: &[usize], finder: &mut Finder<'_>, faults: &mut Faults) -> Group {
        let mut values = self.defaults.clone();
        for rule in rules.iter().filter_map(|rule| self.rules.get(*rule)) {
            values.overlay(&rule.values);
        }
        let of = View::new(STITCH, &values);
        let name = of.text_if_given("material").unwrap_or(&self.design.material);
        let material = self.materials.get(name).or_else(|| {
            let message = format!("there is no material \"{name}\"");
            faults.add(0..0, message, self.materials.advice(name));
            self.materials.get(USUAL)
        });
        let material = material.unwrap_or_else(|| Material::from_values(USUAL, &Values::default()));
        let crossings = finder.find(&of.patterns("crossings"));
        let guides = finder.find(&of.patterns("guides"));
        Group { values, material, crossings, guides }
    }

    fn settings(&self, shape: &ShapeFacts<'_>, group: &Group) -> Settings {
        let layered = Layered { recipe: self, of: View::new(STITCH, &group.values), material: &group.material };
        layered.settings(shape.color, &group.crossings, &group.guides)
    }

    fn leave_out_leading_lines(&self, settled: &mut [Settings], picked: &[Vec<usize>]) {
        let mut leading = vec![false; settled.len()];
        let mut lists: Vec<Arc<[usize]>> = Vec::new();
        for one in settled.iter() {
            let guides = (one.fill.flow == Flow::Guided).then_some(&one.fill.guides);
            for list in guides.into_iter().chain([&one.satin.crossings]) {
                if !lists.iter().rev().take(4).any(|known| Arc::ptr_eq(known, list)) {
                    lists.push(list.clone());
                }
            }
        }
        for number in lists.iter().flat_map(|list| list.iter()) {
            if let Some(leading) = leading.get_mut(*number) {
                *leading = true;
            }
        }
        let named = |rule: &Rule| !rule.selector.names.is_empty() && rule.values.get("method").is_some();
        for ((one, rules), _) in settled.iter_mut().zip(picked).zip(leading).filter(|(_, leading)| *leading) {
            if !rules.iter().filter_map(|rule| self.rules.get(*rule)).any(named) {
                one.method = MethodChoice::Skip;
            }
        }
    }
}

/// Finds the shapes that patterns pick, each list of patterns once.
struct Finder<'a> {
    recipe: &'a Recipe,
    shapes: &'a [ShapeFacts<'a>],
    known: BTreeMap<Vec<(usize, String)>, Arc<[usize]>>,
    warnings: Vec<Warning>,
}

impl<'a> Finder<'a> {
    fn new(recipe: &'a Recipe, shapes: &'a [ShapeFacts<'a>]) -> Finder<'a> {
        Finder { recipe, shapes, known: BTreeMap::new(), warnings: Vec::new() }
    }

    fn find(&mut self, patterns: &[Pattern]) -> Arc<[usize]> {
        let key: Vec<_> = patterns.iter().map(|pattern| (pattern.start, pattern.as_str().to_owned())).collect();
        if let Some(known) = self.known.get(&key) {
            return known.clone();
        }
        let mut found = vec![false; self.shapes.len()];
        for pattern in patterns {
            let mut any = false;
            for (shape, found) in self.shapes.iter().zip(&mut found) {
                let picked = pattern.matches(shape.name);
                *found |= picked;
                any |= picked;
            }
            if !any {
                self.warn(pattern);
            }
        }
        let numbers: Arc<[usize]> = found.iter().enumerate().filter_map(|(i, found)| found.then_some(i)).collect();
        self.known.insert(key, numbers.clone());
        numbers
    }

    fn warn(&mut self, pattern: &Pattern) {
        let advice = match nearest_shape(pattern, self.shapes) {
            Some(name) => format!("the nearest name is \"{name}\""),
            None => "name a shape of the drawing, or take it out".to_owned(),
        };
        let place = self.recipe.source.place(pattern.start);
        self.warnings.push(Warning::at(place, format!("\"{pattern}\" picks no shape"), advice));
    }
}

/// The name of a shape that is most like a pattern.
fn nearest_shape<'a>(pattern: &Pattern, shapes: &[ShapeFacts<'a>]) -> Option<&'a str> {
    let written = pattern.as_str().replace('*', "");
    nearest(&written, shapes.iter().map(|shape| shape.name))
}
