//! Ways inside a polygon: straight, and along the outline where that is in the way.
//!
//! The straight line between two places is cut where it crosses the outline. What of it lies
//! outside, in a hole or beyond the outer ring, is replaced by the shorter of the two ways along
//! that ring. Such a way is not the shortest one, but it is found without triangles: edges lie
//! sorted into strips, and a question looks at the strips that the line passes. Where the parts along rings
//! are together more than [`LONGER`] times as long as the line there is no way, and the caller asks
//! for the shortest ([`crate::Walker`]).
//!
//! Use it for short moves over an outline along which threads may lie. Preparing takes O(n) time
//! and memory; a question takes the edges of its strips and the corners it goes along.

use crate::strips::{Edge, Strips, is_left};
use crate::{Polygon, Ring};
use kurbo::Point;

/// How many times as long as the straight line the parts of a way along the outline may be together.
const LONGER: f64 = 2.0;

/// A line may be this far outside without going round, mm: far less than a thread, and more than rounding.
const NEAR: f64 = 1e-3;

/// A polygon's outline made ready for questions.
#[derive(Clone, Debug)]
pub struct OutlineWays<'a> {
    rings: Vec<&'a Ring>,
    edges: Vec<Edge>,
    /// The first edge of each ring.
    first: Vec<usize>,
    strips: Strips,
}

/// Where the line crosses an edge.
#[derive(Clone, Copy, Debug)]
struct Cut {
    /// Distance from the line's start, mm.
    along: f64,
    at: Point,
    edge: usize,
}

impl<'a> OutlineWays<'a> {
    /// Prepares `polygon`; rings count by the even-odd rule, and those with points that are no numbers not at all.
    pub fn new(polygon: &'a Polygon) -> OutlineWays<'a> {
        OutlineWays::sorted_by(polygon, Strips::new)
    }

    /// As [`OutlineWays::new`], for a handful of questions: each looks at every edge, which costs less than sorting them.
    pub fn for_few(polygon: &'a Polygon) -> OutlineWays<'a> {
        OutlineWays::sorted_by(polygon, |edges| Strips::unsorted(edges.len()))
    }

    fn sorted_by(polygon: &'a Polygon, strips: impl Fn(&[Edge]) -> Strips) -> OutlineWays<'a> {
        let sound = |ring: &&Ring| ring.points.iter().all(|point| point.is_finite());
        let rings: Vec<&Ring> = polygon.rings().filter(sound).collect();
        let mut edges = Vec::with_capacity(rings.iter().map(|ring| ring.points.len()).sum());
        let mut first = Vec::with_capacity(rings.len());
        for ring in &rings {
            first.push(edges.len());
            edges.extend(ring.edges());
        }
        OutlineWays { strips: strips(&edges), rings, edges, first }
    }

    /// The ring of an edge, and which of its edges it is.
    fn place(&self, edge: usize) -> (usize, usize) {
        let ring = self.first.partition_point(|&first| first <= edge) - 1;
        (ring, edge - self.first[ring])
    }

    /// A way from `from` to `to`, both included, that stays inside or on the outline; both have to
    /// lie there. `None` where it would be long, or where nothing can be said.
    pub fn way(&self, from: Point, to: Point) -> Option<Vec<Point>> {
        let length = from.distance(to);
        if !length.is_finite() {
            return None;
        }
        let mut way = vec![from];
        if length > NEAR {
            let cuts = self.cuts(from, to, length);
            let mut inside = self.begins_inside(from, to, length, &cuts)?;
            let mut past = 0.0;
            let mut walked = 0.0;
            for (i, cut) in cuts.iter().enumerate() {
                if !inside && cut.along - past > NEAR {
                    let out = cuts.get(i.checked_sub(1)?)?;
                    walked += self.go_round(out, cut, &mut way)?;
                }
                (inside, past) = (!inside, cut.along);
            }
            if (!inside && length - past > NEAR) || walked > length * LONGER {
                return None;
            }
        }
        way.push(to);
        Some(way)
    }

    /// Whether the straight line between two places lies inside or on the outline.
    pub fn sees(&self, from: Point, to: Point) -> bool {
        self.way(from, to).is_some_and(|way| way.len() == 2)
    }

    /// Whether `point` lies inside; on the outline either answer.
    pub fn contains(&self, point: Point) -> bool {
        let members = self.strips.members(self.strips.at(point.y)).iter();
        members.filter(|&&edge| is_left(self.edges[edge as usize], point)).count() % 2 == 1
    }

    /// Where the line crosses the outline, in order.
    fn cuts(&self, from: Point, to: Point, length: f64) -> Vec<Cut> {
        let along = (to - from) / length;
        let side = |point: Point| along.cross(point - from);
        let (low, high) = (from.y.min(to.y) - NEAR, from.y.max(to.y) + NEAR);
        let (left, right) = (from.x.min(to.x) - 2.0 * NEAR, from.x.max(to.x) + 2.0 * NEAR);
        let mut cuts = Vec::new();
        for strip in self.strips.between(low, high) {
            for &edge in self.strips.members(strip) {
                let (a, b) = self.edges[edge as usize];
                if (a.x < left && b.x < left) || (a.x > right && b.x > right) {
                    continue;
                }
                let (here, there) = (side(a), side(b));
                if (here >= 0.0) == (there >= 0.0) {
                    continue;
                }
                let at = a.lerp(b, here / (here - there));
                // An edge lies in several strips and counts in one of them.
                let own = self.strips.between(a.y, b.y);
                let is_here = strip == self.strips.at(at.y).clamp(own.start, own.end - 1);
                let along = along.dot(at - from);
                if is_here && along > -NEAR && along < length + NEAR {
                    cuts.push(Cut { along, at, edge: edge as usize });
                }
            }
        }
        cuts.sort_unstable_by(|a, b| a.along.total_cmp(&b.along).then(a.edge.cmp(&b.edge)));
        cuts
    }

    /// Whether the line begins inside, told from the middle of its longest part.
    fn begins_inside(&self, from: Point, to: Point, length: f64, cuts: &[Cut]) -> Option<bool> {
        let ends = |i: usize| {
            let end = |i: Option<usize>, other| i.and_then(|i| cuts.get(i)).map_or(other, |cut| cut.along);
            (end(i.checked_sub(1), 0.0), end(Some(i), length))
        };
        let long = |i: &usize| ends(*i).1 - ends(*i).0;
        let longest = (0..=cuts.len()).max_by(|a, b| long(a).total_cmp(&long(b)).then(b.cmp(a)))?;
        let (a, b) = ends(longest);
        let middle = from.lerp(to, (a + b) / 2.0 / length);
        middle.is_finite().then(|| self.contains(middle) == (longest % 2 == 0))
    }

    /// Goes along the ring from one cut to another, the shorter way; its length, mm.
    fn go_round(&self, out: &Cut, back: &Cut, way: &mut Vec<Point>) -> Option<f64> {
        let (ring, leave) = self.place(out.edge);
        let (other, enter) = self.place(back.edge);
        if ring != other {
            return None;
        }
        let corners = &self.rings[ring].points;
        let count = corners.len();
        let corner = |i: usize| corners[i % count];
        // Corners between the two, going on and going back.
        let mut on = (enter + count - leave) % count;
        let (from, to) = self.edges[out.edge];
        if leave == enter && (back.at - out.at).dot(to - from) < 0.0 {
            on = count;
        }
        let forward = || (1..=on).map(|i| corner(leave + i));
        let backward = || (0..count - on).map(|i| corner(leave + count - i));
        let length = |corners: &mut dyn Iterator<Item = Point>| {
            let (length, last) = corners.fold((0.0, out.at), |(sum, last), p| (sum + last.distance(p), p));
            length + last.distance(back.at)
        };
        let (there, round) = (length(&mut forward()), length(&mut backward()));
        way.push(out.at);
        if there <= round {
            way.extend(forward());
        } else {
            way.extend(backward());
        }
        way.push(back.at);
        Some(there.min(round))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Region;
    use crate::testing::{self, Kind, Random, length, ring};

    #[test]
    fn a_way_goes_round_a_hole_and_along_a_notch() {
        let outer = ring(&[(0., 0.), (8., 0.), (8., 2.), (12., 2.), (12., 0.), (20., 0.), (20., 10.), (0., 10.)]);
        let hole = ring(&[(4., 4.), (4., 7.), (7., 7.), (7., 4.)]);
        let polygon = Polygon { outer, holes: vec![hole] };
        let ways = OutlineWays::new(&polygon);
        let way = |a: (f64, f64), b: (f64, f64)| ways.way(a.into(), b.into()).unwrap_or_default();
        assert_eq!(way((1., 8.), (19., 9.)).len(), 2);
        assert!((length(&way((2., 5.), (9., 5.))) - 9.0).abs() < 1e-9);
        assert!((length(&way((7., 1.), (13., 1.))) - 8.0).abs() < 1e-9);
        // From an edge of the hole through it.
        assert!((length(&way((4., 5.), (9., 5.))) - 7.0).abs() < 1e-9);
        assert!(way((0.5, 1.), (22., 1.)).is_empty() && way((f64::NAN, 1.), (2., 1.)).is_empty());
        assert!(ways.sees((1., 1.).into(), (2., 9.).into()) && !ways.sees((3., 5.).into(), (8., 5.).into()));
    }

    #[test]
    fn ways_stay_inside_and_are_not_long() {
        let (mut tried, mut bent) = (0, 0);
        for seed in 0..220 {
            let kind = Kind::ALL[seed as usize % Kind::ALL.len()];
            for polygon in testing::region(kind, 24, seed).polygons.into_iter().take(2) {
                let (ways, mut random) = (OutlineWays::new(&polygon), Random(seed));
                let locator = Region::from(polygon.clone()).locator();
                let corners: Vec<Point> = polygon.rings().flat_map(|ring| ring.points.clone()).collect();
                let mut place = || match random.below(3) {
                    0 => Some(corners[random.below(corners.len())]),
                    1 => {
                        let i = random.below(polygon.outer.points.len());
                        polygon.outer.edges().nth(i).map(|(a, b)| a.lerp(b, random.between(0.0, 1.0)))
                    }
                    _ => (0..100)
                        .map(|_| Point::new(random.between(-28., 28.), random.between(-28., 28.)))
                        .find(|point| locator.contains(*point)),
                };
                for _ in 0..20 {
                    let (Some(from), Some(to)) = (place(), place()) else { continue };
                    let Some(way) = ways.way(from, to) else { continue };
                    assert_eq!((way[0], way[way.len() - 1]), (from, to));
                    assert!(length(&way) <= (1.0 + LONGER) * from.distance(to) + 1e-6);
                    for pair in way.windows(2) {
                        for i in 0..=40 {
                            let point = pair[0].lerp(pair[1], f64::from(i) / 40.0);
                            let depth = locator.depth(point);
                            assert!(depth > -NEAR, "{kind:?} {seed}: {from} {to} {point} {depth}");
                        }
                    }
                    (tried, bent) = (tried + 1, bent + usize::from(way.len() > 2));
                }
            }
        }
        assert!(tried > 1000 && bent > 200, "{tried} {bent}");
    }
}
