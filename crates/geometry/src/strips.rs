//! Edges sorted into horizontal strips.
//!
//! Each strip lists the edges that reach into it. Strips are as high as the edges are on the mean, and there
//! are no more than a quarter as many of them as edges, so that there are at most about twice as many entries as
//! edges, whatever the form. Made in O(n) by counting. A few edges are all in one strip: looking at each costs less
//! than sorting them in.

use kurbo::Point;
use std::ops::Range;

/// An edge from one point to another.
pub(crate) type Edge = (Point, Point);

/// Which edges reach into which strip.
#[derive(Clone, Debug, Default)]
pub(crate) struct Strips {
    low: f64,
    per_mm: f64,
    count: usize,
    /// Edges of strip `i`: `members[first[i]..first[i + 1]]`.
    first: Vec<u32>,
    members: Vec<u32>,
}

/// No strip is lower than this, mm.
const LEAST: f64 = 1e-3;

/// Up to so many edges are few, and strips do for any question: of a comb each looks at every edge.
pub(crate) const FEW_EDGES: usize = 256;

/// More than rounding moves the border of a strip, mm.
const ROUNDING: f64 = 1e-6;

/// So many edges, or fewer, are in one strip.
const FEW: usize = 64;

impl Strips {
    /// Sorts edges, whose points must be finite.
    pub(crate) fn new(edges: &[Edge]) -> Strips {
        if edges.len() <= FEW { Strips::unsorted(edges.len()) } else { Strips::sorted(edges) }
    }

    /// Sorts edges, however few: where each of many questions would look at all of them.
    pub(crate) fn sorted(edges: &[Edge]) -> Strips {
        let (mut low, mut high, mut rise) = (f64::INFINITY, f64::NEG_INFINITY, 0.0);
        for (from, to) in edges {
            (low, high) = (low.min(from.y), high.max(from.y));
            rise += (to.y - from.y).abs();
        }
        let mut strips = Strips::default();
        let strip = ((high - low) * 4.0).max(rise) / edges.len() as f64;
        (strips.low, strips.per_mm) = (low, 1.0 / strip.max(LEAST));
        strips.count = ((high - low) * strips.per_mm) as usize + 1;
        // Two places ahead, so that filling in below leaves each start where it belongs.
        let mut first = vec![0; strips.count + 2];
        for (from, to) in edges {
            let own = strips.between(from.y, to.y);
            for n in &mut first[own.start + 2..own.end + 2] {
                *n += 1;
            }
        }
        for i in 1..first.len() {
            first[i] += first[i - 1];
        }
        strips.members.resize(first.last().copied().unwrap_or(0) as usize, 0);
        for (i, (from, to)) in edges.iter().enumerate() {
            let own = strips.between(from.y, to.y);
            for next in &mut first[own.start + 1..own.end + 1] {
                strips.members[*next as usize] = i as u32;
                *next += 1;
            }
        }
        strips.first = first;
        strips
    }

    /// All of so many edges in one strip: where a few questions do not pay for sorting.
    pub(crate) fn unsorted(edges: usize) -> Strips {
        let count = edges as u32;
        Strips { low: 0.0, per_mm: 0.0, count: 1, first: vec![0, count], members: (0..count).collect() }
    }

    /// How many strips there are.
    pub(crate) fn len(&self) -> usize {
        self.count
    }

    /// The strip at a height; the first or the last for heights beyond.
    pub(crate) fn at(&self, y: f64) -> usize {
        (((y - self.low) * self.per_mm).max(0.0) as usize).min(self.count.saturating_sub(1))
    }

    /// The strips from one height to another.
    pub(crate) fn between(&self, a: f64, b: f64) -> Range<usize> {
        self.at(a.min(b))..self.at(a.max(b)) + 1
    }

    /// Hands out the edges strip by strip, the nearest to the height `y` first, some more than once, as long as their
    /// strip may be nearer than the square root of `most`, or of what `look_at` answered last.
    pub(crate) fn visit_from(&self, y: f64, mut most: f64, mut look_at: impl FnMut(u32) -> f64) {
        let here = self.at(y);
        let below = |strip: usize| self.low + strip as f64 / self.per_mm - y;
        let is_near = |gap: f64, most: f64| {
            let gap = (gap - ROUNDING).max(0.0);
            gap * gap <= most
        };
        let mut visit =
            |strip: usize, most: &mut f64| self.members(strip).iter().for_each(|&edge| *most = look_at(edge));
        visit(here, &mut most);
        let (mut up, mut down) = (here, here + 1);
        loop {
            let goes_up = up > 0 && is_near(-below(up), most);
            if goes_up {
                up -= 1;
                visit(up, &mut most);
            }
            let goes_down = down < self.count && is_near(below(down), most);
            if goes_down {
                visit(down, &mut most);
                down += 1;
            }
            if !goes_up && !goes_down {
                return;
            }
        }
    }

    /// The edges of a strip, in their order.
    pub(crate) fn members(&self, strip: usize) -> &[u32] {
        match self.first.get(strip..strip + 2) {
            Some(&[from, to]) => self.members.get(from as usize..to as usize).unwrap_or_default(),
            _ => &[],
        }
    }
}

/// Whether an edge lies to the left of a point at its height; half-open, so that corners count once.
pub(crate) fn is_left((from, to): Edge, point: Point) -> bool {
    let (top, foot) = if from.y < to.y { (from, to) } else { (to, from) };
    top.y <= point.y && point.y < foot.y && (foot - top).cross(point - top) <= 0.0
}
