//! The model against closed forms.

use super::*;
use laidwork_geometry::{Polygon, Ring};
use laidwork_plan::{Pass, PassKind, Piece, Point, Rect};
use laidwork_recipe::Pull;

/// Rows along x over `rect`, each lengthened by `pull` at its ends, `spacing` apart, as a fill lays them.
fn rows(rect: Rect, spacing: f64, pull: f64) -> Pass {
    let count = (rect.height() / spacing).round() as usize;
    let mut points = Vec::new();
    for row in 0..count {
        let y = rect.y0 + (row as f64 + 0.5) * rect.height() / count as f64;
        let (from, to) = (rect.x0 - pull, rect.x1 + pull);
        let (from, to) = if row % 2 == 0 { (from, to) } else { (to, from) };
        points.extend([Point::new(from, y), Point::new((from + to) / 2.0, y), Point::new(to, y)]);
    }
    Pass::after_jump(PassKind::Top, points)
}

fn sewing(spacing: f64, pull: f64) -> Sewing {
    Sewing {
        spacing,
        usual_spacing: 0.2,
        stitch_length: 4.0,
        usual_stitch_length: 4.0,
        pull: Pull { left: pull, right: pull, percent: 0.0, limit: 5.0 },
    }
}

fn cloth(pull: f64) -> Cloth {
    Cloth { pull, limit: 5.0, ..Cloth::default() }
}

/// A design of fills called a, b, …; each with its rectangle, compensation and cloth.
fn design(fills: &[(Rect, f64, Cloth)]) -> (Plan, Vec<Option<Target>>) {
    let (mut plan, mut targets) = (Plan::default(), Vec::new());
    for (name, (rect, pull, cloth)) in ('a'..).zip(fills) {
        let passes = vec![rows(*rect, 0.2, *pull)];
        plan.pieces.push(Piece { name: name.to_string(), method: Method::Fill, thread: 0, passes });
        let corners = [(rect.x0, rect.y0), (rect.x1, rect.y0), (rect.x1, rect.y1), (rect.x0, rect.y1)];
        let outer = Ring::new(corners.map(Point::from).to_vec());
        let region = Polygon { outer, holes: Vec::new() }.into();
        targets.push(Some(Target { shape: name.to_string(), region, cloth: *cloth, sewing: sewing(0.2, *pull) }));
    }
    (plan, targets)
}

fn bounds(piece: &PiecePrediction) -> Rect {
    piece.predicted.bounds().unwrap()
}

const TEN: Rect = Rect::new(-10.0, -5.0, 10.0, 5.0);

#[test]
fn a_rectangle_of_parallel_threads_shrinks_along_them_and_not_across() {
    let strain = Cloth { percent: 5.0, ..cloth(0.0) };
    let (plan, targets) = design(&[(TEN, 0.0, strain)]);
    let found = bounds(&predict(&plan, &targets, 90.0).pieces[0]);
    // A thread of 20 mm is one of 20 / 1.05 mm as drawn with its compensation: it comes out so long.
    assert!((found.width() - 20.0 / 1.05).abs() < 0.02, "{found:?}");
    // Across: the outermost threads and half a thread on either side, as without any pull.
    assert!((found.height() - (10.0 - 0.2 + 0.3)).abs() < 0.02, "{found:?}");
}

#[test]
fn what_is_within_a_rectangle_moves_in_proportion() {
    let (plan, targets) = design(&[(TEN, 0.0, cloth(0.3))]);
    let target = targets[0].as_ref().unwrap();
    let lines = lines::of_pieces(&plan);
    assert_eq!(lines[0].len(), 50);
    let moves = lines[0][0].own_moves(target, Vec2::new(0.0, 1.0));
    assert!((moves[0].x - 0.3).abs() < 1e-12 && moves[1].hypot() < 1e-12 && (moves[2].x + 0.3).abs() < 1e-12);
}

#[test]
fn a_single_row_draws_in_less_for_it_lies_alone() {
    let lone = Cloth { density: 0.1, ..cloth(0.25) };
    let mut plan = Plan::default();
    let pass = Pass::after_jump(PassKind::Top, vec![Point::new(-5.0, 0.0), Point::new(5.0, 0.0)]);
    plan.pieces.push(Piece { name: "row".into(), method: Method::Fill, thread: 0, passes: vec![pass] });
    // Nothing beside it: a spacing that is as good as endless.
    let target = Target { shape: "row".into(), region: Region::default(), cloth: lone, sewing: sewing(1e9, 0.0) };
    let found = predict(&plan, &[Some(target)], 90.0);
    assert!((found.pieces[0].drawn_in - 0.15).abs() < 1e-3, "{:?}", found.pieces[0]);
}

#[test]
fn twice_as_dense_draws_in_more_by_what_the_row_says() {
    let cloth = Cloth { density: 0.1, stitch: 0.04, grain: 0.05, ..cloth(0.2) };
    let dense = Sewing { stitch_length: 2.0, ..sewing(0.1, 0.0) };
    assert!((cloth.drawn_in(10.0, 0.0, &dense) - 0.34).abs() < 1e-12);
    assert!((cloth.drawn_in(10.0, 1.0, &dense) - 0.39).abs() < 1e-12);
    assert!((cloth.drawn_in(10.0, -1.0, &dense) - 0.29).abs() < 1e-12);
    assert!((cloth.drawn_in(0.4, 1.0, &dense) - 0.2).abs() < 1e-12, "no end moves beyond the middle");
    assert!(Cloth { pull: f64::NAN, ..cloth }.drawn_in(10.0, 0.0, &dense).abs() < 1e-12);
}

#[test]
fn compensation_and_draw_in_are_each_other_s_inverse() {
    let cloth = Cloth { percent: 4.0, ..cloth(0.15) };
    for width in [1.5f64, 4.0, 30.0] {
        let each = 0.15 + width * 0.02;
        let stitched = width + 2.0 * each;
        assert!((cloth.drawn_in(stitched, 0.0, &sewing(0.2, 0.0)) - each).abs() < 1e-12, "{width}");
        let limited = Cloth { limit: 0.2, ..cloth };
        let each = each.min(0.2);
        assert!((limited.drawn_in(width + 2.0 * each, 0.0, &sewing(0.2, 0.0)) - each).abs() < 1e-12, "{width}");
    }
}

#[test]
fn the_advice_brings_the_outline_back() {
    let cloth = Cloth { percent: 2.0, density: 0.1, grain: 0.04, ..cloth(0.2) };
    let (plan, targets) = design(&[(TEN, 0.0, cloth)]);
    let before = predict(&plan, &targets, 90.0);
    assert!(bounds(&before.pieces[0]).width() < 19.6);
    let (plan, targets) = design(&[(TEN, before.advice()["a"], cloth)]);
    let after = predict(&plan, &targets, 90.0);
    assert!((bounds(&after.pieces[0]).width() - 20.0).abs() < 0.03, "{:?}", bounds(&after.pieces[0]));
    assert!(after.pieces[0].edge_off.abs() < 0.01, "{:?}", after.pieces[0]);
}

#[test]
fn a_gap_opens_between_neighbours_that_touch() {
    let (left, right) = (Rect::new(-12.0, -5.0, 0.0, 5.0), Rect::new(0.0, -5.0, 12.0, 5.0));
    let pull = 0.2;
    let (plan, targets) = design(&[(left, 0.0, cloth(pull)), (right, 0.0, cloth(pull))]);
    let found = predict(&plan, &targets, 90.0);
    let gap = &found.gaps[0];
    assert_eq!(gap.between, ["a", "b"]);
    // The first has drawn in when the second is sewn at its own place, and is pulled after it when that draws in too,
    // but for what fades over the gap: between one pull and two, and nearer to one.
    assert!(gap.width > 0.9 * pull && gap.width < 1.4 * pull, "{gap:?}");
    assert!(gap.x.abs() < 0.3 && gap.length > 8.0 && gap.length < 22.0, "{gap:?}");
    assert_eq!(found.gaps.len(), 1);
}

#[test]
fn compensated_neighbours_have_no_gap_and_those_drawn_apart_none_either() {
    let (left, right) = (Rect::new(-12.0, -5.0, 0.0, 5.0), Rect::new(0.0, -5.0, 12.0, 5.0));
    let (plan, targets) = design(&[(left, 0.2, cloth(0.2)), (right, 0.2, cloth(0.2))]);
    assert!(predict(&plan, &targets, 90.0).gaps.is_empty());
    let apart = Rect::new(0.6, -5.0, 12.0, 5.0);
    let (plan, targets) = design(&[(left, 0.0, cloth(0.2)), (apart, 0.0, cloth(0.2))]);
    assert!(predict(&plan, &targets, 90.0).gaps.is_empty());
}

#[test]
fn what_is_sewn_later_moves_what_lies_there_and_not_the_other_way_round() {
    let (left, right) = (Rect::new(-12.0, -5.0, 0.0, 5.0), Rect::new(0.0, -5.0, 12.0, 5.0));
    let (plan, targets) = design(&[(left, 0.0, cloth(0.0)), (right, 0.0, cloth(0.2))]);
    let found = predict(&plan, &targets, 90.0);
    // The first follows the second's left edge to the right.
    assert!((bounds(&found.pieces[0]).x1 - 0.2).abs() < 0.06, "{:?}", bounds(&found.pieces[0]));
    assert!((bounds(&found.pieces[0]).x0 + 12.0).abs() < 0.01, "beyond reach");
    let (plan, targets) = design(&[(left, 0.0, cloth(0.2)), (right, 0.0, cloth(0.0))]);
    let found = predict(&plan, &targets, 90.0);
    assert!(bounds(&found.pieces[1]).x0.abs() < 0.01, "{:?}", bounds(&found.pieces[1]));
}

#[test]
fn columns_spread_at_their_ends() {
    let (plan, mut targets) = design(&[(TEN, 0.0, cloth(0.0))]);
    let mut plan = plan;
    plan.pieces[0].method = Method::Satin;
    if let Some(Some(target)) = targets.get_mut(0) {
        target.cloth.spread = 0.2;
    }
    let found = bounds(&predict(&plan, &targets, 90.0).pieces[0]);
    assert!((found.height() - (10.0 - 0.2 + 0.3 + 0.4)).abs() < 0.02, "{found:?}");
    assert!((found.width() - 20.0).abs() < 0.02, "{found:?}");
}

#[test]
fn odd_plans_are_borne() {
    assert!(predict(&Plan::default(), &[], 90.0).pieces.is_empty());
    let (mut plan, targets) = design(&[(TEN, 0.0, cloth(0.2))]);
    plan.pieces[0].passes[0].points[4] = Point::new(f64::NAN, 0.0);
    assert_eq!(predict(&plan, &targets, f64::NAN).pieces.len(), 1);
    assert!(predict(&plan, &[], 90.0).pieces.is_empty());
}

#[test]
fn the_same_plan_gives_the_same_prediction() {
    let (plan, targets) = design(&[(TEN, 0.1, cloth(0.2)), (Rect::new(10.0, -5.0, 14.0, 5.0), 0.1, cloth(0.2))]);
    assert_eq!(predict(&plan, &targets, 90.0), predict(&plan, &targets, 90.0));
    assert!(predict(&plan, &targets, 90.0).to_text().contains("model"));
}
