//! The contact sheet: one design in several colourways, side by side, each with
//! how its threads stand out, so that the choice is made before sewing.

use crate::frame::Frame;
use crate::lettering;
use crate::marks::{self, Mark};
use crate::markup::{escape, fill, hash, image, swatch};
use crate::ramp::{INK, PAPER, VERMILION};
use crate::raster::{MOST_PIXELS, pack};
use crate::sewn::Sewing;
use crate::{Error, Finish, Look};
use base64::{Engine, engine::general_purpose::STANDARD};
use laidwork_plan::{Color, Plan, Point, Rect, Thread};
use laidwork_report::{ClothContrast, cloth_contrast};
use laidwork_thread::{Contrast, ThreadContrasts, Visibility};
use tiny_skia::{Pixmap, PremultipliedColorU8};

const TEMPLATE: &str = include_str!("page/colourways.html");
const STYLE: &str = include_str!("page/colourways.css");

/// Pixels along the longer side of each picture.
const SIDE: f64 = 520.0;

/// More colourways than these would not fit on one sheet.
const MOST: usize = 100;

/// Threads told of below a picture of pixels, at most.
const MOST_ROWS: usize = 16;

/// Height of a digit of the captions, pixels.
const TEXT: f64 = 11.0;

/// From line to line of the captions, pixels.
const LINE: f64 = 22.0;

/// Around and between the pictures, pixels.
const GAP: f64 = 24.0;

/// One colourway: its plan with its own threads, and its cloth.
#[derive(Clone, Copy, Debug)]
pub struct Colourway<'a> {
    /// What it is called.
    pub name: &'a str,
    /// The stitches.
    pub plan: &'a Plan,
    /// Colour of the cloth.
    pub fabric: Color,
}

/// What a contact sheet shows of one colourway.
struct Card<'a> {
    way: &'a Colourway<'a>,
    contrast: ClothContrast,
    width: u32,
    height: u32,
    /// Three bytes a pixel.
    pixels: Vec<u8>,
}

impl Card<'_> {
    fn threads(&self) -> impl Iterator<Item = (&Thread, &ThreadContrasts)> {
        self.way.plan.threads.iter().zip(&self.contrast.threads)
    }

    /// The neighbour a thread stands out from the least.
    fn least_beside<'a>(&'a self, found: &'a ThreadContrasts) -> Option<(&'a Thread, &'a Contrast)> {
        let least = found.neighbours.iter().min_by(|a, b| a.1.difference.total_cmp(&b.1.difference));
        least.and_then(|(other, contrast)| Some((self.way.plan.threads.get(*other)?, contrast)))
    }

    /// Whether a piece in this thread would sink into the cloth.
    fn sinks(&self, thread: usize) -> bool {
        let pieces = &self.way.plan.pieces;
        self.contrast.sinking.iter().any(|&piece| pieces.get(piece).is_some_and(|piece| piece.thread == thread))
    }
}

/// Paints every colourway. Of the look it takes the weave, the width of the thread and the margin.
fn cards<'a>(ways: &'a [Colourway<'a>], look: &Look) -> Result<Vec<Card<'a>>, Error> {
    look.check()?;
    if ways.is_empty() || ways.len() > MOST {
        let range = "from 1 to 100";
        return Err(Error::Look { what: "the number of colourways", value: ways.len() as f64, range });
    }
    let paint = |way: &'a Colourway<'a>| {
        let look = Look { fabric: way.fabric, ..look.clone() };
        let mut frame = Frame::around(way.plan, &look);
        frame.scale = SIDE / frame.rect.width().max(frame.rect.height());
        let (width, height) = frame.pixels(MOST_PIXELS)?;
        let mut sewing = Sewing::new(way.plan, frame, (width, height), &look);
        way.plan.for_each_segment(|segment| sewing.lay(&segment));
        Ok(Card { way, contrast: cloth_contrast(way.plan, way.fabric), width, height, pixels: sewing.finish() })
    };
    ways.iter().map(paint).collect()
}

/// The contact sheet as a PNG file: pictures in rows, and below each its name,
/// its cloth, and for each thread the contrast with the cloth.
///
/// # Errors
/// [`Error::Look`] for a look out of range, and for no colourway or over 100 of them.
pub fn contact_sheet_png(ways: &[Colourway<'_>], look: &Look) -> Result<Vec<u8>, Error> {
    let cards = cards(ways, look)?;
    let columns = (1..=4).find(|columns| columns * columns >= cards.len()).unwrap_or(4).max(cards.len().min(3));
    let largest = |side: fn(&Card<'_>) -> u32| f64::from(cards.iter().map(side).max().unwrap_or(1));
    let (wide, high) = (largest(|card| card.width).max(340.0), largest(|card| card.height));
    let rows = cards.iter().map(|card| card.way.plan.threads.len().min(MOST_ROWS + 1)).max().unwrap_or(0);
    let step = (wide + GAP, high + LINE * (rows as f64 + 2.2) + GAP);
    let (width, height) =
        ((GAP + step.0 * columns as f64).ceil(), (GAP + step.1 * cards.len().div_ceil(columns) as f64).ceil());
    let frame = Frame { rect: Rect::new(0.0, 0.0, width, height), scale: 1.0 };
    let (width, height) = frame.pixels(MOST_PIXELS)?;
    let too_large = Error::TooLarge { width: width.into(), height: height.into(), limit: MOST_PIXELS };
    let mut sheet = Pixmap::new(width, height).ok_or(too_large)?;
    let mut marks = vec![Mark::Cell { rect: frame.rect, color: PAPER }];
    let place = |number: usize| {
        let (column, row) = (number % columns, number / columns);
        Point::new(GAP + step.0 * column as f64, GAP + step.1 * row as f64)
    };
    for (number, card) in cards.iter().enumerate() {
        caption(card, place(number) + laidwork_plan::Vec2::new(0.0, high), wide, &mut marks);
    }
    marks::paint(&mut sheet, &marks, frame);
    for (number, card) in cards.iter().enumerate() {
        copy(card, &mut sheet, place(number));
    }
    let pixels: Vec<u8> = sheet.pixels().iter().flat_map(|p| [p.red(), p.green(), p.blue()]).collect();
    pack(width, height, &pixels, look.finish)
}

/// The picture of a card, its corner at `at`.
fn copy(card: &Card<'_>, sheet: &mut Pixmap, at: Point) {
    let (left, top, across) = (at.x as usize, at.y as usize, sheet.width() as usize);
    let rows = card.pixels.chunks_exact(card.width as usize * 3);
    for (line, row) in sheet.pixels_mut().chunks_exact_mut(across).skip(top).zip(rows) {
        for (pixel, rgb) in line.iter_mut().skip(left).zip(row.as_chunks::<3>().0) {
            let [red, green, blue] = *rgb;
            if let Some(color) = PremultipliedColorU8::from_rgba(red, green, blue, u8::MAX) {
                *pixel = color;
            }
        }
    }
}

/// What is said of a colourway below its picture.
fn caption(card: &Card<'_>, at: Point, wide: f64, marks: &mut Vec<Mark>) {
    let mut y = at.y + LINE * 1.2;
    let mut words = |x: f64, y: f64, height: f64, text: &str, room: f64| {
        let mut text = text.to_owned();
        while lettering::width(&text, height) > room && text.pop().is_some() {}
        marks.push(Mark::Text { at: Point::new(x, y), height, text, color: INK });
    };
    let cloth = format!("cloth {}", card.way.fabric);
    let cloth_wide = lettering::width(&cloth, TEXT);
    words(at.x, y, TEXT * 1.4, card.way.name, wide - cloth_wide - TEXT);
    words(at.x + wide - cloth_wide, y, TEXT, &cloth, cloth_wide);
    let seen_at = wide - lettering::width("stands out", TEXT);
    let ratio_at = seen_at - lettering::width("20.0 to 1", TEXT) - 1.5 * TEXT;
    let mut swatches = Vec::new();
    for (number, (thread, found)) in card.threads().enumerate().take(MOST_ROWS) {
        y += LINE;
        let sinks = card.sinks(number);
        swatches.push((y, thread.color, sinks));
        let seen = match found.fabric.visibility {
            _ if sinks => "sinks",
            Visibility::Lost => "like cloth",
            Visibility::Soft => "soft",
            Visibility::Clear => "stands out",
        };
        let (name, color) = (thread.name.as_deref(), thread.color.to_string());
        words(at.x + 40.0, y, TEXT, name.unwrap_or(&color), ratio_at - 40.0 - TEXT);
        words(at.x + ratio_at, y, TEXT, &format!("{:.1} to 1", found.fabric.ratio), seen_at - ratio_at);
        words(at.x + seen_at, y, TEXT, seen, wide - seen_at + TEXT);
    }
    let more = card.way.plan.threads.len().saturating_sub(MOST_ROWS);
    if more > 0 {
        words(at.x + 40.0, y + LINE, TEXT, &format!("and {more} more"), wide);
    }
    for (y, thread, sinks) in swatches {
        // The thread on its cloth, and a bar beside what sinks into it.
        let rect = Rect::new(at.x, y - 14.0, at.x + 32.0, y + 4.0);
        marks.push(Mark::Cell { rect, color: card.way.fabric });
        marks.push(Mark::Dot { center: rect.center(), radius: 6.5, color: thread, opacity: 1.0 });
        if sinks {
            let points = vec![Point::new(rect.x0 - 6.0, rect.y0), Point::new(rect.x0 - 6.0, rect.y1)];
            marks.push(Mark::Line { points, width: 4.0, color: VERMILION, opacity: 1.0, dash: None });
        }
    }
}

/// The contact sheet as one HTML file, for screen and paper: pictures with a
/// table of contrasts each, and what would sink into the cloth.
///
/// # Errors
/// As [`contact_sheet_png`], and [`Error::Pack`] when a picture cannot be packed.
pub fn contact_sheet(ways: &[Colourway<'_>], look: &Look) -> Result<String, Error> {
    let cards = cards(ways, look)?;
    let title = ways.iter().find_map(|way| way.plan.title.as_deref()).unwrap_or("Design");
    let mut figures = String::new();
    for card in &cards {
        figures.push_str(&figure(card)?);
    }
    Ok(fill(TEMPLATE, |place| match place {
        "title" => Some(escape(title)),
        "style" => Some(STYLE.to_owned()),
        "style-hash" => Some(hash(STYLE)),
        "figures" => Some(figures.clone()),
        _ => None,
    }))
}

fn figure(card: &Card<'_>) -> Result<String, Error> {
    let Card { way, contrast, .. } = card;
    let picture = STANDARD.encode(pack(card.width, card.height, &card.pixels, Finish::Fine)?);
    let rows: String = card.threads().enumerate().map(|(number, (t, found))| row(card, number, t, found)).collect();
    let warnings = contrast.warnings(way.plan);
    let told: String = warnings.iter().map(|warning| format!("<li>{}</li>\n", escape(&warning.to_string()))).collect();
    let told = if told.is_empty() {
        "<p class=\"fine\">Nothing sinks into the cloth, and no two threads side by side look alike.</p>\n".to_owned()
    } else {
        format!("<ul class=\"told\">\n{told}</ul>\n")
    };
    let changes = way.plan.thread_changes();
    Ok(format!(
        "<section>\n<h2>{}</h2>\n<p class=\"cloth\">{} cloth {}, {} threads, {changes} change{}</p>\n{}\n\
         <table>\n<thead><tr><th scope=\"col\" colspan=\"2\">Thread</th><th scope=\"col\" class=\"n\">On the cloth</th>\
         <th scope=\"col\"></th><th scope=\"col\">Least apart from</th></tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n{told}</section>\n",
        escape(way.name),
        swatch(way.fabric),
        way.fabric,
        way.plan.threads.len(),
        if changes == 1 { "" } else { "s" },
        image(&picture, &format!("The design on {} cloth", way.name)),
    ))
}

fn row(card: &Card<'_>, number: usize, thread: &Thread, found: &ThreadContrasts) -> String {
    let seen = |contrast: &Contrast| contrast.visibility.words();
    let class = if card.sinks(number) { " class=\"sinks\"" } else { "" };
    let beside = card.least_beside(found).map_or_else(String::new, |(other, contrast)| {
        let name = other.name.clone().unwrap_or_else(|| other.color.to_string());
        format!("{}: {:.1} to 1, {}", escape(&name), contrast.ratio, seen(contrast))
    });
    let on_cloth = match found.fabric.visibility {
        Visibility::Lost if !card.sinks(number) => "like the cloth, but lies on other thread",
        _ => seen(&found.fabric),
    };
    format!(
        "<tr{class}><td>{}</td><td>{}<small>{}</small></td><td class=\"n\">{:.1} to 1</td><td>{on_cloth}</td><td>{beside}</td></tr>\n",
        swatch(thread.color),
        escape(thread.name.as_deref().unwrap_or("Thread")),
        thread.color,
        found.fabric.ratio,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_plan::{Method, Pass, PassKind, Piece};

    const HOSTILE: &str = "</style><script>alert(1)</script>";

    fn plan(color: Color) -> Plan {
        let points = (0..80).map(|i| Point::new(f64::from(i % 2) * 12.0, f64::from(i) * 0.15)).collect();
        let pass = Pass::after_jump(PassKind::Top, points);
        Plan {
            title: Some(HOSTILE.into()),
            threads: vec![Thread { color, name: Some(HOSTILE.into()) }],
            pieces: vec![Piece { name: HOSTILE.into(), method: Method::Satin, thread: 0, passes: vec![pass] }],
            ..Plan::default()
        }
    }

    fn ways(plan: &Plan) -> Vec<Colourway<'_>> {
        let fabrics = [("navy", 0x22304f), ("oatmeal", 0xefe6d0), ("coral", 0xe2725b)];
        let color = |rgb: u32| format!("#{rgb:06x}").parse().unwrap();
        fabrics.map(|(name, rgb)| Colourway { name, plan, fabric: color(rgb) }).to_vec()
    }

    #[test]
    fn every_colourway_has_a_picture_and_a_verdict() {
        let plan = plan(Color::new(0xef, 0xe0, 0xc8));
        let page = contact_sheet(&ways(&plan), &Look::default()).unwrap();
        assert_eq!(page.matches("<img ").count(), 3);
        assert_eq!(page.matches("class=\"sinks\"").count(), 1); // on oatmeal
        assert_eq!(page.matches("would sink into the cloth #efe6d0").count(), 1);
        assert_eq!(page.matches("<script").count() + page.matches("</style><").count(), 0);
    }

    #[test]
    fn the_sheet_of_pixels_holds_every_cloth() {
        let plan = plan(Color::new(0xe0, 0xa2, 0x1b));
        let look = Look { weave: crate::Weave::Plain, ..Look::default() };
        let file = contact_sheet_png(&ways(&plan), &look).unwrap();
        let mut reader = png::Decoder::new(std::io::Cursor::new(file)).read_info().unwrap();
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        reader.next_frame(&mut pixels).unwrap();
        for cloth in [[0x22, 0x30, 0x4f], [0xef, 0xe6, 0xd0], [0xe2, 0x72, 0x5b]] {
            let seen = pixels.as_chunks::<3>().0.iter().filter(|pixel| **pixel == cloth).count();
            assert!(seen > 10_000, "{cloth:?} on {seen} pixels");
        }
    }

    #[test]
    fn the_same_colourways_give_the_same_bytes() {
        let plan = plan(Color::new(10, 120, 60));
        let once = || contact_sheet_png(&ways(&plan), &Look::default()).unwrap();
        assert_eq!(once(), once());
    }

    #[test]
    fn no_colourway_and_too_many_are_refused() {
        let plan = plan(Color::new(10, 120, 60));
        assert!(contact_sheet(&[], &Look::default()).is_err());
        let many = vec![Colourway { name: "x", plan: &plan, fabric: Color::new(0, 0, 0) }; MOST + 1];
        assert!(contact_sheet_png(&many, &Look::default()).is_err());
    }
}
