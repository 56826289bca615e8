//! Parts are put into sewing order.

use crate::layer::Layer;
use crate::pace;
use crate::part::Part;
use crate::settings;
use laidwork_geometry::Locator;
use laidwork_order::{ArrangeSettings, Arrangement, Costs, Item, LONGEST_FLOAT, Passage, Pin, arrange};
use laidwork_plan::{Method, Point, Warned};
use laidwork_recipe::{Keep, Pins, Recipe};
use laidwork_satin::Apart;
use laidwork_thread::Pace;
use rayon::prelude::*;

/// Stitches on a square millimetre of a covering layer, for estimates: common
/// practice is 1.0 to 1.8, no source.
const STITCHES_PER_MM2: f64 = 1.4;

/// Parts with more open ends than this may begin anywhere.
const MOST_ENDS: usize = 12;

/// The sewing order of `parts` under the recipe's wishes, and what columns were taken apart for it, one entry a part.
pub(crate) fn sequence(
    parts: &[Part<'_>],
    layers: &[Layer<'_>],
    recipe: &Recipe,
    pins: &Pins,
) -> (Warned<Arrangement>, Vec<Option<Apart>>) {
    let threads = layers.iter().map(|layer| layer.thread + 1).max().unwrap_or(0);
    let Pace { stitches_per_minute, trim, change } = pace(recipe, threads);
    let stitches_per_minute = stitches_per_minute.max(1.0);
    let is_alone = parts.len() < 2;
    let gates = |part: &Part<'_>| if is_alone { (Vec::new(), None) } else { column_ends(part, &layers[part.layer]) };
    let (gates, aparts): (Vec<Vec<Point>>, Vec<Option<Apart>>) = parts.par_iter().map(gates).unzip();
    let hides = hiding(parts, layers);
    let item =
        |(part, gates): (&Part<'_>, _)| item(part, &layers[part.layer], gates, hides[part.layer], stitches_per_minute);
    let items: Vec<Item> = parts.iter().zip(gates).map(item).collect();
    let costs = Costs {
        // The machine cuts at every change of thread.
        thread_change: change.max(trim),
        trim,
        stitches_per_minute,
        trim_over: recipe.sewing.trim_over.min(LONGEST_FLOAT),
        ..Costs::default()
    };
    let settings = ArrangeSettings { costs, keep_drawing: pins.keep == Keep::Drawing, ..ArrangeSettings::default() };
    (arrange(&items, &pins_of_parts(pins, parts, layers), &settings), aparts)
}

/// Of each layer whether its stitches hide what lies under them.
fn hiding(parts: &[Part<'_>], layers: &[Layer<'_>]) -> Vec<bool> {
    let mut takes_columns = vec![false; layers.len()];
    parts.iter().for_each(|part| takes_columns[part.layer] |= !part.thin);
    layers.iter().zip(takes_columns).map(|(layer, takes_columns)| layer.hides_if(|| takes_columns)).collect()
}

fn item(part: &Part<'_>, layer: &Layer<'_>, column_ends: Vec<Point>, hides: bool, pace: f64) -> Item {
    let (gates, passage) = match (layer.settings.start, layer.settings.end) {
        (Some(start), Some(end)) => (vec![start, end], Passage::OneWay),
        _ => match (run_ends(part), fade_ends(part, layer)) {
            (Some(ends), _) => (ends.to_vec(), Passage::Through),
            (_, Some(ends)) => (ends.to_vec(), Passage::OneWay),
            _ => (column_ends, Passage::Free),
        },
    };
    Item {
        name: part.name.clone(),
        thread: layer.thread,
        depth: part.layer,
        region: part.polygon.clone().into(),
        hides: hides && part.method != Method::Run,
        passage,
        gates,
        seconds: part.polygon.area() * STITCHES_PER_MM2 * 60.0 / pace,
    }
}

/// From where to where a part is sewn whose rows open towards one side.
fn fade_ends(part: &Part<'_>, layer: &Layer<'_>) -> Option<[Point; 2]> {
    let fill = (part.method == Method::Fill).then_some(&layer.settings.fill)?;
    fill.gradient.as_ref()?;
    laidwork_fill::fade_ends(&part.polygon, &settings::fill(fill, Vec::new()))
}

/// The two ends of a part that is one open line sewn as a run.
fn run_ends(part: &Part<'_>) -> Option<[Point; 2]> {
    let (ink, lines) = part.ink.as_ref().filter(|_| part.method == Method::Run)?;
    let [line] = lines.as_slice() else { return None };
    let line = ink.lines.get(*line).filter(|line| !line.closed)?;
    Some([*line.points.first()?, *line.points.last()?])
}

/// Where the columns of a part end openly; none where it is not sewn as columns or has too many.
/// A column can be left at the end where it was entered as well as at the other. What was taken apart to find them
/// comes with them.
fn column_ends(part: &Part<'_>, layer: &Layer<'_>) -> (Vec<Point>, Option<Apart>) {
    if part.method != Method::Satin || part.mixed || !layer.settings.satin.crossings.is_empty() {
        return Default::default();
    }
    let mut apart = None;
    let mut ends = match &part.ink {
        Some((ink, lines)) => {
            let open = lines.iter().filter_map(|&line| ink.lines.get(line)).filter(|line| !line.closed);
            open.flat_map(|line| [line.points.first(), line.points.last()]).flatten().copied().collect()
        }
        None => {
            let settings = settings::satin(&layer.settings.satin, settings::fill(&layer.settings.fill, Vec::new()));
            apart.insert(Apart::new(&part.polygon, &settings)).open_ends()
        }
    };
    // The parts of a stroke that is cut off may hold other ends than the line has.
    let locator = Locator::from_rings(part.polygon.rings());
    ends.retain(|end| locator.contains(*end) || locator.distance_to_outline(*end) < 0.1);
    (if ends.len() > MOST_ENDS { Vec::new() } else { ends }, apart)
}

/// Wishes about shapes as wishes about their parts.
fn pins_of_parts(pins: &Pins, parts: &[Part<'_>], layers: &[Layer<'_>]) -> Vec<Pin> {
    let shapes = layers.iter().map(|layer| layer.shape + 1).max().unwrap_or(0);
    let mut of_shape = vec![Vec::new(); shapes];
    for (index, part) in parts.iter().enumerate() {
        of_shape[layers[part.layer].shape].push(index);
    }
    let parts_of = |numbers: &Vec<usize>| -> Vec<usize> {
        numbers.iter().filter_map(|&shape| of_shape.get(shape)).flatten().copied().collect()
    };
    let mut wishes = vec![Pin::First(parts_of(&pins.first)), Pin::Last(parts_of(&pins.last))];
    wishes.extend(pins.before.iter().map(|(a, b)| Pin::Before { earlier: parts_of(a), later: parts_of(b) }));
    wishes.extend(pins.together.iter().map(|group| Pin::Together(parts_of(group))));
    wishes.extend(pins.outside_in.iter().map(|group| Pin::OutsideIn(parts_of(group))));
    wishes.extend(pins.inside_out.iter().map(|group| Pin::InsideOut(parts_of(group))));
    wishes.extend(pins.around.iter().map(|group| Pin::Around(parts_of(group))));
    wishes.retain(|wish| match wish {
        Pin::Before { earlier, later } => !earlier.is_empty() && !later.is_empty(),
        Pin::First(list)
        | Pin::Last(list)
        | Pin::Together(list)
        | Pin::OutsideIn(list)
        | Pin::InsideOut(list)
        | Pin::Around(list)
        | Pin::InTurn(list) => !list.is_empty(),
    });
    wishes
}
