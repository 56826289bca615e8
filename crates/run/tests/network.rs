//! What lines that touch promise.

use kurbo::Point;
use laidwork_run::{Ends, RunSettings, RunStyle, network};
use proptest::prelude::*;

type Line = (Vec<Point>, bool);

fn line(points: &[(f64, f64)]) -> Line {
    (points.iter().copied().map(Point::from).collect(), false)
}

fn chains(lines: &[Line], style: RunStyle, ends: Ends) -> Vec<Vec<Point>> {
    let settings = RunSettings { style, ..RunSettings::default() };
    let chains = network("lines", lines, &settings, ends).value;
    chains.into_iter().map(|passes| passes.into_iter().flat_map(|pass| pass.points).collect()).collect()
}

fn length(points: &[Point]) -> f64 {
    points.windows(2).map(|pair| pair[0].distance(pair[1])).sum()
}

#[test]
fn lines_end_to_end_are_one_chain_without_doubling() {
    let lines = [line(&[(10.0, 0.0), (0.0, 0.0)]), line(&[(10.0, 0.1), (10.0, 9.0)])];
    let chains = chains(&lines, RunStyle::Single, Ends::default());
    assert_eq!(chains.len(), 1);
    assert!((length(&chains[0]) - 19.0).abs() < 0.1);
}

#[test]
fn a_branch_is_sewn_there_and_back() {
    // A T: the shortest of its three arms is doubled.
    let lines = [line(&[(0.0, 0.0), (20.0, 0.0)]), line(&[(8.0, 0.0), (8.0, 5.0)])];
    let chains = chains(&lines, RunStyle::Single, Ends::default());
    assert_eq!(chains.len(), 1);
    assert!((length(&chains[0]) - 30.0).abs() < 1e-6);
}

#[test]
fn a_cross_has_its_middle() {
    // Four arms: two are sewn there and back, two are the ends.
    let lines = [line(&[(-9.0, 0.0), (9.0, 0.0)]), line(&[(0.0, -9.0), (0.0, 9.0)])];
    let chains = chains(&lines, RunStyle::Single, Ends::default());
    assert_eq!(chains.len(), 1);
    assert!(chains[0].iter().any(|p| p.distance(Point::ZERO) < 1e-9));
    assert!((length(&chains[0]) - 54.0).abs() < 1e-6);
}

#[test]
fn lines_apart_are_chains_of_their_own_nearest_first() {
    let lines = [line(&[(0.0, 0.0), (5.0, 0.0)]), line(&[(0.0, 9.0), (5.0, 9.0)])];
    let ends = Ends { start: Some(Point::new(6.0, 9.0)), end: None };
    let chains = chains(&lines, RunStyle::Single, ends);
    assert_eq!(chains.len(), 2);
    assert_eq!((chains[0][0], chains[1][0]), (Point::new(5.0, 9.0), Point::new(0.0, 0.0)));
}

#[test]
fn there_and_back_sews_every_line_twice_and_returns() {
    let lines = [line(&[(0.0, 0.0), (20.0, 0.0)]), line(&[(8.0, 0.0), (8.0, 5.0)])];
    let chains = chains(&lines, RunStyle::ThereAndBack, Ends::default());
    assert_eq!(chains.len(), 1);
    assert!((length(&chains[0]) - 50.0).abs() < 1e-6);
    assert_eq!(chains[0].first(), chains[0].last());
}

#[test]
fn two_rings_that_touch_are_one_chain() {
    let square = |x: f64| (vec![(x, 0.0), (x + 5.0, 0.0), (x + 5.0, 5.0), (x, 5.0)], true);
    let ring = |(points, closed): (Vec<(f64, f64)>, bool)| (points.into_iter().map(Point::from).collect(), closed);
    let lines: Vec<Line> = vec![ring(square(0.0)), ring(square(5.05))];
    let chains = chains(&lines, RunStyle::Single, Ends::default());
    assert_eq!(chains.len(), 1);
    assert!((length(&chains[0]) - 40.0).abs() < 0.5, "{}", length(&chains[0]));
}

#[test]
fn a_single_line_ends_where_it_is_wanted() {
    let lines = [line(&[(0.0, 0.0), (20.0, 0.0)])];
    let chains = chains(&lines, RunStyle::Single, Ends { start: None, end: Some(Point::ZERO) });
    assert_eq!(chains[0].last(), Some(&Point::ZERO));
}

fn distance_to(points: &[Point], to: Point) -> f64 {
    points
        .windows(2)
        .map(|pair| {
            let edge = pair[1] - pair[0];
            let t = ((to - pair[0]).dot(edge) / edge.hypot2()).clamp(0.0, 1.0);
            pair[0].lerp(pair[1], t).distance(to)
        })
        .fold(f64::INFINITY, f64::min)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn every_line_is_sewn_and_no_stitch_is_short(
        lines in prop::collection::vec(
            (prop::collection::vec((0.0..25.0, 0.0..25.0).prop_map(Point::from), 2..6), any::<bool>()), 1..7),
        style in prop_oneof![Just(RunStyle::Single), Just(RunStyle::ThereAndBack), Just(RunStyle::Triple)],
        start in prop::option::of((0.0..25.0, 0.0..25.0).prop_map(Point::from)),
    ) {
        let chains = chains(&lines, style, Ends { start, end: None });
        for chain in &chains {
            for pair in chain.windows(2) {
                prop_assert!(pair[0].distance(pair[1]) > 0.4 - 1e-6);
                prop_assert!(pair[0].distance(pair[1]) < 2.5 + 0.8, "{chain:?}");
            }
        }
        // Every corner is sewn, but for what a needle point less than a stitch away stands for.
        for (points, _) in &lines {
            for &corner in points {
                let nearest = chains.iter().map(|chain| distance_to(chain, corner)).fold(f64::INFINITY, f64::min);
                prop_assert!(nearest < 0.75, "{corner} {nearest}");
            }
        }
    }
}
