//! What every way inside any polygon must be.

use kurbo::Point;
use laidwork_geometry::testing::{self, Kind, Random};
use laidwork_geometry::{Locator, Region, Walker};
use proptest::prelude::*;

fn length(way: &[Point]) -> f64 {
    way.windows(2).map(|pair| pair[0].distance(pair[1])).sum()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn ways_stay_inside_and_are_as_short_either_way(kind in 0..Kind::ALL.len(), size in 3usize..60, seed: u64) {
        let mut random = Random(seed);
        for polygon in testing::region(Kind::ALL[kind], size, seed).polygons.into_iter().take(3) {
            let mut walker = Walker::new(&polygon);
            prop_assert!(walker.has_ground());
            let locator = Locator::new(&Region::from(polygon));
            for _ in 0..5 {
                let mut anywhere = || Point::new(random.between(-32.0, 32.0), random.between(-32.0, 32.0));
                let (from, to) = (anywhere(), anywhere());
                let way = walker.try_path(from, to).expect("a way inside one polygon");
                prop_assert_eq!((way[0], way[way.len() - 1]), (walker.snap(from), walker.snap(to)));
                for pair in way.windows(2) {
                    for i in 0..=16 {
                        let point = pair[0].lerp(pair[1], f64::from(i) / 16.0);
                        prop_assert!(locator.depth(point) > -1e-6, "{} {}", point, locator.depth(point));
                    }
                }
                let back = walker.path(to, from);
                prop_assert!((length(&way) - length(&back)).abs() < 1e-6, "{way:?} {back:?}");
                prop_assert!(length(&way) >= way[0].distance(way[way.len() - 1]) - 1e-9);
            }
        }
    }
}
