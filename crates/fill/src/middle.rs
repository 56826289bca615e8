//! Lines along the middle of what is bare and narrow.
//!
//! Where a spot is nowhere wider than a thread, one thread along its middle covers it, with a needle point only
//! where the middle bends. The spot is cut square to its longer side: the middles of the cuts are the line, as
//! long as each cut is one piece and none is wider than a thread covers. A spot that bends back, closes on itself or
//! branches is cut into triangles instead: the middles of their inner edges are its lines (the chordal axis: L. Prasad,
//! "Morphological analysis of shapes", CNLS Newsletter 139, 1997), and one walk goes over all of them.

use kurbo::{Point, Vec2};
use laidwork_geometry::{Join, Mesh, Polygon, PostmanEdge, Region, Ring, RowLines, Rows, walk_every_edge};
use laidwork_plan::{Angle, PassKind};

/// From cut to cut, mm; more where there would be more than [`MOST_CUTS`].
const STEP: f64 = 0.08;

const MOST_CUTS: f64 = 2000.0;

/// Over how many cuts to either side the direction of the line is taken.
const BESIDE: usize = 3;

/// Corners of a spot that is cut into triangles are this far apart, mm, after those within so many mm of its sides are
/// left out.
const CORNERS: (f64, f64) = (0.15, 0.03);

/// Lines that bend and meet cover spots no wider than this share of what a straight one covers.
const FITS: f64 = 0.9;

/// Arms are left out that are shorter than so many times the greatest width.
const ARM: f64 = 0.75;

/// Narrow parts of a wide spot count when their outline is longer than so many times the width.
const LONG: f64 = 5.0;

/// A way over the middle lines of a spot that is nowhere wider than `widest` mm, from the place of one of their ends
/// nearest to `near`; what is travel is walked again later. Empty where the spot is wider.
pub(crate) fn middle_way(spot: &Polygon, widest: f64, near: Option<Point>) -> Vec<(PassKind, Vec<Point>)> {
    if let Some(mut line) = middle_line(spot, widest) {
        if let (Some(near), [first, .., last]) = (near, &line[..])
            && near.distance_squared(*last) < near.distance_squared(*first)
        {
            line.reverse();
        }
        return vec![(PassKind::Top, line)];
    }
    let is_wide = !Region::from(spot.clone()).offset(-FITS * widest / 2.0, Join::Bevel).is_empty();
    if is_wide { Vec::new() } else { Net::new(spot, widest).map_or_else(Vec::new, |net| net.way(near)) }
}

/// A spot parted into where it is wider than `widest` mm and where it is not, if either is more than a corner.
pub(crate) fn parted(spot: &Polygon, widest: f64) -> Vec<Polygon> {
    if middle_line(spot, widest).is_some() {
        return vec![spot.clone()];
    }
    let all = Region::from(spot.clone());
    let deep = all.offset(-FITS * widest / 2.0, Join::Bevel);
    if deep.is_empty() {
        return all.polygons;
    }
    let mut narrow = all.difference(&deep.offset(FITS * widest / 2.0, Join::Round { tolerance: 0.01 }));
    narrow.polygons.retain(|part| part.outer.length() > LONG * widest);
    if narrow.is_empty() {
        return all.polygons;
    }
    let mut parts = all.difference(&narrow).polygons;
    parts.append(&mut narrow.polygons);
    parts
}

/// The middle line of a spot that is nowhere wider than `widest` mm; `None` where it is wider, or branches.
fn middle_line(spot: &Polygon, widest: f64) -> Option<Vec<Point>> {
    if !spot.holes.is_empty() {
        return None;
    }
    let rect = spot.smallest_rectangle()?;
    let step = STEP.max(rect.length / MOST_CUTS);
    let across = rect.along.turn_90();
    let angle = Angle::from_degrees(across.atan2().to_degrees())?;
    let lines = RowLines::new(angle, step, 0.0).ok()?;
    let (mut middles, mut wide) = (Vec::new(), Vec::new());
    let mut plain = true;
    let visit = |row: i64, spans: &[laidwork_geometry::Span]| {
        if let [only] = spans {
            middles.push(lines.point(row, (only.from + only.to) / 2.0));
            wide.push(only.length());
        } else {
            plain = false;
        }
    };
    Rows::new().for_each_row(spot.rings(), &lines, visit).ok()?;
    let direction = |i: usize| middles[(i + BESIDE).min(middles.len() - 1)] - middles[i.saturating_sub(BESIDE)];
    // A cut is wider than the spot where that slants.
    let fits = |i: usize| {
        let along = direction(i);
        wide[i] * along.dot(rect.along).abs() <= widest * along.hypot()
    };
    (plain && middles.len() > 2 && (0..middles.len()).all(fits)).then_some(middles)
}

/// The triangles of a spot as a net of lines: a point in each of them, joined to those beside it.
struct Net {
    mesh: Mesh,
    /// How many of the triangles beside each belong to the net; none beside those that do not.
    beside: Vec<u8>,
}

impl Net {
    fn new(spot: &Polygon, widest: f64) -> Option<Net> {
        let (step, within) = CORNERS;
        let mut outline = Region::from(spot.clone()).simplify(within).polygons.into_iter().next()?;
        for ring in std::iter::once(&mut outline.outer).chain(&mut outline.holes) {
            *ring = Ring::new(ring.resample(step));
        }
        let mesh = Mesh::new(&outline)?;
        let beside = |triangle| (0..3).filter(|&edge| mesh.neighbour(triangle, edge).is_some()).count() as u8;
        let beside = (0..mesh.len()).map(beside).collect();
        let mut net = Net { mesh, beside };
        net.keep_largest();
        net.prune(ARM * widest);
        Some(net)
    }

    /// The triangles of the net beside one, each with the middle of the edge between them.
    fn around(&self, triangle: usize) -> impl Iterator<Item = (usize, Point)> {
        let corners = self.mesh.corner_points(triangle);
        let beyond = move |edge: usize| {
            let other = self.mesh.neighbour(triangle, edge).filter(|&other| self.beside[other] > 0)?;
            corners.map(|corners| (other, corners[edge].midpoint(corners[(edge + 1) % 3])))
        };
        (0..3).filter_map(beyond)
    }

    /// Where the lines lie in a triangle.
    fn middle(&self, triangle: usize) -> Point {
        let sum = self.around(triangle).fold(Vec2::ZERO, |sum, (_, middle)| sum + middle.to_vec2());
        (sum / f64::from(self.beside[triangle].max(1))).to_point()
    }

    /// Takes away films: triangles that rounding leaves along a straight side, with nothing but each other beside them.
    fn keep_largest(&mut self) {
        let area =
            |triangle: usize| self.mesh.corner_points(triangle).map_or(0.0, |[a, b, c]| (b - a).cross(c - a).abs());
        let largest = (0..self.beside.len()).max_by(|&a, &b| area(a).total_cmp(&area(b)));
        let mut kept = vec![0; self.beside.len()];
        let mut reached = Vec::from_iter(largest);
        while let Some(triangle) = reached.pop() {
            if kept[triangle] == 0 {
                kept[triangle] = self.beside[triangle];
                reached.extend(self.around(triangle).map(|(other, _)| other));
            }
        }
        self.beside = kept;
    }

    /// Takes away arms shorter than so many mm: they lead into corners of its sides.
    fn prune(&mut self, shortest: f64) {
        for end in 0..self.beside.len() {
            if self.beside[end] != 1 {
                continue;
            }
            let Some((mut here, mut from)) = self.around(end).next() else { continue };
            let (mut arm, mut length, mut before) = (vec![end], 0.0, end);
            while self.beside[here] == 2 && length <= shortest {
                let Some((next, middle)) = self.around(here).find(|(next, _)| *next != before) else { break };
                length += from.distance(middle);
                arm.push(here);
                (before, here, from) = (here, next, middle);
            }
            if self.beside[here] == 3 && length <= shortest {
                self.beside[here] -= 1;
                arm.into_iter().for_each(|triangle| self.beside[triangle] = 0);
            }
        }
    }

    /// A walk over all lines from the place nearest to `near` of those that let little be walked twice.
    fn way(&self, near: Option<Point>) -> Vec<(PassKind, Vec<Point>)> {
        let middles: Vec<Point> = (0..self.beside.len()).map(|triangle| self.middle(triangle)).collect();
        let mut edges = Vec::new();
        for a in (0..middles.len()).filter(|&a| self.beside[a] > 0) {
            for (b, _) in self.around(a).filter(|&(b, _)| a < b) {
                edges.push(PostmanEdge { a: a as u32, b: b as u32, length: middles[a].distance(middles[b]) });
            }
        }
        let away = |&a: &usize| near.map_or(0.0, |near| near.distance_squared(middles[a]));
        let nearest = |odd: bool| {
            let places = (0..middles.len()).filter(|&a| self.beside[a] > 0 && (!odd || self.beside[a] % 2 == 1));
            places.min_by(|a, b| away(a).total_cmp(&away(b))).map(|a| a as u32)
        };
        let walk = walk_every_edge(middles.len(), &edges, nearest(true).or_else(|| nearest(false)), None);
        let mut way: Vec<(PassKind, Vec<Point>)> = Vec::new();
        let mut at = middles[walk.start as usize];
        for step in walk.steps {
            let kind = if step.last { PassKind::Top } else { PassKind::Travel };
            let edge = &edges[step.edge as usize];
            let to = middles[if step.forward { edge.b } else { edge.a } as usize];
            match way.last_mut() {
                Some((last, line)) if *last == kind => line.push(to),
                _ => way.push((kind, vec![at, to])),
            }
            at = to;
        }
        way
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_geometry::{FillRule, closest_on_segment};
    use std::f64::consts::TAU;

    fn around(way: &[(f64, f64)], half: f64) -> Polygon {
        let there = way.iter().map(|&(x, y)| Point::new(x, y - half));
        let back = way.iter().rev().map(|&(x, y)| Point::new(x, y + half));
        Polygon { outer: Ring::new(there.chain(back).collect()), holes: vec![] }
    }

    #[test]
    fn a_narrow_spot_has_a_line_along_its_middle() {
        let bent: Vec<(f64, f64)> = (0..=40).map(|i| f64::from(i) * 0.1).map(|x| (x, 0.2 * (x * 1.5).sin())).collect();
        let line = middle_line(&around(&bent, 0.15), 0.4).unwrap();
        assert!(line.len() > 30);
        for p in &line[3..line.len() - 3] {
            assert!((p.y - 0.2 * (p.x * 1.5).sin()).abs() < 0.05, "{p:?}");
        }
    }

    #[test]
    fn a_wide_spot_has_none() {
        assert!(middle_way(&around(&[(0.0, 0.0), (3.0, 0.0)], 0.4), 0.4, None).is_empty());
    }

    /// How far the points of a spot may lie from the lines of a way at most.
    fn farthest(spot: &Polygon, way: &[(PassKind, Vec<Point>)]) -> f64 {
        let tops = || way.iter().filter(|(kind, _)| *kind == PassKind::Top).flat_map(|(_, line)| line.windows(2));
        let away = |p: &Point| {
            let from = |pair: &[Point]| closest_on_segment(*p, pair[0], pair[1]).distance(*p);
            tops().map(from).fold(f64::INFINITY, f64::min)
        };
        spot.rings().flat_map(|ring| &ring.points).map(away).fold(0.0, f64::max)
    }

    #[test]
    fn a_spot_that_closes_on_itself_has_one_line_round() {
        let circle = |radius: f64| {
            Ring::new(
                (0..90).map(|i| Vec2::from_angle(f64::from(i) * TAU / 90.0) * radius).map(Vec2::to_point).collect(),
            )
        };
        let band = Region::from_rings(&[circle(5.2), circle(4.8)], FillRule::EvenOdd);
        let way = middle_way(&band.polygons[0], 0.5, Some(Point::new(0.0, 9.0)));
        let [(PassKind::Top, line)] = &way[..] else { panic!("{way:?}") };
        assert!(
            line[0].distance(line[line.len() - 1]) < 1e-9 && line[0].distance(Point::new(0.0, 5.0)) < 0.2,
            "{line:?}"
        );
        assert!(line.iter().all(|p| (p.to_vec2().hypot() - 5.0).abs() < 0.03));
        assert!(farthest(&band.polygons[0], &way) < 0.25);
    }

    #[test]
    fn a_spot_that_branches_has_lines_that_meet() {
        let arm = |to: (f64, f64)| Region::from(around(&[(0.0, 0.0), to], 0.1)).polygons;
        let mut arms = arm((3.0, 0.8));
        arms.extend(arm((3.0, -0.8)));
        arms.extend(arm((-3.0, 0.0)));
        let rings: Vec<Ring> = arms.into_iter().map(|p| p.outer).collect();
        let fork = Region::from_rings(&rings, FillRule::NonZero).offset(0.01, Join::Bevel);
        assert_eq!(fork.polygons.len(), 1);
        let way = middle_way(&fork.polygons[0], 0.5, Some(Point::new(3.0, 0.8)));
        assert!(way.windows(2).all(|pair| pair[0].1.last() == pair[1].1.first()), "{way:?}");
        assert!(farthest(&fork.polygons[0], &way) < 0.3, "{way:?}");
        let length = |kind| {
            let lines = way.iter().filter(|(of, _)| *of == kind).flat_map(|(_, line)| line.windows(2));
            lines.map(|pair| pair[0].distance(pair[1])).sum::<f64>()
        };
        // One of three arms is gone over twice.
        assert!(
            (8.5..9.5).contains(&length(PassKind::Top)) && (2.5..3.5).contains(&length(PassKind::Travel)),
            "{way:?}"
        );
    }
}
