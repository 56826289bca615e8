//! Rows that follow the outline: rings, one spacing inside the other, joined to spirals.
//!
//! **Rings.** The shape is shrunk by half a spacing, then by one more for each
//! level. Every ring of a level lies one spacing from a ring of the level
//! before. These neighbourhoods, and those of the rings that meet where the
//! shape is used up, make a graph of all rings.
//!
//! **Order.** In a spanning tree of that graph, rooted at an outermost ring,
//! rings are laid children first (postorder). A move to the next leaf goes
//! along rings of the tree that are still to be laid, so it is covered; it is
//! the nested order that "Connected Fermat spirals" (Zhao et al., ACM Trans.
//! Graph. 35(4), 2016) uses for branches, without their interleaving.
//!
//! **No seam.** A ring that is followed by its parent is left a little before
//! it closes (an innermost one a little after), aslant to the parent's first point. All rings of a branch shift by
//! one spacing over the same stretch, so the spacing holds: a spiral.
//!
//! **Bare spots.** In sharp corners and where a part is used up some of it
//! lies too far from any ring. These spots are filled with short straight rows
//! before the rings are laid, so that every move between them is covered too.
//!
//! Time: that of a few offsets for each level, O(levels x corners log corners).

use crate::chain::{Chain, SHORTEST};
use crate::pattern::Pattern;
use crate::sew_rows::TRAVEL_STITCH;
use kurbo::Point;
use laidwork_geometry::{FillRule, Join, Locator, Polygon, Region, Ring, closest_on_segment};
use laidwork_plan::PassKind;

/// Over how much of a ring it turns into its parent, mm.
const SLANT: f64 = 4.0;

/// Shorter rings are left out, mm.
const LEAST_RING: f64 = 1.2;

/// Farthest a ring may lie from its stitches, mm: two neighbours may err by this together.
const CHORD: f64 = 0.03;

/// What a ring covers to each side, as a part of the spacing: all to the
/// middle between it and the next, and a little more. At 0.22 mm this is half
/// a sewn thread (0.15 mm) less what stitches may lie off.
const COVERED: f64 = 0.59;

/// Smaller slivers are left bare, mm².
const LEAST_BARE: f64 = 0.003;

/// Slivers nearer to each other than twice this are filled together, mm.
const JOINED: f64 = 0.25;

/// By how much what fills them reaches beyond, mm.
const OVERLAP: f64 = 0.1;

const ROUND: Join = Join::Round { tolerance: 0.01 };

/// Corners are left out of rings as long as they stay within this, mm.
const FLAT: f64 = 0.004;

/// Most levels.
const MOST_LEVELS: usize = 4000;

/// Corners of a ring that are asked for the ring beside them.
const ASKED: usize = 240;

const NONE: usize = usize::MAX;

struct Loop {
    points: Vec<Point>,
    /// Distance along to each point, and all round.
    along: Vec<f64>,
    level: usize,
}

impl Loop {
    fn new(ring: &Ring, level: usize) -> Loop {
        let mut along = vec![0.0];
        let mut total = 0.0;
        for (a, b) in ring.edges() {
            total += a.distance(b);
            along.push(total);
        }
        Loop { points: ring.points.clone(), along, level }
    }

    fn length(&self) -> f64 {
        self.along[self.along.len() - 1]
    }

    /// The place along that is nearest to a point.
    fn nearest(&self, to: Point) -> f64 {
        let mut best = (f64::INFINITY, 0.0);
        for i in 0..self.points.len() {
            let (a, b) = (self.points[i], self.points[(i + 1) % self.points.len()]);
            let on = closest_on_segment(to, a, b);
            if on.distance_squared(to) < best.0 {
                best = (on.distance_squared(to), self.along[i] + a.distance(on));
            }
        }
        best.1
    }

    fn at(&self, place: f64) -> Point {
        let place = place.rem_euclid(self.length().max(1e-9));
        let i = self.along.partition_point(|&a| a <= place).clamp(1, self.points.len()) - 1;
        let (a, b) = (self.points[i], self.points[(i + 1) % self.points.len()]);
        let edge = self.along[i + 1] - self.along[i];
        if edge > 0.0 { a.lerp(b, (place - self.along[i]) / edge) } else { a }
    }

    /// The way from a place `by` mm on (back when negative), both ends included.
    fn way(&self, from: f64, by: f64) -> Vec<Point> {
        let mut way = vec![self.at(from)];
        let (total, count) = (self.length(), self.points.len());
        let start = from.rem_euclid(total.max(1e-9));
        let first = self.along[..count].partition_point(|&a| a <= start);
        for step in 0..count {
            let (i, ahead) = if by >= 0.0 {
                let i = (first + step) % count;
                (i, (self.along[i] - start).rem_euclid(total))
            } else {
                let i = (first + 2 * count - 1 - step) % count;
                (i, (start - self.along[i]).rem_euclid(total))
            };
            if ahead >= by.abs() {
                break;
            }
            way.push(self.points[i]);
        }
        way.push(self.at(from + by));
        way
    }

    /// All round from a place, at last turning gradually into another ring;
    /// `whole` closes the ring first. Gives the way and the place where it leaves.
    fn slanting(&self, from: f64, other: &Loop, whole: bool) -> (Vec<Point>, f64) {
        let slant = SLANT.min(self.length() * 0.5);
        let straight = if whole { self.length() } else { self.length() - slant };
        let mut way = self.way(from, straight);
        let parts = (slant / 0.4).ceil().max(1.0);
        for i in 1..=parts as usize {
            let share = i as f64 / parts;
            let here = self.at(from + straight + slant * share);
            way.push(here.lerp(other.at(other.nearest(here)), share));
        }
        (way, from + straight + slant)
    }

    /// How far from one place to another, the shorter way round.
    fn between(&self, from: f64, to: f64) -> f64 {
        let ahead = (to - from).rem_euclid(self.length().max(1e-9));
        if ahead * 2.0 <= self.length() { ahead } else { ahead - self.length() }
    }
}

/// The slivers of `inner` that are not `reached`, grown by [`JOINED`].
fn uncovered(inner: &Region, reached: &Region) -> Vec<Ring> {
    let mut left = inner.difference(reached);
    left.polygons.retain(|sliver| sliver.area() > LEAST_BARE);
    left.offset(JOINED, ROUND).rings().cloned().collect()
}

/// All rings of a shape and which lie beside which.
pub(crate) struct Contour {
    loops: Vec<Loop>,
    /// What no ring covers: the middles of parts, and slivers in corners.
    pub(crate) bare: Region,
    beside: Vec<Vec<usize>>,
}

impl Contour {
    pub(crate) fn new(polygon: &Polygon, spacing: f64) -> Contour {
        let mut contour = Contour { loops: Vec::new(), bare: Region::default(), beside: Vec::new() };
        let shape = Region::from(polygon.clone()).simplify(FLAT);
        let mut before: Vec<Vec<usize>> = Vec::new();
        let mut bare: Vec<Ring> = Vec::new();
        // What lies further in than the rings so far cover.
        let mut inner = shape.clone();
        // Each level is made from the one before: short steps cost little, and the distance
        // between two levels is exact but for the corners left out.
        let mut shrunk = shape;
        for level in 0..MOST_LEVELS {
            let step = if level == 0 { spacing / 2.0 } else { spacing };
            shrunk = shrunk.offset(-step, ROUND).simplify(FLAT);
            shrunk.polygons.retain(|part| part.outer.length() >= LEAST_RING);
            let reached = shrunk.offset(COVERED * spacing, ROUND);
            bare.extend(uncovered(&inner, &reached));
            inner = shrunk.offset(-COVERED * spacing, ROUND);
            let parts: Vec<Vec<usize>> = shrunk.polygons.iter().map(|part| contour.add(part, level)).collect();
            let open = contour.join_levels(&before, &parts);
            contour.join_rings_that_meet(&before, &open);
            before = parts;
            if before.is_empty() {
                break;
            }
        }
        // Grown to join what lies close together, and shrunk again but for an overlap.
        contour.bare = Region::from_rings(&bare, FillRule::NonZero).offset(OVERLAP - JOINED, ROUND);
        contour
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.loops.is_empty()
    }

    fn add(&mut self, part: &Polygon, level: usize) -> Vec<usize> {
        let mut added = Vec::new();
        for ring in part.rings().filter(|ring| ring.length() >= LEAST_RING) {
            added.push(self.loops.len());
            self.loops.push(Loop::new(ring, level));
            self.beside.push(Vec::new());
        }
        added
    }

    fn join(&mut self, a: usize, b: usize) {
        if a != b && !self.beside[a].contains(&b) {
            self.beside[a].push(b);
            self.beside[b].push(a);
        }
    }

    /// Joins the rings of a level to those of the level before; says which of
    /// these have a neighbour further in.
    fn join_levels(&mut self, before: &[Vec<usize>], parts: &[Vec<usize>]) -> Vec<bool> {
        let outer: Vec<usize> = before.iter().flatten().copied().collect();
        let mut met = vec![false; self.loops.len()];
        let rings: Vec<Ring> = outer.iter().map(|&i| Ring::new(self.loops[i].points.clone())).collect();
        let locator = Locator::from_rings(rings.iter());
        let mut ends = Vec::with_capacity(outer.len());
        let mut edges = 0;
        for ring in &rings {
            edges += ring.points.len();
            ends.push(edges);
        }
        for &inner in parts.iter().flatten() {
            let step = self.loops[inner].points.len().div_ceil(ASKED);
            let asked: Vec<Point> = self.loops[inner].points.iter().step_by(step).copied().collect();
            for point in asked {
                let Some(nearest) = locator.nearest(point) else { continue };
                let Some(&ring) = outer.get(ends.partition_point(|&end| end <= nearest.edge)) else { continue };
                met[ring] = true;
                self.join(ring, inner);
            }
        }
        met
    }

    /// Where a part has nothing further in, its rings meet each other.
    fn join_rings_that_meet(&mut self, parts: &[Vec<usize>], met: &[bool]) {
        for part in parts {
            let Some((&outer, holes)) = part.split_first() else { continue };
            let is_used_up = part.iter().all(|&ring| !met[ring]);
            for &hole in holes.iter().filter(|&&hole| is_used_up || !met[hole]) {
                self.join(outer, hole);
            }
        }
    }

    /// Lays all rings, ending near `end`. `go` moves the needle to a place in
    /// the shape before anything is laid, or between parts that no ring joins.
    pub(crate) fn sew(
        &self,
        end: Option<Point>,
        pattern: &Pattern,
        chain: &mut Chain,
        mut go: impl FnMut(&mut Chain, Point),
    ) {
        let away = |i: &usize| match end {
            Some(end) => self.loops[*i].at(self.loops[*i].nearest(end)).distance_squared(end),
            None => -self.loops[*i].length(),
        };
        let mut roots: Vec<usize> = (0..self.loops.len()).filter(|&i| self.loops[i].level == 0).collect();
        // The part with the end comes last.
        roots.sort_by(|a, b| away(a).total_cmp(&away(b)).then(a.cmp(b)));
        let mut seen = vec![false; self.loops.len()];
        let trees: Vec<Tree> = roots.iter().filter_map(|&root| Tree::new(self, root, &mut seen)).collect();
        for tree in trees.iter().rev() {
            self.sew_tree(tree, end, pattern, chain, &mut go);
        }
    }

    fn sew_tree(
        &self,
        tree: &Tree,
        end: Option<Point>,
        pattern: &Pattern,
        chain: &mut Chain,
        go: &mut impl FnMut(&mut Chain, Point),
    ) {
        // The ring before and where it was left.
        let mut before: Option<(usize, f64)> = None;
        for &ring in &tree.order {
            let here = &self.loops[ring];
            let start = match before {
                Some((last, begin)) if tree.parent[last] == ring => here.nearest(self.loops[last].at(begin)),
                Some((last, _)) => self.travel(tree, last, ring, chain),
                None => {
                    let start = chain.last().map_or(0.0, |at| here.nearest(at));
                    go(chain, here.at(start));
                    start
                }
            };
            let parent = tree.parent[ring];
            let slants = parent != NONE && tree.last_child[parent] == ring;
            // A ring that nothing arrives at has to close, so that its beginning is covered.
            let is_leaf = tree.last_child[ring] == NONE;
            let (way, left) = if slants {
                here.slanting(start, &self.loops[parent], is_leaf)
            } else {
                (here.way(start, here.length()), start)
            };
            lay(&way, here.level, pattern, chain);
            before = Some((ring, left));
        }
        // The outermost ring is doubled up to where the end is asked for.
        if let (Some((ring, start)), Some(end)) = (before, end) {
            let here = &self.loops[ring];
            lay(&here.way(start, here.between(start, here.nearest(end))), here.level, pattern, chain);
        }
    }

    /// From a ring just laid to one in the next branch, along rings that are
    /// not laid yet; gives the place where it arrives.
    fn travel(&self, tree: &Tree, from: usize, to: usize, chain: &mut Chain) -> f64 {
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
        let mut way: Vec<Point> = Vec::new();
        let mut at = chain.last().unwrap_or_default();
        for pair in (0..down.len()).rev() {
            let here = &self.loops[down[pair]];
            let enter = here.nearest(at);
            let Some(next) = pair.checked_sub(1).map(|next| down[next]) else {
                way.push(here.at(enter));
                chain.run_along(PassKind::Travel, &way, TRAVEL_STITCH);
                return enter;
            };
            let leave = here.nearest(self.nearest_corner(next, here, enter));
            way.extend(here.way(enter, here.between(enter, leave)));
            at = here.at(leave);
        }
        0.0
    }

    /// The corner of a ring that lies nearest to another ring; of near ones, the one nearest to a place on it.
    fn nearest_corner(&self, ring: usize, other: &Loop, place: f64) -> Point {
        let step = self.loops[ring].points.len().div_ceil(ASKED / 4);
        let at = other.at(place);
        let cost = |p: &Point| other.at(other.nearest(*p)).distance(*p) * 10.0 + p.distance(at);
        let corners = self.loops[ring].points.iter().step_by(step).copied();
        corners.min_by(|a, b| cost(a).total_cmp(&cost(b))).unwrap_or(at)
    }
}

/// A spanning tree of a connected part, and the order of laying.
struct Tree {
    parent: Vec<usize>,
    last_child: Vec<usize>,
    order: Vec<usize>,
}

impl Tree {
    fn new(contour: &Contour, root: usize, seen: &mut [bool]) -> Option<Tree> {
        if std::mem::replace(&mut seen[root], true) {
            return None;
        }
        let count = contour.loops.len();
        let mut tree = Tree { parent: vec![NONE; count], last_child: vec![NONE; count], order: Vec::new() };
        let mut found = vec![root];
        let mut at = 0;
        while let Some(&ring) = found.get(at) {
            at += 1;
            for &next in &contour.beside[ring] {
                if !std::mem::replace(&mut seen[next], true) {
                    tree.parent[next] = ring;
                    found.push(next);
                }
            }
        }
        // The longest branch comes last, so that the spiral goes on through it.
        let mut weight = vec![0.0; count];
        let mut children: Vec<Vec<usize>> = vec![Vec::new(); count];
        for &ring in found.iter().rev() {
            weight[ring] += contour.loops[ring].length();
            children[ring].sort_by(|&a, &b| f64::total_cmp(&weight[a], &weight[b]).then(a.cmp(&b)));
            tree.last_child[ring] = children[ring].last().copied().unwrap_or(NONE);
            if tree.parent[ring] != NONE {
                weight[tree.parent[ring]] += weight[ring];
                children[tree.parent[ring]].push(ring);
            }
        }
        let mut stack = vec![(root, 0)];
        while let Some((ring, next)) = stack.pop() {
            if let Some(&child) = children[ring].get(next) {
                stack.push((ring, next + 1));
                stack.push((child, 0));
            } else {
                tree.order.push(ring);
            }
        }
        Some(tree)
    }
}

/// Needle points along a way: as long as the pattern's stitches where the way
/// is straight, as short as keeps the way within [`CHORD`] where it bends.
fn lay(way: &[Point], level: usize, pattern: &Pattern, chain: &mut Chain) {
    let Some(&first) = way.first() else { return };
    chain.put(PassKind::Top, first);
    // Long edges are cut, so that the way can be left between its corners.
    let mut fine: Vec<Point> = vec![first];
    for pair in way.windows(2) {
        let parts = (pair[0].distance(pair[1]) / 0.4).ceil().max(1.0);
        fine.extend((1..=parts as usize).map(|i| pair[0].lerp(pair[1], i as f64 / parts)));
    }
    let mut longest = pattern.length() * (0.4 + 0.6 * (level % 5 * 2 % 5) as f64 / 5.0);
    let mut last = 0;
    while last + 1 < fine.len() {
        let mut next = last + 1;
        while next + 1 < fine.len() && fits(&fine[last..=next + 1], longest) {
            next += 1;
        }
        if next + 1 < fine.len() {
            chain.pass_by(PassKind::Top, fine[next]);
        } else {
            chain.put(PassKind::Top, fine[next]);
        }
        longest = pattern.length();
        last = next;
    }
}

/// Whether one stitch may stand for a stretch of a way.
fn fits(way: &[Point], longest: f64) -> bool {
    let (Some(&from), Some(&to)) = (way.first(), way.last()) else { return false };
    let length = from.distance(to);
    if length < SHORTEST + 0.1 {
        return way.len() < 40;
    }
    length <= longest && way.iter().all(|&p| closest_on_segment(p, from, to).distance_squared(p) <= CHORD * CHORD)
}
