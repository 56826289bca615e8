//! Ink: an area that is drawn with a pen along lines, so that its two sides are known.
//!
//! Columns and runs follow the lines where these have room beside each other. Where a line runs along itself, or along
//! another one, so near that no fabric shows between them, threads square to both would pile up where they meet: what
//! they paint is an area like any other.

use kurbo::{Point, Vec2};
use laidwork_drawing::{Cap, Join as StrokeJoin, Line, Stroke};
use laidwork_geometry::{Join, Pen, PenCap, PenJoin, PenLine, Polygon};
use std::collections::HashMap;

/// Chords of arcs, of round joins and caps and of borders, lie inside them by at most this, mm.
pub(crate) const ARC_TOLERANCE: f64 = 0.01;

/// A border does not follow lines whose ink, drawn alone, would be more than this many times the area it covers.
const MOST_DOUBLED: f64 = 2.0;

/// A border and a stroke follow their lines when no more than this share of their length lies beside other length: lines
/// that cross or meet in a point are not beside each other, nor are those with more than ...
const MOST_BESIDE: f64 = 0.3;

/// ... so much fabric between them, mm: less is hidden by threads ...
const GAP: f64 = 0.1;

/// ... or in another direction: the cosine ...
const ALONG: f64 = 0.87;

/// ... or the next on the line: not farther along it than this, in widths of the pen.
const FAR: f64 = 2.5;

/// Longer lines are not asked: so many places would be looked at.
const MOST_SPOTS: f64 = 200_000.0;

/// Of the places in a cell only so many are looked at: where more lie, nearly every place has one beside it.
const MOST_IN_CELL: usize = 64;

/// Lines and the pen that follows them.
#[derive(Clone, Debug)]
pub(crate) struct Ink {
    /// Centre lines, mm.
    pub lines: Vec<PenLine>,
    /// What they are drawn with.
    pub pen: Pen,
    /// The lines run along the middle of a border.
    pub is_border: bool,
}

/// What lines that have no room paint, as one area: gaps that threads hide are closed, so that they part no columns.
pub(crate) fn as_area(polygon: &Polygon) -> Polygon {
    let join = Join::Round { tolerance: ARC_TOLERANCE };
    let closed = polygon.offset(GAP / 2.0, join).offset(-GAP / 2.0, join).simplify(ARC_TOLERANCE);
    let largest = closed.polygons.into_iter().max_by(|a, b| a.area().total_cmp(&b.area()));
    largest.unwrap_or_else(|| polygon.clone())
}

impl Ink {
    /// Whether the lines `numbers` have room beside each other in `polygon`.
    pub fn has_room(&self, polygon: &Polygon, numbers: &[usize]) -> bool {
        if self.is_border && self.length(numbers) * self.pen.width > MOST_DOUBLED * polygon.area() {
            return false;
        }
        self.share_beside(numbers) <= MOST_BESIDE
    }

    fn numbered<'a>(&'a self, numbers: &'a [usize]) -> impl Iterator<Item = &'a PenLine> {
        numbers.iter().filter_map(|&number| self.lines.get(number))
    }

    fn length(&self, numbers: &[usize]) -> f64 {
        self.numbered(numbers).map(length).sum()
    }

    /// What share of the lines' length has other length beside it. O(length / width of the pen).
    fn share_beside(&self, numbers: &[usize]) -> f64 {
        let width = self.pen.width;
        if !(width.is_finite() && width > 0.0) {
            return 0.0;
        }
        let (step, reach) = ((width / 2.0).max(GAP), width + GAP);
        let total = self.length(numbers);
        if total.is_nan() || total > MOST_SPOTS * step {
            return 0.0;
        }
        let lines: Vec<Vec<Spot>> = self.numbered(numbers).map(|line| spots(line, step)).collect();
        let cell = |p: Point| ((p.x / reach).floor() as i64, (p.y / reach).floor() as i64);
        let mut cells: HashMap<(i64, i64), Vec<(usize, Spot)>> = HashMap::new();
        for (line, spots) in lines.iter().enumerate() {
            for spot in spots {
                let list = cells.entry(cell(spot.at)).or_default();
                if list.len() < MOST_IN_CELL {
                    list.push((line, *spot));
                }
            }
        }
        let is_beside = |line: usize, spot: Spot, &(other_line, other): &(usize, Spot)| {
            let apart = (spot.on - other.on).abs();
            let apart = if spot.around > 0.0 { apart.min(spot.around - apart) } else { apart };
            let way = other.at - spot.at;
            (line != other_line || apart > FAR * width)
                && spot.along.dot(other.along).abs() > ALONG
                && way.cross(spot.along).abs() < reach
                && way.dot(spot.along).abs() <= step
        };
        let mut beside = 0_usize;
        for (line, spots) in lines.iter().enumerate() {
            for &spot in spots {
                let (x, y) = cell(spot.at);
                let around = (-1..=1).flat_map(|i| (-1..=1).map(move |j| (x.saturating_add(i), y.saturating_add(j))));
                let found = around.filter_map(|cell| cells.get(&cell)).flatten().any(|o| is_beside(line, spot, o));
                beside += usize::from(found);
            }
        }
        beside as f64 / lines.iter().map(Vec::len).sum::<usize>().max(1) as f64
    }
}

/// A place on a line.
#[derive(Clone, Copy, Debug)]
struct Spot {
    at: Point,
    /// The direction of the line there, of length 1.
    along: Vec2,
    /// How far along the line it lies, mm.
    on: f64,
    /// How long the line is if it is closed, mm; otherwise 0.
    around: f64,
}

fn corners(line: &PenLine) -> impl Iterator<Item = (Point, Point)> {
    let closing = line.points.last().zip(line.points.first()).filter(|_| line.closed);
    line.points.windows(2).map(|pair| (pair[0], pair[1])).chain(closing.map(|(a, b)| (*a, *b)))
}

fn length(line: &PenLine) -> f64 {
    corners(line).map(|(a, b)| a.distance(b)).sum()
}

/// Places on a line, `step` mm apart.
fn spots(line: &PenLine, step: f64) -> Vec<Spot> {
    let around = if line.closed { length(line) } else { 0.0 };
    let (mut spots, mut before, mut next) = (Vec::new(), 0.0, step / 2.0);
    for (a, b) in corners(line) {
        let long = a.distance(b);
        if long.is_nan() || long <= 0.0 {
            continue;
        }
        let along = (b - a) / long;
        while next <= before + long {
            spots.push(Spot { at: a + along * (next - before), along, on: next, around });
            next += step;
        }
        before += long;
    }
    spots
}

impl From<&Stroke> for Ink {
    fn from(stroke: &Stroke) -> Ink {
        let line = |line: &Line| PenLine { points: line.points.clone(), corners: Vec::new(), closed: line.closed };
        let limit = stroke.mitre_limit;
        let pen = Pen {
            width: stroke.width,
            cap: match stroke.cap {
                Cap::Butt => PenCap::Butt,
                Cap::Round => PenCap::Round,
                Cap::Square => PenCap::Square,
            },
            join: match stroke.join {
                StrokeJoin::Mitre => PenJoin::Mitre { limit },
                StrokeJoin::MitreClip => PenJoin::MitreClip { limit },
                StrokeJoin::Round => PenJoin::Round,
                StrokeJoin::Bevel => PenJoin::Bevel,
            },
            tolerance: ARC_TOLERANCE,
        };
        Ink { lines: stroke.lines.iter().map(line).collect(), pen, is_border: false }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ink(lines: &[(&[(f64, f64)], bool)]) -> Ink {
        let line = |&(points, closed): &(&[(f64, f64)], bool)| PenLine {
            points: points.iter().copied().map(Point::from).collect(),
            closed,
            ..PenLine::default()
        };
        let pen = Pen { width: 2.0, cap: PenCap::Butt, join: PenJoin::Round, tolerance: 0.01 };
        Ink { lines: lines.iter().map(line).collect(), pen, is_border: false }
    }

    fn beside(lines: &[(&[(f64, f64)], bool)]) -> f64 {
        ink(lines).share_beside(&(0..lines.len()).collect::<Vec<_>>())
    }

    #[test]
    fn a_line_that_comes_back_along_itself_has_no_room() {
        assert!(beside(&[(&[(0.0, 0.0), (40.0, 0.0), (40.0, 1.0), (0.0, 1.0)], true)]) > 0.7);
        assert!(beside(&[(&[(0.0, 0.0), (40.0, 0.0), (40.0, 2.0), (0.0, 2.0)], true)]) > 0.7);
        assert!(beside(&[(&[(0.0, 0.0), (40.0, 0.0)], false), (&[(40.0, 0.5), (0.0, 0.5)], false)]) > 0.9);
    }

    #[test]
    fn lines_that_cross_or_lie_side_by_side_have_room() {
        let across = [(0.0, -20.0), (0.0, 20.0)];
        assert!(beside(&[(&[(-20.0, 0.0), (20.0, 0.0)], false), (&across, false)]) < 0.01);
        assert!(beside(&[(&[(0.0, 0.0), (40.0, 0.0), (40.0, 2.3), (0.0, 2.3)], true)]) < 0.1);
        // The ends of a closed line are near each other, but not beside.
        assert!(beside(&[(&[(0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0)], true)]) < 0.01);
    }

    #[test]
    fn a_hairpin_has_room_but_near_its_bend() {
        let share = beside(&[(&[(0.0, 0.0), (40.0, 10.0), (0.0, 20.0)], false)]);
        assert!((0.01..0.3).contains(&share), "{share}");
    }
}
