//! The command line: every argument and its help.

use clap::{Args, Parser, Subcommand};
use std::path::PathBuf;

/// Turns drawn outlines into embroidery stitches.
#[derive(Debug, Parser)]
#[command(
    name = "laidwork",
    version,
    about = "Turns drawn outlines into embroidery stitches",
    max_term_width = 96,
    arg_required_else_help = true,
    after_help = "Exit codes: 0 done, 1 done but a check failed, a row was bad or text was left out for want of a font that has it, 2 bad input or usage (nothing is written)."
)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What the command can do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Turn a drawing into stitches, with figures and pictures
    Sew(Sew),
    /// Write a starter recipe that names every shape of a drawing
    Recipe(Recipe),
    /// Print the figures of a drawing, or how the cloth is predicted to draw it in
    Report(Report),
    /// Check a stitch list: figures and rules of thumb (exit code 1 when a check fails)
    Check(Check),
    /// Draw a stitch list as a picture or a page that sews itself
    View(View),
    /// Find the nearest threads of a chart for every colour of a drawing
    Threads(Threads),
    /// Try settings out on a page of its own, and write them back into the recipe
    Tune(Tune),
    /// Sew one design for each row of a table
    Many(Many),
    /// Write a test design to measure, or make a material of its measurements
    Swatch(Swatch),
    /// Turn a stitch list into CSV, JSON or G-code, and back
    Convert(Convert),
    /// Print the completions of a shell
    Completions(Completions),
    /// Print the manual page, or write one for every subcommand
    Man(Man),
}

/// How a drawing is read.
#[derive(Debug, Args)]
pub struct Reading {
    /// Width of the sewn drawing, 1 to 2000 mm (the height follows unless it is given too)
    #[arg(long, value_name = "MM", allow_negative_numbers = true, value_parser = sewn_size)]
    pub width: Option<f64>,
    /// Height of the sewn drawing, 1 to 2000 mm
    #[arg(long, value_name = "MM", allow_negative_numbers = true, value_parser = sewn_size)]
    pub height: Option<f64>,
    /// A font file, or a folder of them, for the drawing's text (may be repeated)
    #[arg(long, value_name = "FILE|DIR")]
    pub font: Vec<PathBuf>,
    /// New text for an element of the drawing: its id, `=`, the text (may be repeated)
    #[arg(long, value_name = "ID=TEXT", value_parser = id_and_text)]
    pub text: Vec<(String, String)>,
}

/// Arguments of `laidwork sew`.
#[derive(Debug, Args)]
pub struct Sew {
    /// The drawing, .svg or .svgz; `-` reads standard input. Not needed when the recipe places its own
    #[arg(value_name = "DRAWING", required_unless_present_any = ["demo", "recipe"], conflicts_with = "demo")]
    pub drawing: Option<PathBuf>,
    /// Sew the built-in garden patch with its recipe
    #[arg(long)]
    pub demo: bool,
    /// The recipe that says how shapes become stitches
    #[arg(short, long, value_name = "RECIPE.toml", conflicts_with = "demo")]
    pub recipe: Option<PathBuf>,
    /// Sew this colourway of the recipe
    #[arg(long, value_name = "NAME", requires = "recipe")]
    pub colourway: Option<String>,
    /// Where to: the ending decides the kind (.stitches .csv .json .gcode .svg .png .html,
    /// .report.txt for the figures, .worksheet.html for the sheet beside the machine,
    /// .colourways.png or .colourways.html for the recipe's colourways side by side); a folder
    /// gets them all but .csv, .json and .gcode; `-` is standard output (may be repeated)
    #[arg(short, long, value_name = "OUT")]
    pub output: Vec<PathBuf>,
    #[command(flatten)]
    pub reading: Reading,
    /// Print the report as JSON; not while the list goes to standard output
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `laidwork report`.
#[derive(Debug, Args)]
pub struct Report {
    /// The drawing, .svg or .svgz; `-` reads standard input. Not needed when the recipe places its own
    #[arg(value_name = "DRAWING", required_unless_present_any = ["schema", "recipe"])]
    pub drawing: Option<PathBuf>,
    /// The recipe that says how shapes become stitches
    #[arg(short, long, value_name = "RECIPE.toml")]
    pub recipe: Option<PathBuf>,
    /// Predict, by a model, how the cloth draws the design in: outlines, gaps, compensation
    #[arg(long)]
    pub sewn: bool,
    /// With --sewn: a picture of drawn and predicted outlines, .svg or .png (may be repeated)
    #[arg(short, long, value_name = "OUT", requires = "sewn")]
    pub output: Vec<PathBuf>,
    /// With --sewn: sharpness of a PNG
    #[arg(long, value_name = "PIXELS PER MM", value_parser = millimetres, requires = "sewn")]
    pub scale: Option<f64>,
    /// Print it as JSON
    #[arg(long)]
    pub json: bool,
    /// Print the JSON Schema of reports instead; with --sewn that of predictions
    #[arg(long)]
    pub schema: bool,
    #[command(flatten)]
    pub reading: Reading,
}

/// Arguments of `laidwork recipe`.
#[derive(Debug, Args)]
pub struct Recipe {
    /// The drawing, .svg or .svgz; `-` reads standard input
    #[arg(value_name = "DRAWING", required_unless_present = "schema")]
    pub drawing: Option<PathBuf>,
    /// Print the JSON Schema of recipes instead
    #[arg(long)]
    pub schema: bool,
    /// Where to (default: standard output)
    #[arg(short, long, value_name = "RECIPE.toml")]
    pub output: Option<PathBuf>,
    #[command(flatten)]
    pub reading: Reading,
}

/// Arguments of `laidwork check`.
#[derive(Debug, Args)]
pub struct Check {
    /// The stitch list (.stitches, .csv, .json, .gcode or .ngc); `-` reads any but G-code from standard input
    #[arg(value_name = "FILE", required_unless_present = "schema")]
    pub list: Option<PathBuf>,
    /// Print the JSON Schema of reports instead
    #[arg(long)]
    pub schema: bool,
    /// Print the report as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `laidwork view`.
#[derive(Debug, Args)]
pub struct View {
    /// The stitch list (.stitches, .csv, .json, .gcode or .ngc); `-` reads any but G-code from standard input
    #[arg(value_name = "FILE")]
    pub list: PathBuf,
    /// Where to: .svg, .png, .html or .worksheet.html; .colourways.png or .colourways.html for
    /// every --fabric side by side (may be repeated)
    #[arg(short, long, value_name = "OUT", required = true)]
    pub output: Vec<PathBuf>,
    /// Colour of the fabric, #rrggbb (may be repeated for a sheet of colourways; other pictures take the first)
    #[arg(long, value_name = "COLOUR")]
    pub fabric: Vec<laidwork_plan::Color>,
    /// Sharpness of a PNG
    #[arg(long, value_name = "PIXELS PER MM", value_parser = millimetres)]
    pub scale: Option<f64>,
    /// What an .svg or .png shows: threads, kinds, order, density or penetrations [default: threads]
    #[arg(long, value_name = "WHAT")]
    pub show: Option<laidwork_view::Show>,
    /// Fabric of one even colour, without its weave
    #[arg(long)]
    pub plain: bool,
}

/// Arguments of `laidwork threads`.
#[derive(Debug, Args)]
pub struct Threads {
    /// The drawing, .svg or .svgz; `-` reads standard input
    #[arg(value_name = "DRAWING", required_unless_present = "schema")]
    pub drawing: Option<PathBuf>,
    /// The chart of threads: a CSV with code, name, colour and, if you like, tex and metres left
    #[arg(long, value_name = "CHART.csv", required_unless_present = "schema")]
    pub chart: Option<PathBuf>,
    /// The recipe the drawing is sewn by
    #[arg(short, long, value_name = "RECIPE.toml")]
    pub recipe: Option<PathBuf>,
    /// At most so many threads for the whole design
    #[arg(long, value_name = "N")]
    pub at_most: Option<usize>,
    /// Where to write the card of swatches, .html
    #[arg(short, long, value_name = "OUT.html")]
    pub output: Option<PathBuf>,
    /// Colour of the fabric, #rrggbb (may be repeated; default: the recipe's)
    #[arg(long, value_name = "COLOUR")]
    pub fabric: Vec<laidwork_plan::Color>,
    /// How many threads to offer for each colour
    #[arg(long, value_name = "N", default_value_t = 3)]
    pub offers: usize,
    /// Print the table as JSON
    #[arg(long)]
    pub json: bool,
    /// Print the JSON Schema of the table instead
    #[arg(long)]
    pub schema: bool,
    #[command(flatten)]
    pub reading: Reading,
}

/// Arguments of `laidwork tune`.
#[derive(Debug, Args)]
pub struct Tune {
    /// The drawing, .svg or .svgz. Not needed when the recipe places its own
    #[arg(value_name = "DRAWING")]
    pub drawing: Option<PathBuf>,
    /// The recipe to tune; `laidwork recipe DRAWING` writes one to start from
    #[arg(short, long, value_name = "RECIPE.toml")]
    pub recipe: PathBuf,
    #[command(flatten)]
    pub reading: Reading,
}

/// Arguments of `laidwork many`.
#[derive(Debug, Args)]
pub struct Many {
    /// The drawing, .svg or .svgz, with {column} placeholders in its texts and attributes; `-` reads
    /// standard input. Not needed when the recipe places its own
    #[arg(value_name = "DRAWING", required_unless_present = "recipe")]
    pub drawing: Option<PathBuf>,
    /// The table: a CSV that names its columns in the first line; one design for each further line
    #[arg(long, value_name = "TABLE.csv")]
    pub table: PathBuf,
    /// The recipe, with {column} placeholders if you like
    #[arg(short, long, value_name = "RECIPE.toml")]
    pub recipe: Option<PathBuf>,
    /// The folder to write into (default: the table's name without its ending)
    #[arg(short, long, value_name = "DIR")]
    pub output: Option<PathBuf>,
    /// What the files of a row are called, without ending (default: the table's first column)
    #[arg(long, value_name = "NAME WITH {column}")]
    pub name: Option<String>,
    /// What to write for each row: stitches, csv, json, gcode, svg, png, html, worksheet, report,
    /// with commas between them
    #[arg(long, value_name = "KINDS", value_delimiter = ',', default_value = "stitches")]
    pub write: Vec<crate::output::Kind>,
    /// Sew every row, also those that are done already
    #[arg(long)]
    pub afresh: bool,
    #[command(flatten)]
    pub reading: Reading,
    #[command(flatten)]
    pub machine: Machine,
}

/// Arguments of `laidwork swatch`.
#[derive(Debug, Args)]
pub struct Swatch {
    /// The material it is for: where settings start from
    #[arg(long, value_name = "NAME", default_value = "woven-cotton")]
    pub material: String,
    /// A recipe that has the material
    #[arg(short, long, value_name = "RECIPE.toml")]
    pub recipe: Option<PathBuf>,
    /// Inside of the hoop, mm, as 100x80, or the width of a round one, as 120
    #[arg(long, value_name = "MM", default_value = "100x100")]
    pub hoop: laidwork_gcode::Hoop,
    /// Widths of columns, mm: a list as 2,4,6, FROM..TO:COUNT as 2..6:3, or none [default: 1.5,3,5,7]
    #[arg(long, value_name = "LIST", value_parser = list)]
    pub widths: Option<List>,
    /// Sides of fills, mm [default: 7,11]
    #[arg(long, value_name = "LIST", value_parser = list)]
    pub sizes: Option<List>,
    /// Angles between threads and the cloth's grain, degrees [default: 0,90]
    #[arg(long, value_name = "LIST", value_parser = list)]
    pub directions: Option<List>,
    /// Spacings to try, mm [default: 0.8 and 1.5 times the usual]
    #[arg(long, value_name = "LIST", value_parser = list)]
    pub spacing: Option<List>,
    /// Pull compensations to try, mm [default: 0,0.4]
    #[arg(long, value_name = "LIST", allow_hyphen_values = true, value_parser = list)]
    pub pull: Option<List>,
    /// Stitch lengths of fills to try, mm [default: 2.5,5]
    #[arg(long, value_name = "LIST", value_parser = list)]
    pub stitch_length: Option<List>,
    /// Underlays to try: with, or with and without
    #[arg(long, value_name = "WHICH", default_value = "both", value_parser = ["with", "both"])]
    pub underlay: String,
    /// Read the table that was filled in, and write the row of the material
    #[arg(long, value_name = "MEASURED.csv", conflicts_with_all = ["material", "recipe", "hoop", "widths", "sizes",
        "directions", "spacing", "pull", "stitch_length", "underlay"])]
    pub read: Option<PathBuf>,
    /// With --read: name of the row [default: the material's and `-measured`]
    #[arg(long, value_name = "NAME", requires = "read")]
    pub name: Option<String>,
    /// The folder to write the swatch into (default: swatch/); with --read the file of the row
    /// (default: standard output)
    #[arg(short, long, value_name = "OUT")]
    pub output: Option<PathBuf>,
}

/// Numbers written as a list.
#[derive(Clone, Debug)]
pub struct List(pub Vec<f64>);

/// Arguments of `laidwork convert`.
#[derive(Debug, Args)]
pub struct Convert {
    /// The list: .stitches, .csv, .json, .gcode or .ngc; `-` reads any but G-code from standard input
    #[arg(value_name = "FILE")]
    pub list: PathBuf,
    /// Where to: the ending decides the kind (.stitches .csv .json .gcode .ngc); `-` is a stitch list on
    /// standard output (may be repeated)
    #[arg(short, long, value_name = "OUT", required = true)]
    pub output: Vec<PathBuf>,
    #[command(flatten)]
    pub machine: Machine,
}

/// The machine that runs G-code.
#[derive(Debug, Args)]
pub struct Machine {
    /// G-code: what makes one stitch where the hoop stands, lines parted by `|` [default: "G0 Z-5 | G0 Z5"]
    #[arg(long, value_name = "LINES")]
    pub needle: Option<String>,
    /// G-code: what cuts the thread [default: "M0 (MSG, cut the thread)"]
    #[arg(long, value_name = "LINES")]
    pub trim: Option<String>,
    /// G-code: what changes the thread; {thread} is its number [default: "T{thread} M0"]
    #[arg(long, value_name = "LINES")]
    pub thread: Option<String>,
    /// G-code: speed of the hoop, mm/min [default: 3000]
    #[arg(long, value_name = "MM/MIN", allow_negative_numbers = true, value_parser = millimetres)]
    pub feed: Option<f64>,
    /// G-code: inside of the hoop, mm, as 100x80, or the width of a round one, as 120 [default: the list's]
    #[arg(long, value_name = "MM")]
    pub hoop: Option<laidwork_gcode::Hoop>,
    /// G-code: where its origin lies in the hoop: centre, or corner (the lower left one) [default: centre]
    #[arg(long, value_name = "WHERE")]
    pub origin: Option<laidwork_gcode::Origin>,
}

/// Arguments of `laidwork completions`.
#[derive(Debug, Args)]
#[command(after_help = "For example:\n  \
    source <(laidwork completions bash)                              in ~/.bashrc\n  \
    laidwork completions fish > ~/.config/fish/completions/laidwork.fish")]
pub struct Completions {
    /// The shell
    #[arg(value_name = "SHELL")]
    pub shell: clap_complete::Shell,
}

/// Arguments of `laidwork man`.
#[derive(Debug, Args)]
#[command(after_help = "For example:\n  \
    laidwork man -o ~/.local/share/man/man1\n  \
    man laidwork-many")]
pub struct Man {
    /// A folder for the pages of the command and all subcommands (default: its own page on standard output)
    #[arg(short, long, value_name = "DIR")]
    pub output: Option<PathBuf>,
}

/// A positive, finite number.
fn millimetres(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() && value > 0.0 => Ok(value),
        Ok(_) => Err("it must be a number above 0".into()),
        Err(_) => Err("it must be a number with a point, as in 80.5".into()),
    }
}

/// A number from the least size of a recipe on; the reader of drawings knows the largest.
fn sewn_size(text: &str) -> Result<f64, String> {
    millimetres(text)
        .and_then(|value| if value >= 1.0 { Ok(value) } else { Err("it must be from 1 to 2000 mm".into()) })
}

/// `1,2,3`, `1..3:3` or `none`.
fn list(text: &str) -> Result<List, String> {
    const MOST: u32 = 100;
    let number = |text: &str| text.trim().parse::<f64>().ok().filter(|value| value.is_finite());
    if text.trim() == "none" {
        return Ok(List(Vec::new()));
    }
    let range = text.split_once("..").and_then(|(from, rest)| {
        let (to, count) = rest.split_once(':')?;
        let count = count.trim().parse::<u32>().ok().filter(|count| (2..=MOST).contains(count))?;
        let (from, to) = (number(from)?, number(to)?);
        let at = |i: u32| from + (to - from) * f64::from(i) / f64::from(count - 1);
        Some((0..count).map(at).map(|value| (value * 1000.0).round() / 1000.0).collect())
    });
    let values = range.or_else(|| text.split(',').map(number).collect::<Option<Vec<f64>>>());
    values
        .filter(|values| values.len() <= MOST as usize)
        .map(List)
        .ok_or_else(|| "write numbers with commas, as 2,4,6; FROM..TO:COUNT, as 2..6:3; or none".into())
}

/// `ID=TEXT`.
fn id_and_text(text: &str) -> Result<(String, String), String> {
    match text.split_once('=') {
        Some((id, text)) if !id.is_empty() => Ok((id.to_owned(), text.to_owned())),
        _ => Err("write the id of a text, an equals sign and the new text, as in initial=R".into()),
    }
}
