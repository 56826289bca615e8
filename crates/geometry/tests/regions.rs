//! What every region made from any rings must be.

use kurbo::Point;
use laidwork_geometry::testing::{self, Kind, Random};
use laidwork_geometry::{FillRule, Locator, Mesh, Polygon, Region, Ring};
use proptest::prelude::*;

/// How often `ring` winds around `point` (positive from x towards y), by angles between edges.
fn winding(rings: &[Ring], point: Point) -> i32 {
    let turn = |(a, b): (Point, Point)| match (a.y <= point.y, b.y <= point.y) {
        (true, false) if (b - a).cross(point - a) > 0.0 => 1,
        (false, true) if (b - a).cross(point - a) < 0.0 => -1,
        _ => 0,
    };
    rings.iter().flat_map(Ring::edges).map(turn).sum()
}

/// Whether two edges cross at a point inside both, by more than rounding.
fn crosses((a, b): (Point, Point), (c, d): (Point, Point)) -> bool {
    let side = |p: Point, q: Point, r: Point| (q - p).cross(r - p) / p.distance(q);
    let (u, v, w, x) = (side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b));
    u * v < 0.0 && w * x < 0.0 && [u, v, w, x].iter().all(|s| s.abs() > 3e-6)
}

/// How many parts the triangles of a polygon fall into.
fn parts(polygon: &Polygon) -> usize {
    let Some(mesh) = Mesh::new(polygon) else { return 0 };
    let mut seen = vec![false; mesh.len()];
    let mut parts = 0;
    for seed in 0..mesh.len() {
        let mut stack = if seen[seed] { vec![] } else { vec![seed] };
        parts += stack.len();
        while let Some(triangle) = stack.pop() {
            if !std::mem::replace(&mut seen[triangle], true) {
                stack.extend((0..3).filter_map(|edge| mesh.neighbour(triangle, edge)));
            }
        }
    }
    parts
}

fn is_sound(region: &Region) -> Result<(), TestCaseError> {
    for polygon in &region.polygons {
        prop_assert!(polygon.outer.signed_area() > 0.0);
        prop_assert!(polygon.holes.iter().all(|hole| hole.signed_area() < 0.0));
        prop_assert_eq!(parts(polygon), 1, "{:?}", polygon);
    }
    let edges: Vec<_> = region.rings().flat_map(Ring::edges).collect();
    for (i, a) in edges.iter().enumerate() {
        prop_assert!(a.0 != a.1);
        for b in edges.iter().skip(i + 1) {
            prop_assert!(!crosses(*a, *b), "{:?} {:?}", a, b);
        }
    }
    Ok(())
}

fn kinds() -> impl Strategy<Value = Kind> {
    (0..Kind::ALL.len()).prop_map(|i| Kind::ALL[i])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_rings_give_a_sound_region(kind in kinds(), size in 3usize..40, seed: u64, odd: bool) {
        let rule = if odd { FillRule::EvenOdd } else { FillRule::NonZero };
        is_sound(&Region::from_rings(&testing::rings(kind, size, seed), rule))?;
    }

    #[test]
    fn a_region_holds_what_its_rings_wind_around(kind in kinds(), size in 3usize..40, seed: u64, odd: bool) {
        let rings = testing::rings(kind, size, seed);
        let rule = if odd { FillRule::EvenOdd } else { FillRule::NonZero };
        let region = Region::from_rings(&rings, rule);
        let (drawn, made) = (Locator::from_rings(rings.iter()), Locator::new(&region));
        let mut random = Random(seed ^ 1);
        for _ in 0..200 {
            let point = Point::new(random.between(-30.0, 30.0), random.between(-30.0, 30.0));
            if drawn.distance_to_outline(point) < 1e-5 {
                continue;
            }
            let turns = winding(&rings, point);
            let expected = if odd { turns % 2 != 0 } else { turns != 0 };
            prop_assert_eq!(made.contains(point), expected, "{}", point);
        }
    }

    #[test]
    fn cleaning_again_changes_nothing(kind in kinds(), size in 3usize..40, seed: u64) {
        let region = testing::region(kind, size, seed);
        let rings: Vec<Ring> = region.rings().cloned().collect();
        let again = Region::from_rings(&rings, FillRule::NonZero);
        prop_assert!((again.area() - region.area()).abs() < 1e-6);
        prop_assert_eq!(again.polygons.len(), region.polygons.len());
    }

    #[test]
    fn areas_of_the_operations_add_up(a in kinds(), b in kinds(), size in 3usize..30, seed: u64) {
        let (a, b) = (testing::region(a, size, seed), testing::region(b, size, seed ^ 99));
        let (both, either) = (a.intersection(&b), a.union(&b));
        let (only_a, only_b) = (a.difference(&b), b.difference(&a));
        let slack = 1e-6 * (1.0 + a.perimeter() + b.perimeter());
        prop_assert!((a.area() + b.area() - both.area() - either.area()).abs() < slack);
        prop_assert!((a.area() - both.area() - only_a.area()).abs() < slack);
        prop_assert!((b.area() - both.area() - only_b.area()).abs() < slack);
        for region in [&both, &either, &only_a, &only_b] {
            is_sound(region)?;
        }
    }
}

#[test]
fn coordinates_beyond_every_hoop_do_not_panic() {
    for size in [1e6, 1e9, 1e15, 1e200, f64::MAX] {
        let ring = Ring::new([(-size, -size), (size, -size), (size, size), (0.0, 1.0)].map(Point::from).to_vec());
        let region = Region::from_rings(&[ring], FillRule::NonZero);
        let _ = region.union(&region).area();
    }
}

#[test]
fn points_that_are_no_numbers_are_left_out() {
    let corners = [(0.0, 0.0), (f64::NAN, 3.0), (4.0, 0.0), (4.0, 4.0), (f64::INFINITY, 0.0), (0.0, 4.0)];
    let region = Region::from_rings(&[Ring::new(corners.map(Point::from).to_vec())], FillRule::NonZero);
    assert!((region.area() - 16.0).abs() < 1e-9);
}

#[test]
fn faces_that_touch_at_a_corner_are_polygons_of_their_own() {
    let square = |a: f64, b: f64| Ring::new([(a, a), (b, a), (b, b), (a, b)].map(Point::from).to_vec());
    let region = Region::from_rings(&[square(0.0, 2.0), square(2.0, 5.0)], FillRule::NonZero);
    assert_eq!(region.polygons.len(), 2);
}

#[test]
fn thousands_of_specks_take_no_time() {
    let rings = testing::rings(Kind::Specks, 5000, 3);
    assert_eq!(rings.len(), 20_000);
    assert!(Region::from_rings(&rings, FillRule::NonZero).polygons.len() > 1000);
}
