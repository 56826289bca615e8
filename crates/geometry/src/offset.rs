//! Regions grown and shrunk by a distance.
//!
//! Each ring is drawn anew at the distance: every edge moved square to itself,
//! every corner that opens joined as asked, every corner that closes led through
//! the old corner (or, where both edges are long enough, cut at the crossing of
//! the moved ones). The turns of this curve around a point are those of the
//! region plus one for each moved edge's rectangle and each join that covers
//! the point (minus one when shrinking), so keeping what has a positive number
//! of turns gives exactly the region united with, or without, those rectangles and
//! joins: one side of SVG's stroke of the outline. Curves that do not cross are that region as they are (`plain.rs`);
//! the crossings of others are resolved in integers ([`crate::RESOLUTION`]); parts thinner than four times that are rounding and dropped.
//!
//! O(n log n) while the distance is small against the shape; every pair of moved edges
//! that cross costs as well, so [`Region::simplify`] outlines of many thousand points first. Shrunk far, shapes
//! like combs and stars are shrunk by smaller distances first.

use crate::boolean::{Rule, clean};
use crate::{FARTHEST, Polygon, RESOLUTION, Region, Ring, plain, room};
use kurbo::{Point, Vec2};
use std::f64::consts::PI;

/// What an outline does at its outer corners when it is moved out (SVG's words).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Join {
    /// An arc about the corner, flattened to a sagitta of `tolerance` mm.
    Round {
        /// Farthest the arc's chords may lie inside it, mm.
        tolerance: f64,
    },
    /// As `Round`, but drawn by tangents of the arc: it lies outside by at most `tolerance` mm, and a corner that
    /// hardly turns stays one.
    Around {
        /// Farthest the corners of the tangents may lie outside the arc, mm.
        tolerance: f64,
    },
    /// Prolonged edges up to `limit` times the distance, beyond that a bevel.
    Mitre {
        /// SVG's mitre limit.
        limit: f64,
    },
    /// A straight cut.
    Bevel,
}

impl Region {
    /// This region grown by `distance` mm (shrunk when it is negative): outer
    /// rings move out, holes close. Joins are made where the moved edges part.
    ///
    /// Straight parts are exact to [`crate::RESOLUTION`]; round joins lie
    /// inside the true arc by at most their tolerance and end on it, those around lie outside. A distance that is no
    /// number counts as 0.
    pub fn offset(&self, distance: f64, join: Join) -> Region {
        let distance = if distance.is_nan() { 0.0 } else { distance.clamp(-FARTHEST, FARTHEST) };
        if distance.abs() < RESOLUTION / 2.0 {
            return self.clone();
        }
        // Shrinking polygons cannot meet; growing ones are united, neighbours in the list first.
        let polygons: Vec<Region> = self.polygons.iter().map(|polygon| redrawn(polygon, distance, join)).collect();
        if distance < 0.0 {
            return Region { polygons: polygons.into_iter().flat_map(|region| region.polygons).collect() };
        }
        united(polygons)
    }
}

impl Polygon {
    /// As [`Region::offset`].
    pub fn offset(&self, distance: f64, join: Join) -> Region {
        if distance.is_nan() || distance.abs() < RESOLUTION / 2.0 {
            return Region::from(self.clone());
        }
        redrawn(self, distance.clamp(-FARTHEST, FARTHEST), join)
    }
}

/// One polygon grown or shrunk.
fn redrawn(polygon: &Polygon, distance: f64, join: Join) -> Region {
    if distance < 0.0 && !has_room(polygon, -distance) {
        return Region::default();
    }
    let crowded = is_crowded(polygon, distance.abs());
    if let Join::Round { tolerance } | Join::Around { tolerance } = join
        && distance < 0.0
        && (crowded || is_tight(polygon, -distance))
        // No arc lies farther inside the true one than that.
        && !room::may_hold(polygon, -distance - tolerance.max(RESOLUTION) - RESOLUTION)
    {
        return Region::default();
    }
    if let Join::Round { tolerance } | Join::Around { tolerance } = join
        && crowded
    {
        // Twice by half is as far, and what is thin goes, or closes up, before it gets in the way of everything about it.
        let half = distance / 2.0;
        let join = match join {
            Join::Around { .. } => Join::Around { tolerance: tolerance / 2.0 },
            _ => Join::Round { tolerance: tolerance / 2.0 },
        };
        return polygon.offset(half, join).offset(half, join);
    }
    let rings = raw(polygon, distance, join);
    let mut region = plain::as_polygon(&rings).map_or_else(|| clean(&rings, Rule::Positive), Region::from);
    region.polygons.retain(|polygon| polygon.area() > polygon.perimeter() * (2.0 * RESOLUTION));
    region
}

/// The raw curves of all rings.
pub(crate) fn raw(polygon: &Polygon, distance: f64, join: Join) -> Vec<Ring> {
    polygon.rings().map(|ring| moved(ring, distance, join)).collect()
}

/// Whether a disc of that radius could fit into `polygon`, by its bounds and its area alone.
pub(crate) fn has_room(polygon: &Polygon, radius: f64) -> bool {
    let narrowest = polygon.bounds().map_or(0.0, |bounds| bounds.width().min(bounds.height()));
    narrowest > 2.0 * radius && polygon.area() > PI * radius * radius
}

/// Whether there may well be no room for a disc of that radius in a polygon: two areas over the perimeter is the mean width.
fn is_tight(polygon: &Polygon, radius: f64) -> bool {
    polygon.perimeter() * radius > TIGHT * polygon.area()
}

/// Where a polygon is shrunk by more than this many times half its mean width, little of it may be left.
const TIGHT: f64 = 1.5;

/// Whether so many moved edges would cross each other that a smaller distance comes first.
fn is_crowded(polygon: &Polygon, distance: f64) -> bool {
    let edges: usize = polygon.rings().map(|ring| ring.points.len()).sum();
    // Two areas over the perimeter is the mean width.
    edges > MANY && polygon.perimeter() * distance > CROWDED * polygon.area()
}

/// Outlines with fewer edges are redrawn at once, however crowded they are.
const MANY: usize = 1_000;

/// Where a polygon is shrunk by more than this many times half its mean width, most of it is in the way of itself.
const CROWDED: f64 = 8.0;

/// The union, a few at a time, so that crowds become few before they meet others.
fn united(mut regions: Vec<Region>) -> Region {
    while regions.len() > 1 {
        regions = regions.chunks(FEW).map(Region::union_all).collect();
    }
    regions.pop().unwrap_or_default()
}

/// How many grown polygons are united at once.
const FEW: usize = 16;

/// The raw curve: `ring` with its edges moved to their right (for a ring of
/// positive area: outward) by `distance`.
fn moved(ring: &Ring, distance: f64, join: Join) -> Ring {
    let mut corners: Vec<Point> = ring.points.iter().copied().filter(|point| point.is_finite()).collect();
    corners.dedup_by(|a, b| a.distance(*b) < RESOLUTION / 2.0);
    while corners.len() > 1 && corners[0].distance(corners[corners.len() - 1]) < RESOLUTION / 2.0 {
        corners.pop();
    }
    let mut points = Vec::with_capacity(2 * corners.len());
    let (Some(&first), Some(&last)) = (corners.first(), corners.last()) else { return Ring::default() };
    // The angle of an arc's chord, or between its tangents.
    let part = |tolerance: f64| tolerance.max(RESOLUTION) / distance.abs();
    let chord = match join {
        Join::Round { tolerance } => 2.0 * (1.0 - part(tolerance).clamp(0.0, 1.0)).acos(),
        Join::Around { tolerance } => 2.0 * (1.0 + part(tolerance)).recip().acos(),
        _ => 0.0,
    };
    let mut into = Moved::new(last, first, distance);
    for (i, &at) in corners.iter().enumerate() {
        let out = Moved::new(at, corners.get(i + 1).copied().unwrap_or(first), distance);
        let corner = Corner::new(at, &into, &out);
        if corner.closes(distance) {
            corner.lead_through(distance, into.square.min(out.square), &mut points);
        } else {
            corner.join(distance, join, chord, &mut points);
        }
        into = out;
    }
    Ring::new(points)
}

/// An edge that moves square to itself.
#[derive(Clone, Copy, Debug)]
struct Moved {
    /// Its direction.
    along: Vec2,
    /// The way to where it moves to, as long as the distance.
    by: Vec2,
    /// The square of its length, mm².
    square: f64,
}

impl Moved {
    /// The edge from `a` to `b`, moved to its right: y points down, so that is a turn by -90°.
    fn new(a: Point, b: Point, distance: f64) -> Moved {
        let edge = b - a;
        let along = edge.normalize();
        Moved { along, by: -along.turn_90() * distance, square: edge.hypot2() }
    }
}

/// A corner whose edges move square to themselves.
#[derive(Clone, Copy, Debug)]
struct Corner {
    at: Point,
    /// The way from it to where its two edges move to; both are as long as the distance.
    from: Vec2,
    to: Vec2,
    /// Cross and dot product of the edges' directions: sine and cosine of the turn.
    sin: f64,
    cos: f64,
}

impl Corner {
    fn new(at: Point, into: &Moved, out: &Moved) -> Corner {
        let (sin, cos) = (into.along.cross(out.along), into.along.dot(out.along));
        Corner { at, from: into.by, to: out.by, sin, cos }
    }

    /// Whether the edges move towards each other, or straight on; those that fold back part to the side they turn to.
    fn closes(&self, distance: f64) -> bool {
        let folds = self.sin.abs() <= 0.0 && self.cos < 0.0;
        let turn = if folds { self.sin.signum() } else { self.sin };
        turn * distance <= 0.0
    }

    /// Where the moved edges cross, and how many distances away from the corner that is.
    fn tip(&self, distance: f64) -> (Point, f64) {
        let both = self.from + self.to;
        let reach = 2.0 * distance.abs() / both.hypot().max(1e-12 * distance.abs());
        (self.at + both.normalize() * (distance.abs() * reach), reach)
    }

    /// Draws the curve where the moved edges close in: cut where they cross, if the shorter of them (`shortest`
    /// is its square, mm²) has the length for it, and through the old corner else.
    fn lead_through(&self, distance: f64, shortest: f64, points: &mut Vec<Point>) {
        // The tangent of half the turn.
        let trim = 2.0 * distance.abs() * self.sin.abs() / (1.0 + self.cos).max(1e-12);
        if trim * trim <= shortest {
            points.push(self.tip(distance).0);
        } else {
            points.extend([self.at + self.from, self.at, self.at + self.to]);
        }
    }

    /// Draws the join where the moved edges part; `chord` is the angle of an arc's chord.
    fn join(&self, distance: f64, join: Join, chord: f64, points: &mut Vec<Point>) {
        let (tip, reach) = self.tip(distance);
        if (reach - 1.0) * distance.abs() < RESOLUTION {
            points.push(tip);
            return;
        }
        match join {
            Join::Mitre { limit } if reach <= limit => points.push(tip),
            Join::Mitre { .. } | Join::Bevel => points.extend([self.at + self.from, self.at + self.to]),
            Join::Around { tolerance } if (reach - 1.0) * distance.abs() <= tolerance => points.push(tip),
            Join::Around { .. } => {
                let (turn, count) = self.parts_of_turn(chord);
                let longer = (turn / count / 2.0).cos().recip();
                points.extend((0..count as usize).map(|i| self.spoke(turn * (i as f64 + 0.5) / count, longer)));
            }
            Join::Round { .. } => {
                let (turn, count) = self.parts_of_turn(chord);
                points.push(self.at + self.from);
                points.extend((1..count as usize).map(|i| self.spoke(turn * i as f64 / count, 1.0)));
                points.push(self.at + self.to);
            }
        }
    }

    /// The angle by which the corner turns, and into how many parts of at most `chord` it is divided.
    fn parts_of_turn(&self, chord: f64) -> (f64, f64) {
        let turn = self.sin.atan2(self.cos);
        (turn, (turn.abs() / chord - 1e-9).ceil().max(1.0))
    }

    /// The place about the corner at an angle from where the first edge moves to, `longer` times as far away.
    fn spoke(&self, angle: f64, longer: f64) -> Point {
        let (sin, cos) = angle.sin_cos();
        let Vec2 { x, y } = self.from * longer;
        self.at + Vec2::new(x * cos - y * sin, x * sin + y * cos)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::FillRule;
    use crate::testing::{self, Kind, Random};

    fn square(side: f64) -> Region {
        let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)].map(Point::from);
        Region::from_rings(&[Ring::new(corners.to_vec())], FillRule::NonZero)
    }

    #[test]
    fn a_square_grows_by_the_steiner_formula() {
        let round = square(4.0).offset(1.0, Join::Round { tolerance: 0.001 }).area();
        let exact = 16.0 + 16.0 + std::f64::consts::PI;
        // A chord's segment takes at most the tolerance off along its length.
        assert!(round <= exact + 1e-6 && round >= exact - 0.001 * std::f64::consts::TAU, "{round} {exact}");
        let mitred = square(4.0).offset(1.0, Join::Mitre { limit: 4.0 }).area();
        assert!((mitred - 36.0).abs() < 1e-9, "{mitred}");
        let bevelled = square(4.0).offset(1.0, Join::Bevel).area();
        assert!((bevelled - 34.0).abs() < 1e-9, "{bevelled}");
        let over_the_limit = square(4.0).offset(1.0, Join::Mitre { limit: 1.4 }).area();
        assert!((over_the_limit - 34.0).abs() < 1e-9, "{over_the_limit}");
    }

    #[test]
    fn tangents_lie_outside_the_arc_by_their_tolerance() {
        let (side, tolerance) = (square(4.0), 0.02);
        let grown = side.offset(1.0, Join::Around { tolerance });
        let exact = 16.0 + 16.0 + std::f64::consts::PI;
        assert!(grown.area() >= exact && grown.area() < exact + tolerance * std::f64::consts::TAU, "{}", grown.area());
        // A quarter turn takes four tangents.
        assert_eq!(grown.polygons[0].outer.points.len(), 16);
        for point in &grown.polygons[0].outer.points {
            let away = side.distance_to_outline(*point);
            assert!((1.0 - 1e-4..=1.0 + tolerance + 1e-4).contains(&away), "{point} {away}");
        }
    }

    #[test]
    fn a_square_shrinks_to_nothing() {
        assert!((square(4.0).offset(-1.0, Join::Bevel).area() - 4.0).abs() < 1e-9);
        assert!(square(4.0).offset(-2.0, Join::Bevel).is_empty());
        assert!(square(4.0).offset(-2.1, Join::Bevel).is_empty());
    }

    #[test]
    fn a_hole_closes_when_its_shape_grows() {
        let frame = square(10.0).difference(&Region::from_rings(
            &[Ring::new([(4.0, 4.0), (6.0, 4.0), (6.0, 6.0), (4.0, 6.0)].map(Point::from).to_vec())],
            FillRule::NonZero,
        ));
        let grown = frame.offset(1.01, Join::Mitre { limit: 4.0 });
        assert!(grown.polygons[0].holes.is_empty());
        let shrunk = frame.offset(-1.0, Join::Mitre { limit: 4.0 });
        assert!((shrunk.area() - (64.0 - 16.0)).abs() < 1e-9);
    }

    #[test]
    fn a_crowded_comb_shrinks_as_its_stem_does() {
        let teeth = (0..600).flat_map(|i| {
            let x = 60.0 - f64::from(i) * 0.1;
            [(x, 4.0), (x - 0.01, 30.0), (x - 0.02, 4.0)]
        });
        let corners: Vec<Point> = [(0.0, 0.0), (60.0, 0.0)].into_iter().chain(teeth).map(Point::from).collect();
        let comb = Region::from_rings(&[Ring::new(corners)], FillRule::NonZero);
        assert!(is_crowded(&comb.polygons[0], 1.0));
        let shrunk = comb.offset(-1.0, Join::Round { tolerance: 0.01 });
        // The stem is 60 mm by 4, its left side leans in by 0.08 towards the last tooth.
        let found = shrunk.bounds().unwrap();
        assert!((found.width() - 58.0).abs() < 0.04 && (found.height() - 2.0).abs() < 0.01, "{found:?}");
    }

    #[test]
    fn distances_that_are_no_numbers_change_nothing() {
        assert_eq!(square(4.0).offset(f64::NAN, Join::Bevel), square(4.0));
        assert!(square(4.0).offset(f64::NEG_INFINITY, Join::Bevel).is_empty());
    }

    /// One rectangle for each edge and one wedge for each opening corner, united.
    fn by_pieces(region: &Region, distance: f64, join: Join) -> Region {
        let mut pieces = Vec::new();
        for ring in region.rings() {
            let edges: Vec<_> = ring.edges().collect();
            for (i, &(a, b)) in edges.iter().enumerate() {
                let side = |(p, q): (Point, Point)| -(q - p).normalize().turn_90() * distance;
                let (here, next) = (side((a, b)), side(edges[(i + 1) % edges.len()]));
                pieces.push(vec![a, a + here, b + here, b]);
                let turn = here.cross(next).atan2(here.dot(next));
                if turn * distance > 0.0 {
                    let reach = 1.0 / (turn / 2.0).cos();
                    let mut wedge = vec![b, b + here];
                    match join {
                        Join::Mitre { limit } if reach <= limit => {
                            wedge.push(b + (here + next).normalize() * (distance.abs() * reach));
                        }
                        Join::Round { .. } => {
                            let spoke = |i: i32| Vec2::from_angle(here.angle() + turn * f64::from(i) / 64.0);
                            wedge.extend((1..64).map(|i| b + spoke(i) * distance.abs()));
                        }
                        _ => (),
                    }
                    wedge.push(b + next);
                    pieces.push(wedge);
                }
            }
        }
        let mut rings: Vec<Ring> = pieces.into_iter().map(Ring::new).collect();
        for ring in rings.iter_mut().filter(|ring| ring.signed_area() < 0.0) {
            ring.points.reverse();
        }
        let pieces = Region::union_of_chain(&rings);
        if distance > 0.0 { region.union(&pieces) } else { region.difference(&pieces) }
    }

    #[test]
    fn offsets_are_the_region_with_or_without_its_pieces() {
        let mut tried = 0;
        for seed in 0..400 {
            let mut random = Random(seed);
            let region = testing::region(Kind::ALL[random.below(11)], 3 + random.below(20), random.bits());
            let distance = [0.05, 0.3, 1.0, 4.0, -0.05, -0.3, -1.0, -4.0][random.below(8)];
            let join = [Join::Mitre { limit: 2.0 }, Join::Bevel, Join::Round { tolerance: 1e-3 }][random.below(3)];
            let (found, expected) = (region.offset(distance, join), by_pieces(&region, distance, join));
            let apart = found.difference(&expected).area() + expected.difference(&found).area();
            let slack = match join {
                Join::Round { tolerance } => tolerance,
                _ => 4e-6,
            } * (expected.perimeter() + region.perimeter());
            assert!(apart <= slack, "seed {seed}: {apart} mm² apart, {slack} allowed");
            tried += 1;
        }
        assert_eq!(tried, 400);
    }
}
