//! The centre lines of an outline: what a run follows where a column would be too thin.
//!
//! The outline is taken apart as for columns; the middles of its columns are the lines. Where
//! one ends at the side of another it is led on to that one's middle, so that the lines meet.
//! O(n log n) for n points of the outline. Lines end half a sewn thread inside the outline.

use crate::decompose::limbs_of;
use crate::line::{clean, resample};
use crate::network::{Network, Part, Place};
use crate::{Column, ColumnEnd, SatinSettings};
use kurbo::Point;
use laidwork_geometry::{PenLine, Polygon, closest_on_segment};

/// Free ends stay this far inside the outline, mm: half a sewn thread.
const INSET: f64 = 0.15;

/// Points are this far apart, mm.
const STEP: f64 = 0.1;

/// The lines along the middle of a connected outline, mm; none when it has no width.
pub fn centre_lines(polygon: &Polygon) -> Vec<PenLine> {
    let settings = SatinSettings { min_width: f64::INFINITY, max_width: f64::INFINITY, ..SatinSettings::default() };
    let network = limbs_of(polygon, &settings);
    let middles: Vec<Vec<Point>> = network.parts.iter().map(middle).collect();
    let line = |(index, part): (usize, &Part)| {
        let column = column(part)?;
        let mut points = middles.get(index)?.clone();
        for end in [1, 0] {
            if end == 0 {
                points.reverse();
            }
            if !column.closed {
                finish(&mut points, column.ends[end], met(&network, &middles, index, end));
            }
            if end == 0 {
                points.reverse();
            }
        }
        let points = clean(&points);
        (points.len() > 1).then_some(PenLine { points, closed: column.closed, ..PenLine::default() })
    };
    network.parts.iter().enumerate().filter_map(line).collect()
}

fn column(part: &Part) -> Option<&Column> {
    match part {
        Part::Column(column) | Part::Run(column) => Some(column),
        Part::Fill(_) => None,
    }
}

fn middle(part: &Part) -> Vec<Point> {
    let Some(column) = column(part) else { return Vec::new() };
    let points: Vec<Point> = column.centre().collect();
    if column.closed { points } else { resample(&clean(&points), STEP) }
}

/// Where the last point of a line lies on the line that it meets.
fn met(network: &Network, middles: &[Vec<Point>], index: usize, end: usize) -> Option<Point> {
    let last = network.parts.get(index).and_then(column)?.last_place();
    let is_here = |p: &Place| p.part == index && if end == 0 { p.at < 1.0 } else { p.at > last - 1.0 };
    let joint = network.joints.iter().find(|joint| joint.places.iter().any(is_here))?;
    let owner = joint.owner.filter(|owner| *owner != index)?;
    let own = middles.get(index)?;
    let from = *if end == 0 { own.first() } else { own.last() }?;
    let near = |pair: &[Point]| if let &[a, b] = pair { closest_on_segment(from, a, b) } else { from };
    let feet = middles.get(owner)?.windows(2).map(near);
    feet.min_by(|a, b| a.distance(from).total_cmp(&b.distance(from)))
}

/// Leads the end of a line to where it meets another, or takes the inset off a free one.
fn finish(points: &mut Vec<Point>, kind: ColumnEnd, meets: Option<Point>) {
    let Some(&tip) = points.last() else { return };
    let (target, near) = match meets {
        Some(meets) => (meets, meets.distance(tip).max(STEP)),
        None if kind == ColumnEnd::Joined => return,
        None => (tip, INSET),
    };
    while points.len() > 2 && points.last().is_some_and(|p| p.distance(target) < near) {
        points.pop();
    }
    points.extend(meets);
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_geometry::Ring;

    fn polygon(points: &[(f64, f64)]) -> Polygon {
        Polygon { outer: Ring::new(points.iter().copied().map(Point::from).collect()), holes: Vec::new() }
    }

    #[test]
    fn a_hairline_has_one_line_along_it() {
        let lines = centre_lines(&polygon(&[(0.0, 0.0), (12.0, 0.0), (12.0, 0.5), (0.0, 0.5)]));
        assert_eq!(lines.len(), 1);
        assert!(lines[0].points.iter().all(|p| (p.y - 0.25).abs() < 0.02), "{lines:?}");
        let xs = || lines[0].points.iter().map(|p| p.x);
        assert!(xs().fold(9.0, f64::min) < 0.3 && xs().fold(0.0, f64::max) > 11.7);
    }

    #[test]
    fn the_lines_of_a_t_meet() {
        let tee =
            [(0.0, 0.0), (10.0, 0.0), (10.0, 0.5), (5.25, 0.5), (5.25, 9.0), (4.75, 9.0), (4.75, 0.5), (0.0, 0.5)];
        let lines = centre_lines(&polygon(&tee));
        assert_eq!(lines.len(), 2);
        let ends: Vec<Point> = lines.iter().flat_map(|l| [l.points[0], l.points[l.points.len() - 1]]).collect();
        let meets = ends.iter().filter(|p| p.distance(Point::new(5.0, 0.25)) < 0.1).count();
        assert_eq!(meets, 1, "{ends:?}");
    }

    #[test]
    fn a_thin_ring_is_a_closed_line() {
        let ring = |r: f64| {
            Ring::new(
                (0..90)
                    .map(|i| (kurbo::Vec2::from_angle(f64::from(i) * 4.0_f64.to_radians()) * r).to_point())
                    .collect(),
            )
        };
        let mut hole = ring(4.6);
        hole.points.reverse();
        let lines = centre_lines(&Polygon { outer: ring(5.0), holes: vec![hole] });
        assert!(lines.len() == 1 && lines[0].closed);
        assert!(lines[0].points.iter().all(|p| (p.to_vec2().hypot() - 4.8).abs() < 0.03));
    }

    #[test]
    fn nothing_has_no_lines() {
        assert!(centre_lines(&Polygon::default()).is_empty());
    }
}
