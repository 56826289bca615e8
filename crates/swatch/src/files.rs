//! The swatch as a drawing, as a recipe and as the table to fill in.
//!
//! Drawing and recipe are ordinary ones: the swatch is sewn like any design, and
//! whoever wants another can start from them.

use crate::design::{ARROW, Cell, DIGITS, Swatch};
use crate::digits;
use crate::measured::COLUMNS;
use laidwork_plan::{Method, Plan, Point, Vec2};
use std::fmt::Write;

/// Thread dragged farther than this is cut, mm: digits stand at least 1 mm apart.
const LONGEST_FLOAT: f64 = 0.5;

impl Swatch {
    /// The drawing, SVG in mm.
    pub fn to_svg(&self) -> String {
        let (width, height) = self.hoop;
        let mut svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
             viewBox=\"0 0 {width} {height}\">\n  <title>{}</title>\n",
            self.title()
        );
        let corner = Vec2::new(width / 2.0, height / 2.0);
        let stroke = |svg: &mut String, id: &str, width: f64, lines: &[Vec<Point>]| {
            let mut d = String::new();
            for line in lines {
                for (index, point) in line.iter().enumerate() {
                    let at = *point + corner;
                    let _ = write!(d, "{}{:.3} {:.3}", if index == 0 { " M" } else { " L" }, at.x, at.y);
                }
            }
            let _ = writeln!(
                svg,
                "  <path id=\"{id}\" d=\"{}\" fill=\"none\" stroke=\"#2f5d34\" stroke-width=\"{width:.3}\"/>",
                d.trim_start()
            );
        };
        stroke(&mut svg, "grain", 0.3, &arrow(self.arrow));
        for cell in &self.cells {
            if cell.method == Method::Fill {
                let d: Vec<String> =
                    cell.corners().iter().map(|at| format!("{:.3} {:.3}", at.x + corner.x, at.y + corner.y)).collect();
                let _ = writeln!(svg, "  <path id=\"{}\" d=\"M{} Z\" fill=\"#2f5d34\"/>", cell.name(), d.join(" L"));
            } else {
                let half = cell.threads().turn_90() * (cell.across / 2.0);
                stroke(&mut svg, &cell.name(), cell.along, &[vec![cell.middle - half, cell.middle + half]]);
            }
            let label = digits::strokes(cell.number, cell.label(), DIGITS);
            stroke(&mut svg, &format!("number-{}", cell.number), 0.3, &label);
        }
        svg + "</svg>\n"
    }

    /// The recipe, for a material called as [`Swatch::material`].
    pub fn to_recipe(&self) -> String {
        let (width, height) = self.hoop;
        let mut recipe = format!(
            "# A swatch: every cell changes one thing from what the material asks for.\n\n\
             [design]\ntitle = \"{}\"\nhoop = [{width:?}, {height:?}]\nmaterial = {}\n\n\
             # No thread from one digit to the next: 13 would be read as L3.\n\
             [sewing]\ntrim_over = {LONGEST_FLOAT:?}\n\n\
             [order]\nkeep = \"drawing\"\n\n\
             [[rule]]\nmatch = [\"grain\", \"number-*\"]\nmethod = \"run\"\nstitch_length = 1.2\n",
            self.title(),
            quoted(&self.material)
        );
        for cell in &self.cells {
            let _ = write!(
                recipe,
                "\n[[rule]]                     # {}\nmatch = \"{}\"\nmethod = \"{}\"\nspacing = {}\npull_compensation = {}\npull_limit = 3.0\n",
                cell.trial.words(),
                cell.name(),
                cell.method.word(),
                number(cell.spacing),
                number(cell.pull)
            );
            if cell.method == Method::Fill {
                let angle = number((90.0 + cell.from_grain) % 180.0);
                let _ = write!(recipe, "angle = {angle}\nstitch_length = {}\n", number(cell.stitch_length));
            } else {
                let _ =
                    write!(recipe, "pull_percent = 0.0\npush_compensation = {}\nmax_width = 11.0\n", number(cell.push));
            }
            if !cell.underlay {
                recipe += "underlay = \"none\"\n";
            }
        }
        recipe
    }

    /// The table to fill in: what is known of each cell of the sewn `plan`, and
    /// room for the readings. Cells that were not sewn are left out.
    pub fn to_csv(&self, plan: &Plan) -> String {
        let mut csv = COLUMNS.join(",");
        csv.push('\n');
        for cell in &self.cells {
            let Some((along, across)) = cell.stitched(plan) else { continue };
            let _ = writeln!(
                csv,
                "{},{},{},{},{},{},{along:.2},{across:.2},{},{},{},{},{},{},{},,,,{},",
                cell.number,
                quoted_field(&self.material),
                cell.method.word(),
                cell.from_grain,
                number(cell.along),
                number(cell.across),
                number(cell.spacing),
                number(self.usual.spacing(cell.method)),
                number(cell.stitch_length),
                number(if cell.method == Method::Fill { self.usual.stitch_length } else { cell.stitch_length }),
                number(cell.pull),
                number(cell.push),
                if cell.underlay { "yes" } else { "no" },
                if cell.measured_across() { "," } else { "-,-" },
            );
        }
        csv
    }

    fn title(&self) -> &'static str {
        "Swatch"
    }
}

impl Cell {
    /// Whether its size across the threads is to be measured too.
    pub fn measured_across(&self) -> bool {
        self.method == Method::Satin
    }
}

/// A number with at most three decimals.
pub(crate) fn number(value: f64) -> String {
    let text = format!("{value:.3}");
    let short = text.trim_end_matches('0');
    if short.ends_with('.') { format!("{short}0") } else { short.to_owned() }
}

/// A basic string of TOML.
pub(crate) fn quoted(text: &str) -> String {
    let mut safe = String::from("\"");
    for letter in text.chars() {
        match letter {
            '"' | '\\' => safe.extend(['\\', letter]),
            letter if letter.is_control() => {
                let _ = write!(safe, "\\u{:04X}", u32::from(letter));
            }
            letter => safe.push(letter),
        }
    }
    safe.push('"');
    safe
}

fn quoted_field(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.to_owned() }
}

/// An arrow that points up, along the grain.
fn arrow(at: Point) -> Vec<Vec<Point>> {
    let (wide, high) = ARROW;
    let point = |x: f64, y: f64| at + Vec2::new(x * wide, y * high);
    vec![vec![point(0.5, 1.0), point(0.5, 0.0)], vec![point(0.0, 0.2), point(0.5, 0.0), point(1.0, 0.2)]]
}
