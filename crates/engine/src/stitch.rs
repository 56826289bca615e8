//! One part becomes passes: the method crates are called here.

use crate::hidden::{Carried, Hidden, PartGround};
use crate::ink::Ink;
use crate::layer::Layer;
use crate::part::Part;
use crate::settings;
use laidwork_drawing::Drawing;
use laidwork_fill::Beside;
use laidwork_geometry::{Join, PenLine, Polygon, Region};
use laidwork_order::{HAIR, UnjoinedPiece};
use laidwork_plan::{Method, Pass, Point, Warned};
use laidwork_recipe::{MethodChoice, RunStyle};
use laidwork_run::Ends;
use laidwork_satin::{Apart, Hidden as Covered, SatinSettings};

/// Sews one part from as near `ends.start` to as near `ends.end` as its method can; `apart` is its outline taken apart,
/// where that was done before.
pub(crate) fn stitch(
    part: &Part<'_>,
    apart: Option<Apart>,
    layer: &Layer<'_>,
    (hidden, ground): (&Hidden, PartGround<'_>),
    drawing: &Drawing,
    ends: Ends,
) -> Warned<UnjoinedPiece> {
    let sewn = match part.method {
        Method::Run => run(part, layer, (drawing, ground), ends),
        Method::Satin => satin(part, apart, layer, hidden, (drawing, ground), ends),
        Method::Fill | Method::Manual => {
            let settings = settings::fill(&layer.settings.fill, lines_of(drawing, &layer.settings.fill.guides));
            let over = hidden.over(&part.polygon);
            let under = layer.settings.fill.underlay_auto.then(|| ground.under()).flatten();
            let overlap = layer.knock_out.overlap;
            let beside = Beside { keep_out: over.as_ref(), overlap, carried_by: under.as_ref() };
            laidwork_fill::fill(&part.name, &part.polygon, beside, &settings, ends)
        }
    };
    let open = part.method == Method::Run || layer.is_open(part.method);
    let cover = if open { Region::default() } else { part.polygon.clone().into() };
    sewn.map(|passes| UnjoinedPiece {
        name: part.name.clone(),
        method: part.method,
        thread: layer.thread,
        passes,
        cover,
    })
}

fn run(
    part: &Part<'_>,
    layer: &Layer<'_>,
    (drawing, ground): (&Drawing, PartGround<'_>),
    ends: Ends,
) -> Warned<Vec<Pass>> {
    let settings = settings::run(&layer.settings.run);
    let drawn = |line: &PenLine| (line.points.clone(), line.closed);
    let lines: Vec<(Vec<Point>, bool)> = match &part.ink {
        Some(ink) if ink.0.pen.width > ONE_LINE && covers_its_width(layer, drawing) => {
            return along_lines(part, ink, None, &side_by_side(layer, (drawing, ground)), ends);
        }
        Some((ink, lines)) => lines.iter().filter_map(|&line| ink.lines.get(line)).map(drawn).collect(),
        None if part.thin && covers_its_width(layer, drawing) => {
            return satin_outline(part, &side_by_side(layer, (drawing, ground)), ends);
        }
        None if part.thin => laidwork_satin::centre_lines(&part.polygon).iter().map(drawn).collect(),
        None => part.polygon.rings().map(|ring| (ring.points.clone(), true)).collect(),
    };
    laidwork_run::network(&part.name, &lines, &settings, ends).map(|chains| {
        let mut passes = Vec::new();
        for (index, mut chain) in chains.into_iter().enumerate() {
            if index > 0
                && let Some(first) = chain.first_mut()
                && let Some(&to) = first.points.first()
            {
                first.jumps = vec![to];
            }
            passes.append(&mut chain);
        }
        passes
    })
}

/// A line this wide is covered by a single run, mm: a sewn thread is 0.3 wide.
const ONE_LINE: f64 = 0.35;

/// Whether what is thin is covered by lines side by side: where nobody asked for a run, nor for a
/// bolder one. The thin strokes of letters are runs along their middle.
fn covers_its_width(layer: &Layer<'_>, drawing: &Drawing) -> bool {
    let is_text = drawing.shapes.get(layer.shape).is_some_and(|shape| shape.cap_height.is_some());
    layer.method == MethodChoice::Auto && layer.settings.run.style == RunStyle::Single && !is_text
}

/// Settings of lines side by side, in the stitches of a run.
fn side_by_side(layer: &Layer<'_>, (drawing, ground): (&Drawing, PartGround<'_>)) -> SatinSettings {
    let columns = columns(layer, (drawing, ground));
    let run = &layer.settings.run;
    SatinSettings { travel_length: run.stitch_length, curve_length: run.curve_stitch_length, ..columns }
}

fn satin(
    part: &Part<'_>,
    apart: Option<Apart>,
    layer: &Layer<'_>,
    hidden: &Hidden,
    (drawing, ground): (&Drawing, PartGround<'_>),
    ends: Ends,
) -> Warned<Vec<Pass>> {
    let settings = columns(layer, (drawing, ground));
    let keys = &layer.settings.satin;
    if !keys.crossings.is_empty() {
        let drawn = lines_of(drawing, &keys.crossings);
        let crossings: Vec<_> = drawn.iter().filter_map(|line| Some([*line.first()?, *line.last()?])).collect();
        return laidwork_satin::from_crossings(&part.name, &part.polygon, &crossings, &settings, ends);
    }
    match &part.ink {
        Some(ink) => {
            let hidden = hidden.over(&part.polygon).map(|over| Covered {
                left_out: but_for_rims(&over, &part.polygon, layer.knock_out.overlap),
                thinned: over,
            });
            along_lines(part, ink, hidden.as_ref(), &settings, ends)
        }
        None => {
            // What is hidden but for rims was taken from the part before.
            let over = hidden.over(&part.polygon);
            let hidden = over.map(|over| Covered { left_out: Region::default(), thinned: over });
            let apart = apart.unwrap_or_else(|| Apart::new(&part.polygon, &settings));
            apart.sew(&part.name, (&part.polygon, hidden.as_ref()), &settings, ends)
        }
    }
}

/// What of `over` is farther than `rim` mm from all that shows of `part`. At the part's own outline nothing of it needs
/// to reach under anything, so there it is hidden up to the edge.
fn but_for_rims(over: &Region, part: &Polygon, rim: f64) -> Region {
    let join = Join::Round { tolerance: 0.02 };
    let shows = Region::from(part.clone()).difference(over).offset(-HAIR / 2.0, join);
    over.difference(&shows.offset(rim + HAIR / 2.0, join))
}

/// Threads, or lines where the pen is too narrow for them, along the lines a part is drawn with.
fn along_lines(
    part: &Part<'_>,
    (ink, lines): &(&Ink, Vec<usize>),
    hidden: Option<&Covered>,
    settings: &SatinSettings,
    ends: Ends,
) -> Warned<Vec<Pass>> {
    let lines: Vec<_> = lines.iter().filter_map(|&line| ink.lines.get(line).cloned()).collect();
    laidwork_satin::from_stroke(&part.name, &lines, &ink.pen, (&part.polygon, hidden), settings, ends)
}

fn satin_outline(part: &Part<'_>, settings: &SatinSettings, ends: Ends) -> Warned<Vec<Pass>> {
    laidwork_satin::from_outline(&part.name, &part.polygon, settings, ends)
}

/// The settings of a part's columns.
fn columns(layer: &Layer<'_>, (drawing, ground): (&Drawing, PartGround<'_>)) -> SatinSettings {
    let (rows, keys) = (&layer.settings.fill, &layer.settings.satin);
    let fill = settings::fill(rows, lines_of(drawing, &rows.guides));
    let may_be_lighter = keys.underlay_auto || !keys.spacing_is_written;
    let carried = if may_be_lighter { ground.carries() } else { Carried::No };
    settings::carried_satin(keys, fill, carried)
}

/// The lines of the drawing's shapes `numbers`: centre lines of strokes,
/// outlines of fills, mm.
fn lines_of(drawing: &Drawing, numbers: &[usize]) -> Vec<Vec<Point>> {
    let shapes = numbers.iter().filter_map(|&number| drawing.shapes.get(number));
    shapes
        .flat_map(|shape| match &shape.stroke {
            Some(stroke) => stroke.lines.iter().map(|line| line.points.clone()).collect::<Vec<_>>(),
            None => shape.region.rings().map(|ring| ring.points.clone()).collect(),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_geometry::Ring;

    fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Polygon {
        Polygon {
            outer: Ring::new([(x0, y0), (x1, y0), (x1, y1), (x0, y1)].map(Point::from).to_vec()),
            holes: Vec::new(),
        }
    }

    #[test]
    fn rims_are_kept_beside_what_shows_alone() {
        // Covered from 10 on, sides and all: a rim stays at 10 and none along the sides.
        let rest = but_for_rims(&rectangle(10.0, -1.0, 30.0, 4.0).into(), &rectangle(0.0, 0.0, 20.0, 3.0), 1.0);
        let hidden = rest.intersection(&rectangle(0.0, 0.0, 20.0, 3.0).into());
        assert!((hidden.area() - 9.0 * 3.0).abs() < 0.05, "{}", hidden.area());
    }
}
