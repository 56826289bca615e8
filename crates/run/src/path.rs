//! A path measured along itself.

use kurbo::Point;

/// Points nearer to each other than this are the same, mm.
const SAME: f64 = 1e-6;

/// A place on a path.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Spot {
    /// Distance from the start of the path, mm.
    pub(crate) along: f64,
    /// Where it lies.
    pub(crate) at: Point,
    /// Index of the edge that holds it.
    pub(crate) edge: usize,
}

/// An open path of straight edges with the distance of every corner from its
/// start; a closed one ends with a copy of its first point.
#[derive(Debug)]
pub(crate) struct Path {
    points: Vec<Point>,
    along: Vec<f64>,
}

impl Path {
    /// The path through `points` without repeats and without points that are
    /// no numbers; `None` when fewer than two are left.
    pub(crate) fn new(points: &[Point], closed: bool) -> Option<Path> {
        let mut kept: Vec<Point> = Vec::with_capacity(points.len() + 1);
        let mut along = Vec::with_capacity(points.len() + 1);
        let mut length = 0.0;
        for &point in points.iter().filter(|p| p.is_finite()) {
            let step = kept.last().map_or(f64::INFINITY, |last| last.distance(point));
            if step > SAME {
                length += if kept.is_empty() { 0.0 } else { step };
                kept.push(point);
                along.push(length);
            }
        }
        if closed && let (Some(&first), Some(&last)) = (kept.first(), kept.last()) {
            if first.distance(last) > SAME {
                kept.push(first);
                along.push(length + last.distance(first));
            } else if let ([.., before, last], [.., sum, end]) = (&mut kept[..], &mut along[..]) {
                *last = first;
                *end = *sum + before.distance(first);
            }
        }
        (kept.len() > 1).then_some(Path { points: kept, along })
    }

    /// Its corners.
    pub(crate) fn points(&self) -> &[Point] {
        &self.points
    }

    /// Distance of corner `i` from the start, mm.
    pub(crate) fn along(&self, i: usize) -> f64 {
        self.along.get(i).copied().unwrap_or_else(|| self.length())
    }

    /// Its whole length, mm.
    pub(crate) fn length(&self) -> f64 {
        self.along.last().copied().unwrap_or(0.0)
    }

    /// Index of the edge that holds the place `s` mm from the start.
    pub(crate) fn edge_at(&self, s: f64) -> usize {
        self.along.partition_point(|&a| a <= s).clamp(1, self.points.len() - 1) - 1
    }

    /// The place `s` mm from the start, exact at corners.
    pub(crate) fn at(&self, s: f64) -> Point {
        self.on_edge(self.edge_at(s), s)
    }

    /// As [`Path::at`], looked for from an edge on that is not beyond it.
    #[inline]
    pub(crate) fn spot(&self, s: f64, mut edge: usize) -> Spot {
        while edge + 2 < self.points.len() && self.along[edge + 1] <= s {
            edge += 1;
        }
        Spot { along: s, at: self.on_edge(edge, s), edge }
    }

    #[inline]
    fn on_edge(&self, i: usize, s: f64) -> Point {
        let (Some(&[from, to]), Some(&[a, b])) = (self.along.get(i..i + 2), self.points.get(i..i + 2)) else {
            return self.points[i];
        };
        if s >= to {
            return b;
        }
        if s <= from {
            return a;
        }
        a.lerp(b, (s - from) / (to - from))
    }

    /// The part between two places, both included.
    pub(crate) fn between(&self, from: f64, to: f64) -> Vec<Point> {
        let first = self.along.partition_point(|&s| s <= from);
        let last = self.along.partition_point(|&s| s < to);
        let inner = self.points.get(first..last).unwrap_or_default();
        std::iter::once(self.at(from)).chain(inner.iter().copied()).chain([self.at(to)]).collect()
    }

    /// How sharply the path turns at each corner: twice the tangent of half the angle, which is the angle where
    /// that is small and infinite where the path goes back; 0 at its ends.
    pub(crate) fn turns(&self) -> Vec<f64> {
        let mut turns = vec![0.0; self.points.len()];
        let Some(mut into) = self.points.get(1).map(|second| *second - self.points[0]) else { return turns };
        for (i, pair) in self.points[1..].windows(2).enumerate() {
            let out = pair[1] - pair[0];
            let lengths = (self.along[i + 1] - self.along[i]) * (self.along[i + 2] - self.along[i + 1]);
            let both = lengths + into.dot(out);
            turns[i + 1] = if both > lengths * 1e-12 { 2.0 * into.cross(out).abs() / both } else { f64::INFINITY };
            into = out;
        }
        turns
    }

    /// Whether every corner strictly between two places lies within `reach` mm of the straight stitch between them.
    pub(crate) fn keeps_to(&self, from: Spot, to: Spot, reach: f64) -> bool {
        let last = to.edge + usize::from(self.along[to.edge] < to.along);
        let corners = self.points.get(from.edge + 1..last).unwrap_or_default();
        let away = |p: Point| p.distance_squared(from.at.lerp(to.at, nearest_on_segment(p, from.at, to.at)));
        corners.iter().all(|&p| away(p) <= reach * reach)
    }

    /// The place on the path nearest to `point`, mm from the start; the first of several.
    pub(crate) fn nearest(&self, point: Point) -> f64 {
        let mut best = (f64::INFINITY, 0.0);
        for i in 0..self.points.len() - 1 {
            let t = nearest_on_segment(point, self.points[i], self.points[i + 1]);
            let distance = self.points[i].lerp(self.points[i + 1], t).distance(point);
            if distance < best.0 {
                best = (distance, self.along[i] + t * (self.along[i + 1] - self.along[i]));
            }
        }
        best.1
    }
}

/// Where between `a` (0) and `b` (1) the point of the segment nearest to `p` lies.
pub(crate) fn nearest_on_segment(p: Point, a: Point, b: Point) -> f64 {
    let edge = b - a;
    let square = edge.hypot2();
    if square > 0.0 { ((p - a).dot(edge) / square).clamp(0.0, 1.0) } else { 0.0 }
}
