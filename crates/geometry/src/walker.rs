//! Shortest ways inside one polygon.
//!
//! The polygon is triangulated once ([`Mesh`]). The straight line is tried
//! first. Without holes there is only one chain of triangles between two
//! places, and the funnel algorithm pulls it tight. With holes the exact search
//! of `shortest.rs` is asked; only when that has looked at eight times as many
//! candidates as there are triangles (long windings with holes), a chain found by
//! A* is pulled tight instead, which was at most 16 % longer in trials.
//!
//! Use it for travel: threads that must stay under what is sewn later. One
//! question costs O(t log t) for the t triangles looked at; the buffers are
//! kept between questions.

use crate::chain::{Chain, portal};
use crate::edge_tree::{Edge, EdgeTree};
use crate::shortest::Shortest;
use crate::{Join, Mesh, Polygon, RESOLUTION, Region, closest_on_segment};
use kurbo::Point;
use std::sync::OnceLock;

/// Finds ways inside one polygon.
#[derive(Clone, Debug)]
pub struct Walker {
    ground: Option<Ground>,
    /// Where the clearance is kept, and how far an end may lie from it, mm.
    core: Option<(Ground, f64)>,
}

/// A point inside and the triangle that holds it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Place {
    pub(crate) point: Point,
    pub(crate) triangle: usize,
}

#[derive(Clone, Debug)]
struct Ground {
    mesh: Mesh,
    /// The edges of the outline, once a point outside was asked for, and the triangle on the inner side of each.
    walls: OnceLock<(EdgeTree, Vec<usize>)>,
    /// Whether there is only one chain of triangles between any two, because there are no holes.
    is_tree: bool,
    shortest: Shortest,
    chain: Chain,
}

impl Walker {
    /// Prepares `polygon`.
    pub fn new(polygon: &Polygon) -> Walker {
        Walker { ground: Mesh::new(polygon).map(Ground::new), core: None }
    }

    /// Prepares `polygon` so that ways keep `clearance` mm away from the outline
    /// wherever a disc of that radius fits, but for the approach to their ends;
    /// in narrower parts they may touch it, as those of [`Walker::new`] do.
    ///
    /// The clearance is kept to within a tenth. Costs three offsets and three
    /// boolean operations, once.
    pub fn with_clearance(polygon: &Polygon, clearance: f64) -> Walker {
        let mut walker = Walker::new(polygon);
        if clearance > RESOLUTION && clearance.is_finite() {
            let core = core(&Region::from(polygon.clone()), clearance);
            walker.core = Mesh::of_region(&core).map(|mesh| (Ground::new(mesh), 3.0 * clearance));
        }
        walker
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
        if let Some((core, reach)) = &mut self.core
            && let Some(way) = path_through(ground, core, *reach, from, to)
        {
            return Some(way);
        }
        ground.path(from, to)
    }
}

/// What of `region` is `clearance` away from its outline, together with the parts that are
/// too narrow for that, enlarged so that they join it.
fn core(region: &Region, clearance: f64) -> Region {
    let round = Join::Round { tolerance: clearance * 0.02 };
    let wide = region.offset(-clearance, round);
    // A little more than the clearance, so that flattened arcs leave no slivers.
    let narrow = region.difference(&wide.offset(clearance * 1.03, round));
    let polygons = narrow.polygons.into_iter().filter(|part| part.area() > 0.05 * clearance * clearance).collect();
    let narrow = Region { polygons };
    if narrow.is_empty() || wide.is_empty() {
        return wide;
    }
    wide.union(&narrow.offset(clearance * 1.1, round).intersection(region))
}

/// A way that enters `core` near `from` and leaves it near `to`; `None` when an end is out of
/// `reach` or the core does not connect them.
fn path_through(ground: &mut Ground, core: &mut Ground, reach: f64, from: Place, to: Place) -> Option<Vec<Point>> {
    let (enter, leave) = (core.place(from.point)?, core.place(to.point)?);
    if from.point.distance(to.point) <= enter.point.distance(from.point) + leave.point.distance(to.point) {
        return None;
    }
    let mut way = approach(ground, reach, from, enter.point)?;
    way.extend(core.path(enter, leave)?);
    way.extend(approach(ground, reach, to, leave.point)?.into_iter().rev());
    way.dedup_by(|a, b| a.distance_squared(*b) < 1e-18);
    if way.len() == 1 {
        way.push(to.point);
    }
    Some(way)
}

/// The way from an end to where it enters the core, that point itself left out.
fn approach(ground: &mut Ground, reach: f64, from: Place, enter: Point) -> Option<Vec<Point>> {
    let to = ground.place(enter)?;
    let mut way = ground.path(from, to)?;
    let length: f64 = way.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
    way.pop();
    (length <= reach).then_some(way)
}

impl Ground {
    fn new(mesh: Mesh) -> Ground {
        Ground {
            walls: OnceLock::new(),
            is_tree: is_tree(&mesh),
            shortest: Shortest::new(&mesh),
            chain: Chain::new(mesh.len()),
            mesh,
        }
    }

    /// The edge of the outline nearest to a point, and the triangle on its inner side.
    fn wall(&self, point: Point) -> Option<(&Edge, usize)> {
        let (tree, triangles) = self.walls.get_or_init(|| walls(&self.mesh));
        let (edge, _) = tree.nearest(point, f64::INFINITY)?;
        Some((edge, *triangles.get(edge.index)?))
    }

    fn place(&self, point: Point) -> Option<Place> {
        if !point.is_finite() {
            return None;
        }
        if let Some(triangle) = self.mesh.locate(point) {
            return Some(Place { point, triangle });
        }
        let (wall, triangle) = self.wall(point)?;
        Some(Place { point: closest_on_segment(point, wall.from, wall.to), triangle })
    }

    fn path(&mut self, from: Place, to: Place) -> Option<Vec<Point>> {
        if from.triangle == to.triangle || sees(&self.mesh, from, to) {
            return Some(vec![from.point, to.point]);
        }
        if !self.is_tree
            && let Some(way) = self.shortest.way(&self.mesh, from, to)
        {
            return Some(way);
        }
        self.chain.way(&self.mesh, from, to)
    }
}

/// Whether no two triangles are joined by more than one chain of neighbours.
fn is_tree(mesh: &Mesh) -> bool {
    let joints: usize = (0..mesh.len()).map(|t| (0..3).filter(|&k| mesh.neighbour(t, k).is_some()).count()).sum();
    let mut seen = vec![false; mesh.len()];
    let mut parts = 0;
    let mut stack = Vec::new();
    for seed in 0..mesh.len() {
        if seen[seed] {
            continue;
        }
        parts += 1;
        seen[seed] = true;
        stack.push(seed);
        while let Some(triangle) = stack.pop() {
            for beyond in (0..3).filter_map(|k| mesh.neighbour(triangle, k)) {
                if !std::mem::replace(&mut seen[beyond], true) {
                    stack.push(beyond);
                }
            }
        }
    }
    joints / 2 + parts == mesh.len()
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

/// The edges of the outline, and the triangle on the inner side of each.
fn walls(mesh: &Mesh) -> (EdgeTree, Vec<usize>) {
    let (mut edges, mut triangles) = (Vec::new(), Vec::new());
    let sides = (0..mesh.len()).flat_map(|triangle| (0..3).map(move |edge| (triangle, edge)));
    for (triangle, edge) in sides.filter(|&(triangle, edge)| mesh.neighbour(triangle, edge).is_none()) {
        if let Some((from, to)) = portal(mesh, triangle, edge) {
            edges.push(Edge { from, to, index: triangles.len() });
            triangles.push(triangle);
        }
    }
    (EdgeTree::new(edges), triangles)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{self, Kind, length, ring};
    use crate::{Region, Ring};

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

    /// Length of the shortest way by trying every pair of corners that see each other (Dijkstra).
    fn by_visibility(walker: &Walker, polygon: &Polygon, from: Point, to: Point) -> f64 {
        let ground = walker.ground.as_ref().unwrap();
        let locator = crate::Locator::new(&Region::from(polygon.clone()));
        let mut nodes = vec![from, to];
        nodes.extend_from_slice(ground.mesh.points());
        let edges: Vec<_> = polygon.rings().flat_map(Ring::edges).collect();
        let sees = |a: Point, b: Point| {
            let crosses = |&(p, q): &(Point, Point)| {
                let side = |o: Point, e: Point, x: Point| (e - o).cross(x - o);
                let (s, t) = (side(a, b, p), side(a, b, q));
                let (u, v) = (side(p, q, a), side(p, q, b));
                s * t < 0.0 && u * v < 0.0 && s.abs().min(t.abs()).min(u.abs()).min(v.abs()) > 1e-9
            };
            let samples = (1..20).map(|i| a.lerp(b, f64::from(i) / 20.0));
            !edges.iter().any(crosses) && samples.into_iter().all(|p| locator.depth(p) > -1e-9)
        };
        let mut best = vec![f64::INFINITY; nodes.len()];
        let mut done = vec![false; nodes.len()];
        best[0] = 0.0;
        while let Some(at) = (0..nodes.len()).filter(|&i| !done[i]).min_by(|&a, &b| best[a].total_cmp(&best[b])) {
            done[at] = true;
            for next in 0..nodes.len() {
                let length = best[at] + nodes[at].distance(nodes[next]);
                if !done[next] && length < best[next] && sees(nodes[at], nodes[next]) {
                    best[next] = length;
                }
            }
        }
        best[1]
    }

    #[test]
    fn ways_are_as_short_as_the_visibility_graph_finds() {
        let mut tried = 0;
        for seed in 0..60 {
            let kind = [Kind::Star, Kind::Comb, Kind::Spiral, Kind::Lattice, Kind::Tangle][seed as usize % 5];
            for polygon in testing::region(kind, 24, seed).polygons.into_iter().take(3) {
                let mut walker = Walker::new(&polygon);
                let mut random = testing::Random(seed);
                let mut inside = || {
                    (0..200)
                        .map(|_| Point::new(random.between(-28., 28.), random.between(-28., 28.)))
                        .find(|p| walker.inside(*p))
                };
                let (Some(from), Some(to)) = (inside(), inside()) else { continue };
                let way = walker.path(from, to);
                let expected = by_visibility(&walker, &polygon, from, to);
                assert!((length(&way) - expected).abs() < 1e-6, "{kind:?} {seed}: {} {expected}", length(&way));
                tried += 1;
            }
        }
        assert!(tried > 60, "{tried}");
    }

    #[test]
    fn clearance_is_kept_around_a_notch() {
        let outer = [(0., 0.), (4., 0.), (4., 6.), (6., 6.), (6., 0.), (10., 0.), (10., 10.), (0., 10.)];
        let polygon = Polygon { outer: ring(&outer), holes: vec![] };
        let way = Walker::with_clearance(&polygon, 1.0).path(Point::new(2.0, 1.0), Point::new(8.0, 1.0));
        let locator = crate::Locator::new(&Region::from(polygon));
        let dense = way.windows(2).flat_map(|pair| (0..=50).map(|i| pair[0].lerp(pair[1], f64::from(i) / 50.0)));
        for point in dense {
            assert!(locator.depth(point) > 0.9, "{point} {way:?}");
        }
    }

    #[test]
    fn clearance_gives_way_in_a_neck() {
        // Two rooms joined by a corridor 0.4 wide.
        let outer = [
            (0., 0.),
            (6., 0.),
            (6., 2.8),
            (10., 2.8),
            (10., 0.),
            (16., 0.),
            (16., 6.),
            (10., 6.),
            (10., 3.2),
            (6., 3.2),
            (6., 6.),
            (0., 6.),
        ];
        let polygon = Polygon { outer: ring(&outer), holes: vec![] };
        let mut walker = Walker::with_clearance(&polygon, 1.0);
        let way = walker.path(Point::new(0.1, 0.2), Point::new(15.9, 0.2));
        let locator = crate::Locator::new(&Region::from(polygon));
        let dense = way.windows(2).flat_map(|pair| (0..=50).map(|i| pair[0].lerp(pair[1], f64::from(i) / 50.0)));
        for point in dense {
            assert!(locator.depth(point) > -1e-9, "{point} {way:?}");
            let near_neck = (4.0..12.0).contains(&point.x);
            let near_end = !(1.6..14.4).contains(&point.x);
            assert!(near_neck || near_end || locator.depth(point) > 0.9, "{point} {way:?}");
        }
    }

    #[test]
    fn ways_with_clearance_stay_inside() {
        let mut tried = 0;
        for seed in 0..44 {
            let kind = Kind::ALL[seed as usize % Kind::ALL.len()];
            for polygon in testing::region(kind, 24, seed).polygons.into_iter().take(2) {
                let mut walker = Walker::with_clearance(&polygon, 0.8);
                let locator = crate::Locator::new(&Region::from(polygon));
                let mut random = testing::Random(seed);
                let mut anywhere = || Point::new(random.between(-28., 28.), random.between(-28., 28.));
                let Some(way) = walker.try_path(anywhere(), anywhere()) else { continue };
                for pair in way.windows(2) {
                    for i in 0..=20 {
                        let point = pair[0].lerp(pair[1], f64::from(i) / 20.0);
                        assert!(locator.depth(point) > -1e-5, "{kind:?} {seed} {}", locator.depth(point));
                    }
                }
                tried += 1;
            }
        }
        assert!(tried > 40, "{tried}");
    }

    #[test]
    fn no_number_gives_no_way() {
        assert!(cup().try_path(Point::new(f64::NAN, 0.0), Point::new(1.0, 1.0)).is_none());
    }
}
