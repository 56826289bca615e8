//! Drawing and recipe in, plan out: the one call a program makes.
//!
//! ```
//! use laidwork_engine::{Recipe, sew};
//!
//! let svg = br##"<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">
//!     <circle id="disc" cx="10" cy="10" r="8" fill="#6b3f1d"/>
//! </svg>"##;
//! let drawing = laidwork_drawing::read(svg, &laidwork_drawing::Options::default())?.value;
//! let sewn = sew(&drawing, &Recipe::default())?.value;
//! assert!(sewn.plan.stitches() > 100);
//! assert_eq!(sewn.plan.sanity_check(), []);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod compose;
mod crowd;
mod hidden;
mod ink;
mod layer;
mod letters;
mod part;
mod predicting;
mod reporting;
mod sequence;
mod settings;
mod starter;
mod stitch;

pub use compose::{TooMuch, compose};
pub use laidwork_drawing::Drawing;
pub use laidwork_recipe::{Diagnostics, Recipe};
pub use predicting::{Intent, prediction};
pub use reporting::{consumption, pace, report_settings};
pub use starter::starter;

use hidden::{Ground, Hidden};
use laidwork_order::{CoverShape, Head, UnjoinedPiece, join, knock_out};
use laidwork_plan::{Hoop, Method, Plan, Rect, Warned, Warning};
use laidwork_recipe::{Material, MethodChoice, ShapeFacts};
use laidwork_run::Ends;
use rayon::prelude::*;

/// A sewn design: the plan, and what a report wants to know that no plan holds.
#[derive(Clone, Debug)]
pub struct Sewn {
    /// The stitches.
    pub plan: Plan,
    /// Spacing of the top threads of each piece, mm, the widest where it changes; `None` for runs.
    pub spacings: Vec<Option<f64>>,
    /// Whether the fabric is meant to show between the threads of each piece.
    pub open: Vec<bool>,
    /// The materials that its shapes are sewn on, by name.
    pub materials: Vec<Material>,
    /// Linear density of each thread of the plan, g per 1000 m.
    pub tex: Vec<f64>,
    /// What each piece of the plan was meant to be.
    pub intents: Vec<Intent>,
    /// What the sewing order takes beside the drawing's own, estimated before sewing.
    pub order: OrderFigures,
}

/// What a sewing order costs, estimated from the shapes before they are sewn, s.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct OrderFigures {
    /// The order taken.
    pub seconds: f64,
    /// The order of the drawing.
    pub drawing_order_seconds: f64,
    /// No order that keeps what lies over what takes less.
    pub lower_bound: f64,
}

/// The facts about a drawing's shapes that rules pick them by.
pub fn facts(drawing: &Drawing) -> Vec<ShapeFacts<'_>> {
    let shapes = drawing.shapes.iter();
    shapes.map(|shape| ShapeFacts { name: &shape.name, color: shape.color, stroke: shape.stroke.is_some() }).collect()
}

/// Sews `drawing` as `recipe` says.
///
/// Warnings name the shapes that could not be sewn as asked, and the way out.
/// The same drawing and recipe give the same plan on every run and thread count.
///
/// # Errors
/// When the recipe asks for something that this drawing does not have; see
/// [`Recipe::settle`].
pub fn sew(drawing: &Drawing, recipe: &Recipe) -> Result<Warned<Sewn>, Diagnostics> {
    let mut warnings = Vec::new();
    let facts = facts(drawing);
    let mut settings = recipe.settle(&facts)?.take(&mut warnings);
    letters::settle_letters(drawing, &mut settings, &mut warnings);
    let (mut layers, threads) = layer::layers(drawing, &settings, &mut warnings);
    let hidden = knock_out_layers(&mut layers);
    let (parts, specks) = part::parts(&layers);
    if specks > 0 {
        let what = format!("{specks} specks are too small to be sewn and were left out");
        warnings.push(Warning::new(what, "make the drawing larger if they matter"));
    }
    let methods: Vec<_> = parts.iter().flat_map(|part| methods_of(part, &layers)).collect();
    warnings.extend(recipe.idle_once_sewn(&facts, &settings, &methods));
    let pins = recipe.pins(&facts).take(&mut warnings);
    let (order, mut aparts) = sequence::sequence(&parts, &layers, recipe, &pins);
    let order = order.take(&mut warnings);
    let aparts: Vec<_> = order.sequence.iter().map(|slot| aparts[slot.item].take()).collect();
    let ground = Ground::new(&parts, &layers);
    let sewn: Vec<Warned<UnjoinedPiece>> = order
        .sequence
        .par_iter()
        .zip(aparts)
        .map(|(slot, apart)| {
            let part = &parts[slot.item];
            let layer = &layers[part.layer];
            let settings = layer.settings;
            let ends = Ends { start: settings.start.or(Some(slot.start)), end: settings.end.or(Some(slot.end)) };
            stitch::stitch(part, apart, layer, (&hidden[part.layer], ground.of(slot.item, part)), drawing, ends)
        })
        .collect();
    let pieces: Vec<_> = sewn.into_iter().map(|piece| piece.take(&mut warnings)).collect();
    let head = Head {
        title: recipe.design.title.clone().or_else(|| drawing.title.clone()),
        drawing: Some(to_thousandths(drawing.rect)),
        hoop: recipe.design.hoop.map(|hoop| {
            let (width, height) = hoop.size();
            Hoop { width, height }
        }),
        threads: threads.list.clone(),
    };
    let joined = join(pieces, head, &settings::join(&recipe.sewing)).take(&mut warnings);
    let sources: Vec<&part::Part<'_>> = joined.pieces.iter().map(|&piece| &parts[order.sequence[piece].item]).collect();
    let spacings = sources.iter().map(|part| layers[part.layer].spacing(part.method)).collect();
    let open = sources.iter().map(|part| layers[part.layer].is_open(part.method)).collect();
    let intents = sources.iter().map(|part| Intent::of(part, &layers[part.layer], drawing)).collect();
    let tex = joined.threads.iter().map(|&thread| threads.tex[thread]).collect();
    let figures = OrderFigures {
        seconds: order.seconds,
        drawing_order_seconds: order.drawing_order_seconds,
        lower_bound: order.lower_bound,
    };
    Ok(Warned {
        value: Sewn {
            plan: joined.plan,
            spacings,
            open,
            materials: recipe.materials_used(&settings),
            tex,
            intents,
            order: figures,
        },
        warnings,
    })
}

/// A rectangle with corners on the grid of a list's header, so that the plan comes back as it was written.
fn to_thousandths(rect: Rect) -> Rect {
    let round = |value: f64| (value * 1000.0).round() / 1000.0;
    Rect::new(round(rect.x0), round(rect.y0), round(rect.x1), round(rect.y1))
}

/// The word of recipes for a method.
fn choice(method: Method) -> MethodChoice {
    match method {
        Method::Run => MethodChoice::Run,
        Method::Satin => MethodChoice::Satin,
        Method::Fill | Method::Manual => MethodChoice::Fill,
    }
}

/// The shape of a part, with each method it is sewn by.
fn methods_of(part: &part::Part<'_>, layers: &[layer::Layer<'_>]) -> impl Iterator<Item = (usize, MethodChoice)> {
    let shape = layers[part.layer].shape;
    let filled = part.mixed.then_some(MethodChoice::Fill);
    std::iter::once(choice(part.method)).chain(filled).map(move |method| (shape, method))
}

/// Takes from each layer what later ones hide, where its recipe allows, and
/// tells what lies over the rims that are left of it.
fn knock_out_layers(layers: &mut [layer::Layer<'_>]) -> Vec<Hidden> {
    let shapes: Vec<CoverShape> = layers
        .par_iter()
        .map(|layer| CoverShape {
            region: layer.region.clone(),
            hides: layer.hides(),
            may_be_cut: layer.knock_out.on,
            stays_whole: layer.follows_its_lines(),
            overlap: layer.knock_out.overlap,
        })
        .collect();
    let cuts = knock_out(&shapes).into_iter();
    let take = |(layer, cut): (&mut layer::Layer<'_>, laidwork_order::Cut)| {
        // What follows its lines stays whole, and leaves its threads out where they are hidden.
        if !layer.follows_its_lines() || cut.region.is_empty() {
            layer.region = cut.region;
        }
        Hidden::new(cut.hidden_by)
    };
    layers.iter_mut().zip(cuts).map(take).collect()
}
