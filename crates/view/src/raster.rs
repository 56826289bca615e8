//! Pictures of pixels.

use crate::frame::Frame;
use crate::{Error, Look, paint};
use laidwork_plan::{Color, Plan, Segment};
use tiny_skia::{LineCap, Paint, PathBuilder, Pixmap, Stroke, Transform};

/// The most pixels a picture may have: 400 by 400 mm at 20 pixels per mm.
pub const MOST_PIXELS: usize = 64_000_000;

/// A picture of `plan` as a PNG file.
///
/// # Errors
/// [`Error::TooLarge`] over [`MOST_PIXELS`], [`Error::Look`] for a look out of range.
pub fn png(plan: &Plan, look: &Look) -> Result<Vec<u8>, Error> {
    look.check()?;
    let frame = Frame::around(plan, look);
    let (width, height) = frame.pixels(MOST_PIXELS)?;
    let too_large = Error::TooLarge { width: width.into(), height: height.into(), limit: MOST_PIXELS };
    let mut pixels = Pixmap::new(width, height).ok_or(too_large)?;
    pixels.fill(solid(look.fabric));
    let mut segments: Vec<Segment> = Vec::new();
    plan.for_each_segment(|segment| segments.push(segment));
    let stroke =
        Stroke { width: (look.thread_width * frame.scale) as f32, line_cap: LineCap::Round, ..Stroke::default() };
    for (i, segment) in segments.iter().enumerate() {
        let (from, to) = (frame.to_pixels(segment.from), frame.to_pixels(segment.to));
        let mut line = PathBuilder::new();
        line.move_to(from.x as f32, from.y as f32);
        line.line_to(to.x as f32, to.y as f32);
        let mut paint = Paint::default();
        paint.set_color(solid(paint::color(plan, look.show, segment, i, segments.len())));
        if let Some(line) = line.finish() {
            pixels.stroke_path(&line, &paint, &stroke, Transform::identity(), None);
        }
    }
    pixels.encode_png().map_err(|error| Error::Pack(error.to_string()))
}

fn solid(color: Color) -> tiny_skia::Color {
    tiny_skia::Color::from_rgba8(color.red, color.green, color.blue, 255)
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_plan::{Method, Pass, PassKind, Piece, Point, Thread};

    /// One stitch of 10 mm along x.
    fn one_stitch() -> Plan {
        let points = vec![Point::new(0.0, 0.0), Point::new(10.0, 0.0)];
        let passes = vec![Pass::after_jump(PassKind::Top, points)];
        Plan {
            threads: vec![Thread { color: Color::new(200, 30, 30), name: None }],
            pieces: vec![Piece { name: "line".into(), method: Method::Run, thread: 0, passes }],
            ..Plan::default()
        }
    }

    #[test]
    fn thread_is_where_the_stitch_is_and_fabric_elsewhere() {
        let look = Look { pixels_per_mm: 20.0, margin: 2.0, thread_width: 0.4, ..Look::default() };
        let picture = Pixmap::decode_png(&png(&one_stitch(), &look).unwrap()).unwrap();
        assert_eq!((picture.width(), picture.height()), (288, 88));
        let middle = picture.pixel(144, 44).unwrap();
        assert!(middle.red() > 150 && middle.green() < 90, "{middle:?}");
        let corner = picture.pixel(5, 5).unwrap();
        assert!(corner.green() > 200, "{corner:?}");
    }

    #[test]
    fn a_picture_too_large_names_the_limit() {
        let look = Look { pixels_per_mm: 1000.0, ..Look::default() };
        let said = png(&one_stitch(), &look).unwrap_err().to_string();
        assert!(said.contains("64000000"), "{said}");
    }
}
