//! From the text to a [`Recipe`]: reads it, then checks what one key cannot
//! know of another.

use crate::colourway::{Swap, colourway};
use crate::materials::Materials;
use crate::nearest::{listed, nearest, shortened};
use crate::read::Reader;
use crate::recipe::{Checks, Design, Hoop, Keep, Order, Recipe, Rule, Selector, Sewing, ThreadChoice};
use crate::source::{Diagnostics, Source};
use crate::table::{self, ROOT};
use crate::values::{Found, Value, Values, View};
use laidwork_plan::{Color, Warned, Warning};
use std::collections::BTreeSet;

/// Reads a recipe called `file`.
///
/// # Errors
/// Everything that is wrong with the text, each with its place and the way out.
pub fn parse(text: &str, file: &str) -> Result<Warned<Recipe>, Diagnostics> {
    parse_with(text, file, &Materials::built_in())
}

/// Reads a recipe called `file` over a materials table of one's own.
///
/// # Errors
/// Everything that is wrong with the text, each with its place and the way out.
pub fn parse_with(text: &str, file: &str, materials: &Materials) -> Result<Warned<Recipe>, Diagnostics> {
    let source = Source::new(file, text);
    let mut reader = Reader::new(&source);
    let values = reader.document(ROOT);
    let materials = materials.overlaid(values.rows("material"), &mut reader);
    let recipe = build(&values, materials, source.clone());
    check_names(&values, &recipe, &mut reader);
    check_pairs(&values, &mut reader);
    let warnings = empty_rules(&recipe);
    reader.finish(Warned { value: recipe, warnings })
}

impl Default for Recipe {
    /// What holds without a recipe.
    fn default() -> Recipe {
        build(&Values::default(), Materials::built_in(), Source::new("recipe", ""))
    }
}

fn build(values: &Values, materials: Materials, source: Source) -> Recipe {
    let nothing = Values::default();
    let part = |name| values.table(name).unwrap_or(&nothing);
    Recipe {
        design: design(View::new(table::DESIGN, part("design"))),
        threads: values.tables("thread").iter().filter_map(|found| thread(found, &source)).collect(),
        places: values
            .tables("place")
            .iter()
            .filter_map(|found| crate::place::place(found, source.line(found.start)))
            .collect(),
        colourways: values.tables("colourway").iter().filter_map(|found| colourway(found, &source)).collect(),
        sewing: sewing(View::new(table::SEWING, part("sewing"))),
        order: order(View::new(table::ORDER, part("order"))),
        checks: checks(View::new(table::CHECKS, part("checks"))),
        rules: values.tables("rule").iter().filter_map(|found| rule(found, &source)).collect(),
        materials,
        chosen: None,
        defaults: part("defaults").clone(),
        source,
    }
}

fn design(of: View<'_>) -> Design {
    Design {
        width: of.number_if_given("width"),
        height: of.number_if_given("height"),
        hoop: hoop(of),
        material: of.word("material").to_owned(),
        title: of.text_if_given("title").map(str::to_owned),
        grain: of.number("grain"),
        fabric: of.color("fabric"),
    }
}

fn hoop(of: View<'_>) -> Option<Hoop> {
    if let Some([width, height]) = of.pair("hoop") {
        return Some(Hoop::Rectangle { width, height });
    }
    let round = View::new(table::ROUND_HOOP, of.values.table("hoop")?);
    Some(Hoop::Round { diameter: round.number_if_given("round")? })
}

fn thread(found: &Found, source: &Source) -> Option<ThreadChoice> {
    let Value::Table(values) = &found.value else { return None };
    let of = View::new(table::THREAD, values);
    Some(ThreadChoice {
        color: of.color("color")?,
        name: of.text_if_given("name").map(str::to_owned),
        tex: of.number_if_given("tex"),
        replaces: of.colors("for"),
        line: source.line(found.start),
    })
}

fn sewing(of: View<'_>) -> Sewing {
    Sewing {
        trim_over: of.number("trim_over"),
        tie_length: of.number("tie_length"),
        tie_stitches: of.count("tie_stitches") as u32,
        stitches_per_minute: of.number("stitches_per_minute"),
        seconds_per_trim: of.number("seconds_per_trim"),
        seconds_per_thread_change: of.number("seconds_per_thread_change"),
        needles: of.count("needles") as u32,
        tex: of.number("tex"),
        thread_take_up: of.number("thread_take_up"),
        thread_per_stitch: of.number("thread_per_stitch"),
        bobbin_share: of.number("bobbin_share"),
    }
}

fn order(of: View<'_>) -> Order {
    let groups = |name| of.list(name).iter().map(Found::patterns).collect();
    let pairs = of.list("before").iter().filter_map(|pair| {
        let mut both = pair.patterns().into_iter();
        Some((both.next()?, both.next()?))
    });
    Order {
        keep: if of.word("keep") == "drawing" { Keep::Drawing } else { Keep::Best },
        first: of.patterns("first"),
        last: of.patterns("last"),
        before: pairs.collect(),
        together: groups("together"),
        outside_in: groups("outside_in"),
        inside_out: groups("inside_out"),
        around: groups("around"),
    }
}

fn checks(of: View<'_>) -> Checks {
    // A default yields to what was written.
    let too_dense = |name, dense| of.number_if_given(name).unwrap_or_else(|| of.number(name).max(dense));
    let dense = |name, too_dense: Option<f64>| {
        of.number_if_given(name).unwrap_or_else(|| of.number(name).min(too_dense.unwrap_or(f64::INFINITY)))
    };
    let dense_thread = dense("dense_thread", of.number_if_given("too_dense_thread"));
    let dense_needle = dense("dense_needle", of.number_if_given("too_dense_needle"));
    Checks {
        dense_thread,
        too_dense_thread: too_dense("too_dense_thread", dense_thread),
        dense_needle,
        too_dense_needle: too_dense("too_dense_needle", dense_needle),
    }
}

fn rule(found: &Found, source: &Source) -> Option<Rule> {
    let Value::Table(values) = &found.value else { return None };
    let of = View::new(table::RULE, values);
    let selector = Selector::read(of);
    let mut kept = Values::default();
    for (key, found) in values.iter().filter(|(key, _)| table::PICK.iter().all(|pick| pick.name != *key)) {
        kept.insert(key, found.clone());
    }
    Some(Rule { selector, line: source.line(found.start), values: kept })
}

/// Names of materials and threads have to be known.
fn check_names(values: &Values, recipe: &Recipe, reader: &mut Reader<'_>) {
    let design = values.table("design").and_then(|design| design.get("material"));
    let rules = recipe.rules.iter().map(|rule| &rule.values).chain([&recipe.defaults]);
    for found in rules.clone().filter_map(|rule| rule.get("material")).chain(design) {
        let name = found.text().unwrap_or_default();
        // Of a row whose bases cannot be used that is told already.
        if !recipe.materials.has(name) {
            let advice = if reader.may_suggest() { recipe.materials.advice(name) } else { "see the list".to_owned() };
            reader.wrong(found.span.clone(), format!("there is no material \"{}\"", shortened(name)), advice);
        }
    }
    let known: BTreeSet<&str> = recipe.threads.iter().filter_map(|thread| thread.name.as_deref()).collect();
    let borders = rules.clone().filter_map(|rule| rule.table("border"));
    let swaps = recipe.colourways.iter().flat_map(|colourway| &colourway.swaps).flat_map(Swap::threads);
    for found in rules.chain(borders).filter_map(|rule| rule.get("thread")).chain(swaps) {
        let name = found.text().unwrap_or_default();
        if name.parse::<Color>().is_err() && !known.contains(name) {
            let near = if reader.may_suggest() { nearest(name, known.iter().copied()) } else { None };
            let advice = match near {
                Some(near) => format!("did you mean \"{near}\"?"),
                None if known.is_empty() => "list it as a `[[thread]]` with its name, or write a colour".to_owned(),
                None => format!("the threads are {}; or write a colour", listed(known.iter().copied())),
            };
            reader.wrong(found.span.clone(), format!("there is no thread \"{}\"", shortened(name)), advice);
        }
    }
}

impl Recipe {
    /// The number of the thread of that name.
    pub(crate) fn thread_named(&self, name: &str) -> Option<usize> {
        self.threads.iter().position(|thread| thread.name.as_deref() == Some(name))
    }
}

fn empty_rules(recipe: &Recipe) -> Vec<Warning> {
    let empty = recipe.rules.iter().filter(|rule| rule.values.is_empty());
    let place = |rule: &Rule| format!("{}:{}", recipe.source.file, rule.line);
    let told = |rule| {
        Warning::at(place(rule), "the rule says nothing about the shapes it picks", "give it a key, as `method`")
    };
    empty.map(told).collect()
}

/// Pairs of keys of one table that have to agree.
fn check_pairs(values: &Values, reader: &mut Reader<'_>) {
    let nothing = Values::default();
    let checks = View::new(table::CHECKS, values.table("checks").unwrap_or(&nothing));
    for (less, more) in [("dense_thread", "too_dense_thread"), ("dense_needle", "too_dense_needle")] {
        if let (Some(low), Some(high)) = (checks.number_if_given(less), checks.number_if_given(more))
            && low > high
            && let Some(found) = checks.values.get(less)
        {
            let message = format!("`{less}` is more than `{more}`, {high}");
            reader.wrong(found.span.clone(), message, format!("make `{less}` the smaller one"));
        }
    }
    let mut colourways = BTreeSet::new();
    for found in values.tables("colourway") {
        let Value::Table(colourway) = &found.value else { continue };
        if let Some(name) = colourway.get("name")
            && let Some(text) = name.text()
            && !colourways.insert(text.to_lowercase())
        {
            let message = format!("there are two colourways \"{}\"", shortened(text));
            reader.wrong(name.span.clone(), message, "give each a name of its own");
        }
    }
    let mut places = BTreeSet::new();
    for found in values.tables("place") {
        let Value::Table(place) = &found.value else { continue };
        if let Some(name) = place.get("name")
            && let Some(text) = name.text()
            && !places.insert(text.to_owned())
        {
            let message = format!("there are two places \"{}\"", shortened(text));
            reader.wrong(name.span.clone(), message, "give each a name of its own");
        }
        if let (Some(_), Some(grid)) = (place.get("ring"), place.get("grid")) {
            reader.wrong(grid.span.clone(), "a place has a `ring` and a `grid`", "take one of the two out");
        }
    }
    let (mut names, mut colors) = (BTreeSet::new(), BTreeSet::new());
    for found in values.tables("thread") {
        let Value::Table(thread) = &found.value else { continue };
        if let Some(name) = thread.get("name")
            && let Some(text) = name.text()
            && !names.insert(text.to_owned())
        {
            let message = format!("there are two threads \"{}\"", shortened(text));
            reader.wrong(name.span.clone(), message, "give each a name of its own");
        }
        let of = View::new(table::THREAD, thread);
        if let Some(color) = of.colors("for").into_iter().find(|color| !colors.insert(*color))
            && let Some(found) = thread.get("for")
        {
            let message = format!("two threads are for the colour {color}");
            reader.wrong(found.span.clone(), message, "take it out of one of the two");
        }
    }
}
