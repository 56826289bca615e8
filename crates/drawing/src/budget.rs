//! What the outlines of a drawing may cost: points, length and crossings.
//!
//! Booleans take time and memory in proportion to points and crossings, and
//! crossings can be the square of the points. Their number is estimated from
//! pairs of edges drawn by a fixed pseudo-random sequence (S. Vigna, "An
//! experimental exploration of Marsaglia's xorshift generators", 2016), so the
//! same drawing always gets the same answer.

use crate::Error;
use crate::stroke::Ink;
use kurbo::{BezPath, Point, Rect};
use laidwork_geometry::{Ring, chords};

/// The most points that all outlines may have.
pub(crate) const MOST_POINTS: usize = 1_000_000;
/// The longest that all outlines may be together, mm: some twenty hours of sewing.
pub(crate) const LONGEST: f64 = 2_000_000.0;
/// The most crossings that all outlines may have with themselves.
pub(crate) const MOST_CROSSINGS: f64 = 150_000.0;
/// A point of a centre line makes so many of the stroke's outline where that has to be put together.
const STROKE_POINTS: usize = 4;
/// A crossing of centre lines makes so many of the strokes' outlines.
const STROKE_CROSSINGS: f64 = 2.0;
/// Fewer edges than this cannot cross too often.
const FEW_EDGES: usize = 64;
/// Fewer pairs found crossing than this prove nothing.
const FEW_HITS: usize = 8;

/// What is spent so far.
#[derive(Debug, Default)]
pub(crate) struct Budget {
    points: usize,
    length: f64,
    crossings: f64,
}

impl Budget {
    /// Refuses the outline `name` if flattening it would give too many points, before they are made.
    pub fn flattened(&self, outline: &BezPath, tolerance: f64, name: &str) -> Result<(), Error> {
        if self.points as f64 + chords(outline, tolerance) > MOST_POINTS as f64 {
            return Err(too_many_points(name));
        }
        Ok(())
    }

    /// Spends what the rings of the fill `name` cost within `bounds`.
    pub fn fill(&mut self, rings: &[Ring], bounds: Rect, name: &str) -> Result<(), Error> {
        let edges: Vec<_> = rings.iter().flat_map(Ring::edges).collect();
        self.spend(&edges, bounds, (1, 1.0), name)
    }

    /// Spends what the centre lines of the stroke `name` cost within `bounds`.
    pub fn stroke(&mut self, ink: &Ink, bounds: Rect, name: &str) -> Result<(), Error> {
        let lines = ink.stroke.lines.iter();
        let edges: Vec<_> = lines.flat_map(|line| line.points.windows(2).map(|pair| (pair[0], pair[1]))).collect();
        let points = if ink.rings.is_empty() { 1 } else { STROKE_POINTS };
        self.spend(&edges, bounds, (points, STROKE_CROSSINGS), name)
    }

    fn spend(
        &mut self,
        edges: &[(Point, Point)],
        bounds: Rect,
        (points, crossings): (usize, f64),
        name: &str,
    ) -> Result<(), Error> {
        self.points += edges.len() * points;
        if self.points > MOST_POINTS {
            return Err(too_many_points(name));
        }
        self.length += edges.iter().map(|edge| visible_length(*edge, bounds)).sum::<f64>();
        if self.length > LONGEST {
            return Err(refuse(
                name,
                format!("up to here the outlines of the drawing are longer than {} km", LONGEST / 1e6),
            ));
        }
        self.crossings += estimate_crossings(edges) * crossings;
        if self.crossings > MOST_CROSSINGS {
            return Err(refuse(
                name,
                format!("up to here the outlines of the drawing cross more than {MOST_CROSSINGS} times"),
            ));
        }
        Ok(())
    }
}

fn too_many_points(name: &str) -> Error {
    refuse(name, format!("up to here the outlines of the drawing have more than {MOST_POINTS} points"))
}

fn refuse(name: &str, what: String) -> Error {
    let place = if name.is_empty() { String::new() } else { format!("{name}: ") };
    Error::TooLarge { place, what, advice: "simplify its outlines".into() }
}

/// At most the length of an edge within `bounds`: it is cut to their width and height.
fn visible_length((a, b): (Point, Point), bounds: Rect) -> f64 {
    let within = |from: f64, to: f64, low: f64, high: f64| (from.clamp(low, high) - to.clamp(low, high)).abs();
    within(a.x, b.x, bounds.x0, bounds.x1).hypot(within(a.y, b.y, bounds.y0, bounds.y1))
}

/// About how many pairs of edges cross.
fn estimate_crossings(edges: &[(Point, Point)]) -> f64 {
    let count = edges.len();
    if count < FEW_EDGES {
        return 0.0;
    }
    let samples = (count * 4).max(2000);
    let mut state: u64 = 0x9e37_79b9_7f4a_7c15;
    let mut draw = || {
        state ^= state >> 12;
        state ^= state << 25;
        state ^= state >> 27;
        let mixed = state.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 32;
        edges.get((mixed as usize).wrapping_mul(count) >> 32)
    };
    let hits = (0..samples).filter(|_| draw().zip(draw()).is_some_and(|(a, b)| cross(*a, *b))).count();
    if hits < FEW_HITS {
        return 0.0;
    }
    let pairs = count as f64 * (count as f64 - 1.0) / 2.0;
    hits as f64 / samples as f64 * pairs
}

/// Whether two edges cross inside both.
fn cross((a, b): (Point, Point), (c, d): (Point, Point)) -> bool {
    let side = |from: Point, to: Point, p: Point| (to - from).cross(p - from);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_grid_of_crossing_lines_is_counted() {
        let lines = (0..400).map(|i| {
            let at = f64::from(i / 2);
            if i % 2 == 0 { ((at, -1.0), (at, 201.0)) } else { ((-1.0, at), (201.0, at)) }
        });
        let edges: Vec<_> = lines.map(|(a, b)| (Point::from(a), Point::from(b))).collect();
        let found = estimate_crossings(&edges);
        assert!((found / 40_000.0 - 1.0).abs() < 0.1, "{found}");
    }

    #[test]
    fn a_circle_does_not_cross_itself() {
        let at = |i: i32| Point::new(f64::from(i).to_radians().cos(), f64::from(i).to_radians().sin());
        let edges: Vec<_> = (0..360).map(|i| (at(i), at(i + 1))).collect();
        assert!(estimate_crossings(&edges) < 1e-9);
    }

    #[test]
    fn as_many_chords_are_expected_as_flattening_makes() {
        let path = BezPath::from_svg("M0 0C900 0 0 900 900 900Q500 700 0 300L4 5Z").unwrap();
        let made: usize = laidwork_geometry::flatten(&path, 0.01).iter().map(|part| part.points.len()).sum();
        assert!((chords(&path, 0.01) / made as f64 - 1.0).abs() < 0.1, "{made}");
        let far = BezPath::from_svg(&format!("M0 0{}", "C1e12 0 0 1e12 1 1".repeat(100))).unwrap();
        assert!(Budget::default().flattened(&far, 0.01, "far").is_err());
        assert!(Budget::default().flattened(&path, 0.01, "near").is_ok());
    }

    #[test]
    fn what_lies_outside_has_no_length() {
        let bounds = Rect::new(0.0, 0.0, 10.0, 10.0);
        assert!((visible_length((Point::new(-1e9, 5.0), Point::new(1e9, 5.0)), bounds) - 10.0).abs() < 1e-9);
        assert!(visible_length((Point::new(20.0, 20.0), Point::new(30.0, 25.0)), bounds) < 1e-9);
    }
}
