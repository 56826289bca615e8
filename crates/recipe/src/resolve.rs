//! From the keys that hold for a shape to its [`Settings`]: what was written,
//! else the material's figure, else the default of the table of keys.

use crate::keys::Preset;
use crate::materials::{Material, layers};
use crate::recipe::Recipe;
use crate::settings::*;
use crate::table::{self, STITCH};
use crate::tex;
use crate::values::View;
use laidwork_plan::Color;
use std::sync::Arc;

/// The layers that hold for a shape.
pub(crate) struct Layered<'a> {
    pub(crate) recipe: &'a Recipe,
    pub(crate) of: View<'a>,
    pub(crate) material: &'a Material,
}

/// The method a default is wanted for.
#[derive(Clone, Copy)]
enum For {
    Run,
    Satin,
    Fill,
}

impl Layered<'_> {
    pub(crate) fn settings(&self, drawn: Color, crossings: &Arc<[usize]>, guides: &Arc<[usize]>) -> Settings {
        let thread = self.thread(self.of, drawn);
        Settings {
            method: method(self.of.word("method")),
            material: self.material.name.clone(),
            knock_out: KnockOut { on: self.of.bool("knock_out"), overlap: self.of.number("overlap") },
            border: self.border(drawn),
            start: self.of.point("start"),
            end: self.of.point("end"),
            run: self.run(),
            satin: self.satin(thread.tex, crossings),
            fill: self.fill(thread.tex, guides),
            thread,
        }
    }

    /// What was written, else the default of the key for that method.
    fn number(&self, name: &str, for_: For) -> f64 {
        self.of.number_if_given(name).unwrap_or_else(|| preset(name, for_))
    }

    /// What was written, else the material's figure.
    fn or(&self, name: &str, material: f64) -> f64 {
        self.of.number_if_given(name).unwrap_or(material)
    }

    fn spacing(&self, for_: For, tex: f64) -> f64 {
        let written = self.of.number_if_given("spacing");
        written.unwrap_or_else(|| preset("spacing", for_) * self.material.spacing_factor * tex::spacing_factor(tex))
    }

    fn thread(&self, of: View<'_>, drawn: Color) -> ThreadUse {
        let recipe = self.recipe;
        let listed = match of.text_if_given("thread") {
            Some(name) => recipe.thread_named(name).ok_or(name.parse().unwrap_or(drawn)),
            None => recipe.thread_for(drawn).ok_or(drawn),
        };
        let listed =
            listed.or_else(|color| recipe.threads.iter().position(|thread| thread.color == color).ok_or(color));
        match listed.map(|number| (number, recipe.threads.get(number))) {
            Ok((number, Some(thread))) => ThreadUse {
                color: thread.color,
                name: thread.name.clone(),
                listed: Some(number),
                tex: thread.tex.unwrap_or(recipe.sewing.tex),
            },
            Ok((_, None)) => ThreadUse { color: drawn, name: None, listed: None, tex: recipe.sewing.tex },
            Err(color) => ThreadUse { color, name: None, listed: None, tex: recipe.sewing.tex },
        }
    }

    fn border(&self, drawn: Color) -> Option<Border> {
        let of = View::new(table::BORDER, self.of.values.table("border")?);
        let border = Border {
            width: of.number("width"),
            offset: of.number("offset"),
            side: match of.word("side") {
                "in" => Side::In,
                "out" => Side::Out,
                _ => Side::Centred,
            },
            join: match of.word("join") {
                "mitre" => BorderJoin::Mitre,
                "bevel" => BorderJoin::Bevel,
                _ => BorderJoin::Round,
            },
            mitre_limit: of.number("mitre_limit"),
            method: method(of.word("method")),
            only: of.bool("only"),
            overlap: of.number("overlap"),
            thread: of.text_if_given("thread").map(|_| self.thread(of, drawn)),
        };
        of.bool("on").then_some(border)
    }

    fn run(&self) -> RunKeys {
        let stitch_length = self.or("stitch_length", self.material.run_stitch_length);
        RunKeys {
            style: match self.of.word("run") {
                "there-and-back" => RunStyle::ThereAndBack,
                "triple" => RunStyle::Triple,
                _ => RunStyle::Single,
            },
            stitch_length,
            curve_stitch_length: self
                .or("curve_stitch_length", self.material.run_curve_stitch_length)
                .min(stitch_length),
            shortest_stitch: self.number("shortest_stitch", For::Run).min(stitch_length),
        }
    }

    fn pull(&self) -> Pull {
        let asked = self.of.pair("pull_compensation");
        let [left, right] = asked.unwrap_or([self.material.pull_compensation; 2]);
        let limit = self.or("pull_limit", self.material.pull_limit);
        Pull {
            left,
            right,
            percent: self.or("pull_percent", self.material.pull_percent),
            // A compensation that was asked for is not cut by a limit that was not: the material's is for its own.
            limit: if asked.is_some() && self.of.number_if_given("pull_limit").is_none() {
                limit.max(left).max(right)
            } else {
                limit
            },
        }
    }

    /// Layers that were written; `None` for `auto`.
    fn layers(&self) -> Option<Vec<UnderlayLayer>> {
        match self.of.text_if_given("underlay") {
            Some("none") => Some(Vec::new()),
            Some(_) => None,
            None => self.of.values.get("underlay").map(|_| layers(self.of.list("underlay"))),
        }
    }

    fn satin(&self, tex: f64, crossings: &Arc<[usize]>) -> SatinKeys {
        let (row, written) = (self.material, self.layers());
        let either = |row: &[UnderlayLayer]| written.clone().unwrap_or_else(|| row.to_vec());
        let max_width = self.or("max_width", row.satin_max_width);
        SatinKeys {
            spacing: self.spacing(For::Satin, tex),
            spacing_is_written: self.of.number_if_given("spacing").is_some(),
            pull: self.pull(),
            push: self.or("push_compensation", row.push_compensation),
            min_width: self.of.number("min_width"),
            max_width,
            split_length: self.of.number("split_length"),
            short_stitches: self.of.bool("short_stitches"),
            closed_overlap: self.of.number("closed_overlap"),
            column_overlap: self.of.number("column_overlap"),
            travel_length: self.of.number("travel_length"),
            crossings: crossings.clone(),
            shortest_stitch: self.number("shortest_stitch", For::Satin),
            underlay: SatinUnderlay {
                narrow_below: self.or("underlay_narrow_below", row.satin_underlay_narrow_below),
                wide_above: self.or("underlay_wide_above", row.satin_underlay_wide_above),
                narrow: either(&row.satin_underlay_narrow),
                medium: either(&row.satin_underlay_medium),
                wide: either(&row.satin_underlay_wide),
            },
            underlay_auto: written.is_none(),
            underlay_inset: self.or("underlay_inset", row.satin_underlay_inset),
            underlay_spacing: self.or("underlay_spacing", row.satin_underlay_spacing),
            underlay_stitch_length: self.or("underlay_stitch_length", row.satin_underlay_stitch_length),
        }
    }

    fn fill(&self, tex: f64, guides: &Arc<[usize]>) -> FillKeys {
        let row = self.material;
        let centre = self.of.point("centre");
        let implied_flow = match (guides.is_empty(), centre) {
            (false, _) => "guided",
            (true, Some(_)) => "radial",
            (true, None) => self.of.word("flow"),
        };
        let stitch_length = self.or("stitch_length", row.fill_stitch_length);
        let gradient = |spacing_to| Gradient { spacing_to, angle: self.of.number_if_given("spacing_angle") };
        FillKeys {
            spacing: self.spacing(For::Fill, tex),
            gradient: self.of.number_if_given("spacing_to").map(gradient),
            stitch_length,
            shortest_stitch: self.number("shortest_stitch", For::Fill).min(stitch_length),
            angle: self.of.number_if_given("angle"),
            shifts: match self.of.text_if_given("shifts") {
                Some(_) => Shifts::Irregular,
                None => Shifts::Cycle(self.of.numbers("shifts").unwrap_or_else(|| preset_list("shifts"))),
            },
            seed: self.of.count("seed"),
            flow: match self.of.text_if_given("flow").unwrap_or(implied_flow) {
                "contour" => Flow::Contour,
                "radial" => Flow::Radial,
                "guided" if !guides.is_empty() => Flow::Guided,
                _ => Flow::Straight,
            },
            centre,
            guides: guides.clone(),
            open: self.of.bool("open"),
            edge: match self.of.word("edge") {
                "run" => Edge::Run,
                "satin" => Edge::Satin,
                _ => Edge::None,
            },
            edge_width: self.of.number("edge_width"),
            trim_to_outline: self.of.bool("trim_to_outline"),
            pull: self.pull(),
            underlay: self.layers().unwrap_or_else(|| row.fill_underlay.clone()),
            underlay_auto: self.layers().is_none(),
            underlay_inset: self.or("underlay_inset", row.fill_underlay_inset),
            underlay_spacing: self.or("underlay_spacing", row.fill_underlay_spacing),
            underlay_stitch_length: self.or("underlay_stitch_length", row.fill_underlay_stitch_length),
        }
    }
}

fn method(word: &str) -> MethodChoice {
    match word {
        "run" => MethodChoice::Run,
        "satin" => MethodChoice::Satin,
        "fill" => MethodChoice::Fill,
        "skip" => MethodChoice::Skip,
        _ => MethodChoice::Auto,
    }
}

fn preset(name: &str, for_: For) -> f64 {
    let number = match crate::keys::find(STITCH, name).map(|key| &key.preset) {
        Some(Preset::Number(number)) => Some(*number),
        Some(Preset::Numbers { run, satin, fill }) => match for_ {
            For::Run => *run,
            For::Satin => *satin,
            For::Fill => *fill,
        },
        _ => None,
    };
    debug_assert!(number.is_some(), "{name:?} has no default for that method");
    number.unwrap_or_default()
}

fn preset_list(name: &str) -> Vec<f64> {
    match crate::keys::find(STITCH, name).map(|key| &key.preset) {
        Some(Preset::List(list)) => list.to_vec(),
        _ => Vec::new(),
    }
}

impl Material {
    /// Spacing of columns in a thread of the usual thickness where nobody says another, mm.
    pub fn column_spacing(&self) -> f64 {
        preset("spacing", For::Satin) * self.spacing_factor
    }

    /// Spacing of fills likewise, mm.
    pub fn fill_spacing(&self) -> f64 {
        preset("spacing", For::Fill) * self.spacing_factor
    }
}

impl Recipe {
    /// The number of the thread that a colour of the drawing is sewn with.
    fn thread_for(&self, drawn: Color) -> Option<usize> {
        let asked = self.threads.iter().position(|thread| thread.replaces.contains(&drawn));
        asked.or_else(|| self.threads.iter().position(|thread| thread.color == drawn))
    }
}
