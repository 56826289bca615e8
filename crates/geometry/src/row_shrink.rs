//! The rows of a shrunk polygon, from the rows of the polygon itself, and graphs of rows in pieces.
//!
//! A disc about a place of a row fits into the polygon where each line between two bands that passes the disc
//! has its whole chord inside. So the stretches of the lines about a row, each shortened at both ends by half its
//! chord, have in common what a shrunk polygon would leave of the row. What reaches in between two lines is
//! seen at the next alone; lines count as half a row nearer for that, so the distance is right to half a row.
//!
//! O(spans times the rows that a disc passes).

use crate::RowGraph;
use crate::Sets;
use crate::row_graph::{RowLink, RowSpan};

impl RowGraph {
    /// The rows of the polygon shrunk by `by` mm, which must be more than half the height of a row; `cuts` are
    /// those that the rows were made with.
    pub fn shrunk(&self, by: f64, cuts: &[f64]) -> RowGraph {
        let lines = self.lines(cuts);
        let mut rows =
            RowGraph { spans: Vec::with_capacity(self.spans.len()), links: Vec::with_capacity(self.links.len()) };
        let (mut left, mut kept) = (Vec::new(), Vec::new());
        let (mut low, mut high, mut before) = (0, 0, 0..0);
        let last = cuts.len().saturating_sub(1);
        for row in 0..last {
            let middle = (cuts[row] + cuts[row + 1]) / 2.0;
            let half = (cuts[row + 1] - cuts[row]) / 2.0;
            while cuts[low] <= middle - by - half {
                low += 1;
            }
            while cuts.get(high).is_some_and(|&cut| cut < middle + by + half) {
                high += 1;
            }
            // The first and the last cut are where the polygon ends.
            let ends = middle - by < cuts[0] || cuts[last] < middle + by;
            let near = if ends { 0..0 } else { low.max(1)..high.min(last) };
            let chord = |cut: usize| {
                let across = (cuts[cut] - middle).abs() - half;
                (by * by - across * across).max(0.0).sqrt()
            };
            let line = |cut: usize| &self.links[lines[cut] as usize..lines[cut + 1] as usize];
            left.clear();
            if near.clone().all(|cut| line(cut).len() == 1) {
                let mut stretch = (f64::NEG_INFINITY, f64::INFINITY);
                for cut in near {
                    let (link, chord) = (line(cut)[0], chord(cut));
                    stretch = (stretch.0.max(link.from + chord), stretch.1.min(link.to - chord));
                }
                left.extend((!ends && stretch.0 < stretch.1).then_some(stretch));
            } else {
                left.push((f64::NEG_INFINITY, f64::INFINITY));
                for cut in near {
                    let chord = chord(cut);
                    common(&left, line(cut).iter().map(|link| (link.from + chord, link.to - chord)), &mut kept);
                    std::mem::swap(&mut left, &mut kept);
                }
            }
            let begin = rows.spans.len();
            let span = |&(from, to): &(f64, f64)| RowSpan { row: row as u32, from, to, up: (0, 0), down: (0, 0) };
            rows.spans.extend(left.iter().map(span));
            let here = begin..rows.spans.len();
            rows.link(before, here.clone());
            before = here;
        }
        rows
    }

    /// For each cut the first of the links that lie on it.
    fn lines(&self, cuts: &[f64]) -> Vec<u32> {
        let mut lines = vec![0; cuts.len() + 1];
        for link in &self.links {
            lines[self.spans[link.above as usize].row as usize + 1] += 1;
        }
        for i in 1..lines.len() {
            lines[i] += lines[i - 1];
        }
        lines
    }

    /// Links the spans of two neighbouring rows where they lie beside each other.
    fn link(&mut self, below: std::ops::Range<usize>, above: std::ops::Range<usize>) {
        let (mut low, mut high) = (below.start, above.start);
        while low < below.end && high < above.end {
            let (one, other) = (self.spans[low], self.spans[high]);
            let (from, to) = (one.from.max(other.from), one.to.min(other.to));
            if from < to {
                self.add(RowLink { below: low as u32, above: high as u32, from, to });
            }
            if one.to < other.to { low += 1 } else { high += 1 }
        }
    }

    /// Each connected part as a graph of its own, in the order of their first spans.
    pub fn connected_parts(self) -> Vec<RowGraph> {
        let mut sets = Sets::new(self.spans.len());
        let mut parts = self.spans.len();
        for link in &self.links {
            parts -= usize::from(sets.join(link.below as usize, link.above as usize));
        }
        if parts <= 1 {
            return if parts == 1 { vec![self] } else { Vec::new() };
        }
        const NONE: u32 = u32::MAX;
        let mut part_of = vec![NONE; self.spans.len()];
        let mut place = Vec::with_capacity(self.spans.len());
        let mut graphs: Vec<RowGraph> = Vec::with_capacity(parts);
        for (i, span) in self.spans.iter().enumerate() {
            let root = sets.find(i);
            if part_of[root] == NONE {
                part_of[root] = graphs.len() as u32;
                graphs.push(RowGraph::default());
            }
            let spans = &mut graphs[part_of[root] as usize].spans;
            place.push(spans.len() as u32);
            spans.push(RowSpan { up: (0, 0), down: (0, 0), ..*span });
        }
        for link in &self.links {
            let graph = &mut graphs[part_of[sets.find(link.below as usize)] as usize];
            let (below, above) = (place[link.below as usize], place[link.above as usize]);
            graph.add(RowLink { below, above, ..*link });
        }
        graphs
    }
}

/// The larger of two numbers.
fn larger(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

/// The stretches that two rising lists have in common.
fn common(one: &[(f64, f64)], other: impl Iterator<Item = (f64, f64)>, kept: &mut Vec<(f64, f64)>) {
    kept.clear();
    let mut first = 0;
    for (from, to) in other {
        while one.get(first).is_some_and(|stretch| stretch.1 <= from) {
            first += 1;
        }
        for stretch in one[first..].iter().take_while(|stretch| stretch.0 < to) {
            let both = (larger(stretch.0, from), -larger(-stretch.1, -to));
            if both.0 < both.1 {
                kept.push(both);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{self, Kind, Random};
    use crate::{Frame, Join, Locator, Polygon, Region};
    use kurbo::Point;

    fn cuts(polygon: &Polygon, frame: Frame, height: f64) -> Vec<f64> {
        let (low, high) = frame.extent(polygon).unwrap();
        let count = ((high - low) / height).ceil();
        (0..=count as usize).map(|i| low + (high - low) * i as f64 / count).collect()
    }

    #[test]
    fn shrunk_rows_are_the_rows_of_the_shrunk_polygon() {
        let mut compared = 0;
        for seed in 0..200 {
            let mut random = Random(seed);
            let region = testing::region(Kind::ALL[random.below(Kind::ALL.len())], 3 + random.below(30), random.bits());
            // Cut lines see what is wider than a row, as outlines are that were shrunk before.
            let region = region.offset(-0.3, Join::Round { tolerance: 0.005 });
            let frame = Frame::turned(random.below(180) as f64);
            for polygon in &region.polygons {
                let cuts = cuts(polygon, frame, 0.2);
                let (by, slack) = (0.7, 0.12);
                let found = RowGraph::cut(polygon, frame, &cuts, 0.0).shrunk(by, &cuts);
                let join = Join::Round { tolerance: 0.002 };
                let [less, more] = [by - slack, by + slack]
                    .map(|by| Region::from(polygon.clone()).offset(-by, join))
                    .map(|r| Locator::new(&r));
                for (row, pair) in cuts.windows(2).enumerate() {
                    let v = (pair[0] + pair[1]) / 2.0;
                    let bounds = polygon.bounds().unwrap();
                    let far = bounds.width() + bounds.height();
                    let middle = frame.to_frame(bounds.center()).x;
                    for step in 0..400 {
                        let u = middle - far + 2.0 * far * f64::from(step) / 400.0;
                        let at = frame.from_frame(Point::new(u, v));
                        let held =
                            found.spans.iter().any(|span| span.row == row as u32 && span.from <= u && u <= span.to);
                        assert!(!held || less.contains(at), "seed {seed}, {at:?} is too near to the outline");
                        assert!(held || !more.contains(at), "seed {seed}, {at:?} is left out");
                        compared += usize::from(held);
                    }
                }
            }
        }
        assert!(compared > 3000, "{compared}");
    }

    #[test]
    fn parts_hold_all_spans_and_links() {
        let mut apart = 0;
        for seed in 0..100 {
            let mut random = Random(seed);
            let region = testing::region(Kind::ALL[random.below(Kind::ALL.len())], 3 + random.below(30), random.bits());
            for polygon in &region.polygons {
                let frame = Frame::turned(30.0);
                let cuts = cuts(polygon, frame, 0.2);
                let rows = RowGraph::cut(polygon, frame, &cuts, 0.0).shrunk(0.5, &cuts);
                let parts = rows.clone().connected_parts();
                assert_eq!(parts.iter().map(|part| part.spans.len()).sum::<usize>(), rows.spans.len());
                assert_eq!(parts.iter().map(|part| part.links.len()).sum::<usize>(), rows.links.len());
                for part in &parts {
                    assert_eq!(part.clone().connected_parts().len(), 1);
                    for link in &part.links {
                        let (below, above) = (part.spans[link.below as usize], part.spans[link.above as usize]);
                        assert!(below.row + 1 == above.row && link.from < link.to);
                        assert!(below.from <= link.from && link.to <= below.to);
                        assert!(above.from <= link.from && link.to <= above.to);
                    }
                    for i in 0..part.spans.len() as u32 {
                        assert!(part.links_up(i).all(|link| part.links[link as usize].below == i));
                        assert!(part.links_down(i).all(|link| part.links[link as usize].above == i));
                    }
                }
                apart += parts.len().saturating_sub(1);
            }
        }
        assert!(apart > 10, "{apart}");
    }
}
