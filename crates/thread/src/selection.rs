//! Which threads of a chart a design takes: the nearest for every colour, or a
//! limited palette for all, with what is needed of each, what is left, and how
//! they stand out. Linear in colours times threads, but for the limited palette.

use crate::{Chart, ChartThread, Contrast, Difference, Match, Visibility, Wanted};
use crate::{contrasts, limited_palette, nearest, substitutes};
use laidwork_plan::{Color, Warned, Warning};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// Threads farther off than this are no substitutes (CIEDE2000).
const FARTHEST_SUBSTITUTE: f64 = 10.0;

/// Substitutes named for a thread, at most.
const MOST_SUBSTITUTES: usize = 3;

/// What a design needs of one colour.
#[derive(Clone, Debug, PartialEq)]
pub struct Need {
    /// The colour.
    pub color: Color,
    /// What its thread is called, if it has a name.
    pub name: Option<String>,
    /// The pieces sewn in it.
    pub pieces: Vec<String>,
    /// Top thread it takes, metres.
    pub metres: f64,
}

/// What is wished for of a [`Selection`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wishes<'a> {
    /// Fabrics the threads are held against.
    pub fabrics: &'a [Color],
    /// Threads offered for each colour, the one taken among them; at least 1.
    pub offers: usize,
    /// At most so many threads for the whole design; `None`: the nearest for each colour.
    pub at_most: Option<usize>,
}

/// The threads of a chart for a design.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(title = "Threads for a design")]
pub struct Selection {
    /// Every colour of the design, in the order it is sewn.
    pub colors: Vec<Choice>,
    /// The threads taken, in the order they are first sewn.
    pub threads: Vec<Spool>,
    /// The limited palette, when one was wished for.
    pub palette: Option<Palette>,
}

/// What is offered for a colour.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Choice {
    /// The colour, `#rrggbb`.
    pub color: String,
    /// What its thread is called in the design.
    pub name: Option<String>,
    /// The pieces sewn in it.
    pub pieces: Vec<String>,
    /// Top thread it takes, metres.
    pub metres: f64,
    /// Threads of the chart: first the one taken, then others, the nearest first.
    pub offers: Vec<Offer>,
    /// The threads taken for what lies beside it.
    pub beside: Vec<Beside>,
}

/// A thread of the chart for a colour.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Offer {
    /// Its code.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Its colour, `#rrggbb`.
    pub color: String,
    /// CIEDE2000 to the colour wanted.
    pub difference: f64,
    /// The difference in words.
    pub words: String,
    /// Metres left, where the chart says so.
    pub left: Option<f64>,
    /// How it stands out from each fabric.
    pub contrasts: Vec<OnFabric>,
}

/// How a thread stands out from a fabric.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OnFabric {
    /// Colour of the fabric, `#rrggbb`.
    pub fabric: String,
    /// Contrast ratio, 1 to 21.
    pub ratio: f64,
    /// CIEDE2000.
    pub difference: f64,
    /// Both in words.
    pub words: String,
}

/// How a thread stands out from one beside it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Beside {
    /// Code of the other thread.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Contrast ratio, 1 to 21.
    pub ratio: f64,
    /// CIEDE2000.
    pub difference: f64,
    /// Both in words.
    pub words: String,
}

/// A thread that is taken, and how much of it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Spool {
    /// Its code.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Its colour, `#rrggbb`.
    pub color: String,
    /// Top thread the design takes of it, metres.
    pub metres: f64,
    /// Metres left, where the chart says so.
    pub left: Option<f64>,
    /// Whether what is left will do, where the chart says how much that is.
    pub enough: Option<bool>,
    /// Where it will not: near threads of which enough is left.
    pub substitutes: Vec<Substitute>,
}

impl Spool {
    /// What is left of it, in words; nothing where the chart does not say.
    pub fn left_words(&self) -> String {
        match (self.left, self.enough) {
            (Some(left), Some(false)) => format!("only {left:.1} m left"),
            (Some(left), _) => format!("{left:.0} m left"),
            (None, _) => String::new(),
        }
    }
}

/// A thread that may stand in for another.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Substitute {
    /// Its code.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Its colour, `#rrggbb`.
    pub color: String,
    /// CIEDE2000 to the thread it stands in for.
    pub difference: f64,
    /// The difference in words.
    pub words: String,
    /// Metres left, where the chart says so.
    pub left: Option<f64>,
}

/// A palette of at most so many threads.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Palette {
    /// The most that were allowed.
    pub at_most: usize,
    /// True when no other choice has a smaller weighted sum of differences.
    pub exact: bool,
}

/// Chooses threads of `chart` for `needs`, whose threads are sewn side by side
/// in these pairs. Warns of colours the chart has nothing near for, of threads
/// that will run out, that sink into a fabric or look like their neighbour.
/// `None` for a chart without threads or a palette of none.
pub fn select(
    chart: &Chart,
    needs: &[Need],
    neighbours: &[(usize, usize)],
    wishes: &Wishes<'_>,
) -> Option<Warned<Selection>> {
    let threads = chart.threads();
    let mut warnings = Vec::new();
    let (taken, palette) = taken(chart, needs, wishes.at_most)?;
    let chosen: Vec<&ChartThread> = taken.iter().filter_map(|found| threads.get(found.thread)).collect();
    let colors: Vec<Color> = chosen.iter().map(|thread| thread.color).collect();
    let beside = contrasts(&colors, wishes.fabrics.first().copied().unwrap_or(Color::new(255, 255, 255)), neighbours);
    let mut choices = Vec::with_capacity(needs.len());
    for (number, ((need, found), beside)) in needs.iter().zip(&taken).zip(&beside).enumerate() {
        let offers = offers(chart, need.color, found, wishes);
        warn_of_choice(need, &offers, &mut warnings);
        for (other, contrast) in beside.neighbours.iter().filter(|(other, _)| *other > number) {
            let same = taken.get(*other).is_some_and(|other| other.thread == found.thread);
            if let (Some(other), Visibility::Lost) = (needs.get(*other), contrast.visibility) {
                let (how, advice) = if same {
                    ("are sewn in the same thread", "allow more threads, or mind that their edge will not show")
                } else {
                    ("get threads that can hardly be told apart", "take a lighter or darker one for one of them")
                };
                warnings.push(Warning::new(
                    format!("{} and {} lie side by side and {how}", called(need), called(other)),
                    advice,
                ));
            }
        }
        let beside = beside.neighbours.iter().filter_map(|(other, contrast)| {
            let thread = chosen.get(*other)?;
            let Contrast { ratio, difference, visibility } = *contrast;
            let (code, name) = (thread.code.clone(), thread.name.clone());
            Some(Beside { code, name, ratio, difference, words: visibility.words().to_owned() })
        });
        choices.push(Choice {
            color: need.color.to_string(),
            name: need.name.clone(),
            pieces: need.pieces.clone(),
            metres: need.metres,
            offers,
            beside: beside.collect(),
        });
    }
    let spools = spools(chart, needs, &taken, &mut warnings);
    Some(Warned { value: Selection { colors: choices, threads: spools, palette }, warnings })
}

/// The thread taken for each need.
fn taken(chart: &Chart, needs: &[Need], at_most: Option<usize>) -> Option<(Vec<Match>, Option<Palette>)> {
    let Some(at_most) = at_most else {
        let nearest: Option<Vec<Match>> = needs.iter().map(|need| nearest(chart, need.color, 1).pop()).collect();
        return Some((nearest?, None));
    };
    let wanted: Vec<Wanted> = needs.iter().map(|need| Wanted { color: need.color, weight: need.metres }).collect();
    let limited = limited_palette(chart, &wanted, at_most)?;
    let found = limited.uses.iter().zip(&limited.differences);
    let found = found.map(|(&thread, &difference)| Match { thread, difference, words: Difference::of(difference) });
    Some((found.collect(), Some(Palette { at_most, exact: limited.exact })))
}

/// The thread taken and others, the nearest first.
fn offers(chart: &Chart, color: Color, taken: &Match, wishes: &Wishes<'_>) -> Vec<Offer> {
    let others = nearest(chart, color, wishes.offers.max(1)).into_iter().filter(|found| found.thread != taken.thread);
    let found = std::iter::once(taken.clone()).chain(others).take(wishes.offers.max(1));
    let offer = |found: Match| {
        let thread = chart.threads().get(found.thread)?;
        let on = |&fabric: &Color| {
            let Contrast { ratio, difference, visibility } = Contrast::between(thread.color, fabric);
            OnFabric { fabric: fabric.to_string(), ratio, difference, words: visibility.words().to_owned() }
        };
        Some(Offer {
            code: thread.code.clone(),
            name: thread.name.clone(),
            color: thread.color.to_string(),
            difference: found.difference,
            words: found.words.words().to_owned(),
            left: thread.left,
            contrasts: wishes.fabrics.iter().map(on).collect(),
        })
    };
    found.filter_map(offer).collect()
}

fn called(need: &Need) -> String {
    match &need.name {
        Some(name) => format!("{name} {}", need.color),
        None => need.color.to_string(),
    }
}

fn warn_of_choice(need: &Need, offers: &[Offer], warnings: &mut Vec<Warning>) {
    let Some(taken) = offers.first() else { return };
    if Difference::of(taken.difference) == Difference::Other {
        let nearer = offers.iter().find(|offer| Difference::of(offer.difference) != Difference::Other);
        let (what, advice) = match nearer {
            Some(nearer) => (
                format!("{} gets {} {}, another colour", called(need), taken.code, taken.name),
                format!("allow more threads: {} {} is {}", nearer.code, nearer.name, nearer.words),
            ),
            None => (
                format!("the chart has nothing near {}: {} {} is another colour", called(need), taken.code, taken.name),
                "add a thread to the chart, or change the design's colour".to_owned(),
            ),
        };
        warnings.push(Warning::new(what, advice));
    }
    for on in taken.contrasts.iter().filter(|on| on.words == Visibility::Lost.words()) {
        let what = format!("{} {} sinks into the fabric {}", taken.code, taken.name, on.fabric);
        warnings.push(Warning::new(what, "take another thread or fabric where it meets the cloth"));
    }
}

/// What the design takes of each thread.
fn spools(chart: &Chart, needs: &[Need], taken: &[Match], warnings: &mut Vec<Warning>) -> Vec<Spool> {
    let mut order: Vec<usize> = Vec::new();
    let mut metres: BTreeMap<usize, f64> = BTreeMap::new();
    for (need, found) in needs.iter().zip(taken) {
        let sum = metres.entry(found.thread).or_insert_with(|| {
            order.push(found.thread);
            0.0
        });
        *sum += need.metres;
    }
    let spool = |index: usize| {
        let thread = chart.threads().get(index)?;
        let metres = metres.get(&index).copied().unwrap_or_default();
        let will_do = |thread: &ChartThread| thread.left.is_none_or(|left| left >= metres);
        let enough = thread.left.map(|_| will_do(thread));
        let stand_in = |found: Match| {
            let thread = chart.threads().get(found.thread).filter(|thread| will_do(thread))?;
            Some(Substitute {
                code: thread.code.clone(),
                name: thread.name.clone(),
                color: thread.color.to_string(),
                difference: found.difference,
                words: found.words.words().to_owned(),
                left: thread.left,
            })
        };
        let all = if enough == Some(false) { chart.threads().len() } else { 0 };
        let substitutes: Vec<Substitute> = substitutes(chart, index, FARTHEST_SUBSTITUTE, all)
            .into_iter()
            .filter_map(stand_in)
            .take(MOST_SUBSTITUTES)
            .collect();
        Some(Spool {
            code: thread.code.clone(),
            name: thread.name.clone(),
            color: thread.color.to_string(),
            metres,
            left: thread.left,
            enough,
            substitutes,
        })
    };
    let spools: Vec<Spool> = order.into_iter().filter_map(spool).collect();
    for spool in spools.iter().filter(|spool| spool.enough == Some(false)) {
        let (left, metres) = (spool.left.unwrap_or_default(), spool.metres);
        let what = format!("{} {} will run out: {left:.1} m left of {metres:.1} m", spool.code, spool.name);
        let advice = match spool.substitutes.first() {
            Some(other) => format!("buy more, or take {} {}: {}", other.code, other.name, other.words),
            None => "buy more; the chart has nothing near that would do".to_owned(),
        };
        warnings.push(Warning::new(what, advice));
    }
    spools
}

/// The JSON Schema (draft 2020-12) of a [`Selection`] written as JSON.
pub fn selection_schema() -> schemars::Schema {
    schemars::schema_for!(Selection)
}

#[cfg(test)]
mod tests {
    use super::*;

    const CHART: &str = "code,name,colour,tex,left\nr1,Rose hip,#b43d2d,27,3\nr2,Rowan,#b8402f,27,400\n\
                         g1,Pea,#4f8a3c,27,\nw1,Snowdrop,#f8f8f2,27,50\n";

    fn need(color: &str, metres: f64) -> Need {
        Need { color: color.parse().unwrap(), name: None, pieces: vec!["leaf".into()], metres }
    }

    fn chosen(needs: &[Need], at_most: Option<usize>, fabric: &str) -> (Selection, Vec<String>) {
        let chart = Chart::read(CHART.as_bytes()).unwrap();
        let fabrics = [fabric.parse().unwrap()];
        let wishes = Wishes { fabrics: &fabrics, offers: 2, at_most };
        let found = select(&chart, needs, &[(0, 1)], &wishes).unwrap();
        (found.value, found.warnings.iter().map(ToString::to_string).collect())
    }

    #[test]
    fn the_nearest_is_taken_and_counted() {
        let (found, warnings) = chosen(&[need("#4f8a3c", 12.0), need("#f8f8f2", 4.0)], None, "#22304f");
        assert_eq!(found.colors[0].offers[0].code, "g1");
        assert_eq!(found.colors[0].offers.len(), 2);
        assert_eq!(found.colors[0].beside[0].code, "w1");
        let spools: Vec<_> = found.threads.iter().map(|spool| (spool.code.as_str(), spool.enough)).collect();
        assert_eq!(spools, [("g1", None), ("w1", Some(true))]);
        assert_eq!(warnings, Vec::<String>::new());
    }

    #[test]
    fn a_thread_that_runs_out_has_a_substitute() {
        let (found, warnings) = chosen(&[need("#b43d2d", 2.0), need("#b33c2c", 2.0)], None, "#ffffff");
        assert_eq!(found.threads.len(), 1);
        assert_eq!((found.threads[0].metres, found.threads[0].enough), (4.0, Some(false)));
        assert_eq!(found.threads[0].substitutes.iter().map(|s| s.code.as_str()).collect::<Vec<_>>(), ["r2"]);
        assert!(warnings.iter().any(|told| told.contains("will run out") && told.contains("r2 Rowan")), "{warnings:?}");
    }

    #[test]
    fn a_palette_holds_to_its_number() {
        let needs = [need("#b43d2d", 9.0), need("#4f8a3c", 1.0)];
        let (found, warnings) = chosen(&needs, Some(1), "#22304f");
        assert_eq!(found.threads.len(), 1);
        assert_eq!(found.palette, Some(Palette { at_most: 1, exact: true }));
        assert_eq!(found.colors[1].offers[0].code, found.colors[0].offers[0].code);
        assert_eq!(found.colors[1].offers[1].code, "g1");
        assert!(warnings.iter().any(|told| told.contains("sewn in the same thread")), "{warnings:?}");
        assert!(
            warnings.iter().any(|told| told.contains("#4f8a3c gets") && told.contains("g1 Pea is")),
            "{warnings:?}"
        );
    }

    #[test]
    fn what_sinks_into_the_fabric_is_told_of() {
        let (found, warnings) = chosen(&[need("#f8f8f2", 1.0), need("#4f8a3c", 1.0)], None, "#fafaf6");
        assert_eq!(found.colors[0].offers[0].contrasts[0].words, Visibility::Lost.words());
        assert!(
            warnings.iter().any(|told| told.starts_with("w1 Snowdrop sinks into the fabric #fafaf6")),
            "{warnings:?}"
        );
    }

    #[test]
    fn nothing_comes_of_no_threads() {
        let wishes = Wishes { fabrics: &[], offers: 1, at_most: Some(0) };
        let chart = Chart::read(CHART.as_bytes()).unwrap();
        assert!(select(&chart, &[need("#000000", 1.0)], &[], &wishes).is_none());
        assert!(select(&Chart::default(), &[need("#000000", 1.0)], &[], &Wishes { at_most: None, ..wishes }).is_none());
    }
}
