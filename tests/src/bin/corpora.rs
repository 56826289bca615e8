//! Sews whole public icon sets in every way and counts what must never happen.
//!
//!     cargo run --release -p laidwork-tests --bin corpora -- [--only SET] [--limit N] [--keep FOLDER] [--table FILE] [--log FILE]
//!     cargo run --release -p laidwork-tests --bin corpora -- --vendor FOLDER N
//!
//! The sets come from the npm registry, each at the version named here, through `npm pack`, and are kept in
//! `target/corpora`. Exits with 1 when a drawing panics or gives an invalid plan; `--keep` copies such drawings to a
//! folder, `--table` puts the figures into a page between its marks (with `--only`, into the row of that set), `--limit`
//! takes an even sample of each set, `--log` appends what came of each drawing to a file and leaves out the drawings that
//! stand there already, so that a run can be stopped and taken up again, `--vendor` writes an even sample of the sets that may be passed on with their
//! licence alone.

use laidwork_tests::trial::{Outcome, WAYS, recipes, try_one};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::error::Error;
use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

/// A public set of drawings.
struct Set {
    name: &'static str,
    version: &'static str,
    /// The folder of the package that holds the drawings.
    folder: &'static str,
    licence: &'static str,
    /// Whether a sample may lie in this repository beside a copy of that licence.
    vendored: bool,
}

const SETS: [Set; 5] = [
    Set { name: "bootstrap-icons", version: "1.13.1", folder: "icons", licence: "MIT", vendored: true },
    Set { name: "lucide-static", version: "1.62.0", folder: "icons", licence: "ISC", vendored: true },
    Set { name: "@tabler/icons", version: "3.52.0", folder: "icons", licence: "MIT", vendored: true },
    Set { name: "@mdi/svg", version: "7.4.47", folder: "svg", licence: "Apache-2.0", vendored: true },
    Set { name: "@twemoji/svg", version: "15.0.0", folder: "", licence: "CC-BY-4.0", vendored: false },
];

/// Where the table of a page begins and ends.
const MARKS: (&str, &str) = ("<!-- figures -->\n", "<!-- end of figures -->");

type Result<T> = std::result::Result<T, Box<dyn Error>>;

#[derive(Default)]
struct Wishes {
    only: Option<String>,
    limit: Option<usize>,
    keep: Option<PathBuf>,
    table: Option<PathBuf>,
    log: Option<PathBuf>,
    vendor: Option<(PathBuf, usize)>,
}

fn main() -> ExitCode {
    match wishes().and_then(|wishes| run(&wishes)) {
        Ok(0) => ExitCode::SUCCESS,
        Ok(_) => ExitCode::from(1),
        Err(error) => {
            eprintln!("error: {error}");
            ExitCode::from(2)
        }
    }
}

fn wishes() -> Result<Wishes> {
    let mut wishes = Wishes::default();
    let mut args = std::env::args().skip(1);
    while let Some(word) = args.next() {
        let mut next = || args.next().ok_or(format!("{word} wants a value"));
        match word.as_str() {
            "--only" => wishes.only = Some(next()?),
            "--limit" => wishes.limit = Some(next()?.parse()?),
            "--keep" => wishes.keep = Some(next()?.into()),
            "--table" => wishes.table = Some(next()?.into()),
            "--log" => wishes.log = Some(next()?.into()),
            "--vendor" => wishes.vendor = Some((next()?.into(), next()?.parse()?)),
            _ => return Err(format!("{word} is not known").into()),
        }
    }
    Ok(wishes)
}

/// Does what is wished; how many faults were found.
fn run(wishes: &Wishes) -> Result<usize> {
    let store = store();
    let wanted = SETS.iter().filter(|set| wishes.only.as_deref().is_none_or(|only| only == set.name));
    let wanted: Vec<&Set> = wanted.filter(|set| wishes.vendor.is_none() || set.vendored).collect();
    let mut results = Vec::new();
    for set in &wanted {
        let files = drawings(&fetch(set, &store)?.join(set.folder))?;
        if let Some((folder, count)) = &wishes.vendor {
            vendor(set, &files, folder, count / wanted.len())?;
            continue;
        }
        let files = even_sample(&files, wishes.limit.unwrap_or(usize::MAX));
        results.push(sew_all(set, &files, wishes)?);
        results.last().into_iter().for_each(|result| eprintln!("{}", result.row().join(" | ")));
    }
    if wishes.vendor.is_some() {
        return Ok(0);
    }
    if results.iter().all(|result| result.drawings == 0) {
        return Err("no drawing was found".into());
    }
    let mut rows: Vec<Row> = results.iter().map(Tally::row).collect();
    if let Some(page) = &wishes.table {
        let text = fs::read_to_string(page)?;
        let (head, rest) = text.split_once(MARKS.0).ok_or("the page has no mark for the figures")?;
        let (old, tail) = rest.split_once(MARKS.1).ok_or("the page has no mark for the end of the figures")?;
        rows = merged(old, rows);
        fs::write(page, format!("{head}{}{}{}{tail}", MARKS.0, table(&rows), MARKS.1))?;
    }
    print!("{}", table(&rows));
    Ok(results.iter().map(|result| result.faults()).sum())
}

/// Where the sets are kept.
fn store() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../target/corpora")
}

/// The unpacked package of a set, from the registry unless it is there already.
fn fetch(set: &Set, store: &Path) -> Result<PathBuf> {
    let folder = store.join(format!("{}-{}", set.name.trim_start_matches('@').replace('/', "-"), set.version));
    if folder.join("package").is_dir() {
        return Ok(folder.join("package"));
    }
    fs::create_dir_all(&folder)?;
    let package = format!("{}@{}", set.name, set.version);
    eprintln!("fetching {package}");
    let packed = Command::new("npm").args(["pack", "--silent", &package]).current_dir(&folder).output()?;
    if !packed.status.success() {
        return Err(format!("npm pack {package}: {}", String::from_utf8_lossy(&packed.stderr)).into());
    }
    let archive = String::from_utf8(packed.stdout)?.trim().to_owned();
    let unpacked = Command::new("tar").args(["xzf", &archive]).current_dir(&folder).status()?;
    if unpacked.success() { Ok(folder.join("package")) } else { Err(format!("{archive} cannot be unpacked").into()) }
}

/// Every drawing below `folder`, sorted.
fn drawings(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder)? {
            let path = entry?.path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ending| ending == "svg") {
                found.push(path);
            }
        }
    }
    found.sort();
    Ok(found)
}

/// At most `count` of `files`, evenly spread.
fn even_sample(files: &[PathBuf], count: usize) -> Vec<PathBuf> {
    let count = count.min(files.len());
    (0..count).filter_map(|i| files.get(i * files.len() / count)).cloned().collect()
}

fn vendor(set: &Set, files: &[PathBuf], folder: &Path, count: usize) -> Result<()> {
    fs::create_dir_all(folder)?;
    let prefix = set.name.trim_start_matches('@').replace('/', "-");
    for file in even_sample(files, count) {
        let name = file.file_name().unwrap_or_default().to_string_lossy();
        fs::copy(&file, folder.join(format!("{prefix}__{name}")))?;
    }
    Ok(())
}

/// What came of a set.
struct Tally {
    set: &'static str,
    version: &'static str,
    licence: &'static str,
    drawings: usize,
    sound: usize,
    nothing: usize,
    invalid: usize,
    panics: usize,
    stitches: usize,
    times: Vec<Duration>,
}

impl Tally {
    fn faults(&self) -> usize {
        self.invalid + self.panics
    }

    fn time(&self, share: f64) -> f64 {
        let last = self.times.len().saturating_sub(1) as f64;
        self.times.get((last * share) as usize).map_or(0.0, |time| time.as_secs_f64() * 1000.0)
    }

    fn row(&self) -> Row {
        let count = |count: usize| count.to_string();
        [
            self.set.into(),
            self.version.into(),
            self.licence.into(),
            count(self.drawings),
            count(self.sound),
            count(self.nothing),
            count(self.invalid),
            count(self.panics),
            count(self.stitches),
            format!("{:.1}", self.time(0.5)),
            format!("{:.0}", self.time(0.99)),
            format!("{:.0}", self.time(1.0)),
        ]
    }
}

fn sew_all(set: &Set, files: &[PathBuf], wishes: &Wishes) -> Result<Tally> {
    let recipes = recipes();
    let log = wishes.log.as_deref().map(Log::open).transpose()?;
    let outcomes = files.par_iter().map(|file| {
        let name = format!("{} {}", set.name, file.strip_prefix(store()).unwrap_or(file).display());
        if let Some(known) = log.as_ref().and_then(|log| log.known.get(&name)) {
            return Ok(known.clone());
        }
        let svg = fs::read(file)?;
        let outcomes: Vec<Outcome> = recipes.iter().map(|(_, recipe)| try_one(&svg, recipe)).collect();
        log.as_ref().map_or(Ok(()), |log| log.add(&name, &outcomes))?;
        Ok(outcomes)
    });
    let outcomes: Vec<Vec<Outcome>> = outcomes.collect::<std::io::Result<_>>()?;
    let (name, version, licence) = (set.name, set.version, set.licence);
    let (drawings, times) = (files.len(), Vec::new());
    let mut tally = Tally {
        set: name,
        version,
        licence,
        drawings,
        sound: 0,
        nothing: 0,
        invalid: 0,
        panics: 0,
        stitches: 0,
        times,
    };
    for (file, outcomes) in files.iter().zip(outcomes) {
        for ((way, _), outcome) in recipes.iter().zip(outcomes) {
            match &outcome {
                Outcome::Sound { stitches, time } => {
                    tally.sound += 1;
                    tally.stitches += stitches;
                    tally.times.push(*time);
                }
                Outcome::Nothing => tally.nothing += 1,
                Outcome::Invalid(_) => tally.invalid += 1,
                Outcome::Panic(_) => tally.panics += 1,
            }
            if outcome.is_fault() {
                println!("{}, {way}: {outcome:?}", file.display());
                if let Some(folder) = &wishes.keep {
                    fs::create_dir_all(folder)?;
                    fs::copy(file, folder.join(file.file_name().unwrap_or_default()))?;
                }
            }
        }
    }
    tally.times.sort();
    Ok(tally)
}

/// What came of the drawings of earlier runs, and where that of this one goes.
///
/// A line is the name of a drawing and, for each way, its stitches and microseconds, both 0 where nothing was to be
/// sewn. Drawings with a fault are left out: they are sewn again.
struct Log {
    known: BTreeMap<String, Vec<Outcome>>,
    file: Mutex<fs::File>,
}

impl Log {
    fn open(path: &Path) -> Result<Log> {
        let file = fs::OpenOptions::new().append(true).create(true).open(path)?;
        let known = fs::read_to_string(path)?.lines().filter_map(Log::line).collect();
        Ok(Log { known, file: Mutex::new(file) })
    }

    fn line(line: &str) -> Option<(String, Vec<Outcome>)> {
        let (name, rest) = line.split_once('\t')?;
        let outcome = |cell: &str| {
            let (stitches, time) = cell.split_once(' ')?;
            let (stitches, time) = (stitches.parse().ok()?, Duration::from_micros(time.parse().ok()?));
            Some(if stitches == 0 { Outcome::Nothing } else { Outcome::Sound { stitches, time } })
        };
        let outcomes: Vec<Outcome> = rest.split('\t').map(outcome).collect::<Option<_>>()?;
        (outcomes.len() == WAYS.len()).then(|| (name.to_owned(), outcomes))
    }

    fn add(&self, name: &str, outcomes: &[Outcome]) -> std::io::Result<()> {
        let mut line = name.to_owned();
        for outcome in outcomes {
            let _ = match outcome {
                Outcome::Sound { stitches, time } => write!(line, "\t{stitches} {}", time.as_micros()),
                Outcome::Nothing => write!(line, "\t0 0"),
                Outcome::Invalid(_) | Outcome::Panic(_) => return Ok(()),
            };
        }
        line.push('\n');
        let mut file = self.file.lock().unwrap_or_else(PoisonError::into_inner);
        file.write_all(line.as_bytes())
    }
}

/// The figures of a set as a page shows them, in the order of [`HEADINGS`].
type Row = [String; HEADINGS.len()];

const HEADINGS: [&str; 12] = [
    "set",
    "version",
    "licence",
    "drawings",
    "plans",
    "nothing to sew",
    "invalid",
    "panics",
    "stitches",
    "median, ms",
    "99 %, ms",
    "slowest, ms",
];

/// Which of the figures are added up.
const SUMS: std::ops::Range<usize> = 3..9;

/// The rows of every set: those of `new`, and of the others those that the table `old` has.
fn merged(old: &str, new: Vec<Row>) -> Vec<Row> {
    let read = |line: &str| -> Option<Row> {
        let cells: Vec<String> = line.trim().trim_matches('|').split('|').map(|cell| cell.trim().into()).collect();
        cells.try_into().ok()
    };
    let old: Vec<Row> = old.lines().filter_map(read).collect();
    let of_set = |set: &Set| new.iter().chain(&old).find(|[name, ..]| name == set.name).cloned();
    SETS.iter().filter_map(of_set).collect()
}

/// A table of rows, and their sums.
fn table(rows: &[Row]) -> String {
    let sum = |column: usize| rows.iter().filter_map(|row| row[column].parse::<usize>().ok()).sum::<usize>();
    let sums: Row = std::array::from_fn(|column| match column {
        0 => "all".into(),
        _ if SUMS.contains(&column) => sum(column).to_string(),
        _ => String::new(),
    });
    let mut text = format!("| {} |\n| {} |\n", HEADINGS.join(" | "), HEADINGS.map(|_| "---").join(" | "));
    for row in rows.iter().chain([&sums]) {
        let _ = writeln!(text, "| {} |", row.join(" | "));
    }
    text
}
