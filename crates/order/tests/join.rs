//! What joining pieces into a plan promises.

use laidwork_geometry::{FillRule, Region, Ring};
use laidwork_order::{Head, JoinSettings, LONGEST_FLOAT, UnjoinedPiece, join};
use laidwork_plan::{Color, Method, Pass, PassKind, Plan, Point, Thread};
use proptest::prelude::*;

fn head(threads: u8) -> Head {
    let thread = |red| Thread { color: Color::new(red, 0, 0), name: None };
    Head { threads: (0..threads).map(thread).collect(), ..Head::default() }
}

fn line(thread: usize, from: (f64, f64), to: (f64, f64)) -> UnjoinedPiece {
    let points = laidwork_run::points(&[from.into(), to.into()], false, &Default::default());
    UnjoinedPiece {
        name: "line".into(),
        method: Method::Run,
        thread,
        passes: vec![Pass::new(PassKind::Top, points)],
        cover: Region::default(),
    }
}

fn joined(pieces: Vec<UnjoinedPiece>) -> Plan {
    let plan = join(pieces, head(4), &JoinSettings::default()).value.plan;
    assert_eq!(plan.sanity_check(), []);
    plan
}

fn square(from: (f64, f64), to: (f64, f64)) -> Region {
    let corners = [from, (to.0, from.1), to, (from.0, to.1)].map(Point::from);
    Region::from_rings(&[Ring::new(corners.to_vec())], FillRule::NonZero)
}

#[test]
fn one_piece_is_tied_at_both_ends_and_cut() {
    let plan = joined(vec![line(0, (0.0, 0.0), (10.0, 0.0))]);
    let kinds: Vec<PassKind> = plan.passes().map(|(_, pass)| pass.kind).collect();
    assert_eq!(kinds, [PassKind::Tie, PassKind::Top, PassKind::Tie]);
    let xs = |i: usize| plan.pieces[0].passes[i].points.iter().map(|p| p.x).collect::<Vec<_>>();
    assert_eq!((xs(0), xs(1)), (vec![0.8, 0.0, 0.8, 0.0], vec![2.5, 5.0, 7.5, 10.0]));
    assert_eq!(xs(2), [9.2, 10.0, 9.2]);
    assert_eq!((plan.trims(), plan.pieces[0].passes[2].trim), (1, true));
}

#[test]
fn pieces_that_meet_are_sewn_in_one_go() {
    let plan = joined(vec![line(0, (0.0, 0.0), (10.0, 0.0)), line(0, (10.0, 0.1), (10.0, 8.0))]);
    assert_eq!((plan.pieces.len(), plan.trims()), (2, 1));
    assert!(plan.passes().skip(1).all(|(_, pass)| pass.jumps.is_empty()));
}

#[test]
fn a_narrow_gap_is_jumped_and_a_wide_one_trimmed() {
    let plan = |gap: f64| joined(vec![line(0, (0.0, 0.0), (10.0, 0.0)), line(0, (10.0 + gap, 0.0), (20.0, 0.0))]);
    assert_eq!(plan(1.9).trims(), 1);
    assert_eq!(plan(2.1).trims(), 2);
}

#[test]
fn a_gap_under_what_follows_is_sewn_across() {
    let mut next = line(0, (20.0, 0.0), (30.0, 0.0));
    next.cover = square((9.0, -2.0), (31.0, 2.0));
    let plan = joined(vec![line(0, (0.0, 0.0), (10.0, 0.0)), next]);
    assert_eq!(plan.trims(), 1);
    assert_eq!(plan.pieces[1].passes[0].kind, PassKind::Travel);
}

#[test]
fn travel_goes_around_under_what_follows() {
    // A U of cover between two lines whose straight gap lies bare.
    let corners = [(9., -1.), (11., -1.), (11., 8.), (19., 8.), (19., -1.), (21., -1.), (21., 10.), (9., 10.)];
    let cover = Region::from_rings(&[Ring::new(corners.map(Point::from).to_vec())], FillRule::NonZero);
    let later = UnjoinedPiece { cover, ..line(1, (9.5, 0.0), (9.5, 9.0)) };
    let plan = joined(vec![line(0, (0.0, 0.0), (10.0, 0.0)), line(0, (20.0, 0.0), (30.0, 0.0)), later]);
    assert_eq!(plan.trims(), 2);
    let travel = &plan.pieces[1].passes[0];
    assert_eq!(travel.kind, PassKind::Travel);
    assert!(travel.points.iter().any(|p| p.y > 7.9) && travel.points.iter().all(|p| p.y < 8.5));
}

#[test]
fn what_is_sewn_already_hides_nothing() {
    let first = UnjoinedPiece { cover: square((-1.0, -2.0), (31.0, 2.0)), ..line(0, (0.0, 0.0), (10.0, 0.0)) };
    assert_eq!(joined(vec![first, line(0, (20.0, 0.0), (30.0, 0.0))]).trims(), 2);
}

#[test]
fn a_change_of_thread_is_trimmed_and_threads_come_in_order_of_use() {
    let plan = joined(vec![line(2, (0.0, 0.0), (10.0, 0.0)), line(0, (10.0, 0.0), (20.0, 0.0))]);
    assert_eq!(plan.trims(), 2);
    assert_eq!(plan.threads.iter().map(|t| t.color.red).collect::<Vec<_>>(), [2, 0]);
}

#[test]
fn what_cannot_be_sewn_is_told() {
    let dot = line(0, (0.0, 0.0), (0.1, 0.0));
    let result = join(vec![dot, line(9, (0.0, 0.0), (9.0, 0.0))], head(1), &JoinSettings::default());
    assert_eq!((result.value.pieces.len(), result.warnings.len()), (0, 2));
}

fn any_pass() -> impl Strategy<Value = Pass> {
    let near = (-3.0..3.0, -3.0..3.0).prop_map(Point::from);
    let far = (-40.0..40.0, -40.0..40.0).prop_map(Point::from);
    let odd = prop_oneof![Just(f64::NAN), Just(f64::INFINITY), Just(1e300), Just(0.0)];
    let odd = (odd, -1.0..1.0).prop_map(|(x, y)| Point::new(x, y));
    let tiny = (-0.4..0.4, -0.4..0.4).prop_map(Point::from);
    let point = prop_oneof![8 => near, 3 => far, 6 => tiny, 1 => odd];
    let kind = prop::sample::select(vec![PassKind::Underlay, PassKind::Top, PassKind::Travel]);
    let flags = (prop::bool::weighted(0.1), prop::bool::weighted(0.1), prop::bool::weighted(0.1));
    (kind, prop::collection::vec(point, 0..8), flags).prop_map(|(kind, points, (jump, trim, stop))| {
        let jumps = if jump { points.first().copied().into_iter().collect() } else { Vec::new() };
        Pass { kind, jumps, points, trim, stop }
    })
}

fn any_piece() -> impl Strategy<Value = UnjoinedPiece> {
    let method = prop::sample::select(Method::ALL.to_vec());
    let cover = prop::option::of((-5.0..5.0, -5.0..5.0, 0.5..9.0, 0.5..9.0));
    (".{0,4}", method, 0..4usize, prop::collection::vec(any_pass(), 0..4), cover).prop_map(
        |(name, method, thread, passes, cover)| {
            let cover = cover.map(|(x, y, w, h)| square((x, y), (x + w, y + h))).unwrap_or_default();
            UnjoinedPiece { name, method, thread, passes, cover }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn every_plan_is_sound(pieces in prop::collection::vec(any_piece(), 0..8), threads in 0..4u8) {
        let settings = JoinSettings::default();
        let plan = join(pieces, head(threads), &settings).value.plan;
        prop_assert_eq!(plan.sanity_check(), vec![]);
        let mut short = Vec::new();
        plan.for_each_segment(|s| {
            let manual = plan.pieces[s.piece].method == Method::Manual;
            if !s.float && !manual && s.kind != PassKind::Tie && s.length() < settings.shortest_stitch - 1e-9 {
                short.push(s);
            }
            if s.float {
                assert!(s.length() <= LONGEST_FLOAT + 1e-9);
            }
        });
        prop_assert!(short.is_empty(), "{short:?}");
        let rounded = |v: f64| (v * 100.0 - (v * 100.0).round()).abs() < 1e-6;
        prop_assert!(plan.passes().all(|(_, pass)| pass.points.iter().all(|p| rounded(p.x) && rounded(p.y))));
        prop_assert!(plan.passes().last().is_none_or(|(_, pass)| pass.trim));
    }

    #[test]
    fn joining_is_the_same_every_time(pieces in prop::collection::vec(any_piece(), 0..5)) {
        let plan = || format!("{:?}", join(pieces.clone(), head(4), &JoinSettings::default()));
        prop_assert_eq!(plan(), plan());
    }
}
