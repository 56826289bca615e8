//! A polygon or a region cut into triangles: the constrained Delaunay
//! triangulation of its corners, kept as plain arrays.
//!
//! Made from corners rounded to [`RESOLUTION`], so that no corner moves when the
//! polygon came from this crate's operations; by `spade`, or where there are but a
//! few and nothing is out of the ordinary by `delaunay.rs`. No points are added: the
//! triangles partition the polygon exactly. O(n log n).
//!
//! Defects: doubled corners and edges are taken once; edges that cross are
//! resolved first. A polygon without area has no mesh.

use crate::delaunay::{self, Triangles};
use crate::locator::Crossings;
use crate::strips::Strips;
use crate::{FillRule, Polygon, RESOLUTION, Region, Ring};
use kurbo::Point;
use spade::{ConstrainedDelaunayTriangulation, HierarchyHintGenerator, Point2, PositionInTriangulation, Triangulation};

type Delaunay = ConstrainedDelaunayTriangulation<Point2<f64>, (), (), (), HierarchyHintGenerator<f64>>;

/// Up to so many corners are a few.
const FEW: usize = 256;

/// A point so near to an edge of a triangle lies in it: twice the area that it makes with the edge, mm².
const ON_EDGE: f64 = 1e-12;

/// No triangle: what lies beyond an edge of the outline.
const OUTSIDE: u32 = u32::MAX;

/// The triangles of a polygon or region.
#[derive(Clone, Debug)]
pub struct Mesh {
    points: Vec<Point>,
    triangles: Vec<[u32; 3]>,
    neighbours: Vec<[u32; 3]>,
    finder: Finder,
}

/// What finds the triangle that holds a point.
#[derive(Clone, Debug)]
enum Finder {
    /// The whole triangulation, and which triangle each of its faces is.
    Faces(Delaunay, Vec<u32>),
    /// Which triangles reach into which strip.
    Strips(Strips),
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
        match &self.finder {
            Finder::Faces(delaunay, faces) => locate_face(delaunay, faces, point),
            Finder::Strips(strips) => {
                let mut near = strips.members(strips.at(point.y)).iter().map(|&triangle| triangle as usize);
                near.find(|&triangle| self.corner_points(triangle).is_some_and(|corners| holds(corners, point)))
            }
        }
    }

    /// `None` when nothing has area or, unless `anyway`, when edges cross.
    fn from_rings(rings: &[&Ring], anyway: bool) -> Option<Mesh> {
        let (corners, sorted, edges) = on_grid(rings);
        if corners.len() <= FEW
            && let Some(triangles) = delaunay::triangulate(&corners, &sorted, &edges)
        {
            return Mesh::of_triangles(&corners, triangles);
        }
        let mut crossed = false;
        let positions: Vec<Point2<f64>> = corners.iter().map(|c| Point2::new(c.0 as f64, c.1 as f64)).collect();
        let delaunay = Delaunay::try_bulk_load_cdt(positions, edges, |_| crossed = true).ok()?;
        if (crossed && !anyway) || delaunay.num_vertices() != corners.len() {
            return None;
        }
        let points = off_grid(&corners);
        let inside = faces_inside(&delaunay, rings, crossed);
        let mut faces = vec![OUTSIDE; delaunay.num_all_faces()];
        let mut kept = 0;
        for (face, inside) in inside.iter().enumerate() {
            if *inside {
                faces[face] = kept;
                kept += 1;
            }
        }
        let (mut triangles, mut neighbours) = (Vec::with_capacity(kept as usize), Vec::with_capacity(kept as usize));
        for face in delaunay.inner_faces() {
            if !inside[face.fix().index()] {
                continue;
            }
            let edges = face.adjacent_edges();
            triangles.push(edges.map(|edge| edge.from().fix().index() as u32));
            neighbours.push(edges.map(|edge| match edge.is_constraint_edge() {
                true => OUTSIDE,
                false => faces[edge.rev().face().fix().index()],
            }));
        }
        let mesh = Mesh { points, triangles, neighbours, finder: Finder::Faces(delaunay, faces) };
        (!mesh.is_empty()).then_some(mesh)
    }

    /// `None` when there are no triangles.
    fn of_triangles(corners: &[delaunay::Corner], found: Triangles) -> Option<Mesh> {
        let points = off_grid(corners);
        let heights = |corners: &[u32; 3]| {
            let heights = corners.map(|corner| points[corner as usize].y);
            let (low, high) = (heights[0].min(heights[1]).min(heights[2]), heights[0].max(heights[1]).max(heights[2]));
            (Point::new(0.0, low), Point::new(0.0, high))
        };
        let extents: Vec<(Point, Point)> = found.corners.iter().map(heights).collect();
        let finder = Finder::Strips(Strips::new(&extents));
        let mesh = Mesh { points, triangles: found.corners, neighbours: found.beyond, finder };
        (!mesh.is_empty()).then_some(mesh)
    }
}

/// The triangle that holds a point, by the face of a triangulation.
fn locate_face(delaunay: &Delaunay, faces: &[u32], point: Point) -> Option<usize> {
    let at = Point2::new(point.x / RESOLUTION, point.y / RESOLUTION);
    let triangle = |face: usize| faces.get(face).copied().filter(|t| *t != OUTSIDE);
    let found = match delaunay.locate(at) {
        PositionInTriangulation::OnFace(face) => triangle(face.index()),
        PositionInTriangulation::OnEdge(edge) => {
            let edge = delaunay.directed_edge(edge);
            [edge.face(), edge.rev().face()].into_iter().filter_map(|face| triangle(face.fix().index())).min()
        }
        PositionInTriangulation::OnVertex(vertex) => {
            let edges = delaunay.vertex(vertex).out_edges();
            edges.filter_map(|edge| triangle(edge.face().fix().index())).min()
        }
        PositionInTriangulation::OutsideOfConvexHull(_) | PositionInTriangulation::NoTriangulation => None,
    };
    found.map(|t| t as usize)
}

/// Whether a point lies in a triangle or on its outline.
fn holds([a, b, c]: [Point; 3], point: Point) -> bool {
    let is_beside = |from: Point, to: Point| (to - from).cross(point - from) >= -ON_EDGE;
    is_beside(a, b) && is_beside(b, c) && is_beside(c, a)
}

/// The corners, mm.
fn off_grid(corners: &[delaunay::Corner]) -> Vec<Point> {
    corners.iter().map(|c| Point::new(c.0 as f64 * RESOLUTION, c.1 as f64 * RESOLUTION)).collect()
}

/// The corners in steps of [`RESOLUTION`], each once, in order of appearance; their places sorted by x, then y; and
/// the edges between them.
fn on_grid(rings: &[&Ring]) -> (Vec<delaunay::Corner>, Vec<u32>, Vec<[usize; 2]>) {
    let step = |v: f64| (v / RESOLUTION).round() as i64;
    let mut all: Vec<(i64, i64)> = Vec::new();
    let mut ends: Vec<usize> = Vec::new();
    for ring in rings {
        all.extend(ring.points.iter().filter(|p| p.is_finite()).map(|p| (step(p.x), step(p.y))));
        ends.push(all.len());
    }
    let mut order: Vec<usize> = (0..all.len()).collect();
    order.sort_unstable_by_key(|&i| (all[i], i));
    // The first appearance stands for all that follow.
    let mut first: Vec<usize> = (0..all.len()).collect();
    for pair in order.windows(2) {
        if all[pair[0]] == all[pair[1]] {
            first[pair[1]] = first[pair[0]];
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
    let sorted = order.into_iter().filter(|&i| first[i] == i).map(|i| name[i] as u32).collect();
    (corners, sorted, edges)
}

/// Which faces lie inside: one question for each part that the edges bound, put
/// to the middle of its roundest triangle, so that no sliver ever decides.
fn faces_inside(delaunay: &Delaunay, rings: &[&Ring], leaky: bool) -> Vec<bool> {
    let crossings = Crossings::of_rings(rings.iter().copied());
    let mut inside = vec![false; delaunay.num_all_faces()];
    let mut seen = vec![false; delaunay.num_all_faces()];
    let mut part = Vec::new();
    for seed in delaunay.inner_faces() {
        if std::mem::replace(&mut seen[seed.fix().index()], true) {
            continue;
        }
        part.clear();
        part.push(seed.fix());
        let mut next = 0;
        while let Some(&face) = part.get(next) {
            next += 1;
            for edge in delaunay.face(face).adjacent_edges() {
                let beyond = edge.rev().face();
                if let Some(beyond) = beyond.as_inner().filter(|_| !leaky && !edge.is_constraint_edge())
                    && !std::mem::replace(&mut seen[beyond.fix().index()], true)
                {
                    part.push(beyond.fix());
                }
            }
        }
        let roundness = |face: &spade::handles::FixedFaceHandle<spade::handles::InnerTag>| {
            let [a, b, c] = delaunay.face(*face).positions().map(|p| Point::new(p.x, p.y));
            (b - a).cross(c - a) / (a.distance(b) + b.distance(c) + c.distance(a))
        };
        let Some(judge) = part.iter().max_by(|a, b| roundness(a).total_cmp(&roundness(b)).then(b.cmp(a))) else {
            continue;
        };
        let [a, b, c] = delaunay.face(*judge).positions();
        let middle = Point::new((a.x + b.x + c.x) / 3.0 * RESOLUTION, (a.y + b.y + c.y) / 3.0 * RESOLUTION);
        let verdict = crossings.contains(middle);
        for face in &part {
            inside[face.index()] = verdict;
        }
    }
    inside
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
