//! A contact sheet of letters: how a font is taken apart and sewn.
//!
//!     cargo run -p laidwork-satin --example sheet -- FONT.ttf LETTERS CAP_HEIGHT OUT.svg [TURN [LISTS]]
//!
//! Every letter is drawn with its outline, columns, middle lines and threads. With
//! a folder LISTS each letter is also written there as a drawing (`.svg`) and
//! its stitches (`.stitches`), for whoever wants to measure them.

use kurbo::{Affine, BezPath, Point};
use laidwork_geometry::{FillRule, Polygon, Region, Ring};
use laidwork_plan::{Pass, PassKind};
use laidwork_satin::{Column, ColumnEnd, Ends, SatinSettings, decompose, from_outline};
use skrifa::instance::{LocationRef, Size};
use skrifa::outline::{DrawSettings, OutlinePen};
use skrifa::{FontRef, MetadataProvider};
use std::fmt::Write;
use std::time::Instant;

struct Pen(BezPath);

impl OutlinePen for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.0.move_to((x as f64, y as f64));
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.0.line_to((x as f64, y as f64));
    }
    fn quad_to(&mut self, cx: f32, cy: f32, x: f32, y: f32) {
        self.0.quad_to((cx as f64, cy as f64), (x as f64, y as f64));
    }
    fn curve_to(&mut self, ax: f32, ay: f32, bx: f32, by: f32, x: f32, y: f32) {
        self.0.curve_to((ax as f64, ay as f64), (bx as f64, by as f64), (x as f64, y as f64));
    }
    fn close(&mut self) {
        self.0.close_path();
    }
}

/// The outline of a letter in mm, the baseline at 0, turned by some degrees.
fn letter(font: &FontRef, letter: char, cap_height: f64, turn: f64) -> Option<Region> {
    let glyph = font.charmap().map(letter)?;
    let outline = font.outline_glyphs().get(glyph)?;
    let mut pen = Pen(BezPath::new());
    outline.draw(DrawSettings::unhinted(Size::unscaled(), LocationRef::default()), &mut pen).ok()?;
    let metrics = font.metrics(Size::unscaled(), LocationRef::default());
    let cap = metrics.cap_height.filter(|c| *c > 0.0).unwrap_or(metrics.ascent * 0.7) as f64;
    let scale = cap_height / cap;
    let path = Affine::rotate(turn.to_radians()) * Affine::scale_non_uniform(scale, -scale) * pen.0;
    let mut rings: Vec<Ring> = Vec::new();
    kurbo::flatten(&path, 0.002, |element| match element {
        kurbo::PathEl::MoveTo(p) => rings.push(Ring::new(vec![p])),
        kurbo::PathEl::LineTo(p) => rings.last_mut().into_iter().for_each(|r| r.points.push(p)),
        _ => {}
    });
    Some(Region::from_rings(&rings, FillRule::NonZero))
}

fn path_of(polygon: &Polygon) -> String {
    let mut d = String::new();
    for ring in polygon.rings() {
        for (i, p) in ring.points.iter().enumerate() {
            let _ = write!(d, "{}{:.3} {:.3}", if i == 0 { "M" } else { "L" }, p.x, p.y);
        }
        d.push('Z');
    }
    d
}

fn line_of(points: impl Iterator<Item = Point>) -> String {
    points.fold(String::new(), |mut d, p| {
        let _ = write!(d, "{:.3},{:.3} ", p.x, p.y);
        d
    })
}

const COLORS: [&str; 8] = ["#c33", "#36c", "#393", "#c80", "#939", "#099", "#a52", "#666"];

fn drawn(polygon: &Polygon, columns: &[Column], passes: &[Pass]) -> String {
    let mut svg = format!("<path d='{}' fill='#eee' stroke='#999' stroke-width='.08'/>", path_of(polygon));
    for (i, column) in columns.iter().enumerate() {
        let color = COLORS[i % COLORS.len()];
        let outline = line_of(column.left().chain(column.right().collect::<Vec<_>>().into_iter().rev()));
        let _ = write!(
            svg,
            "<polygon points='{outline}' fill='{color}' fill-opacity='.12' stroke='{color}' stroke-width='.12'/>"
        );
        let _ = write!(
            svg,
            "<polyline points='{}' fill='none' stroke='{color}' stroke-width='.2'/>",
            line_of(column.centre())
        );
        for (end, c) in [(0, column.crossings.first()), (1, column.crossings.last())] {
            if let Some(c) = c.filter(|_| !column.closed) {
                let dash = if column.ends[end] == ColumnEnd::Joined { "fill='none'" } else { "" };
                let _ = write!(
                    svg,
                    "<circle cx='{:.2}' cy='{:.2}' r='.4' stroke='{color}' stroke-width='.15' {dash}/>",
                    c.middle().x,
                    c.middle().y
                );
            }
        }
    }
    let mut before = None;
    for pass in passes {
        let points = line_of(before.into_iter().chain(pass.points.iter().copied()));
        let (color, width) = match pass.kind {
            PassKind::Top => ("#000", 0.03),
            PassKind::Travel => ("#e0e", 0.12),
            _ => ("#08f", 0.08),
        };
        let _ = write!(svg, "<polyline points='{points}' fill='none' stroke='{color}' stroke-width='{width}'/>");
        before = pass.points.last().copied();
    }
    svg
}

fn list(passes: &[Vec<Pass>], bounds: kurbo::Rect) -> String {
    let mut text = format!(
        "stitch-list 1\ntitle letter\nunit mm\ndrawing {:.3} {:.3} {:.3} {:.3}\nthread 1 #000000\n",
        bounds.x0,
        bounds.y0,
        bounds.width(),
        bounds.height()
    );
    let mut count = 0;
    for (i, chain) in passes.iter().enumerate() {
        let _ = writeln!(text, "piece {} thread 1 method satin name x", i + 1);
        for (k, pass) in chain.iter().enumerate() {
            let _ = writeln!(text, "pass {}", pass.kind.word());
            for (m, p) in pass.points.iter().enumerate() {
                if k + m == 0 {
                    let _ = writeln!(text, "jump {:.2} {:.2}", p.x, p.y);
                }
                let _ = writeln!(text, "{:.2} {:.2}", p.x, p.y);
                count += 1;
            }
        }
        text.push_str("trim\n");
    }
    let _ = writeln!(text, "end {count}");
    text
}

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let [_, file, letters, cap, out, rest @ ..] = &arguments[..] else {
        eprintln!("sheet FONT.ttf LETTERS CAP_HEIGHT OUT.svg [TURN [LISTS]]");
        return;
    };
    let data = std::fs::read(file).expect("the font can be read");
    let font = FontRef::new(&data).expect("it is a font");
    let cap: f64 = cap.parse().expect("the cap height is a number");
    let turn: f64 = rest.first().and_then(|t| t.parse().ok()).unwrap_or(0.0);
    let mut settings = SatinSettings::default();
    if let Some(s) = std::env::var("SPACING").ok().and_then(|s| s.parse().ok()) {
        settings.spacing = s;
    }
    let mut svg = String::new();
    let per_row = (letters.chars().count() as f64 * 1.5).sqrt().ceil().max(1.0) as usize;
    let cell = cap * 1.6;
    let mut shown = 0_usize;
    for c in letters.chars() {
        let Some(region) = letter(&font, c, cap, turn) else { continue };
        let Some(bounds) = region.bounds() else { continue };
        let at = (bounds.center().x, bounds.center().y);
        let (x, y) = ((shown % per_row) as f64 * cell + cell / 2.0, (shown / per_row) as f64 * cell + cell / 2.0);
        shown += 1;
        let _ = write!(svg, "<g transform='translate({} {})'>", x - at.0, y - at.1);
        let mut chains = Vec::new();
        let (mut columns, mut runs, mut fills, mut short) = (0, 0, 0, 0);
        let mut graph: Vec<usize> = Vec::new();
        let mut took = 0.0;
        for polygon in &region.polygons {
            let start = Instant::now();
            let sewn = from_outline("letter", polygon, &settings, Ends::default());
            took += start.elapsed().as_secs_f64() * 1e3;
            let parts = decompose(polygon, &settings);
            columns += parts.columns.len();
            runs += parts.runs.len();
            fills += parts.fills.len();
            short += parts.columns.iter().filter(|c| c.length() < 1.5).count();
            graph.extend(parts.graph.iter().map(|g| g.1));
            svg.push_str(&drawn(polygon, &parts.columns, &sewn.value));
            chains.push(sewn.value);
        }
        graph.sort_unstable();
        svg.push_str("</g>");
        println!("{c} columns {columns} runs {runs} fills {fills} short {short} graph {graph:?} ms {took:.2}");
        if let Some(folder) = rest.get(1) {
            let name = format!("{folder}/{:04x}", c as u32);
            let _ = std::fs::create_dir_all(folder);
            let box_ = bounds.inset(1.0);
            let art: String = region.polygons.iter().map(path_of).collect();
            let drawing = format!(
                "<svg xmlns='http://www.w3.org/2000/svg' viewBox='{:.3} {:.3} {:.3} {:.3}' width='{:.3}mm' height='{:.3}mm'><path fill-rule='evenodd' d='{art}'/></svg>",
                box_.x0,
                box_.y0,
                box_.width(),
                box_.height(),
                box_.width(),
                box_.height()
            );
            std::fs::write(format!("{name}.svg"), drawing).expect("the folder can be written");
            std::fs::write(format!("{name}.stitches"), list(&chains, box_)).expect("the folder can be written");
        }
    }
    let (width, height) = (per_row as f64 * cell, shown.div_ceil(per_row) as f64 * cell);
    let page = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {width} {height}' width='{}' height='{}'><rect width='100%' height='100%' fill='#fff'/>{svg}</svg>",
        width * 8.0,
        height * 8.0
    );
    std::fs::write(out, page).expect("the picture can be written");
}
