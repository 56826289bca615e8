//! Marks of a diagram, and how they become pixels.
//!
//! A diagram is a list of marks in mm, painted in order. Both kinds of picture
//! are made from the same list, so they cannot disagree.

use crate::frame::Frame;
use crate::lettering;
use laidwork_plan::{Color, Point, Rect};
use tiny_skia::{FillRule, LineCap, LineJoin, Paint, Path, PathBuilder, Pixmap, Stroke, StrokeDash, Transform};

/// One mark; lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Mark {
    /// A line through points.
    Line {
        /// Its corners.
        points: Vec<Point>,
        /// How wide.
        width: f64,
        /// Its colour.
        color: Color,
        /// 0 to 1.
        opacity: f64,
        /// Length of its dashes and gaps; whole if none.
        dash: Option<f64>,
    },
    /// A full disc.
    Dot {
        /// Its middle.
        center: Point,
        /// Its radius.
        radius: f64,
        /// Its colour.
        color: Color,
        /// 0 to 1.
        opacity: f64,
    },
    /// A full rectangle.
    Cell {
        /// Its place.
        rect: Rect,
        /// Its colour.
        color: Color,
    },
    /// A few words; the picture of pixels knows small letters, digits and a few signs.
    Text {
        /// Left end, on the line.
        at: Point,
        /// Height of a digit.
        height: f64,
        /// The words.
        text: String,
        /// Its colour.
        color: Color,
    },
}

/// Paints marks on a picture.
pub(crate) fn paint(picture: &mut Pixmap, marks: &[Mark], frame: Frame) {
    for mark in marks {
        match mark {
            Mark::Line { points, width, color, opacity, dash } => {
                let Some(path) = polyline(points, frame) else { continue };
                let dash = dash.map(|mm| (mm * frame.scale) as f32);
                let stroke = Stroke {
                    width: (width * frame.scale) as f32,
                    line_cap: if dash.is_some() { LineCap::Butt } else { LineCap::Round },
                    line_join: LineJoin::Round,
                    dash: dash.and_then(|length| StrokeDash::new(vec![length, length], 0.0)),
                    ..Stroke::default()
                };
                picture.stroke_path(&path, &ink(*color, *opacity), &stroke, Transform::identity(), None);
            }
            Mark::Dot { center, radius, color, opacity } => {
                let at = frame.to_pixels(*center);
                let circle = PathBuilder::from_circle(at.x as f32, at.y as f32, (radius * frame.scale) as f32);
                if let Some(circle) = circle {
                    let ink = ink(*color, *opacity);
                    picture.fill_path(&circle, &ink, FillRule::Winding, Transform::identity(), None);
                }
            }
            Mark::Cell { rect, color } => {
                let (from, to) = (frame.to_pixels(rect.origin()), frame.to_pixels(Point::new(rect.x1, rect.y1)));
                // Whole pixels, so that neighbours leave no seam.
                let [x0, y0, x1, y1] = [from.x, from.y, to.x, to.y].map(|pixel| pixel.round() as f32);
                if let Some(rect) = tiny_skia::Rect::from_ltrb(x0, y0, x1, y1) {
                    picture.fill_rect(rect, &ink(*color, 1.0), Transform::identity(), None);
                }
            }
            Mark::Text { at, height, text, color } => {
                let stroke = Stroke {
                    width: (height * 0.13 * frame.scale) as f32,
                    line_cap: LineCap::Round,
                    line_join: LineJoin::Round,
                    ..Stroke::default()
                };
                for line in lettering::lines(text, *at, *height) {
                    if let Some(path) = polyline(&line, frame) {
                        picture.stroke_path(&path, &ink(*color, 1.0), &stroke, Transform::identity(), None);
                    }
                }
            }
        }
    }
}

fn polyline(points: &[Point], frame: Frame) -> Option<Path> {
    let mut path = PathBuilder::new();
    let mut last = None;
    for point in points.iter().filter(|point| point.is_finite()) {
        let at = frame.to_pixels(*point);
        let (x, y) = (at.x as f32, at.y as f32);
        match last {
            None => path.move_to(x, y),
            // A line of no length would leave no dot.
            Some(before) if before == (x.to_bits(), y.to_bits()) => path.line_to(x + 0.01, y),
            Some(_) => path.line_to(x, y),
        }
        last = Some((x.to_bits(), y.to_bits()));
    }
    path.finish()
}

fn ink(color: Color, opacity: f64) -> Paint<'static> {
    let mut paint = Paint::default();
    let alpha = (opacity.clamp(0.0, 1.0) * 255.0).round() as u8;
    paint.set_color_rgba8(color.red, color.green, color.blue, alpha);
    paint
}
