//! Lays material, defaults and rules over each other for every shape.
//!
//! Shapes that the same rules pick come to the same values, so the layers are
//! laid over each other once for each such group. Takes time in proportion to
//! shapes times patterns.

use crate::find::Finder;
use crate::idle::{uses_as_sewn, uses_asked_for};
use crate::materials::{Material, USUAL};
use crate::pattern::Pattern;
use crate::recipe::{Pins, Recipe, Rule, ShapeFacts};
use crate::resolve::Layered;
use crate::settings::{Flow, MethodChoice, Settings};
use crate::source::{Diagnostics, Faults};
use crate::table::STITCH;
use crate::values::{Values, View};
use laidwork_plan::{Warned, Warning};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Shapes by the rules that pick them.
pub(crate) struct Groups {
    /// For each group the numbers of its rules, ascending.
    pub(crate) rules: Vec<Vec<usize>>,
    /// For each shape the number of its group.
    pub(crate) of_shape: Vec<usize>,
}

/// What the shapes of a group share.
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
    /// Keys that contradict each other once they are laid over each other.
    pub fn settle(&self, shapes: &[ShapeFacts<'_>]) -> Result<Warned<Vec<Settings>>, Diagnostics> {
        let groups = self.groups(shapes);
        let mut warnings = self.idle_rules(shapes, &groups);
        warnings.extend(self.overruled_rules(&groups));
        warnings.extend(self.idle_swaps(shapes));
        let mut finder = Finder::new(&self.source, shapes);
        let mut faults = Faults::default();
        let made: Vec<Group> = groups.rules.iter().map(|rules| self.group(rules, &mut finder, &mut faults)).collect();
        faults.or((), &self.source)?;
        let of = |(shape, group): (&ShapeFacts<'_>, &usize)| made.get(*group).map(|group| self.settings(shape, group));
        let mut settled: Vec<Settings> = shapes.iter().zip(&groups.of_shape).filter_map(of).collect();
        self.leave_out_leading_lines(&mut settled, &groups, &made);
        warnings.append(&mut finder.warnings);
        warnings.extend(self.idle_keys(&groups, &settled, &uses_asked_for(&settled)));
        warnings.extend(self.idle_mitres(&groups, &settled));
        Ok(Warned { value: settled, warnings })
    }

    /// Warnings that only come to light once every shape has its method, which
    /// [`settle`](Recipe::settle) could not know of shapes with
    /// [`MethodChoice::Auto`]: keys of rules that change nothing. `sewn` has the
    /// number of a shape with each method that it or a part of it is sewn by.
    pub fn idle_once_sewn(
        &self,
        shapes: &[ShapeFacts<'_>],
        settled: &[Settings],
        sewn: &[(usize, MethodChoice)],
    ) -> Vec<Warning> {
        let groups = self.groups(shapes);
        let known = self.idle_keys(&groups, settled, &uses_asked_for(settled));
        let mut all = self.idle_keys(&groups, settled, &uses_as_sewn(settled.len(), sewn));
        all.retain(|warning| !known.contains(warning));
        all.extend(self.idle_layers(&groups, settled, &uses_as_sewn(settled.len(), sewn)));
        all
    }

    /// The wishes about the order, as numbers of shapes; a warning for each
    /// pattern that picks none, and for each wish that contradicts an earlier one, which holds.
    pub fn pins(&self, shapes: &[ShapeFacts<'_>]) -> Warned<Pins> {
        let mut finder = Finder::new(&self.source, shapes);
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
        let mut pins = Pins { keep: order.keep, first, last, before, together, outside_in, inside_out, around };
        let mut warnings = finder.warnings;
        self.without_contradictions(&mut pins, shapes, &mut warnings);
        Warned { value: pins, warnings }
    }

    /// The rows of the materials table that these settings come from, by name.
    pub fn materials_used(&self, settled: &[Settings]) -> Vec<Material> {
        let names: BTreeSet<&str> = settled.iter().map(|one| one.material.as_str()).collect();
        names.into_iter().filter_map(|name| self.materials.get(name)).collect()
    }

    fn groups(&self, shapes: &[ShapeFacts<'_>]) -> Groups {
        let mut numbers: BTreeMap<Vec<usize>, usize> = BTreeMap::new();
        let mut groups = Groups { rules: Vec::new(), of_shape: Vec::with_capacity(shapes.len()) };
        for shape in shapes {
            let picks = |(i, rule): (usize, &Rule)| rule.selector.picks(shape).then_some(i);
            let rules: Vec<usize> = self.rules.iter().enumerate().filter_map(picks).collect();
            let number = *numbers.entry(rules).or_insert_with_key(|rules| {
                groups.rules.push(rules.clone());
                groups.rules.len() - 1
            });
            groups.of_shape.push(number);
        }
        groups
    }

    fn group(&self, rules: &[usize], finder: &mut Finder<'_>, faults: &mut Faults) -> Group {
        let mut values = self.defaults.clone();
        for rule in rules.iter().filter_map(|rule| self.rules.get(*rule)) {
            values.overlay(&rule.values);
        }
        let of = View::new(STITCH, &values);
        contradictions(of, faults);
        let name = of.text_if_given("material").unwrap_or(&self.design.material);
        let material = self.materials.get(name).or_else(|| {
            let message = format!("there is no material \"{name}\"");
            faults.add(0..0, message, self.materials.advice(name));
            self.materials.get(USUAL)
        });
        let material = material.unwrap_or_else(|| Material::from_values(USUAL, &Values::default()));
        let crossings = finder.find_strokes(&of.patterns("crossings"));
        let guides = finder.find_strokes(&of.patterns("guides"));
        if guides.is_empty()
            && let Some(flow) = values.get("flow").filter(|flow| flow.text() == Some("guided"))
        {
            let advice = "name the strokes that lead them in `guides`; they are sewn straight meanwhile";
            finder.warn(flow.start, "guided rows have no guides", advice);
        }
        Group { values, material, crossings, guides }
    }

    fn settings(&self, shape: &ShapeFacts<'_>, group: &Group) -> Settings {
        let swapped = self.swapped(shape, &group.values);
        let values = swapped.as_ref().unwrap_or(&group.values);
        let layered = Layered { recipe: self, of: View::new(STITCH, values), material: &group.material };
        layered.settings(shape.color, &group.crossings, &group.guides)
    }

    fn leave_out_leading_lines(&self, settled: &mut [Settings], groups: &Groups, made: &[Group]) {
        let mut leads = vec![false; settled.len()];
        let mut met = vec![false; made.len()];
        for (one, group) in settled.iter().zip(&groups.of_shape) {
            let (Some(met), Some(group)) = (met.get_mut(*group), made.get(*group)) else { continue };
            if std::mem::replace(met, true) {
                continue;
            }
            let guides: &[usize] = if one.fill.flow == Flow::Guided { &group.guides } else { &[] };
            for number in guides.iter().chain(group.crossings.iter()) {
                if let Some(leads) = leads.get_mut(*number) {
                    *leads = true;
                }
            }
        }
        let named = |rule: &Rule| !rule.selector.names.is_empty() && rule.values.get("method").is_some();
        let is_named: Vec<bool> = groups.rules.iter().map(|rules| self.these(rules).any(named)).collect();
        for ((one, group), leads) in settled.iter_mut().zip(&groups.of_shape).zip(leads) {
            if leads && is_named.get(*group) == Some(&false) {
                one.method = MethodChoice::Skip;
            }
        }
    }

    /// The rules of these numbers.
    fn these<'a>(&'a self, numbers: &'a [usize]) -> impl Iterator<Item = &'a Rule> {
        numbers.iter().filter_map(|number| self.rules.get(*number))
    }
}

/// Keys that were written and contradict each other. A default yields to what
/// was written, so it takes two.
fn contradictions(of: View<'_>, faults: &mut Faults) {
    const PAIRS: [(&str, &str); 4] = [
        ("min_width", "max_width"),
        ("shortest_stitch", "stitch_length"),
        ("curve_stitch_length", "stitch_length"),
        ("underlay_narrow_below", "underlay_wide_above"),
    ];
    for (less, more) in PAIRS {
        let (Some(low), Some(high)) = (of.number_if_given(less), of.number_if_given(more)) else { continue };
        let later = of.values.get(less).into_iter().chain(of.values.get(more)).max_by_key(|found| found.start);
        if low > high
            && let Some(found) = later
        {
            let message = format!("`{less}` is {low} and `{more}` is {high} for the same shapes");
            faults.add(found.span.clone(), message, format!("make `{less}` at most `{more}`"));
        }
    }
}
