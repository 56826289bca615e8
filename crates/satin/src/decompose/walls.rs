//! The cuts of the limbs at a node, as walls that no look goes through.

use super::pairing::LimbEnd;
use kurbo::{Point, Vec2};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

/// A segment that no look goes through.
pub(crate) type Wall = [Point; 2];

/// So few walls are all looked at; more are looked up by where they are.
const FEW: usize = 16;

/// The walls at a node.
#[derive(Clone, Debug, Default)]
pub(crate) struct NodeWalls {
    walls: Vec<(LimbEnd, Wall)>,
    index: Option<RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>>,
}

impl NodeWalls {
    pub(crate) fn new(walls: Vec<(LimbEnd, Wall)>) -> NodeWalls {
        let boxed = |(i, (_, [a, b])): (usize, &(LimbEnd, Wall))| {
            GeomWithData::new(Rectangle::from_corners([a.x, a.y], [b.x, b.y]), i)
        };
        let index = (walls.len() > FEW).then(|| RTree::bulk_load(walls.iter().enumerate().map(boxed).collect()));
        NodeWalls { walls, index }
    }

    /// How far along a ray the nearest wall is but those of the ends `but`; `longest` where none is nearer.
    fn reach(&self, from: Point, way: Vec2, longest: f64, but: &[LimbEnd]) -> f64 {
        let meets = |(end, wall): &(LimbEnd, Wall)| if but.contains(end) { None } else { meets(from, way, wall) };
        match &self.index {
            None => self.walls.iter().filter_map(meets).fold(longest, f64::min),
            Some(index) => {
                let to = from + way * longest;
                let along = AABB::from_corners([from.x, from.y], [to.x, to.y]);
                let near = index.locate_in_envelope_intersecting(along).filter_map(|entry| self.walls.get(entry.data));
                near.filter_map(meets).fold(longest, f64::min)
            }
        }
    }
}

/// The walls about one piece of a strand.
#[derive(Clone, Debug, Default)]
pub(crate) struct Walls<'a> {
    /// The nodes it lies between.
    pub(crate) nodes: Vec<&'a NodeWalls>,
    /// Ends of its own limbs, which are none.
    pub(crate) but: Vec<LimbEnd>,
}

impl Walls<'_> {
    /// How far along a ray the nearest wall is; `longest` where none is nearer.
    pub(crate) fn reach(&self, from: Point, way: Vec2, longest: f64) -> f64 {
        self.nodes.iter().fold(longest, |nearest, node| node.reach(from, way, nearest, &self.but))
    }
}

/// How far along a ray a wall is.
fn meets(from: Point, way: Vec2, [a, b]: &Wall) -> Option<f64> {
    let along = *b - *a;
    let turn = way.cross(along);
    if turn.abs() < 1e-12 {
        return None;
    }
    let offset = *a - from;
    let (distance, share) = (offset.cross(along) / turn, offset.cross(way) / turn);
    (distance > 0.0 && (0.0..=1.0).contains(&share)).then_some(distance)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn many_walls_stop_a_look_as_few_do() {
        let wall = |i: usize| ((i, 0), [Point::new(i as f64, -1.0), Point::new(i as f64 + 0.5, 1.0)]);
        for count in [3, FEW, FEW + 1, 500] {
            let node = NodeWalls::new((1..=count).map(wall).collect());
            let reach = |but: &[LimbEnd], longest: f64| node.reach(Point::ZERO, Vec2::new(1.0, 0.0), longest, but);
            assert!((reach(&[], 9.0) - 1.25).abs() < 1e-12);
            assert!((reach(&[(1, 0)], 9.0) - 2.25).abs() < 1e-12);
            assert!((reach(&[], 0.5) - 0.5).abs() < 1e-12);
        }
    }
}
