//! Triangles of outlines made at random, and what is left to the general way.

use super::*;
use crate::testing::{self, Kind};
use crate::{Polygon, RESOLUTION};

/// The triangles of rings of corners that differ.
fn of_rings(rings: &[Vec<Corner>]) -> (Vec<Corner>, Option<Triangles>) {
    let corners: Vec<Corner> = rings.iter().flatten().copied().collect();
    let mut sorted: Vec<u32> = (0..corners.len() as u32).collect();
    sorted.sort_by_key(|&corner| corners[corner as usize]);
    let mut edges = Vec::new();
    let mut first = 0;
    for ring in rings {
        edges.extend((0..ring.len()).map(|i| [first + i, first + (i + 1) % ring.len()]));
        first += ring.len();
    }
    let triangles = triangulate(&corners, &sorted, &edges);
    (corners, triangles)
}

fn on_grid(polygon: &Polygon) -> Vec<Vec<Corner>> {
    let step = |v: f64| (v / RESOLUTION).round() as i64;
    polygon.rings().map(|ring| ring.points.iter().map(|p| (step(p.x), step(p.y))).collect()).collect()
}

fn twice_the_area(corners: &[Corner]) -> i128 {
    let cross = |(a, b): (&Corner, &Corner)| i128::from(a.0) * i128::from(b.1) - i128::from(a.1) * i128::from(b.0);
    corners.iter().zip(corners.iter().cycle().skip(1)).map(cross).sum()
}

#[test]
fn triangles_partition_the_inside_and_no_circle_holds_a_corner_beyond() {
    let mut looked_at = 0;
    for seed in 0..300 {
        for polygon in testing::region(Kind::ALL[seed as usize % Kind::ALL.len()], 30, seed).polygons {
            let rings = on_grid(&polygon);
            let (corners, Some(found)) = of_rings(&rings) else { continue };
            let net = Net::new(&corners);
            let mut area = 0;
            for (triangle, &[a, b, c]) in found.corners.iter().enumerate() {
                assert!(net.turn(a, b, c) > 0, "{seed}");
                area += i128::from(net.turn(a, b, c));
                for (edge, &beyond) in found.beyond[triangle].iter().enumerate().filter(|(_, beyond)| **beyond != NONE)
                {
                    let ends = [[a, b], [b, c], [c, a]][edge];
                    let other = found.corners[beyond as usize];
                    assert!(found.beyond[beyond as usize].contains(&(triangle as u32)), "{seed}");
                    let apex = other.into_iter().find(|corner| !ends.contains(corner)).unwrap();
                    assert!(!net.holds(a, b, c, apex), "{seed}");
                }
            }
            assert_eq!(area, rings.iter().map(|ring| twice_the_area(ring)).sum::<i128>(), "{seed}");
            looked_at += 1;
        }
    }
    assert!(looked_at > 250, "{looked_at}");
}

#[test]
fn a_turned_outline_has_the_same_triangles() {
    let ell = vec![(0, 0), (90, 1), (91, 30), (33, 32), (30, 80), (2, 81)];
    let turned: Vec<Corner> = ell.iter().map(|&(x, y)| (-y, x)).collect();
    let triangles = |ring: Vec<Corner>| of_rings(&[ring]).1.unwrap().corners;
    assert_eq!(triangles(ell), triangles(turned));
}

#[test]
fn what_is_out_of_the_ordinary_is_left_to_the_general_way() {
    for ring in [
        vec![(0, 0), (20, 20), (20, 0), (0, 20)],
        vec![(0, 0), (20, 0), (20, 20), (10, 0), (0, 20)],
        vec![(0, 0), (1, 1), (2, 2)],
        vec![(0, 0), (1 << 40, 0), (0, 1 << 40)],
    ] {
        let found = of_rings(&[ring.clone()]).1;
        assert!(found.is_none_or(|found| found.corners.is_empty()), "{ring:?}");
    }
}
