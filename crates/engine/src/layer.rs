//! Shapes and their settings become layers: what is sewn over what.
//!
//! A layer is a shape, or the border of one, with its own region, thread and
//! method. Layers keep the order in which the drawing is painted; a border
//! lies right over the shape it surrounds.

use laidwork_drawing::{Drawing, Shape, Stroke};
use laidwork_geometry::{Join, Region};
use laidwork_plan::{Thread, Warning};
use laidwork_recipe::{Border, BorderJoin, Edge, KnockOut, MethodChoice, Settings, Side, ThreadUse};

/// Chords of the arcs of a border lie inside them by at most this, mm.
const ARC_TOLERANCE: f64 = 0.01;

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
    /// The stroke it was drawn as, when its region still is that stroke.
    pub stroke: Option<&'a Stroke>,
    /// How it is to be sewn.
    pub method: MethodChoice,
    /// Every number of it.
    pub settings: &'a Settings,
    /// How it is cut back where later layers hide it.
    pub knock_out: KnockOut,
}

/// Threads in the order of first use, each but once.
#[derive(Debug, Default)]
pub(crate) struct Threads {
    /// The threads.
    pub list: Vec<Thread>,
    /// Linear density of each, g per 1000 m.
    pub tex: Vec<f64>,
}

impl Threads {
    /// Linear density of a thread of the list, g per 1000 m.
    pub fn tex_of(&self, thread: &Thread) -> f64 {
        self.list.iter().position(|known| known == thread).map_or(laidwork_recipe::tex::USUAL_TEX, |index| self.tex[index])
    }

    fn index(&mut self, thread: &ThreadUse) -> usize {
        let wanted = Thread { color: thread.color, name: thread.name.clone() };
        if let Some(known) = self.list.iter().position(|t| *t == wanted) {
            return known;
        }
        self.list.push(wanted);
        self.tex.push(thread.tex);
        self.list.len() - 1
    }
}

/// The layers of `drawing` under `settings`, one entry a shape, in paint order.
pub(crate) fn layers<'a>(
    drawing: &'a Drawing,
    settings: &'a [Settings],
    warnings: &mut Vec<Warning>,
) -> (Vec<Layer<'a>>, Threads) {
    let mut threads = Threads::default();
    let mut layers = Vec::with_capacity(drawing.shapes.len());
    for (index, (shape, settings)) in drawing.shapes.iter().zip(settings).enumerate() {
        if settings.method == MethodChoice::Skip {
            continue;
        }
        let border = border_of(settings);
        if border.as_ref().is_none_or(|border| !border.only) {
            layers.push(Layer {
                shape: index,
                name: shape.name.clone(),
                thread: threads.index(&settings.thread),
                region: shape.region.clone(),
                stroke: shape.stroke.as_ref(),
                method: settings.method,
                settings,
                knock_out: settings.knock_out,
            });
        }
        if let Some(border) = border {
            let region = band(shape, &border);
            if region.is_empty() {
                let advice = "make it narrower or set it farther out";
                warnings.push(Warning::at(&shape.name, "its border closes up and is not sewn", advice));
                continue;
            }
            layers.push(Layer {
                shape: index,
                name: format!("{}/border", shape.name),
                thread: threads.index(border.thread.as_ref().unwrap_or(&settings.thread)),
                region,
                stroke: None,
                method: border.method,
                settings,
                knock_out: settings.knock_out,
            });
        }
    }
    (layers, threads)
}

/// The border a shape asks for: its own, or the satin edge of its fill.
fn border_of(settings: &Settings) -> Option<Border> {
    settings.border.clone().or_else(|| {
        (settings.fill.edge == Edge::Satin).then(|| Border {
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

/// The band of `border` along the outline of `shape`.
fn band(shape: &Shape, border: &Border) -> Region {
    let join = match border.join {
        BorderJoin::Round => Join::Round { tolerance: ARC_TOLERANCE },
        BorderJoin::Mitre => Join::Mitre { limit: border.mitre_limit },
        BorderJoin::Bevel => Join::Bevel,
    };
    let (inner, outer) = match border.side {
        Side::In => (border.offset - border.width, border.offset),
        Side::Out => (border.offset, border.offset + border.width),
        Side::Centred => (border.offset - border.width / 2.0, border.offset + border.width / 2.0),
    };
    shape.region.offset(outer, join).difference(&shape.region.offset(inner, join))
}
