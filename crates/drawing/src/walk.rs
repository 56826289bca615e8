//! The resolved tree, walked in paint order.

use crate::clip::{clip_region, fill_rule};
use crate::outline::{affine, bez_path, flatten, rings};
use crate::{Cap, Drawing, Join, Line, Options, Paint, Shape, Stroke};
use kurbo::Affine;
use laidwork_geometry::{FillRule, Pen, PenCap, PenJoin, Region, Ring};
use laidwork_plan::{Color, Point, Rect, Warned, Warning};
use std::collections::BTreeMap;

const MM_PER_PX: f64 = 25.4 / 96.0;

/// Every shape of `tree`.
pub(crate) fn shapes(tree: &usvg::Tree, options: &Options) -> Warned<Drawing> {
    let (w, h) = (f64::from(tree.size().width()), f64::from(tree.size().height()));
    let (sx, sy) = match (options.width, options.height) {
        (Some(width), Some(height)) => (width / w, height / h),
        (Some(width), None) => (width / w, width / w),
        (None, Some(height)) => (height / h, height / h),
        (None, None) => (MM_PER_PX, MM_PER_PX),
    };
    let (w, h) = (w * sx, h * sy);
    let rect = Rect::new(-w / 2.0, -h / 2.0, w / 2.0, h / 2.0);
    let to_mm = Affine::new([sx, 0.0, 0.0, sy, rect.x0, rect.y0]);
    let corners = [(rect.x0, rect.y0), (rect.x1, rect.y0), (rect.x1, rect.y1), (rect.x0, rect.y1)];
    let viewport = Region::from_rings(&[Ring::new(corners.map(Point::from).to_vec())], FillRule::NonZero);
    let mut walk =
        Walk { to_mm, tolerance: options.tolerance, shapes: vec![], warnings: vec![], names: BTreeMap::new() };
    walk.group(tree.root(), "", &viewport);
    Warned { value: Drawing { title: None, rect, shapes: walk.shapes }, warnings: walk.warnings }
}

struct Walk {
    to_mm: Affine,
    tolerance: f64,
    shapes: Vec<Shape>,
    warnings: Vec<Warning>,
    names: BTreeMap<String, usize>,
}

impl Walk {
    fn group(&mut self, group: &usvg::Group, prefix: &str, clip: &Region) {
        let own;
        let clip = match group.clip_path() {
            Some(path) => {
                own = clip.intersection(&clip_region(path, self.to_mm * affine(group.abs_transform()), self.tolerance));
                &own
            }
            None => clip,
        };
        for node in group.children() {
            match node {
                usvg::Node::Group(child) => self.group(child, &join(prefix, child.id()), clip),
                usvg::Node::Path(path) => self.path(path, prefix, clip),
                usvg::Node::Text(text) => self.group(text.flattened(), &join(prefix, text.id()), clip),
                usvg::Node::Image(_) => {}
            }
        }
    }

    fn path(&mut self, path: &usvg::Path, prefix: &str, clip: &Region) {
        if !path.is_visible() {
            return;
        }
        let own = if path.id().is_empty() { "path" } else { path.id() };
        let name = self.unique(join(prefix, own));
        let outline = bez_path(path.data());
        let to_mm = self.to_mm * affine(path.abs_transform());
        let both = path.fill().is_some() && path.stroke().is_some();
        let fill = path.fill().map(|fill| {
            let rings = rings(&(to_mm * outline.clone()), self.tolerance);
            Shape {
                name: name.clone(),
                paint: Paint::Fill,
                color: paint_color(fill.paint()),
                region: Region::from_rings(&rings, fill_rule(fill.rule())).intersection(clip),
                stroke: None,
            }
        });
        let stroke_name = if both { format!("{name}/outline") } else { name.clone() };
        let stroke = path.stroke().map(|stroke| self.stroke(stroke_name, stroke, &outline, to_mm, clip));
        let order = match path.paint_order() {
            usvg::PaintOrder::FillAndStroke => [fill, stroke],
            usvg::PaintOrder::StrokeAndFill => [stroke, fill],
        };
        self.shapes.extend(order.into_iter().flatten().filter(|shape| !shape.region.is_empty()));
    }

    fn stroke(
        &self,
        name: String,
        stroke: &usvg::Stroke,
        outline: &kurbo::BezPath,
        to_mm: Affine,
        clip: &Region,
    ) -> Shape {
        let scale = to_mm.determinant().abs().sqrt();
        let tolerance = self.tolerance / scale.max(1e-12);
        let width = f64::from(stroke.width().get());
        let mitre_limit = f64::from(stroke.miterlimit().get());
        let (cap, pen_cap) = match stroke.linecap() {
            usvg::LineCap::Butt => (Cap::Butt, PenCap::Butt),
            usvg::LineCap::Round => (Cap::Round, PenCap::Round),
            usvg::LineCap::Square => (Cap::Square, PenCap::Square),
        };
        let (join, pen_join) = match stroke.linejoin() {
            usvg::LineJoin::Miter => (Join::Mitre, PenJoin::Mitre { limit: mitre_limit }),
            usvg::LineJoin::MiterClip => (Join::MitreClip, PenJoin::MitreClip { limit: mitre_limit }),
            usvg::LineJoin::Round => (Join::Round, PenJoin::Round),
            usvg::LineJoin::Bevel => (Join::Bevel, PenJoin::Bevel),
        };
        let pen = Pen { width, cap: pen_cap, join: pen_join, tolerance };
        let lines = flatten(outline, tolerance);
        let to = |points: &[Point]| points.iter().map(|&p| to_mm * p).collect::<Vec<_>>();
        let rings: Vec<Ring> =
            lines.iter().flat_map(|line| line.stroke(&pen)).map(|ring| Ring::new(to(&ring.points))).collect();
        let lines = lines.iter().map(|line| Line { points: to(&line.points), closed: line.closed }).collect();
        Shape {
            name,
            paint: Paint::Stroke,
            color: paint_color(stroke.paint()),
            region: Region::union_of_chain(&rings).intersection(clip),
            stroke: Some(Stroke { lines, width: width * scale, cap, join, mitre_limit }),
        }
    }

    fn unique(&mut self, name: String) -> String {
        let count = self.names.entry(name.clone()).or_insert(0);
        *count += 1;
        if *count == 1 { name } else { format!("{name}-{count}") }
    }
}

fn join(prefix: &str, id: &str) -> String {
    match (prefix.is_empty(), id.is_empty()) {
        (_, true) => prefix.into(),
        (true, false) => id.into(),
        (false, false) => format!("{prefix}/{id}"),
    }
}

fn paint_color(paint: &usvg::Paint) -> Color {
    match paint {
        usvg::Paint::Color(c) => Color::new(c.red, c.green, c.blue),
        _ => Color::new(128, 128, 128),
    }
}
