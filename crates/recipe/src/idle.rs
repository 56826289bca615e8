//! Tells of what stands in a recipe and changes nothing: rules that pick no
//! shape, rules that later ones overrule, keys that no method looks at.

use crate::find::nearest_shape;
use crate::keys::{Key, Uses, find};
use crate::recipe::{Recipe, Rule, Selector, ShapeFacts};
use crate::settings::{BorderJoin, Edge, Flow, MethodChoice, Settings, Shifts, UnderlayLayer};
use crate::settle::Groups;
use crate::table::STITCH;
use laidwork_plan::{Color, Warning};
use std::collections::BTreeSet;

/// Later rules that are tried as the one that overrules, at most.
const MOST_TRIED: usize = 8;

/// A key that is looked at under a condition, and the condition.
type Condition = (&'static str, fn(&Settings) -> bool, &'static str);

const CONDITIONS: [Condition; 8] = [
    ("guides", |s| s.fill.flow == Flow::Guided, "fills with `flow = \"guided\"`"),
    ("centre", |s| s.fill.flow == Flow::Radial, "fills with `flow = \"radial\"`"),
    ("angle", |s| s.fill.flow == Flow::Straight || s.fill.gradient.is_some(), "fills with `flow = \"straight\"`"),
    ("seed", |s| s.fill.shifts == Shifts::Irregular, "fills with `shifts = \"irregular\"`"),
    ("spacing_angle", |s| s.fill.gradient.is_some(), "fills with `spacing_to`"),
    (
        "edge_width",
        |s| s.fill.edge == Edge::Satin && s.border.is_none(),
        "fills with `edge = \"satin\"` and without a `border`",
    ),
    (
        "edge",
        |s| s.fill.edge != Edge::Satin || s.border.is_none(),
        "fills without a `border`, which replaces the satin edge,",
    ),
    ("overlap", |s| s.knock_out.on, "shapes with `knock_out = true`"),
];

impl Recipe {
    /// Rules that pick no shape, and threads for colours no shape has.
    pub(crate) fn idle_rules(&self, shapes: &[ShapeFacts<'_>], groups: &Groups) -> Vec<Warning> {
        let mut busy = vec![false; self.rules.len()];
        for rule in groups.rules.iter().flatten() {
            if let Some(busy) = busy.get_mut(*rule) {
                *busy = true;
            }
        }
        let mut warnings = Vec::new();
        for (rule, _) in self.rules.iter().zip(busy).filter(|(_, busy)| !busy) {
            warnings.push(self.picks_nothing("rule", &rule.selector, rule.line, shapes, warnings.len()));
        }
        for thread in self.threads.iter().filter(|thread| !thread.replaces.is_empty()) {
            if !shapes.iter().any(|shape| thread.replaces.contains(&shape.color)) {
                let color = thread.replaces.first().copied().unwrap_or(thread.color);
                let what = format!("no shape has the colour {color} this thread is for");
                warnings.push(Warning::at(self.line_place(thread.line), what, nearest_color(color, shapes)));
            }
        }
        warnings
    }

    /// A warning about a table of the recipe whose keys pick no shape; `told` of others before it.
    pub(crate) fn picks_nothing(
        &self,
        table: &str,
        selector: &Selector,
        line: usize,
        shapes: &[ShapeFacts<'_>],
        told: usize,
    ) -> Warning {
        let by_name = selector.names.iter().find(|name| !shapes.iter().any(|shape| name.matches(shape.name)));
        let by_color = selector.colors.iter().find(|color| !shapes.iter().any(|shape| shape.color == **color));
        let advice = match (by_name, by_color) {
            (Some(name), _) => nearest_shape(name, shapes, told),
            (None, Some(color)) => nearest_color(*color, shapes),
            (None, None) => "no shape has all that it asks for".to_owned(),
        };
        Warning::at(self.line_place(line), format!("the {table} picks no shape"), advice)
    }

    fn line_place(&self, line: usize) -> String {
        format!("{}:{line}", self.source.file)
    }

    /// Rules that one later rule overrules, key by key, for every shape they pick.
    pub(crate) fn overruled_rules(&self, groups: &Groups) -> Vec<Warning> {
        let mut of_rule: Vec<Vec<usize>> = vec![Vec::new(); self.rules.len()];
        for (group, rules) in groups.rules.iter().enumerate() {
            for rule in rules {
                if let Some(of_rule) = of_rule.get_mut(*rule) {
                    of_rule.push(group);
                }
            }
        }
        let mut warnings = Vec::new();
        for (number, (rule, of_rule)) in self.rules.iter().zip(&of_rule).enumerate() {
            let Some(group) = of_rule.first().and_then(|group| groups.rules.get(*group)) else { continue };
            if rule.values.is_empty() {
                continue;
            }
            // A general rule is there for other drawings too, whatever special ones leave of it in this one.
            let is_as_general = |later: &Rule| later.selector.is_everything() || !rule.selector.is_everything();
            let overrules = |later: &&usize| {
                let picks_all =
                    |group: &usize| groups.rules.get(*group).is_some_and(|g| g.binary_search(later).is_ok());
                let undoes = |later: &Rule| is_as_general(later) && rule.values.undone_by(&later.values);
                self.rules.get(**later).is_some_and(undoes) && of_rule.iter().all(picks_all)
            };
            let later = group.iter().rev().take_while(|later| **later > number).take(MOST_TRIED).find(overrules);
            if let Some(later) = later.and_then(|later| self.rules.get(*later)) {
                let what = format!("the rule changes nothing: the one in line {} overrules all of it", later.line);
                let advice = if rule.selector.is_everything() {
                    "later rules win; take one of the two out, or give the later one a `match`"
                } else {
                    "later rules win, so put the more general rule first"
                };
                warnings.push(Warning::at(self.line_place(rule.line), what, advice));
            }
        }
        warnings
    }

    /// Keys of rules that none of the shapes they pick looks at, by the methods
    /// that each shape uses.
    pub(crate) fn idle_keys(&self, groups: &Groups, settled: &[Settings], uses: &[Uses]) -> Vec<Warning> {
        let mut looked: Vec<Vec<Look>> = self.rules.iter().map(|rule| vec![Look::Nobody; rule.values.len()]).collect();
        for ((one, group), uses) in settled.iter().zip(&groups.of_shape).zip(uses) {
            if *uses == NOBODY {
                continue;
            }
            for rule in groups.rules.get(*group).into_iter().flatten() {
                let (Some(rule), Some(looked)) = (self.rules.get(*rule), looked.get_mut(*rule)) else { continue };
                for ((key, _), looked) in rule.values.iter().zip(looked).filter(|(_, looked)| **looked != Look::Yes) {
                    *looked = look(key, one, *uses);
                }
            }
        }
        let mut warnings = Vec::new();
        for (rule, looked) in self.rules.iter().zip(looked) {
            for ((key, found), _) in rule.values.iter().zip(looked).filter(|(_, looked)| *looked == Look::No) {
                let what = format!("`{key}` changes nothing for the shapes this rule picks");
                warnings.push(Warning::at(
                    self.source.place(found.start),
                    what,
                    format!("only {} look at it", users(key)),
                ));
            }
        }
        warnings
    }
}

impl Recipe {
    /// Limits of mitres for borders that turn every corner in another way.
    pub(crate) fn idle_mitres(&self, groups: &Groups, settled: &[Settings]) -> Vec<Warning> {
        let mut joins: Vec<Vec<BorderJoin>> = vec![Vec::new(); self.rules.len()];
        for (one, group) in settled.iter().zip(&groups.of_shape) {
            let Some(join) = one.border.as_ref().map(|border| border.join) else { continue };
            for &rule in groups.rules.get(*group).into_iter().flatten() {
                if let Some(joins) = joins.get_mut(rule).filter(|joins| !joins.contains(&join)) {
                    joins.push(join);
                }
            }
        }
        let idle =
            self.rules.iter().zip(joins).filter(|(_, joins)| !joins.is_empty() && !joins.contains(&BorderJoin::Mitre));
        let limit =
            |rule: &Rule| rule.values.table("border").and_then(|border| border.get("mitre_limit")).map(|it| it.start);
        let told = |start| {
            let what = "`mitre_limit` changes nothing for the borders this rule gives";
            Warning::at(self.source.place(start), what, "only borders with `join = \"mitre\"` look at it")
        };
        idle.filter_map(|(rule, _)| limit(rule)).map(told).collect()
    }
}

/// Layers of underlay that fills have.
const OF_FILLS: [UnderlayLayer; 3] = [UnderlayLayer::EdgeRun, UnderlayLayer::Rows, UnderlayLayer::CrossingRows];

/// Layers of underlay that columns have.
const OF_COLUMNS: [UnderlayLayer; 3] = [UnderlayLayer::CentreRun, UnderlayLayer::EdgeRun, UnderlayLayer::Zigzag];

impl Recipe {
    /// Layers of underlay that no shape a rule picks can have, by the methods that each shape uses.
    pub(crate) fn idle_layers(&self, groups: &Groups, settled: &[Settings], uses: &[Uses]) -> Vec<Warning> {
        let mut asked = vec![BTreeSet::new(); self.rules.len()];
        let mut sewn = vec![BTreeSet::new(); self.rules.len()];
        for ((one, group), uses) in settled.iter().zip(&groups.of_shape).zip(uses) {
            let (fill, satin) = (&one.fill.underlay, &one.satin.underlay.medium);
            for &rule in groups.rules.get(*group).into_iter().flatten() {
                let (Some(asked), Some(sewn)) = (asked.get_mut(rule), sewn.get_mut(rule)) else { continue };
                if uses.fill {
                    asked.extend(fill.iter().copied());
                    sewn.extend(fill.iter().filter(|layer| OF_FILLS.contains(layer)).copied());
                }
                if uses.satin {
                    asked.extend(satin.iter().copied());
                    sewn.extend(satin.iter().filter(|layer| OF_COLUMNS.contains(layer)).copied());
                }
            }
        }
        let mut warnings = Vec::new();
        for ((rule, asked), sewn) in self.rules.iter().zip(asked).zip(sewn) {
            let Some(found) = rule.values.get("underlay") else { continue };
            for layer in asked.difference(&sewn) {
                let what = format!("`{}` in `underlay` changes nothing for the shapes this rule picks", layer.word());
                let words = |layers: [UnderlayLayer; 3]| layers.map(UnderlayLayer::word).join(", ");
                let advice = format!("fills have {}; columns {}", words(OF_FILLS), words(OF_COLUMNS));
                warnings.push(Warning::at(self.source.place(found.start), what, advice));
            }
        }
        warnings
    }
}

/// Whether a key is looked at.
#[derive(Clone, Copy, PartialEq)]
enum Look {
    /// No shape was there to look.
    Nobody,
    No,
    Yes,
}

const NOBODY: Uses = Uses { run: false, satin: false, fill: false };

impl Uses {
    fn of(method: MethodChoice) -> Uses {
        match method {
            MethodChoice::Auto => Uses { run: true, satin: true, fill: true },
            MethodChoice::Run => Uses { run: true, ..NOBODY },
            MethodChoice::Satin => Uses { satin: true, ..NOBODY },
            MethodChoice::Fill => Uses { fill: true, ..NOBODY },
            MethodChoice::Skip => NOBODY,
        }
    }

    fn or(self, other: Uses) -> Uses {
        Uses { run: self.run || other.run, satin: self.satin || other.satin, fill: self.fill || other.fill }
    }
}

/// The methods that each shape and its border may be sewn by; none when it is skipped.
pub(crate) fn uses_asked_for(settled: &[Settings]) -> Vec<Uses> {
    let of = |one: &Settings| match (&one.border, one.method) {
        (_, MethodChoice::Skip) => NOBODY,
        (None, method) => Uses::of(method),
        (Some(border), _) if border.only => Uses::of(border.method),
        (Some(border), method) => Uses::of(method).or(Uses::of(border.method)),
    };
    settled.iter().map(of).collect()
}

/// The methods that each of `shapes` shapes was sewn by.
pub(crate) fn uses_as_sewn(shapes: usize, sewn: &[(usize, MethodChoice)]) -> Vec<Uses> {
    let mut uses = vec![NOBODY; shapes];
    for (shape, method) in sewn {
        if let Some(uses) = uses.get_mut(*shape) {
            *uses = uses.or(Uses::of(*method));
        }
    }
    uses
}

fn look(name: &str, settings: &Settings, uses: Uses) -> Look {
    let by = find(STITCH, name).map_or(uses, |key: &Key| key.used_by);
    // The choice of a method looks at these, whatever it comes to.
    let chooses = matches!(name, "min_width" | "max_width") && settings.method == MethodChoice::Auto;
    let by_method = chooses || (by.run && uses.run) || (by.satin && uses.satin) || (by.fill && uses.fill);
    let holds = CONDITIONS.iter().filter(|(key, ..)| *key == name).all(|(_, holds, _)| holds(settings));
    if by_method && holds { Look::Yes } else { Look::No }
}

/// Who looks at a key, in plural.
fn users(name: &str) -> String {
    if let Some((_, _, users)) = CONDITIONS.iter().find(|(key, ..)| *key == name) {
        return (*users).to_owned();
    }
    find(STITCH, name).map_or_else(String::new, |key| key.used_by.described())
}

fn nearest_color(color: Color, shapes: &[ShapeFacts<'_>]) -> String {
    let squared = |a: u8, b: u8| i32::from(a.abs_diff(b)).pow(2);
    let far = |shape: &Color| {
        squared(shape.red, color.red) + squared(shape.green, color.green) + squared(shape.blue, color.blue)
    };
    match shapes.iter().map(|shape| shape.color).min_by_key(|shape| (far(shape), *shape)) {
        Some(near) => format!("the nearest colour of the drawing is {near}"),
        None => "the drawing has no shapes".to_owned(),
    }
}
