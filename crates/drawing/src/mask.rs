//! Masks that are as good as clip paths.
//!
//! A mask whose every paint is opaque, and in a luminance mask near white or
//! near black, shows its object in full or not at all: it is applied like a
//! clip path. Any other fades, which thread cannot; those are left out.

use crate::Error;
use crate::budget::Budget;
use crate::clip::{Clips, fill_rule};
use crate::shape_path::{affine, bez_path};
use crate::stroke;
use kurbo::Affine;
use laidwork_geometry::{FillRule, Region, Ring, clip_ring, flatten_to_rings};

/// Luminance from which a mask shows in full; below its complement it hides.
const WHITE: f64 = 0.9;
/// Opacity from which a paint counts as opaque.
const OPAQUE: f64 = 0.99;

/// The part of the viewport that `mask` shows of a group whose own coordinates
/// `to_mm` carries to millimetres; `None` for a mask that fades.
pub(crate) fn mask_region(
    mask: &usvg::Mask,
    to_mm: Affine,
    clips: &mut Clips,
    budget: &mut Budget,
) -> Result<Option<Region>, Error> {
    let mut painter = Painter {
        to_mm,
        alpha: mask.kind() == usvg::MaskType::Alpha,
        clips,
        budget,
        shown: Region::default(),
        pending: Vec::new(),
        shows: true,
    };
    if !painter.group(mask.root(), None)? {
        return Ok(None);
    }
    painter.flush();
    let shown = painter.shown;
    let rect = mask.rect();
    let rect = [rect.left(), rect.top(), rect.right(), rect.bottom()].map(f64::from);
    let corners = [(rect[0], rect[1]), (rect[2], rect[1]), (rect[2], rect[3]), (rect[0], rect[3])];
    let ring = Ring::new(corners.map(|corner| to_mm * kurbo::Point::from(corner)).to_vec());
    let ring = clip_ring(ring, clips.rect.inflate(1.0, 1.0));
    let frame = Region::union_of_chain(&[ring]);
    let shown = shown.intersection(&frame);
    match mask.mask() {
        Some(outer) => {
            let outer = mask_region(outer, to_mm, clips, budget)?;
            Ok(outer.map(|outer| shown.intersection(&outer)))
        }
        None => Ok(Some(shown)),
    }
}

struct Painter<'a> {
    to_mm: Affine,
    alpha: bool,
    clips: &'a mut Clips,
    budget: &'a mut Budget,
    shown: Region,
    /// Rings that are still to be added to what is shown or, if they do not show, taken from it.
    pending: Vec<Ring>,
    /// Whether the pending ones show.
    shows: bool,
}

impl Painter<'_> {
    /// Paints a group; `false` when something in it fades.
    fn group(&mut self, group: &usvg::Group, clip: Option<&Region>) -> Result<bool, Error> {
        if f64::from(group.opacity().get()) < OPAQUE {
            return Ok(false);
        }
        let to_mm = self.to_mm * affine(group.abs_transform());
        let mut clip = clip.cloned();
        let mut cut = |own: Region| {
            clip = Some(clip.as_ref().map_or_else(|| own.clone(), |outer| outer.intersection(&own)));
        };
        if let Some(path) = group.clip_path() {
            cut(self.clips.region(path, to_mm, self.budget)?);
        }
        if let Some(mask) = group.mask() {
            match mask_region(mask, to_mm, self.clips, self.budget)? {
                Some(own) => cut(own),
                None => return Ok(false),
            }
        }
        for node in group.children() {
            let hard = match node {
                usvg::Node::Group(group) => self.group(group, clip.as_ref())?,
                usvg::Node::Text(text) => self.group(text.flattened(), clip.as_ref())?,
                usvg::Node::Path(path) => self.path(path, clip.as_ref())?,
                usvg::Node::Image(_) => false,
            };
            if !hard {
                return Ok(false);
            }
        }
        Ok(true)
    }

    fn path(&mut self, path: &usvg::Path, clip: Option<&Region>) -> Result<bool, Error> {
        if !path.is_visible() {
            return Ok(true);
        }
        let to_mm = self.to_mm * affine(path.abs_transform());
        let outline = bez_path(path.data());
        self.budget.flattened(&(to_mm * &outline), self.clips.tolerance, "a mask")?;
        let bounds = self.clips.rect.inflate(1.0, 1.0);
        let mut layers = Vec::new();
        if let Some(fill) = path.fill() {
            let Some(shows) = self.shows(fill.paint(), fill.opacity()) else { return Ok(false) };
            let rings = flatten_to_rings(&(to_mm * &outline), self.clips.tolerance);
            self.budget.fill(&rings, self.clips.rect, "a mask")?;
            let rings: Vec<Ring> = rings.into_iter().map(|ring| clip_ring(ring, bounds)).collect();
            layers.push((shows, Region::from_rings(&rings, fill_rule(fill.rule()))));
        }
        if let Some(stroke) = path.stroke() {
            let Some(shows) = self.shows(stroke.paint(), stroke.opacity()) else { return Ok(false) };
            let ink = stroke::draw(&outline, stroke, to_mm, self.clips.tolerance, bounds);
            self.budget.stroke(&ink, self.clips.rect, "a mask")?;
            layers.push((shows, ink.into_parts().1));
        }
        if path.paint_order() == usvg::PaintOrder::StrokeAndFill {
            layers.reverse();
        }
        for (shows, region) in layers {
            if shows != self.shows {
                self.flush();
                self.shows = shows;
            }
            let region = clip.map_or_else(|| region.clone(), |clip| region.intersection(clip));
            self.pending.extend(region.rings().cloned());
        }
        Ok(true)
    }

    /// Paints what is pending, all at once.
    fn flush(&mut self) {
        let layer = Region::from_rings(&std::mem::take(&mut self.pending), FillRule::NonZero);
        self.shown = if self.shows { self.shown.union(&layer) } else { self.shown.difference(&layer) };
    }

    /// Whether a paint shows what is under it in full (`true`) or not at all;
    /// `None` for anything between.
    fn shows(&self, paint: &usvg::Paint, opacity: usvg::Opacity) -> Option<bool> {
        let usvg::Paint::Color(color) = paint else { return None };
        if f64::from(opacity.get()) < OPAQUE {
            return None;
        }
        // The coefficients of `luminanceToAlpha` in CSS Masking 1, section 7.10.1.
        let luminance = [(color.red, 0.2125), (color.green, 0.7154), (color.blue, 0.0721)]
            .map(|(channel, share)| f64::from(channel) / 255.0 * share)
            .iter()
            .sum::<f64>();
        match luminance {
            _ if self.alpha => Some(true),
            light if light >= WHITE => Some(true),
            light if light <= 1.0 - WHITE => Some(false),
            _ => None,
        }
    }
}
