//! Rays from inside a shape to its outline.

use kurbo::{Point, Rect, Vec2};
use laidwork_geometry::{Crossing, Locator, Polygon, Ring};

/// Of so few edges each is looked at for every ray.
const FEW: usize = 256;

/// Both ends of an edge lie on one side of a ray when the product of their distances from its line is more than this, mm².
const ASIDE: f64 = 1e-9;

/// An outline made ready for rays. A ray costs about O(log n) per edge it passes near.
#[derive(Clone, Debug)]
pub(crate) struct Rays {
    locator: Locator,
    /// The corners of each ring, the first once more at the end, where there are few.
    few: Option<Vec<Vec<Point>>>,
    /// Every edge's direction and length, and the first edge of its ring and the ring's count.
    outline: Vec<(Vec2, f64, usize, usize)>,
}

impl Rays {
    pub(crate) fn of_polygon(polygon: &Polygon) -> Rays {
        Rays::of_rings(&polygon.rings().collect::<Vec<_>>())
    }

    fn of_rings(rings: &[&Ring]) -> Rays {
        let mut outline = Vec::new();
        for ring in rings {
            let first = outline.len();
            for (from, to) in ring.edges() {
                outline.push((crate::line::unit(to - from), from.distance(to), first, ring.points.len()));
            }
        }
        let closed = |ring: &&Ring| ring.points.iter().chain(ring.points.first()).copied().collect();
        let few = (outline.len() <= FEW).then(|| rings.iter().map(closed).collect());
        Rays { locator: Locator::from_rings(rings.iter().copied()), few, outline }
    }

    /// The direction and length of the straight stretch of outline that a ray
    /// meets, straight within `bend` radians of the edge it meets.
    pub(crate) fn straight(&self, from: Point, direction: Vec2, longest: f64, bend: f64) -> Option<(Vec2, f64)> {
        let to = from + direction * longest;
        let near = self.locator.edges_about(Rect::from_points(from, to));
        let hits = near.filter_map(|(a, b, index)| hit(from, direction, (a, b)).map(|d| (d, index)));
        let (distance, index) = hits.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))?;
        if distance > longest {
            return None;
        }
        let &(way, own, first, count) = self.outline.get(index)?;
        let mut length = own;
        for step in [1, count - 1] {
            let mut place = index - first;
            for _ in 1..count {
                place = (place + step) % count;
                let Some((other, more, ..)) = self.outline.get(first + place) else { break };
                if way.cross(*other).abs().atan2(way.dot(*other)) > bend || length > 4.0 * longest {
                    break;
                }
                length += more;
            }
        }
        Some((way, length))
    }

    pub(crate) fn contains(&self, point: Point) -> bool {
        self.locator.contains(point)
    }

    pub(crate) fn distance_to_outline(&self, point: Point) -> f64 {
        self.locator.distance_to_outline(point)
    }

    /// How far the outline is from `from` in `direction` (of length one), mm; at most `longest`.
    pub(crate) fn reach(&self, from: Point, direction: Vec2, longest: f64) -> f64 {
        if let Some(rings) = &self.few {
            return first_hits(rings, from, direction)[1].min(longest);
        }
        // Short looks first: most rays end near where they start.
        let mut look = (longest / 8.0).max(1.0).min(longest);
        loop {
            let to = from + direction * look;
            let near = self.locator.edges_about(Rect::from_points(from, to));
            let hit = near.filter_map(|(a, b, _)| hit(from, direction, (a, b))).fold(f64::INFINITY, f64::min);
            if hit <= look || look >= longest {
                return hit.min(longest);
            }
            look = (look * 2.0).min(longest);
        }
    }

    /// The crossing through `middle` along `across` (left to right, of length
    /// one), each half cut off at the outline or at its given length; `None` outside.
    pub(crate) fn crossing(&self, middle: Point, across: Vec2, longest: [f64; 2]) -> Option<Crossing> {
        if !self.contains(middle) {
            return None;
        }
        let [left, right] = match &self.few {
            Some(rings) => {
                let [left, right] = first_hits(rings, middle, across);
                [left.min(longest[0]), right.min(longest[1])]
            }
            None => [self.reach(middle, -across, longest[0]), self.reach(middle, across, longest[1])],
        };
        Some(Crossing::new(middle - across * left, middle + across * right))
    }
}

/// Where a line meets the first of all edges behind and ahead of a place on it, as distances from that; infinite where
/// it meets none.
fn first_hits(rings: &[Vec<Point>], from: Point, direction: Vec2) -> [f64; 2] {
    let [mut behind, mut ahead] = [f64::INFINITY; 2];
    for ring in rings {
        let side = |point: Point| direction.cross(point - from);
        let mut before = ring.first().map_or(0.0, |first| side(*first));
        for edge in ring.windows(2) {
            let here = side(edge[1]);
            // What lies on one side is most of the outline.
            if before * here <= ASIDE
                && let Some(distance) = meeting(from, direction, (edge[0], edge[1]))
            {
                if distance > 0.0 {
                    ahead = ahead.min(distance);
                } else if distance < 0.0 {
                    behind = behind.min(-distance);
                }
            }
            before = here;
        }
    }
    [behind, ahead]
}

/// Where a ray meets an edge, as a distance from its start.
fn hit(from: Point, direction: Vec2, edge: (Point, Point)) -> Option<f64> {
    meeting(from, direction, edge).filter(|distance| *distance > 0.0)
}

/// Where a line meets an edge, as a distance from a place on it, less than nothing behind that.
fn meeting(from: Point, direction: Vec2, edge: (Point, Point)) -> Option<f64> {
    let along = edge.1 - edge.0;
    let turn = direction.cross(along);
    if turn.abs() < 1e-12 {
        return None;
    }
    let offset = edge.0 - from;
    let share = offset.cross(direction) / turn;
    (-1e-9..=1.0 + 1e-9).contains(&share).then(|| offset.cross(along) / turn)
}

/// Cuts crossings off where they meet the one before, so that neighbours never cross.
pub(crate) fn untangle(band: &mut [Crossing]) {
    for i in 1..band.len() {
        let (Some(&before), Some(&here)) = (band.get(i - 1), band.get(i)) else { return };
        let (a, b) = (before.right - before.left, here.right - here.left);
        let turn = b.cross(a);
        if turn.abs() < 1e-12 {
            continue;
        }
        let offset = before.left - here.left;
        let (on_here, on_before) = (offset.cross(a) / turn, offset.cross(b) / turn);
        let inside = 0.0..1.0;
        if inside.contains(&on_here) && inside.contains(&on_before) {
            let meet = here.at(on_here);
            // The shorter part goes: it is the inner side of the bend.
            let cut = if on_here < 0.5 { Crossing::new(meet, here.right) } else { Crossing::new(here.left, meet) };
            if let Some(slot) = band.get_mut(i) {
                *slot = cut;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frame() -> Rays {
        let square = |a: f64, b: f64| Ring::new([(a, a), (b, a), (b, b), (a, b)].map(Point::from).to_vec());
        Rays::of_polygon(&Polygon { outer: square(0.0, 10.0), holes: vec![square(4.0, 6.0)] })
    }

    #[test]
    fn a_ray_ends_at_the_first_edge() {
        let rays = frame();
        assert!((rays.reach(Point::new(1.0, 5.0), Vec2::new(1.0, 0.0), 50.0) - 3.0).abs() < 1e-9);
        assert!((rays.reach(Point::new(1.0, 1.0), Vec2::new(1.0, 0.0), 50.0) - 9.0).abs() < 1e-9);
        assert!((rays.reach(Point::new(1.0, 1.0), Vec2::new(1.0, 0.0), 2.0) - 2.0).abs() < 1e-9);
    }

    #[test]
    fn few_edges_are_met_as_many_are() {
        // A flower with a hole, and every way from some places in it.
        let flower = |size: f64| {
            let at = |i: i32| {
                let turn = f64::from(i) * 0.05;
                Point::ZERO + Vec2::from_angle(turn) * (size + 0.3 * size * (7.0 * turn).sin())
            };
            Ring::new((0..125).map(at).collect())
        };
        let few = Rays::of_polygon(&Polygon { outer: flower(9.0), holes: vec![flower(2.0)] });
        let many = Rays { few: None, ..few.clone() };
        assert!(few.few.is_some());
        for turn in 0..400 {
            let direction = Vec2::from_angle(f64::from(turn) * 0.53);
            let from = Point::ZERO + direction.turn_90() * (3.0 + f64::from(turn) * 0.01);
            let (reach, wanted) = (few.reach(from, direction, 9.0), many.reach(from, direction, 9.0));
            assert!((reach - wanted).abs() < 1e-9, "{turn}: {reach} {wanted}");
        }
    }

    #[test]
    fn a_crossing_spans_its_band() {
        let crossing = frame().crossing(Point::new(1.0, 5.0), Vec2::new(1.0, 0.0), [50.0; 2]).unwrap();
        assert!(crossing.left.x.abs() < 1e-9 && (crossing.right.x - 4.0).abs() < 1e-9);
        assert!(frame().crossing(Point::new(5.0, 5.0), Vec2::new(1.0, 0.0), [50.0; 2]).is_none());
    }

    #[test]
    fn a_tangle_is_cut_at_the_knot() {
        let mut band = [
            Crossing::new(Point::new(0.0, 0.0), Point::new(10.0, 0.0)),
            Crossing::new(Point::new(0.0, 1.0), Point::new(10.0, -0.25)),
        ];
        untangle(&mut band);
        assert!((band[1].right.x - 8.0).abs() < 1e-9 && band[1].right.y.abs() < 1e-9);
    }
}
