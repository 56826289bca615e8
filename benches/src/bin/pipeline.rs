//! Measures the whole way from the bytes of an SVG to those of the list: time by phase, how it grows, peak memory.
//!
//!     cargo run --release -p laidwork-benches --bin pipeline -- [--most STITCHES] [--table FILE]
//!
//! Drawings are made by formula; every run is a process of its own, so that its peak memory (`VmHWM` of Linux) is its
//! own. Routing, underlay, compensation, sewing order, knock-out, ties and trims are all included. `--table` puts the
//! figures into a page between its marks.

use laidwork_benches::drawn::{CASES, Case};
use std::error::Error;
use std::fmt::Write as _;
use std::fs::{self, File};
use std::path::PathBuf;
use std::process::{Command, ExitCode};
use std::time::Instant;

type Result<T> = std::result::Result<T, Box<dyn Error>>;

/// About how many stitches are sewn.
const SIZES: [u32; 4] = [10_000, 100_000, 1_000_000, 10_000_000];

/// Where the table of a page begins and ends.
const MARKS: (&str, &str) = ("<!-- pipeline -->\n", "<!-- end of pipeline -->");

/// What one run took.
#[derive(Clone, Copy, Debug, Default)]
struct Figures {
    shapes: usize,
    stitches: usize,
    /// Reading the drawing, sewing it, writing the list, and the report on it, ms.
    phases: [f64; 4],
    /// Peak memory without the report, KB; 0 where the system does not tell.
    peak: f64,
}

impl Figures {
    /// From SVG to list, ms.
    fn total(&self) -> f64 {
        self.phases.iter().take(3).sum()
    }
}

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = args.iter().map(String::as_str).collect();
    let done = match words.as_slice() {
        ["run", case, size] => run(case, size),
        words => compare(words),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("error: {error}");
            ExitCode::from(2)
        }
    }
}

/// One run, told on standard output.
fn run(case: &str, size: &str) -> Result<()> {
    let case = CASES.iter().find(|known| known.name == case).ok_or("there is no such case")?;
    let svg = case.svg(size.parse()?);
    let recipe = laidwork_recipe::parse(case.recipe, case.name).map_err(|found| format!("{found:?}"))?.value;
    let path = std::env::temp_dir().join(format!("laidwork-pipeline-{}.stitches", std::process::id()));
    let mut clock = Clock(Instant::now());
    let drawing = laidwork_drawing::read(svg.as_bytes(), &laidwork_drawing::Options::default())?.value;
    let read = clock.lap();
    let sewn = laidwork_engine::sew(&drawing, &recipe).map_err(|found| format!("{found:?}"))?.value;
    let sew = clock.lap();
    laidwork_list::write(&sewn.plan, &mut File::create(&path)?, laidwork_list::WriteOptions::default())?;
    let write = clock.lap();
    fs::remove_file(path)?;
    let peak = peak().unwrap_or(0.0);
    clock.lap();
    let settings = laidwork_engine::report_settings(&recipe, &sewn);
    let report = laidwork_report::report(&sewn.plan, &settings);
    let told = clock.lap();
    if !report.broken.is_empty() {
        return Err(format!("the plan breaks promises: {:?}", report.broken).into());
    }
    println!("{} {} {read} {sew} {write} {told} {peak}", drawing.shapes.len(), sewn.plan.stitches());
    Ok(())
}

struct Clock(Instant);

impl Clock {
    /// Time since the last lap, ms.
    fn lap(&mut self) -> f64 {
        let before = std::mem::replace(&mut self.0, Instant::now());
        (self.0 - before).as_secs_f64() * 1000.0
    }
}

/// The most memory that this process ever held, KB.
fn peak() -> Option<f64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().trim_end_matches(" kB").parse().ok()
}

/// Every case at every size, as a table.
fn compare(words: &[&str]) -> Result<()> {
    let mut most = SIZES[SIZES.len() - 1];
    let mut page: Option<PathBuf> = None;
    for pair in words.chunks(2) {
        match pair {
            ["--most", size] => most = size.parse()?,
            ["--table", file] => page = Some(file.into()),
            _ => return Err("the options are --most STITCHES and --table FILE".into()),
        }
    }
    let mut text = String::from(
        "| drawing | shapes | stitches | read, ms | sew, ms | write, ms | SVG to list, ms | a stitch, ns | peak, MB | report, ms |\n\
         | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n",
    );
    let mut slopes = String::from(
        "\n| drawing | log-log slope of the time, 10 k to the most | bytes a stitch at the peak |\n| --- | --- | --- |\n",
    );
    for case in &CASES {
        let sizes = SIZES.iter().filter(|size| **size <= most.min(case.most));
        let found = sizes.map(|&size| median_run(case, size)).collect::<Result<Vec<_>>>()?;
        for figures in &found {
            let Figures { shapes, stitches, phases: [read, sew, write, report], peak } = figures;
            let (total, each) = (figures.total(), figures.total() * 1e6 / *stitches as f64);
            let peak = peak / 1024.0;
            writeln!(
                text,
                "| {} | {shapes} | {stitches} | {read:.0} | {sew:.0} | {write:.0} | {total:.0} | {each:.0} | {peak:.0} | {report:.0} |",
                case.name
            )?;
        }
        if let (Some(first), Some(last)) = (found.first(), found.last()) {
            let bytes = (last.peak - first.peak) * 1024.0 / (last.stitches - first.stitches).max(1) as f64;
            writeln!(slopes, "| {} | {:.2} | {bytes:.0} |", case.name, slope(&found))?;
        }
    }
    text += &slopes;
    print!("{text}");
    let Some(page) = page else { return Ok(()) };
    let old = fs::read_to_string(&page)?;
    let (head, rest) = old.split_once(MARKS.0).ok_or("the page has no mark for the figures")?;
    let (_, tail) = rest.split_once(MARKS.1).ok_or("the page has no mark for the end of the figures")?;
    Ok(fs::write(page, format!("{head}{}{text}{}{tail}", MARKS.0, MARKS.1))?)
}

/// Least squares of log time over log stitches.
fn slope(found: &[Figures]) -> f64 {
    let points: Vec<(f64, f64)> = found.iter().map(|f| ((f.stitches as f64).ln(), f.total().ln())).collect();
    let count = points.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / count;
    let (x, y) = (mean(|point| point.0), mean(|point| point.1));
    let across: f64 = points.iter().map(|point| (point.0 - x) * (point.1 - y)).sum();
    across / points.iter().map(|point| (point.0 - x).powi(2)).sum::<f64>()
}

/// The run of median time among several.
fn median_run(case: &Case, size: u32) -> Result<Figures> {
    let times = if size <= 1_000_000 { 5 } else { 3 };
    let mut runs = (0..times).map(|_| own_process(case, size)).collect::<Result<Vec<_>>>()?;
    runs.sort_by(|a, b| a.total().total_cmp(&b.total()));
    runs.get(times / 2).copied().ok_or_else(|| "nothing was measured".into())
}

fn own_process(case: &Case, size: u32) -> Result<Figures> {
    let output = Command::new(std::env::current_exe()?).args(["run", case.name, &size.to_string()]).output()?;
    if !output.status.success() {
        return Err(format!("{} of {size}: {}", case.name, String::from_utf8_lossy(&output.stderr)).into());
    }
    let text = String::from_utf8(output.stdout)?;
    let numbers = text.split_whitespace().map(str::parse).collect::<std::result::Result<Vec<f64>, _>>()?;
    let &[shapes, stitches, read, sew, write, report, peak] = numbers.as_slice() else {
        return Err(format!("not understood: {text}").into());
    };
    Ok(Figures { shapes: shapes as usize, stitches: stitches as usize, phases: [read, sew, write, report], peak })
}
