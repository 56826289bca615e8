//! Which pieces meet, and where.
//!
//! Two pieces meet when one grown by [`REACH`] touches the other. Their
//! outlines are looked at every [`REACH`] mm, so a touch by less than that may
//! be found or not; travel from piece to piece is all that asks for it.
//!
//! Pieces *overlap* when the outline of one reaches into the other by more than
//! [`ABUTS`] (less for what is thinner). This is looked for more closely: along an
//! outline the depth changes no faster than the way along it, so a stretch
//! whose ends lie too far out for its length holds no such point, and others are
//! halved. Pieces that only abut look the same whichever is sewn first.

use super::Item;
use laidwork_geometry::{Locator, Region, Ring};
use laidwork_plan::{Point, Rect};
use rayon::prelude::*;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

/// Pieces nearer to each other than this meet, mm.
pub(super) const REACH: f64 = 0.5;

/// Pieces that overlap by no more than this abut, mm: a third of a thread.
const ABUTS: f64 = 0.1;

/// Stretches of an outline are not halved to less than this, mm.
const FINEST: f64 = 0.02;

/// What distances are off by at most, mm.
const ROUNDING: f64 = 1e-9;

/// Corners of a ring that are looked at before all others.
const PROBES: usize = 8;

/// Pairs of pieces that are looked at before the order of the drawing is kept instead.
pub const MOST_PAIRS: usize = 2_000_000;

/// Two pieces that meet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Meeting {
    /// The other piece.
    pub(super) other: usize,
    /// A point on or in both, as far as they overlap.
    pub(super) at: Point,
    /// Whether one lies over the other.
    pub(super) overlap: bool,
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
        let known: Vec<Known<'_>> = items.iter().zip(&meetings.locators).map(Known::new).collect();
        let meeting = |&(a, b): &(usize, usize)| {
            let (short, long) = if known[a].perimeter <= known[b].perimeter { (a, b) } else { (b, a) };
            meeting_point(&known[short], &known[long])
        };
        let places: Vec<Option<(Point, bool)>> = pairs.par_iter().map(meeting).collect();
        for ((a, b), at) in pairs.into_iter().zip(places) {
            if let Some((at, overlap)) = at {
                meetings.lists[a].push(Meeting { other: b, at, overlap });
                meetings.lists[b].push(Meeting { other: a, at, overlap });
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

/// An item as it is asked about others.
struct Known<'a> {
    region: &'a Region,
    place: &'a Locator,
    /// With [`REACH`] around it.
    bounds: Option<Rect>,
    perimeter: f64,
    half_width: f64,
}

impl<'a> Known<'a> {
    fn new((item, place): (&'a Item, &'a Locator)) -> Known<'a> {
        let region = &item.region;
        let perimeter = region.perimeter();
        let half_width = region.area() / perimeter.max(f64::MIN_POSITIVE);
        Known { region, place, bounds: region.bounds().map(|b| b.inflate(REACH, REACH)), perimeter, half_width }
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

/// Where `short` lies deepest in `long`, and whether they overlap there; `None` when they do not meet.
///
/// The depth changes no faster than the way, so what lies too far from a place to be deeper than the best is passed over.
fn meeting_point(short: &Known<'_>, long: &Known<'_>) -> Option<(Point, bool)> {
    let (about, place, bounds) = (short.place, long.place, long.bounds?);
    let come_near = about.may_come_near(place, REACH);
    let mut best: Option<(f64, Point)> = None;
    for ring in short.region.rings() {
        // A ring that comes near no outline lies inside as a whole or not at all.
        if !come_near && !ring.points.first().is_some_and(|&point| place.contains(point)) {
            continue;
        }
        // Some corners first: what cannot be deeper than the deepest of them is passed over too.
        let few = ring.points.len().div_ceil(PROBES).max(1);
        let probes = ring.points.iter().step_by(few).filter(|point| bounds.contains(**point));
        let probed = probes.map(|&point| place.depth(point)).fold(-REACH, f64::max);
        // Nothing so near to this place is deeper than the best.
        let mut known: Option<(Point, f64)> = None;
        for point in steps(ring).filter(|point| bounds.contains(*point)) {
            if known.is_some_and(|(from, free)| from.distance(point) < free) {
                continue;
            }
            let deepest = best.map_or(probed, |(deepest, _)| deepest.max(probed));
            let depth = place.depth(point);
            known = Some((point, deepest - depth - ROUNDING));
            if depth >= -REACH && best.is_none_or(|(deepest, _)| depth > deepest) {
                best = Some((depth, point));
            }
        }
    }
    let Some((depth, point)) = best else {
        // `long` may lie inside `short`, though its outline is longer (a thin spiral in a disc).
        let inner = long.region.polygons.first()?.outer.points.first().copied()?;
        return about.contains(inner).then_some((inner, true));
    };
    let more_than = ABUTS.min(short.half_width / 2.0).min(long.half_width / 2.0);
    let inside = || long.region.polygons.iter().filter_map(|polygon| polygon.outer.points.first());
    let overlap = depth > more_than
        || short.region.rings().any(|ring| reaches(ring, more_than, (&bounds, place)))
        || inside().any(|&point| about.contains(point) && about.distance_to_outline(point) > more_than);
    Some((point, overlap))
}

/// Whether an edge of a ring reaches deeper than `depth` into what `place` knows, which lies within `bounds`.
fn reaches(ring: &Ring, depth: f64, (bounds, place): (&Rect, &Locator)) -> bool {
    let deep = |point: Point| if bounds.contains(point) { place.depth(point) } else { -REACH };
    let mut left: Vec<((Point, f64), (Point, f64))> = Vec::new();
    // A place and how deep it is: where it lies less deep than `depth` by more than the way to another, so does that.
    let mut known: Option<(Point, f64)> = None;
    for edge in ring.edges() {
        for (from, to) in steps_of(edge).zip(steps_of(edge).skip(1).chain([edge.1])) {
            let is_free = |point: Point| known.is_some_and(|(at, deep)| at.distance(point) < depth - deep - ROUNDING);
            if is_free(from) && is_free(to) {
                continue;
            }
            let at_from = known.filter(|known| known.0 == from).map_or_else(|| deep(from), |known| known.1);
            let at_to = deep(to);
            known = Some((to, at_to));
            left.push(((from, at_from), (to, at_to)));
            while let Some(((a, at_a), (b, at_b))) = left.pop() {
                let length = a.distance(b);
                if at_a.max(at_b) > depth {
                    return true;
                }
                if (at_a + at_b + length) / 2.0 > depth && length > FINEST {
                    let middle = a.midpoint(b);
                    let half = (middle, deep(middle));
                    left.extend([((a, at_a), half), (half, (b, at_b))]);
                }
            }
        }
    }
    false
}

/// Points of a ring, [`REACH`] mm apart at most.
fn steps(ring: &Ring) -> impl Iterator<Item = Point> + '_ {
    ring.edges().flat_map(steps_of)
}

/// Points of an edge, its end left out.
fn steps_of((a, b): (Point, Point)) -> impl Iterator<Item = Point> {
    // An edge as long as a room gets no more points than this.
    let count = (a.distance(b) / REACH).ceil().clamp(1.0, 10_000.0);
    (0..count as usize).map(move |k| a.lerp(b, k as f64 / count))
}
