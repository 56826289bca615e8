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
    check_options(&args, &kinds)?;
    let progress = Progress::start("reading");
    let plan = input::list(&args.list)?;
    reads::keep(args.output.iter().map(PathBuf::as_path))?;
    let mut look = look(args.fabric.first().copied(), args.scale);
    look.show = args.show.unwrap_or(look.show);
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

/// Refuses options that nothing written looks at.
fn check_options(args: &View, kinds: &[Kind]) -> Result<()> {
    let writes = |looking: &[Kind]| kinds.iter().any(|kind| looking.contains(kind));
    if args.fabric.len() > 1 && !writes(&SHEETS) {
        return Err(miette!(
            help = "name one, or write a sheet of all: -o OUT.colourways.png or OUT.colourways.html",
            "a picture has one --fabric, and {} are named",
            args.fabric.len()
        ));
    }
    if args.show.is_some() && !writes(&[Kind::Svg, Kind::Png]) {
        return Err(miette!("--show is for pictures alone; write an .svg or a .png"));
    }
    if args.scale.is_some() && !writes(&[Kind::Png, Kind::ColourwaysPng]) {
        return Err(miette!("--scale is the sharpness of a PNG; write a .png, or leave it out"));
    }
    Ok(())
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
