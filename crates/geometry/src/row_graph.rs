//! A polygon cut into parallel rows, and which parts of rows touch.
//!
//! The polygon is seen in a turned [`Frame`] (`u` along the rows, `v` across)
//! and cut into bands by given values of `v`. A row is the middle line of a
//! band. Each row has [`RowSpan`]s: the stretches of `u` over which some of the
//! band belongs to the polygon. So a tip that ends between two rows still
//! lies under a span, and rows laid over all spans cover the polygon when
//! threads are as wide as bands are high.
//!
//! Two spans of neighbouring rows are joined by a [`RowLink`] where the line
//! between their bands runs inside the polygon. Any way inside the polygon
//! crosses those lines inside, so the spans of a connected polygon are
//! connected by links.
//!
//! Method: one sweep over the bands with a list of active edges, sorted in by
//! counting; the lines follow the half-open rule (a corner on a line lies
//! below it). Active edges stay in the order of the line, which hardly changes from band to band.
//! Time O(edges + crossings + rows), with a small sort where it does; memory O(edges + rows + spans).
//!
//! Defects: rings count by the even-odd rule, so doubled edges cancel and
//! orientation does not matter. Points that are no numbers are left out.

use crate::Polygon;
use kurbo::{Point, Vec2};

/// A turned frame: `u` along a direction, `v` across it, same origin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    along: Vec2,
}

impl Frame {
    /// Turned by `degrees` from x towards y.
    pub fn turned(degrees: f64) -> Frame {
        // Quarter turns are exact, so that upright shapes get upright rows.
        let quarters = degrees / 90.0;
        let whole = quarters.round();
        if (quarters - whole).abs() < 1e-12 {
            let along = match whole.rem_euclid(4.0) as i32 {
                0 => Vec2::new(1.0, 0.0),
                1 => Vec2::new(0.0, 1.0),
                2 => Vec2::new(-1.0, 0.0),
                _ => Vec2::new(0.0, -1.0),
            };
            return Frame { along };
        }
        Frame { along: Vec2::from_angle(degrees.to_radians()) }
    }

    /// The unit vector along `u`.
    pub fn along(&self) -> Vec2 {
        self.along
    }

    /// (u, v) of a point.
    pub fn to_frame(&self, point: Point) -> Point {
        let p = point.to_vec2();
        Point::new(self.along.dot(p), self.along.cross(p))
    }

    /// The lowest and the highest `v` of a polygon; `None` without a finite point.
    pub fn extent(&self, polygon: &Polygon) -> Option<(f64, f64)> {
        let across = self.along.turn_90();
        let mut range: Option<(f64, f64)> = None;
        for point in polygon.outer.points.iter().filter(|p| p.is_finite()) {
            let v = across.dot(point.to_vec2());
            range = Some(range.map_or((v, v), |(low, high)| (low.min(v), high.max(v))));
        }
        range
    }

    /// The point at (u, v).
    pub fn from_frame(&self, uv: Point) -> Point {
        (self.along * uv.x + self.along.turn_90() * uv.y).to_point()
    }
}

/// A stretch of a row over the polygon.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RowSpan {
    /// Which row, counting from the lowest `v`.
    pub row: u32,
    /// Where it begins, mm along the row.
    pub from: f64,
    /// Where it ends, mm along the row.
    pub to: f64,
    /// First of its links to the row above, and how many there are.
    pub up: (u32, u32),
    /// First of its links to the row below, and how many there are.
    pub down: (u32, u32),
}

impl RowSpan {
    /// Its length, mm.
    pub fn length(&self) -> f64 {
        self.to - self.from
    }
}

/// Where the polygon goes on from one row to the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RowLink {
    /// Index of the span below (lower `v`).
    pub below: u32,
    /// Index of the span above.
    pub above: u32,
    /// The line between the two bands lies inside the polygon from here...
    pub from: f64,
    /// ... to here, but for gaps when the same two spans touch more than once.
    pub to: f64,
}

/// A polygon cut into rows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RowGraph {
    /// Every span, row by row, each row by rising `u`.
    pub spans: Vec<RowSpan>,
    /// Every link, by rising row and `u`; so both `below` and `above` rise.
    pub links: Vec<RowLink>,
}

/// How far into a band (as a part of its height) the polygon must reach to get a span there.
const SHALLOW: f64 = 0.1;

/// Room that buffers begin with: what rows of most shapes need.
const FEW: usize = 16;

/// An edge in the frame, `low` at the lower `v`.
#[derive(Clone, Copy, Debug)]
struct Edge {
    low: Point,
    high: Point,
}

impl Edge {
    /// `u` at `v`, never beyond the edge's ends.
    fn at(&self, v: f64) -> f64 {
        let t = (v - self.low.y) / (self.high.y - self.low.y);
        let u = self.low.x + (self.high.x - self.low.x) * t;
        let (least, most) =
            if self.low.x <= self.high.x { (self.low.x, self.high.x) } else { (self.high.x, self.low.x) };
        u.clamp(least, most)
    }
}

#[derive(Clone, Copy, Debug)]
struct Stretch {
    from: f64,
    to: f64,
}

impl Stretch {
    /// Nothing, before any place.
    const NONE: Stretch = Stretch { from: f64::INFINITY, to: f64::NEG_INFINITY };

    /// Makes it reach to a place.
    fn add(&mut self, u: f64) {
        (self.from, self.to) = (self.from.min(u), self.to.max(u));
    }
}

impl RowGraph {
    /// Cuts `polygon`, seen in `frame`, at the rising values `cuts` of `v`;
    /// there is a row between each value and the next. What lies beyond the
    /// first and the last cut counts to the first and last row. Gaps in a row
    /// that are narrower than `bridge` mm are ignored.
    pub fn cut(polygon: &Polygon, frame: Frame, cuts: &[f64], bridge: f64) -> RowGraph {
        let mut sweep = Sweep::new(polygon, frame, cuts, bridge);
        for row in 0..cuts.len().saturating_sub(1) {
            sweep.row(row, cuts);
        }
        sweep.rows
    }

    /// Links of a span to the row above.
    pub fn links_up(&self, span: u32) -> std::ops::Range<u32> {
        self.spans.get(span as usize).map_or(0..0, |span| span.up.0..span.up.0 + span.up.1)
    }

    /// Links of a span to the row below.
    pub fn links_down(&self, span: u32) -> std::ops::Range<u32> {
        self.spans.get(span as usize).map_or(0..0, |span| span.down.0..span.down.0 + span.down.1)
    }

    /// The same rows less every span that leads only to others that are not
    /// `kept`: ends of the graph are taken off as long as there are any. Of
    /// each connected part some of its kept spans and ways between them remain.
    pub fn without_dead_ends(self, kept: impl Fn(&RowSpan) -> bool) -> RowGraph {
        let degree = |span: &RowSpan| span.up.1 + span.down.1;
        if !self.spans.iter().any(|span| degree(span) <= 1 && !kept(span)) {
            return self;
        }
        let mut degree: Vec<u32> = self.spans.iter().map(degree).collect();
        let mut gone = vec![false; self.spans.len()];
        let mut ends: Vec<u32> = (0..self.spans.len() as u32).filter(|&i| degree[i as usize] <= 1).collect();
        while let Some(end) = ends.pop() {
            if gone[end as usize] || kept(&self.spans[end as usize]) {
                continue;
            }
            gone[end as usize] = true;
            let up = self.links_up(end).map(|link| self.links[link as usize].above);
            for next in up.chain(self.links_down(end).map(|link| self.links[link as usize].below)) {
                degree[next as usize] = degree[next as usize].saturating_sub(1);
                if degree[next as usize] <= 1 && !gone[next as usize] {
                    ends.push(next);
                }
            }
        }
        // What is left moves up, and links are counted in anew.
        let RowGraph { mut spans, mut links } = self;
        let mut place = Vec::with_capacity(gone.len());
        let mut left = 0;
        for i in 0..gone.len() {
            place.push(left as u32);
            if !gone[i] {
                spans[left] = RowSpan { up: (0, 0), down: (0, 0), ..spans[i] };
                left += 1;
            }
        }
        spans.truncate(left);
        let mut index = 0;
        links.retain_mut(|link| {
            let stays = !gone[link.below as usize] && !gone[link.above as usize];
            if stays {
                (link.below, link.above) = (place[link.below as usize], place[link.above as usize]);
                count_in(&mut spans[link.below as usize].up, index);
                count_in(&mut spans[link.above as usize].down, index);
                index += 1;
            }
            stays
        });
        RowGraph { spans, links }
    }

    /// One more link, later than all others in the order of [`RowGraph::links`].
    pub(crate) fn add(&mut self, link: RowLink) {
        let index = self.links.len() as u32;
        count_in(&mut self.spans[link.below as usize].up, index);
        count_in(&mut self.spans[link.above as usize].down, index);
        self.links.push(link);
    }

    /// The span next to `span` in a corridor.
    pub fn next_in_corridor(&self, span: u32, upward: bool) -> Option<u32> {
        let span = self.spans.get(span as usize)?;
        let link = self.links.get(if upward { span.up.0 } else { span.down.0 } as usize)?;
        Some(if upward { link.above } else { link.below })
    }
}

struct Sweep {
    bridge: f64,
    edges: Vec<Edge>,
    /// `edges` that begin in row r are `first[r]..first[r + 1]`.
    first: Vec<u32>,
    /// Indices of edges that reach beyond the rows done, and their `u` on the line there, which rises: each two of
    /// them have some of the polygon between them.
    active: Vec<(u32, f64)>,
    /// The same for the line above the present row.
    above: Vec<(u32, f64)>,
    /// What the polygon covers of the present row, but for what its upper line alone shows.
    stretches: Vec<Stretch>,
    /// Spans of the row before.
    before: (usize, usize),
    rows: RowGraph,
}

impl Sweep {
    fn new(polygon: &Polygon, frame: Frame, cuts: &[f64], bridge: f64) -> Sweep {
        let count = cuts.len().saturating_sub(1);
        let mut loose = Vec::with_capacity(polygon.rings().map(|ring| ring.points.len()).sum());
        for ring in polygon.rings() {
            let mut points = ring.points.iter().filter(|p| p.is_finite()).map(|&p| frame.to_frame(p));
            let Some(start) = points.next() else { continue };
            let mut last = start;
            for point in points.chain([start]) {
                let (low, high) = if last.y <= point.y { (last, point) } else { (point, last) };
                loose.push(Edge { low, high });
                last = point;
            }
        }
        let guess = Guess::new(cuts);
        let begins: Vec<u32> = loose.iter().map(|edge| guess.row_of(edge.low.y, cuts) as u32).collect();
        // Two places ahead, so that filling in below leaves each start where it belongs.
        let mut first = vec![0u32; count + 3];
        for &row in &begins {
            first[row as usize + 2] += 1;
        }
        for i in 1..first.len() {
            first[i] += first[i - 1];
        }
        let mut edges = loose.clone();
        for (edge, &row) in loose.iter().zip(&begins) {
            let next = &mut first[row as usize + 1];
            edges[*next as usize] = *edge;
            *next += 1;
        }
        Sweep {
            bridge,
            edges,
            first,
            active: Vec::with_capacity(FEW),
            above: Vec::with_capacity(FEW),
            stretches: Vec::with_capacity(FEW),
            before: (0, 0),
            // One span in each row, as most shapes have.
            rows: RowGraph { spans: Vec::with_capacity(count), links: Vec::with_capacity(count) },
        }
    }

    fn row(&mut self, row: usize, cuts: &[f64]) {
        let (Some(&bottom), Some(&top)) = (cuts.get(row), cuts.get(row + 1)) else { return };
        let last_row = row + 2 >= cuts.len();
        let shallow = (top - bottom) * SHALLOW;
        let deep_from = if row == 0 { f64::NEG_INFINITY } else { bottom + shallow };
        let deep_to = if last_row { f64::INFINITY } else { top - shallow };
        let (begin, end) = (self.first[row], self.first[row + 1]);
        if begin == end && !last_row && self.plain_row(row as u32, top) {
            return;
        }
        let Sweep { edges, active, above, stretches, .. } = self;
        stretches.clear();
        above.clear();
        // Where an edge that comes in at a `u` leaves the row, and how much of it reaches deep into it.
        let mut pass = |index: u32, from: f64, reach: &mut Stretch| {
            let edge = &edges[index as usize];
            let goes_on = !last_row && edge.high.y > top;
            let to = if goes_on { edge.at(top) } else { edge.high.x };
            if edge.high.y >= deep_from && edge.low.y <= deep_to {
                reach.add(from);
                reach.add(to);
            }
            if goes_on {
                above.push((index, to));
            }
        };
        for pair in active.chunks(2) {
            let mut reach = match *pair {
                [(_, from), (_, to)] => Stretch { from, to },
                _ => Stretch::NONE,
            };
            for &(index, from) in pair {
                pass(index, from, &mut reach);
            }
            stretches.push(reach);
        }
        for index in begin..end {
            let mut reach = Stretch::NONE;
            pass(index, edges[index as usize].low.x, &mut reach);
            stretches.push(reach);
        }
        // The lower line's edges alone, in the same order above: they show all that the upper line does.
        let mut alike = begin == end && above.len() == active.len();
        if !above.is_sorted_by(|a, b| a.1 <= b.1) {
            above.sort_by(|a, b| a.1.total_cmp(&b.1));
            alike = false;
        }
        if !stretches.is_sorted_by(|a, b| a.from <= b.from) {
            stretches.sort_unstable_by(|a, b| a.from.total_cmp(&b.from));
        }
        self.add_spans(row as u32, alike);
        std::mem::swap(&mut self.active, &mut self.above);
    }

    /// A row that two edges pass and nothing else touches, as most are, is one span: done at once. Whether it was.
    fn plain_row(&mut self, row: u32, top: f64) -> bool {
        let [(left, from), (right, to)] = self.active[..] else { return false };
        let (one, other) = (&self.edges[left as usize], &self.edges[right as usize]);
        if one.high.y <= top || other.high.y <= top {
            return false;
        }
        let (mut left, mut right) = ((left, one.at(top)), (right, other.at(top)));
        if right.1 < left.1 {
            (left, right) = (right, left);
        }
        let begin = self.rows.spans.len();
        push_span(&mut self.rows.spans, row, Stretch { from: from.min(left.1), to: to.max(right.1) });
        self.add_links(begin, begin + 1);
        self.before = (begin, begin + 1);
        (self.active[0], self.active[1]) = (left, right);
        true
    }

    /// Joins the stretches found in a row, and those of its upper line where they are not `alike`, to spans and links
    /// them to the row below.
    fn add_spans(&mut self, row: u32, alike: bool) {
        let begin = self.rows.spans.len();
        let bridge = self.bridge.max(1e-9);
        let mut open = Stretch::NONE;
        let mut join = |stretch: Stretch| {
            if stretch.from - open.to < bridge {
                open.to = open.to.max(stretch.to);
            } else {
                push_span(&mut self.rows.spans, row, std::mem::replace(&mut open, stretch));
            }
        };
        let mut upper = stretches_of(if alike { &[] } else { &self.above }).peekable();
        for &stretch in self.stretches.iter().filter(|stretch| stretch.from <= stretch.to) {
            while let Some(first) = upper.next_if(|upper| upper.from <= stretch.from) {
                join(first);
            }
            join(stretch);
        }
        upper.for_each(&mut join);
        push_span(&mut self.rows.spans, row, open);
        let end = self.rows.spans.len();
        self.add_links(begin, end);
        self.before = (begin, end);
    }

    fn add_links(&mut self, begin: usize, end: usize) {
        let RowGraph { spans, links } = &mut self.rows;
        let (mut below, mut above) = (self.before.0, begin);
        for stretch in stretches_of(&self.active) {
            while below + 1 < self.before.1 && spans.get(below).is_some_and(|span| span.to < stretch.from) {
                below += 1;
            }
            while above + 1 < end && spans.get(above).is_some_and(|span| span.to < stretch.from) {
                above += 1;
            }
            if below >= self.before.1 || above >= end {
                continue;
            }
            if let Some(last) = links.last_mut()
                && (last.below as usize, last.above as usize) == (below, above)
            {
                last.to = last.to.max(stretch.to);
                continue;
            }
            let index = links.len() as u32;
            if let Some(span) = spans.get_mut(below) {
                count_in(&mut span.up, index);
            }
            if let Some(span) = spans.get_mut(above) {
                count_in(&mut span.down, index);
            }
            links.push(RowLink { below: below as u32, above: above as u32, from: stretch.from, to: stretch.to });
        }
    }
}

/// What lies between each two edges that pass a line.
fn stretches_of(line: &[(u32, f64)]) -> impl Iterator<Item = Stretch> {
    line.chunks_exact(2).map(|pair| Stretch { from: pair[0].1, to: pair[1].1 })
}

/// One more link of a span; the first is `index`.
fn count_in(ends: &mut (u32, u32), index: u32) {
    *ends = if ends.1 == 0 { (index, 1) } else { (ends.0, ends.1 + 1) };
}

fn push_span(spans: &mut Vec<RowSpan>, row: u32, Stretch { from, to }: Stretch) {
    if from <= to {
        spans.push(RowSpan { row, from, to, up: (0, 0), down: (0, 0) });
    }
}

/// Finds the row of a value: a guess as if all rows were equally high, then steps.
struct Guess {
    start: f64,
    per_mm: f64,
    rows: usize,
}

impl Guess {
    fn new(cuts: &[f64]) -> Guess {
        let rows = cuts.len().saturating_sub(1);
        let (start, end) = (cuts.first().copied().unwrap_or(0.0), cuts.last().copied().unwrap_or(0.0));
        Guess { start, per_mm: if end > start { rows as f64 / (end - start) } else { 0.0 }, rows }
    }

    /// The row with `cuts[row] < v <= cuts[row + 1]`; the first or last row for values beyond.
    fn row_of(&self, v: f64, cuts: &[f64]) -> usize {
        let last = self.rows.saturating_sub(1);
        let mut row = (((v - self.start) * self.per_mm).max(0.0) as usize).min(last);
        let is_below = |row: usize| row > 0 && cuts.get(row).is_some_and(|&cut| v <= cut);
        let is_above = |row: usize| row < last && cuts.get(row + 1).is_some_and(|&cut| v > cut);
        // Far off (rows of very different heights), look it up.
        if (is_below(row) && is_below(row - 1)) || (is_above(row) && is_above(row + 1)) {
            return cuts.partition_point(|&cut| cut < v).saturating_sub(1).min(last);
        }
        if is_below(row) {
            row -= 1;
        } else if is_above(row) {
            row += 1;
        }
        row
    }
}
