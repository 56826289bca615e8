//! What can be asked of rings, polygons and regions, and how they are moved.
//!
//! The questions here walk all edges; put many of them to a [`crate::Locator`].

use crate::strips::is_left;
use crate::{Locator, Nearest, Polygon, Region, Ring};
use kurbo::{Affine, Point, Vec2};

impl Ring {
    /// Every point moved by `affine`; turned round when that mirrors, so that an outer ring
    /// stays one.
    pub fn transform(&self, affine: Affine) -> Ring {
        let mut points: Vec<Point> = self.points.iter().map(|point| affine * *point).collect();
        if affine.determinant() < 0.0 {
            points.reverse();
        }
        Ring { points }
    }

    /// Area times centroid relative to `origin`, and the area, mm²: what centroids are summed from.
    fn moment(&self, origin: Point) -> (Vec2, f64) {
        let parts = self.edges().map(|(a, b)| {
            let (a, b) = (a - origin, b - origin);
            ((a + b) * (a.cross(b) / 6.0), a.cross(b) / 2.0)
        });
        parts.fold((Vec2::ZERO, 0.0), |sum, part| (sum.0 + part.0, sum.1 + part.1))
    }

    /// Points along it at equal distances of at most `step` mm, corners rounded off; the
    /// first point is kept. Empty when it has no length or the step is not positive.
    pub fn resample(&self, step: f64) -> Vec<Point> {
        let length = self.length();
        if !(step > 0.0 && length > 0.0 && length.is_finite()) {
            return Vec::new();
        }
        let count = (length / step).ceil().max(3.0);
        let step = length / count;
        let mut points = Vec::with_capacity(count as usize);
        let mut walked = 0.0;
        for (a, b) in self.edges() {
            let edge = a.distance(b);
            while points.len() < count as usize && points.len() as f64 * step < walked + edge {
                points.push(a.lerp(b, ((points.len() as f64 * step - walked) / edge).clamp(0.0, 1.0)));
            }
            walked += edge;
        }
        points
    }

    /// A way once round, from the place nearest to a point (the first of several; the first corner without one) and
    /// back to it. Empty where there is none.
    pub fn way_round(&self, near: Option<Point>) -> Vec<Point> {
        let mut first = (f64::INFINITY, 0, Point::ZERO);
        for (i, (a, b)) in self.edges().enumerate() {
            let place = near.map_or(a, |near| crate::closest_on_segment(near, a, b));
            let away = near.map_or(0.0, |near| near.distance_squared(place));
            if away < first.0 {
                first = (away, i, place);
            }
        }
        let (away, edge, place) = first;
        let Some((before, after)) = self.points.split_at_checked(edge + 1).filter(|_| away.is_finite()) else {
            return Vec::new();
        };
        let mut way = Vec::with_capacity(self.points.len() + 2);
        way.push(place);
        way.extend_from_slice(after);
        way.extend_from_slice(before);
        way.push(place);
        way
    }

    /// Its corners and as many points between them as keep every edge at most `step` mm long.
    pub fn subdivide(&self, step: f64) -> Ring {
        if step.is_nan() || step <= 0.0 {
            return self.clone();
        }
        let mut points = Vec::with_capacity(self.points.len());
        for (a, b) in self.edges().filter(|(a, b)| a.is_finite() && b.is_finite()) {
            let parts = (a.distance(b) / step).ceil().max(1.0) as usize;
            points.extend((0..parts).map(|i| a.lerp(b, i as f64 / parts as f64)));
        }
        Ring { points }
    }
}

/// Where the centre of mass of signed rings lies.
fn centroid<'a>(rings: impl Iterator<Item = &'a Ring>) -> Option<Point> {
    let rings: Vec<&Ring> = rings.collect();
    let origin = rings.iter().find_map(|ring| ring.points.first().copied())?;
    let moments = rings.iter().map(|ring| ring.moment(origin));
    let (moment, area) = moments.fold((Vec2::ZERO, 0.0), |sum, part| (sum.0 + part.0, sum.1 + part.1));
    let centroid = origin + moment / area;
    centroid.is_finite().then_some(centroid)
}

impl Polygon {
    /// Moved, turned, scaled or mirrored by `affine`.
    pub fn transform(&self, affine: Affine) -> Polygon {
        Polygon {
            outer: self.outer.transform(affine),
            holes: self.holes.iter().map(|hole| hole.transform(affine)).collect(),
        }
    }

    /// Its centre of mass, which may lie in a hole or beside it; `None` without area.
    pub fn centroid(&self) -> Option<Point> {
        centroid(self.rings())
    }

    /// Whether `point` lies inside; on the outline either answer.
    pub fn contains(&self, point: Point) -> bool {
        contains(self.rings(), point)
    }

    /// The point of the outline nearest to `point`, the first of several. O(n).
    pub fn nearest_on_outline(&self, point: Point) -> Option<Nearest> {
        nearest_on(self.rings(), point)
    }
}

impl Region {
    /// Moved, turned, scaled or mirrored by `affine`. Corners are not rounded again.
    pub fn transform(&self, affine: Affine) -> Region {
        Region { polygons: self.polygons.iter().map(|polygon| polygon.transform(affine)).collect() }
    }

    /// Its centre of mass; `None` without area.
    pub fn centroid(&self) -> Option<Point> {
        centroid(self.rings())
    }

    /// Whether `point` lies inside; on the outline either answer. O(n); for many points
    /// prepare a [`Locator`].
    pub fn contains(&self, point: Point) -> bool {
        contains(self.rings(), point)
    }

    /// How far `point` is from the outline, mm; infinite without one. O(n).
    pub fn distance_to_outline(&self, point: Point) -> f64 {
        self.nearest_on_outline(point).map_or(f64::INFINITY, |nearest| nearest.distance)
    }

    /// The point of the outline nearest to `point`, the first of several. O(n).
    pub fn nearest_on_outline(&self, point: Point) -> Option<Nearest> {
        nearest_on(self.rings(), point)
    }

    /// Each connected polygon as a region of its own.
    pub fn parts(&self) -> Vec<Region> {
        self.polygons.iter().cloned().map(Region::from).collect()
    }

    /// Made ready for many point questions.
    pub fn locator(&self) -> Locator {
        Locator::new(self)
    }
}

/// The point of rings nearest to `point`, the first of several.
fn nearest_on<'a>(rings: impl Iterator<Item = &'a Ring>, point: Point) -> Option<Nearest> {
    let mut nearest = Nearest { point, distance: f64::INFINITY, edge: 0 };
    let mut square = f64::INFINITY;
    let mut before = 0;
    for ring in rings {
        let Some(mut from) = ring.points.last().copied() else { continue };
        // The edge that closes a ring is its last.
        let mut edge = before + ring.points.len() - 1;
        for (i, &to) in ring.points.iter().enumerate() {
            let on = crate::closest_on_segment(point, from, to);
            let away = on.distance_squared(point);
            if away < square || away <= square && edge < nearest.edge {
                square = away;
                nearest = Nearest { point: on, distance: 0.0, edge };
            }
            (from, edge) = (to, before + i);
        }
        before += ring.points.len();
    }
    nearest.distance = square.sqrt();
    square.is_finite().then_some(nearest)
}

/// Whether an odd number of rings winds around `point`; half-open edges, so that corners count once.
pub(crate) fn contains<'a>(rings: impl Iterator<Item = &'a Ring>, point: Point) -> bool {
    rings.flat_map(Ring::edges).filter(|edge| is_left(*edge, point)).count() % 2 == 1
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{self, Kind, Random};
    use proptest::prelude::*;

    #[test]
    fn a_way_round_begins_and_ends_at_the_place_nearest() {
        let ring = Ring::new([(0.0, 0.0), (4.0, 0.0), (4.0, 3.0)].map(Point::from).to_vec());
        let way = ring.way_round(Some(Point::new(5.0, 1.0)));
        assert_eq!(way, [(4.0, 1.0), (4.0, 3.0), (0.0, 0.0), (4.0, 0.0), (4.0, 1.0)].map(Point::from));
        assert_eq!(ring.way_round(None)[..2], [Point::ZERO, Point::new(4.0, 0.0)]);
        assert!(Ring::default().way_round(Some(Point::ZERO)).is_empty());
    }

    fn triangle() -> Ring {
        Ring::new([(0.0, 0.0), (6.0, 0.0), (0.0, 3.0)].map(Point::from).to_vec())
    }

    #[test]
    fn the_centroid_of_a_triangle_is_the_mean_of_its_corners() {
        let polygon = Polygon { outer: triangle(), holes: Vec::new() };
        assert!(polygon.centroid().unwrap().distance(Point::new(2.0, 1.0)) < 1e-12);
        assert_eq!(Polygon::default().centroid(), None);
    }

    #[test]
    fn a_mirrored_polygon_keeps_its_orientation() {
        let mirrored = triangle().transform(Affine::FLIP_X);
        assert!(mirrored.signed_area() > 0.0);
        let turned = triangle().transform(Affine::rotate(1.0).then_translate(Vec2::new(9.0, -4.0)));
        assert!((turned.signed_area() - triangle().signed_area()).abs() < 1e-12);
    }

    #[test]
    fn resampled_points_lie_at_equal_distances_on_the_ring() {
        let points = triangle().resample(0.1);
        let step = triangle().length() / points.len() as f64;
        assert!(step <= 0.1 && points.len() > 100);
        let polygon = Region::from(Polygon { outer: triangle(), holes: Vec::new() });
        assert!(points.iter().all(|point| polygon.distance_to_outline(*point) < 1e-9));
        assert!(points.windows(2).all(|pair| pair[0].distance(pair[1]) <= step + 1e-9));
        assert!(triangle().resample(0.0).is_empty() && Ring::default().resample(1.0).is_empty());
    }

    #[test]
    fn subdivided_rings_keep_their_corners() {
        let ring = triangle().subdivide(1.0);
        assert!(triangle().points.iter().all(|corner| ring.points.contains(corner)));
        assert!(ring.edges().all(|(a, b)| a.distance(b) <= 1.0 + 1e-12));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(150))]

        #[test]
        fn prepared_answers_are_the_plain_ones(kind in 0..Kind::ALL.len(), size in 3usize..60, seed: u64) {
            let region = testing::region(Kind::ALL[kind], size, seed);
            let (locator, mut random) = (region.locator(), Random(seed));
            for _ in 0..50 {
                let point = Point::new(random.between(-30.0, 30.0), random.between(-30.0, 30.0));
                prop_assert_eq!(locator.contains(point), region.contains(point), "{}", point);
                let (a, b) = (locator.distance_to_outline(point), region.distance_to_outline(point));
                prop_assert!((a - b).abs() < 1e-9);
            }
        }
    }
}
