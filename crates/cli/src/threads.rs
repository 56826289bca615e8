//! `laidwork threads`: threads of a chart for a design, with what is needed of each.

use crate::args::Threads as Args;
use crate::output::{self, Kind};
use crate::progress::Progress;
use crate::{Verdict, input, reads, show};
use laidwork_plan::Plan;
use laidwork_report::{ReportSettings, neighbouring_threads, report};
use laidwork_thread::{Chart, Choice, Need, Selection, Spool, Wishes, select, selection_schema};
use miette::{IntoDiagnostic, Result, WrapErr, miette};
use std::fmt::Write;

/// Pieces named for a colour, at most.
const MOST_NAMED: usize = 3;

/// Runs the command.
pub fn run(args: Args) -> Result<Verdict> {
    if args.schema {
        let schema = serde_json::to_string_pretty(&selection_schema()).into_diagnostic()? + "\n";
        output::print(schema.as_bytes())?;
        return Ok(Verdict::Passed);
    }
    let (Some(drawing), Some(path)) = (&args.drawing, &args.chart) else {
        return Err(miette!("name a drawing and a `--chart`"));
    };
    if let Some(file) = &args.output
        && Kind::asked(file) != Some(Kind::Html)
    {
        return Err(miette!("{}: the card of swatches ends in .html", file.display()));
    }
    let chart = Chart::read(input::text(path)?.as_bytes())
        .into_diagnostic()
        .wrap_err_with(|| format!("cannot read {}", path.display()))?;
    let mut warnings = Vec::new();
    let recipe = input::recipe(args.recipe.as_deref(), &mut warnings)?;
    let read = input::drawing(drawing, &args.reading, &recipe, &mut warnings)?;
    reads::keep(args.output.as_deref())?;
    let mut progress = Progress::start("sewing");
    let sewn = laidwork_engine::sew(&read, &recipe).map_err(input::diagnostics)?.take(&mut warnings);
    if sewn.plan.pieces.is_empty() {
        return Err(miette!("{}: nothing in the drawing can be sewn", drawing.display()));
    }
    let settings = ReportSettings { consumption: laidwork_engine::consumption(&recipe), ..ReportSettings::default() };
    let needs = needs(&sewn.plan, &settings);
    let mut fabrics = args.fabric.clone();
    if fabrics.is_empty() {
        fabrics.extend(recipe.design.fabric);
    }
    progress.now("choosing threads");
    let wishes = Wishes { fabrics: &fabrics, offers: args.offers, at_most: args.at_most };
    let found = select(&chart, &needs, &neighbouring_threads(&sewn.plan), &wishes);
    let found = found.ok_or_else(|| miette!("there is no thread to choose; `--at-most` takes at least 1"))?;
    progress.end();
    let mut about_threads = Vec::new();
    let selection = found.take(&mut about_threads);
    // How the drawing is sewn is another command's business.
    show::warnings(&about_threads);
    if let Some(file) = &args.output {
        let title = sewn.plan.title.as_deref().unwrap_or("Design");
        output::write(file, laidwork_view::thread_card(&selection, title).as_bytes())?;
    }
    let text = if args.json {
        serde_json::to_string_pretty(&selection).into_diagnostic()? + "\n"
    } else {
        as_text(&selection)
    };
    output::print(text.as_bytes())?;
    Ok(Verdict::Passed)
}

/// What the design needs of each of its threads.
fn needs(plan: &Plan, settings: &ReportSettings) -> Vec<Need> {
    let figures = report(plan, settings);
    let need = |(number, (thread, figures)): (usize, (&laidwork_plan::Thread, &laidwork_report::ThreadFigures))| {
        let pieces = plan.pieces.iter().filter(|piece| piece.thread == number);
        Need {
            color: thread.color,
            name: thread.name.clone(),
            pieces: pieces.map(|piece| piece.name.clone()).collect(),
            metres: figures.tally.top_m,
        }
    };
    plan.threads.iter().zip(&figures.threads).enumerate().map(need).collect()
}

fn as_text(found: &Selection) -> String {
    let mut text = String::new();
    for choice in &found.colors {
        color(choice, &mut text);
    }
    let _ = writeln!(
        text,
        "\nThreads to lay out{}",
        match &found.palette {
            Some(palette) if palette.exact => format!(", at most {} and no better choice", palette.at_most),
            Some(palette) => format!(", at most {}, a good choice but perhaps not the best", palette.at_most),
            None => String::new(),
        }
    );
    for spool in &found.threads {
        let Spool { code, name, color, metres, substitutes, .. } = spool;
        let left = spool.left_words();
        let _ = writeln!(text, "    {code:<8} {name:<20} {color} {metres:7.1} m  {left}");
        for other in substitutes {
            let (code, name, color) = (&other.code, &other.name, &other.color);
            let _ = writeln!(text, "        instead {code} {name} {color}: {}", other.words);
        }
    }
    text
}

fn color(choice: &Choice, text: &mut String) {
    let shown = choice.pieces.iter().take(MOST_NAMED).map(String::as_str).collect::<Vec<_>>().join(", ");
    let more = choice.pieces.len().saturating_sub(MOST_NAMED);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let name = choice.name.as_ref().map(|name| format!("  {name}")).unwrap_or_default();
    let _ = writeln!(text, "{}{name}  {shown}{more}  {:.1} m", choice.color, choice.metres);
    for (number, offer) in choice.offers.iter().enumerate() {
        let word = if number == 0 { "take" } else { "or" };
        let left = offer.left.map(|left| format!(", {left:.0} m left")).unwrap_or_default();
        let (code, name, color) = (&offer.code, &offer.name, &offer.color);
        let _ = writeln!(
            text,
            "    {word:<4} {code:<8} {name:<20} {color}  differs by {:5.2}: {}{left}",
            offer.difference, offer.words
        );
        for on in &offer.contrasts {
            let _ = writeln!(text, "             on {}: contrast {:.1} to 1, {}", on.fabric, on.ratio, on.words);
        }
        for beside in choice.beside.iter().filter(|_| number == 0) {
            let (code, name) = (&beside.code, &beside.name);
            let (ratio, words) = (beside.ratio, &beside.words);
            let _ = writeln!(text, "             beside {code} {name}: contrast {ratio:.1} to 1, {words}");
        }
    }
}
