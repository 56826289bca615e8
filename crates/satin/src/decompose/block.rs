//! Blocks: compact shapes and patches, sewn as one column of parallel threads.
//!
//! The column runs along the longer side of the smallest rectangle around the
//! shape (the one with an edge of the convex hull on a side: H. Freeman and R.
//! Shapira, "Determining the minimum-area encasing rectangle for an arbitrary closed
//! curve", CACM 18, 1975). O(n log n + h²) for h corners of the hull.

use super::track::STEP;
use crate::line::{right_of, unit};
use kurbo::{Point, Vec2};
use laidwork_geometry::{Crossing, Polygon};

/// A block fills this share of its convex hull ...
const OF_HULL: f64 = 0.97;

/// ... and is this near to round: 4π area / perimeter², 1 for a disc, 0.785 for a square.
const ROUNDNESS: f64 = 0.72;

/// Hulls with more corners than this are thinned before the search.
const MOST_CORNERS: usize = 256;

/// Whether a shape has no direction that limbs could follow.
pub(crate) fn is_block(polygon: &Polygon) -> bool {
    let (area, perimeter) = (polygon.area().abs(), polygon.perimeter());
    if !polygon.holes.is_empty() || perimeter <= 0.0 {
        return false;
    }
    let hull = hull(&polygon.outer.points);
    let of_hull = area / laidwork_geometry::Ring::new(hull).signed_area().abs().max(1e-12);
    of_hull > OF_HULL && 4.0 * std::f64::consts::PI * area / (perimeter * perimeter) > ROUNDNESS
}

/// Parallel crossings over a shape, along the longer side of its smallest rectangle.
pub(crate) fn block(polygon: &Polygon) -> Vec<Crossing> {
    let hull = hull(&polygon.outer.points);
    let Some((along, low, high)) = long_axis(&hull) else { return Vec::new() };
    let steps = ((high - low) / STEP).ceil().clamp(4.0, 1e5) as usize;
    let across = right_of(along);
    let inset = ((high - low) / 2.0).min(0.005);
    let at = |i: usize| low + inset + (high - low - 2.0 * inset) * i as f64 / steps as f64;
    let mut band: Vec<Crossing> = Vec::new();
    for (i, spans) in spans(polygon, along, across, steps + 1, &at).into_iter().enumerate() {
        let before = band.last().map(|c| c.middle().to_vec2().dot(across));
        // The span that goes on from the one before, else the widest.
        let holds = |s: &[f64; 2]| before.is_some_and(|m| s[0] <= m && m <= s[1]);
        let widest = spans.iter().max_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0])));
        if let Some([left, right]) = spans.iter().find(|s| holds(s)).or(widest) {
            let foot = along * at(i);
            band.push(Crossing::new((foot + across * *left).to_point(), (foot + across * *right).to_point()));
        }
    }
    band
}

/// The parts inside the shape of lines square to `along`, in order along them.
fn spans(polygon: &Polygon, along: Vec2, across: Vec2, count: usize, at: &impl Fn(usize) -> f64) -> Vec<Vec<[f64; 2]>> {
    let (first, last) = (at(0), at(count - 1));
    let step = ((last - first) / (count.max(2) - 1) as f64).max(1e-9);
    let mut hits: Vec<Vec<f64>> = vec![Vec::new(); count];
    for (a, b) in polygon.rings().flat_map(|ring| ring.edges()) {
        let (u, v) = (a.to_vec2().dot(along), b.to_vec2().dot(along));
        let (low, high) = (u.min(v), u.max(v));
        let mut i = ((low - first) / step).ceil().max(0.0) as usize;
        while i < count && at(i) < high {
            if at(i) >= low {
                let share = (at(i) - u) / (v - u);
                if let Some(list) = hits.get_mut(i) {
                    list.push(a.lerp(b, share).to_vec2().dot(across));
                }
            }
            i += 1;
        }
    }
    let pair = |mut list: Vec<f64>| {
        list.sort_by(f64::total_cmp);
        list.chunks_exact(2).map(|c| if let &[a, b] = c { [a, b] } else { [0.0; 2] }).collect()
    };
    hits.into_iter().map(pair).collect()
}

/// The direction of the longer side of the smallest rectangle, and its extent along it.
fn long_axis(hull: &[Point]) -> Option<(Vec2, f64, f64)> {
    let thinned: Vec<Point> = hull.iter().step_by(hull.len().div_ceil(MOST_CORNERS).max(1)).copied().collect();
    let extent = |way: Vec2| {
        let places = hull.iter().map(|p| p.to_vec2().dot(way));
        places.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| (low.min(p), high.max(p)))
    };
    let mut best: Option<(f64, Vec2)> = None;
    for (a, b) in thinned.iter().zip(thinned.iter().cycle().skip(1)) {
        let way = unit(*b - *a);
        let ((a0, a1), (b0, b1)) = (extent(way), extent(right_of(way)));
        let area = (a1 - a0) * (b1 - b0);
        // Edges of nearly the same rectangle: the first stays, so that noise decides nothing.
        if way.hypot2() > 0.5 && best.is_none_or(|(least, _)| area < least * 0.999) {
            best = Some((area, if a1 - a0 >= b1 - b0 { way } else { right_of(way) }));
        }
    }
    let (_, way) = best?;
    let (low, high) = extent(way);
    (high > low).then_some((way, low, high))
}

/// The convex hull (A. M. Andrew, 1979).
fn hull(points: &[Point]) -> Vec<Point> {
    let mut sorted: Vec<Point> = points.iter().copied().filter(|p| p.is_finite()).collect();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let mut hull: Vec<Point> = Vec::new();
    for upper in [false, true] {
        let start = hull.len();
        let add = |hull: &mut Vec<Point>, p: Point| {
            while let [.., a, b] = hull.get(start..).unwrap_or_default() {
                if (*b - *a).cross(p - *a) > 0.0 {
                    break;
                }
                hull.pop();
            }
            hull.push(p);
        };
        if upper {
            sorted.iter().rev().for_each(|p| add(&mut hull, *p));
        } else {
            sorted.iter().for_each(|p| add(&mut hull, *p));
        }
        hull.pop();
    }
    hull
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_geometry::Ring;

    fn polygon(points: Vec<Point>) -> Polygon {
        Polygon { outer: Ring::new(points), holes: Vec::new() }
    }

    fn rectangle(width: f64, height: f64, turn: f64) -> Polygon {
        let (along, across) = (Vec2::from_angle(turn), right_of(Vec2::from_angle(turn)));
        let corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
        polygon(corners.map(|(x, y)| (along * x + across * y).to_point()).to_vec())
    }

    #[test]
    fn a_disc_is_a_block_and_a_bar_is_not() {
        let disc = (0..60).map(|i| Point::ZERO + Vec2::from_angle(i as f64 * std::f64::consts::TAU / 60.0) * 2.0);
        assert!(is_block(&polygon(disc.collect())));
        assert!(is_block(&rectangle(3.0, 3.0, 0.3)));
        assert!(!is_block(&rectangle(3.0, 9.0, 0.3)));
    }

    #[test]
    fn threads_lie_across_the_longer_side() {
        let band = block(&rectangle(3.0, 2.0, 0.4));
        assert!(band.iter().all(|c| (c.width() - 2.0).abs() < 1e-6));
        let length = band[0].middle().distance(band[band.len() - 1].middle());
        assert!((length - 2.99).abs() < 1e-6, "{length}");
    }

    #[test]
    fn nothing_is_no_block() {
        assert!(!is_block(&Polygon::default()));
        assert!(block(&Polygon::default()).is_empty());
        assert!(block(&polygon(vec![Point::new(f64::NAN, 0.0); 3])).is_empty());
    }
}
