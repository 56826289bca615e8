//! Ends and joins of columns: caps, rings where they close, corners of borders, strokes that cross.

mod common;

use common::{figures, points, polygon};
use kurbo::{Point, Vec2};
use laidwork_geometry::{FillRule, Join, Pen, PenCap, PenJoin, PenLine, Region, Ring};
use laidwork_plan::{Pass, PassKind};
use laidwork_satin::{Border, Ends, SatinSettings, Side, border, from_outline, from_stroke};
use std::f64::consts::{PI, TAU};

fn oval(a: f64, b: f64) -> Vec<(f64, f64)> {
    (0..200).map(|i| f64::from(i) * TAU / 200.0).map(|t| (a * t.cos(), b * t.sin())).collect()
}

fn line(points: &[(f64, f64)], closed: bool) -> PenLine {
    PenLine { points: points.iter().copied().map(Point::from).collect(), closed, ..PenLine::default() }
}

/// What a pen paints along lines, and the lines sewn.
fn drawn(lines: &[PenLine], pen: &Pen) -> (Region, Vec<Pass>) {
    let rings: Vec<Ring> = lines.iter().flat_map(|line| line.stroke(pen)).collect();
    let region = Region::union_of_chain(&rings);
    let sewn = from_stroke("line", lines, pen, (&region.polygons[0], None), &SatinSettings::default(), Ends::default());
    assert!(sewn.warnings.is_empty(), "{:?}", sewn.warnings);
    (region, sewn.value)
}

fn pen(width: f64, cap: PenCap, join: PenJoin) -> Pen {
    Pen { width, cap, join, tolerance: 0.01 }
}

/// Thread on top within `radius` mm of a place, mm/mm².
fn top_density(passes: &[Pass], at: Point, radius: f64) -> f64 {
    let points = points(passes);
    let mut inside = 0.0;
    for pair in points.windows(2).filter(|pair| pair[1].0 == PassKind::Top) {
        let steps = (pair[0].1.distance(pair[1].1) / 0.02).ceil().max(1.0);
        let step = pair[0].1.distance(pair[1].1) / steps;
        let near = |i: &usize| pair[0].1.lerp(pair[1].1, (*i as f64 + 0.5) / steps).distance(at) < radius;
        inside += step * (0..steps as usize).filter(near).count() as f64;
    }
    inside / (PI * radius * radius)
}

#[test]
fn no_thread_is_missing_at_the_ends_of_a_column() {
    let bar = polygon(&[vec![(0.0, -2.0), (30.0, -2.0), (30.0, 2.0), (0.0, 2.0)]]);
    // Without push the ends lie outside the outline.
    let settings = SatinSettings { push: 0.0, ..SatinSettings::default() };
    let passes = from_outline("bar", &bar, &settings, Ends::default()).value;
    let top: Vec<Point> = points(&passes).into_iter().filter(|p| p.0 == PassKind::Top).map(|p| p.1).collect();
    let across = top.windows(2).filter(|pair| (pair[0].y - pair[1].y).abs() > 3.0);
    let apart: Vec<f64> = across.map(|pair| (pair[0].x - pair[1].x).abs()).collect();
    let widest = apart.iter().copied().fold(0.0, f64::max);
    assert!(apart.len() > 100 && widest < settings.spacing * 1.05, "{widest}");
}

#[test]
fn underlay_stays_under_threads_that_push_moves_in() {
    let bar = polygon(&[vec![(0.0, -2.0), (30.0, -2.0), (30.0, 2.0), (0.0, 2.0)]]);
    for push in [0.4, 1.0, 2.0, 4.0] {
        let settings = SatinSettings { push, ..SatinSettings::default() };
        let passes = from_outline("bar", &bar, &settings, Ends::default()).value;
        let reach = |kind| {
            let of_kind = points(&passes).into_iter().filter(|p| p.0 == kind).map(|p| p.1.x);
            of_kind.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)))
        };
        let (top, under) = (reach(PassKind::Top), reach(PassKind::Underlay));
        assert!(top.0 + 0.1 < under.0 && under.1 + 0.1 < top.1, "{push}: {under:?} under {top:?}");
    }
}

#[test]
fn a_ring_goes_on_over_its_beginning_by_the_closing_overlap() {
    let ring = polygon(&[oval(10.0, 10.0), oval(7.0, 7.0)]);
    for overlap in [0.0, 0.8, 2.0] {
        let settings = SatinSettings { closing_overlap: overlap, ..SatinSettings::default() };
        let sewn = from_outline("ring", &ring, &settings, Ends::default()).value;
        let top: Vec<Point> = points(&sewn).into_iter().filter(|p| p.0 == PassKind::Top).map(|p| p.1).collect();
        let outer: Vec<Vec2> = top.iter().map(|p| p.to_vec2()).filter(|v| v.hypot() > 9.0).collect();
        let turned: f64 = outer.windows(2).map(|v| v[0].cross(v[1]).atan2(v[0].dot(v[1]))).sum();
        // Along the middle, 8.5 mm from the centre; the last points on the outer side may stand a step apart.
        let over = (turned.abs() - TAU) * 8.5;
        assert!((over - overlap).abs() < 0.45, "{overlap}: {over}");
    }
}

#[test]
fn caps_do_not_pile_needle_points_up() {
    for cap in [PenCap::Butt, PenCap::Round, PenCap::Square] {
        for width in [1.5, 3.0, 6.0] {
            let (region, sewn) = drawn(&[line(&[(0.0, 0.0), (20.0, 0.0)], false)], &pen(width, cap, PenJoin::Round));
            let figures = figures(&region.polygons[0], &sewn);
            assert!(figures.crowd <= 12, "{cap:?} {width}: {figures:?}");
            assert!(figures.coverage >= 0.97 && figures.shortest >= 0.3, "{cap:?} {width}: {figures:?}");
        }
    }
}

#[test]
fn points_of_a_leaf_do_not_pile_needle_points_up() {
    let leaf: Vec<(f64, f64)> = (0..=40)
        .map(|i| f64::from(i) / 40.0)
        .map(|t| (24.0 * t, 3.0 * (PI * t).sin()))
        .chain((1..40).rev().map(|i| f64::from(i) / 40.0).map(|t| (24.0 * t, -3.0 * (PI * t).sin())))
        .collect();
    let leaf = polygon(&[leaf]);
    let figures = figures(&leaf, &from_outline("leaf", &leaf, &SatinSettings::default(), Ends::default()).value);
    assert!(figures.crowd <= 12 && figures.coverage >= 0.985 && figures.shortest >= 0.3, "{figures:?}");
}

#[test]
fn borders_turn_corners_and_keep_holes() {
    let square = |a: f64, b: f64| Ring::new([(a, a), (b, a), (b, b), (a, b)].map(Point::from).to_vec());
    let frame = Region::from_rings(&[square(0.0, 30.0), square(9.0, 21.0)], FillRule::EvenOdd);
    let round = Join::Round { tolerance: 0.01 };
    let joins = [
        (round, PenJoin::Round),
        (Join::Mitre { limit: 4.0 }, PenJoin::Mitre { limit: 4.0 }),
        (Join::Bevel, PenJoin::Bevel),
    ];
    for (join, pen_join) in joins {
        for side in [Side::In, Side::Out, Side::Centred] {
            let band = border(&frame, Border { width: 3.0, side, join, ..Border::default() });
            assert_eq!(band.region.polygons.len(), 2, "{join:?} {side:?}");
            for area in &band.region.polygons {
                assert_eq!(area.holes.len(), 1, "{join:?} {side:?}");
                let bounds = area.bounds().unwrap();
                let holds = |line: &&PenLine| line.points.iter().all(|p| bounds.contains(*p));
                let wide = |line: &PenLine| line.points.iter().map(|p| p.x).fold(f64::NEG_INFINITY, f64::max);
                // Of the two lines the one that runs in this band: the outermost that lies within its bounds.
                let own = band.lines.iter().filter(holds).max_by(|a, b| wide(a).total_cmp(&wide(b))).cloned();
                let lines: Vec<PenLine> = own.into_iter().collect();
                let pen = pen(band.width, PenCap::Butt, pen_join);
                let sewn = from_stroke("band", &lines, &pen, (area, None), &SatinSettings::default(), Ends::default());
                let figures = figures(area, &sewn.value);
                let what = format!("{join:?} {side:?} {figures:?}");
                assert!(figures.coverage >= 0.98 && figures.showing <= 0.01, "{what}");
                assert!(figures.crowd <= 12 && figures.longest <= 8.0 && figures.overrun <= 0.005, "{what}");
            }
        }
    }
}

#[test]
fn a_line_drawn_twice_is_as_dense_as_one() {
    let once = line(&[(0.0, 0.0), (24.0, 0.0)], false);
    let pen = pen(3.0, PenCap::Butt, PenJoin::Round);
    let (region, sewn) = drawn(&[once.clone(), once], &pen);
    let density = top_density(&sewn, Point::new(12.0, 0.0), 1.2);
    assert!(density < 1.3 / SatinSettings::default().spacing, "{density}");
    assert!(figures(&region.polygons[0], &sewn).coverage > 0.985);
}

#[test]
fn strokes_that_cross_do_not_pile_up() {
    let pen = pen(3.0, PenCap::Butt, PenJoin::Round);
    let cross = [line(&[(-12.0, 0.0), (12.0, 0.0)], false), line(&[(0.0, -12.0), (0.0, 12.0)], false)];
    // A loop that comes back over its own beginning.
    let turn: Vec<(f64, f64)> =
        (-30..=210).map(|d| f64::from(d).to_radians()).map(|a| (9.0 * (2.0 * a).sin(), 9.0 * a.sin())).collect();
    for (lines, what) in [(cross.to_vec(), "cross"), (vec![line(&turn, false)], "loop")] {
        let (region, sewn) = drawn(&lines, &pen);
        let density = top_density(&sewn, Point::ZERO, 0.4);
        assert!(density < 1.6 / SatinSettings::default().spacing, "{what}: {density}");
        let figures = figures(&region.polygons[0], &sewn);
        assert!(figures.coverage > 0.98 && figures.showing < 0.01, "{what}: {figures:?}");
    }
}
