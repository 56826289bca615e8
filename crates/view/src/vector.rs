//! Pictures of lines: SVG.

use crate::frame::Frame;
use crate::{Error, Look, paint};
use laidwork_plan::{Plan, Segment};
use std::io::Write;
use svg::node::element::{Group, Path, Rectangle, Title};
use svg::{Document, Node};

/// Writes a picture of `plan` as an SVG file, one path for each length of
/// thread, in groups that name their piece. Its units are mm.
///
/// # Errors
/// [`Error::Write`] when `to` refuses, [`Error::Look`] for a look out of range.
pub fn svg(plan: &Plan, look: &Look, to: &mut impl Write) -> Result<(), Error> {
    look.check()?;
    let rect = Frame::around(plan, look).rect;
    let [x, y, width, height] = [rect.x0, rect.y0, rect.width(), rect.height()].map(number);
    let ground = Rectangle::new()
        .set("x", x.as_str())
        .set("y", y.as_str())
        .set("width", width.as_str())
        .set("height", height.as_str())
        .set("fill", look.fabric.to_string());
    let mut document = Document::new()
        .set("viewBox", format!("{x} {y} {width} {height}"))
        .set("width", format!("{width}mm"))
        .set("height", format!("{height}mm"));
    if let Some(title) = &plan.title {
        document.append(Title::new(legal(title)));
    }
    document.append(ground);
    let mut segments: Vec<Segment> = Vec::new();
    plan.for_each_segment(|segment| segments.push(segment));
    let count = segments.len();
    let mut at = 0;
    for (i, piece) in plan.pieces.iter().enumerate() {
        let mut group = Group::new()
            .set("fill", "none")
            .set("stroke-linecap", "round")
            .set("stroke-width", number(look.thread_width));
        group.append(Title::new(legal(&piece.name)));
        while let Some(segment) = segments.get(at).filter(|segment| segment.piece == i) {
            let [x0, y0, x1, y1] = [segment.from.x, segment.from.y, segment.to.x, segment.to.y].map(number);
            let color = paint::color(plan, look.show, segment, at, count);
            group.append(Path::new().set("stroke", color.to_string()).set("d", format!("M{x0} {y0}L{x1} {y1}")));
            at += 1;
        }
        document.append(group);
    }
    svg::write(to, &document)?;
    Ok(())
}

/// A coordinate with three digits at most; what is no number becomes 0.
fn number(value: f64) -> String {
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
    use laidwork_plan::{Color, Method, Pass, PassKind, Piece, Point, Thread};

    fn plan() -> Plan {
        let points = (0..5).map(|i| Point::new(f64::from(i), 0.0)).collect();
        let passes = vec![Pass::after_jump(PassKind::Top, points)];
        Plan {
            threads: vec![Thread { color: Color::new(200, 30, 30), name: None }],
            pieces: vec![Piece { name: "<a> & \u{1}b".into(), method: Method::Run, thread: 0, passes }],
            ..Plan::default()
        }
    }

    #[test]
    fn it_is_xml_with_a_strand_for_every_stitch() {
        let mut file = Vec::new();
        svg(&plan(), &Look::default(), &mut file).unwrap();
        let text = String::from_utf8(file).unwrap();
        let xml = roxmltree::Document::parse(&text).unwrap();
        assert_eq!(xml.descendants().filter(|node| node.has_tag_name("path")).count(), 4);
        let title = xml.descendants().find(|node| node.has_tag_name("title")).unwrap();
        assert_eq!(title.text().map(str::trim), Some("<a> &  b"));
    }

    #[test]
    fn numbers_are_short() {
        assert_eq!(["1.500", "-0", "0", "12"].map(|t| number(t.parse().unwrap())), ["1.5", "0", "0", "12"]);
        assert_eq!(number(-0.0001), "0");
        assert_eq!(number(f64::NAN), "0");
    }
}
