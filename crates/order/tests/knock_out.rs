//! What knock-out promises.

use laidwork_geometry::{FillRule, Region, Ring};
use laidwork_order::{CoverShape, HAIR, knock_out};
use laidwork_plan::{Point, Vec2};
use proptest::prelude::*;
use std::f64::consts::TAU;

fn square(from: (f64, f64), to: (f64, f64)) -> Region {
    let corners = [from, (to.0, from.1), to, (from.0, to.1)].map(Point::from);
    Region::from_rings(&[Ring::new(corners.to_vec())], FillRule::NonZero)
}

fn star(centre: (f64, f64), inner: f64, outer: f64, points: u32) -> Region {
    let corner = |i: u32| {
        let radius = if i.is_multiple_of(2) { outer } else { inner };
        Point::from(centre) + radius * Vec2::from_angle(TAU * f64::from(i) / f64::from(2 * points))
    };
    Region::from_rings(&[Ring::new((0..2 * points).map(corner).collect())], FillRule::NonZero)
}

fn cover(region: Region) -> CoverShape {
    CoverShape { region, hides: true, may_be_cut: true, overlap: 1.0, ..CoverShape::default() }
}

fn areas(shapes: &[CoverShape]) -> Vec<f64> {
    knock_out(shapes).iter().map(|cut| (cut.region.area() * 1e3).round() / 1e3).collect()
}

#[test]
fn a_shape_may_have_a_rim_of_its_own() {
    let under = |rim| CoverShape { overlap: rim, ..cover(square((0.0, 0.0), (20.0, 20.0))) };
    let over = cover(square((4.0, 4.0), (16.0, 16.0)));
    let area = |rim| knock_out(&[under(rim), over.clone()])[0].region.area();
    assert!((area(1.0) - (400.0 - 100.0)).abs() < 0.5);
    assert!((area(3.0) - (400.0 - 36.0)).abs() < 0.5);
}

#[test]
fn a_square_on_a_square_leaves_a_rim_under_itself() {
    let shapes = [cover(square((0.0, 0.0), (20.0, 20.0))), cover(square((5.0, 5.0), (15.0, 15.0)))];
    assert_eq!(areas(&shapes), [400.0 - 64.0, 100.0]);
}

#[test]
fn a_hidden_shape_is_not_sewn() {
    let shapes = [cover(square((6.0, 6.0), (9.0, 9.0))), cover(square((5.0, 5.0), (15.0, 15.0)))];
    assert_eq!(areas(&shapes), [0.0, 100.0]);
}

#[test]
fn a_hidden_shape_is_not_sewn_even_where_it_meets_the_edge_of_its_cover() {
    let shapes = [cover(square((5.0, 5.0), (15.0, 9.0))), cover(square((5.0, 5.0), (15.0, 15.0)))];
    assert_eq!(areas(&shapes), [0.0, 100.0]);
}

#[test]
fn thin_covers_and_runs_cut_nothing() {
    let under = cover(square((0.0, 0.0), (20.0, 20.0)));
    let thin = cover(square((5.0, 0.0), (6.9, 20.0)));
    let run = CoverShape { hides: false, ..cover(square((5.0, 5.0), (15.0, 15.0))) };
    assert!((areas(&[under.clone(), thin])[0] - 400.0).abs() < 1e-3);
    assert!((areas(&[under, run])[0] - 400.0).abs() < 1e-3);
}

#[test]
fn a_shape_may_refuse_to_be_cut() {
    let under = CoverShape { may_be_cut: false, ..cover(square((0.0, 0.0), (20.0, 20.0))) };
    assert!((areas(&[under, cover(square((5.0, 5.0), (15.0, 15.0)))])[0] - 400.0).abs() < 1e-3);
}

#[test]
fn earlier_shapes_do_not_cut_later_ones() {
    let shapes = [cover(square((0.0, 0.0), (20.0, 20.0))), cover(square((0.0, 0.0), (10.0, 10.0)))];
    assert!((areas(&shapes)[1] - 100.0).abs() < 1e-3);
}

#[test]
fn what_shows_between_two_covers_keeps_its_rim_on_both_sides() {
    let shapes = [
        cover(square((0.0, 0.0), (20.0, 10.0))),
        cover(square((-1.0, -1.0), (9.0, 11.0))),
        cover(square((9.5, -1.0), (21.0, 11.0))),
    ];
    assert!((areas(&shapes)[0] - 25.0).abs() < 1e-3);
}

#[test]
fn nothing_is_left_under_the_edge_of_a_cover_that_lies_on_another() {
    let below = cover(square((0.0, 0.0), (20.0, 20.0)));
    let left = cover(square((-1.0, -1.0), (11.0, 21.0)));
    let right = |from: f64| cover(square((from, -1.0), (21.0, 21.0)));
    // Both together hide all of it.
    assert!(knock_out(&[below, left.clone(), right(9.0)])[0].region.is_empty());
    // Seen from another one that is not hidden: only the rim inside the outline of both together is left.
    let wide = cover(square((-10.0, -10.0), (30.0, 30.0)));
    let rest = areas(&[wide.clone(), left.clone(), right(9.0)])[0];
    assert!((rest - (1600.0 - 400.0)).abs() < 1e-3, "{rest}");
    // Where they hardly overlap each keeps its own rim.
    let rest = areas(&[wide, left, right(10.8)])[0];
    assert!((rest - (1600.0 - 10.0 * 20.0 - 8.2 * 20.0)).abs() < 0.5, "{rest}");
}

#[test]
fn a_deep_stack_is_cut_by_its_largest_covers() {
    let shapes: Vec<CoverShape> = (0..200).map(|i| cover(star((0.1 * f64::from(i), 0.0), 5.0, 9.0, 5))).collect();
    let cut = regions(&shapes);
    let share = |i: usize| cut[i].area() / shapes[i].region.area();
    assert!(share(0) < 0.7 && share(199) > 0.99, "{} {}", share(0), share(199));
}

#[test]
fn a_pile_covers_what_it_covered_and_sews_little_that_is_hidden() {
    let place = |i: u32| (f64::from(i * 37 % 101) / 10.0, f64::from(i * 53 % 103) / 10.0);
    let shapes: Vec<CoverShape> = (0..300).map(|i| cover(star(place(i), 9.0, 9.0, 12))).collect();
    let cut = regions(&shapes);
    let all: Vec<Region> = shapes.iter().map(|shape| shape.region.clone()).collect();
    let (drawn, sewn) = (Region::union_all(&all), Region::union_all(&cut));
    assert!(drawn.difference(&sewn).area() < 0.01 && sewn.difference(&drawn).area() < 1e-3);
    let whole = all[299].area();
    assert!((cut[299].area() - whole).abs() < 1e-6);
    let left_out = cut.iter().filter(|region| region.is_empty()).count();
    assert!(left_out > 150, "{left_out}");
    let area: f64 = cut.iter().map(Region::area).sum();
    assert!(area < 0.05 * 300.0 * whole, "{area} {whole}");
    // A layer that keeps its shape is sewn whole where any of it shows, and left out elsewhere.
    let kept: Vec<CoverShape> = shapes.iter().map(|shape| CoverShape { stays_whole: true, ..shape.clone() }).collect();
    for ((kept, cut), shape) in regions(&kept).iter().zip(&cut).zip(&shapes) {
        assert!(kept.is_empty() == cut.is_empty() && (kept.is_empty() || *kept == shape.region));
    }
}

fn any_shape() -> impl Strategy<Value = CoverShape> {
    let place = (-15.0..15.0, -15.0..15.0);
    let region = (place, 0.4..6.0, 1.0..3.0, 3..9u32).prop_map(|(c, r, k, n)| star(c, r, r * k, n));
    (region, prop::bool::weighted(0.8), prop::bool::weighted(0.9)).prop_map(|(region, hides, may_be_cut)| CoverShape {
        region,
        hides,
        may_be_cut,
        overlap: 1.0,
        ..CoverShape::default()
    })
}

/// What is left of each shape.
fn regions(shapes: &[CoverShape]) -> Vec<Region> {
    knock_out(shapes).into_iter().map(|cut| cut.region).collect()
}

fn union<'a>(regions: impl Iterator<Item = &'a Region>) -> Region {
    let rings: Vec<Ring> = regions.flat_map(Region::rings).cloned().collect();
    Region::from_rings(&rings, FillRule::NonZero)
}

/// The area of what would still be seen at the edge of a cover.
fn wider_than_a_hair(lost: &Region) -> f64 {
    lost.offset(-0.51 * HAIR, laidwork_geometry::Join::Bevel).area()
}

#[test]
fn what_hides_the_rim_is_told() {
    let below = cover(square((0.0, 0.0), (20.0, 20.0)));
    let above = cover(square((10.0, -10.0), (30.0, 30.0)));
    let cut = knock_out(&[below, above]);
    let rim = cut[0].region.intersection(&cut[0].hidden_by);
    assert!((rim.area() - 20.0).abs() < 1e-3, "{}", rim.area());
    assert!(cut[1].hidden_by.is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn no_gap_opens_and_nothing_grows(shapes in prop::collection::vec(any_shape(), 1..9)) {
        let cut = regions(&shapes);
        let (before, after) = (union(shapes.iter().map(|s| &s.region)), union(cut.iter()));
        prop_assert!(wider_than_a_hair(&before.difference(&after)) < 1e-3);
        for (shape, cut) in shapes.iter().zip(&cut) {
            prop_assert!(cut.difference(&shape.region).area() < 1e-4);
        }
    }

    #[test]
    fn each_shape_still_shows_where_it_showed(shapes in prop::collection::vec(any_shape(), 1..7)) {
        let cut = regions(&shapes);
        for (i, shape) in shapes.iter().enumerate() {
            let over = union(shapes[i + 1..].iter().filter(|s| s.hides).map(|s| &s.region));
            let lost = shape.region.difference(&over).difference(&cut[i]);
            prop_assert!(wider_than_a_hair(&lost) < 1e-3, "{i}: {}", lost.area());
        }
    }
}
