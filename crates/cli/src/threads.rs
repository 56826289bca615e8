//! `laidwork threads`: the nearest threads of a chart for a drawing's colours.

use crate::args::Threads as Args;
use crate::{Verdict, input, output, show};
use laidwork_engine::Recipe;
use laidwork_plan::Color;
use laidwork_thread::{Chart, Contrast, nearest};
use miette::{IntoDiagnostic, Result, WrapErr, miette};
use serde_json::{Value, json};
use std::fmt::Write;

/// A colour of the drawing with what the chart offers for it.
struct Row {
    color: Color,
    shapes: Vec<String>,
    offers: Vec<Offer>,
}

/// A thread of the chart beside a colour.
struct Offer {
    code: String,
    name: String,
    color: Color,
    difference: f64,
    words: &'static str,
    contrasts: Vec<(Color, Contrast)>,
}

/// Runs the command.
pub fn run(args: Args) -> Result<Verdict> {
    let mut warnings = Vec::new();
    let drawing = input::drawing(&args.drawing, &args.reading, &Recipe::default(), &mut warnings)?;
    show::warnings(&warnings);
    let text = input::text(&args.chart)?;
    let chart = Chart::read(text.as_bytes())
        .into_diagnostic()
        .wrap_err_with(|| format!("cannot read {}", args.chart.display()))?;
    if chart.threads().is_empty() {
        return Err(miette!("{}: the chart lists no threads", args.chart.display()));
    }
    let rows = rows(&drawing, &chart, &args.fabric, args.offers.max(1));
    let text = if args.json {
        serde_json::to_string_pretty(&as_json(&rows)).into_diagnostic()? + "\n"
    } else {
        as_text(&rows)
    };
    output::print(text.as_bytes())?;
    Ok(Verdict::Passed)
}

/// One row a colour, in the order in which the drawing paints them.
fn rows(drawing: &laidwork_drawing::Drawing, chart: &Chart, fabrics: &[Color], most: usize) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    let mut places = std::collections::BTreeMap::new();
    for shape in &drawing.shapes {
        let place = *places.entry(shape.color).or_insert_with(|| {
            rows.push(Row {
                color: shape.color,
                shapes: Vec::new(),
                offers: offers(chart, shape.color, fabrics, most),
            });
            rows.len() - 1
        });
        rows[place].shapes.push(shape.name.clone());
    }
    rows
}

fn offers(chart: &Chart, color: Color, fabrics: &[Color], most: usize) -> Vec<Offer> {
    let offer = |found: laidwork_thread::Match| {
        let thread = &chart.threads()[found.thread];
        Offer {
            code: thread.code.clone(),
            name: thread.name.clone(),
            color: thread.color,
            difference: found.difference,
            words: found.words.words(),
            contrasts: fabrics.iter().map(|&fabric| (fabric, Contrast::between(thread.color, fabric))).collect(),
        }
    };
    nearest(chart, color, most).into_iter().map(offer).collect()
}

fn as_text(rows: &[Row]) -> String {
    let mut text = String::new();
    for row in rows {
        let shown = row.shapes.iter().take(3).map(String::as_str).collect::<Vec<_>>().join(", ");
        let more = if row.shapes.len() > 3 { format!(" and {} more", row.shapes.len() - 3) } else { String::new() };
        let _ = writeln!(text, "{}  {shown}{more}", row.color);
        for offer in &row.offers {
            let Offer { code, name, color, difference, words, .. } = offer;
            let _ = writeln!(text, "    {code:<8} {name:<20} {color}  differs by {difference:5.2}: {words}");
            for (fabric, contrast) in &offer.contrasts {
                let (ratio, words) = (contrast.ratio, contrast.visibility.words());
                let _ = writeln!(text, "             on {fabric}: contrast {ratio:.1} to 1, {words}");
            }
        }
    }
    text
}

fn as_json(rows: &[Row]) -> Value {
    let contrast = |(fabric, contrast): &(Color, Contrast)| {
        json!({
            "fabric": fabric.to_string(),
            "ratio": contrast.ratio,
            "difference": contrast.difference,
            "words": contrast.visibility.words(),
        })
    };
    let offer = |offer: &Offer| {
        json!({
            "code": offer.code,
            "name": offer.name,
            "color": offer.color.to_string(),
            "difference": offer.difference,
            "words": offer.words,
            "contrasts": offer.contrasts.iter().map(contrast).collect::<Vec<_>>(),
        })
    };
    let row = |row: &Row| {
        json!({
            "color": row.color.to_string(),
            "shapes": row.shapes,
            "offers": row.offers.iter().map(offer).collect::<Vec<_>>(),
        })
    };
    json!({ "colors": rows.iter().map(row).collect::<Vec<_>>() })
}
