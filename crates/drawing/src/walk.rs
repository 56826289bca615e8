//! The resolved tree, walked in paint order.

use crate::budget::Budget;
use crate::clip::{Clips, fill_rule};
use crate::color::{average, mean_scale};
use crate::mask::mask_region;
use crate::names::{Names, clean, join};
use crate::notes::{Kind, Notes};
use crate::shape_path::{affine, bez_path};
use crate::survey::{Survey, words};
use crate::{Error, Paint, Shape};
use crate::{Stroke, stroke};
use kurbo::{Affine, BezPath, Rect};
use laidwork_geometry::{FillRule, Join, Polygon, Region, Ring, clip_ring, flatten_to_rings};
use laidwork_plan::Color;
use std::collections::BTreeSet;

/// A part of a fill smaller than this cannot be sewn, mm²: about what one
/// needle point and the shortest of stitches cover.
const SMALLEST_AREA: f64 = 0.1;
/// A stroke shorter than this that covers less than [`SMALLEST_AREA`] cannot be sewn, mm.
const SHORTEST_STROKE: f64 = 0.5;
/// A stroke thinner than this cannot be seen, mm.
const THINNEST_STROKE: f64 = 0.01;
/// Points that the resolver's single precision moves by more than this are said, mm.
const COARSEST: f64 = 0.02;
/// Opacity below this is none, above its complement full.
const HARDLY: f64 = 0.004;
/// How much larger than the visible area centre lines are clipped, mm, so that
/// lines along its border are kept.
const MARGIN: f64 = 0.01;

/// A text that loses less than this at the viewport's edge loses nothing that is seen, mm.
const CUT: f64 = 0.1;

/// What the walk needs to know.
pub(crate) struct Setting<'a> {
    /// From px to millimetres.
    pub to_mm: Affine,
    /// The viewport, mm.
    pub rect: Rect,
    /// Flattening, mm.
    pub tolerance: f64,
    /// What ids stand for.
    pub survey: &'a Survey<'a>,
}

/// Every shape of `tree`.
pub(crate) fn shapes(tree: &usvg::Tree, setting: &Setting, notes: &mut Notes) -> Result<Vec<Shape>, Error> {
    let seen = BTreeSet::new();
    let clips = Clips::new(setting.tolerance, setting.rect);
    let mut walk =
        Walk { setting, notes, clips, names: Names::default(), shapes: vec![], seen, budget: Budget::default() };
    walk.group(
        tree.root(),
        &Scope { path: String::new(), alone: false, opacity: 1.0, faded: false, clip: None, cap_height: None },
    )?;
    for (id, node) in &setting.survey.expected {
        if !walk.seen.contains(id.as_str()) && !setting.survey.broken.contains(id) {
            walk.notes.add(Kind::Nothing, || words(*node));
        }
    }
    Ok(walk.shapes)
}

/// What a node inherits.
#[derive(Clone)]
struct Scope {
    /// The id path so far.
    path: String,
    /// Whether the whole scope is one shape, which then has the scope's own name.
    alone: bool,
    opacity: f64,
    /// Whether a mask that cannot be sewn lies over it.
    faded: bool,
    /// What clip paths and masks leave of the viewport; `None` for all of it.
    clip: Option<Region>,
    /// Inside a text: how high its capitals are, mm.
    cap_height: Option<f64>,
}

/// Capitals are about this share of the type's size high (0.66 to 0.73 in common faces, from memory).
const CAPITALS: f64 = 0.7;

/// About how high the capitals of a text are, mm, by its largest type.
fn cap_height(text: &usvg::Text, to_mm: Affine) -> Option<f64> {
    let spans = text.chunks().iter().flat_map(|chunk| chunk.spans());
    let size = spans.map(|span| f64::from(span.font_size().get())).max_by(f64::total_cmp)?;
    let scale = (to_mm * affine(text.abs_transform())).determinant().abs().sqrt();
    Some(CAPITALS * size * scale)
}

struct Walk<'a, 's> {
    setting: &'s Setting<'a>,
    notes: &'s mut Notes,
    clips: Clips,
    names: Names,
    shapes: Vec<Shape>,
    /// Ids that came out of the resolver.
    seen: BTreeSet<String>,
    budget: Budget,
}

impl Walk<'_, '_> {
    fn group(&mut self, group: &usvg::Group, scope: &Scope) -> Result<(), Error> {
        let opacity = scope.opacity * f64::from(group.opacity().get());
        if opacity < HARDLY {
            self.see(group);
            return Ok(());
        }
        let mut faded = scope.faded;
        let to_mm = self.setting.to_mm * affine(group.abs_transform());
        let mut clip = scope.clip.clone();
        let mut cut = |own: Region| {
            clip = Some(clip.as_ref().map_or_else(|| own.clone(), |outer| outer.intersection(&own)));
        };
        if let Some(path) = group.clip_path() {
            cut(self.clips.region(path, to_mm, &mut self.budget)?);
        }
        if let Some(mask) = group.mask() {
            match mask_region(mask, to_mm, &mut self.clips, &mut self.budget)? {
                Some(own) => cut(own),
                None => faded = true,
            }
        }
        let inner = Scope { opacity, clip, faded, ..scope.clone() };
        for node in group.children() {
            match node {
                usvg::Node::Group(child) if self.setting.survey.broken.contains(child.id()) => {}
                usvg::Node::Group(child) => {
                    let scope = self.inside(&inner, child.id(), child);
                    self.group(child, &scope)?;
                }
                usvg::Node::Text(text) => {
                    let mut scope = self.inside(&inner, text.id(), text.flattened());
                    scope.alone = true;
                    scope.cap_height = cap_height(text, self.setting.to_mm);
                    self.remark_on_cut_text(text, &scope);
                    self.group(text.flattened(), &scope)?;
                }
                usvg::Node::Path(path) => self.path(path, &inner)?,
                usvg::Node::Image(_) => {}
            }
        }
        Ok(())
    }

    /// The scope inside a group or a text with an id.
    fn inside(&mut self, scope: &Scope, id: &str, group: &usvg::Group) -> Scope {
        if id.is_empty() {
            return scope.clone();
        }
        self.seen.insert(id.to_string());
        let label = self.setting.survey.labels.get(id);
        let part = label.map(|label| label.name.clone()).or_else(|| clean(id)).unwrap_or_default();
        let alone = label.is_some_and(|label| label.is_use) && count_paths(group, 2) == 1;
        Scope { path: join(&scope.path, &part), alone, ..scope.clone() }
    }

    /// Remembers the ids of what is not looked at.
    fn see(&mut self, group: &usvg::Group) {
        for node in group.children() {
            self.seen.insert(node.id().to_string());
            if let usvg::Node::Group(group) = node {
                self.see(group);
            }
        }
    }

    fn path(&mut self, path: &usvg::Path, scope: &Scope) -> Result<(), Error> {
        self.seen.insert(path.id().to_string());
        if self.setting.survey.broken.contains(path.id()) {
            return Ok(());
        }
        let opacity = |own: usvg::Opacity| scope.opacity * f64::from(own.get());
        let fill = path.fill().and_then(|fill| Some((fill, self.colour(fill.paint(), opacity(fill.opacity()))?)));
        let stroke =
            path.stroke().and_then(|stroke| Some((stroke, self.colour(stroke.paint(), opacity(stroke.opacity()))?)));
        if !path.is_visible() || (fill.is_none() && stroke.is_none()) {
            return Ok(());
        }
        let label = self.setting.survey.labels.get(path.id()).map(|label| label.name.clone());
        let label = label.or_else(|| clean(path.id()));
        let (name, numbered) = match label {
            Some(label) => (join(&scope.path, &label), false),
            None if scope.alone && !scope.path.is_empty() => (scope.path.clone(), false),
            None => (self.names.numbered(&join(&scope.path, "path")), true),
        };
        let outline = bez_path(path.data());
        let to_mm = self.setting.to_mm * affine(path.abs_transform());
        let fill = match &fill {
            Some((fill, colour)) => self.fill(fill, &outline, to_mm, &name)?.map(|region| (region, *colour)),
            None => None,
        };
        let too_thin = stroke.as_ref().is_some_and(|(stroke, _)| stroke_width(stroke, to_mm) < THINNEST_STROKE);
        let ink = match &stroke {
            Some(_) if too_thin => {
                self.notes.add(Kind::TooThin, || name.clone());
                None
            }
            Some((stroke, colour)) => self.ink(stroke, &outline, to_mm, &name)?.map(|ink| (ink, *colour)),
            None => None,
        };
        if fill.is_none() && ink.is_none() {
            if !too_thin {
                self.notes.add(Kind::Nothing, || name);
            }
            return Ok(());
        }
        self.remark_on(path, scope, to_mm, &name);
        let fill = fill.and_then(|(region, colour)| self.fill_shape(&name, region, colour, scope));
        let ink = ink.and_then(|(ink, colour)| self.stroke_shape(&name, ink, colour, scope));
        let name = if numbered || (fill.is_none() && ink.is_none()) { name } else { self.names.unique(name) };
        let both = fill.is_some() && ink.is_some();
        let fill = fill.map(|shape| Shape { name: name.clone(), ..shape });
        let ink = ink.map(|shape| {
            let name = if both { self.names.unique(format!("{name}/outline")) } else { name.clone() };
            Shape { name, ..shape }
        });
        let order = match path.paint_order() {
            usvg::PaintOrder::FillAndStroke => [fill, ink],
            usvg::PaintOrder::StrokeAndFill => [ink, fill],
        };
        self.shapes.extend(order.into_iter().flatten());
        Ok(())
    }

    /// The one colour of a paint; `None` if nothing of it shows.
    fn colour(&self, paint: &usvg::Paint, opacity: f64) -> Option<Color> {
        average(paint).filter(|(_, own)| own * opacity >= HARDLY).map(|(colour, _)| colour)
    }

    /// Says what of a shape's paint is not sewn as drawn.
    fn remark_on(&mut self, path: &usvg::Path, scope: &Scope, to_mm: Affine, name: &str) {
        let fill = path.fill().map(|fill| (fill.paint(), fill.opacity()));
        let stroke = path.stroke().map(|stroke| (stroke.paint(), stroke.opacity()));
        for (paint, opacity) in fill.into_iter().chain(stroke) {
            let Some((_, own)) = average(paint) else { continue };
            let whole = own * scope.opacity * f64::from(opacity.get());
            if whole < HARDLY {
                continue;
            }
            match paint {
                usvg::Paint::Color(_) => {}
                usvg::Paint::Pattern(_) => self.notes.add(Kind::Pattern, || name.into()),
                _ => self.notes.add(Kind::Gradient, || name.into()),
            }
            if whole < 1.0 - HARDLY {
                self.notes.add(Kind::Transparent, || name.into());
            }
        }
        if scope.faded {
            self.notes.add(Kind::Mask, || name.into());
        }
        let bounds = path.data().bounds();
        let farthest = [bounds.left(), bounds.right(), bounds.top(), bounds.bottom()];
        let farthest = farthest.into_iter().map(|v| f64::from(v.abs())).fold(0.0, f64::max);
        if farthest * f64::from(f32::EPSILON) * to_mm.spectral_norm() > COARSEST {
            self.notes.add(Kind::FarFromOrigin, || name.into());
        }
    }

    /// The inside of an outline within the viewport; `None` if it has none.
    fn fill(
        &mut self,
        fill: &usvg::Fill,
        outline: &BezPath,
        to_mm: Affine,
        name: &str,
    ) -> Result<Option<Region>, Error> {
        let outline = to_mm * outline;
        self.budget.flattened(&outline, self.setting.tolerance, name)?;
        let rings = flatten_to_rings(&outline, self.setting.tolerance);
        self.budget.fill(&rings, self.setting.rect, name)?;
        let outside = |ring: &Ring| ring.bounds().is_none_or(|bounds| bounds.intersect(self.around()).area() <= 0.0);
        let all_outside = !rings.is_empty() && rings.iter().all(outside);
        let rings: Vec<Ring> = rings.into_iter().map(|ring| clip_ring(ring, self.around())).collect();
        let region = Region::from_rings(&rings, fill_rule(fill.rule()));
        Ok((!region.is_empty() || all_outside).then_some(region))
    }

    /// The ink of a stroke within the viewport; `None` if it has none.
    fn ink(
        &mut self,
        stroke: &usvg::Stroke,
        outline: &BezPath,
        to_mm: Affine,
        name: &str,
    ) -> Result<Option<(Stroke, Region)>, Error> {
        self.budget.flattened(&(to_mm * outline), self.setting.tolerance, name)?;
        let ink = stroke::draw(outline, stroke, to_mm, self.setting.tolerance, self.around());
        self.budget.stroke(&ink, self.setting.rect, name)?;
        if ink.too_many_dashes {
            self.notes.add(Kind::TooManyDashes, || name.into());
        }
        let (stroke, region) = ink.into_parts();
        Ok((!stroke.lines.is_empty()).then_some((stroke, region)))
    }

    /// The viewport and a little around it.
    fn around(&self) -> Rect {
        self.setting.rect.inflate(1.0, 1.0)
    }

    /// What the viewport and the clip paths leave of a region.
    fn visible(&self, region: Region, scope: &Scope) -> Region {
        let rect = self.setting.rect;
        let inside = region.bounds().is_none_or(|bounds| rect.contains_rect(bounds));
        let region = if inside { region } else { region.intersection(&rect_region(rect)) };
        match &scope.clip {
            Some(clip) => region.intersection(clip),
            None => region,
        }
    }

    fn fill_shape(&mut self, name: &str, region: Region, color: Color, scope: &Scope) -> Option<Shape> {
        let visible = self.visible(region, scope);
        if visible.is_empty() {
            self.remark_on_hidden(name, scope);
            return None;
        }
        let (large, small): (Vec<Polygon>, Vec<Polygon>) =
            visible.polygons.into_iter().partition(|polygon| polygon.area() >= SMALLEST_AREA);
        for _ in &small {
            self.notes.add(Kind::TooSmall, || name.into());
        }
        let region = Region { polygons: large };
        (!region.is_empty()).then(|| Shape {
            name: String::new(),
            paint: Paint::Fill,
            color,
            region,
            stroke: None,
            cap_height: scope.cap_height,
        })
    }

    fn stroke_shape(
        &mut self,
        name: &str,
        (mut stroke, region): (Stroke, Region),
        color: Color,
        scope: &Scope,
    ) -> Option<Shape> {
        let region = self.visible(region, scope);
        if region.is_empty() {
            self.remark_on_hidden(name, scope);
            return None;
        }
        let rect = self.setting.rect.inflate(MARGIN, MARGIN);
        let outside = stroke.lines.iter().flat_map(|line| &line.points).any(|point| !rect.contains(*point));
        if outside {
            stroke.lines = stroke::clip_lines(&stroke.lines, &rect_region(rect));
        }
        if let Some(clip) = &scope.clip {
            stroke.lines = stroke::clip_lines(&stroke.lines, &clip.offset(MARGIN, Join::Bevel));
        }
        let length: f64 = stroke.lines.iter().map(crate::Line::length).sum();
        if length < SHORTEST_STROKE && region.area() < SMALLEST_AREA {
            self.notes.add(Kind::TooSmall, || name.into());
            return None;
        }
        Some(Shape {
            name: String::new(),
            paint: Paint::Stroke,
            color,
            region,
            stroke: Some(stroke),
            cap_height: scope.cap_height,
        })
    }

    /// Says that a part of a text, not all of it, lies beyond the viewport.
    fn remark_on_cut_text(&mut self, text: &usvg::Text, scope: &Scope) {
        let ink = text.flattened().abs_bounding_box();
        let [left, top, right, bottom] = [ink.left(), ink.top(), ink.right(), ink.bottom()].map(f64::from);
        let ink = self.setting.to_mm.transform_rect_bbox(Rect::new(left, top, right, bottom));
        let rect = self.setting.rect;
        let is_cut = !rect.inflate(CUT, CUT).contains_rect(ink) && rect.overlaps(ink);
        if is_cut && scope.clip.is_none() {
            self.notes.add(Kind::CutText, || scope.path.clone());
        }
    }

    fn remark_on_hidden(&mut self, name: &str, scope: &Scope) {
        if scope.clip.is_none() {
            self.notes.add(Kind::Clipped, || name.into());
        }
    }
}

/// The mean width of a stroke, mm.
fn stroke_width(stroke: &usvg::Stroke, to_mm: Affine) -> f64 {
    f64::from(stroke.width().get()) * mean_scale(to_mm)
}

/// How many visible paths a group draws, counted up to `most`.
fn count_paths(group: &usvg::Group, most: usize) -> usize {
    let mut count = 0;
    for node in group.children() {
        count += match node {
            usvg::Node::Group(group) => count_paths(group, most - count),
            usvg::Node::Path(path) => usize::from(path.is_visible()),
            usvg::Node::Text(_) => 1,
            usvg::Node::Image(_) => 0,
        };
        if count >= most {
            break;
        }
    }
    count
}

/// A rectangle as a region.
pub(crate) fn rect_region(rect: Rect) -> Region {
    let corners = [(rect.x0, rect.y0), (rect.x1, rect.y0), (rect.x1, rect.y1), (rect.x0, rect.y1)];
    Region::from_rings(&[Ring::new(corners.map(Into::into).to_vec())], FillRule::NonZero)
}
