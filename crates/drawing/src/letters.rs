//! Letters set as outlines in the place of others that are drawn as a path.

use crate::Fonts;
use crate::error::Error;
use crate::fonts::Asked;
use crate::places::escaped;
use crate::resolve::resolve;
use crate::shape_path::{affine, bez_path};
use kurbo::{Affine, BezPath, Rect, Shape};
use laidwork_geometry::{FillRule, Region, flatten_to_rings};
use std::fmt::Write;

/// Size that letters are set in to be measured.
const SIZE: f64 = 1000.0;

/// Farthest their straight pieces may stray from the font's curves, of [`SIZE`].
const TOLERANCE: f64 = 0.2;

/// Path data for `text` in the place of the letter that `data` draws: capitals as high as that is, on its foot,
/// about its middle. `None` where `data` draws nothing or no font has the letters.
///
/// # Errors
/// When the resolver gives up on the letters.
pub(crate) fn in_place_of(data: &str, text: &str, fonts: &Fonts) -> Result<Option<String>, Error> {
    let Ok(old) = BezPath::from_svg(data) else { return Ok(None) };
    let (old, capital, letters) = (old.bounding_box(), outline("H", fonts)?, outline(text, fonts)?);
    let (high, new) = (capital.bounding_box().height(), letters.bounding_box());
    let sound = |rect: Rect| rect.is_finite() && rect.height() > 0.0 && rect.width() > 0.0;
    if !sound(old) || !sound(new) || high.is_nan() || high <= 0.0 {
        return Ok(None);
    }
    let scale = old.height() / high;
    // The letters stand on y = 0.
    let place = Affine::translate((old.center().x - new.center().x * scale, old.max_y())) * Affine::scale(scale);
    // United, so that strokes of a font that overlap stay filled whatever the path's fill rule.
    let united = Region::from_rings(&flatten_to_rings(&letters, TOLERANCE), FillRule::NonZero);
    let mut drawn = String::new();
    for ring in united.rings() {
        for (i, point) in ring.points.iter().enumerate() {
            let point = place * *point;
            let _ = write!(drawn, "{}{:.5} {:.5}", if i == 0 { "M" } else { "L" }, point.x, point.y);
        }
        drawn.push('Z');
    }
    Ok(Some(drawn))
}

/// The outlines of `text` in the first of the fonts, [`SIZE`] large, on y = 0.
fn outline(text: &str, fonts: &Fonts) -> Result<BezPath, Error> {
    let svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="10" height="10"><text font-family="sans-serif" font-size="{SIZE}">{}</text></svg>"#,
        escaped(text)
    );
    let mut outline = BezPath::new();
    collect(resolve(&svg, fonts, &Asked::default())?.root(), &mut outline);
    Ok(outline)
}

fn collect(group: &usvg::Group, outline: &mut BezPath) {
    for node in group.children() {
        match node {
            usvg::Node::Group(group) => collect(group, outline),
            usvg::Node::Text(text) => collect(text.flattened(), outline),
            usvg::Node::Path(path) => outline.extend(affine(path.abs_transform()) * bez_path(path.data())),
            usvg::Node::Image(_) => (),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn font() -> Fonts {
        Fonts::from_bytes(vec![include_bytes!("../../../fixtures/fonts/Inconsolata.otf").to_vec()])
    }

    #[test]
    fn a_capital_takes_the_height_and_the_place_of_the_old_letter() {
        let drawn = in_place_of("M10 20h8v14h-8z", "H", &font()).unwrap().unwrap();
        let bounds = BezPath::from_svg(&drawn).unwrap().bounding_box();
        assert!((bounds.min_y() - 20.0).abs() < 0.05 && (bounds.max_y() - 34.0).abs() < 0.05, "{bounds:?}");
        assert!((bounds.center().x - 14.0).abs() < 0.01 && bounds.width() > 4.0, "{bounds:?}");
    }

    #[test]
    fn a_tail_hangs_below_the_foot() {
        let drawn = in_place_of("M10 20h8v14h-8z", "g", &font()).unwrap().unwrap();
        let bounds = BezPath::from_svg(&drawn).unwrap().bounding_box();
        assert!(bounds.max_y() > 36.0 && bounds.min_y() > 22.0, "{bounds:?}");
    }

    #[test]
    fn without_a_font_or_a_place_there_is_nothing() {
        assert_eq!(in_place_of("M10 20h8v14h-8z", "H", &Fonts::none()).unwrap(), None);
        assert_eq!(in_place_of("M10 20", "H", &font()).unwrap(), None);
        assert_eq!(in_place_of("nonsense", "H", &font()).unwrap(), None);
        assert_eq!(in_place_of("M10 20h8v14h-8z", " ", &font()).unwrap(), None);
    }
}
