//! Pictures of lines: SVG.
//!
//! Every length of thread is one path. Strands that take the light alike and
//! follow each other form a group; the group is drawn in the dark of their
//! creases, then used twice more: narrower in the thread's colour, and as a
//! fine line of sheen.

use crate::diagram::{Diagram, diagram};
use crate::frame::Frame;
use crate::light::{Gloss, STEPS};
use crate::linear::Tables;
use crate::marks::Mark;
use crate::paint::thread_color;
use crate::sewn::SAG;
use crate::{Error, Look, Weave};
use laidwork_plan::{Color, Plan, Point, Rect, Segment, Vec2};
use std::io::Write;
use svg::node::element::{Circle, Definitions, Group, Path, Pattern, Rectangle, Text, Title, Use};
use svg::{Document, Node};

/// Shades of light on thread, from across the light to along it.
const SHADES: f32 = 16.0;

/// Writes a picture of `plan` as an SVG file in mm: thread as one path for each
/// length of it, in groups that name their piece.
///
/// # Errors
/// [`Error::Write`] when `to` refuses, [`Error::Look`] for a look out of range.
pub fn svg(plan: &Plan, look: &Look, to: &mut impl Write) -> Result<(), Error> {
    look.check()?;
    match diagram(plan, look) {
        Some(diagram) => write_diagram(plan, diagram, to),
        None => write_page(&sewn(plan, look), to),
    }
}

/// Writes a diagram of `plan` as an SVG file.
pub(crate) fn write_diagram(plan: &Plan, diagram: Diagram, to: &mut impl Write) -> Result<(), Error> {
    let mut document = page(diagram.frame, plan);
    diagram.marks.into_iter().for_each(|mark| add_mark(&mut document, mark));
    write_page(&document, to)
}

fn write_page(document: &Document, to: &mut impl Write) -> Result<(), Error> {
    svg::write(&mut *to, document)?;
    writeln!(to)?;
    Ok(())
}

/// An empty picture of a frame, named after the plan.
fn page(frame: Frame, plan: &Plan) -> Document {
    let [x, y, width, height] = sides(frame.rect);
    let document = Document::new()
        .set("viewBox", format!("{x} {y} {width} {height}"))
        .set("width", format!("{width}mm"))
        .set("height", format!("{height}mm"));
    match &plan.title {
        Some(title) => document.add(Title::new(legal(title))),
        None => document,
    }
}

/// Thread as sewn.
fn sewn(plan: &Plan, look: &Look) -> Document {
    let frame = Frame::around(plan, look);
    let mut document = page(frame, plan);
    let ground = rectangle(frame.rect);
    document.append(ground.clone().set("fill", look.fabric.to_string()));
    if look.weave == Weave::Woven {
        document.append(Definitions::new().add(weave()));
        document.append(ground.set("fill", "url(#weave)"));
    }
    let mut segments: Vec<Segment> = Vec::new();
    plan.for_each_segment(|segment| segments.push(segment));
    let tables = Tables::new();
    let mut rest = segments.as_slice();
    let mut number = 0;
    for (i, piece) in plan.pieces.iter().enumerate() {
        let mine = rest.partition_point(|segment| segment.piece <= i);
        let (strands, later) = rest.split_at(mine);
        rest = later;
        let light = tables.lights(thread_color(plan, i));
        let toned = |times: f32, plus: f32| {
            let [red, green, blue] = tables.bytes(light.map(|channel| channel * times + plus));
            Color::new(red, green, blue).to_string()
        };
        let mut group = Group::new()
            .set("fill", "none")
            .set("stroke-linecap", "round")
            .set("stroke", toned(0.4, 0.0))
            .set("stroke-width", short(look.thread_width))
            .add(Title::new(legal(&piece.name)));
        for chunk in strands.chunk_by(|a, b| shade(a) == shade(b)) {
            number += 1;
            add_strands(&mut group, chunk, number, look.thread_width, toned);
        }
        document.append(group);
    }
    document
}

/// How a strand takes the light: 0 dull to [`SHADES`] bright.
fn shade(segment: &Segment) -> u8 {
    let way = segment.to - segment.from;
    let length = way.hypot();
    if !(length > 0.0 && length.is_finite()) {
        return 0;
    }
    let gloss = Gloss::new((way.x / length) as f32, (way.y / length) as f32, 0.35);
    (gloss.sheen[STEPS / 2] * SHADES).round() as u8
}

/// Strands that take the light alike: dark, then narrower in their colour, then a line of sheen.
fn add_strands(group: &mut Group, strands: &[Segment], number: usize, width: f64, toned: impl Fn(f32, f32) -> String) {
    let bright = strands.first().map_or(0.0, |segment| f32::from(shade(segment)) / SHADES);
    let id = format!("s{number}");
    let href = format!("#{id}");
    let mut dark = Group::new().set("id", id);
    for segment in strands {
        dark.append(Path::new().set("d", way(segment)));
    }
    group.append(dark);
    for (share, color) in
        [(0.66, toned(0.82 + 0.22 * bright, 0.01 * bright)), (0.24, toned(1.0 + 0.25 * bright, 0.015 + 0.07 * bright))]
    {
        let line = Use::new().set("href", href.as_str()).set("stroke", color);
        group.append(line.set("stroke-width", short(width * share)));
    }
}

/// The way of a strand: straight where it is sewn, a slack curve where it is dragged.
fn way(segment: &Segment) -> String {
    let Segment { from, to, .. } = *segment;
    if !segment.float {
        return polyline(&[from, to]);
    }
    let way = to - from;
    let side = Vec2::new(-way.y, way.x) * SAG;
    let (one, other) = (from + way / 3.0 + side * 1.3, from + way * (2.0 / 3.0) - side * 0.4);
    let [a, b, c, d] = [from, one, other, to].map(|point| format!("{} {}", short(point.x), short(point.y)));
    format!("M{a}C{b} {c} {d}")
}

/// Warp over weft, two yarns each way, as light and shade.
fn weave() -> Pattern {
    const YARN: f64 = 0.42;
    let mut pattern = Pattern::new()
        .set("id", "weave")
        .set("patternUnits", "userSpaceOnUse")
        .set("width", short(2.0 * YARN))
        .set("height", short(2.0 * YARN));
    for (column, row) in [(0, 0), (1, 0), (0, 1), (1, 1)] {
        let over = column == row;
        let (x, y) = (YARN * f64::from(column), YARN * f64::from(row));
        let (x0, y0, x1, y1) = if over { (0.5, 0.08, 0.5, 0.92) } else { (0.08, 0.5, 0.92, 0.5) };
        let at = |share: f64, from: f64| short(from + share * YARN);
        let d = format!("M{} {}L{} {}", at(x0, x), at(y0, y), at(x1, x), at(y1, y));
        let line = Path::new().set("d", d).set("stroke-width", short(YARN * 0.55));
        let (color, strength) = if over { ("#fff", "0.16") } else { ("#000", "0.045") };
        pattern.append(line.set("stroke", color).set("stroke-opacity", strength));
    }
    pattern
}

/// A mark of a diagram.
fn add_mark(document: &mut Document, mark: Mark) {
    match mark {
        Mark::Line { points, width, color, opacity, dash } => {
            let mut line = Path::new()
                .set("d", polyline(&points))
                .set("fill", "none")
                .set("stroke", color.to_string())
                .set("stroke-width", short(width))
                .set("stroke-linejoin", "round");
            match dash {
                Some(length) => line.assign("stroke-dasharray", short(length)),
                None => line.assign("stroke-linecap", "round"),
            }
            if opacity < 1.0 {
                line.assign("stroke-opacity", short(opacity));
            }
            document.append(line);
        }
        Mark::Dot { center, radius, color, opacity } => document.append(
            Circle::new()
                .set("cx", short(center.x))
                .set("cy", short(center.y))
                .set("r", short(radius))
                .set("fill", color.to_string())
                .set("fill-opacity", short(opacity)),
        ),
        Mark::Cell { rect, color } => {
            document.append(rectangle(rect).set("fill", color.to_string()).set("shape-rendering", "crispEdges"))
        }
        Mark::Text { at, height, text, color } => document.append(
            Text::new(legal(&text))
                .set("x", short(at.x))
                .set("y", short(at.y))
                .set("font-family", "sans-serif")
                .set("font-size", short(height * 1.38))
                .set("fill", color.to_string()),
        ),
    }
}

fn polyline(points: &[Point]) -> String {
    let mut d = String::new();
    for (i, point) in points.iter().enumerate() {
        d.push(if i == 0 { 'M' } else { 'L' });
        d.push_str(&format!("{} {}", short(point.x), short(point.y)));
    }
    d
}

fn rectangle(rect: Rect) -> Rectangle {
    let [x, y, width, height] = sides(rect);
    Rectangle::new().set("x", x).set("y", y).set("width", width).set("height", height)
}

fn sides(rect: Rect) -> [String; 4] {
    [rect.x0, rect.y0, rect.width(), rect.height()].map(short)
}

/// A number with three digits after the point at most; what is no number becomes 0.
fn short(value: f64) -> String {
    if !value.is_finite() {
        return "0".into();
    }
    let text = format!("{value:.3}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" { "0".into() } else { short.into() }
}

/// `text` with what XML cannot hold (control characters) as spaces.
fn legal(text: &str) -> String {
    text.chars().map(|c| if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') { ' ' } else { c }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Show;
    use laidwork_plan::{Method, Pass, PassKind, Piece, Thread};

    fn plan() -> Plan {
        let points = (0..5).map(|i| Point::new(f64::from(i), f64::from(i % 2))).collect();
        let passes = vec![Pass::after_jump(PassKind::Top, points)];
        Plan {
            title: Some("</title><script>".into()),
            threads: vec![Thread { color: Color::new(200, 30, 30), name: None }],
            pieces: vec![Piece { name: "<a> & \u{1}b".into(), method: Method::Run, thread: 0, passes }],
            ..Plan::default()
        }
    }

    fn drawn(plan: &Plan, look: &Look) -> String {
        let mut file = Vec::new();
        svg(plan, look, &mut file).unwrap();
        String::from_utf8(file).unwrap()
    }

    #[test]
    fn it_is_xml_with_a_strand_for_every_stitch() {
        let text = drawn(&plan(), &Look::default());
        let xml = roxmltree::Document::parse(&text).unwrap();
        let strands =
            |node: &roxmltree::Node| node.has_tag_name("path") && !node.ancestors().any(|a| a.has_tag_name("defs"));
        assert_eq!(xml.descendants().filter(strands).count(), 4);
        let titles: Vec<&str> =
            xml.descendants().filter(|n| n.has_tag_name("title")).filter_map(|n| n.text()).map(str::trim).collect();
        assert_eq!(titles, ["</title><script>", "<a> &  b"]);
    }

    #[test]
    fn every_use_finds_its_strands() {
        let text = drawn(&plan(), &Look::default());
        let xml = roxmltree::Document::parse(&text).unwrap();
        let mut uses = 0;
        for node in xml.descendants().filter(|node| node.has_tag_name("use")) {
            let id = node.attribute("href").and_then(|href| href.strip_prefix('#')).unwrap();
            assert!(xml.descendants().any(|other| other.attribute("id") == Some(id)), "{id}");
            uses += 1;
        }
        assert!(uses >= 2);
    }

    #[test]
    fn every_diagram_is_xml() {
        for show in [Show::Kinds, Show::Order, Show::Density, Show::Penetrations] {
            let text = drawn(&plan(), &Look { show, ..Look::default() });
            let xml = roxmltree::Document::parse(&text).unwrap();
            assert!(xml.descendants().any(|node| node.has_tag_name("text")), "{show:?} has a key");
        }
    }

    #[test]
    fn the_same_plan_gives_the_same_bytes() {
        assert_eq!(drawn(&plan(), &Look::default()), drawn(&plan(), &Look::default()));
    }

    #[test]
    fn numbers_are_short() {
        assert_eq!(["1.500", "-0", "0", "12"].map(|t| short(t.parse().unwrap())), ["1.5", "0", "0", "12"]);
        assert_eq!(short(-0.0001), "0");
        assert_eq!(short(f64::NAN), "0");
    }
}
