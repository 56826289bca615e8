//! Digits made of a few strokes each, to be sewn as runs.
//!
//! Own shapes, drawn for legibility at 3 mm: no font file is needed and every
//! stroke is at least a stitch long.

use laidwork_plan::Point;

/// Width of a digit, as a share of its height.
const WIDTH: f64 = 0.6;

/// From one digit to the next, as a share of the height.
const ADVANCE: f64 = 0.95;

/// The strokes of each digit: points in quarters of its width and height, y down.
const STROKES: [&[&[(u8, u8)]]; 10] = [
    &[&[(1, 0), (3, 0), (4, 1), (4, 3), (3, 4), (1, 4), (0, 3), (0, 1), (1, 0)]],
    &[&[(0, 1), (2, 0), (2, 4)]],
    &[&[(0, 1), (1, 0), (3, 0), (4, 1), (0, 4), (4, 4)]],
    &[&[(0, 0), (4, 0), (2, 2), (4, 3), (3, 4), (0, 4)]],
    &[&[(3, 4), (3, 0), (0, 3), (4, 3)]],
    &[&[(4, 0), (0, 0), (0, 2), (3, 2), (4, 3), (3, 4), (0, 4)]],
    &[&[(4, 0), (1, 0), (0, 2), (0, 3), (1, 4), (3, 4), (4, 3), (3, 2), (0, 2)]],
    &[&[(0, 0), (4, 0), (1, 4)]],
    &[&[(2, 2), (4, 1), (3, 0), (1, 0), (0, 1), (4, 3), (3, 4), (1, 4), (0, 3), (2, 2)]],
    &[&[(0, 4), (3, 4), (4, 2), (4, 1), (3, 0), (1, 0), (0, 1), (1, 2), (4, 2)]],
];

/// Width of a number whose digits are `height` mm high, mm.
pub fn width(number: usize, height: f64) -> f64 {
    ((number.to_string().len() - 1) as f64 * ADVANCE + WIDTH) * height
}

/// The strokes of a number, its top left corner at `at`, its digits `height` mm high.
pub fn strokes(number: usize, at: Point, height: f64) -> Vec<Vec<Point>> {
    let mut strokes = Vec::new();
    for (place, digit) in number.to_string().bytes().enumerate() {
        let left = at.x + place as f64 * ADVANCE * height;
        for stroke in STROKES.get(usize::from(digit.wrapping_sub(b'0'))).copied().unwrap_or_default() {
            let point = |&(x, y): &(u8, u8)| {
                Point::new(left + f64::from(x) / 4.0 * WIDTH * height, at.y + f64::from(y) / 4.0 * height)
            };
            strokes.push(stroke.iter().map(point).collect());
        }
    }
    strokes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_fills_its_box() {
        for number in [0, 8, 17, 305] {
            let points: Vec<Point> = strokes(number, Point::new(1.0, 2.0), 3.0).concat();
            let right = points.iter().fold(f64::MIN, |most, point| most.max(point.x));
            let down = points.iter().fold(f64::MIN, |most, point| most.max(point.y));
            assert!(right <= 1.0 + width(number, 3.0) + 1e-9, "{number}");
            assert!((down - 5.0).abs() < 1e-9, "{number}");
        }
    }

    #[test]
    fn every_digit_is_another() {
        let all: Vec<_> = (0..10).map(|digit| strokes(digit, Point::ZERO, 3.0)).collect();
        for (number, one) in all.iter().enumerate() {
            assert!(!one.is_empty() && !all[..number].contains(one), "{number}");
        }
    }
}
