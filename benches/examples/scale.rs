//! One fill of about as many stitches as asked for: time at work and memory for each.
//!
//! `cargo run --release -p laidwork-benches --example scale -- 100000 1000000 10000000`
//! runs each number in a process of its own, as the memory of a process only grows,
//! and gives the slope of time over stitches on logarithmic scales.

use laidwork_benches::one_shape;
use laidwork_fill::{Ends, FillSettings, RowAngle, fill};
use std::error::Error;
use std::process::Command;

fn main() -> Result<(), Box<dyn Error>> {
    let wanted: Vec<String> = std::env::args().skip(1).collect();
    if let [once, stitches] = &wanted[..]
        && once == "--once"
    {
        return measure(stitches.parse()?);
    }
    println!("stitches  ns/stitch  peak B/stitch  of which output B/stitch");
    let mut runs: Vec<(f64, f64)> = Vec::new();
    for stitches in &wanted {
        let output = Command::new(std::env::current_exe()?).args(["--once", stitches]).output()?;
        let text = String::from_utf8(output.stdout)?;
        print!("{text}");
        let mut figures = text.split_whitespace().filter_map(|word| word.parse::<f64>().ok());
        if let (Some(count), Some(each)) = (figures.next(), figures.next()) {
            runs.push((count.ln(), (count * each).ln()));
        }
    }
    if let (Some(first), Some(last)) = (runs.first(), runs.last())
        && last.0 > first.0
    {
        println!("time grows as stitches to the power {:.3}", (last.1 - first.1) / (last.0 - first.0));
    }
    Ok(())
}

fn measure(stitches: f64) -> Result<(), Box<dyn Error>> {
    let polygons = one_shape(stitches);
    let settings = FillSettings { angle: RowAngle::At(0.0), ..FillSettings::default() };
    let before = peak()?;
    let began = busy()?;
    let mut passes = Vec::new();
    // Few stitches are laid several times, as time is counted in hundredths of a second.
    let times = (4e6 / stitches).ceil().clamp(1.0, 100.0);
    for _ in 0..times as usize {
        passes.clear();
        for polygon in &polygons {
            passes.extend(fill("scale", polygon, None, &settings, Ends::default()).value);
        }
    }
    let seconds = (busy()? - began) / times;
    let grown = peak()?.saturating_sub(before);
    let points: usize = passes.iter().map(|pass| pass.points.len()).sum();
    let each = |bytes: usize| bytes as f64 / points as f64;
    let held: usize = passes.iter().map(|pass| pass.points.capacity() * 16).sum();
    println!("{points} {:.2} {:.1} {:.1}", seconds * 1e9 / points as f64, each(grown), each(held));
    Ok(())
}

/// How long this process has been at work, seconds, all threads together: other processes do not count (Linux).
fn busy() -> Result<f64, Box<dyn Error>> {
    let stat = std::fs::read_to_string("/proc/self/stat")?;
    let fields = stat.rsplit(')').next().ok_or("no fields in /proc/self/stat")?.split_whitespace();
    let ticks: f64 = fields.skip(11).take(2).filter_map(|ticks| ticks.parse::<f64>().ok()).sum();
    Ok(ticks / 100.0)
}

/// The most memory this process has held, bytes (Linux: `VmHWM`).
fn peak() -> Result<usize, Box<dyn Error>> {
    let status = std::fs::read_to_string("/proc/self/status")?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).ok_or("no peak in /proc/self/status")?;
    let kilobytes: usize = line.trim().trim_end_matches("kB").trim().parse()?;
    Ok(kilobytes * 1024)
}
