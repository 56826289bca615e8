//! Pictures of many letters: as sewn, or with their columns drawn.

use crate::Letter;
use crate::glyphs::path_data;
use kurbo::{Point, Rect, Vec2};
use laidwork_plan::{Color, Method, Pass, PassKind, Piece, Plan, Thread};
use laidwork_satin::{Column, ColumnEnd};
use laidwork_view::{Look, Weave};
use std::fmt::Write;

const COLUMN_COLORS: [&str; 8] = ["#c33", "#36c", "#393", "#c80", "#939", "#099", "#a52", "#666"];

/// Threads of the fonts on a sheet, one after the other.
const THREADS: [Color; 3] = [Color::new(0x1f, 0x3a, 0x6e), Color::new(0x8c, 0x1c, 0x2c), Color::new(0x1e, 0x5c, 0x46)];

/// Letters of each font begin on a row of their own; where each of them goes, and the size of all.
fn places(fonts: &[Vec<Letter>], cap: f64, per_row: usize) -> (Vec<Vec<Vec2>>, Rect) {
    let (wide, high) = (cap * 1.35, cap * 1.55);
    let mut row = 0;
    let mut places = Vec::new();
    for letters in fonts {
        let place = |(i, letter): (usize, &Letter)| {
            let middle =
                Point::new((i % per_row) as f64 * wide + wide / 2.0, (row + i / per_row) as f64 * high + high / 2.0);
            let bounds = letter.region.bounds().unwrap_or_default();
            Vec2::new(middle.x - bounds.center().x, middle.y + cap / 2.0)
        };
        places.push(letters.iter().enumerate().map(place).collect());
        row += letters.len().div_ceil(per_row);
    }
    (places, Rect::new(0.0, 0.0, per_row as f64 * wide, row as f64 * high))
}

/// The letters sewn, as PNG.
pub fn png(fonts: &[Vec<Letter>], cap: f64, per_row: usize, pixels_per_mm: f64) -> Vec<u8> {
    let (places, _) = places(fonts, cap, per_row);
    let mut plan = Plan { threads: THREADS.map(|color| Thread { color, name: None }).to_vec(), ..Plan::default() };
    for (font, (letters, moves)) in fonts.iter().zip(&places).enumerate() {
        for (letter, by) in letters.iter().zip(moves) {
            plan.pieces.extend(letter.chains.iter().filter(|chain| !chain.is_empty()).map(|chain| Piece {
                name: letter.name.to_string(),
                method: Method::Satin,
                thread: font % THREADS.len(),
                passes: alone(chain, *by),
            }));
        }
    }
    let look = Look { pixels_per_mm, weave: Weave::Plain, ..Look::default() };
    laidwork_view::png(&plan, &look).expect("the sheet is not too large")
}

/// A chain moved, cut off from what was sewn before and after.
fn alone(chain: &[Pass], by: Vec2) -> Vec<Pass> {
    let mut passes = chain.to_vec();
    for point in passes.iter_mut().flat_map(|pass| &mut pass.points) {
        *point += by;
    }
    if let Some(first) = passes.first_mut() {
        first.jumps = first.points.first().copied().into_iter().collect();
    }
    if let Some(last) = passes.last_mut() {
        last.trim = true;
    }
    passes
}

/// The letters with their outlines, columns, middle lines and threads, as SVG.
pub fn svg(fonts: &[Vec<Letter>], cap: f64, per_row: usize) -> String {
    let (places, size) = places(fonts, cap, per_row);
    let mut drawn = String::new();
    for (letter, by) in fonts.iter().flatten().zip(places.iter().flatten()) {
        let _ = write!(drawn, "<g transform='translate({:.2} {:.2})'>", by.x, by.y);
        for polygon in &letter.region.polygons {
            let _ = write!(drawn, "<path d='{}' fill='#eee' stroke='#999' stroke-width='.08'/>", path_data(polygon));
        }
        for (column, color) in letter.parts.iter().flat_map(|parts| &parts.columns).zip(COLUMN_COLORS.iter().cycle()) {
            draw_column(&mut drawn, column, color);
        }
        letter.chains.iter().for_each(|chain| draw_thread(&mut drawn, chain));
        drawn.push_str("</g>");
    }
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {w} {h}' width='{}' height='{}'><rect width='100%' height='100%' fill='#fff'/>{drawn}</svg>",
        size.width() * 8.0,
        size.height() * 8.0,
        w = size.width(),
        h = size.height(),
    )
}

fn draw_column(svg: &mut String, column: &Column, color: &str) {
    let outline = line_of(column.left().chain(column.right().collect::<Vec<_>>().into_iter().rev()));
    let middle = line_of(column.centre());
    let _ = write!(
        svg,
        "<polygon points='{outline}' fill='{color}' fill-opacity='.12' stroke='{color}' stroke-width='.12'/>\
         <polyline points='{middle}' fill='none' stroke='{color}' stroke-width='.2'/>"
    );
    for (end, crossing) in [column.crossings.first(), column.crossings.last()].into_iter().enumerate() {
        let Some(at) = crossing.filter(|_| !column.closed).map(|c| c.middle()) else { continue };
        let fill = if column.ends[end] == ColumnEnd::Joined { "fill='none'" } else { "" };
        let _ = write!(
            svg,
            "<circle cx='{:.2}' cy='{:.2}' r='.4' stroke='{color}' stroke-width='.15' {fill}/>",
            at.x, at.y
        );
    }
}

fn draw_thread(svg: &mut String, chain: &[Pass]) {
    let mut before = None;
    for pass in chain {
        let points = line_of(before.into_iter().chain(pass.points.iter().copied()));
        let (color, width) = match pass.kind {
            PassKind::Top => ("#000", 0.03),
            PassKind::Travel => ("#e0e", 0.12),
            PassKind::Underlay | PassKind::Tie => ("#08f", 0.08),
        };
        let _ = write!(svg, "<polyline points='{points}' fill='none' stroke='{color}' stroke-width='{width}'/>");
        before = pass.points.last().copied();
    }
}

fn line_of(points: impl Iterator<Item = Point>) -> String {
    points.fold(String::new(), |mut line, p| {
        let _ = write!(line, "{:.3},{:.3} ", p.x, p.y);
        line
    })
}
