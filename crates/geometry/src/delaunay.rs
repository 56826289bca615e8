//! The constrained Delaunay triangulation of a few corners on a grid, all in whole numbers.
//!
//! Half of the corners are triangulated at a time and the halves put together (L. Guibas and J. Stolfi, "Primitives for
//! the manipulation of general subdivisions and the computation of Voronoi diagrams", ACM Transactions on Graphics 4,
//! 1985). Outline edges that are missing then are brought in by flipping the diagonals that they cross (S. Sloan, "A
//! fast algorithm for generating constrained Delaunay triangulations", Computers & Structures 47, 1993). What lies
//! inside is told by the number of outline edges on the way in from beyond the hull.
//!
//! It takes less than half as long as the general way of `mesh.rs`, and leaves to it whatever is out of the ordinary: edges
//! that cross, are doubled or pass through corners, or lie far apart. O(n log n), and a bounded number of flips.
//!
//! Triangles come out in the order of their first corners along the outline, so that a shape that is moved or turned has
//! the same ones in the same order, but for those that rounding decides.

/// A corner in steps of the grid.
pub(crate) type Corner = (i64, i64);

/// No corner is farther from another than this, steps: products of four differences fit into 128 bits.
const FARTHEST: i64 = 1 << 29;

/// Flips for each corner before the search is given up.
const PATIENCE: usize = 32;

/// No triangle, or none yet.
const NONE: u32 = u32::MAX;

/// Triangles as places among the corners, turning from x towards y, and the triangle beyond each edge (from each corner
/// to the next); [`u32::MAX`] beyond the outline.
#[derive(Debug, Default)]
pub(crate) struct Triangles {
    pub(crate) corners: Vec<[u32; 3]>,
    pub(crate) beyond: Vec<[u32; 3]>,
}

/// Triangulates what `edges` enclose by the even-odd rule. `sorted` are the places of all corners, which differ, by x
/// and then y. `None` where the general way is needed.
pub(crate) fn triangulate(corners: &[Corner], sorted: &[u32], edges: &[[usize; 2]]) -> Option<Triangles> {
    let &[first, .., last] = sorted else { return None };
    let (low, high) = corners.iter().fold((i64::MAX, i64::MIN), |(low, high), c| (low.min(c.1), high.max(c.1)));
    if sorted.len() < 3 || corners[last as usize].0 - corners[first as usize].0 >= FARTHEST || high - low >= FARTHEST {
        return None;
    }
    let mut net = Net::new(corners);
    net.triangulate(sorted);
    let mut patience = PATIENCE * corners.len();
    for &[from, to] in edges {
        net.bring_in(from as u32, to as u32, &mut patience)?;
    }
    Some(net.inside())
}

/// Corners and the edges between them. Each edge is two directed ones, `e` and `e ^ 1`.
struct Net<'a> {
    corners: &'a [Corner],
    sides: Vec<Side>,
    /// For each corner an edge that begins there.
    out: Vec<u32>,
}

/// A directed edge.
#[derive(Clone, Copy)]
struct Side {
    /// Where it begins.
    from: u32,
    /// The next one that begins there, turning from x towards y, and the one before.
    next: u32,
    previous: u32,
    /// Of both directions: whether it is part of the outline, and whether it was removed.
    fixed: bool,
    removed: bool,
}

impl<'a> Net<'a> {
    fn new(corners: &'a [Corner]) -> Net<'a> {
        Net { corners, sides: Vec::with_capacity(8 * corners.len()), out: Vec::new() }
    }

    fn begin(&self, edge: u32) -> u32 {
        self.sides[edge as usize].from
    }

    fn end(&self, edge: u32) -> u32 {
        self.sides[(edge ^ 1) as usize].from
    }

    fn next(&self, edge: u32) -> u32 {
        self.sides[edge as usize].next
    }

    fn previous(&self, edge: u32) -> u32 {
        self.sides[edge as usize].previous
    }

    /// The edge that goes on along the face to the left.
    fn along(&self, edge: u32) -> u32 {
        self.previous(edge ^ 1)
    }

    /// Twice the area of a triangle: positive when it turns from x towards y.
    fn turn(&self, a: u32, b: u32, c: u32) -> i64 {
        let (a, b, c) = (self.corners[a as usize], self.corners[b as usize], self.corners[c as usize]);
        (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0)
    }

    fn is_left(&self, corner: u32, edge: u32) -> bool {
        self.turn(corner, self.begin(edge), self.end(edge)) > 0
    }

    fn is_right(&self, corner: u32, edge: u32) -> bool {
        self.turn(corner, self.end(edge), self.begin(edge)) > 0
    }

    /// Whether the circle through `a`, `b` and `c`, which turn from x towards y, holds `d` and does not just touch it.
    fn holds(&self, a: u32, b: u32, c: u32, d: u32) -> bool {
        let d = self.corners[d as usize];
        let from_d = |corner: u32| (self.corners[corner as usize].0 - d.0, self.corners[corner as usize].1 - d.1);
        let (a, b, c) = (from_d(a), from_d(b), from_d(c));
        let cross = |p: Corner, q: Corner| p.0 * q.1 - q.0 * p.1;
        let lift = |p: Corner| p.0 * p.0 + p.1 * p.1;
        let (lift_a, lift_b, lift_c) = (lift(a), lift(b), lift(c));
        let (cross_a, cross_b, cross_c) = (cross(b, c), cross(c, a), cross(a, b));
        let part_a = lift_a as f64 * cross_a as f64;
        let part_b = lift_b as f64 * cross_b as f64;
        let part_c = lift_c as f64 * cross_c as f64;
        let sum = part_a + part_b + part_c;
        // Five roundings of each part.
        if sum.abs() > (part_a.abs() + part_b.abs() + part_c.abs()) * (8.0 * f64::EPSILON) {
            return sum > 0.0;
        }
        let exact = |lift: i64, cross: i64| i128::from(lift) * i128::from(cross);
        exact(lift_a, cross_a) + exact(lift_b, cross_b) + exact(lift_c, cross_c) > 0
    }

    fn add(&mut self, from: u32, to: u32) -> u32 {
        let edge = self.sides.len() as u32;
        let side = |from: u32, own: u32| Side { from, next: own, previous: own, fixed: false, removed: false };
        self.sides.extend([side(from, edge), side(to, edge ^ 1)]);
        edge
    }

    /// Exchanges what follows two edges that begin, or are to begin, at one corner.
    fn splice(&mut self, a: u32, b: u32) {
        let (after_a, after_b) = (self.next(a), self.next(b));
        self.sides[a as usize].next = after_b;
        self.sides[b as usize].next = after_a;
        self.sides[after_b as usize].previous = a;
        self.sides[after_a as usize].previous = b;
    }

    /// A new edge from the end of `a` to the beginning of `b`, on the face to the left of both.
    fn connect(&mut self, a: u32, b: u32) -> u32 {
        let edge = self.add(self.end(a), self.begin(b));
        self.splice(edge, self.along(a));
        self.splice(edge ^ 1, b);
        edge
    }

    fn remove(&mut self, edge: u32) {
        self.sides[edge as usize].removed = true;
        self.sides[(edge ^ 1) as usize].removed = true;
        self.splice(edge, self.previous(edge));
        self.splice(edge ^ 1, self.previous(edge ^ 1));
    }

    /// Puts the other diagonal into the two triangles beside an edge.
    fn flip(&mut self, edge: u32) {
        let (a, b) = (self.previous(edge), self.previous(edge ^ 1));
        for (side, other) in [(edge, a), (edge ^ 1, b)] {
            // No corner is to be left by an edge that begins elsewhere.
            if let Some(out) = self.out.get_mut(self.sides[side as usize].from as usize) {
                *out = other;
            }
            self.splice(side, other);
        }
        for (side, other) in [(edge, a), (edge ^ 1, b)] {
            self.splice(side, self.along(other));
            self.sides[side as usize].from = self.end(other);
        }
    }

    /// The Delaunay triangulation of some corners: its hull edges that leave the first and the last of them.
    fn triangulate(&mut self, sorted: &[u32]) -> (u32, u32) {
        match *sorted {
            [] | [_] => return (NONE, NONE),
            [a, b] => {
                let edge = self.add(a, b);
                return (edge, edge ^ 1);
            }
            [a, b, c] => {
                let (one, two) = (self.add(a, b), self.add(b, c));
                self.splice(one ^ 1, two);
                let turn = self.turn(a, b, c);
                if turn == 0 {
                    return (one, two ^ 1);
                }
                let three = self.connect(two, one);
                return if turn > 0 { (one, two ^ 1) } else { (three ^ 1, three) };
            }
            _ => (),
        }
        let (left, right) = sorted.split_at(sorted.len() / 2);
        let (mut first, mut low) = self.triangulate(left);
        let (mut high, mut last) = self.triangulate(right);
        // The edge below both halves.
        loop {
            if self.is_left(self.begin(high), low) {
                low = self.along(low);
            } else if self.is_right(self.begin(low), high) {
                high = self.next(high ^ 1);
            } else {
                break;
            }
        }
        let mut base = self.connect(high ^ 1, low);
        if self.begin(low) == self.begin(first) {
            first = base ^ 1;
        }
        if self.begin(high) == self.begin(last) {
            last = base;
        }
        // The seam between them, from below.
        loop {
            let (from, to) = (self.begin(base), self.end(base));
            let mut one = self.next(base ^ 1);
            if self.is_right(self.end(one), base) {
                while self.holds(to, from, self.end(one), self.end(self.next(one))) {
                    let then = self.next(one);
                    self.remove(one);
                    one = then;
                }
            }
            let mut other = self.previous(base);
            if self.is_right(self.end(other), base) {
                while self.holds(to, from, self.end(other), self.end(self.previous(other))) {
                    let then = self.previous(other);
                    self.remove(other);
                    other = then;
                }
            }
            let (has_one, has_other) = (self.is_right(self.end(one), base), self.is_right(self.end(other), base));
            if !has_one && !has_other {
                return (first, last);
            }
            let takes_other =
                !has_one || has_other && self.holds(self.end(one), self.begin(one), self.begin(other), self.end(other));
            base = if takes_other { self.connect(other, base ^ 1) } else { self.connect(base ^ 1, one ^ 1) };
        }
    }

    /// Makes an edge between two corners part of the outline; `None` where it is so already or cannot be.
    fn bring_in(&mut self, from: u32, to: u32, patience: &mut usize) -> Option<()> {
        if self.out.is_empty() {
            self.find_out();
        }
        let edge = match self.edge(from, to) {
            Some(edge) => edge,
            None => {
                self.flip_across(from, to, patience)?;
                self.edge(from, to)?
            }
        };
        self.sides[(edge ^ 1) as usize].fixed = true;
        let fixed = &mut self.sides[edge as usize].fixed;
        (!std::mem::replace(fixed, true)).then_some(())
    }

    fn find_out(&mut self) {
        self.out = vec![NONE; self.corners.len()];
        for edge in (0..self.sides.len() as u32).filter(|edge| !self.sides[*edge as usize].removed) {
            let begin = self.begin(edge);
            self.out[begin as usize] = edge;
        }
    }

    fn edge(&self, from: u32, to: u32) -> Option<u32> {
        let first = self.out[from as usize];
        let mut edge = first;
        loop {
            if self.end(edge) == to {
                return Some(edge);
            }
            edge = self.next(edge);
            if edge == first {
                return None;
            }
        }
    }

    /// Flips what the line between two corners crosses until it is an edge, and what is about it until it is Delaunay.
    fn flip_across(&mut self, from: u32, to: u32, patience: &mut usize) -> Option<()> {
        let mut crossed = std::collections::VecDeque::from(self.crossed(from, to)?);
        let mut made = Vec::new();
        while let Some(edge) = crossed.pop_front() {
            *patience = patience.checked_sub(1)?;
            let (left, right) = (self.end(self.next(edge)), self.end(self.previous(edge)));
            let sides = [self.begin(edge), self.end(edge)].map(|corner| self.turn(left, right, corner).signum());
            if sides[0] * sides[1] >= 0 {
                crossed.push_back(edge);
                continue;
            }
            self.flip(edge);
            let sides = [left, right].map(|corner| self.turn(from, to, corner).signum());
            if sides[0] * sides[1] < 0 { crossed.push_back(edge) } else { made.push(edge) }
        }
        while let Some(edge) = made.pop() {
            let (begin, end) = (self.begin(edge), self.end(edge));
            let is_wanted = (begin, end) == (from, to) || (begin, end) == (to, from);
            if is_wanted || self.sides[edge as usize].fixed {
                continue;
            }
            let (left, right) = (self.end(self.next(edge)), self.end(self.previous(edge)));
            // An edge of the hull has a triangle on one side alone.
            if self.turn(begin, end, left) <= 0 || self.turn(end, begin, right) <= 0 {
                continue;
            }
            if self.holds(begin, end, left, right) {
                *patience = patience.checked_sub(1)?;
                let about = [self.next(edge), self.previous(edge), self.next(edge ^ 1), self.previous(edge ^ 1)];
                self.flip(edge);
                made.extend(about);
            }
        }
        Some(())
    }

    /// The edges that the line between two corners crosses; `None` where it meets a corner or the outline.
    fn crossed(&self, from: u32, to: u32) -> Option<Vec<u32>> {
        let first = self.out[from as usize];
        let mut spoke = first;
        // The triangle that it leaves `from` through lies between a spoke and the next.
        let mut edge = loop {
            let (a, b) = (self.end(spoke), self.end(self.next(spoke)));
            if self.turn(from, a, to) > 0 && self.turn(from, to, b) > 0 && self.turn(from, a, b) > 0 {
                break self.along(spoke);
            }
            spoke = self.next(spoke);
            if spoke == first {
                return None;
            }
        };
        let mut all = Vec::new();
        loop {
            if self.sides[edge as usize].fixed {
                return None;
            }
            all.push(edge);
            // On to the triangle beyond it.
            let beyond = edge ^ 1;
            let apex = self.end(self.along(beyond));
            if apex == to {
                return Some(all);
            }
            edge = match self.turn(from, to, apex) {
                0 => return None,
                side if side > 0 => self.along(beyond),
                _ => self.along(self.along(beyond)),
            };
            if all.len() > self.sides.len() {
                return None;
            }
        }
    }

    /// The triangles inside the outline.
    fn inside(&self) -> Triangles {
        // To the left of every edge there is a face: one of a triangle, or what is beyond the hull.
        let mut face = vec![NONE; self.sides.len()];
        let mut firsts = Vec::new();
        let mut beyond = None;
        for edge in (0..self.sides.len() as u32).filter(|edge| !self.sides[*edge as usize].removed) {
            if face[edge as usize] != NONE {
                continue;
            }
            let own = firsts.len() as u32;
            firsts.push(edge);
            let second = self.along(edge);
            let third = self.along(second);
            let is_triangle =
                self.along(third) == edge && self.turn(self.begin(edge), self.end(edge), self.end(second)) > 0;
            if !is_triangle {
                beyond = Some(own);
            }
            let mut here = edge;
            while face[here as usize] == NONE {
                face[here as usize] = own;
                here = self.along(here);
            }
        }
        let mut is_inside = vec![None; firsts.len()];
        let mut todo = Vec::new();
        if let Some(beyond) = beyond {
            is_inside[beyond as usize] = Some(false);
            todo.push(beyond);
        }
        while let Some(from) = todo.pop() {
            let (first, inside) = (firsts[from as usize], is_inside[from as usize] == Some(true));
            let mut edge = first;
            loop {
                let to = face[(edge ^ 1) as usize];
                if is_inside[to as usize].is_none() {
                    is_inside[to as usize] = Some(inside != self.sides[edge as usize].fixed);
                    todo.push(to);
                }
                edge = self.along(edge);
                if edge == first {
                    break;
                }
            }
        }
        let mut triangles = Triangles::default();
        let mut name = vec![NONE; firsts.len()];
        let is_in = |edge: u32| is_inside[face[edge as usize] as usize] == Some(true);
        let mut edges = Vec::new();
        for corner in 0..self.corners.len() as u32 {
            // From an outline edge on, so that the order does not hang on how the triangles were made.
            let some = self.out[corner as usize];
            let mut first: Option<u32> = None;
            let mut edge = some;
            loop {
                let is_start = self.sides[edge as usize].fixed && is_in(edge);
                if is_start && first.is_none_or(|first| self.end(edge) < self.end(first)) {
                    first = Some(edge);
                }
                edge = self.next(edge);
                if edge == some {
                    break;
                }
            }
            let first = first.unwrap_or(some);
            let mut edge = first;
            loop {
                let own = face[edge as usize] as usize;
                if is_in(edge) && name[own] == NONE {
                    name[own] = triangles.corners.len() as u32;
                    let second = self.along(edge);
                    edges.push([edge, second, self.along(second)]);
                    triangles.corners.push([corner, self.end(edge), self.end(second)]);
                }
                edge = self.next(edge);
                if edge == first {
                    break;
                }
            }
        }
        let over = |edge: u32| {
            if self.sides[edge as usize].fixed { NONE } else { name[face[(edge ^ 1) as usize] as usize] }
        };
        triangles.beyond = edges.into_iter().map(|edges| edges.map(over)).collect();
        triangles
    }
}

#[cfg(test)]
#[path = "delaunay_tests.rs"]
mod tests;
