//! Layers fall apart into parts: connected polygons, each sewn as one piece.

use crate::hidden::{Box, boxes, corners};
use crate::ink::{Ink, as_area};
use crate::layer::Layer;
use laidwork_geometry::{Join, Locator, Polygon, Region};
use laidwork_plan::{Method, Rect};
use laidwork_recipe::{MethodChoice, Settings};
use laidwork_satin::has_wide_and_narrow;
use rayon::prelude::*;
use rstar::RTree;
use std::cell::OnceCell;
use std::collections::BTreeSet;
use std::f64::consts::PI;

/// A shape is filled when more than this share of its area lies in discs
/// wider than a column may be.
const WIDE_SHARE: f64 = 0.5;

/// A shape is a run when less than this share of its area lies in discs as
/// wide as the narrowest column.
const THIN_SHARE: f64 = 0.3;

/// What a later shape leaves of a wide one is filled when most of it is as wide as this, mm. Common practice, no source.
const NARROW_REST: f64 = 2.5;

/// Parts smaller than this are specks that no needle can sew, mm².
const SPECK: f64 = 0.05;

/// One connected polygon of a layer and how it is sewn.
#[derive(Clone, Debug)]
pub(crate) struct Part<'a> {
    /// Index of its layer.
    pub layer: usize,
    /// Its name: the layer's, numbered when the layer has several parts.
    pub name: String,
    /// What it covers, mm.
    pub polygon: Polygon,
    /// The ink of its layer, and which of its centre lines lie in it.
    pub ink: Option<(&'a Ink, Vec<usize>)>,
    /// How it is sewn.
    pub method: Method,
    /// Sewn as columns where it is narrow and filled where it is wide, because its width asks for both.
    pub mixed: bool,
    /// Too narrow for columns: a run follows its centre line, not its outline.
    pub thin: bool,
}

/// The parts of every layer, in order, and how many specks were left out.
pub(crate) fn parts<'a>(layers: &'a [Layer<'_>]) -> (Vec<Part<'a>>, usize) {
    let mut of_layers: Vec<(Vec<Part<'a>>, usize)> = layers.par_iter().enumerate().map(parts_of).collect();
    let specks = of_layers.iter().map(|(_, specks)| specks).sum();
    let mut taken: BTreeSet<String> = layers.iter().map(|layer| layer.name.clone()).collect();
    for (parts, _) in &mut of_layers {
        number(parts, &mut taken);
    }
    (of_layers.into_iter().flat_map(|(parts, _)| parts).collect(), specks)
}

/// The parts of one layer, and how many specks were left out.
fn parts_of<'a>((index, layer): (usize, &'a Layer<'_>)) -> (Vec<Part<'a>>, usize) {
    let polygons: Vec<_> = layer.region.polygons.iter().filter(|polygon| polygon.area() >= SPECK).collect();
    let specks = layer.region.polygons.len() - polygons.len();
    let lines = lines_of(layer, &polygons);
    let drawn = Drawn { layer, index: OnceCell::new() };
    let part = |(polygon, lines): (&&Polygon, Vec<usize>)| {
        let as_run = |ink: &Ink| layer.method == MethodChoice::Run && !ink.is_border;
        let has_room = |ink: &&Ink| !lines.is_empty() && (as_run(ink) || ink.has_room(polygon, &lines));
        let ink = layer.ink.as_ref().filter(has_room).map(|ink| (ink, lines.clone()));
        let crowded = (layer.ink.is_some() && ink.is_none()).then(|| as_area(polygon));
        let polygon = crowded.as_ref().unwrap_or(polygon);
        let thin = ink.is_none() && is_thin(std::slice::from_ref(polygon), layer.settings);
        let method = method_of(&drawn, polygon, ink.as_ref().map(|(ink, _)| ink.pen.width), thin);
        let mixed =
            method == Method::Fill && ink.is_none() && layer.method == MethodChoice::Auto && has_limbs(polygon, &drawn);
        let method = if mixed { Method::Satin } else { method };
        Part { layer: index, name: layer.name.clone(), polygon: polygon.clone(), ink, method, mixed, thin }
    };
    (polygons.iter().zip(lines).map(part).collect(), specks)
}

/// What a layer covered before later shapes hid some of it, found by place.
struct Drawn<'a> {
    layer: &'a Layer<'a>,
    /// Made when it is first asked for.
    index: OnceCell<RTree<Box>>,
}

impl<'a> Drawn<'a> {
    /// The polygons that a part may have been cut from.
    fn around(&self, part: &Polygon) -> Vec<&'a Polygon> {
        let Some(bounds) = part.bounds() else { return Vec::new() };
        let drawn = &self.layer.drawn.polygons;
        let index = self.index.get_or_init(|| boxes(drawn.iter()));
        let about = index.locate_in_envelope_intersecting(corners(bounds)).map(|found| &drawn[found.data]);
        about.filter(|drawn| drawn.bounds().is_some_and(|outer| outer.contains_rect(bounds))).collect()
    }
}

/// Whether a part has a wide body and narrow limbs because it was drawn so: the ring that a later shape leaves of a
/// wide one is none of its limbs, and looks best in the rows of the rest.
fn has_limbs(part: &Polygon, drawn: &Drawn<'_>) -> bool {
    let widest = drawn.layer.settings.satin.max_width;
    has_wide_and_narrow(part, widest)
        && drawn.around(part).iter().any(|&drawn| drawn == part || has_wide_and_narrow(drawn, widest))
}

/// Whether a later shape left this part of one that is too wide for columns: it is sewn in the rows of the rest, which
/// thin out under their cover as columns cannot, unless it is so narrow that rows have no room.
fn is_left_of_wide(part: &Polygon, drawn: &Drawn<'_>) -> bool {
    let around = drawn.around(part);
    !around.contains(&part)
        && are_as_wide(std::slice::from_ref(part), NARROW_REST, WIDE_SHARE)
        && around.into_iter().any(|whole| is_wide(whole, drawn.layer.settings))
}

/// Calls the parts of one layer `NAME`, `NAME.2` and so on, leaving out names that are taken.
fn number(parts: &mut [Part<'_>], taken: &mut BTreeSet<String>) {
    let mut numbers = 2..;
    for part in parts.iter_mut().skip(1) {
        let mut names = numbers.by_ref().map(|number| format!("{}.{number}", part.name));
        if let Some(free) = names.find(|name| !taken.contains(name)) {
            taken.insert(free.clone());
            part.name = free;
        }
    }
}

/// For each polygon of a layer the centre lines that lie in it. A line that is
/// cut apart (its ink falls into several polygons) belongs to the one around
/// its middle.
fn lines_of(layer: &Layer<'_>, polygons: &[&Polygon]) -> Vec<Vec<usize>> {
    let mut lines = vec![Vec::new(); polygons.len()];
    let Some(ink) = &layer.ink else { return lines };
    if polygons.len() == 1 {
        lines[0] = (0..ink.lines.len()).collect();
        return lines;
    }
    let locators: Vec<_> = polygons.iter().map(|polygon| Locator::from_rings(polygon.rings())).collect();
    let boxes = boxes(polygons.iter().copied());
    for (index, line) in ink.lines.iter().enumerate() {
        let Some(&middle) = line.points.get(line.points.len() / 2) else { continue };
        let near = corners(Rect::from_points(middle, middle).inflate(1e-6, 1e-6));
        let around = boxes.locate_in_envelope_intersecting(near).map(|found| found.data);
        if let Some(holder) = around.filter(|&polygon| locators[polygon].contains(middle)).min() {
            lines[holder].push(index);
        }
    }
    lines
}

/// How a polygon is sewn: as the recipe says, or as its width asks for.
fn method_of(drawn: &Drawn<'_>, polygon: &Polygon, stroke_width: Option<f64>, thin: bool) -> Method {
    let layer = drawn.layer;
    match layer.method {
        MethodChoice::Run => Method::Run,
        MethodChoice::Satin => Method::Satin,
        MethodChoice::Fill => Method::Fill,
        MethodChoice::Auto | MethodChoice::Skip => {
            let keys = &layer.settings.satin;
            match stroke_width {
                Some(width) if width < keys.min_width => Method::Run,
                Some(width) if width <= keys.max_width => Method::Satin,
                Some(_) => Method::Fill,
                None if is_wide(polygon, layer.settings) => Method::Fill,
                None if thin => Method::Run,
                None if is_left_of_wide(polygon, drawn) => Method::Fill,
                None => Method::Satin,
            }
        }
    }
}

/// Whether a polygon is too wide for columns.
pub(crate) fn is_wide(polygon: &Polygon, settings: &Settings) -> bool {
    are_as_wide(std::slice::from_ref(polygon), settings.satin.max_width, WIDE_SHARE)
}

/// Whether polygons, seen together, are too narrow for columns.
pub(crate) fn is_thin(polygons: &[Polygon], settings: &Settings) -> bool {
    let narrowest = settings.satin.min_width;
    // What is narrower than that has an outline of at least twice its area over the width.
    let may_be =
        total(polygons, Polygon::perimeter) * narrowest >= 2.0 * (1.0 - THIN_SHARE) * total(polygons, Polygon::area);
    may_be && !are_as_wide(polygons, narrowest, THIN_SHARE)
}

/// Whether more than a share of the polygons' area lies in discs of diameter `width` inside them (in their opening).
fn are_as_wide(polygons: &[Polygon], width: f64, share: f64) -> bool {
    let (radius, tolerance) = (width / 2.0, 0.02);
    let wanted = share * total(polygons, Polygon::area);
    // No opening has less area than that of a disc would have (the inequality of Brunn and Minkowski).
    let least = |middles: f64| if middles > 0.0 { (middles.sqrt() + PI.sqrt() * radius).powi(2) } else { 0.0 };
    if total(polygons, |polygon| least(polygon.least_shrunk_area(radius))) > wanted {
        return true;
    }
    // The opening holds the disc about the centre of mass too, as far as there is room for it.
    let disc = |polygon: &Polygon| {
        let depth = polygon.centroid().filter(|centre| polygon.contains(*centre));
        let depth = depth.and_then(|centre| polygon.nearest_on_outline(centre)).map_or(0.0, |near| near.distance);
        if depth > radius { PI * (depth - tolerance).powi(2) } else { 0.0 }
    };
    if total(polygons, disc) > wanted {
        return true;
    }
    let middles: Vec<Region> =
        polygons.iter().map(|polygon| Region::from(polygon.clone()).shrunk(radius, tolerance)).collect();
    total(&middles, |middles| least(middles.area())) > wanted
        || total(&middles, |middles| middles.offset(radius, Join::Round { tolerance }).area()) > wanted
}

fn total<T>(all: &[T], what: impl Fn(&T) -> f64) -> f64 {
    all.iter().map(what).sum()
}
