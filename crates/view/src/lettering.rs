//! A small alphabet of strokes, so that pictures need no fonts.
//!
//! Each letter is a few lines on a grid 4 wide and 8 high: feet of `g` on 0,
//! the line on 2, small letters up to 6, digits and `d` up to 8. Two digits
//! are one point, x then y; a space starts a new line; a line of one point
//! twice is a dot. Capitals are drawn as small letters.

use laidwork_plan::Point;

/// Height of a digit over the line, in grid units.
const DIGIT: f64 = 6.0;

/// The line's height on the grid.
const LINE: f64 = 2.0;

/// Gap between letters, in grid units.
const GAP: f64 = 1.8;

/// The strokes of a letter; nothing for one the alphabet lacks.
fn strokes(letter: char) -> &'static str {
    match letter {
        '0' => "120307183847433212",
        '1' => "172822 1232",
        '2' => "0718384746 460242",
        '3' => "084825354443321203",
        '4' => "32380444",
        '5' => "480805354443321203",
        '6' => "473818070312324344351504",
        '7' => "084812",
        '8' => "15060718384746351504031232434435",
        '9' => "031232434738180706153546",
        'a' => "4536160503123243 4642",
        'b' => "0802 0516364543321203",
        'c' => "4536160503123243",
        'd' => "4842 4536160503123243",
        'e' => "04444536160503123243",
        'f' => "12172838 0636",
        'g' => "4641301001 4536160503123243",
        'h' => "0802 0516364542",
        'i' => "1612 1818",
        'j' => "261100 2828",
        'k' => "0802 360432",
        'l' => "181322",
        'm' => "0602 05162522 25364542",
        'n' => "0602 0516364542",
        'o' => "163645433212030516",
        'p' => "0600 0516364543321203",
        'q' => "4640 4536160503123243",
        'r' => "0602 051636",
        's' => "45361605 05143443 43321203",
        't' => "18132232 0636",
        'u' => "0603123243 4642",
        'v' => "062246",
        'w' => "0612263246",
        'x' => "0642 4602",
        'y' => "0622 4610",
        'z' => "06460242",
        '²' => "0708282705 0525",
        '/' => "0248",
        '#' => "1712 3732 0545 0343",
        '.' => "1212",
        ',' => "1201",
        '-' => "0434",
        '+' => "0444 2622",
        ':' => "1313 1515",
        _ => "",
    }
}

/// Width of a letter on the grid.
fn advance(letter: char) -> f64 {
    let widest = strokes(letter).split(' ').flat_map(|line| line.bytes().step_by(2)).max();
    widest.map_or(2.0, |x| f64::from(x.saturating_sub(b'0'))) + GAP
}

/// Width of `text` with digits `height` high.
pub(crate) fn width(text: &str, height: f64) -> f64 {
    let units: f64 = text.chars().flat_map(char::to_lowercase).map(advance).sum();
    (units - GAP).max(0.0) * height / DIGIT
}

/// The lines of `text`, its left end at `at` on the line, digits `height` high, y down.
pub(crate) fn lines(text: &str, at: Point, height: f64) -> Vec<Vec<Point>> {
    let unit = height / DIGIT;
    let mut left = at.x;
    let mut lines = Vec::new();
    for letter in text.chars().flat_map(char::to_lowercase) {
        for line in strokes(letter).split(' ') {
            let place = |pair: &[u8]| match *pair {
                [x, y] => {
                    let (x, y) = (f64::from(x) - 48.0, f64::from(y) - 48.0);
                    Some(Point::new(left + x * unit, at.y - (y - LINE) * unit))
                }
                _ => None,
            };
            let points: Vec<Point> = line.as_bytes().chunks(2).filter_map(place).collect();
            if points.len() > 1 {
                lines.push(points);
            }
        }
        left += advance(letter) * unit;
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_letter_lies_on_the_grid() {
        let letters = ('0'..='9').chain('a'..='z').chain("²/.,-+:#".chars());
        for letter in letters {
            let lines = lines(&letter.to_string(), Point::ZERO, 6.0);
            assert!(!lines.is_empty(), "{letter}");
            for point in lines.iter().flatten() {
                assert!((0.0..=4.0).contains(&point.x) && (-6.0..=2.0).contains(&point.y), "{letter}: {point:?}");
            }
        }
    }

    #[test]
    fn text_is_as_wide_as_its_lines() {
        let right = lines("mm/mm²", Point::ZERO, 3.0).iter().flatten().map(|p| p.x).fold(0.0, f64::max);
        assert!((width("mm/mm²", 3.0) - right).abs() < 1e-9);
        assert!(width("", 3.0).abs() < 1e-9);
    }
}
