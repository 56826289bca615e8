//! Underlay of a column: what carries the threads laid across it.
//!
//! Three kinds, chosen by width (common practice, no source): a run along the
//! middle holds narrow columns, runs along both sides give wider ones a crisp
//! edge, and a zigzag between them lifts the widest. Each is a leg from one end
//! of the column to the other, so that whoever sews the column can go there
//! and back over it before the top; edge runs are two legs.
//!
//! Every point lies inside the column by the layer's inset, on narrow columns
//! by 0.35 of the width, so that the top threads hide it.

use kurbo::Point;
use laidwork_geometry::{Crossing, crossing_at};
use laidwork_run::RunSettings;

/// The deepest a layer is moved in from a side, as a share of the width.
const DEEPEST: f64 = 0.35;

/// What is laid under a column.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum ColumnUnderlay {
    /// By width: under 1.5 mm a centre run, up to 4 mm an edge run, wider an
    /// edge run and a zigzag.
    #[default]
    Auto,
    /// Nothing but the way to where the top begins.
    None,
    /// These layers, in this order.
    Layers(Vec<ColumnLayer>),
    /// These layers, by width.
    ByWidth {
        /// Columns narrower than this take `narrow`, mm.
        narrow_below: f64,
        /// Columns wider than this take `wide`, mm.
        wide_above: f64,
        /// Layers of narrow columns.
        narrow: Vec<ColumnLayer>,
        /// Layers of the columns between.
        medium: Vec<ColumnLayer>,
        /// Layers of wide columns.
        wide: Vec<ColumnLayer>,
    },
}

/// One layer under a column; lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ColumnLayer {
    /// A run along the middle.
    CentreRun {
        /// The longest stitch.
        stitch_length: f64,
    },
    /// A run along each side.
    EdgeRun {
        /// How far inside the side.
        inset: f64,
        /// The longest stitch.
        stitch_length: f64,
    },
    /// From side to side.
    Zigzag {
        /// How far inside the side its points lie.
        inset: f64,
        /// Distance between points that follow each other, along the column.
        spacing: f64,
    },
}

/// Which way along a column a leg follows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Leg {
    /// The middle.
    Centre {
        /// The longest stitch, mm.
        stitch_length: f64,
    },
    /// The left side.
    Left {
        /// How far inside the side, mm.
        inset: f64,
        /// The longest stitch, mm.
        stitch_length: f64,
    },
    /// The right side.
    Right {
        /// How far inside the side, mm.
        inset: f64,
        /// The longest stitch, mm.
        stitch_length: f64,
    },
    /// From side to side.
    Zigzag {
        /// How far inside the sides, mm.
        inset: f64,
        /// Distance between points that follow each other, along the column, mm.
        spacing: f64,
    },
}

impl ColumnUnderlay {
    /// The layers for a column `width` mm wide.
    pub fn layers(&self, width: f64) -> Vec<ColumnLayer> {
        let edge = ColumnLayer::EdgeRun { inset: 0.5, stitch_length: 2.5 };
        match self {
            ColumnUnderlay::Layers(layers) => layers.clone(),
            ColumnUnderlay::None => Vec::new(),
            ColumnUnderlay::ByWidth { narrow_below, narrow, .. } if width < *narrow_below => narrow.clone(),
            ColumnUnderlay::ByWidth { wide_above, wide, .. } if width > *wide_above => wide.clone(),
            ColumnUnderlay::ByWidth { medium, .. } => medium.clone(),
            ColumnUnderlay::Auto if width < 1.5 => vec![ColumnLayer::CentreRun { stitch_length: 2.0 }],
            ColumnUnderlay::Auto if width <= 4.0 => vec![edge],
            ColumnUnderlay::Auto => vec![edge, ColumnLayer::Zigzag { inset: 0.7, spacing: 1.2 }],
        }
    }

    /// The same layers as legs in the order they are sewn.
    pub fn legs(&self, width: f64) -> Vec<Leg> {
        let mut legs = Vec::new();
        for layer in self.layers(width) {
            match layer {
                ColumnLayer::CentreRun { stitch_length } => legs.push(Leg::Centre { stitch_length }),
                ColumnLayer::EdgeRun { inset, stitch_length } => {
                    legs.push(Leg::Left { inset, stitch_length });
                    legs.push(Leg::Right { inset, stitch_length });
                }
                ColumnLayer::Zigzag { inset, spacing } => legs.push(Leg::Zigzag { inset, spacing }),
            }
        }
        legs
    }
}

/// Needle points of a leg over `band` from place `from` to place `to` (counted
/// in crossings; backwards when `to` is smaller), both ends included.
///
/// Stitches keep to `run`'s shortest stitch; a stretch too short for two
/// points gives one. Time in proportion to the crossings passed.
pub fn leg(band: &[Crossing], leg: Leg, from: f64, to: f64, run: &RunSettings) -> Vec<Point> {
    match leg {
        Leg::Centre { stitch_length } => along(band, from, to, stitch_length, run, |c| c.middle()),
        Leg::Left { inset, stitch_length } => along(band, from, to, stitch_length, run, |c| c.at(share(c, inset))),
        Leg::Right { inset, stitch_length } => {
            along(band, from, to, stitch_length, run, |c| c.at(1.0 - share(c, inset)))
        }
        Leg::Zigzag { inset, spacing } => zigzag(band, from, to, inset, spacing),
    }
}

/// How far a layer lies from a side as a share of the width.
fn share(crossing: Crossing, inset: f64) -> f64 {
    let width = crossing.width();
    if width > 0.0 && inset.is_finite() { (inset.max(0.0) / width).min(DEEPEST) } else { DEEPEST }
}

/// The crossings from place `from` to place `to`, ends included.
fn stretch(band: &[Crossing], from: f64, to: f64) -> Vec<Crossing> {
    let (low, high) = (from.min(to), from.max(to));
    let between = (low.floor() as usize + 1)..(high.ceil().max(0.0) as usize);
    let inner = between.filter_map(|i| band.get(i).copied());
    let mut found: Vec<Crossing> =
        crossing_at(band, low).into_iter().chain(inner).chain(crossing_at(band, high)).collect();
    if from > to {
        found.reverse();
    }
    found
}

fn along(
    band: &[Crossing],
    from: f64,
    to: f64,
    stitch_length: f64,
    run: &RunSettings,
    point: impl Fn(Crossing) -> Point,
) -> Vec<Point> {
    let path: Vec<Point> = stretch(band, from, to).into_iter().map(point).collect();
    let settings = RunSettings { stitch_length, ..*run };
    laidwork_run::points(&path, false, &settings)
}

/// Longer ways of a zigzag get a needle point half-way, mm.
const LONGEST: f64 = 6.0;

fn zigzag(band: &[Crossing], from: f64, to: f64, inset: f64, spacing: f64) -> Vec<Point> {
    let spacing = if spacing.is_finite() { spacing.max(0.4) } else { 1.2 };
    let crossings = stretch(band, from, to);
    let Some(first) = crossings.first() else { return Vec::new() };
    let mut points = vec![first.at(share(*first, inset))];
    let mut walked = 0.0;
    let mut on_left = true;
    for pair in crossings.windows(2) {
        let &[a, b] = pair else { continue };
        let step = a.middle().distance(b.middle());
        let mut next = spacing - walked;
        while next <= step && step > 0.0 {
            let here = a.lerp(b, next / step);
            on_left = !on_left;
            let depth = share(here, inset);
            let end = here.at(if on_left { depth } else { 1.0 - depth });
            points.extend(points.last().filter(|from| from.distance(end) > LONGEST).map(|from| from.midpoint(end)));
            points.push(end);
            next += spacing;
        }
        walked = step - (next - spacing);
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar(width: f64, length: usize) -> Vec<Crossing> {
        (0..=length * 10)
            .map(|i| i as f64 / 10.0)
            .map(|x| Crossing::new(Point::new(x, 0.0), Point::new(x, width)))
            .collect()
    }

    #[test]
    fn layers_follow_the_width() {
        let kinds = |w| ColumnUnderlay::Auto.legs(w).len();
        assert_eq!((kinds(1.0), kinds(3.0), kinds(5.0)), (1, 2, 3));
        assert!(ColumnUnderlay::None.legs(3.0).is_empty());
    }

    #[test]
    fn an_edge_run_keeps_its_inset() {
        let band = bar(3.0, 10);
        let way = Leg::Right { inset: 0.5, stitch_length: 2.5 };
        let points = leg(&band, way, 0.0, 100.0, &RunSettings::default());
        assert_eq!(points.len(), 5);
        assert!(points.iter().all(|p| (p.y - 2.5).abs() < 1e-9));
    }

    #[test]
    fn no_layer_shows_on_a_narrow_column() {
        let band = bar(0.8, 10);
        for way in [Leg::Left { inset: 0.5, stitch_length: 2.5 }, Leg::Zigzag { inset: 0.7, spacing: 1.0 }] {
            let points = leg(&band, way, 100.0, 0.0, &RunSettings::default());
            assert!(points.iter().all(|p| p.y > 0.25 && p.y < 0.55), "{points:?}");
        }
    }

    #[test]
    fn a_zigzag_goes_from_side_to_side_at_its_spacing() {
        let points = leg(&bar(5.0, 12), Leg::Zigzag { inset: 0.7, spacing: 1.2 }, 0.0, 120.0, &RunSettings::default());
        assert_eq!(points.len(), 11);
        assert!(points.windows(2).all(|p| (p[1].x - p[0].x - 1.2).abs() < 1e-6 && (p[1].y - p[0].y).abs() > 3.0));
    }
}
