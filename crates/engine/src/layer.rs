//! Shapes and their settings become layers: what is sewn over what.
//!
//! A layer is a shape, or the border of one, with its own region, thread and
//! method. Layers keep the order in which the drawing is painted; a border
//! lies right over the shape it surrounds.

use crate::crowd;
use crate::ink::{ARC_TOLERANCE, Ink};
use crate::part::{is_thin, is_wide};
use laidwork_drawing::{Drawing, Shape};
use laidwork_geometry::{Join, Pen, PenCap, PenJoin, Region};
use laidwork_plan::{Color, Method, Thread, Warning};
use laidwork_recipe::{Border, BorderJoin, Edge, KnockOut, MethodChoice, Settings, Side, ThreadUse};
use std::collections::{BTreeMap, BTreeSet};

/// A shape with a longer outline is not taken apart into columns, mm: a tenth of a second for each metre is ten for it,
/// and its columns would take a day to sew.
const LONGEST_IN_COLUMNS: f64 = 150_000.0;

/// One thing to be sewn.
#[derive(Clone, Debug)]
pub(crate) struct Layer<'a> {
    /// Index of the shape it comes from.
    pub shape: usize,
    /// Its name: the shape's, or `NAME/border`.
    pub name: String,
    /// Index into the list of threads.
    pub thread: usize,
    /// What it covers, mm.
    pub region: Region,
    /// What its shape covers as drawn, whatever hides of it later, mm.
    pub drawn: &'a Region,
    /// The lines and the pen it is drawn with, when it is a stroke or a border.
    pub ink: Option<Ink>,
    /// How it is to be sewn.
    pub method: MethodChoice,
    /// Every number of it.
    pub settings: &'a Settings,
    /// How it is cut back where later layers hide it.
    pub knock_out: KnockOut,
}

impl Layer<'_> {
    /// Whether it is sewn along the lines it is drawn with.
    pub fn follows_its_lines(&self) -> bool {
        let narrow = self.ink.as_ref().is_some_and(|ink| ink.pen.width <= self.settings.satin.max_width);
        match self.method {
            MethodChoice::Fill | MethodChoice::Skip => false,
            MethodChoice::Run | MethodChoice::Satin => self.ink.is_some(),
            MethodChoice::Auto => narrow,
        }
    }

    /// Whether the fabric is meant to show between its threads when it is sewn by `method`.
    pub fn is_open(&self, method: Method) -> bool {
        method == Method::Fill && self.settings.fill.open
    }

    /// Spacing of its top threads when it is sewn by `method`, mm: the widest; none for runs.
    pub fn spacing(&self, method: Method) -> Option<f64> {
        let fill = &self.settings.fill;
        match method {
            Method::Fill => Some(fill.gradient.as_ref().map_or(fill.spacing, |to| fill.spacing.max(to.spacing_to))),
            Method::Satin => Some(self.settings.satin.spacing),
            Method::Run | Method::Manual => None,
        }
    }

    /// Whether its stitches hide what lies under them: runs and open rows do not.
    pub fn hides(&self) -> bool {
        self.hides_if(|| {
            !self.region.polygons.iter().all(|polygon| is_thin(std::slice::from_ref(polygon), self.settings))
        })
    }

    /// The same, where it is known whether a polygon of it is wide enough for columns.
    pub fn hides_if(&self, takes_columns: impl FnOnce() -> bool) -> bool {
        match self.method {
            MethodChoice::Run | MethodChoice::Skip => false,
            MethodChoice::Fill => !self.settings.fill.open,
            MethodChoice::Auto | MethodChoice::Satin => match &self.ink {
                Some(ink) => ink.pen.width >= self.settings.satin.min_width,
                None => takes_columns(),
            },
        }
    }
}

/// Threads in the order of first use, each but once; one that looks the same but is of another thickness is another.
#[derive(Debug, Default)]
pub(crate) struct Threads {
    /// The threads.
    pub list: Vec<Thread>,
    /// Linear density of each, g per 1000 m.
    pub tex: Vec<f64>,
    /// Which of them a colour, a name and the bits of a linear density are.
    places: BTreeMap<(Color, Option<String>, u64), usize>,
}

impl Threads {
    fn index(&mut self, thread: &ThreadUse) -> usize {
        let key = (thread.color, thread.name.clone(), thread.tex.to_bits());
        *self.places.entry(key).or_insert_with(|| {
            self.list.push(Thread { color: thread.color, name: thread.name.clone() });
            self.tex.push(thread.tex);
            self.list.len() - 1
        })
    }
}

/// The layers of `drawing` under `settings`, one entry a shape, in paint order.
pub(crate) fn layers<'a>(
    drawing: &'a Drawing,
    settings: &'a [Settings],
    warnings: &mut Vec<Warning>,
) -> (Vec<Layer<'a>>, Threads) {
    let mut threads = Threads::default();
    let names: BTreeSet<&str> = drawing.shapes.iter().map(|shape| shape.name.as_str()).collect();
    let mut layers = Vec::with_capacity(drawing.shapes.len());
    for (index, (shape, settings)) in drawing.shapes.iter().zip(settings).enumerate() {
        if settings.method == MethodChoice::Skip {
            continue;
        }
        let border = border_of(shape, settings).map(|border| {
            let (region, ink) = band(shape, &border);
            (border, region, ink)
        });
        if border.as_ref().is_none_or(|(border, ..)| !border.only) {
            let ink = shape.stroke.as_ref().map(Ink::from);
            let region = match &border {
                Some((border, band, _)) if ink.is_none() => under_band(&shape.region, band, border.overlap),
                _ => shape.region.clone(),
            };
            let closed = if ink.is_none() { crowd::closed(&region) } else { None };
            let region = match closed {
                Some(closed) => {
                    let what = "its lines are far finer than thread; those that lie closer than 0.3 mm are sewn as one";
                    warnings.push(Warning::at(&shape.name, what, "sew it larger, or draw fewer of them"));
                    closed
                }
                None => region,
            };
            let in_columns = ink.is_none() && matches!(settings.method, MethodChoice::Auto | MethodChoice::Satin);
            let length = if in_columns { region.perimeter() } else { 0.0 };
            let method = if length > LONGEST_IN_COLUMNS {
                let metres = length / 1000.0;
                let what =
                    format!("its outline is {metres:.0} m long, so it is filled and not taken apart into columns");
                warnings.push(Warning::at(&shape.name, what, "draw it as several shapes, or smaller"));
                MethodChoice::Fill
            } else {
                settings.method
            };
            layers.push(Layer {
                shape: index,
                name: shape.name.clone(),
                thread: threads.index(&settings.thread),
                region,
                drawn: &shape.region,
                ink,
                method,
                settings,
                knock_out: settings.knock_out,
            });
        }
        if let Some((border, region, ink)) = border {
            if region.is_empty() {
                let advice = "make it narrower or set it farther out";
                warnings.push(Warning::at(&shape.name, "its border closes up and is not sewn", advice));
                continue;
            }
            layers.push(Layer {
                shape: index,
                name: border_name(&shape.name, &names),
                thread: threads.index(border.thread.as_ref().unwrap_or(&settings.thread)),
                region,
                drawn: &shape.region,
                ink: Some(ink),
                method: border.method,
                settings,
                knock_out: settings.knock_out,
            });
        }
    }
    (layers, threads)
}

/// `NAME/border`, numbered where a shape is called that already.
fn border_name(shape: &str, taken: &BTreeSet<&str>) -> String {
    let plain = format!("{shape}/border");
    let numbered = (2..).map(|number| format!("{plain}.{number}"));
    let mut free = std::iter::once(plain.clone()).chain(numbered).filter(|name| !taken.contains(name.as_str()));
    free.next().unwrap_or(plain)
}

/// The border a shape asks for: its own, or the satin edge of its fill.
fn border_of(shape: &Shape, settings: &Settings) -> Option<Border> {
    let is_filled = || match settings.method {
        MethodChoice::Fill => true,
        MethodChoice::Auto => shape.region.polygons.iter().any(|polygon| is_wide(polygon, settings)),
        MethodChoice::Run | MethodChoice::Satin | MethodChoice::Skip => false,
    };
    settings.border.clone().or_else(|| {
        (settings.fill.edge == Edge::Satin && is_filled()).then_some(Border {
            width: settings.fill.edge_width,
            offset: 0.0,
            side: Side::Centred,
            join: BorderJoin::Round,
            mitre_limit: 4.0,
            method: MethodChoice::Satin,
            only: false,
            overlap: 0.8,
            thread: None,
        })
    })
}

/// What is left of `region` when it reaches `overlap` mm under `band` and no farther.
fn under_band(region: &Region, band: &Region, overlap: f64) -> Region {
    let grown = region.difference(band).offset(overlap, Join::Round { tolerance: ARC_TOLERANCE });
    grown.intersection(region)
}

/// The band of `border` along the outline of `shape`, as an area and as ink.
fn band(shape: &Shape, border: &Border) -> (Region, Ink) {
    let (join, pen_join) = match border.join {
        BorderJoin::Round => (Join::Round { tolerance: ARC_TOLERANCE }, PenJoin::Round),
        BorderJoin::Mitre => (Join::Mitre { limit: border.mitre_limit }, PenJoin::Mitre { limit: border.mitre_limit }),
        BorderJoin::Bevel => (Join::Bevel, PenJoin::Bevel),
    };
    let side = match border.side {
        Side::In => laidwork_satin::Side::In,
        Side::Out => laidwork_satin::Side::Out,
        Side::Centred => laidwork_satin::Side::Centred,
    };
    let asked = laidwork_satin::Border { width: border.width, offset: border.offset, side, join };
    let band = laidwork_satin::border(&shape.region, asked);
    let pen = Pen { width: band.width, cap: PenCap::Butt, join: pen_join, tolerance: ARC_TOLERANCE };
    (band.region, Ink { lines: band.lines, pen, is_border: true })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(from: f64, to: f64) -> Region {
        let corners = [(from, from), (to, from), (to, to), (from, to)].map(laidwork_plan::Point::from);
        laidwork_geometry::Polygon { outer: laidwork_geometry::Ring::new(corners.to_vec()), holes: Vec::new() }.into()
    }

    #[test]
    fn a_shape_reaches_under_its_border_by_the_overlap() {
        let whole = square(0.0, 20.0);
        for (outer, inner) in [(square(-1.5, 21.5), square(1.5, 18.5)), (square(0.0, 20.0), square(3.0, 17.0))] {
            let inside = inner.bounds().unwrap().width();
            let rest = under_band(&whole, &outer.difference(&inner), 0.8);
            assert!((rest.bounds().unwrap().width() - (inside + 1.6)).abs() < 0.01, "{rest:?}");
        }
        let outside = square(-3.0, 23.0).difference(&whole);
        assert!((under_band(&whole, &outside, 0.8).area() - 400.0).abs() < 1e-6);
    }
}
