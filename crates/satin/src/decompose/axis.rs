//! The chordal axis: a triangulated shape seen as a tree or net of limbs.
//!
//! In a triangulation without inner points every inner edge is a chord across
//! the shape. A triangle with one chord ends a limb, one with two lies along a
//! limb, one with three joins limbs; the line through the middles of the chords is
//! the axis (L. Prasad, "Morphological analysis of shapes", CNLS Newsletter 139,
//! 1997). The triangles partition the shape, so nothing is lost, and the chords
//! are where a limb can be cut.
//!
//! Building takes the time of the triangulation, O(n log n).

use kurbo::{Point, Vec2};
use laidwork_geometry::{Mesh, Polygon};
use std::cell::OnceCell;

/// A chord as seen along a limb: the corners at its left and right end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Chord {
    pub(crate) left: usize,
    pub(crate) right: usize,
}

impl Chord {
    pub(crate) fn flipped(self) -> Chord {
        Chord { left: self.right, right: self.left }
    }
}

/// A disc that touches the outline about a triangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Disc {
    pub(crate) centre: Point,
    pub(crate) radius: f64,
}

/// A triangulated shape and which of its triangles still carry the axis.
#[derive(Clone, Debug)]
pub(crate) struct Axis {
    mesh: Mesh,
    /// Triangles that have not been pruned.
    alive: Vec<bool>,
    /// How many living triangles are next to each.
    degrees: Vec<u8>,
    /// The disc about each, once it was asked for.
    discs: Vec<OnceCell<Disc>>,
    /// For every triangle those pruned into it.
    taken: Vec<Vec<usize>>,
    /// The corner that follows each one on the outline.
    following: Vec<usize>,
}

impl Axis {
    pub(crate) fn new(polygon: &Polygon) -> Option<Axis> {
        let mesh = Mesh::new(polygon)?;
        let count = mesh.len();
        let mut following = vec![0; mesh.points().len()];
        // A triangle alone beside others is a film that rounding leaves along a straight edge.
        let is_film = |triangle: usize| count > 1 && (0..3).all(|edge| mesh.neighbour(triangle, edge).is_none());
        for triangle in (0..count).filter(|t| !is_film(*t)) {
            let corners = mesh.corners(triangle).unwrap_or_default();
            for edge in (0..3).filter(|edge| mesh.neighbour(triangle, *edge).is_none()) {
                if let Some(slot) = following.get_mut(corners[edge]) {
                    *slot = corners[(edge + 1) % 3];
                }
            }
        }
        let alive = (0..count).map(|triangle| !is_film(triangle)).collect();
        let beside = |triangle: usize| (0..3).filter(|edge| mesh.neighbour(triangle, *edge).is_some()).count();
        let degrees = (0..count).map(|triangle| beside(triangle) as u8).collect();
        let discs = vec![OnceCell::new(); count];
        Some(Axis { mesh, alive, degrees, discs, taken: vec![Vec::new(); count], following })
    }

    /// The outline from one corner on to another, no more than `most` corners of it.
    pub(crate) fn outline(&self, from: usize, to: usize, most: usize) -> Vec<Point> {
        let mut points = vec![self.point(from)];
        let mut here = from;
        while here != to && points.len() < most {
            here = self.following.get(here).copied().unwrap_or(to);
            points.push(self.point(here));
        }
        points
    }

    pub(crate) fn len(&self) -> usize {
        self.mesh.len()
    }

    pub(crate) fn is_alive(&self, triangle: usize) -> bool {
        self.alive.get(triangle).copied().unwrap_or(false)
    }

    /// The living triangles next to one, each with the chord to it seen on leaving.
    pub(crate) fn next(&self, triangle: usize) -> impl Iterator<Item = (usize, Chord)> + '_ {
        let corners = self.mesh.corners(triangle).unwrap_or_default();
        (0..3).filter_map(move |edge| {
            let beyond = self.mesh.neighbour(triangle, edge).filter(|t| self.is_alive(*t))?;
            let (from, to) = (corners.get(edge)?, corners.get((edge + 1) % 3)?);
            Some((beyond, Chord { left: *from, right: *to }))
        })
    }

    pub(crate) fn degree(&self, triangle: usize) -> usize {
        self.degrees.get(triangle).copied().unwrap_or(0).into()
    }

    pub(crate) fn corners(&self, triangle: usize) -> [usize; 3] {
        self.mesh.corners(triangle).unwrap_or_default()
    }

    pub(crate) fn point(&self, corner: usize) -> Point {
        self.mesh.points().get(corner).copied().unwrap_or_default()
    }

    pub(crate) fn ends(&self, chord: Chord) -> (Point, Point) {
        (self.point(chord.left), self.point(chord.right))
    }

    pub(crate) fn middle(&self, chord: Chord) -> Point {
        let (left, right) = self.ends(chord);
        left.midpoint(right)
    }

    pub(crate) fn width(&self, chord: Chord) -> f64 {
        let (left, right) = self.ends(chord);
        left.distance(right)
    }

    /// The direction along the limb at a chord, square to it, of length one.
    pub(crate) fn along(&self, chord: Chord) -> Vec2 {
        let (left, right) = self.ends(chord);
        let across = right - left;
        let length = across.hypot();
        if length > 0.0 { Vec2::new(across.y, -across.x) / length } else { Vec2::ZERO }
    }

    pub(crate) fn area(&self, triangle: usize) -> f64 {
        let [a, b, c] = self.mesh.corner_points(triangle).unwrap_or_default();
        (b - a).cross(c - a) / 2.0
    }

    /// The circle through the corners of a triangle; of slivers that do not see
    /// its centre inside the shape, the one about their longest edge.
    pub(crate) fn disc(&self, triangle: usize) -> Disc {
        let found = || self.disc_about(triangle);
        self.discs.get(triangle).map_or_else(found, |disc| *disc.get_or_init(found))
    }

    fn disc_about(&self, triangle: usize) -> Disc {
        let [a, b, c] = self.mesh.corner_points(triangle).unwrap_or_default();
        let (u, v) = (b - a, c - a);
        let twice = 2.0 * u.cross(v);
        let edges = [(b, c), (c, a)].map(|(from, to)| (from.distance(to), from, to));
        let (length, from, to_end) = edges
            .into_iter()
            .fold((a.distance(b), a, b), |longest, edge| if edge.0 < longest.0 { longest } else { edge });
        let to = Vec2::new(v.y * u.hypot2() - u.y * v.hypot2(), u.x * v.hypot2() - v.x * u.hypot2()) / twice;
        if to.hypot() <= length || (to.is_finite() && self.mesh.sees(triangle, a + to)) {
            return Disc { centre: a + to, radius: to.hypot() };
        }
        Disc { centre: from.midpoint(to_end), radius: length / 2.0 }
    }

    /// The greatest disc about the living triangles, as a diameter, mm.
    pub(crate) fn widest(&self) -> f64 {
        let living = (0..self.len()).filter(|t| self.is_alive(*t));
        living.map(|t| 2.0 * self.disc(t).radius).fold(0.0, f64::max)
    }

    /// Gives `triangles` to the triangle `to`, which goes on carrying the axis.
    pub(crate) fn prune(&mut self, triangles: &[usize], to: usize) {
        let mut given = self.taken.get_mut(to).map(std::mem::take).unwrap_or_default();
        for &triangle in triangles {
            if let Some(alive) = self.alive.get_mut(triangle)
                && std::mem::replace(alive, false)
            {
                for beside in (0..3).filter_map(|edge| self.mesh.neighbour(triangle, edge)) {
                    if let Some(degree) = self.degrees.get_mut(beside) {
                        *degree = degree.saturating_sub(1);
                    }
                }
            }
            given.push(triangle);
            if let Some(more) = self.taken.get_mut(triangle) {
                given.append(more);
            }
        }
        if let Some(taken) = self.taken.get_mut(to) {
            *taken = given;
        }
    }

    /// A triangle with all those pruned into it.
    pub(crate) fn with_taken(&self, triangle: usize) -> impl Iterator<Item = usize> + '_ {
        std::iter::once(triangle).chain(self.taken.get(triangle).into_iter().flatten().copied())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_geometry::Ring;

    fn bar() -> Axis {
        let points =
            (0..=10).map(|i| Point::new(i as f64, 0.0)).chain((0..=10).rev().map(|i| Point::new(i as f64, 2.0)));
        Axis::new(&Polygon { outer: Ring::new(points.collect()), holes: Vec::new() }).unwrap()
    }

    #[test]
    fn a_bar_is_one_limb() {
        let axis = bar();
        let degrees: Vec<usize> = (0..axis.len()).map(|t| axis.degree(t)).collect();
        assert_eq!(degrees.iter().filter(|d| **d == 1).count(), 2);
        assert!(degrees.iter().all(|d| *d == 1 || *d == 2));
    }

    #[test]
    fn a_chord_has_its_ends_on_their_sides() {
        let axis = bar();
        for triangle in 0..axis.len() {
            let middle = axis.corners(triangle).iter().fold(Vec2::ZERO, |s, c| s + axis.point(*c).to_vec2()) / 3.0;
            for (_, chord) in axis.next(triangle) {
                let (left, right) = axis.ends(chord);
                let out = axis.along(chord);
                assert!((axis.middle(chord).to_vec2() - middle).dot(out) > 0.0);
                assert!((right - left).dot(crate::line::right_of(out)) > 0.0);
            }
        }
    }

    #[test]
    fn a_disc_goes_through_the_corners() {
        let axis = bar();
        for triangle in 0..axis.len() {
            let disc = axis.disc(triangle);
            assert!(
                axis.corners(triangle)
                    .iter()
                    .all(|c| (axis.point(*c).distance(disc.centre) - disc.radius).abs() < 1e-9)
            );
        }
    }
}
