//! The sewing order against the exact optimum of small problems.
//!
//! Every order of up to seven items that keeps the drawing's depth is tried,
//! with every choice of direction. Items are far apart or end where others
//! begin, so what a link costs follows from the distance alone.

use laidwork_geometry::Region;
use laidwork_order::{ArrangeSettings, Costs, Item, Passage, arrange};
use laidwork_plan::Point;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

/// Lines between the places of a coarse grid, in up to three threads.
fn problem() -> impl Strategy<Value = Vec<Item>> {
    let place = (0..4i32, 0..4i32).prop_map(|(x, y)| Point::new(1.5 * f64::from(x), 1.5 * f64::from(y)));
    let line = (place.clone(), place, 0..3usize, any::<bool>());
    prop::collection::vec(line, 3..8).prop_map(|lines| {
        let item = |(a, b, thread, one_way)| Item {
            thread,
            gates: vec![a, b],
            passage: if one_way { Passage::OneWay } else { Passage::Through },
            seconds: 1.0,
            region: Region::default(),
            ..Item::default()
        };
        lines.into_iter().map(item).collect()
    })
}

/// What sewing one item after another costs, worked out here anew.
fn link(costs: &Costs, from: (Point, usize), to: (Point, usize)) -> f64 {
    let gap = from.0.distance(to.0);
    let cut = costs.trim + gap / costs.frame_speed;
    if from.1 != to.1 {
        costs.thread_change + cut
    } else if gap <= 0.3 {
        0.0
    } else if gap <= costs.trim_over {
        costs.float + gap / costs.travel_stitch * 60.0 / costs.stitches_per_minute
    } else {
        cut
    }
}

fn cheapest(items: &[Item], left: &mut Vec<usize>, here: Option<(Point, usize)>, costs: &Costs) -> f64 {
    if left.is_empty() {
        return costs.trim;
    }
    let mut best = f64::INFINITY;
    for k in 0..left.len() {
        let next = left.remove(k);
        let item = &items[next];
        let flips: &[bool] = if item.passage == Passage::Through { &[false, true] } else { &[false] };
        for &flipped in flips {
            let (start, end) = (item.gates[usize::from(flipped)], item.gates[usize::from(!flipped)]);
            let reach = here.map_or(0.0, |here| link(costs, here, (start, item.thread)));
            let rest = cheapest(items, left, Some((end, item.thread)), costs);
            best = best.min(item.seconds + reach + rest);
        }
        left.insert(k, next);
    }
    best
}

#[test]
fn small_problems_are_solved_within_a_hundredth_of_the_optimum() {
    let settings = ArrangeSettings::default();
    // The same problems on every run.
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    let mut excesses: Vec<f64> = (0..60)
        .map(|_| {
            let items = problem().new_tree(&mut runner).unwrap().current();
            let found = arrange(&items, &[], &settings).value;
            let best = cheapest(&items, &mut (0..items.len()).collect(), None, &settings.costs);
            assert!(found.lower_bound <= best + 1e-6, "{} {best}", found.lower_bound);
            found.seconds / best - 1.0
        })
        .collect();
    excesses.sort_by(f64::total_cmp);
    let (least, median, worst) = (excesses[0], excesses[30], excesses[59]);
    println!("median {:.3} %, worst {:.3} %", 100.0 * median, 100.0 * worst);
    assert!(least > -1e-9 && median <= 0.01 && worst <= 0.05, "{least} {median} {worst}");
}
