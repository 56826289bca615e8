//! The picture of a prediction: drawn outlines, predicted outlines, gaps.

use crate::diagram::Diagram;
use crate::frame::Frame;
use crate::key::Key;
use crate::marks::Mark;
use crate::ramp::{BLUE, INK, ORANGE, PAPER, VERMILION};
use crate::raster::diagram_png;
use crate::vector::write_diagram;
use crate::{Error, Look};
use laidwork_geometry::Region;
use laidwork_plan::{Color, Plan, Point};
use laidwork_predict::{Gap, Prediction};
use std::io::Write;

/// Width of an outline, mm.
const LINE: f64 = 0.12;

/// A gap's ring is this much wider than the gap, mm.
const RING: f64 = 0.8;

/// Sides of a ring.
const SIDES: u32 = 32;

/// Writes a picture of `prediction` as an SVG file in mm.
///
/// # Errors
/// [`Error::Write`] when `to` refuses, [`Error::Look`] for a look out of range.
pub fn predicted_svg(plan: &Plan, prediction: &Prediction, look: &Look, to: &mut impl Write) -> Result<(), Error> {
    look.check()?;
    write_diagram(plan, diagram(plan, prediction, look), to)
}

/// A picture of `prediction` as a PNG file.
///
/// # Errors
/// [`Error::TooLarge`] over [`MOST_PIXELS`](crate::MOST_PIXELS), [`Error::Look`] for a look out of range.
pub fn predicted_png(plan: &Plan, prediction: &Prediction, look: &Look) -> Result<Vec<u8>, Error> {
    look.check()?;
    diagram_png(&diagram(plan, prediction, look), look.finish)
}

fn diagram(plan: &Plan, prediction: &Prediction, look: &Look) -> Diagram {
    let frame = Frame::around(plan, look);
    let mut marks = vec![Mark::Cell { rect: frame.rect, color: PAPER }];
    let mut key = Key::new(frame);
    for piece in &prediction.pieces {
        outline(&piece.drawn, INK, LINE * 0.8, &mut marks);
    }
    for piece in &prediction.pieces {
        let color = if piece.edge_off < 0.0 { VERMILION } else { BLUE };
        outline(&piece.predicted, color, LINE, &mut marks);
    }
    marks.extend(prediction.gaps.iter().map(ring));
    let wide = key.text() * 0.2;
    key.line(INK, wide, None, "drawn");
    key.line(BLUE, wide, None, "predicted, as drawn or wider");
    key.line(VERMILION, wide, None, "predicted, narrower");
    if !prediction.gaps.is_empty() {
        key.line(ORANGE, wide * 1.5, None, "gap, widest here");
    }
    key.line(PAPER, wide, None, "a model, not a measurement");
    let (frame, key) = key.finish();
    marks.extend(key);
    Diagram { frame, marks }
}

fn outline(region: &Region, color: Color, width: f64, marks: &mut Vec<Mark>) {
    for ring in region.rings() {
        let points: Vec<Point> = ring.points.iter().chain(ring.points.first()).copied().collect();
        marks.push(Mark::Line { points, width, color, opacity: 1.0, dash: None });
    }
}

fn ring(gap: &Gap) -> Mark {
    let radius = gap.width / 2.0 + RING;
    let at = |i: u32| {
        let turn = f64::from(i) / f64::from(SIDES) * std::f64::consts::TAU;
        Point::new(gap.x + radius * turn.cos(), gap.y + radius * turn.sin())
    };
    Mark::Line { points: (0..=SIDES).map(at).collect(), width: 2.0 * LINE, color: ORANGE, opacity: 1.0, dash: None }
}
