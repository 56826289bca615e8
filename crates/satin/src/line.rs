//! Polylines: resampling, smoothing, directions.

use kurbo::{Point, Vec2};

/// The points without repeats and without those that are no numbers.
pub(crate) fn clean(points: &[Point]) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::with_capacity(points.len());
    for point in points.iter().filter(|p| p.is_finite()) {
        if kept.last().is_none_or(|last| last.distance(*point) > 1e-6) {
            kept.push(*point);
        }
    }
    kept
}

/// Length, mm.
pub(crate) fn length(points: &[Point]) -> f64 {
    points.windows(2).map(|p| if let &[a, b] = p { a.distance(b) } else { 0.0 }).sum()
}

/// Points at equal distances of about `step`, both ends included.
pub(crate) fn resample(points: &[Point], step: f64) -> Vec<Point> {
    let total = length(points);
    let (Some(&first), Some(&last)) = (points.first(), points.last()) else { return Vec::new() };
    if total <= 0.0 {
        return vec![first];
    }
    let parts = (total / step).round().clamp(1.0, 1e6) as usize;
    let mut found = vec![first];
    let mut walked = 0.0;
    let mut next = 1;
    for pair in points.windows(2) {
        let &[a, b] = pair else { continue };
        let edge = a.distance(b);
        while next < parts && total * next as f64 / parts as f64 <= walked + edge {
            let share = (total * next as f64 / parts as f64 - walked) / edge;
            found.push(a.lerp(b, share));
            next += 1;
        }
        walked += edge;
    }
    found.push(last);
    found
}

/// A running mean with a bell of `sigma` points, over any values; the ends of
/// an open row are mirrored through their end points, so that they stay put.
pub(crate) fn smooth(values: &[Vec2], sigma: f64, closed: bool) -> Vec<Vec2> {
    // Three boxes in a row are a bell good enough for smoothing, in linear time.
    let radius = ((1.0 + 4.0 * sigma * sigma).sqrt() / 2.0 - 0.5).round().max(0.0) as usize;
    let mut values = values.to_vec();
    if radius > 0 && values.len() > 2 {
        for _ in 0..3 {
            values = boxed(&values, radius.min(values.len() - 1), closed);
        }
    }
    values
}

fn boxed(values: &[Vec2], radius: usize, closed: bool) -> Vec<Vec2> {
    let count = values.len() as isize;
    let (Some(&first), Some(&last)) = (values.first(), values.last()) else { return Vec::new() };
    let at = |i: isize| -> Vec2 {
        if closed {
            values.get(i.rem_euclid(count) as usize).copied().unwrap_or_default()
        } else if i < 0 {
            first * 2.0 - values.get((-i) as usize).copied().unwrap_or(last)
        } else if i >= count {
            last * 2.0 - values.get((2 * (count - 1) - i).max(0) as usize).copied().unwrap_or(first)
        } else {
            values.get(i as usize).copied().unwrap_or_default()
        }
    };
    let radius = radius as isize;
    let mut sum: Vec2 = (-radius..=radius).map(at).fold(Vec2::ZERO, |a, b| a + b);
    let share = 1.0 / (2 * radius + 1) as f64;
    let mut out = Vec::with_capacity(values.len());
    for i in 0..count {
        out.push(sum * share);
        sum += at(i + radius + 1) - at(i - radius);
    }
    out
}

/// Directions along a polyline (of length one), smoothed over `sigma` points.
pub(crate) fn directions(points: &[Point], sigma: f64, closed: bool) -> Vec<Vec2> {
    let count = points.len();
    let at = |i: isize| {
        let i = if closed { i.rem_euclid(count.max(1) as isize) } else { i.clamp(0, count as isize - 1) };
        points.get(i as usize).copied().unwrap_or_default()
    };
    let raw: Vec<Vec2> = (0..count as isize).map(|i| unit(at(i + 1) - at(i - 1))).collect();
    smooth(&raw, sigma, closed).into_iter().map(unit).collect()
}

/// The same direction with length one; zero stays zero.
pub(crate) fn unit(v: Vec2) -> Vec2 {
    let length = v.hypot();
    if length > 1e-12 { v / length } else { Vec2::ZERO }
}

/// Square to `along`, to its right as seen with y pointing down.
pub(crate) fn right_of(along: Vec2) -> Vec2 {
    Vec2::new(-along.y, along.x)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn resampling_keeps_both_ends() {
        let points = [Point::ZERO, Point::new(1.0, 0.0), Point::new(1.0, 2.0)];
        let even = resample(&points, 0.1);
        assert_eq!(even.len(), 31);
        assert_eq!((even[0], even[30]), (points[0], points[2]));
        assert!(even.windows(2).all(|p| (p[0].distance(p[1]) - 0.1).abs() < 1e-9));
    }

    #[test]
    fn smoothing_leaves_straight_lines_alone() {
        let line: Vec<Vec2> = (0..50).map(|i| Vec2::new(i as f64, 2.0 * i as f64)).collect();
        let smoothed = smooth(&line, 6.0, false);
        assert!(line.iter().zip(&smoothed).all(|(a, b)| (*a - *b).hypot() < 1e-9));
    }

    #[test]
    fn right_is_right_with_y_down() {
        assert_eq!(right_of(Vec2::new(1.0, 0.0)), Vec2::new(-0.0, 1.0));
    }
}
