//! The sheet that lies beside the sewn swatch: what to measure, where, in which
//! direction and how often. One HTML page for printing, without scripts.

use crate::design::{Cell, Swatch};
use laidwork_plan::{Method, Vec2};
use std::fmt::Write;

const STYLE: &str = "body{font:14px/1.45 sans-serif;max-width:60rem;margin:1.5rem auto;padding:0 1rem;color:#222}\
    h1{font-size:1.5rem}h2{font-size:1.1rem;margin-top:1.6rem}table{border-collapse:collapse;width:100%}\
    th,td{border:1px solid #b9b4aa;padding:.2rem .45rem;text-align:right}th:nth-child(3),td:nth-child(3){text-align:left}\
    th{background:#f1eee6}.blank{min-width:3rem}.no{background:#e4e1d8}figure{margin:0}svg{width:100%;max-width:130mm}\
    tr{break-inside:avoid}";

const STEPS: [&str; 7] = [
    "Hoop the cloth with the backing, topping, needle and thread you want to know about. Its grain, the direction \
     along the selvedge, runs the way the sewn arrow points. Do not stretch it.",
    "Sew the swatch. Take it out of the hoop, remove the backing as you would from a finished piece, let it lie for \
     a quarter of an hour, do not press it.",
    "Lay it flat and measure with a caliper, or on a scan with a ruler beside it, to 0.1 mm if you can. Do not pull.",
    "Along: from one end of the threads to the other, in the direction of the lines in the picture. Three times: \
     at a quarter, a half and three quarters of the cell.",
    "Across (columns alone): from the first thread to the last, square to the threads, near each of the two sides.",
    "Write the readings into the table beside this sheet, in mm. Leave empty what you could not measure.",
    "Then: laidwork swatch --read TABLE.csv -o row.toml",
];

const CAUTIONS: [&str; 3] = [
    "Trace the outline with the needle up first: a needle that meets the hoop breaks and flies. Wear eye protection \
     and keep hands clear.",
    "Follow the machine's manual and the fabric's care label.",
    "The result holds for this cloth, backing, thread and tension alone.",
];

impl Swatch {
    /// The sheet, HTML.
    pub fn to_sheet(&self) -> String {
        let mut html = format!(
            "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>Swatch</title>\n\
             <style>{STYLE}</style></head><body>\n<h1>Swatch on {}</h1>\n<ol>\n",
            escaped(&self.material)
        );
        for step in STEPS {
            let _ = writeln!(html, "<li>{}</li>", escaped(step));
        }
        let _ = write!(html, "</ol>\n<figure>{}</figure>\n<h2>What to measure</h2>\n", self.picture());
        html += "<table><thead><tr><th>cell</th><th>threads</th><th>what it tries</th><th>drawn, mm</th>\
                 <th>along 1</th><th>along 2</th><th>along 3</th><th>across 1</th><th>across 2</th></tr></thead><tbody>\n";
        for cell in &self.cells {
            let across = if cell.measured_across() { "blank" } else { "no" };
            let _ = writeln!(
                html,
                "<tr><td>{}</td><td>{}</td><td>{}</td><td>{} × {}</td>{}{}</tr>",
                cell.number,
                direction(cell),
                what(cell),
                cell.along,
                cell.across,
                "<td class=\"blank\"></td>".repeat(3),
                format!("<td class=\"{across}\"></td>").repeat(2)
            );
        }
        html += "</tbody></table>\n<h2>Cautions</h2>\n<ul>\n";
        for caution in CAUTIONS {
            let _ = writeln!(html, "<li>{}</li>", escaped(caution));
        }
        html + "</ul>\n</body></html>\n"
    }

    /// Where each cell lies, and which way its threads run.
    fn picture(&self) -> String {
        let (width, height) = self.hoop;
        let mut svg = format!(
            "<svg viewBox=\"{} {} {width} {height}\" role=\"img\" aria-label=\"The cells by number, with the direction of \
             their threads\"><rect x=\"{}\" y=\"{}\" width=\"{width}\" height=\"{height}\" rx=\"4\" fill=\"#faf8f2\" \
             stroke=\"#8d8698\" stroke-width=\"0.4\"/>\n",
            -width / 2.0,
            -height / 2.0,
            -width / 2.0,
            -height / 2.0
        );
        let (arrow, tip) = (self.arrow + Vec2::new(1.5, 10.0), self.arrow + Vec2::new(1.5, 0.0));
        let _ = writeln!(
            svg,
            "<path d=\"M{} {} L{} {} m-1.5 2 l1.5 -2 l1.5 2\" fill=\"none\" stroke=\"#222\" stroke-width=\"0.4\"/>",
            arrow.x, arrow.y, tip.x, tip.y
        );
        for cell in &self.cells {
            let corners: Vec<String> = cell.corners().iter().map(|at| format!("{:.2},{:.2}", at.x, at.y)).collect();
            let fill = if cell.method == Method::Fill { "#dfe9d8" } else { "#f3e3c0" };
            let _ = writeln!(
                svg,
                "<polygon points=\"{}\" fill=\"{fill}\" stroke=\"#5d6a75\" stroke-width=\"0.25\"/>",
                corners.join(" ")
            );
            for part in [-0.3, 0.0, 0.3] {
                let middle = cell.middle + cell.threads().turn_90() * (cell.across * part);
                let half = cell.threads() * (cell.along / 2.0);
                let (from, to) = (middle - half, middle + half);
                let _ = writeln!(
                    svg,
                    "<path d=\"M{:.2} {:.2} L{:.2} {:.2}\" stroke=\"#5d6a75\" stroke-width=\"0.2\"/>",
                    from.x, from.y, to.x, to.y
                );
            }
            let at = cell.label();
            let _ = writeln!(
                svg,
                "<text x=\"{:.2}\" y=\"{:.2}\" font-size=\"3.6\" font-family=\"sans-serif\">{}</text>",
                at.x,
                at.y + 3.0,
                cell.number
            );
        }
        svg + "</svg>"
    }
}

fn direction(cell: &Cell) -> String {
    match cell.from_grain {
        angle if angle < 0.5 => "along the grain".into(),
        angle if angle > 89.5 => "across the grain".into(),
        angle => format!("{angle:.0}° off the grain"),
    }
}

fn what(cell: &Cell) -> String {
    use crate::design::Trial;
    let kind = if cell.method == Method::Fill { "fill" } else { "column" };
    match cell.trial {
        Trial::Width => format!("{kind} as usual"),
        Trial::Spacing => format!("{kind}, spacing {} mm", cell.spacing),
        Trial::Pull => format!("{kind}, pull compensation {} mm", cell.pull),
        Trial::StitchLength => format!("{kind}, stitches of {} mm", cell.stitch_length),
        Trial::Bare => format!("{kind}, no underlay"),
    }
}

/// Text for the inside of an element.
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
