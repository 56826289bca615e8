//! Where each piece of a given sequence begins and ends, and what the sequence takes.
//!
//! Method: along the sequence, the least time to reach every gate of a piece
//! follows from those of the piece before (dynamic programming), so the gates
//! are the best ones for the sequence. O(g²) a piece with g gates.

use super::meets::Meetings;
use super::{Arrangement, Costs, Item, Passage, Slot};
use laidwork_geometry::Region;
use laidwork_plan::Point;

/// Gates taken from the outline of a piece that names none.
const OUTLINE_GATES: usize = 8;

/// Gates added where a fill meets others.
const MOST_CONTACTS: usize = 8;

/// Gaps smaller than this cost nothing, mm: the shortest stitch.
const NO_GAP: f64 = 0.3;

/// A way around inside a cover is about this much longer than the straight one.
const DETOUR: f64 = 1.3;

/// Covers over both of two pieces that are looked at.
const MOST_COVERS: usize = 16;

/// Items, their gates, and what it takes to go from gate to gate.
#[derive(Debug)]
pub(super) struct Route<'a> {
    items: &'a [Item],
    meetings: &'a Meetings,
    costs: &'a Costs,
    gates: Vec<Vec<Point>>,
}

/// How the thread goes from one piece to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Link {
    /// Time it takes, s.
    pub(super) seconds: f64,
    /// Whether the thread is cut.
    pub(super) trim: bool,
}

/// What hides travel from one piece to another.
pub(super) struct Hiding {
    to: usize,
    /// The later piece hides what lies under it, and the two meet.
    under_next: bool,
    /// Pieces sewn later that meet both.
    covers: Vec<usize>,
}

impl<'a> Route<'a> {
    pub(super) fn new(items: &'a [Item], meetings: &'a Meetings, costs: &'a Costs) -> Route<'a> {
        let gates = items.iter().enumerate().map(|(i, item)| gates_of(i, item, items, meetings)).collect();
        Route { items, meetings, costs, gates }
    }

    /// The gates of an item; at least one.
    pub(super) fn gates(&self, item: usize) -> &[Point] {
        self.gates.get(item).map_or(&[], Vec::as_slice)
    }

    /// Gates where an item may end (or, of `entry`, begin) when its direction is given.
    pub(super) fn oriented(&self, item: usize, flipped: bool, entry: bool) -> &[Point] {
        let gates = self.gates(item);
        let passage = self.items.get(item).map_or(Passage::Free, |item| item.passage);
        let at_end = match passage {
            Passage::Free | Passage::Closed => return gates,
            Passage::Through => flipped == entry,
            Passage::OneWay => !entry,
        };
        let side = if at_end { gates.len().saturating_sub(1)..gates.len() } else { 0..gates.len().min(1) };
        gates.get(side).unwrap_or_default()
    }

    /// What may hide travel between two items, `is_later` telling what is sewn after both.
    pub(super) fn hiding(&self, from: usize, to: usize, is_later: impl Fn(usize) -> bool) -> Hiding {
        let hides = |item: usize| self.items.get(item).is_some_and(|item| item.hides);
        let under_next = hides(to) && self.meetings.between(from, to).is_some();
        let (a, b) = (self.meetings.of(from), self.meetings.of(to));
        let (few, many) = if a.len() <= b.len() { (a, to) } else { (b, from) };
        let covers = few.iter().map(|meeting| meeting.other).take(4096).filter(|&cover| {
            cover != many && hides(cover) && is_later(cover) && self.meetings.between(many, cover).is_some()
        });
        Hiding { to, under_next, covers: covers.take(MOST_COVERS).collect() }
    }

    /// The link from each of `exits` to each of `entries`, row by row.
    pub(super) fn links(&self, exits: &[Point], entries: &[Point], hiding: &Hiding) -> Vec<Link> {
        let holds = |item: usize, points: &[Point]| -> Vec<bool> {
            points.iter().map(|&point| self.meetings.holds(item, point)).collect()
        };
        let under_next = if hiding.under_next { holds(hiding.to, exits) } else { vec![false; exits.len()] };
        let covers = hiding.covers.iter().map(|&cover| {
            let mut entered = holds(cover, entries);
            if hiding.under_next {
                // Under the next piece every gate of it can be reached.
                entered.iter_mut().for_each(|entered| *entered = true);
            }
            (holds(cover, exits), entered)
        });
        let covers: Vec<_> = covers.collect();
        let mut links = Vec::with_capacity(exits.len() * entries.len());
        for (i, exit) in exits.iter().enumerate() {
            for (j, entry) in entries.iter().enumerate() {
                let is_hidden = under_next.get(i).copied().unwrap_or(false)
                    || covers.iter().any(|(out, into)| {
                        out.get(i).copied().unwrap_or(false) && into.get(j).copied().unwrap_or(false)
                    });
                links.push(self.link(exit.distance(*entry), is_hidden));
            }
        }
        links
    }

    fn link(&self, gap: f64, is_hidden: bool) -> Link {
        let costs = self.costs;
        if gap <= NO_GAP {
            Link { seconds: 0.0, trim: false }
        } else if is_hidden && costs.travel(DETOUR * gap) < costs.cut(gap) {
            Link { seconds: costs.travel(DETOUR * gap), trim: false }
        } else if gap <= costs.trim_over {
            Link { seconds: costs.float + costs.travel(gap), trim: false }
        } else {
            Link { seconds: costs.cut(gap), trim: true }
        }
    }

    /// The link between different threads.
    pub(super) fn change(&self, gap: f64) -> Link {
        Link { seconds: self.costs.thread_change + self.costs.cut(gap), trim: true }
    }

    /// Time of a trim and a jump of `gap` mm, s.
    pub(super) fn cut(&self, gap: f64) -> f64 {
        self.costs.cut(gap)
    }

    pub(super) fn is_same_thread(&self, a: usize, b: usize) -> bool {
        self.items.get(a).map(|item| item.thread) == self.items.get(b).map(|item| item.thread)
    }

    /// The best gates for a sequence of items, and what it takes.
    pub(super) fn settle(&self, sequence: &[usize]) -> Arrangement {
        let mut place = vec![0; self.items.len()];
        for (i, &item) in sequence.iter().enumerate() {
            if let Some(place) = place.get_mut(item) {
                *place = i;
            }
        }
        let mut steps: Vec<Reach> = Vec::with_capacity(sequence.len());
        for (i, &item) in sequence.iter().enumerate() {
            let before = steps.last();
            let step = match before {
                None => Reach::first(self.gates(item).len()),
                Some(before) => {
                    let is_later = |cover: usize| place.get(cover).is_some_and(|&place| place > i);
                    self.reach(before, before.item, item, is_later)
                }
            };
            steps.push(self.pass_through(Reach { item, ..step }));
        }
        self.trace(&steps)
    }

    /// The least time to each entry of `item` after `before`.
    fn reach(&self, before: &Reach, from: usize, item: usize, is_later: impl Fn(usize) -> bool) -> Reach {
        let (exits, entries) = (self.gates(from), self.gates(item));
        let links = if self.is_same_thread(from, item) {
            self.links(exits, entries, &self.hiding(from, item, is_later))
        } else {
            exits.iter().flat_map(|a| entries.iter().map(|b| self.change(a.distance(*b)))).collect()
        };
        let mut reach = Reach::first(entries.len());
        for (j, arrival) in reach.arrivals.iter_mut().enumerate() {
            *arrival = Arrival { seconds: f64::INFINITY, ..Arrival::default() };
            for (i, departure) in before.departures.iter().enumerate() {
                let Some(link) = links.get(i * entries.len() + j) else { continue };
                let seconds = departure.seconds + link.seconds;
                if seconds < arrival.seconds {
                    *arrival = Arrival { seconds, from: i, trim: link.trim };
                }
            }
        }
        reach
    }

    /// Fills in the departures from the arrivals, as the passage allows.
    fn pass_through(&self, mut reach: Reach) -> Reach {
        let passage = self.items.get(reach.item).map_or(Passage::Free, |item| item.passage);
        let last = reach.arrivals.len().saturating_sub(1);
        let best = (0..reach.arrivals.len())
            .reduce(|a, b| if reach.arrivals[b].seconds < reach.arrivals[a].seconds { b } else { a })
            .unwrap_or(0);
        let never = Departure { seconds: f64::INFINITY, entry: 0 };
        let leave = |entry: usize| Departure {
            seconds: reach.arrivals.get(entry).map_or(f64::INFINITY, |arrival| arrival.seconds),
            entry,
        };
        reach.departures = (0..=last)
            .map(|exit| match passage {
                Passage::Free => leave(best),
                Passage::Closed => leave(exit),
                Passage::Through if exit == 0 => leave(last),
                Passage::Through | Passage::OneWay if exit == last => leave(0),
                Passage::Through | Passage::OneWay => never,
            })
            .collect();
        reach
    }

    /// The arrangement that the steps found, traced from its end.
    fn trace(&self, steps: &[Reach]) -> Arrangement {
        let mut result = Arrangement::default();
        let Some(last) = steps.last() else { return result };
        let departure = |reach: &Reach, exit: usize| reach.departures.get(exit).copied().unwrap_or_default();
        let mut exit = (0..last.departures.len())
            .reduce(|a, b| if departure(last, b).seconds < departure(last, a).seconds { b } else { a })
            .unwrap_or(0);
        let own: f64 = self.items.iter().map(|item| item.seconds).sum();
        result.seconds = departure(last, exit).seconds + self.costs.trim + own;
        result.trims = 1;
        for (i, reach) in steps.iter().enumerate().rev() {
            let entry = departure(reach, exit).entry;
            let gate = |at: usize| self.gates(reach.item).get(at).copied().unwrap_or(Point::ZERO);
            result.sequence.push(Slot { item: reach.item, start: gate(entry), end: gate(exit) });
            let arrival = reach.arrivals.get(entry).copied().unwrap_or_default();
            result.trims += usize::from(i > 0 && arrival.trim);
            exit = arrival.from;
        }
        result.sequence.reverse();
        let pairs = result.sequence.iter().zip(result.sequence.iter().skip(1));
        result.thread_changes = pairs.filter(|(a, b)| !self.is_same_thread(a.item, b.item)).count();
        result
    }
}

/// The least time to every gate of a piece.
#[derive(Clone, Debug, Default)]
struct Reach {
    item: usize,
    arrivals: Vec<Arrival>,
    departures: Vec<Departure>,
}

impl Reach {
    fn first(gates: usize) -> Reach {
        Reach { item: 0, arrivals: vec![Arrival::default(); gates], departures: Vec::new() }
    }
}

/// Beginning at a gate: after which exit of the piece before, and how.
#[derive(Clone, Copy, Debug, Default)]
struct Arrival {
    seconds: f64,
    from: usize,
    trim: bool,
}

/// Ending at a gate, after beginning at `entry`.
#[derive(Clone, Copy, Debug, Default)]
struct Departure {
    seconds: f64,
    entry: usize,
}

/// The gates of an item: its own, or places on its outline, and for fills
/// where they meet what may follow or hide the way.
fn gates_of(index: usize, item: &Item, items: &[Item], meetings: &Meetings) -> Vec<Point> {
    let mut gates: Vec<Point> = item.gates.iter().copied().filter(|gate| gate.is_finite()).collect();
    if gates.is_empty() {
        gates = match item.passage {
            Passage::Free | Passage::Closed => outline_gates(&item.region),
            Passage::Through | Passage::OneWay => Vec::new(),
        };
    }
    if gates.is_empty() {
        gates.push(item.region.bounds().map_or(Point::ZERO, |bounds| bounds.center()));
    }
    if item.passage == Passage::Free {
        let useful = |other: usize| items.get(other).is_some_and(|other| other.hides || other.thread == item.thread);
        let contacts = meetings.of(index).iter().filter(|meeting| useful(meeting.other)).map(|meeting| meeting.at);
        gates.extend(contacts.take(MOST_CONTACTS));
    }
    gates
}

/// Places spread evenly along the longest outline of a region.
fn outline_gates(region: &Region) -> Vec<Point> {
    let longest = region.polygons.iter().map(|polygon| &polygon.outer).max_by(|a, b| a.length().total_cmp(&b.length()));
    let Some(ring) = longest else { return Vec::new() };
    let step = ring.length() / OUTLINE_GATES as f64;
    let mut gates = Vec::new();
    let mut along = 0.0;
    for (a, b) in ring.edges() {
        let length = a.distance(b);
        while gates.len() < OUTLINE_GATES && length > 0.0 && step * gates.len() as f64 <= along + length {
            gates.push(a.lerp(b, ((step * gates.len() as f64 - along) / length).clamp(0.0, 1.0)));
        }
        along += length;
    }
    gates
}
