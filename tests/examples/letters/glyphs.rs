//! Letters of a font as outlines in mm.

use kurbo::{Affine, BezPath, PathEl};
use laidwork_geometry::{FillRule, Polygon, Region, Ring};
use skrifa::instance::{LocationRef, Size};
use skrifa::outline::{DrawSettings, OutlinePen};
use skrifa::{FontRef, MetadataProvider};
use std::fmt::Write;

/// Curves are flattened to this, mm.
const FLATNESS: f64 = 0.002;

/// Capitals are this share of the ascent high where a font does not say.
const USUAL_CAPITALS: f64 = 0.7;

struct Pen(BezPath);

impl OutlinePen for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.0.move_to((f64::from(x), f64::from(y)));
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.0.line_to((f64::from(x), f64::from(y)));
    }
    fn quad_to(&mut self, cx: f32, cy: f32, x: f32, y: f32) {
        self.0.quad_to((f64::from(cx), f64::from(cy)), (f64::from(x), f64::from(y)));
    }
    fn curve_to(&mut self, ax: f32, ay: f32, bx: f32, by: f32, x: f32, y: f32) {
        let [ax, ay, bx, by, x, y] = [ax, ay, bx, by, x, y].map(f64::from);
        self.0.curve_to((ax, ay), (bx, by), (x, y));
    }
    fn close(&mut self) {
        self.0.close_path();
    }
}

/// The outline of a letter in mm, the baseline at 0, turned by some degrees; `None` when the font lacks it.
pub fn outline(font: &FontRef, letter: char, cap_height: f64, turn: f64) -> Option<Region> {
    let glyph = font.charmap().map(letter)?;
    let outline = font.outline_glyphs().get(glyph)?;
    let mut pen = Pen(BezPath::new());
    outline.draw(DrawSettings::unhinted(Size::unscaled(), LocationRef::default()), &mut pen).ok()?;
    let metrics = font.metrics(Size::unscaled(), LocationRef::default());
    let capitals =
        metrics.cap_height.filter(|c| *c > 0.0).map_or(f64::from(metrics.ascent) * USUAL_CAPITALS, f64::from);
    let scale = cap_height / capitals;
    let path = Affine::rotate(turn.to_radians()) * Affine::scale_non_uniform(scale, -scale) * pen.0;
    let mut rings: Vec<Ring> = Vec::new();
    kurbo::flatten(&path, FLATNESS, |element| match element {
        PathEl::MoveTo(p) => rings.push(Ring::new(vec![p])),
        PathEl::LineTo(p) => rings.last_mut().into_iter().for_each(|ring| ring.points.push(p)),
        _ => {}
    });
    Some(Region::from_rings(&rings, FillRule::NonZero))
}

/// The path data of a polygon.
pub fn path_data(polygon: &Polygon) -> String {
    let mut data = String::new();
    for ring in polygon.rings() {
        for (i, p) in ring.points.iter().enumerate() {
            let _ = write!(data, "{}{:.3} {:.3}", if i == 0 { "M" } else { "L" }, p.x, p.y);
        }
        data.push('Z');
    }
    data
}
