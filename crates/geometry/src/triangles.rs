//! Corners triangulated so that every edge of an outline is one of the triangles': what a [`crate::Mesh`] is made of.
//!
//! The Delaunay triangulation of the corners alone (`delaunator`) is made first. Most outlines are drawn or parted so
//! finely that each of their edges is in it, and then it is the constrained one too. Where an edge is missing, a corner
//! was passed over or a triangle has no area, `spade` makes the constrained triangulation instead, in three to five times
//! the time. Both take corners on a grid, and answer the same on every platform. O(n log n).

use crate::RESOLUTION;
use kurbo::Point;
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};

type Constrained = ConstrainedDelaunayTriangulation<Point2<f64>>;

/// Beyond this side of a triangle lies an edge of the outline.
pub(crate) const WALL: u32 = u32::MAX;

/// Beyond this side of a triangle there is nothing, and no edge of the outline either.
pub(crate) const NOTHING: u32 = u32::MAX - 1;

/// Triangles from edge to edge of a set of corners, inside and outside of the outline alike.
#[derive(Clone, Debug, Default)]
pub(crate) struct Triangles {
    /// The places of their corners, turning from x towards y.
    pub(crate) corners: Vec<[u32; 3]>,
    /// Which triangle lies beyond the edge from each corner to the next, [`WALL`] or [`NOTHING`].
    pub(crate) beyond: Vec<[u32; 3]>,
    /// Whether edges of the outline cross: then each triangle is inside or not for itself.
    pub(crate) crossed: bool,
}

/// Triangulates corners, in steps of [`RESOLUTION`] and none of them twice, with the edges between them. `None` when
/// nothing has area or, unless `anyway`, when edges cross.
pub(crate) fn triangulate(corners: &[(i64, i64)], edges: &[[usize; 2]], anyway: bool) -> Option<Triangles> {
    plain(corners, edges).or_else(|| constrained(corners, edges, anyway))
}

/// A corner in mm.
pub(crate) fn point(corner: (i64, i64)) -> Point {
    Point::new(corner.0 as f64 * RESOLUTION, corner.1 as f64 * RESOLUTION)
}

/// The Delaunay triangulation of the corners, if every edge is in it.
fn plain(corners: &[(i64, i64)], edges: &[[usize; 2]]) -> Option<Triangles> {
    // Its triangles turn from y towards x, so it is given the mirror image.
    let mirrored = |&(x, y): &(i64, i64)| delaunator::Point { x: x as f64, y: -(y as f64) };
    let found = delaunator::triangulate(&corners.iter().map(mirrored).collect::<Vec<_>>());
    let mut walls = Walls::new(corners.len(), edges);
    let mut all = Triangles::default();
    all.corners.reserve_exact(found.len());
    all.beyond.reserve_exact(found.len());
    for (triangle, twins) in found.triangles.chunks_exact(3).zip(found.halfedges.chunks_exact(3)) {
        let &[a, b, c] = triangle else { continue };
        if !turns(*corners.get(a)?, *corners.get(b)?, *corners.get(c)?) {
            return None;
        }
        let mut side = |from, to, twin: usize| match (walls.is_met(from, to), twin) {
            (true, _) => WALL,
            (false, delaunator::EMPTY) => NOTHING,
            (false, twin) => (twin / 3) as u32,
        };
        all.beyond.push([side(a, b, twins[0]), side(b, c, twins[1]), side(c, a, twins[2])]);
        all.corners.push([a as u32, b as u32, c as u32]);
    }
    (!all.corners.is_empty() && walls.are_all_met()).then_some(all)
}

/// Whether a triangle has area and turns from x towards y.
fn turns(a: (i64, i64), b: (i64, i64), c: (i64, i64)) -> bool {
    let along = |from: i64, to: i64| i128::from(to) - i128::from(from);
    along(a.0, b.0) * along(a.1, c.1) > along(a.1, b.1) * along(a.0, c.0)
}

/// The edges of the outline by their first corner, and which of them were met.
struct Walls {
    /// Each once, the first corner before the second, in order.
    edges: Vec<[u32; 2]>,
    /// Edges of corner `i`: `edges[first[i]..first[i + 1]]`.
    first: Vec<u32>,
    met: Vec<bool>,
}

impl Walls {
    fn new(corners: usize, edges: &[[usize; 2]]) -> Walls {
        let mut sorted: Vec<[u32; 2]> = edges.iter().map(|&[a, b]| [a.min(b) as u32, a.max(b) as u32]).collect();
        sorted.sort_unstable();
        sorted.dedup();
        let mut first = vec![0; corners + 1];
        for edge in &sorted {
            first[edge[0] as usize + 1] += 1;
        }
        for i in 1..first.len() {
            first[i] += first[i - 1];
        }
        Walls { met: vec![false; sorted.len()], edges: sorted, first }
    }

    /// Whether there is an edge between two corners, which is met then.
    fn is_met(&mut self, from: usize, to: usize) -> bool {
        let (low, high) = (from.min(to), from.max(to) as u32);
        let own = self.first[low] as usize..self.first[low + 1] as usize;
        let Some(place) = own.into_iter().find(|&place| self.edges[place][1] == high) else { return false };
        self.met[place] = true;
        true
    }

    fn are_all_met(&self) -> bool {
        self.met.iter().all(|met| *met)
    }
}

/// The constrained Delaunay triangulation; `None` when there is none or, unless `anyway`, when edges cross.
fn constrained(corners: &[(i64, i64)], edges: &[[usize; 2]], anyway: bool) -> Option<Triangles> {
    let mut crossed = false;
    let positions: Vec<Point2<f64>> = corners.iter().map(|c| Point2::new(c.0 as f64, c.1 as f64)).collect();
    let made = Constrained::try_bulk_load_cdt(positions, edges.to_vec(), |_| crossed = true).ok()?;
    if (crossed && !anyway) || made.num_vertices() != corners.len() {
        return None;
    }
    // Its first face is all that lies beyond the others.
    let faces = made.inner_faces().map(|face| face.adjacent_edges());
    let (corners, beyond) = faces
        .map(|edges| {
            let side = |edge: spade::handles::DirectedEdgeHandle<'_, _, _, _, _>| {
                let far = edge.rev().face();
                match (edge.is_constraint_edge(), far.is_outer()) {
                    (true, _) => WALL,
                    (false, true) => NOTHING,
                    (false, false) => far.fix().index() as u32 - 1,
                }
            };
            (edges.map(|edge| edge.from().fix().index() as u32), edges.map(side))
        })
        .unzip();
    Some(Triangles { corners, beyond, crossed })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{self, Kind};

    const MM: i64 = 1_000_000;

    /// The corners of a ring and the edges around it.
    fn around(points: &[Point]) -> (Vec<(i64, i64)>, Vec<[usize; 2]>) {
        let step = |v: f64| (v / RESOLUTION).round() as i64;
        let corners: Vec<(i64, i64)> = points.iter().map(|p| (step(p.x), step(p.y))).collect();
        (corners, (0..points.len()).map(|i| [i, (i + 1) % points.len()]).collect())
    }

    fn double_area(all: &Triangles, corners: &[(i64, i64)]) -> f64 {
        let corner = |triangle: &[u32; 3], k: usize| point(corners[triangle[k] as usize]);
        all.corners.iter().map(|t| (corner(t, 1) - corner(t, 0)).cross(corner(t, 2) - corner(t, 0))).sum()
    }

    fn walls(all: &Triangles) -> usize {
        all.beyond.iter().flatten().filter(|beyond| **beyond == WALL).count()
    }

    #[test]
    fn where_every_edge_is_there_it_is_the_constrained_one() {
        let (mut same, mut missing) = (0, 0);
        for seed in 0..40 {
            let kind = Kind::ALL[seed as usize % Kind::ALL.len()];
            for polygon in testing::region(kind, 40, seed).polygons {
                let (corners, edges) = around(&polygon.outer.points);
                let Some(constrained) = constrained(&corners, &edges, false) else { continue };
                let Some(plain) = plain(&corners, &edges) else {
                    missing += 1;
                    continue;
                };
                // Which of the two ways four corners on a circle are joined is open.
                assert_eq!(walls(&plain), walls(&constrained), "{kind:?} {seed}");
                let area = double_area(&constrained, &corners);
                assert!((double_area(&plain, &corners) - area).abs() <= 1e-4 * area, "{kind:?} {seed}");
                same += 1;
            }
        }
        assert!(same > 500 && missing > 5, "{same} {missing}");
    }

    #[test]
    fn a_missing_edge_is_put_in() {
        let corners = [(0, 0), (10 * MM, 0), (5 * MM, MM), (5 * MM, -MM)];
        let edges = [[0, 1], [0, 2], [2, 1], [0, 3], [3, 1]];
        assert!(plain(&corners, &edges).is_none());
        let all = triangulate(&corners, &edges, false).unwrap();
        assert_eq!((all.corners.len(), walls(&all)), (2, 6));
    }

    #[test]
    fn what_lies_beyond_comes_back() {
        let (corners, _) = around(&testing::region(Kind::Star, 40, 3).polygons[0].outer.points);
        let all = plain(&corners, &[]).unwrap();
        let beyond = |triangle: usize| all.beyond[triangle].iter().filter(|beyond| **beyond != NOTHING);
        for triangle in 0..all.corners.len() {
            assert!(beyond(triangle).all(|far| beyond(*far as usize).any(|back| *back as usize == triangle)));
        }
    }

    #[test]
    fn corners_in_a_row_have_no_triangles() {
        let corners = [(0, 0), (MM, MM), (2 * MM, 2 * MM)];
        assert!(triangulate(&corners, &[[0, 1], [1, 2], [2, 0]], true).is_none_or(|all| all.corners.is_empty()));
    }
}
