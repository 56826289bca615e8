//! From outlines to a file in a fresh process: lists as the engine writes them, and the same fills by `write!`.
//!
//! `cargo run --release -p laidwork-benches --example cold` does each of the three cases both ways, every run a process
//! of its own, and prints the milliseconds of the median run. The clock starts when the outlines are there and stops
//! when the file is closed. `rows` are fills without underlay.

use laidwork_benches::{many_holes, many_shapes, one_shape};
use laidwork_fill::{Ends, FillSettings, FillUnderlay, RowAngle, fill};
use laidwork_geometry::Polygon;
use laidwork_list::{WriteOptions, write};
use laidwork_plan::{Color, Method, Pass, Piece, Plan, Point, Thread};
use rayon::prelude::*;
use std::error::Error;
use std::fmt::Write as _;
use std::fs::File;
use std::process::Command;
use std::time::Instant;

type Result<T> = std::result::Result<T, Box<dyn Error>>;

const RUNS: usize = 9;
const STITCHES: f64 = 1_000_000.0;

fn main() -> Result<()> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    if let [case, sewn, written] = &args[..] {
        println!("{}", once(case, sewn, written)?);
        return Ok(());
    }
    println!("case  what  list, ms  `write!`, ms  ratio");
    for case in ["a", "b", "c"] {
        for sewn in ["fill", "rows"] {
            let [list, plain] = [median(case, sewn, "list")?, median(case, sewn, "plain")?];
            println!("{case}  {sewn}  {list:.0}  {plain:.0}  {:.1}", plain / list);
        }
    }
    Ok(())
}

fn median(case: &str, sewn: &str, written: &str) -> Result<f64> {
    let mut times = Vec::new();
    for _ in 0..RUNS {
        let output = Command::new(std::env::current_exe()?).args([case, sewn, written]).output()?;
        times.push(String::from_utf8(output.stdout)?.trim().parse::<f64>()?);
    }
    times.sort_by(f64::total_cmp);
    Ok(times[RUNS / 2])
}

/// One run, ms.
fn once(case: &str, sewn: &str, written: &str) -> Result<f64> {
    let polygons = match case {
        "a" => one_shape(STITCHES),
        "b" => many_holes(STITCHES),
        _ => many_shapes(STITCHES),
    };
    let underlay = (sewn == "fill").then(FillUnderlay::default);
    let settings = FillSettings { angle: RowAngle::At(0.0), underlay, ..FillSettings::default() };
    let passes_of = |polygon: &Polygon| fill("cold", polygon, None, &settings, Ends::default()).value;
    let path = std::env::temp_dir().join(format!("laidwork-cold-{}", std::process::id()));
    let clock = Instant::now();
    let sewn: Vec<Vec<Pass>> = polygons.par_iter().map(passes_of).collect();
    if written == "list" {
        let piece = |passes| Piece { name: "shape".to_owned(), method: Method::Fill, thread: 0, passes };
        let pieces = sewn.into_iter().map(piece).collect();
        let plan = Plan {
            threads: vec![Thread { color: Color { red: 0, green: 0, blue: 0 }, name: None }],
            pieces,
            ..Plan::default()
        };
        write(&plan, &mut File::create(&path)?, WriteOptions::default())?;
    } else {
        let points: Vec<Point> = sewn.into_iter().flatten().flat_map(|pass| pass.points).collect();
        let mut text = String::new();
        for point in points {
            writeln!(text, "{:.2} {:.2}", point.x, point.y)?;
        }
        std::fs::write(&path, text)?;
    }
    let time = clock.elapsed().as_secs_f64() * 1e3;
    std::fs::remove_file(path)?;
    Ok(time)
}
