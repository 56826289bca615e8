//! What the sewing order promises.

use laidwork_geometry::{FillRule, Region, Ring};
use laidwork_order::{ArrangeSettings, Arrangement, Item, Passage, Pin, arrange};
use laidwork_plan::{Point, Vec2};
use proptest::prelude::*;
use std::f64::consts::TAU;

fn region(points: Vec<Point>) -> Region {
    Region::from_rings(&[Ring::new(points)], FillRule::NonZero)
}

fn rect(x: f64, y: f64, w: f64, h: f64) -> Region {
    region([(x, y), (x + w, y), (x + w, y + h), (x, y + h)].map(Point::from).to_vec())
}

fn item(thread: usize, depth: usize, region: Region) -> Item {
    Item { name: format!("{thread}/{depth}"), thread, depth, region, hides: true, seconds: 10.0, ..Item::default() }
}

fn arranged(items: &[Item], pins: &[Pin]) -> Arrangement {
    let result = arrange(items, pins, &ArrangeSettings::default());
    assert_eq!(result.warnings, []);
    result.value
}

fn order(arrangement: &Arrangement) -> Vec<usize> {
    arrangement.sequence.iter().map(|slot| slot.item).collect()
}

/// A ring of wedges around a disc: the first half in one thread, every other in
/// one, or as `thread` says. The disc lies over their inner ends.
fn wedges(count: usize, thread: impl Fn(usize) -> usize, disc: usize) -> Vec<Item> {
    let mut items: Vec<Item> = (0..count)
        .map(|i| {
            let arm = |k: usize, radius: f64| Point::ORIGIN + radius * Vec2::from_angle(TAU * k as f64 / count as f64);
            item(thread(i), 0, region(vec![arm(i, 8.0), arm(i, 25.0), arm(i + 1, 25.0), arm(i + 1, 8.0)]))
        })
        .collect();
    let circle = (0..90).map(|i| Point::ORIGIN + 9.0 * Vec2::from_angle(TAU * f64::from(i) / 90.0)).collect();
    items.push(item(disc, 1, region(circle)));
    items
}

/// Whether the wedges of one thread follow each other around the ring.
fn goes_around(order: &[usize], count: usize, step: usize) -> bool {
    order.windows(2).all(|pair| {
        let by = (pair[1] + count - pair[0]) % count;
        by == step || by == count - step
    })
}

#[test]
fn wedges_in_two_halves_are_sewn_in_turn() {
    let result = arranged(&wedges(16, |i| i / 8, 2), &[]);
    let order = order(&result);
    assert_eq!((result.thread_changes, result.trims, order[16]), (2, 3, 16));
    assert!(goes_around(&order[..8], 16, 1) && goes_around(&order[8..16], 16, 1), "{order:?}");
}

#[test]
fn wedges_by_turns_in_two_threads_travel_under_what_follows() {
    let result = arranged(&wedges(16, |i| i % 2, 0), &[]);
    assert_eq!((result.thread_changes, result.trims), (1, 2), "{:?}", order(&result));
}

#[test]
fn wedges_pinned_around_go_around() {
    let items = wedges(16, |i| i % 2, 0);
    let result = arranged(&items, &[Pin::Around((0..16).collect())]);
    let order = order(&result);
    assert_eq!((result.thread_changes, result.trims), (1, 2));
    assert!(goes_around(&order[..8], 16, 2) && goes_around(&order[8..16], 16, 2), "{order:?}");
}

#[test]
fn threads_are_changed_as_rarely_as_the_drawing_lets() {
    // Three leaves far apart, each with a vein over it, and a stem under all.
    let mut items = vec![item(2, 0, rect(0.0, 20.0, 80.0, 2.0))];
    for i in 0..3 {
        let x = 30.0 * f64::from(i);
        items.push(item(0, 1, rect(x, 0.0, 10.0, 20.3)));
        items.push(item(1, 2, rect(x + 4.0, 2.0, 2.0, 16.0)));
    }
    let result = arranged(&items, &[]);
    assert_eq!(result.thread_changes, 2);
    assert!(result.seconds < result.drawing_order_seconds && result.lower_bound <= result.seconds);
    assert_eq!(order(&result)[0], 0);
}

#[test]
fn pieces_that_overlap_keep_the_order_of_the_drawing_and_others_need_not() {
    let squares = |step: f64| [0.0, 1.0, 2.0].map(|i| item(i as usize % 2, i as usize, rect(step * i, 0.0, 9.0, 9.0)));
    for (step, changes) in [(8.0, 2), (8.8, 2), (9.0, 1), (9.2, 1), (10.0, 1)] {
        assert_eq!(arranged(&squares(step), &[]).thread_changes, changes, "{step}");
    }
    // Thin things that cross between the places that are looked at first, one over the other.
    for width in [0.1, 0.3] {
        let mut bars = [0.0, 1.0].map(|i| item(0, 2 * i as usize, rect(30.0 * i, 0.0, width, 20.0))).to_vec();
        bars.push(item(1, 1, rect(-5.0, 7.26, 50.0, width)));
        assert_eq!(arranged(&bars, &[]).thread_changes, 2, "{width}");
    }
}

#[test]
fn an_open_run_is_sewn_from_the_better_end() {
    let run = |a: (f64, f64), b: (f64, f64)| Item {
        passage: Passage::Through,
        gates: vec![a.into(), b.into()],
        hides: false,
        ..item(0, 0, Region::default())
    };
    let items = [run((0.0, 0.0), (10.0, 0.0)), run((20.0, 0.0), (10.0, 0.0)), run((20.0, 0.0), (20.0, 10.0))];
    let result = arranged(&items, &[]);
    assert_eq!(result.trims, 1);
    for slots in result.sequence.windows(2) {
        assert!(slots[0].end.distance(slots[1].start) < 1e-9);
    }
}

#[test]
fn pins_bend_the_order() {
    let row: Vec<Item> = (0..5).map(|i| item(0, i, rect(30.0 * i as f64, 0.0, 5.0, 5.0))).collect();
    let last = order(&arranged(&row, &[Pin::Last(vec![1]), Pin::First(vec![3])]));
    assert_eq!((last[0], last[4]), (3, 1));
    let before = order(&arranged(&row, &[Pin::Before { earlier: vec![4], later: vec![0, 1, 2, 3] }]));
    assert_eq!(before[0], 4);
    let turn = order(&arranged(&row, &[Pin::InTurn(vec![2, 0, 4, 1, 3])]));
    assert_eq!(turn, [2, 0, 4, 1, 3]);
}

#[test]
fn a_group_is_sewn_in_one_go_whatever_it_costs() {
    let row: Vec<Item> = (0..6).map(|i| item(i % 2, 0, rect(30.0 * i as f64, 0.0, 5.0, 5.0))).collect();
    let order = order(&arranged(&row, &[Pin::Together(vec![1, 4])]));
    let place = |item: usize| order.iter().position(|&i| i == item).unwrap();
    assert_eq!(place(1).abs_diff(place(4)), 1, "{order:?}");
}

#[test]
fn a_group_that_must_be_parted_gets_a_warning() {
    let stack = [
        item(0, 0, rect(0.0, 0.0, 9.0, 9.0)),
        item(1, 1, rect(1.0, 1.0, 7.0, 7.0)),
        item(0, 2, rect(2.0, 2.0, 5.0, 5.0)),
    ];
    let result = arrange(&stack, &[Pin::Together(vec![0, 2])], &ArrangeSettings::default());
    assert_eq!(result.warnings.len(), 1);
    assert_eq!(order(&result.value), [0, 1, 2]);
}

#[test]
fn nested_rings_go_from_the_outermost_inwards_when_pinned() {
    let rings: Vec<Item> = [3, 0, 2, 1]
        .iter()
        .map(|&k| item(0, 0, rect(f64::from(k), f64::from(k), 20.0 - 2.0 * f64::from(k), 20.0 - 2.0 * f64::from(k))))
        .collect();
    assert_eq!(order(&arranged(&rings, &[Pin::OutsideIn(vec![0, 1, 2, 3])])), [1, 3, 2, 0]);
    assert_eq!(order(&arranged(&rings, &[Pin::InsideOut(vec![0, 1, 2, 3])])), [0, 2, 3, 1]);
}

#[test]
fn pins_that_contradict_each_other_get_a_warning() {
    let row: Vec<Item> = (0..3).map(|i| item(0, 0, rect(30.0 * i as f64, 0.0, 5.0, 5.0))).collect();
    let result = arrange(&row, &[Pin::InTurn(vec![0, 1]), Pin::InTurn(vec![1, 0])], &ArrangeSettings::default());
    assert_eq!((result.warnings.len(), order(&result.value).len()), (1, 3));
}

#[test]
fn pins_against_the_first_and_the_last_get_a_warning() {
    let row: Vec<Item> = (0..3).map(|i| item(0, 0, rect(30.0 * i as f64, 0.0, 5.0, 5.0))).collect();
    let both = arrange(&row, &[Pin::First(vec![1]), Pin::Last(vec![1])], &ArrangeSettings::default());
    assert_eq!((both.warnings.len(), order(&both.value)[0]), (1, 1));
    let before = Pin::Before { earlier: vec![2], later: vec![0] };
    let against = arrange(&row, &[Pin::First(vec![0]), before.clone()], &ArrangeSettings::default());
    assert_eq!((against.warnings.len(), order(&against.value)[0]), (1, 0));
    assert!(arrange(&row, &[Pin::First(vec![2]), before], &ArrangeSettings::default()).warnings.is_empty());
}

#[test]
fn twenty_thousand_pieces_are_arranged() {
    let items: Vec<Item> = (0..20_000)
        .map(|i| {
            let (x, y) = ((i * 7919 % 141) as f64, (i * 104_729 % 142) as f64);
            item(i % 7, i, rect(3.0 * x, 3.0 * y, 2.6, 2.6))
        })
        .collect();
    let result = arrange(&items, &[], &ArrangeSettings { steps: 100, ..ArrangeSettings::default() }).value;
    assert_eq!(result.sequence.len(), 20_000);
    assert!(result.seconds < result.drawing_order_seconds);
}

fn any_item() -> impl Strategy<Value = Item> {
    let place = (0.0..30.0, 0.0..30.0, 1.0..12.0, 1.0..12.0);
    let passage = prop::sample::select(vec![Passage::Free, Passage::Closed, Passage::Through, Passage::OneWay]);
    (place, 0..3usize, 0..4usize, passage, any::<bool>()).prop_map(|((x, y, w, h), thread, depth, passage, hides)| {
        let gates = match passage {
            Passage::Through | Passage::OneWay => vec![Point::new(x, y), Point::new(x + w, y + h)],
            Passage::Free | Passage::Closed => Vec::new(),
        };
        Item { passage, gates, hides, ..item(thread, depth, rect(x, y, w, h)) }
    })
}

fn any_pin(items: usize) -> impl Strategy<Value = Pin> {
    let list = prop::collection::vec(0..items + 1, 0..4);
    prop_oneof![
        list.clone().prop_map(Pin::First),
        list.clone().prop_map(Pin::Last),
        (list.clone(), list.clone()).prop_map(|(earlier, later)| Pin::Before { earlier, later }),
        list.clone().prop_map(Pin::Together),
        list.clone().prop_map(Pin::OutsideIn),
        list.clone().prop_map(Pin::Around),
        list.prop_map(Pin::InTurn),
    ]
}

/// Whether a disc wider than what counts as abutting lies in both.
fn overlap(a: &Item, b: &Item) -> bool {
    !a.region.intersection(&b.region).offset(-0.11, laidwork_geometry::Join::Bevel).is_empty()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn what_is_drawn_over_is_sewn_over(items in prop::collection::vec(any_item(), 1..14)) {
        let result = arranged(&items, &[]);
        let order = order(&result);
        let mut seen = order.clone();
        seen.sort_unstable();
        prop_assert!(seen.into_iter().eq(0..items.len()));
        for (k, &later) in order.iter().enumerate() {
            for &earlier in &order[..k] {
                let (a, b) = (&items[earlier], &items[later]);
                prop_assert!(a.depth <= b.depth || !overlap(a, b), "{order:?}");
            }
        }
        prop_assert!(result.seconds <= result.drawing_order_seconds + 1e-6);
        prop_assert!(result.lower_bound <= result.seconds + 1e-6);
    }

    #[test]
    fn any_pins_give_an_order(
        items in prop::collection::vec(any_item(), 1..9),
        pins in prop::collection::vec(any_pin(8), 0..5),
    ) {
        let result = arrange(&items, &pins, &ArrangeSettings::default()).value;
        let mut seen = order(&result);
        seen.sort_unstable();
        prop_assert!(seen.into_iter().eq(0..items.len()));
    }

    #[test]
    fn slots_follow_their_passage(items in prop::collection::vec(any_item(), 1..9)) {
        for slot in arranged(&items, &[]).sequence {
            let item = &items[slot.item];
            match item.passage {
                Passage::Free => {}
                Passage::Closed => prop_assert_eq!(slot.start, slot.end),
                Passage::Through => prop_assert_ne!(slot.start, slot.end),
                Passage::OneWay => prop_assert_eq!((slot.start, slot.end), (item.gates[0], item.gates[1])),
            }
        }
    }
}

#[test]
fn a_pin_of_too_many_pairs_is_told_of_before_they_are_made() {
    let items = [item(0, 0, rect(0.0, 0.0, 2.0, 2.0)), item(0, 0, rect(5.0, 0.0, 2.0, 2.0))];
    // Ten thousand million pairs: more than any memory.
    let pin = Pin::Before { earlier: vec![1; 100_000], later: vec![0; 100_000] };
    let arrangement = arrange(&items, &[pin], &ArrangeSettings::default());
    let told: Vec<String> = arrangement.warnings.iter().map(ToString::to_string).collect();
    assert!(told.iter().any(|said| said.contains("too many")), "{told:?}");
}
