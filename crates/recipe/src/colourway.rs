//! Colourways: the same design in other threads on other fabric.

use crate::nearest::nearest;
use crate::recipe::{Recipe, Selector, ShapeFacts};
use crate::source::Source;
use crate::table;
use crate::values::{Found, Value, Values, View};
use laidwork_plan::{Color, Warning};

/// A named set of threads and a fabric.
#[derive(Clone, Debug)]
pub struct Colourway {
    /// What it is called; no two of a recipe share it.
    pub name: String,
    /// Colour of its fabric; `None`: the design's.
    pub fabric: Option<Color>,
    /// What is sewn in other threads, in the order it stands; later ones win.
    pub swaps: Vec<Swap>,
    /// Its line in the recipe, from 1.
    pub line: usize,
}

/// Shapes that a colourway sews in another thread.
#[derive(Clone, Debug)]
pub struct Swap {
    /// Which shapes.
    pub selector: Selector,
    /// Its line in the recipe, from 1.
    pub line: usize,
    /// The keys `thread` and `border`, as written.
    values: Values,
}

/// A colourway as written.
pub(crate) fn colourway(found: &Found, source: &Source) -> Option<Colourway> {
    let Value::Table(values) = &found.value else { return None };
    let of = View::new(table::COLOURWAY, values);
    Some(Colourway {
        name: of.text_if_given("name")?.to_owned(),
        fabric: of.color("fabric"),
        swaps: values.tables("swap").iter().filter_map(|found| swap(found, source)).collect(),
        line: source.line(found.start),
    })
}

fn swap(found: &Found, source: &Source) -> Option<Swap> {
    let Value::Table(values) = &found.value else { return None };
    let selector = Selector::read(View::new(table::SWAP, values));
    Some(Swap { selector, line: source.line(found.start), values: values.clone() })
}

impl Swap {
    /// The names and colours of threads it speaks of, where they stand.
    pub(crate) fn threads(&self) -> impl Iterator<Item = &Found> {
        ["thread", "border"].into_iter().filter_map(|key| self.values.get(key))
    }

    /// Puts its threads in the place of those that hold for a shape.
    fn lay_over(&self, values: &mut Values) {
        if let Some(thread) = self.values.get("thread") {
            values.insert("thread", thread.clone());
        }
        if let Some(thread) = self.values.get("border")
            && let Some(border) = values.table("border")
        {
            let mut border = border.clone();
            border.insert("thread", thread.clone());
            values.replace("border", Value::Table(border));
        }
    }
}

impl Recipe {
    /// This recipe for one of its [`colourways`](Recipe::colourways): its
    /// threads and its fabric in place of the design's. `None` when there is
    /// no colourway of that number.
    pub fn in_colourway(&self, number: usize) -> Option<Recipe> {
        let colourway = self.colourways.get(number)?;
        let mut recipe = Recipe { chosen: Some(number), ..self.clone() };
        recipe.design.fabric = colourway.fabric.or(self.design.fabric);
        Some(recipe)
    }

    /// The number of the colourway called `name`, whatever the case of its letters.
    ///
    /// # Errors
    /// What to write instead, as a sentence without its full stop.
    pub fn colourway_named(&self, name: &str) -> Result<usize, String> {
        let known = || self.colourways.iter().map(|colourway| colourway.name.as_str());
        let same = |known: &str| known.to_lowercase() == name.to_lowercase();
        known().position(same).ok_or_else(|| match nearest(name, known()) {
            _ if self.colourways.is_empty() => "the recipe has no `[[colourway]]`".to_owned(),
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("the colourways are {}", crate::nearest::listed(known())),
        })
    }

    /// `values` in the threads of the colourway chosen, where it has others for `shape`.
    pub(crate) fn swapped(&self, shape: &ShapeFacts<'_>, values: &Values) -> Option<Values> {
        let swaps = &self.colourways.get(self.chosen?)?.swaps;
        let mut picking = swaps.iter().filter(|swap| swap.selector.picks(shape)).peekable();
        picking.peek()?;
        let mut values = values.clone();
        picking.for_each(|swap| swap.lay_over(&mut values));
        Some(values)
    }

    /// Swaps of the colourway chosen that pick no shape.
    pub(crate) fn idle_swaps(&self, shapes: &[ShapeFacts<'_>]) -> Vec<Warning> {
        let chosen = self.chosen.and_then(|number| self.colourways.get(number));
        let swaps = chosen.map(|colourway| colourway.swaps.as_slice()).unwrap_or_default();
        let idle = swaps.iter().filter(|swap| !shapes.iter().any(|shape| swap.selector.picks(shape)));
        idle.enumerate()
            .map(|(told, swap)| self.picks_nothing("swap", &swap.selector, swap.line, shapes, told))
            .collect()
    }
}
