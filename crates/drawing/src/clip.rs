//! Clip paths as regions in millimetres.

use crate::Error;
use crate::budget::Budget;
use crate::shape_path::{affine, bez_path};
use crate::walk::rect_region;
use kurbo::{Affine, Rect};
use laidwork_geometry::{FillRule, Region, Ring, clip_ring, flatten_to_rings};
use std::collections::BTreeMap;

pub(crate) fn fill_rule(rule: usvg::FillRule) -> FillRule {
    match rule {
        usvg::FillRule::NonZero => FillRule::NonZero,
        usvg::FillRule::EvenOdd => FillRule::EvenOdd,
    }
}

/// Clip paths of a drawing, each worked out once for each place it is used in.
pub(crate) struct Clips {
    /// Flattening, mm.
    pub tolerance: f64,
    /// The viewport, mm.
    pub rect: Rect,
    /// By the clip path's address in the tree and the bits of the transform.
    known: BTreeMap<(usize, [u64; 6]), Region>,
}

impl Clips {
    /// No clip paths yet, in a viewport `rect`.
    pub fn new(tolerance: f64, rect: Rect) -> Clips {
        Clips { tolerance, rect, known: BTreeMap::new() }
    }

    /// The part of the viewport that `clip` leaves visible of a group whose
    /// own coordinates `to_mm` carries to millimetres.
    pub fn region(&mut self, clip: &usvg::ClipPath, to_mm: Affine, budget: &mut Budget) -> Result<Region, Error> {
        let key = (std::ptr::from_ref(clip).addr(), to_mm.as_coeffs().map(f64::to_bits));
        if let Some(region) = self.known.get(&key) {
            return Ok(region.clone());
        }
        let mut region = self.group(clip.root(), to_mm * affine(clip.transform()), budget)?;
        if let Some(outer) = clip.clip_path() {
            region = region.intersection(&self.region(outer, to_mm, budget)?);
        }
        if !region.bounds().is_none_or(|bounds| self.rect.contains_rect(bounds)) {
            region = region.intersection(&rect_region(self.rect));
        }
        self.known.insert(key, region.clone());
        Ok(region)
    }

    /// The union of everything in a group of a clip path.
    fn group(&mut self, group: &usvg::Group, to_mm: Affine, budget: &mut Budget) -> Result<Region, Error> {
        let mut rings = Vec::new();
        self.collect(group, to_mm, &mut rings, budget)?;
        Ok(Region::from_rings(&rings, FillRule::NonZero))
    }

    /// Adds rings that enclose what is in the group, all turning the same way.
    fn collect(
        &mut self,
        group: &usvg::Group,
        to_mm: Affine,
        rings: &mut Vec<Ring>,
        budget: &mut Budget,
    ) -> Result<(), Error> {
        for node in group.children() {
            match node {
                usvg::Node::Group(group) => match group.clip_path() {
                    Some(clip) => {
                        let inside = self.group(group, to_mm, budget)?;
                        let clip = self.region(clip, to_mm * affine(group.abs_transform()), budget)?;
                        rings.extend(inside.intersection(&clip).rings().cloned());
                    }
                    None => self.collect(group, to_mm, rings, budget)?,
                },
                usvg::Node::Path(path) => rings.extend(self.path(path, to_mm, budget)?.rings().cloned()),
                usvg::Node::Text(text) => self.collect(text.flattened(), to_mm, rings, budget)?,
                usvg::Node::Image(_) => {}
            }
        }
        Ok(())
    }

    fn path(&self, path: &usvg::Path, to_mm: Affine, budget: &mut Budget) -> Result<Region, Error> {
        let Some(fill) = path.fill().filter(|_| path.is_visible()) else { return Ok(Region::default()) };
        let outline = to_mm * affine(path.abs_transform()) * bez_path(path.data());
        budget.flattened(&outline, self.tolerance, "a clip path")?;
        let rings = flatten_to_rings(&outline, self.tolerance);
        budget.fill(&rings, self.rect, "a clip path")?;
        let bounds = self.rect.inflate(1.0, 1.0);
        let rings: Vec<Ring> = rings.into_iter().map(|ring| clip_ring(ring, bounds)).collect();
        Ok(Region::from_rings(&rings, fill_rule(fill.rule())))
    }
}
