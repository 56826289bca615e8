//! Which pieces meet, and where.
//!
//! Two pieces meet when one grown by [`REACH`] touches the other. Their
//! outlines are looked at every [`REACH`] mm, so a touch by less than that may
//! be found or not; the order of pieces that hardly touch matters little.

use super::Item;
use laidwork_geometry::{Locator, Region, Ring};
use laidwork_plan::Point;
use rayon::prelude::*;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

/// Pieces nearer to each other than this meet, mm.
pub(super) const REACH: f64 = 0.5;

/// Pairs of pieces that are looked at before the order of the drawing is kept instead.
pub const MOST_PAIRS: usize = 2_000_000;

/// Two pieces that meet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Meeting {
    /// The other piece.
    pub(super) other: usize,
    /// A point on or in both, as far as they overlap.
    pub(super) at: Point,
}

/// For every item those it meets, by index.
#[derive(Debug, Default)]
pub(super) struct Meetings {
    lists: Vec<Vec<Meeting>>,
    locators: Vec<Locator>,
    too_many: bool,
}

impl Meetings {
    pub(super) fn new(items: &[Item]) -> Meetings {
        let mut meetings = Meetings { lists: vec![Vec::new(); items.len()], ..Meetings::default() };
        let Some(pairs) = near_pairs(items) else {
            meetings.too_many = true;
            meetings.locators = vec![Locator::default(); items.len()];
            return meetings;
        };
        let mut is_asked = vec![false; items.len()];
        for &(a, b) in &pairs {
            is_asked[a] = true;
            is_asked[b] = true;
        }
        let locator =
            |(item, asked): (&Item, bool)| if asked { Locator::new(&item.region) } else { Locator::default() };
        meetings.locators = items.par_iter().zip(is_asked).map(locator).collect();
        let outlines: Vec<f64> = items.iter().map(|item| item.region.perimeter()).collect();
        let meeting = |&(a, b): &(usize, usize)| {
            let (short, long) = if outlines[a] <= outlines[b] { (a, b) } else { (b, a) };
            meeting_point(
                (&items[short].region, &meetings.locators[short]),
                (&items[long].region, &meetings.locators[long]),
            )
        };
        let places: Vec<Option<Point>> = pairs.par_iter().map(meeting).collect();
        for ((a, b), at) in pairs.into_iter().zip(places) {
            if let Some(at) = at {
                meetings.lists[a].push(Meeting { other: b, at });
                meetings.lists[b].push(Meeting { other: a, at });
            }
        }
        for list in &mut meetings.lists {
            list.sort_by_key(|meeting| meeting.other);
        }
        meetings
    }

    /// Whether there were too many pairs to look at.
    pub(super) fn is_too_many(&self) -> bool {
        self.too_many
    }

    /// Those that `item` meets, by index.
    pub(super) fn of(&self, item: usize) -> &[Meeting] {
        self.lists.get(item).map_or(&[], Vec::as_slice)
    }

    /// The meeting of two items.
    pub(super) fn between(&self, a: usize, b: usize) -> Option<Meeting> {
        let list = self.of(a);
        list.binary_search_by_key(&b, |meeting| meeting.other).ok().and_then(|i| list.get(i)).copied()
    }

    /// Whether a point lies in `item` or within [`REACH`] of it. Items that meet none hold nothing.
    pub(super) fn holds(&self, item: usize, point: Point) -> bool {
        self.locators.get(item).is_some_and(|locator| locator.is_within(point, REACH))
    }
}

/// Pairs of items whose bounds are near; `None` when there are too many.
fn near_pairs(items: &[Item]) -> Option<Vec<(usize, usize)>> {
    let bounds = |(i, item): (usize, &Item)| {
        let b = item.region.bounds().filter(|b| b.is_finite())?;
        Some(GeomWithData::new(Rectangle::from_corners([b.x0, b.y0], [b.x1, b.y1]), i))
    };
    let entries: Vec<GeomWithData<Rectangle<[f64; 2]>, usize>> = items.iter().enumerate().filter_map(bounds).collect();
    let index = RTree::bulk_load(entries);
    let mut pairs = Vec::new();
    for (i, item) in items.iter().enumerate() {
        let Some(b) = item.region.bounds().filter(|b| b.is_finite()) else { continue };
        let around = AABB::from_corners([b.x0 - REACH, b.y0 - REACH], [b.x1 + REACH, b.y1 + REACH]);
        let found = index.locate_in_envelope_intersecting(around).map(|entry| entry.data);
        pairs.extend(found.filter(|&other| other > i).map(|other| (i, other)));
        if pairs.len() > MOST_PAIRS {
            return None;
        }
    }
    pairs.sort_unstable();
    Some(pairs)
}

/// Where `short` lies deepest in `long`; `None` when they do not meet.
fn meeting_point((short, about): (&Region, &Locator), (long, place): (&Region, &Locator)) -> Option<Point> {
    let bounds = long.bounds()?.inflate(REACH, REACH);
    let mut best: Option<(f64, Point)> = None;
    for point in short.rings().flat_map(steps).filter(|point| bounds.contains(*point)) {
        let Some(depth) = place.depth_within(point, REACH) else { continue };
        if best.is_none_or(|(deepest, _)| depth > deepest) {
            best = Some((depth, point));
        }
    }
    best.map(|(_, point)| point).or_else(|| {
        // `long` may lie inside `short`, though its outline is longer (a thin spiral in a disc).
        let inner = long.polygons.first()?.outer.points.first().copied()?;
        about.contains(inner).then_some(inner)
    })
}

/// Points of a ring, [`REACH`] mm apart at most.
fn steps(ring: &Ring) -> impl Iterator<Item = Point> + '_ {
    ring.edges().flat_map(|(a, b)| {
        // An edge as long as a room gets no more points than this.
        let count = (a.distance(b) / REACH).ceil().clamp(1.0, 10_000.0);
        (0..count as usize).map(move |k| a.lerp(b, k as f64 / count))
    })
}
