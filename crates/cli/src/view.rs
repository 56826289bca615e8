//! `laidwork view`: pictures and pages of a stitch list.

use crate::args::View;
use crate::colourways::{self, SHEETS};
use crate::output::Kind;
use crate::progress::Progress;
use crate::sew::Rendering;
use crate::{Verdict, input, reads};
use laidwork_plan::Color;
use laidwork_report::{ReportSettings, report};
use laidwork_thread::Pace;
use laidwork_view::{Look, Setup, Weave};
use miette::{Result, miette};
use std::path::{Path, PathBuf};

/// Runs the command.
pub fn run(args: View) -> Result<Verdict> {
    let kinds = args.output.iter().map(|path| kind_of(path)).collect::<Result<Vec<_>>>()?;
    let progress = Progress::start("reading");
    let plan = input::list(&args.list)?;
    reads::keep(args.output.iter().map(PathBuf::as_path))?;
    let mut look = look(args.fabric.first().copied(), args.scale);
    look.show = args.show;
    if args.plain {
        look.weave = Weave::Plain;
    }
    let figures = report(&plan, &ReportSettings::default());
    let result = Rendering { plan, figures, look, pace: Pace::default(), setup: Setup::default() };
    let files: Vec<(PathBuf, Kind)> = args.output.into_iter().zip(kinds).collect();
    result.write(&files, &progress)?;
    colourways::write_on(&files, &result.plan, &args.fabric, &result.look)?;
    Ok(Verdict::Passed)
}

fn kind_of(path: &Path) -> Result<Kind> {
    match Kind::asked(path) {
        Some(kind @ (Kind::Svg | Kind::Png | Kind::Html | Kind::Worksheet)) => Ok(kind),
        Some(kind) if SHEETS.contains(&kind) => Ok(kind),
        _ => Err(miette!("{}: a picture ends in .svg, .png, .html or .worksheet.html", path.display())),
    }
}

/// The look of pictures, with what the user asked for.
pub fn look(fabric: Option<Color>, pixels_per_mm: Option<f64>) -> Look {
    let mut look = Look::default();
    if let Some(fabric) = fabric {
        look.fabric = fabric;
    }
    if let Some(scale) = pixels_per_mm {
        look.pixels_per_mm = scale;
    }
    look
}
