//! Columns of one shape that lie over each other: a stroke that crosses itself or its neighbours, or
//! is drawn over the same way twice. Threads that others will hide are left out or cut short, so that
//! they do not pile up.
//!
//! Method: every column is cut into short chunks, each with its outline; a crossing is covered when
//! points all along it lie in chunks of other columns, or of the same one farther on. Stretches of covered crossings,
//! less an overlap where they begin and end, are what may be left out. Where only one end of a crossing is covered
//! its thread ends there, an overlap inside. Which of two columns is sewn first is
//! known only on the way: a column is left out under those that come after it, never under one that lies there already.
//! What later shapes hide counts as covered by a column that comes last.
//!
//! O(n log n) for n crossings of which few chunks overlap.

use crate::Column;
use crate::network::{Joint, Network, Part, Place};
use laidwork_geometry::{Crossing, Locator, Region, Ring};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};
use std::collections::BTreeSet;

/// What later shapes hide of a shape, mm.
#[derive(Clone, Debug, Default)]
pub struct Hidden {
    /// Where no thread is laid: far enough from all that shows.
    pub left_out: Region,
    /// All that is hidden: threads that are laid there nevertheless, so that no gap opens, thin out.
    pub thinned: Region,
}

/// So many crossings make a chunk.
const CHUNK: usize = 30;

/// A crossing is looked at in these places.
const SHARES: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];

/// The outermost of them lie this far inside, mm, so that columns that lie upon each other count.
const INSET: f64 = 0.06;

/// Shorter stretches are laid nevertheless, mm.
const SHORTEST: f64 = 0.3;

/// Threads are laid at least this far under the column that covers them, mm; farther needs nobody, since a
/// thread counts as covered only when all of it is.
const MOST_OVERLAP: f64 = 0.2;

/// Points along a crossing are this far apart where it is asked how far it shows, mm.
const FINE: f64 = 0.4;

/// Threads are cut short by this much at least, mm, and left so long at least.
const SHORTEST_CUT: f64 = 0.8;

/// What a column need not lay.
#[derive(Clone, Debug, Default)]
pub(crate) struct Unseen {
    /// Stretches that are left out.
    pub(crate) stretches: Vec<[f64; 2]>,
    /// The shares of each crossing between which its thread is laid; empty where none is cut short.
    pub(crate) shown: Vec<[f64; 2]>,
    /// The same for every second thread, which ends where it shows no more; `None` where nothing of it shows.
    thinned: Vec<Option<[f64; 2]>>,
}

impl Unseen {
    /// The first and the last place of a column at which something of it shows, if anything does.
    pub(crate) fn shows(&self, column: &Column) -> Option<[f64; 2]> {
        if self.thinned.is_empty() {
            return Some([0.0, column.last_place()]);
        }
        let first = self.thinned.iter().position(Option::is_some)?;
        Some([first as f64, self.thinned.iter().rposition(Option::is_some)? as f64])
    }

    /// The part of the crossing at `place` that is laid when it is that of the `n`-th thread.
    ///
    /// Where nothing shows, every second thread is left out; where a part does, every second point of a side lies
    /// nearer to it.
    pub(crate) fn cut(&self, crossing: Crossing, place: f64, n: usize) -> Option<Crossing> {
        let last = self.shown.len().saturating_sub(1);
        let at = (place.round().max(0.0) as usize).min(last);
        let shown = match self.thinned.get(at) {
            Some(None) if n % 2 == 1 => return None,
            Some(Some(thinned)) if (n / 2) % 2 == 1 => Some(thinned),
            _ => self.shown.get(at),
        };
        Some(shown.map_or(crossing, |&[from, to]| Crossing::new(crossing.at(from), crossing.at(to))))
    }
}

/// A stretch of a column that others cover.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Under {
    pub(crate) part: usize,
    /// Its first and last place.
    pub(crate) stretch: [f64; 2],
    /// The parts that cover it; the part itself where it crosses itself.
    pub(crate) by: Vec<usize>,
}

/// Part of a column that may cover others.
#[derive(Clone, Debug)]
struct Chunk {
    part: usize,
    first: usize,
    locator: Locator,
}

/// How many places from a crossing its column may cover it again: one and a half widths.
pub(crate) fn far_enough(column: &Column) -> f64 {
    (1.5 * column.greatest_width() / step_of(column)).max(15.0)
}

/// The columns of a network, ready to be asked what they cover.
#[derive(Clone, Debug)]
pub(crate) struct Covers {
    chunks: Vec<Chunk>,
    tree: RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>,
    /// What later shapes hide so that nothing is laid there.
    left_out: Option<Locator>,
    /// All that they hide.
    thinned: Option<Locator>,
}

impl Covers {
    fn new(network: &Network, above: Option<&Hidden>) -> Covers {
        let chunks: Vec<Chunk> = network.parts.iter().enumerate().flat_map(|(i, part)| chunks(i, part)).collect();
        let boxes = chunks.iter().enumerate();
        let boxes = boxes.filter_map(|(i, chunk)| Some(GeomWithData::new(chunk_box(network, chunk)?, i)));
        let tree = RTree::bulk_load(boxes.collect());
        let locator = |region: &Region| (!region.is_empty()).then(|| Locator::new(region));
        Covers {
            chunks,
            tree,
            left_out: above.and_then(|above| locator(&above.left_out)),
            thinned: above.and_then(|above| locator(&above.thinned)),
        }
    }

    /// The stretches of a column that are covered by parts for which `is_over` holds; the part itself
    /// may be one of them. A ring must not have been opened, but for what lies over it of others.
    fn stretches(&self, part: usize, column: &Column, overlap: f64, is_over: &impl Fn(usize) -> bool) -> Vec<Under> {
        let far = far_enough(column);
        let covers: Vec<Option<BTreeSet<usize>>> = column
            .crossings
            .iter()
            .enumerate()
            .map(|(at, crossing)| {
                let covering = |chunk: &Chunk| {
                    let ahead = chunk.first as f64 - at as f64;
                    let around = !column.closed || ahead + (CHUNK as f64) < column.crossings.len() as f64 - far;
                    is_over(chunk.part) && (chunk.part != part || (ahead > far && around))
                };
                covered(*crossing, &self.chunks, &self.tree, &covering)
            })
            .collect();
        stretches(part, column, covers, overlap.min(MOST_OVERLAP))
    }

    /// What columns of other parts for which `is_over` holds, and later shapes, hide of a column.
    pub(crate) fn unseen(&self, part: usize, column: &Column, overlap: f64, is_over: impl Fn(usize) -> bool) -> Unseen {
        let overlap = overlap.min(MOST_OVERLAP);
        let is_chunk_over = |chunk: &Chunk| chunk.part != part && is_over(chunk.part);
        let shown = |above: &Option<Locator>| -> Vec<Option<[f64; 2]>> {
            let shown = column.crossings.iter().map(|crossing| self.shown(*crossing, &is_chunk_over, above.as_ref()));
            let mut shown = shown.collect::<Vec<_>>();
            ends_as_neighbours(&mut shown, column.closed);
            shown
        };
        let all_shows = |shown: &[Option<[f64; 2]>]| shown.iter().all(|s| *s == Some(WHOLE));
        let thinned = if self.thinned.is_some() { shown(&self.thinned) } else { Vec::new() };
        if self.thinned.is_some() && all_shows(&thinned) {
            return Unseen::default();
        }
        let shown = shown(&self.left_out);
        if self.thinned.is_none() && all_shows(&shown) {
            return Unseen::default();
        }
        let covers: Vec<Option<BTreeSet<usize>>> = shown.iter().map(|s| s.is_none().then(BTreeSet::new)).collect();
        let left_out = stretches(part, column, covers, overlap);
        let reach = (overlap / step_of(column)).ceil() as usize;
        // Nearby threads end alike, so that the overlap holds along the column too.
        let around = |shown: &[Option<[f64; 2]>], at: usize| {
            let near = shown.get(at.saturating_sub(reach)..(at + reach + 1).min(shown.len())).unwrap_or_default();
            let both = |a: [f64; 2], b: &[f64; 2]| [a[0].min(b[0]), a[1].max(b[1])];
            near.iter().flatten().fold([1.0, 0.0], both)
        };
        let cut = |shown: &[Option<[f64; 2]>], at: usize, crossing: &Crossing| {
            let [from, to] = around(shown, at);
            let width = crossing.width();
            if from > to || width * (1.0 - (to - from)) < SHORTEST_CUT {
                return WHOLE;
            }
            let [from, to] = [(from - overlap / width).max(0.0), (to + overlap / width).min(1.0)];
            let more = 0.5 * (SHORTEST_CUT / width - (to - from)).max(0.0);
            let [from, to] = [from - more, to + more];
            let [from, to] = [from + (1.0 - to).min(0.0), to - from.min(0.0)];
            [
                if from * width < SHORTEST_CUT / 2.0 { 0.0 } else { from },
                if (1.0 - to) * width < SHORTEST_CUT / 2.0 { 1.0 } else { to },
            ]
        };
        let crossings = || column.crossings.iter().enumerate();
        Unseen {
            stretches: left_out.into_iter().map(|under| under.stretch).collect(),
            shown: crossings().map(|(at, crossing)| cut(&shown, at, crossing)).collect(),
            thinned: crossings()
                .take(thinned.len())
                .map(|(at, crossing)| thinned.get(at).copied().flatten().map(|_| cut(&thinned, at, crossing)))
                .collect(),
        }
    }

    /// The shares of a crossing between which something of it shows, if anything does.
    fn shown(
        &self,
        crossing: Crossing,
        is_over: &impl Fn(&Chunk) -> bool,
        above: Option<&Locator>,
    ) -> Option<[f64; 2]> {
        let (low, high) = (
            [crossing.left.x.min(crossing.right.x), crossing.left.y.min(crossing.right.y)],
            [crossing.left.x.max(crossing.right.x), crossing.left.y.max(crossing.right.y)],
        );
        let near: Vec<&Chunk> = self
            .tree
            .locate_in_envelope_intersecting(AABB::from_corners(low, high))
            .filter_map(|entry| self.chunks.get(entry.data))
            .filter(|chunk| is_over(chunk))
            .collect();
        if near.is_empty() && above.is_none() {
            return Some(WHOLE);
        }
        let is_hidden = |point| {
            near.iter().any(|chunk| chunk.locator.contains(point)) || above.is_some_and(|above| above.contains(point))
        };
        let steps = (crossing.width() / FINE).ceil().clamp(4.0, 24.0) as usize;
        let share = |step: usize| step as f64 / steps as f64;
        let inset = (INSET / crossing.width().max(1e-6)).min(0.2);
        let shows = |step: &usize| !is_hidden(crossing.at(share(*step).clamp(inset, 1.0 - inset)));
        let first = (0..=steps).find(shows)?;
        let last = (0..=steps).rev().find(shows)?;
        Some([share(first.saturating_sub(1)), share((last + 1).min(steps))])
    }
}

/// A crossing of which nothing is hidden.
const WHOLE: [f64; 2] = [0.0, 1.0];

/// Whether the very ends lie in a chunk that ends there too is up to rounding: they go with their neighbours.
fn ends_as_neighbours<T: Clone>(of: &mut [T], closed: bool) {
    let count = of.len();
    if !closed && count > 2 {
        of[0] = of[1].clone();
        of[count - 1] = of[count - 2].clone();
    }
}

/// How far crossings are apart, mm.
fn step_of(column: &Column) -> f64 {
    (column.length() / (column.crossings.len().max(2) - 1) as f64).max(1e-3)
}

/// Notes what the columns of `network`, which are joined already, cover of each other, and later shapes of them.
pub(crate) fn note_covers(network: &mut Network, above: Option<&Hidden>) {
    if above.is_some() || columns(network).nth(1).is_some() {
        network.covers = Some(Covers::new(network, above));
    }
}

/// Finds what columns of `network` cover of earlier ones, and joins them there. Stretches keep
/// `overlap` mm at both ends. Later shapes hide what lies in `above`.
pub(crate) fn find_covered(network: &mut Network, above: Option<&Hidden>, overlap: f64) {
    let covers = Covers::new(network, above);
    let mut found = Vec::new();
    for (part, column) in columns(network) {
        found.extend(covers.stretches(part, column, overlap, &|other| other >= part));
    }
    for under in &found {
        let Some(&by) = under.by.iter().rev().find(|by| **by != under.part) else { continue };
        let middle = (under.stretch[0] + under.stretch[1]) / 2.0;
        let (Some(own), Some(other)) = (column(network, under.part), column(network, by)) else { continue };
        let point = own.middle_at(middle);
        let at = other.nearest_place(point);
        let places = vec![Place { part: under.part, at: middle, point }, Place { part: by, at, point }];
        network.joints.push(Joint { places, owner: Some(by) });
    }
    // Which parts are sewn first is known later; what crosses itself is known now.
    found.retain(|under| under.by.contains(&under.part));
    network.under = found;
    network.covers = Some(covers);
}

fn column(network: &Network, part: usize) -> Option<&Column> {
    match network.parts.get(part)? {
        Part::Column(column) => Some(column),
        Part::Run(_) | Part::Fill(_) => None,
    }
}

fn columns(network: &Network) -> impl Iterator<Item = (usize, &Column)> {
    (0..network.parts.len()).filter_map(|part| Some((part, column(network, part)?)))
}

fn chunks(part: usize, of: &Part) -> Vec<Chunk> {
    let Part::Column(column) = of else { return Vec::new() };
    let count = column.crossings.len();
    let chunk = |first: usize| {
        let band = band(column, first);
        let points = band.iter().map(|c| c.left).chain(band.iter().rev().map(|c| c.right)).collect();
        Chunk { part, first, locator: Locator::from_rings([Ring::new(points)].iter()) }
    };
    (0..count).step_by(CHUNK).map(chunk).collect()
}

/// The crossings of a chunk, to the first one of the next.
fn band(column: &Column, first: usize) -> Vec<Crossing> {
    let last = first + CHUNK;
    let again = column.crossings.first().filter(|_| column.closed && last >= column.crossings.len());
    column.crossings.iter().skip(first).take(CHUNK + 1).chain(again).copied().collect()
}

fn chunk_box(network: &Network, chunk: &Chunk) -> Option<Rectangle<[f64; 2]>> {
    let band = band(column(network, chunk.part)?, chunk.first);
    let ends = || band.iter().flat_map(|c| [c.left, c.right]);
    let low = ends().fold([f64::INFINITY; 2], |l, p| [l[0].min(p.x), l[1].min(p.y)]);
    let high = ends().fold([f64::NEG_INFINITY; 2], |h, p| [h[0].max(p.x), h[1].max(p.y)]);
    (low[0] <= high[0]).then(|| Rectangle::from_corners(low, high))
}

/// The parts that cover a crossing all along, if they do.
fn covered(
    crossing: Crossing,
    chunks: &[Chunk],
    tree: &RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>,
    covering: &impl Fn(&Chunk) -> bool,
) -> Option<BTreeSet<usize>> {
    let inset = (INSET / crossing.width().max(1e-6)).min(0.2);
    let mut by = BTreeSet::new();
    for share in SHARES {
        let point = crossing.at(share.clamp(inset, 1.0 - inset));
        let near = tree.locate_in_envelope_intersecting(AABB::from_point([point.x, point.y]));
        let holds = |chunk: &&Chunk| covering(chunk) && chunk.locator.contains(point);
        // The topmost one: the choice must not depend on the order of the search.
        let over = near.filter_map(|entry| chunks.get(entry.data)).filter(holds).map(|chunk| chunk.part).max()?;
        by.insert(over);
    }
    Some(by)
}

fn stretches(part: usize, column: &Column, mut covers: Vec<Option<BTreeSet<usize>>>, overlap: f64) -> Vec<Under> {
    let count = covers.len();
    ends_as_neighbours(&mut covers, column.closed);
    let step = step_of(column);
    let mut found = Vec::new();
    let mut at = 0;
    while at < count {
        let run = covers.iter().skip(at).take_while(|by| by.is_some()).count();
        if run > 0 {
            let ends_free = |is_end: bool| if is_end && !column.closed { 0.0 } else { overlap / step };
            let first = at as f64 + ends_free(at == 0);
            let last = (at + run - 1) as f64 - ends_free(at + run == count);
            let by: BTreeSet<usize> = covers.iter().skip(at).take(run).flatten().flatten().copied().collect();
            if (last - first) * step >= SHORTEST {
                // Beyond the ends too, where compensation may lay threads.
                let first = if at == 0 && !column.closed { -1e3 } else { first };
                let last = if at + run == count && !column.closed { last + 1e3 } else { last };
                found.push(Under { part, stretch: [first, last], by: by.into_iter().collect() });
            }
        }
        at += run + 1;
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Point;

    fn bar(from: Point, to: Point) -> Part {
        let across = (to - from).normalize();
        let half = kurbo::Vec2::new(-across.y, across.x) * 1.5;
        let crossings = (0..=100).map(|i| from.lerp(to, f64::from(i) / 100.0));
        Part::Column(Column::open(crossings.map(|p| Crossing::new(p + half, p - half)).collect()))
    }

    /// What the later ones of some parts cover of each.
    fn under(parts: Vec<Part>) -> Vec<Under> {
        let network = Network { parts, ..Network::default() };
        let covers = Covers::new(&network, None);
        columns(&network).flat_map(|(i, column)| covers.stretches(i, column, 0.5, &|other| other >= i)).collect()
    }

    #[test]
    fn the_first_bar_of_a_cross_goes_under_the_second() {
        let parts = vec![
            bar(Point::new(-10.0, 0.0), Point::new(10.0, 0.0)),
            bar(Point::new(0.0, -10.0), Point::new(0.0, 10.0)),
        ];
        let under = under(parts);
        assert_eq!(under.len(), 1);
        let Under { part, stretch: [first, last], by } = &under[0];
        assert_eq!((*part, by.as_slice()), (0, &[1][..]));
        // 3 mm less twice the overlap, 0.2 mm a place.
        assert!((last - first - 12.0).abs() <= 1.5 && (first + last - 100.0).abs() < 1e-6, "{first} {last}");
    }

    #[test]
    fn a_line_drawn_twice_is_laid_once() {
        let line = || bar(Point::new(0.0, 0.0), Point::new(20.0, 0.0));
        let mut network = Network { parts: vec![line(), line()], ..Network::default() };
        find_covered(&mut network, None, 0.5);
        assert!(network.under.is_empty() && network.joints.len() == 1);
        let covers = network.covers.as_ref().unwrap();
        for (part, column) in columns(&network) {
            // Whichever is sewn first is left out from end to end.
            let hidden = covers.unseen(part, column, 0.5, |_| true).stretches;
            assert!(hidden.len() == 1 && hidden[0][0] <= 0.0 && hidden[0][1] >= 100.0, "{hidden:?}");
        }
    }

    #[test]
    fn neighbours_hide_nothing() {
        let parts =
            vec![bar(Point::new(0.0, 0.0), Point::new(20.0, 0.0)), bar(Point::new(0.0, 2.0), Point::new(20.0, 2.0))];
        assert!(under(parts).is_empty());
    }

    #[test]
    fn a_thread_half_under_another_column_ends_there() {
        let parts =
            vec![bar(Point::new(0.0, 0.0), Point::new(20.0, 0.0)), bar(Point::new(0.0, 1.5), Point::new(20.0, 1.5))];
        let network = Network { parts, ..Network::default() };
        let covers = Covers::new(&network, None);
        for (part, own) in columns(&network) {
            let unseen = covers.unseen(part, own, 0.3, |_| true);
            assert!(unseen.stretches.is_empty());
            let kept = unseen.cut(own.crossings[50], 50.0, 0).unwrap();
            // Half of its 3 mm show; it reaches 0.2 mm and a step of looking farther.
            assert!((1.69..=2.2).contains(&kept.width()), "{kept:?}");
            assert!(kept.middle().y * if part == 0 { -1.0 } else { 1.0 } > 0.0, "{kept:?}");
        }
    }

    #[test]
    fn what_later_shapes_hide_is_left_out() {
        let network = Network { parts: vec![bar(Point::new(0.0, 0.0), Point::new(20.0, 0.0))], ..Network::default() };
        let corners = [(5.0, -9.0), (11.0, -9.0), (11.0, 9.0), (5.0, 9.0)].map(Point::from);
        let above = Region::from_rings(&[Ring::new(corners.to_vec())], laidwork_geometry::FillRule::NonZero);
        let above = Hidden { left_out: above.clone(), thinned: above };
        let covers = Covers::new(&network, Some(&above));
        let own = columns(&network).next().unwrap().1;
        let unseen = covers.unseen(0, own, 0.3, |_| true);
        let [first, last] = unseen.stretches[0];
        assert!((first - 26.5).abs() < 1.1 && (last - 53.5).abs() < 1.1, "{first} {last}");
    }

    #[test]
    fn threads_thin_out_where_a_later_shape_lies_over_them() {
        let network = Network { parts: vec![bar(Point::new(0.0, 0.0), Point::new(20.0, 0.0))], ..Network::default() };
        let corners = [(5.0, -9.0), (11.0, -9.0), (11.0, 9.0), (5.0, 9.0)].map(Point::from);
        let above = Region::from_rings(&[Ring::new(corners.to_vec())], laidwork_geometry::FillRule::NonZero);
        let covers = Covers::new(&network, Some(&Hidden { left_out: Region::default(), thinned: above }));
        let column = columns(&network).next().unwrap().1;
        let unseen = covers.unseen(0, column, 0.3, |_| true);
        assert!(unseen.stretches.is_empty());
        let laid = |n: usize| unseen.cut(column.crossings[40], 40.0, n);
        assert!(laid(0).is_some_and(|thread| thread.width() > 2.99) && laid(1).is_none());
        assert!(unseen.cut(column.crossings[10], 10.0, 1).is_some());
        assert_eq!(unseen.shows(column), Some([0.0, 100.0]));
    }

    #[test]
    fn every_second_pair_of_threads_ends_where_it_shows_no_more() {
        let network = Network { parts: vec![bar(Point::new(0.0, 0.0), Point::new(20.0, 0.0))], ..Network::default() };
        let corners = [(-9.0, 0.0), (29.0, 0.0), (29.0, 9.0), (-9.0, 9.0)].map(Point::from);
        let above = Region::from_rings(&[Ring::new(corners.to_vec())], laidwork_geometry::FillRule::NonZero);
        let covers = Covers::new(&network, Some(&Hidden { left_out: Region::default(), thinned: above }));
        let column = columns(&network).next().unwrap().1;
        let unseen = covers.unseen(0, column, 0.3, |_| true);
        let widths = [0, 1, 2, 3].map(|n| unseen.cut(column.crossings[50], 50.0, n).unwrap().width());
        assert!(widths[0] > 2.99 && widths[1] > 2.99, "{widths:?}");
        // 1.5 mm show; they reach 0.2 mm and a step of looking farther.
        assert!((1.69..2.2).contains(&widths[2]) && (1.69..2.2).contains(&widths[3]), "{widths:?}");
    }
}
