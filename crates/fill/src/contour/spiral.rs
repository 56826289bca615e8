//! Rings laid one after the other, and the ways between them.

use super::ring::Loop;
use super::tree::Tree;
use super::{Contour, NONE};
use crate::along::{APART, lay, lay_apart};
use crate::chain::{Chain, SHORTEST};
use crate::pattern::Pattern;
use kurbo::Point;
use laidwork_geometry::NearPoints;
use laidwork_plan::PassKind;

/// Over how much of a ring it turns into its parent, mm; where this does not go, a quarter of it.
const SLANT: f64 = 4.0;

/// A ring turns into a parent that is no farther away than this all along, in spacings.
const NEAR: f64 = 1.6;

/// How many places are tried for leaving a ring.
const TRIED: usize = 24;

/// Farthest a ring may lie from its stitches, in spacings and at most, mm. Stitches lie on the inner side of a bend,
/// those of neighbours too, so that nothing between two of them is wider by more than this: less than a thread is
/// wider than the spacing.
const CHORD: (f64, f64) = (0.22, 0.06);

/// Longest stitch of a travel along rings, and farthest it may lie from them, mm: rings on both sides of it are laid later.
const TRAVEL_LONGEST: f64 = 4.0;
const TRAVEL_CHORD: f64 = 0.08;

/// Where rings of one level meet, how far from the one to the other a way along the one keeps.
const TOWARDS: f64 = 0.1;

/// How a ring is left for its parent.
#[derive(Clone, Copy)]
struct Leaving {
    /// Where laying begins.
    start: f64,
    /// Whether the ring closes before it is left.
    whole: bool,
    /// Over how much of it the ring turns into its parent, mm.
    slant: f64,
}

impl Contour {
    /// Lays all rings, from near `start` to near `end`. `go` moves the needle to
    /// a place in the shape between parts that no ring joins.
    pub(crate) fn sew(
        &self,
        start: Option<Point>,
        end: Option<Point>,
        pattern: &Pattern,
        chain: &mut Chain,
        mut go: impl FnMut(&mut Chain, Point),
    ) {
        let away = |i: &usize| match end {
            Some(end) => self.loops[*i].beside(end).distance_squared(end),
            None => -self.loops[*i].length(),
        };
        let mut roots: Vec<usize> = (0..self.loops.len()).filter(|&i| self.loops[i].level == 0).collect();
        // The part with the end comes last.
        roots.sort_by(|a, b| away(a).total_cmp(&away(b)).then(a.cmp(b)));
        let mut seen = vec![false; self.loops.len()];
        let mut needles = NearPoints::within(APART);
        let trees: Vec<Tree> = roots.iter().filter_map(|&root| Tree::new(self, root, &mut seen)).collect();
        for tree in trees.iter().rev() {
            let Some(&first) = tree.order.first() else { continue };
            let wish = chain.last().or(start).map_or(0.0, |at| self.loops[first].nearest(at));
            let place = self.contacts(first, tree.parent[first], wish).first().copied().unwrap_or(wish);
            if chain.last().is_some() {
                go(chain, self.loops[first].at(place));
            }
            self.sew_tree(tree, (place, end), pattern, &mut needles, chain);
        }
    }

    fn sew_tree(
        &self,
        tree: &Tree,
        (start, end): (f64, Option<Point>),
        pattern: &Pattern,
        needles: &mut NearPoints,
        chain: &mut Chain,
    ) {
        // The ring before and where it was left.
        let mut before: Option<usize> = None;
        for &ring in &tree.order {
            let here = &self.loops[ring];
            let at = chain.last();
            let start = match (before, at) {
                (Some(last), Some(at)) if tree.parent[last] == ring => here.nearest(at),
                (Some(last), Some(at)) => self.travel(tree, last, ring, at, chain),
                _ => start,
            };
            let parent = tree.parent[ring];
            let mut way = Vec::new();
            let mut begin = start;
            if parent == NONE {
                way = here.way(start, here.length());
            } else {
                let leaving = self.leaving(tree, ring, start);
                begin = leaving.start;
                if here.at(start).distance(here.at(begin)) > SHORTEST {
                    let there = self.under(ring, parent, start, begin);
                    lay(&there, PassKind::Travel, (TRAVEL_LONGEST, TRAVEL_LONGEST), TRAVEL_CHORD, chain);
                }
                here.slanting(leaving, &self.loops[parent], &mut way);
            }
            let first = pattern.length() * (0.4 + 0.6 * (here.level % 5 * 2 % 5) as f64 / 5.0);
            lay_apart(&way, PassKind::Top, (first, pattern.length()), self.chord(), needles, chain);
            // The outermost ring is doubled up to where the end is asked for.
            if let Some(end) = end.filter(|_| parent == NONE) {
                let way = here.way(begin, here.between(begin, here.nearest(end)));
                lay_apart(&way, PassKind::Top, (first, pattern.length()), self.chord(), needles, chain);
            }
            before = Some(ring);
        }
    }

    fn chord(&self) -> f64 {
        (CHORD.0 * self.spacing).min(CHORD.1)
    }

    /// The places of a ring beside another, the nearest along to a wish first.
    fn contacts(&self, ring: usize, other: usize, wish: f64) -> Vec<f64> {
        let here = &self.loops[ring];
        let places = self.beside[ring].iter().find(|beside| beside.ring == other).map(|beside| &beside.places[..]);
        let mut places: Vec<f64> = places.unwrap_or_default().to_vec();
        places.sort_by(|a, b| here.between(wish, *a).abs().total_cmp(&here.between(wish, *b).abs()));
        places
    }

    /// Where and how a ring is laid that its parent follows, or a move to another branch.
    fn leaving(&self, tree: &Tree, ring: usize, start: f64) -> Leaving {
        let (here, parent) = (&self.loops[ring], tree.parent[ring]);
        let other = &self.loops[parent];
        let is_last = tree.last_child[parent] == ring;
        // A ring that nothing arrives at has to close, so that its beginning is covered.
        let closes = tree.last_child[ring] == NONE || other.level == here.level || !is_last;
        // Where a ring closes before it turns, the joint moves on: only a little, so that it keeps beside the parent.
        let slants: &[f64] = match (is_last, closes) {
            (true, false) => &[SLANT, SLANT / 4.0],
            (true, true) => &[SLANT / 4.0],
            (false, _) => &[0.0],
        };
        let is_near = |from: f64, length: f64| self.is_near(ring, parent, from, length);
        for slant in slants.iter().map(|slant| slant.min(here.length() * 0.5)) {
            if is_near(if closes { start } else { start - slant }, slant) {
                return Leaving { start, whole: closes, slant };
            }
        }
        let places = self.contacts(ring, parent, start);
        for slant in slants.iter().map(|slant| slant.min(here.length() * 0.5)) {
            if let Some(&start) = places.iter().take(TRIED).find(|&&place| is_near(place, slant)) {
                return Leaving { start, whole: true, slant };
            }
        }
        Leaving { start: places.first().copied().unwrap_or(start), whole: true, slant: 0.0 }
    }

    /// Whether a ring lies beside another over a stretch of it.
    fn is_near(&self, ring: usize, other: usize, from: f64, length: f64) -> bool {
        let (here, other) = (&self.loops[ring], &self.loops[other]);
        (0..=5).all(|i| {
            let point = here.at(from + length * f64::from(i) / 5.0);
            other.beside(point).distance(point) <= NEAR * self.spacing
        })
    }

    /// Where to go over from a ring to the next one in, when coming along it from a place: as near
    /// as can be, but so that the next one, come back to, can turn into the ring there.
    fn crossing(&self, ring: usize, next: usize, enter: f64) -> f64 {
        let here = &self.loops[ring];
        let other = &self.loops[next];
        let lasts = |place: &&f64| self.is_near(next, ring, other.nearest(here.at(**place)), SLANT * 0.6);
        // Straight across where that goes, so that a way over many rings has no bends.
        if self.is_near(ring, next, enter, 0.0) && lasts(&&enter) {
            return enter;
        }
        let places = self.contacts(ring, next, enter);
        places.iter().take(TRIED).find(lasts).or(places.first()).copied().unwrap_or(enter)
    }

    /// From a ring just laid to one in the next branch, along rings that are
    /// not laid yet; gives the place where it arrives.
    fn travel(&self, tree: &Tree, from: usize, to: usize, at: Point, chain: &mut Chain) -> f64 {
        let common = tree.parent[from];
        let mut down = vec![to];
        let mut ring = to;
        while tree.parent[ring] != common && tree.parent[ring] != NONE {
            ring = tree.parent[ring];
            down.push(ring);
        }
        if common != NONE {
            down.push(common);
        }
        let (mut way, mut at) = (vec![at], at);
        for pair in down.windows(2).rev() {
            let (next, ring) = (pair[0], pair[1]);
            let here = &self.loops[ring];
            let enter = here.nearest(at);
            let leave = self.crossing(ring, next, enter);
            way.extend(self.under(ring, tree.parent[ring], enter, leave));
            at = here.at(leave);
        }
        let arrive = self.loops[to].nearest(at);
        way.push(self.loops[to].at(arrive));
        lay(&way, PassKind::Travel, (TRAVEL_LONGEST, TRAVEL_LONGEST), TRAVEL_CHORD, chain);
        arrive
    }

    /// A way along a ring that is laid later. Where its parent lies beside it
    /// the way leads along that one: there, rows laid later lie on both sides.
    /// Where the two meet, nothing is between them to lie on: the way keeps to the ring.
    fn under(&self, ring: usize, parent: usize, from: f64, to: f64) -> Vec<Point> {
        let here = &self.loops[ring];
        let by = here.between(from, to);
        let Some(other) = self.loops.get(parent) else { return here.way(from, by) };
        let parts = (by.abs() / 0.3).ceil().max(1.0);
        let aside = |i: usize| {
            let point = here.at(from + by * i as f64 / parts);
            let beside = other.beside(point);
            match beside.distance(point) <= NEAR * self.spacing {
                true if other.level != here.level => beside,
                true => point + (beside - point) * TOWARDS,
                false => point,
            }
        };
        (0..=parts as usize).map(aside).collect()
    }
}

impl Loop {
    /// All round, at last turning gradually into another ring.
    fn slanting(&self, leaving: Leaving, other: &Loop, way: &mut Vec<Point>) {
        let Leaving { start, whole, slant } = leaving;
        let straight = if whole { self.length() } else { self.length() - slant };
        way.extend(self.way(start, straight));
        let parts = (slant / 0.4).ceil();
        for i in 1..=parts as usize {
            let share = i as f64 / parts;
            let here = self.at(start + straight + slant * share);
            way.push(here.lerp(other.beside(here), share));
        }
    }
}
