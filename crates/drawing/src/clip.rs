//! Clip paths as regions in millimetres.

use crate::outline::{affine, bez_path, rings};
use kurbo::Affine;
use laidwork_geometry::{FillRule, Region};

pub(crate) fn fill_rule(rule: usvg::FillRule) -> FillRule {
    match rule {
        usvg::FillRule::NonZero => FillRule::NonZero,
        usvg::FillRule::EvenOdd => FillRule::EvenOdd,
    }
}

/// The area that `clip` leaves visible on a group whose own coordinates `to_mm`
/// takes to millimetres.
pub(crate) fn clip_region(clip: &usvg::ClipPath, to_mm: Affine, tolerance: f64) -> Region {
    let inside = group_region(clip.root(), to_mm * affine(clip.transform()), tolerance);
    match clip.clip_path() {
        Some(outer) => inside.intersection(&clip_region(outer, to_mm, tolerance)),
        None => inside,
    }
}

fn group_region(group: &usvg::Group, to_mm: Affine, tolerance: f64) -> Region {
    let mut all = Region::default();
    for node in group.children() {
        let part = match node {
            usvg::Node::Group(group) => {
                let part = group_region(group, to_mm, tolerance);
                match group.clip_path() {
                    Some(clip) => {
                        part.intersection(&clip_region(clip, to_mm * affine(group.abs_transform()), tolerance))
                    }
                    None => part,
                }
            }
            usvg::Node::Path(path) => path_region(path, to_mm, tolerance),
            usvg::Node::Text(text) => group_region(text.flattened(), to_mm, tolerance),
            usvg::Node::Image(_) => Region::default(),
        };
        all = all.union(&part);
    }
    all
}

fn path_region(path: &usvg::Path, to_mm: Affine, tolerance: f64) -> Region {
    if !path.is_visible() {
        return Region::default();
    }
    let Some(fill) = path.fill() else { return Region::default() };
    let outline = to_mm * affine(path.abs_transform()) * bez_path(path.data());
    Region::from_rings(&rings(&outline, tolerance), fill_rule(fill.rule()))
}
