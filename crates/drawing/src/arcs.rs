//! Arcs and circles so large that the resolver would cut them into any number of curves.
//!
//! It cuts an ellipse into curves whose number grows with the sixth root of its radius (as `kurbo::Arc` does, within
//! 0.1), so forty digits for a radius take all memory. Radii beyond [`LARGEST_RADIUS`] are lowered to it, which nothing
//! within a drawing's two metres can show; what is left is counted before anything is cut.

use std::fmt::Write;
use svgtypes::{Length, LengthUnit, PathParser, PathSegment};

/// The largest radius that an arc keeps, user units.
const LARGEST_RADIUS: f64 = 1e12;
/// A curve takes as much memory as so many corners.
const CURVE: u64 = 4;
/// The resolver's tolerance, user units.
const TOLERANCE: f64 = 0.1;
/// The most user units of an absolute unit, or of a letter's size.
const UNIT: f64 = 1000.0;

/// As many corners as an ellipse of this radius costs.
pub(crate) fn corners(radius: f64) -> u64 {
    let curves = (1.1163 * radius.abs() / TOLERANCE).powf(1.0 / 6.0).max(4.0).ceil();
    CURVE.saturating_mul(curves as u64)
}

/// The user units of a radius written as `value`, at most; `full` are those of 100 %.
pub(crate) fn radius(value: &str, full: f64) -> f64 {
    let Ok(Length { number, unit }) = value.trim().parse::<Length>() else { return 0.0 };
    match unit {
        LengthUnit::None | LengthUnit::Px => number.abs(),
        LengthUnit::Percent => number.abs() / 100.0 * full,
        _ => number.abs() * UNIT,
    }
}

/// What the arcs of path data cost, in corners.
pub(crate) fn corners_of_path(data: &str) -> u64 {
    if !data.contains(['a', 'A']) {
        return 0;
    }
    let arcs = PathParser::from(data).map_while(Result::ok).filter_map(|segment| match segment {
        PathSegment::EllipticalArc { rx, ry, .. } => Some(corners(rx.abs().max(ry.abs()))),
        _ => None,
    });
    arcs.fold(0, u64::saturating_add)
}

/// Path data with radii that are not too large; `None` where they are not.
pub(crate) fn lowered(data: &str) -> Option<String> {
    let too_large = |radius: f64| radius.abs() > LARGEST_RADIUS;
    let is_wild = |segment: &PathSegment| matches!(segment, PathSegment::EllipticalArc { rx, ry, .. } if too_large(*rx) || too_large(*ry));
    if !data.contains(['a', 'A']) || !PathParser::from(data).map_while(Result::ok).any(|segment| is_wild(&segment)) {
        return None;
    }
    let mut text = String::with_capacity(data.len());
    for segment in PathParser::from(data) {
        // What cannot be read stays so: the rest is left out, and said to be.
        let Ok(segment) = segment else {
            text.push('?');
            break;
        };
        write_segment(&mut text, &segment);
    }
    Some(text)
}

/// Whether path data whose radii are not too large ([`lowered`]) breaks off in the middle, or holds numbers without measure.
pub(crate) fn is_broken(data: &str) -> bool {
    data.trim() != "none"
        && svgtypes::SimplifyingPathParser::from(data).any(|segment| {
            use svgtypes::SimplePathSegment::{ClosePath, CurveTo, LineTo, MoveTo, Quadratic};
            let wild = |n: f64| !n.is_finite() || n.abs() > 1e30;
            match segment {
                Err(_) => true,
                Ok(MoveTo { x, y } | LineTo { x, y }) => wild(x) || wild(y),
                Ok(Quadratic { x1, y1, x, y }) => [x1, y1, x, y].into_iter().any(wild),
                Ok(CurveTo { x1, y1, x2, y2, x, y }) => [x1, y1, x2, y2, x, y].into_iter().any(wild),
                Ok(ClosePath) => false,
            }
        })
}

fn write_segment(text: &mut String, segment: &PathSegment) {
    let mut put = |letter: char, absolute: bool, numbers: &[f64]| {
        text.push(if absolute { letter } else { letter.to_ascii_lowercase() });
        for number in numbers {
            // Writing to a string cannot fail.
            let _ = write!(text, " {number}");
        }
    };
    match *segment {
        PathSegment::MoveTo { abs, x, y } => put('M', abs, &[x, y]),
        PathSegment::LineTo { abs, x, y } => put('L', abs, &[x, y]),
        PathSegment::HorizontalLineTo { abs, x } => put('H', abs, &[x]),
        PathSegment::VerticalLineTo { abs, y } => put('V', abs, &[y]),
        PathSegment::CurveTo { abs, x1, y1, x2, y2, x, y } => put('C', abs, &[x1, y1, x2, y2, x, y]),
        PathSegment::SmoothCurveTo { abs, x2, y2, x, y } => put('S', abs, &[x2, y2, x, y]),
        PathSegment::Quadratic { abs, x1, y1, x, y } => put('Q', abs, &[x1, y1, x, y]),
        PathSegment::SmoothQuadratic { abs, x, y } => put('T', abs, &[x, y]),
        PathSegment::EllipticalArc { abs, rx, ry, x_axis_rotation, large_arc, sweep, x, y } => {
            let within = |radius: f64| radius.abs().min(LARGEST_RADIUS);
            let flag = |set: bool| f64::from(u8::from(set));
            put('A', abs, &[within(rx), within(ry), x_axis_rotation, flag(large_arc), flag(sweep), x, y]);
        }
        PathSegment::ClosePath { abs } => put('Z', abs, &[]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ordinary_arcs_stay_as_they_are() {
        assert_eq!(lowered("M10-5.5a1 1 0 012 2"), None);
        assert_eq!(lowered("M0 0 L 1e300 4"), None);
        assert_eq!(corners_of_path("M10-5.5a1 1 0 012 2"), 16);
    }

    #[test]
    fn huge_radii_are_lowered_and_nothing_else() {
        let data = "m1 2 3 4A1e50,7 0 0,1 9,13h2V3c1 2 3 4 5 6S1 2 3 4q1 2 3 4T5 6a-1e99 2 30 1 0 1 1zL5";
        let text = lowered(data).expect("it is changed");
        assert_eq!(
            text,
            "m 1 2l 3 4A 1000000000000 7 0 0 1 9 13h 2V 3c 1 2 3 4 5 6S 1 2 3 4q 1 2 3 4T 5 6a 1000000000000 2 30 1 0 1 1z?"
        );
        assert_eq!(lowered(&text), None);
    }

    #[test]
    fn broken_paths() {
        assert!(!is_broken("M0 0 h1 v1 z"));
        assert!(!is_broken("M10-5.5a1 1 0 012 2"));
        assert!(is_broken("M NaN 0"));
        assert!(is_broken("M0 0 L 5"));
        assert!(is_broken("M0 0 L 1e300 4"));
        assert!(is_broken("M0 0A1e50 1 0 0 1 5"));
        assert!(!is_broken(&lowered("M0 0A1e50 1 0 0 1 5 5").expect("it is changed")));
    }

    #[test]
    fn a_percentage_is_one_of_the_whole() {
        assert!((radius("50%", 1e6) - 5e5).abs() < 1e-9 && radius("2in", 1.0) > 191.0 && radius("x", 1.0) < 1e-9);
        assert!(corners(1e12) < 1000 && corners(f64::INFINITY) == u64::MAX);
    }
}
