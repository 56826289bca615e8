//! Shortest ways inside one polygon.
//!
//! The polygon is triangulated once ([`Mesh`]). A way is then a chain of
//! triangles found by A* and pulled tight by the funnel algorithm, unless the
//! straight line already stays inside, which is asked first.
//!
//! Use it for travel: threads that must stay under what is sewn later. One
//! question costs O(t log t) for the t triangles looked at; the buffers are
//! kept between questions.

use crate::{Mesh, Polygon, closest_on_segment};
use kurbo::Point;
use rstar::{AABB, PointDistance, RTree, RTreeObject};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Finds ways inside one polygon.
#[derive(Clone, Debug)]
pub struct Walker {
    ground: Option<Ground>,
}

/// A point inside and the triangle that holds it.
#[derive(Clone, Copy, Debug)]
struct Place {
    point: Point,
    triangle: usize,
}

#[derive(Clone, Debug)]
struct Ground {
    mesh: Mesh,
    walls: RTree<Wall>,
    search: Search,
}

impl Walker {
    /// Prepares `polygon`.
    pub fn new(polygon: &Polygon) -> Walker {
        Walker { ground: Mesh::new(polygon).map(Ground::new) }
    }

    /// Whether the polygon could be triangulated. When it could not (it has no
    /// area), ways are straight lines.
    pub fn has_ground(&self) -> bool {
        self.ground.is_some()
    }

    /// Whether `point` lies inside or on the outline.
    pub fn inside(&self, point: Point) -> bool {
        self.ground.as_ref().is_some_and(|ground| ground.mesh.locate(point).is_some())
    }

    /// `point` itself when it is inside, else the nearest point of the outline.
    pub fn snap(&self, point: Point) -> Point {
        self.ground.as_ref().and_then(|ground| ground.place(point)).map_or(point, |place| place.point)
    }

    /// A way from `from` to `to`, both included, that stays inside. Ends that
    /// lie outside are moved to the nearest point of the outline.
    ///
    /// The straight line when the polygon could not be triangulated (see
    /// [`Walker::try_path`] to tell).
    pub fn path(&mut self, from: Point, to: Point) -> Vec<Point> {
        self.try_path(from, to).unwrap_or_else(|| vec![from, to])
    }

    /// As [`Walker::path`]; `None` when there is no way, because the polygon
    /// could not be triangulated or a point is no number.
    pub fn try_path(&mut self, from: Point, to: Point) -> Option<Vec<Point>> {
        let ground = self.ground.as_mut()?;
        let (from, to) = (ground.place(from)?, ground.place(to)?);
        ground.path(from, to)
    }
}

impl Ground {
    fn new(mesh: Mesh) -> Ground {
        let sides = (0..mesh.len()).flat_map(|triangle| (0..3).map(move |edge| (triangle, edge)));
        let walls = sides
            .filter(|&(triangle, edge)| mesh.neighbour(triangle, edge).is_none())
            .filter_map(|(triangle, edge)| {
                let (from, to) = portal(&mesh, triangle, edge)?;
                Some(Wall { from, to, triangle })
            })
            .collect();
        Ground { walls: RTree::bulk_load(walls), search: Search::new(mesh.len()), mesh }
    }

    fn place(&self, point: Point) -> Option<Place> {
        if !point.is_finite() {
            return None;
        }
        if let Some(triangle) = self.mesh.locate(point) {
            return Some(Place { point, triangle });
        }
        let wall = self.walls.nearest_neighbor([point.x, point.y])?;
        Some(Place { point: closest_on_segment(point, wall.from, wall.to), triangle: wall.triangle })
    }

    fn path(&mut self, from: Place, to: Place) -> Option<Vec<Point>> {
        if from.triangle == to.triangle || sees(&self.mesh, from, to) {
            return Some(vec![from.point, to.point]);
        }
        self.search.chain(&self.mesh, from, to)?;
        Some(pull_tight(&self.mesh, &self.search.chain, from.point, to.point))
    }
}

/// The ends of an edge of a triangle: its own first corner, then the next.
fn portal(mesh: &Mesh, triangle: usize, edge: usize) -> Option<(Point, Point)> {
    let corners = mesh.corner_points(triangle)?;
    Some((*corners.get(edge)?, *corners.get((edge + 1) % 3)?))
}

/// Whether the straight line from one place to the other stays inside: it is
/// followed from triangle to triangle. In doubt (it goes through a corner) no.
fn sees(mesh: &Mesh, from: Place, to: Place) -> bool {
    let along = to.point - from.point;
    let mut triangle = from.triangle;
    let mut entered = None;
    for _ in 0..mesh.len() {
        if triangle == to.triangle {
            return true;
        }
        let ahead = (0..3).find(|&edge| {
            Some(edge) != entered
                && portal(mesh, triangle, edge).is_some_and(|(a, b)| {
                    along.cross(a - from.point) < 0.0
                        && along.cross(b - from.point) > 0.0
                        && (b - a).cross(to.point - a) < 0.0
                })
        });
        let Some(beyond) = ahead.and_then(|edge| mesh.neighbour(triangle, edge)) else { return false };
        entered = (0..3).find(|&edge| mesh.neighbour(beyond, edge) == Some(triangle));
        triangle = beyond;
    }
    false
}

/// A candidate of the search; the heap gives the smallest estimate first, ties by index.
#[derive(Clone, Copy, Debug)]
struct Candidate {
    estimate: f64,
    triangle: usize,
}

impl PartialEq for Candidate {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Candidate {}

impl PartialOrd for Candidate {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Candidate {
    fn cmp(&self, other: &Self) -> Ordering {
        other.estimate.total_cmp(&self.estimate).then(other.triangle.cmp(&self.triangle))
    }
}

/// What the search knows of a triangle.
#[derive(Clone, Copy, Debug)]
struct Visit {
    /// Which question it belongs to.
    round: u32,
    /// Length of the way to `entry`.
    length: f64,
    entry: Point,
    /// The triangle before, and the edge of it that was crossed.
    before: usize,
    edge: usize,
    done: bool,
}

/// The buffers of the search.
#[derive(Clone, Debug)]
struct Search {
    visits: Vec<Visit>,
    round: u32,
    open: BinaryHeap<Candidate>,
    /// Found: triangles and the edge by which each is left, from start to goal.
    chain: Vec<(usize, usize)>,
}

impl Search {
    fn new(triangles: usize) -> Search {
        let blank = Visit { round: 0, length: 0.0, entry: Point::ZERO, before: 0, edge: 0, done: false };
        Search { visits: vec![blank; triangles], round: 0, open: BinaryHeap::new(), chain: Vec::new() }
    }

    /// Fills `self.chain`; `None` when the places are not connected.
    fn chain(&mut self, mesh: &Mesh, from: Place, to: Place) -> Option<()> {
        self.round = self.round.wrapping_add(1);
        self.open.clear();
        let start =
            Visit { round: self.round, length: 0.0, entry: from.point, before: from.triangle, edge: 0, done: false };
        *self.visits.get_mut(from.triangle)? = start;
        self.open.push(Candidate { estimate: 0.0, triangle: from.triangle });
        while let Some(Candidate { triangle, .. }) = self.open.pop() {
            if triangle == to.triangle {
                self.trace(from.triangle, to.triangle);
                return Some(());
            }
            let here = self.visits.get_mut(triangle)?;
            if std::mem::replace(&mut here.done, true) {
                continue;
            }
            let here = *here;
            for edge in 0..3 {
                self.step(mesh, here, triangle, edge, to.point);
            }
        }
        None
    }

    fn step(&mut self, mesh: &Mesh, here: Visit, triangle: usize, edge: usize, goal: Point) -> Option<()> {
        let beyond = mesh.neighbour(triangle, edge)?;
        let (a, b) = portal(mesh, triangle, edge)?;
        let entry = toward(here.entry, goal, a, b);
        let length = here.length + here.entry.distance(entry);
        let visit = self.visits.get_mut(beyond)?;
        if visit.round == self.round && (visit.done || visit.length <= length) {
            return None;
        }
        *visit = Visit { round: self.round, length, entry, before: triangle, edge, done: false };
        self.open.push(Candidate { estimate: length + entry.distance(goal), triangle: beyond });
        Some(())
    }

    fn trace(&mut self, start: usize, goal: usize) {
        self.chain.clear();
        let mut triangle = goal;
        while triangle != start {
            let Some(visit) = self.visits.get(triangle) else { break };
            self.chain.push((visit.before, visit.edge));
            triangle = visit.before;
        }
        self.chain.reverse();
    }
}

/// Where a way from `from` to `goal` best crosses the edge `a`-`b`: on the
/// straight line, or at the end nearer to it.
fn toward(from: Point, goal: Point, a: Point, b: Point) -> Point {
    let along = goal - from;
    let (left, right) = (along.cross(a - from), along.cross(b - from));
    if left < 0.0 && right > 0.0 { a.lerp(b, left / (left - right)) } else { closest_of(goal, from, a, b) }
}

fn closest_of(goal: Point, from: Point, a: Point, b: Point) -> Point {
    let by = |p: Point| from.distance(p) + p.distance(goal);
    if by(a) <= by(b) { a } else { b }
}

/// The shortest way through a chain of triangles: the funnel algorithm (Lee
/// and Preparata 1984; Chazelle 1982).
fn pull_tight(mesh: &Mesh, chain: &[(usize, usize)], from: Point, to: Point) -> Vec<Point> {
    // Seen along the way, a triangle's edge runs from right to left in a frame whose y points up.
    let mut portals: Vec<(Point, Point)> =
        chain.iter().filter_map(|&(triangle, edge)| portal(mesh, triangle, edge)).collect();
    portals.push((to, to));
    let mut way = vec![from];
    let (mut apex, mut first, mut second) = (from, from, from);
    let (mut first_at, mut second_at) = (0, 0);
    let mut at = 0;
    while let Some(&(a, b)) = portals.get(at) {
        at += 1;
        // Does the new first end narrow the funnel?
        if (first - apex).cross(a - apex) >= 0.0 {
            if same(apex, first) || (second - apex).cross(a - apex) < 0.0 {
                (first, first_at) = (a, at);
            } else {
                way.push(second);
                apex = second;
                at = second_at;
                (first, first_at) = (apex, at);
                continue;
            }
        }
        if (second - apex).cross(b - apex) <= 0.0 {
            if same(apex, second) || (first - apex).cross(b - apex) > 0.0 {
                (second, second_at) = (b, at);
            } else {
                way.push(first);
                apex = first;
                at = first_at;
                (second, second_at) = (apex, at);
                continue;
            }
        }
    }
    way.push(to);
    way.dedup_by(|a, b| same(*a, *b));
    if way.len() == 1 {
        way.push(to);
    }
    way
}

fn same(a: Point, b: Point) -> bool {
    a.distance_squared(b) < 1e-18
}

/// An edge of the outline and the triangle on its inner side.
#[derive(Clone, Copy, Debug)]
struct Wall {
    from: Point,
    to: Point,
    triangle: usize,
}

impl RTreeObject for Wall {
    type Envelope = AABB<[f64; 2]>;

    fn envelope(&self) -> Self::Envelope {
        AABB::from_corners([self.from.x, self.from.y], [self.to.x, self.to.y])
    }
}

impl PointDistance for Wall {
    fn distance_2(&self, point: &[f64; 2]) -> f64 {
        let point = Point::new(point[0], point[1]);
        closest_on_segment(point, self.from, self.to).distance_squared(point)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Ring;

    fn ring(points: &[(f64, f64)]) -> Ring {
        Ring::new(points.iter().copied().map(Point::from).collect())
    }

    fn length(way: &[Point]) -> f64 {
        way.windows(2).map(|pair| pair[0].distance(pair[1])).sum()
    }

    /// A U: 10 wide and high, its notch 4 to 6 down to 8.
    fn cup() -> Walker {
        let outer = [(0., 0.), (4., 0.), (4., 8.), (6., 8.), (6., 0.), (10., 0.), (10., 10.), (0., 10.)];
        Walker::new(&Polygon { outer: ring(&outer), holes: vec![] })
    }

    #[test]
    fn a_straight_way_is_left_straight() {
        let way = cup().path(Point::new(1.0, 9.0), Point::new(9.0, 9.5));
        assert_eq!(way, [Point::new(1.0, 9.0), Point::new(9.0, 9.5)]);
    }

    #[test]
    fn a_way_around_a_notch_turns_at_its_corners() {
        let way = cup().path(Point::new(3.0, 1.0), Point::new(7.0, 1.0));
        let expected = 2.0 + 2.0 * 50f64.sqrt();
        assert_eq!(way.len(), 4);
        assert!((length(&way) - expected).abs() < 1e-9, "{way:?}");
    }

    #[test]
    fn ends_outside_are_moved_to_the_outline() {
        let way = cup().path(Point::new(5.0, 7.0), Point::new(12.0, 5.0));
        let (first, last) = (way[0], way[way.len() - 1]);
        assert!((length(&[first, Point::new(5.0, 7.0)]) - 1.0).abs() < 1e-9);
        assert!(last.distance(Point::new(10.0, 5.0)) < 1e-9);
    }

    #[test]
    fn a_way_goes_around_a_hole() {
        let outer = ring(&[(0., 0.), (10., 0.), (10., 10.), (0., 10.)]);
        let hole = ring(&[(3., 2.), (3., 9.), (7., 9.), (7., 2.)]);
        let mut walker = Walker::new(&Polygon { outer, holes: vec![hole] });
        let way = walker.path(Point::new(1.0, 5.0), Point::new(9.0, 5.0));
        assert!((length(&way) - (4.0 + 2.0 * 13f64.sqrt())).abs() < 1e-9, "{way:?}");
        assert!(!walker.inside(Point::new(5.0, 5.0)) && walker.inside(Point::new(3.0, 5.0)));
    }

    #[test]
    fn without_ground_a_way_is_straight_and_says_so() {
        let mut walker = Walker::new(&Polygon::default());
        let (a, b) = (Point::new(1.0, 2.0), Point::new(3.0, 4.0));
        assert!(!walker.has_ground() && walker.try_path(a, b).is_none());
        assert_eq!(walker.path(a, b), [a, b]);
    }

    #[test]
    fn no_number_gives_no_way() {
        assert!(cup().try_path(Point::new(f64::NAN, 0.0), Point::new(1.0, 1.0)).is_none());
    }
}
