//! A polygon or a region cut into triangles: the constrained Delaunay
//! triangulation of its corners ([`crate::triangles`]), kept as plain arrays.
//!
//! Corners are rounded to [`RESOLUTION`], so that none moves when the polygon
//! came from this crate's operations. No points are
//! added: the triangles partition the polygon exactly. O(n log n).
//!
//! Defects: doubled corners and edges are taken once; edges that cross are
//! resolved first. A polygon without area has no mesh.

use crate::edge_tree::{Edge, EdgeTree};
use crate::locator::Crossings;
use crate::shape::contains;
use crate::triangles::{NOTHING, Triangles, WALL, point, triangulate};
use crate::{FillRule, Polygon, RESOLUTION, Region, Ring};
use kurbo::{Point, Rect};
use std::sync::OnceLock;

/// No triangle: what lies beyond an edge of the outline.
const OUTSIDE: u32 = u32::MAX;

/// A point nearer to a side of a triangle than this lies on it, mm: a thousandth of what corners are rounded to, and more
/// than rounding moves a point.
const TOUCH: f64 = 1e-9;

/// The triangles of a polygon or region.
#[derive(Clone, Debug)]
pub struct Mesh {
    points: Vec<Point>,
    triangles: Vec<[u32; 3]>,
    neighbours: Vec<[u32; 3]>,
    /// The boxes of the triangles, once a place was asked for.
    places: OnceLock<EdgeTree>,
}

impl Mesh {
    /// Triangulates `polygon`; `None` when it has no area.
    pub fn new(polygon: &Polygon) -> Option<Mesh> {
        Mesh::of_rings(polygon.rings())
    }

    /// Triangulates every polygon of `region`; `None` when it has no area.
    pub fn of_region(region: &Region) -> Option<Mesh> {
        Mesh::of_rings(region.rings())
    }

    /// Triangulates a polygon that a boolean operation made: its edges are resolved already, and resolving them once
    /// more would come back here.
    pub(crate) fn of_resolved(polygon: &Polygon) -> Option<Mesh> {
        let rings: Vec<&Ring> = polygon.rings().collect();
        Mesh::from_rings(&rings, false).or_else(|| Mesh::from_rings(&rings, true))
    }

    fn of_rings<'a>(rings: impl Iterator<Item = &'a Ring>) -> Option<Mesh> {
        let rings: Vec<&Ring> = rings.collect();
        if let Some(mesh) = Mesh::from_rings(&rings, false) {
            return Some(mesh);
        }
        let rings: Vec<Ring> = rings.into_iter().cloned().collect();
        let clean = Region::from_rings(&rings, FillRule::EvenOdd);
        Mesh::from_rings(&clean.rings().collect::<Vec<_>>(), true)
    }

    /// Corners, mm, without doubles.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// How many triangles there are.
    pub fn len(&self) -> usize {
        self.triangles.len()
    }

    /// Whether there are none, which a mesh that was made never is.
    pub fn is_empty(&self) -> bool {
        self.triangles.is_empty()
    }

    /// The corners of a triangle as places in [`Mesh::points`], turning from x
    /// towards y (positive area).
    pub fn corners(&self, triangle: usize) -> Option<[usize; 3]> {
        Some(self.triangles.get(triangle)?.map(|corner| corner as usize))
    }

    /// The corners of a triangle, mm.
    pub fn corner_points(&self, triangle: usize) -> Option<[Point; 3]> {
        let [a, b, c] = self.corners(triangle)?;
        Some([*self.points.get(a)?, *self.points.get(b)?, *self.points.get(c)?])
    }

    /// The triangle beyond the edge from corner `edge` to the next one; `None`
    /// when that edge belongs to the outline.
    pub fn neighbour(&self, triangle: usize, edge: usize) -> Option<usize> {
        let beyond = *self.neighbours.get(triangle)?.get(edge)?;
        (beyond != OUTSIDE).then_some(beyond as usize)
    }

    /// A triangle that holds `point`, on its edges included; the first of them
    /// when there are several, `None` outside. About O(log n).
    pub fn locate(&self, point: Point) -> Option<usize> {
        if !point.is_finite() {
            return None;
        }
        let places = self.places.get_or_init(|| self.boxes());
        let about = places.about(Rect::from_points(point, point)).map(|edge| edge.index);
        about.filter(|&triangle| self.holds(triangle, point)).min()
    }

    /// Whether `point` lies inside, and on the straight line to it from the middle of a triangle all does. Takes the
    /// triangles that the line goes through.
    pub fn sees(&self, triangle: usize, point: Point) -> bool {
        let Some(from) = self.corner_points(triangle).map(middle) else { return false };
        let along = point - from;
        let (mut here, mut entered) = (triangle, None);
        for _ in 0..self.len() {
            let Some(corners) = self.corner_points(here) else { return false };
            let ends = |edge: usize| (corners[edge], corners[(edge + 1) % 3]);
            // A corner on the line counts to its left.
            let is_left = |corner: Point| along.cross(corner - from) >= 0.0;
            let ahead = (0..3).filter(|edge| Some(*edge) != entered).find(|edge| {
                let (right, left) = ends(*edge);
                !is_left(right) && is_left(left)
            });
            let Some(edge) = ahead else { return self.holds(here, point) };
            let (right, left) = ends(edge);
            if (left - right).cross(point - right) >= 0.0 {
                return true;
            }
            let Some(beyond) = self.neighbour(here, edge) else { return false };
            entered = (0..3).find(|&back| self.neighbour(beyond, back) == Some(here));
            here = beyond;
        }
        false
    }

    /// The box of every triangle, as the edge from one of its ends to the other.
    fn boxes(&self) -> EdgeTree {
        let bounds = |index| {
            let [a, b, c] = self.corner_points(index).unwrap_or_default();
            let bounds = Rect::from_points(a, b).union_pt(c).inflate(TOUCH, TOUCH);
            Edge { from: Point::new(bounds.x0, bounds.y0), to: Point::new(bounds.x1, bounds.y1), index }
        };
        EdgeTree::new((0..self.len()).map(bounds).collect())
    }

    /// Whether `point` lies in a triangle or within [`TOUCH`] of its sides.
    fn holds(&self, triangle: usize, point: Point) -> bool {
        let Some([a, b, c]) = self.corner_points(triangle) else { return false };
        [(a, b), (b, c), (c, a)].into_iter().all(|(from, to)| {
            let along = to - from;
            along.cross(point - from) >= -TOUCH * (along.x.abs() + along.y.abs())
        })
    }

    /// `None` when nothing has area or, unless `anyway`, when edges cross.
    fn from_rings(rings: &[&Ring], anyway: bool) -> Option<Mesh> {
        let (corners, edges) = on_grid(rings);
        let points: Vec<Point> = corners.iter().copied().map(point).collect();
        let all = triangulate(&corners, &edges, anyway)?;
        let inside = are_inside(&all, &points, rings);
        let mut names = vec![OUTSIDE; all.corners.len()];
        let mut triangles = Vec::with_capacity(all.corners.len());
        for (triangle, corners) in all.corners.iter().enumerate().filter(|(triangle, _)| inside[*triangle]) {
            names[triangle] = triangles.len() as u32;
            triangles.push(*corners);
        }
        let name = |beyond: u32| names.get(beyond as usize).copied().unwrap_or(OUTSIDE);
        let neighbours = all.beyond.iter().zip(&inside).filter(|(_, inside)| **inside);
        let neighbours = neighbours.map(|(beyond, _)| beyond.map(name)).collect();
        let mesh = Mesh { points, triangles, neighbours, places: OnceLock::new() };
        (!mesh.is_empty()).then_some(mesh)
    }
}

/// The corners in steps of [`RESOLUTION`], each once, in order of appearance,
/// and the edges between them.
fn on_grid(rings: &[&Ring]) -> (Vec<(i64, i64)>, Vec<[usize; 2]>) {
    let step = |v: f64| (v / RESOLUTION).round() as i64;
    let mut all: Vec<(i64, i64)> = Vec::new();
    let mut ends: Vec<usize> = Vec::new();
    for ring in rings {
        all.extend(ring.points.iter().filter(|p| p.is_finite()).map(|p| (step(p.x), step(p.y))));
        ends.push(all.len());
    }
    let mut order: Vec<((i64, i64), usize)> = all.iter().copied().zip(0..).collect();
    order.sort_unstable();
    // The first appearance stands for all that follow.
    let mut first: Vec<usize> = (0..all.len()).collect();
    for pair in order.windows(2) {
        if pair[0].0 == pair[1].0 {
            first[pair[1].1] = first[pair[0].1];
        }
    }
    let mut name = vec![0; all.len()];
    let mut corners = Vec::new();
    for i in 0..all.len() {
        if first[i] == i {
            name[i] = corners.len();
            corners.push(all[i]);
        } else {
            name[i] = name[first[i]];
        }
    }
    let mut edges = Vec::with_capacity(all.len());
    let mut start = 0;
    for end in ends {
        let ring = &name[start..end];
        edges.extend(ring.iter().zip(ring.iter().cycle().skip(1)).map(|(a, b)| [*a, *b]).filter(|[a, b]| a != b));
        start = end;
    }
    (corners, edges)
}

/// Which triangles lie inside: those of a part that the edges bound lie on the same side. A part that reaches beyond all
/// edges lies outside; for any other the middle of its roundest triangle is asked, so that no sliver ever decides.
fn are_inside(all: &Triangles, points: &[Point], rings: &[&Ring]) -> Vec<bool> {
    let mut inside = vec![false; all.corners.len()];
    let mut seen = vec![false; all.corners.len()];
    let mut part = Vec::new();
    let mut judges: Vec<(Point, std::ops::Range<usize>)> = Vec::new();
    for seed in 0..all.corners.len() {
        if std::mem::replace(&mut seen[seed], true) {
            continue;
        }
        let start = part.len();
        part.push(seed);
        let mut is_open = false;
        let mut next = start;
        while let Some(&triangle) = part.get(next) {
            next += 1;
            for &beyond in all.beyond[triangle].iter().filter(|beyond| **beyond != WALL && !all.crossed) {
                if beyond == NOTHING {
                    is_open = true;
                } else if !std::mem::replace(&mut seen[beyond as usize], true) {
                    part.push(beyond as usize);
                }
            }
        }
        if is_open {
            part.truncate(start);
            continue;
        }
        let corners = |triangle: usize| all.corners[triangle].map(|corner| points[corner as usize]);
        let judge = part[start..].iter().map(|&triangle| (roundness(corners(triangle)), triangle));
        if let Some((_, triangle)) = judge.max_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1))) {
            judges.push((middle(corners(triangle)), start..part.len()));
        }
    }
    let mut mark = |triangles: std::ops::Range<usize>, verdict: bool| {
        part[triangles].iter().for_each(|triangle| inside[*triangle] = verdict);
    };
    match <[_; 1]>::try_from(judges) {
        Ok([(middle, triangles)]) => mark(triangles, contains(rings.iter().copied(), middle)),
        Err(judges) => {
            let crossings = Crossings::of_rings(rings.iter().copied());
            judges.into_iter().for_each(|(middle, triangles)| mark(triangles, crossings.contains(middle)));
        }
    }
    inside
}

fn middle([a, b, c]: [Point; 3]) -> Point {
    ((a.to_vec2() + b.to_vec2() + c.to_vec2()) / 3.0).to_point()
}

/// Grows with the circle that a triangle has room for, mm².
fn roundness([a, b, c]: [Point; 3]) -> f64 {
    let double = (b - a).cross(c - a);
    double * double / (a.distance_squared(b) + b.distance_squared(c) + c.distance_squared(a))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::ring;

    fn area(mesh: &Mesh) -> f64 {
        let double = |t| mesh.corner_points(t).map_or(0.0, |[a, b, c]| (b - a).cross(c - a));
        (0..mesh.len()).map(double).sum::<f64>() / 2.0
    }

    #[test]
    fn triangles_partition_a_frame() {
        let outer = ring(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]);
        let hole = ring(&[(4.0, 4.0), (4.0, 6.0), (6.0, 6.0), (6.0, 4.0)]);
        let mesh = Mesh::new(&Polygon { outer, holes: vec![hole] }).unwrap();
        assert!((area(&mesh) - 96.0).abs() < 1e-9);
        assert_eq!(mesh.len(), 8);
        assert!(mesh.locate(Point::new(5.0, 5.0)).is_none());
        assert!(mesh.locate(Point::new(1.0, 5.0)).is_some());
        assert!(mesh.locate(Point::new(0.0, 0.0)).is_some());
    }

    #[test]
    fn a_hole_is_in_the_way() {
        let outer = ring(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]);
        let hole = ring(&[(4.0, 4.0), (4.0, 6.0), (6.0, 6.0), (6.0, 4.0)]);
        let mesh = Mesh::new(&Polygon { outer, holes: vec![hole] }).unwrap();
        let left = mesh.locate(Point::new(0.5, 5.0)).unwrap();
        assert!(mesh.sees(left, Point::new(3.9, 5.0)) && mesh.sees(left, Point::new(1.0, 9.0)));
        assert!(!mesh.sees(left, Point::new(5.0, 5.0)) && !mesh.sees(left, Point::new(9.5, 5.0)));
        assert!(!mesh.sees(left, Point::new(-1.0, 5.0)) && !mesh.sees(left, Point::new(f64::NAN, 5.0)));
    }

    #[test]
    fn a_bow_tie_is_resolved_first() {
        let outer = ring(&[(0.0, 0.0), (2.0, 2.0), (2.0, 0.0), (0.0, 2.0)]);
        let mesh = Mesh::new(&Polygon { outer, holes: vec![] }).unwrap();
        assert!((area(&mesh) - 2.0).abs() < 1e-5, "{}", area(&mesh));
    }

    #[test]
    fn nothing_has_no_mesh() {
        assert!(Mesh::new(&Polygon::default()).is_none());
        let flat = ring(&[(0.0, 0.0), (2.0, 2.0), (4.0, 4.0)]);
        assert!(Mesh::new(&Polygon { outer: flat, holes: vec![] }).is_none());
        let lost = ring(&[(f64::NAN, 0.0), (2.0, f64::INFINITY), (4.0, 4.0)]);
        assert!(Mesh::new(&Polygon { outer: lost, holes: vec![] }).is_none());
    }
}
