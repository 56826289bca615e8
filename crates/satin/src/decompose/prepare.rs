//! The outline made ready for triangulation: close points dropped, long edges parted.

use kurbo::Point;
use laidwork_geometry::{Polygon, Ring, closest_on_segment};

/// Points nearer than this to the line between their neighbours are dropped, mm.
pub(super) const FLATNESS: f64 = 0.004;

/// Edges are parted into pieces of the mean width divided by this ...
const PIECES: f64 = 16.0;

/// ... but not longer than this, ...
const LONGEST: f64 = 0.3;

/// ... nor shorter than the mean width divided by this ...
const FEWEST: f64 = 6.0;

/// ... within these bounds, mm: the middle of what is a millimetre wide need not be known as finely.
const SHORTEST: [f64; 2] = [0.08, 0.12];

/// An outline gets no more points than about this, but for edges that would be longer than it is wide, and whose middle
/// no triangulation follows.
const MANY_POINTS: f64 = 30_000.0;

/// No outline gets more points than about this.
const MOST_POINTS: f64 = 300_000.0;

/// An outline made ready.
#[derive(Clone, Debug)]
pub(crate) struct Ready {
    /// The same outline (within 0.004 mm) with the fewest points.
    pub(crate) thin: Polygon,
    /// The same again, with edges short enough for a triangulation that follows its middle.
    pub(crate) parted: Polygon,
    /// The length of the longest of those, mm.
    #[cfg(test)]
    piece: f64,
}

/// Makes an outline ready for triangulation.
pub(crate) fn prepare(polygon: &Polygon) -> Ready {
    let perimeter = polygon.perimeter().max(1e-9);
    let mean_width = 2.0 * polygon.area().abs() / perimeter;
    let fewest = (perimeter / MANY_POINTS).min(mean_width).max(perimeter / MOST_POINTS);
    let shortest = (mean_width / FEWEST).clamp(SHORTEST[0], SHORTEST[1]);
    let piece = (mean_width / PIECES).clamp(shortest, LONGEST).max(fewest);
    let thin = thin(polygon);
    Ready {
        parted: every(&thin, &|ring| parted(&ring.points, piece)),
        thin,
        #[cfg(test)]
        piece,
    }
}

/// The same outline (within [`FLATNESS`]) with the fewest points.
pub(crate) fn thin(polygon: &Polygon) -> Polygon {
    every(polygon, &|ring| thinned(&ring.points, FLATNESS))
}

fn every(polygon: &Polygon, of: &dyn Fn(&Ring) -> Vec<Point>) -> Polygon {
    Polygon {
        outer: Ring::new(of(&polygon.outer)),
        holes: polygon.holes.iter().map(|ring| Ring::new(of(ring))).collect(),
    }
}

/// The ring without points that lie on the line between the points kept before and after them, or nearer to it than
/// `flatness`, mm.
pub(crate) fn thinned(points: &[Point], flatness: f64) -> Vec<Point> {
    let count = points.len();
    if count < 8 {
        return points.to_vec();
    }
    let at = |i: usize| points.get(i % count).copied().unwrap_or_default();
    let mut kept: Vec<Point> = vec![at(0)];
    let mut anchor = 0;
    let mut i = 1;
    while i < count {
        // Look as far ahead as the points passed stay on the chord.
        let fits = |to: usize| {
            (anchor + 1..to).all(|k| closest_on_segment(at(k), at(anchor), at(to)).distance(at(k)) < flatness)
        };
        if i - anchor < 24 && fits(i + 1) {
            i += 1;
            continue;
        }
        kept.push(at(i));
        anchor = i;
        i += 1;
    }
    if kept.len() < 3 { points.to_vec() } else { kept }
}

/// The ring with every edge cut into equal pieces no longer than `piece`.
fn parted(points: &[Point], piece: f64) -> Vec<Point> {
    let mut all = Vec::new();
    for (a, b) in Ring::new(points.to_vec()).edges() {
        let parts = (a.distance(b) / piece).ceil().clamp(1.0, MOST_POINTS) as usize;
        all.extend((0..parts).map(|k| a.lerp(b, k as f64 / parts as f64)));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges_are_parted_and_nothing_moves() {
        let corners = [(0.0, 0.0), (20.0, 0.0), (20.0, 3.0), (0.0, 3.0)].map(Point::from);
        let Ready { parted: ready, piece, .. } =
            prepare(&Polygon { outer: Ring::new(corners.to_vec()), holes: Vec::new() });
        assert!((ready.area() - 60.0).abs() < 1e-9);
        assert!(ready.outer.edges().all(|(a, b)| a.distance(b) <= piece + 1e-9));
        assert!(corners.iter().all(|c| ready.outer.points.contains(c)));
    }

    #[test]
    fn long_and_narrow_outlines_get_edges_no_longer_than_they_are_wide() {
        let corners = [(0.0, 0.0), (9_000.0, 0.0), (9_000.0, 0.2), (0.0, 0.2)].map(Point::from);
        let Ready { parted: ready, piece, .. } =
            prepare(&Polygon { outer: Ring::new(corners.to_vec()), holes: Vec::new() });
        assert!(piece <= 0.2 && ready.outer.points.len() <= 100_000, "{piece}");
    }

    #[test]
    fn a_finely_flattened_circle_keeps_its_area() {
        let at = |i: usize| Point::ZERO + kurbo::Vec2::from_angle(i as f64 * std::f64::consts::TAU / 2000.0) * 5.0;
        let circle = Polygon { outer: Ring::new((0..2000).map(at).collect()), holes: Vec::new() };
        let ready = prepare(&circle).parted;
        assert!(ready.outer.points.len() < 400, "{}", ready.outer.points.len());
        assert!((ready.area() - circle.area()).abs() < 0.15);
    }
}
