//! Wishes about the sewing order.

use super::Item;
use laidwork_plan::{Point, Rect};

/// A wish about the sewing order; numbers are indices of items.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Pin {
    /// Sewn before everything else.
    First(Vec<usize>),
    /// Sewn after everything else.
    Last(Vec<usize>),
    /// All of `earlier` before all of `later`.
    Before {
        /// Sewn first.
        earlier: Vec<usize>,
        /// Sewn then.
        later: Vec<usize>,
    },
    /// Sewn one right after the other, in the best order.
    Together(Vec<usize>),
    /// Sewn from the outermost to the innermost.
    OutsideIn(Vec<usize>),
    /// Sewn from the innermost to the outermost.
    InsideOut(Vec<usize>),
    /// Sewn around their common centre, those of one thread in turn.
    Around(Vec<usize>),
    /// Sewn in this order among themselves.
    InTurn(Vec<usize>),
}

impl Pin {
    /// At least as many as [`Pin::pairs`] makes.
    pub(super) fn most_pairs(&self) -> usize {
        match self {
            Pin::First(_) | Pin::Last(_) | Pin::Together(_) => 0,
            Pin::Before { earlier, later } => earlier.len().saturating_mul(later.len()),
            Pin::OutsideIn(list) | Pin::InsideOut(list) | Pin::Around(list) | Pin::InTurn(list) => list.len(),
        }
    }

    /// Pairs (first, then) that the pin asks for, among items as such.
    pub(super) fn pairs(&self, items: &[Item]) -> Vec<(usize, usize)> {
        match self {
            Pin::First(_) | Pin::Last(_) | Pin::Together(_) => Vec::new(),
            Pin::Before { earlier, later } => {
                earlier.iter().flat_map(|&a| later.iter().map(move |&b| (a, b))).filter(|(a, b)| a != b).collect()
            }
            Pin::OutsideIn(list) => in_turn(&by_size(list, items)),
            Pin::InsideOut(list) => in_turn(&by_size(list, items).into_iter().rev().collect::<Vec<_>>()),
            Pin::Around(list) => around(list, items),
            Pin::InTurn(list) => in_turn(list),
        }
    }
}

fn in_turn(list: &[usize]) -> Vec<(usize, usize)> {
    list.iter().copied().zip(list.iter().copied().skip(1)).collect()
}

fn bounds(items: &[Item], item: usize) -> Rect {
    items.get(item).and_then(|item| item.region.bounds()).unwrap_or(Rect::ZERO)
}

/// The largest bounds first, then the lowest index.
fn by_size(list: &[usize], items: &[Item]) -> Vec<usize> {
    let mut sorted = list.to_vec();
    sorted.sort_by(|&a, &b| bounds(items, b).area().total_cmp(&bounds(items, a).area()).then(a.cmp(&b)));
    sorted
}

/// Those of one thread in turn around the middle of all, clockwise as seen,
/// beginning behind the widest gap.
fn around(list: &[usize], items: &[Item]) -> Vec<(usize, usize)> {
    let all = list.iter().map(|&i| bounds(items, i)).reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO);
    let angle = |i: usize| {
        let arm = middle(items, i) - all.center();
        arm.y.atan2(arm.x)
    };
    let mut threads: Vec<usize> = list.iter().filter_map(|&i| items.get(i)).map(|item| item.thread).collect();
    threads.sort_unstable();
    threads.dedup();
    let mut pairs = Vec::new();
    for thread in threads {
        let own = list.iter().copied().filter(|&i| items.get(i).is_some_and(|item| item.thread == thread));
        let mut ring: Vec<(f64, usize)> = own.map(|i| (angle(i), i)).collect();
        ring.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let turn = std::f64::consts::TAU;
        let gap = |k: usize| {
            let before = if k == 0 { ring.last().map_or(0.0, |last| last.0 - turn) } else { ring[k - 1].0 };
            ring[k].0 - before
        };
        // Gaps that differ by rounding are the same.
        let widest = (0..ring.len()).reduce(|a, b| if gap(b) > gap(a) + 1e-6 { b } else { a }).unwrap_or(0);
        ring.rotate_left(widest);
        pairs.extend(in_turn(&ring.into_iter().map(|(_, i)| i).collect::<Vec<_>>()));
    }
    pairs
}

/// The middle of an item's outline.
fn middle(items: &[Item], item: usize) -> Point {
    let Some(item) = items.get(item) else { return Point::ZERO };
    let (mut sum, mut length) = (kurbo::Vec2::ZERO, 0.0);
    for (a, b) in item.region.rings().flat_map(|ring| ring.edges()) {
        sum += a.midpoint(b).to_vec2() * a.distance(b);
        length += a.distance(b);
    }
    if length > 0.0 { (sum / length).to_point() } else { Point::ZERO }
}
