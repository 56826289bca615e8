//! Polygons whose inside hangs together at corners only, taken apart.
//!
//! A boolean operation leaves a polygon whose outline touches itself as one,
//! though no way leads from one side of the touching corner to the other. Here
//! such a polygon becomes as many polygons as its inside has parts, so that
//! every [`Polygon`] of a [`crate::Region`] is one connected face. A hole that
//! touches the outline, or another hole, in one corner stays a hole.
//!
//! Meant for polygons with a corner that appears twice, the others are one face. The
//! polygon is triangulated ([`Mesh`]) and the outline of each part traced. O(n log n).

use crate::{Mesh, Polygon, Ring};

/// The connected faces of `polygon`, whose rings may touch at corners.
pub(crate) fn split(polygon: &Polygon) -> Vec<Polygon> {
    Mesh::of_resolved(polygon).map_or_else(Vec::new, |mesh| faces(&mesh))
}

/// Every part of the mesh as a polygon.
fn faces(mesh: &Mesh) -> Vec<Polygon> {
    let mut polygons = Vec::new();
    let mut seen = vec![false; mesh.len()];
    let mut walked = vec![[false; 3]; mesh.len()];
    let mut part = Vec::new();
    let mut at = vec![NOWHERE; mesh.points().len()];
    for seed in 0..mesh.len() {
        if std::mem::replace(&mut seen[seed], true) {
            continue;
        }
        part.clear();
        part.push(seed);
        let mut next = 0;
        while let Some(&triangle) = part.get(next) {
            next += 1;
            let beyond = (0..3).filter_map(|edge| mesh.neighbour(triangle, edge));
            part.extend(beyond.filter(|&beyond| !std::mem::replace(&mut seen[beyond], true)));
        }
        let mut polygon = Polygon::default();
        for &triangle in &part {
            for edge in 0..3 {
                if mesh.neighbour(triangle, edge).is_none() && !walked[triangle][edge] {
                    let walk = walk(mesh, triangle, edge, &mut walked);
                    take_loops(mesh, &walk, &mut at, &mut polygon);
                }
            }
        }
        polygons.push(polygon);
    }
    polygons
}

/// The corners along the outline from an edge of it back to that edge, the
/// inside always on the same side.
fn walk(mesh: &Mesh, mut triangle: usize, mut edge: usize, walked: &mut [[bool; 3]]) -> Vec<usize> {
    let mut corners = Vec::new();
    while !std::mem::replace(&mut walked[triangle][edge], true) {
        corners.extend(mesh.corners(triangle).map(|corners| corners[edge]));
        edge = (edge + 1) % 3;
        // Around the corner through the inside, up to the next edge of the outline.
        while let Some(beyond) = mesh.neighbour(triangle, edge) {
            let Some(back) = (0..3).find(|&k| mesh.neighbour(beyond, k) == Some(triangle)) else { break };
            (triangle, edge) = (beyond, (back + 1) % 3);
        }
    }
    corners
}

/// A corner that is not on the walk at present.
const NOWHERE: usize = usize::MAX;

/// Cuts a walk where it comes back to a corner: one loop is the outer ring of the
/// part, the others are holes. `at` is all [`NOWHERE`] before and after.
fn take_loops(mesh: &Mesh, walk: &[usize], at: &mut [usize], polygon: &mut Polygon) {
    let mut open: Vec<usize> = Vec::new();
    for &corner in walk {
        if at[corner] != NOWHERE {
            close(mesh, open.split_off(at[corner]), at, polygon);
        }
        at[corner] = open.len();
        open.push(corner);
    }
    close(mesh, open, at, polygon);
}

fn close(mesh: &Mesh, corners: Vec<usize>, at: &mut [usize], polygon: &mut Polygon) {
    for &corner in &corners {
        at[corner] = NOWHERE;
    }
    let ring = Ring::new(corners.iter().filter_map(|&corner| mesh.points().get(corner).copied()).collect());
    if ring.points.len() < 3 {
        return;
    }
    if ring.signed_area() > 0.0 {
        polygon.outer = ring;
    } else {
        polygon.holes.push(ring);
    }
}

#[cfg(test)]
mod tests {
    use crate::testing::ring;
    use crate::{FillRule, Region, Ring};

    fn region(rings: &[Ring]) -> Region {
        Region::from_rings(rings, FillRule::EvenOdd)
    }

    #[test]
    fn holes_in_a_row_from_edge_to_edge_cut_a_square_in_two() {
        let square = ring(&[(0., 0.), (4., 0.), (4., 4.), (0., 4.)]);
        let left = ring(&[(0., 2.), (1., 1.), (2., 2.), (1., 3.)]);
        let right = ring(&[(2., 2.), (3., 1.), (4., 2.), (3., 3.)]);
        let region = region(&[square, left, right]);
        assert_eq!(region.polygons.len(), 2);
        assert!((region.area() - 12.0).abs() < 1e-9);
        assert!(region.polygons.iter().all(|polygon| polygon.holes.is_empty() && (polygon.area() - 6.0).abs() < 1e-9));
    }

    #[test]
    fn a_hole_that_touches_the_outline_once_stays_a_hole() {
        let square = ring(&[(0., 0.), (4., 0.), (4., 4.), (0., 4.)]);
        let diamond = ring(&[(0., 2.), (1., 1.), (2., 2.), (1., 3.)]);
        let region = region(&[square, diamond]);
        assert_eq!(region.polygons.len(), 1);
        assert_eq!(region.polygons[0].holes.len(), 1);
        assert!((region.area() - 14.0).abs() < 1e-9);
    }

    #[test]
    fn a_frame_of_tiles_that_touch_at_corners_falls_apart() {
        let tile = |x: f64, y: f64| ring(&[(x, y), (x + 1., y), (x + 1., y + 1.), (x, y + 1.)]);
        let region = region(&[tile(1., 0.), tile(0., 1.), tile(2., 1.), tile(1., 2.)]);
        assert_eq!(region.polygons.len(), 4);
        assert!((region.area() - 4.0).abs() < 1e-9);
    }
}
