//! Letters of fonts, sewn as columns: a contact sheet and a table of figures.
//!
//!     cargo run --release -p laidwork-tests --example letters -- OUT.png FONT.ttf...
//!
//! `OUT.svg` shows the columns instead of the thread. Options before OUT:
//! `--cap MM` (capitals, 20), `--spacing MM` (0.17), `--letters ABC`,
//! `--per-row N` (21), `--scale PIXELS_PER_MM` (4), `--each` (a row for every letter).

mod glyphs;
mod sheet;
// What the tests of columns measure with.
#[allow(dead_code, reason = "the tests ask for more figures than the table has")]
#[path = "../../../crates/satin/tests/common/figures.rs"]
mod figures;

use figures::Figures;
use laidwork_geometry::Region;
use laidwork_plan::Pass;
use laidwork_satin::{Decomposition, Ends, SatinSettings, decompose, from_outline};
use skrifa::FontRef;
use std::path::Path;
use std::time::Instant;

const LETTERS: &str = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789";

/// Columns shorter than this look like crumbs, mm.
const SHORT: f64 = 1.5;

/// Every letter is sewn so often; the shortest time counts.
const TRIES: usize = 3;

/// A letter taken apart and sewn.
pub struct Letter {
    name: char,
    region: Region,
    /// Of each connected part.
    parts: Vec<Decomposition>,
    chains: Vec<Vec<Pass>>,
    figures: Vec<Figures>,
    /// Whether its columns meet in the same way when it is turned by 7° and by 31°.
    is_stable: bool,
    milliseconds: f64,
}

struct Wishes {
    cap: f64,
    spacing: f64,
    letters: String,
    per_row: usize,
    scale: f64,
    each: bool,
    files: Vec<String>,
}

fn main() {
    let wishes = match wishes() {
        Ok(wishes) => wishes,
        Err(problem) => {
            eprintln!(
                "{problem}\nletters [--cap MM] [--spacing MM] [--letters ABC] [--per-row N] [--scale N] [--each] OUT.png|OUT.svg FONT..."
            );
            std::process::exit(2);
        }
    };
    let Some((out, files)) = wishes.files.split_first() else { return };
    println!(
        "| font | letters | coverage median | worst | widest gap | overrun | longest | needle points in 0.5 mm | breaks of thread | columns | shorter than 1.5 mm | same turned | ms median |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    let mut fonts: Vec<Vec<Letter>> = Vec::new();
    for file in files {
        let data = std::fs::read(file).unwrap_or_else(|error| fail(file, &error));
        let font = FontRef::new(&data).unwrap_or_else(|error| fail(file, &error));
        let letters: Vec<Letter> = wishes.letters.chars().filter_map(|c| sewn(&font, c, &wishes)).collect();
        let name = Path::new(file).file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
        println!("{}", row(&name, letters.iter()));
        if wishes.each {
            letters.iter().for_each(|letter| println!("{}", row(&letter.name.to_string(), std::iter::once(letter))));
        }
        fonts.push(letters);
    }
    let picture = match Path::new(out).extension().and_then(|e| e.to_str()) {
        Some("svg") => sheet::svg(&fonts, wishes.cap, wishes.per_row).into_bytes(),
        _ => sheet::png(&fonts, wishes.cap, wishes.per_row, wishes.scale),
    };
    std::fs::write(out, picture).unwrap_or_else(|error| fail(out, &error));
}

fn fail<T>(file: &str, error: &dyn std::fmt::Display) -> T {
    eprintln!("{file}: {error}");
    std::process::exit(2);
}

fn wishes() -> Result<Wishes, String> {
    let mut wishes = Wishes {
        cap: 20.0,
        spacing: SatinSettings::default().spacing,
        letters: LETTERS.into(),
        per_row: 21,
        scale: 4.0,
        each: false,
        files: Vec::new(),
    };
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        let mut value = || arguments.next().ok_or_else(|| format!("{argument} wants a value"));
        let number = |text: String| text.parse::<f64>().map_err(|_| format!("{text} is no number"));
        match argument.as_str() {
            "--cap" => wishes.cap = number(value()?)?,
            "--spacing" => wishes.spacing = number(value()?)?,
            "--scale" => wishes.scale = number(value()?)?,
            "--per-row" => wishes.per_row = number(value()?)?.max(1.0) as usize,
            "--letters" => wishes.letters = value()?,
            "--each" => wishes.each = true,
            option if option.starts_with("--") => return Err(format!("there is no option {option}")),
            _ => wishes.files.push(argument),
        }
    }
    if wishes.files.len() < 2 { Err("say where the sheet goes, and which fonts are on it".into()) } else { Ok(wishes) }
}

/// A letter of a font, taken apart, sewn and measured.
fn sewn(font: &FontRef, name: char, wishes: &Wishes) -> Option<Letter> {
    let settings = SatinSettings { spacing: wishes.spacing, ..SatinSettings::default() };
    let region = glyphs::outline(font, name, wishes.cap, 0.0).filter(|region| !region.is_empty())?;
    let take_apart = |region: &Region| -> Vec<Decomposition> {
        region.polygons.iter().map(|polygon| decompose(polygon, &settings)).collect()
    };
    let parts = take_apart(&region);
    let turned = |turn: f64| glyphs::outline(font, name, wishes.cap, turn).map(|region| graph(&take_apart(&region)));
    let is_stable = [7.0, 31.0].into_iter().all(|turn| turned(turn) == Some(graph(&parts)));
    let mut milliseconds = f64::INFINITY;
    let mut chains = Vec::new();
    for _ in 0..TRIES {
        let start = Instant::now();
        let sew = |polygon| from_outline("letter", polygon, &settings, Ends::default()).value;
        chains = region.polygons.iter().map(sew).collect();
        milliseconds = milliseconds.min(start.elapsed().as_secs_f64() * 1e3);
    }
    let figures =
        region.polygons.iter().zip(&chains).map(|(polygon, chain)| figures::figures(polygon, chain)).collect();
    Some(Letter { name, region, parts, chains, figures, is_stable, milliseconds })
}

/// How many ends and passages of columns meet at every place where some do, over all parts of a letter.
fn graph(parts: &[Decomposition]) -> Vec<usize> {
    let mut graph: Vec<usize> = parts.iter().flat_map(|part| part.graph.iter().map(|g| g.1)).collect();
    graph.sort_unstable();
    graph
}

/// The figures of some letters as a row of the table.
fn row<'a>(name: &str, letters: impl Iterator<Item = &'a Letter> + Clone) -> String {
    let all = || letters.clone().flat_map(|letter| &letter.figures);
    let greatest = |of: fn(&Figures) -> f64| all().map(of).fold(0.0, f64::max);
    let count = letters.clone().count();
    let mut coverage: Vec<f64> = letters.clone().map(coverage).collect();
    let mut times: Vec<f64> = letters.clone().map(|letter| letter.milliseconds).collect();
    coverage.sort_by(f64::total_cmp);
    times.sort_by(f64::total_cmp);
    let columns = || letters.clone().flat_map(|letter| &letter.parts).flat_map(|parts| &parts.columns);
    let passes = letters.clone().flat_map(|letter| letter.chains.iter().flatten());
    let breaks = passes.filter(|pass| pass.trim || !pass.jumps.is_empty()).count();
    let stable = letters.clone().filter(|letter| letter.is_stable).count();
    format!(
        "| {name} | {count} | {:.4} | {:.4} | {:.2} | {:.4} | {:.2} | {} | {breaks} | {} | {} | {:.3} | {:.1} |",
        coverage.get(count / 2).copied().unwrap_or(0.0),
        coverage.first().copied().unwrap_or(0.0),
        greatest(|f| f.widest_gap),
        greatest(|f| f.overrun),
        greatest(|f| f.longest),
        all().map(|f| f.crowd).max().unwrap_or(0),
        columns().count(),
        columns().filter(|column| column.length() < SHORT).count(),
        stable as f64 / count.max(1) as f64,
        times.get(count / 2).copied().unwrap_or(0.0),
    )
}

/// Over all parts of a letter.
fn coverage(letter: &Letter) -> f64 {
    let areas = || letter.region.polygons.iter().map(|polygon| polygon.area());
    let covered: f64 = areas().zip(&letter.figures).map(|(area, figures)| area * figures.coverage).sum();
    covered / areas().sum::<f64>().max(1e-9)
}
