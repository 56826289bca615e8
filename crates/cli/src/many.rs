//! `laidwork many`: one design for each row of a table, on all cores.
//!
//! A row that cannot be sewn is told and passed over. What is done is kept in a
//! journal beside the files, so that the same command takes up a run that was cut short.

mod progress;

use self::progress::Progress;
use crate::args::Many;
use crate::output::{self, Kind};
use crate::sew::{self, Rendering};
use crate::{Verdict, convert, input, reads, show, whole};
use laidwork_drawing::Options;
use laidwork_many::{
    Done, Figures, FileHash, Fingerprint, Journal, Named, Row, State, SummaryRow, Table, Template, file_names, hash,
    summary_csv,
};
use laidwork_plan::Warning;
use laidwork_recipe::Recipe;
use miette::{IntoDiagnostic, Result, WrapErr, miette};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// Where it is written what is done.
const JOURNAL: &str = ".laidwork-many.jsonl";

/// The summary, without its ending.
const SUMMARY: &str = "summary";

/// No more bad rows are shown one by one than this; the summary has them all.
const MOST_SHOWN: usize = 20;

/// What a design fails by when something drawn was left out of it.
const LEFT_OUT: &str = "all that is drawn";

/// Runs the command.
pub fn run(args: Many) -> Result<Verdict> {
    let mut warnings = Vec::new();
    let work = Work::new(&args, &mut warnings)?;
    show::warnings(&warnings);
    let journal_path = work.folder.join(JOURNAL);
    let summary_path = work.folder.join(format!("{SUMMARY}.csv"));
    let names = file_names(work.table.rows(), &work.name, &[SUMMARY]);
    work.note_placed();
    reads::keep([journal_path.as_path(), &summary_path])?;
    for named in names.iter().flatten() {
        for kind in &work.kinds {
            reads::keep([work.file(named, *kind).as_path()])?;
        }
    }
    output::make_folder(&work.folder)?;
    whole::sweep(&work.folder);
    let before = if args.afresh { Journal::default() } else { journal(&journal_path)? };
    let progress = Progress::new(work.table.rows().len(), &journal_path)?;
    let results: Vec<(State, Result<Done, String>)> = work
        .table
        .rows()
        .par_iter()
        .zip(&names)
        .map(|(row, name)| {
            let result = match name {
                Ok(name) => work.row(row, name, &before, &progress).map_err(|error| one_line(&error)),
                Err(error) => Err(error.to_string()),
            };
            let (state, result) = match result {
                Ok((state, done)) => (state, Ok(done)),
                Err(message) => (State::Bad, Err(message)),
            };
            progress.step(state);
            (state, result)
        })
        .collect();
    progress.end();
    let lines: String = results.iter().filter_map(|(_, result)| Some(result.as_ref().ok()?.line())).collect();
    output::write(&journal_path, lines.as_bytes())?;
    let summary: Vec<SummaryRow> = work
        .table
        .rows()
        .iter()
        .zip(&names)
        .zip(results)
        .map(|((row, name), result)| told(row, name, result))
        .collect();
    output::write(&summary_path, summary_csv(&summary).as_bytes())?;
    tell(&work, &names, &summary, &summary_path)
}

/// Everything that all rows share.
struct Work {
    table: Table,
    /// The drawing's name and template, unless the recipe places its own.
    drawing: Option<(PathBuf, Template)>,
    recipe: Option<(PathBuf, String, Template)>,
    name: Template,
    texts: Vec<(String, Template)>,
    /// How drawings are read, but for their size and texts.
    options: Options,
    reading: crate::args::Reading,
    /// What fonts and sizes there are, for fingerprints.
    setting: String,
    kinds: Vec<Kind>,
    /// The machine of G-code.
    machine: laidwork_gcode::Settings,
    folder: PathBuf,
    /// Templates of drawings that recipes place, read once.
    placed: Mutex<BTreeMap<PathBuf, Template>>,
}

impl Work {
    fn new(args: &Many, warnings: &mut Vec<Warning>) -> Result<Work> {
        let shown = |path: &Path| path.display().to_string();
        let bytes = input::bytes(&args.table)?;
        let table = Table::read(&bytes).map_err(|error| miette!("{}: {error}", shown(&args.table)))?;
        let in_file = |path: &Path, error: laidwork_many::Error| miette!("{}: {error}", shown(path));
        let drawing = match &args.drawing {
            Some(path) => {
                let template = Template::drawing(&input::bytes(path)?, &table).map_err(|e| in_file(path, e))?;
                Some((path.clone(), template))
            }
            None => None,
        };
        let recipe = match &args.recipe {
            Some(path) => {
                let text = input::text(path)?;
                let template = Template::recipe(&text, &table).map_err(|e| in_file(path, e))?;
                Some((path.clone(), text, template))
            }
            None => None,
        };
        let name = match &args.name {
            Some(name) => Template::plain(name, &table).map_err(|error| miette!("--name {name}: {error}"))?,
            None => Template::first_column(&table),
        };
        let text = |(id, text): &(String, String)| {
            let template = Template::plain(text, &table).map_err(|error| miette!("--text {id}={text}: {error}"))?;
            Ok((id.clone(), template))
        };
        let texts: Vec<_> = args.reading.text.iter().map(text).collect::<Result<_>>()?;
        let varies = |template: Option<&Template>| template.is_some_and(Template::has_placeholders);
        let templates = [drawing.as_ref().map(|(_, t)| t), recipe.as_ref().map(|(_, _, t)| t)];
        let some_vary = templates.into_iter().any(varies) || texts.iter().any(|(_, text)| text.has_placeholders());
        if !some_vary && recipe.as_ref().is_none_or(|(_, text, _)| !text.contains("[[place]]")) {
            let columns = table.columns().join("}, {");
            warnings.push(Warning::new(
                "neither drawing nor recipe has a placeholder, so all designs are the same",
                format!("write {{{columns}}} where a cell is to stand"),
            ));
        }
        let lettered = drawing.as_ref().is_some_and(|(_, template)| template.is_lettered())
            || texts.iter().any(|(_, text)| text.has_placeholders());
        if lettered && args.reading.font.is_empty() {
            return Err(miette!(
                help = "name a font file, or a folder of them, with --font",
                "the table's words are to be sewn as letters, and there is no font"
            ));
        }
        let folder = match &args.output {
            Some(folder) => folder.clone(),
            None => PathBuf::from(sew::stem_of(&args.table)),
        };
        let mut kinds = Vec::with_capacity(args.write.len());
        for kind in &args.write {
            if !kinds.contains(kind) {
                kinds.push(*kind);
            }
        }
        Ok(Work {
            table,
            drawing,
            recipe,
            name,
            texts,
            options: input::options(&args.reading, warnings)?,
            reading: crate::args::Reading { text: Vec::new(), font: Vec::new(), ..args.reading },
            setting: setting(args)?,
            kinds,
            machine: convert::settings(&args.machine)?,
            folder,
            placed: Mutex::default(),
        })
    }

    /// Where a file of a row is written.
    fn file(&self, named: &Named, kind: Kind) -> PathBuf {
        self.folder.join(file_name(named, kind))
    }

    /// Notes as read, before anything is written, the drawings that the recipes of all rows place.
    fn note_placed(&self) {
        let Some((path, text, template)) = &self.recipe else { return };
        if !text.contains("place") {
            return;
        }
        let folder = path.parent().unwrap_or(Path::new(""));
        let rows =
            if template.has_placeholders() { self.table.rows() } else { self.table.rows().get(..1).unwrap_or(&[]) };
        rows.par_iter().for_each(|row| {
            let Ok(text) = template.fill(row) else { return };
            let Ok(recipe) = input::recipe_text(&text, "", &mut Vec::new()) else { return };
            recipe
                .places
                .iter()
                .filter_map(|place| place.drawing.as_ref())
                .for_each(|file| reads::note(&folder.join(file)));
        });
    }

    /// Sews one row, unless it is done already.
    fn row(&self, row: &Row, named: &Named, before: &Journal, progress: &Progress) -> Result<(State, Done)> {
        let mut warnings = Vec::new();
        let mut print = Fingerprint::default();
        print.add(&self.setting);
        let recipe = match &self.recipe {
            Some((path, _, template)) => {
                let text = template.fill(row).into_diagnostic()?;
                print.add(&text);
                input::recipe_text(&text, &path.display().to_string(), &mut warnings)?
            }
            None => Recipe::default(),
        };
        let mut texts = Vec::with_capacity(self.texts.len());
        for (id, template) in &self.texts {
            let text = template.fill(row).into_diagnostic()?;
            print.add(id);
            print.add(&text);
            texts.push((id.clone(), text));
        }
        let filled = self.filled(row, &recipe)?;
        filled.iter().for_each(|(_, bytes)| print.add(bytes));
        let fingerprint = print.finish();
        if let Some(done) = before.find(&named.name, &fingerprint).filter(|done| self.is_unchanged(done)) {
            return Ok((State::Kept, done.clone()));
        }
        let options = Options { texts, ..self.options.clone() };
        let drawing = self.read(&recipe, filled, options, &mut warnings)?;
        let sewn = sew::sewn(&drawing, &recipe, &mut warnings).map_err(|error| match warnings.first() {
            Some(warning) => miette!("{error} ({warning})"),
            None => error,
        })?;
        let mut files = Vec::with_capacity(self.kinds.len());
        for kind in &self.kinds {
            let content = match kind {
                Kind::Gcode => convert::bytes(&sewn.plan, *kind, &self.machine, &mut warnings)?,
                _ => sewn.to_bytes(*kind)?,
            };
            output::write(&self.file(named, *kind), &content)?;
            files.push(FileHash { file: file_name(named, *kind), sha256: hash(&content) });
        }
        let done = Done { name: named.name.clone(), fingerprint, files, figures: figures(&sewn, &warnings) };
        progress.note(&done)?;
        Ok((State::Sewn, done))
    }

    /// The drawings of a row with its cells in them, each with its path.
    fn filled(&self, row: &Row, recipe: &Recipe) -> Result<Vec<(PathBuf, Vec<u8>)>> {
        if recipe.places.is_empty() {
            let (path, template) =
                self.drawing.as_ref().ok_or_else(|| miette!("name a drawing; the recipe places none"))?;
            return Ok(vec![(path.clone(), template.fill(row).into_diagnostic()?.into_bytes())]);
        }
        let Some((recipe_path, recipe_text, _)) = &self.recipe else { return Ok(Vec::new()) };
        let folder = recipe_path.parent().unwrap_or(Path::new(""));
        let mut filled = Vec::new();
        for place in &recipe.places {
            let (path, template) = match (&place.drawing, &self.drawing) {
                (Some(file), _) => {
                    // What the recipe's author wrote may lie anywhere; what a cell says may not.
                    if !recipe_text.contains(file.as_str()) && !stays_inside(Path::new(file)) {
                        return Err(miette!("the drawing {file:?} lies outside the recipe's folder; move it there"));
                    }
                    let path = folder.join(file);
                    let template = self.placed(&path)?;
                    (path, template)
                }
                (None, Some((path, template))) => (path.clone(), template.clone()),
                (None, None) => return Err(miette!("a place names no drawing, and the command names none")),
            };
            let bytes = template.fill(row).into_diagnostic()?.into_bytes();
            filled.push((path, bytes));
        }
        Ok(filled)
    }

    /// The template of a drawing that recipes place.
    fn placed(&self, path: &Path) -> Result<Template> {
        let mut placed = self.placed.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(template) = placed.get(path) {
            return Ok(template.clone());
        }
        let template = Template::drawing(&input::bytes(path)?, &self.table)
            .map_err(|error| miette!("{}: {error}", path.display()))?;
        placed.insert(path.to_path_buf(), template.clone());
        Ok(template)
    }

    fn read(
        &self,
        recipe: &Recipe,
        filled: Vec<(PathBuf, Vec<u8>)>,
        options: Options,
        warnings: &mut Vec<Warning>,
    ) -> Result<laidwork_drawing::Drawing> {
        let mut filled = filled.into_iter();
        let mut next = || filled.next().ok_or_else(|| miette!("name a drawing"));
        match &self.recipe {
            Some((path, _, _)) if !recipe.places.is_empty() => {
                let given = self.drawing.as_ref().map(|(path, _)| path.as_path());
                input::composition(given, path, recipe, &options, |_| Ok(next()?.1), warnings)
            }
            _ => {
                let (path, bytes) = next()?;
                let options = input::sized(options, &self.reading, recipe);
                input::read_drawing(&bytes, &path.display().to_string(), &options, warnings)
            }
        }
    }

    /// Whether all files of a row are there as they were written.
    fn is_unchanged(&self, done: &Done) -> bool {
        done.files
            .iter()
            .all(|file| fs::read(self.folder.join(&file.file)).is_ok_and(|read| hash(&read) == file.sha256))
    }
}

/// What a file of a row is called.
fn file_name(named: &Named, kind: Kind) -> String {
    format!("{}{}", named.name, kind.ending())
}

/// All that decides the designs beside drawing, recipe and texts.
fn setting(args: &Many) -> Result<String> {
    let mut setting = format!("{} {:?} {:?}", env!("CARGO_PKG_VERSION"), args.reading.width, args.reading.height);
    for kind in &args.write {
        setting.push_str(kind.ending());
    }
    if args.write.contains(&Kind::Gcode) {
        setting.push_str(&format!("{:?}", args.machine));
    }
    for file in input::font_files(&args.reading.font)? {
        setting.push_str(&hash(&input::bytes(&file)?));
    }
    Ok(setting)
}

/// Whether a relative path never leaves the folder it is seen from.
fn stays_inside(path: &Path) -> bool {
    path.components().all(|part| matches!(part, std::path::Component::Normal(_)))
}

fn journal(path: &Path) -> Result<Journal> {
    match fs::read(path) {
        Ok(bytes) => Ok(Journal::read(&bytes)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(Journal::default()),
        Err(error) => Err(error).into_diagnostic().wrap_err_with(|| format!("cannot read {}", path.display())),
    }
}

fn figures(sewn: &Rendering, warnings: &[Warning]) -> Figures {
    let Rendering { plan, figures, .. } = sewn;
    let failed = figures.checks.iter().filter(|check| check.verdict >= laidwork_report::Verdict::TooMuch);
    let incomplete = warnings.iter().any(|warning| warning.incomplete).then(|| LEFT_OUT.to_owned());
    Figures {
        stitches: figures.total.stitches,
        width_mm: figures.size.map_or(0.0, |size| size.width),
        height_mm: figures.size.map_or(0.0, |size| size.height),
        threads: plan.threads.len(),
        thread_changes: figures.total.thread_changes,
        trims: figures.total.trims,
        minutes: figures.total.seconds / 60.0,
        top_thread_m: figures.total.top_m,
        failed_checks: failed.map(|check| check.name.clone()).chain(incomplete).collect(),
        warnings: warnings.iter().map(Warning::to_string).collect(),
    }
}

/// An error on one line, its causes and the way out after it; the lines of a file that it shows are left out.
fn one_line(error: &miette::Report) -> String {
    let causes: Vec<String> = error.chain().map(ToString::to_string).collect();
    let text = [Some(causes.join(": ")), error.help().map(|help| help.to_string())];
    let shows_file = |line: &&str| line.trim_start_matches(|c: char| c.is_ascii_digit() || c == ' ').starts_with('|');
    let lines = text.iter().flatten().flat_map(|text| text.lines()).filter(|line| !shows_file(line));
    let lines: Vec<&str> = lines.map(str::trim).map(|line| line.strip_prefix("help: ").unwrap_or(line)).collect();
    lines.join("; ")
}

fn told(row: &Row, name: &Result<Named, laidwork_many::Error>, result: (State, Result<Done, String>)) -> SummaryRow {
    let (state, result) = result;
    let name = name.as_ref().map(|named| named.name.clone()).unwrap_or_default();
    let (figures, message) = match result {
        Ok(done) => (Some(done.figures), String::new()),
        Err(message) => (None, message),
    };
    SummaryRow { row: row.number, name, state, figures, message }
}

/// Tells what came of the run, and whether all is well.
fn tell(
    work: &Work,
    names: &[Result<Named, laidwork_many::Error>],
    summary: &[SummaryRow],
    summary_path: &Path,
) -> Result<Verdict> {
    for (row, named) in work.table.rows().iter().zip(names) {
        if let Ok(Named { name, meets: Some(other) }) = named {
            let as_what = if *other == 0 { "the summary".to_owned() } else { format!("row {other}") };
            output::say(&format!("warning: row {} would be called as {as_what} is; it is called {name}\n", row.number));
        }
    }
    let warnings = summary.iter().zip(1..).flat_map(|(told, row)| {
        told.figures.iter().flat_map(move |figures| figures.warnings.iter().map(move |warning| (row, warning.as_str())))
    });
    for (warning, (row, rows)) in repeated(warnings) {
        let rows = if rows == 1 { format!("row {row}") } else { format!("{rows} rows, row {row} first") };
        output::say(&format!("warning: {rows}: {warning}\n"));
    }
    let count = |state| summary.iter().filter(|row| row.state == state).count();
    let bad = count(State::Bad);
    let told = work.table.rows().iter().zip(summary).filter(|(_, told)| told.state == State::Bad);
    // Faults of the row itself name its line, as is done here for all.
    let faults = told.map(|(row, told)| {
        let named = format!("line {}: ", row.line);
        (row.number, told.message.strip_prefix(&named).unwrap_or(&told.message))
    });
    let faults = repeated(faults);
    for (fault, (row, rows)) in faults.iter().take(MOST_SHOWN) {
        let line = work.table.rows().get(row - 1).map_or(0, |row| row.line);
        let rows = if *rows == 1 {
            format!("row {row} (line {line}) was")
        } else {
            format!("{rows} rows, row {row} (line {line}) first, were")
        };
        output::say(&format!("{rows} not sewn: {fault}\n"));
    }
    if faults.len() > MOST_SHOWN {
        output::say(&format!("and {} more; see the summary\n", faults.len() - MOST_SHOWN));
    }
    let has = |is: fn(&Figures) -> bool| summary.iter().filter(|row| row.figures.as_ref().is_some_and(is)).count();
    let (warned, failed) = (has(|of| !of.warnings.is_empty()), has(|of| !of.failed_checks.is_empty()));
    let text = format!(
        "{} {}: {} sewn, {} done before, {bad} bad, {warned} with warnings, {failed} with failed checks\nsummary: {}\n",
        summary.len(),
        if summary.len() == 1 { "row" } else { "rows" },
        count(State::Sewn),
        count(State::Kept),
        summary_path.display(),
    );
    output::print(text.as_bytes())?;
    Ok(if bad + failed == 0 { Verdict::Passed } else { Verdict::Failed })
}

/// Each text once, with the first row that has it and how many have.
fn repeated<'a>(texts: impl Iterator<Item = (usize, &'a str)>) -> Vec<(&'a str, (usize, usize))> {
    let mut order: Vec<(&str, (usize, usize))> = Vec::new();
    let mut places: BTreeMap<&str, usize> = BTreeMap::new();
    for (row, text) in texts {
        let place = *places.entry(text).or_insert_with(|| {
            order.push((text, (row, 0)));
            order.len() - 1
        });
        if let Some((_, (_, count))) = order.get_mut(place) {
            *count += 1;
        }
    }
    order
}
