//! What a drawing is once it has been resolved: a short list of shapes in millimetres.

use laidwork_geometry::Region;
use laidwork_plan::{Color, Point, Rect};

/// A drawing as it is to be sewn.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// The text of the drawing's own `<title>`; one clean line.
    pub title: Option<String>,
    /// Its viewport, mm, centred on the origin. No region reaches beyond it.
    pub rect: Rect,
    /// Its shapes in the order they are painted: later ones lie on top.
    pub shapes: Vec<Shape>,
}

/// One painted area: the inside of an outline, or the ink of a stroke.
///
/// An element with a fill and a stroke makes two shapes, `NAME` for the fill
/// and `NAME/outline` for the stroke; an element with only a stroke makes one
/// shape, `NAME`.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// The id path: ids of the groups it lies in and its own, joined by `/`.
    /// One clean line, and no two shapes of a drawing have the same.
    pub name: String,
    /// Whether it is the inside of an outline or the ink of a stroke.
    pub paint: Paint,
    /// Its colour; the average one of a gradient or a pattern.
    pub color: Color,
    /// The painted area, mm: fill rules, dashes, caps, joins and clip paths applied.
    pub region: Region,
    /// How a stroke runs; `None` for a fill.
    pub stroke: Option<Stroke>,
    /// Of text: about how high its capitals are, mm, by the largest type in it.
    pub cap_height: Option<f64>,
}

/// What paints a shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Paint {
    /// The inside of an outline.
    Fill,
    /// The ink along a line.
    Stroke,
}

/// The centre lines of a stroke and the pen that follows them.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// Centre lines after dashes and clips, flattened, mm.
    pub lines: Vec<Line>,
    /// Width of the ink, mm. Where a transform stretches the stroke unevenly,
    /// the mean width: the region has the true one.
    pub width: f64,
    /// What its open ends look like.
    pub cap: Cap,
    /// What its corners look like.
    pub join: Join,
    /// Longest mitre, in stroke widths (SVG's `stroke-miterlimit`).
    pub mitre_limit: f64,
}

/// A centre line.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Line {
    /// Its points, mm. A closed line does not repeat the first one.
    pub points: Vec<Point>,
    /// Whether the last point is joined to the first.
    pub closed: bool,
}

impl Line {
    /// Its length, mm, the closing piece included.
    pub fn length(&self) -> f64 {
        let open: f64 = self.points.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
        match (self.points.first(), self.points.last()) {
            (Some(first), Some(last)) if self.closed => open + last.distance(*first),
            _ => open,
        }
    }
}

/// The end of an open stroke, in SVG's words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Cap {
    /// Cut square at the end point.
    Butt,
    /// A half disc about the end point.
    Round,
    /// Cut square half a width beyond the end point.
    Square,
}

/// The corner of a stroke, in SVG's words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Join {
    /// Prolonged edges up to the mitre limit, beyond it a bevel.
    Mitre,
    /// Prolonged edges, cut off at the mitre limit (`miter-clip`).
    MitreClip,
    /// An arc about the corner.
    Round,
    /// A straight cut.
    Bevel,
}
