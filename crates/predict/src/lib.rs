//! A model of how sewn thread draws the fabric in.
//!
//! What is computed here is a prediction, not a measurement: `docs/predict.md`
//! says what the model assumes and what it leaves out. In short:
//!
//! - Every top thread (the thread of a column from side to side, the row of a
//!   fill from edge to edge) shortens the cloth along itself: its two ends move
//!   towards its middle by what the material's row says, a swatch having measured
//!   it ([`Cloth`]), the points between in proportion. Across itself it moves nothing.
//! - The cloth around follows the nearest thread, less and less up to [`REACH`].
//! - Pieces are sewn one after the other at the places the machine drives to. So a
//!   piece moves itself and what lies under the needle already, but nothing that is
//!   sewn later: that is why gaps open between neighbours that touch as drawn.
//! - Small displacements add up.
//!
//! [`predict`] gives, for every piece that covers an area, the outline it is
//! predicted to have, how much compensation would bring it back to the drawn one,
//! and the gaps between neighbouring shapes. Linear in thread, and in the cells of
//! its grids.

mod cloth;
mod edge;
mod field;
mod gaps;
mod lines;
mod text;

pub use cloth::{Cloth, Sewing};
pub use edge::HALF_THREAD;
pub use field::REACH;
pub use gaps::{Gap, LEAST_GAP};

use field::Field;
use laidwork_geometry::Region;
use laidwork_plan::{Method, Plan, Vec2};
use lines::Line;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What a piece was meant to be.
#[derive(Clone, Debug, PartialEq)]
pub struct Target {
    /// The shape it belongs to.
    pub shape: String,
    /// The area it was to cover, mm.
    pub region: Region,
    /// What the cloth does to its threads.
    pub cloth: Cloth,
    /// How it was sewn.
    pub sewing: Sewing,
}

/// What is predicted.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Prediction {
    /// Says that this is a model.
    pub note: String,
    /// Every piece that covers an area, in sewing order.
    pub pieces: Vec<PiecePrediction>,
    /// Gaps between neighbouring shapes, the widest first.
    pub gaps: Vec<Gap>,
}

/// What is predicted of one piece.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PiecePrediction {
    /// Its name.
    pub name: String,
    /// The shape it belongs to.
    pub shape: String,
    /// `satin` or `fill`.
    pub method: String,
    /// How far the ends of its threads move in, mean, mm.
    pub drawn_in: f64,
    /// How far the end that moves most moves in, mm.
    pub drawn_in_most: f64,
    /// Compensation it was sewn with at each end, mean, mm.
    pub compensated: f64,
    /// How far its edge comes to lie outside the drawn one where threads end, mean, mm; negative: inside.
    pub edge_off: f64,
    /// Compensation at each end that would bring its edge back to the drawn one, mm.
    pub advice: f64,
    /// The drawn area, mm.
    #[serde(skip)]
    pub drawn: Region,
    /// The area it is predicted to cover, mm.
    #[serde(skip)]
    pub predicted: Region,
}

/// What every prediction says of itself.
const NOTE: &str = "predicted by a model of draw-in, not measured; see docs/predict.md";

/// Predicts how `plan` comes out. `targets` has one entry a piece, nothing for
/// pieces that cover no area (runs): those draw nothing in. `grain` is the direction
/// of the cloth's grain, degrees clockwise from the x axis.
pub fn predict(plan: &Plan, targets: &[Option<Target>], grain: f64) -> Prediction {
    let grain = Vec2::from_angle(grain.to_radians());
    let lines: Vec<Vec<Line>> = lines::of_pieces(plan);
    let mut later = Field::around(plan);
    let mut pieces: Vec<PiecePrediction> = Vec::new();
    // From the last piece to the first: what is sewn later moves what lies there already.
    for (index, piece) in plan.pieces.iter().enumerate().rev() {
        let Some(target) = targets.get(index).and_then(Option::as_ref) else { continue };
        let Some(lines) = lines.get(index).filter(|lines| !lines.is_empty()) else { continue };
        let moved: Vec<Line> = lines.iter().map(|line| line.moved(target, grain, &later)).collect();
        let (drawn_in, most, compensated) = ends(lines, &moved, target);
        pieces.push(PiecePrediction {
            name: piece.name.clone(),
            shape: target.shape.clone(),
            method: piece.method.word().to_owned(),
            drawn_in: thousandth(drawn_in),
            drawn_in_most: thousandth(most),
            compensated: thousandth(compensated),
            edge_off: thousandth(compensated - drawn_in),
            advice: thousandth(drawn_in),
            drawn: target.region.clone(),
            predicted: edge::covered(&moved, &target.sewing, spread(piece.method, &target.cloth)),
        });
        later.add(lines, |line| line.own_moves(target, grain));
    }
    pieces.reverse();
    let gaps = gaps::find(&pieces);
    Prediction { note: NOTE.to_owned(), pieces, gaps }
}

/// What threads spread across themselves at the edges of a piece, mm.
fn spread(method: Method, cloth: &Cloth) -> f64 {
    if method == Method::Satin { cloth.spread } else { 0.0 }
}

/// How far ends move in, mean and most, and what they were lengthened by, mean.
fn ends(lines: &[Line], moved: &[Line], target: &Target) -> (f64, f64, f64) {
    let (mut sum, mut most, mut lengthened, mut count) = (0.0, f64::NEG_INFINITY, 0.0, 0.0);
    for (line, moved) in lines.iter().zip(moved) {
        for (out, from, to) in line.ends().into_iter().zip(moved.ends()).map(|(a, b)| (a.1, a.0, b.0)) {
            let inward = -(to - from).dot(out);
            sum += inward;
            most = most.max(inward);
            lengthened += target.sewing.lengthened(line.length());
            count += 1.0;
        }
    }
    if count > 0.0 { (sum / count, most, lengthened / count) } else { (0.0, 0.0, 0.0) }
}

fn thousandth(mm: f64) -> f64 {
    (mm * 1000.0).round() / 1000.0 + 0.0
}

impl Prediction {
    /// The compensation each shape wants, mm at each end, by the names of shapes: the mean over its pieces.
    pub fn advice(&self) -> BTreeMap<&str, f64> {
        let mut sums: BTreeMap<&str, (f64, f64)> = BTreeMap::new();
        for piece in &self.pieces {
            let area = piece.drawn.area();
            let sum = sums.entry(piece.shape.as_str()).or_default();
            *sum = (sum.0 + piece.advice * area, sum.1 + area);
        }
        let mean = |(shape, (sum, area)): (_, (f64, f64))| (area > 0.0).then(|| (shape, thousandth(sum / area)));
        sums.into_iter().filter_map(mean).collect()
    }

    /// The JSON Schema (draft 2020-12) of a prediction written as JSON.
    pub fn schema() -> schemars::Schema {
        schemars::schema_for!(Prediction)
    }
}

#[cfg(test)]
mod tests;
