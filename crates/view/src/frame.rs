//! The part of the plane a picture shows, and its scale.

use crate::{Error, Look};
use laidwork_plan::{Plan, Point, Rect};

/// Half the side of the picture of a plan without stitches, mm.
const EMPTY: f64 = 5.0;

/// A rectangle of the plan's plane, and the pixels it takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Frame {
    /// What is shown, mm.
    pub rect: Rect,
    /// Pixels per mm.
    pub scale: f64,
}

impl Frame {
    /// The stitches of `plan` with the look's margin around them. Points that
    /// are no numbers count for nothing.
    pub fn around(plan: &Plan, look: &Look) -> Frame {
        let mut bounds: Option<Rect> = None;
        for point in plan.passes().flat_map(|(_, pass)| &pass.points).filter(|p| p.is_finite()) {
            let here = Rect::from_points(*point, *point);
            bounds = Some(bounds.map_or(here, |rect| rect.union_pt(*point)));
        }
        let rect = bounds.unwrap_or(Rect::new(-EMPTY, -EMPTY, EMPTY, EMPTY));
        let margin = look.margin + look.thread_width / 2.0;
        Frame { rect: rect.inflate(margin, margin), scale: look.pixels_per_mm }
    }

    /// Pixels across and down, if there are at most `limit` in all.
    pub fn pixels(&self, limit: usize) -> Result<(u32, u32), Error> {
        let width = (self.rect.width() * self.scale).ceil().max(1.0);
        let height = (self.rect.height() * self.scale).ceil().max(1.0);
        if width * height <= limit as f64 && width.max(height) <= f64::from(u16::MAX) {
            Ok((width as u32, height as u32))
        } else {
            Err(Error::TooLarge { width, height, limit })
        }
    }

    /// Where a point of the plan lies, in pixels from the upper left corner.
    pub fn to_pixels(self, point: Point) -> Point {
        ((point - self.rect.origin()) * self.scale).to_point()
    }
}
