//! Whether a region lies within rings, told without working out what is left of it.
//!
//! Where no edge of a ring comes near an edge of the region, each ring lies beside the region or holds all of one of its
//! rings, or lies inside it. One question for every ring then tells the rest. Edges are compared strip by strip
//! ([`Strips`]). O(n log n) for edges about as long as each other.

use crate::plain::is_near;
use crate::strips::{Edge, Strips, is_left};
use crate::{Region, Ring};
use kurbo::Rect;

impl Region {
    /// Whether `rings` turn around every point of the region, more often one way than the other: [`Region::without`]
    /// them it is empty then. `false` too where an outline comes near a ring, or a ring lies inside the region.
    pub fn lies_within(&self, rings: &[Ring]) -> bool {
        let edges: Vec<Edge> = rings.iter().flat_map(Ring::edges).collect();
        if edges.iter().any(|(from, _)| !from.is_finite()) {
            return false;
        }
        let strips = if edges.is_empty() { Strips::default() } else { Strips::sorted(&edges) };
        // A little more than two edges that are near can be apart.
        let boxes: Vec<Rect> = edges.iter().map(|&(a, b)| Rect::from_points(a, b).inflate(1e-3, 1e-3)).collect();
        let is_apart = |(a, b): Edge| {
            let (left, right, low, high) = (a.x.min(b.x), a.x.max(b.x), a.y.min(b.y), a.y.max(b.y));
            for strip in strips.between(a.y, b.y) {
                for &other in strips.members(strip) {
                    let beside = &boxes[other as usize];
                    let meets = beside.y0 <= high && low <= beside.y1 && beside.x0 <= right && left <= beside.x1;
                    if meets && is_near((a, b), edges[other as usize]) {
                        return false;
                    }
                }
            }
            true
        };
        // How often the rings turn around the first corner of a ring, and with it around all of that.
        let is_held = |ring: &Ring| {
            ring.points.first().is_none_or(|&point| {
                let near = strips.members(strips.at(point.y)).iter().map(|&edge| edges[edge as usize]);
                let turns =
                    near.filter(|edge| is_left(*edge, point)).map(|(from, to)| if from.y < to.y { 1 } else { -1 });
                turns.sum::<i32>() != 0
            })
        };
        let is_beside = |ring: &Ring| ring.points.first().is_none_or(|&point| !self.contains(point));
        self.rings().flat_map(Ring::edges).all(is_apart) && self.rings().all(is_held) && rings.iter().all(is_beside)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{self, Kind};
    use crate::{FillRule, Join};

    fn square(from: f64, to: f64) -> Ring {
        testing::ring(&[(from, from), (to, from), (to, to), (from, to)])
    }

    fn turned(mut ring: Ring) -> Ring {
        ring.points.reverse();
        ring
    }

    #[test]
    fn a_frame_lies_within_a_wider_one() {
        let frame = Region::from_rings(&[square(0.0, 10.0), square(4.0, 6.0)], FillRule::EvenOdd);
        assert!(frame.lies_within(&[square(-1.0, 11.0), turned(square(4.5, 5.5))]));
        assert!(frame.lies_within(&[square(-1.0, 11.0)]));
        for rings in [
            vec![],
            vec![square(-1.0, 9.0)],
            vec![square(0.0, 10.0)],
            vec![square(11.0, 12.0)],
            vec![square(-1.0, 11.0), turned(square(1.0, 2.0))],
            vec![square(-1.0, 11.0), turned(square(3.0, 7.0))],
        ] {
            assert!(!frame.lies_within(&rings), "{rings:?}");
        }
    }

    #[test]
    fn what_lies_within_leaves_nothing() {
        let mut within = 0;
        for seed in 0..200 {
            let region = testing::region(Kind::ALL[seed as usize % Kind::ALL.len()], 24, seed);
            let other = testing::region(Kind::ALL[seed as usize / 3 % Kind::ALL.len()], 24, seed / 2);
            let grown = region.offset(0.4, Join::Round { tolerance: 0.01 });
            for holder in [grown, other] {
                let rings: Vec<Ring> = holder.rings().cloned().collect();
                if region.lies_within(&rings) {
                    assert!(region.without(&rings).is_empty(), "{seed}");
                    within += 1;
                }
            }
        }
        assert!(within > 50, "{within}");
    }
}
