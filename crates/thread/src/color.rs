//! Colours as people see them: L\*a\*b\*, difference and contrast.
//!
//! sRGB (IEC 61966-2-1) is carried over to CIE L\*a\*b\* under D65 and compared
//! by CIEDE2000 (Sharma, Wu and Dalal, *Color Research & Application* 30(1),
//! 2005), both by the `palette` crate; the tests hold them against the paper's
//! 34 pairs. Contrast is the ratio of relative luminances of WCAG 2.

use laidwork_plan::Color;
use palette::{FromColor, Srgb, color_difference::Ciede2000, white_point::D65};
use std::collections::BTreeSet;

/// A colour in CIE L\*a\*b\*, D65.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lab {
    /// Lightness, 0 to 100.
    pub l: f64,
    /// From green to red.
    pub a: f64,
    /// From blue to yellow.
    pub b: f64,
}

impl From<Color> for Lab {
    fn from(color: Color) -> Lab {
        let rgb = Srgb::new(color.red, color.green, color.blue).into_format::<f64>();
        let lab = palette::Lab::<D65, f64>::from_color(rgb);
        Lab { l: lab.l, a: lab.a, b: lab.b }
    }
}

/// CIEDE2000 between two colours in L\*a\*b\*.
pub fn lab_difference(one: Lab, other: Lab) -> f64 {
    let lab = |lab: Lab| palette::Lab::<D65, f64>::new(lab.l, lab.a, lab.b);
    lab(one).difference(lab(other))
}

/// CIEDE2000 between two sRGB colours.
pub fn difference(one: Color, other: Color) -> f64 {
    lab_difference(one.into(), other.into())
}

/// A CIEDE2000 difference in words. The first two limits are the thresholds at
/// which half of the observers see and accept a difference (Paravina and
/// others, *Journal of Esthetic and Restorative Dentistry* 27, 2015; from
/// memory); the others are common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Difference {
    /// Up to 0.8: most people see none.
    Unseen,
    /// Up to 1.8: seen side by side, and mostly accepted as the same.
    Slight,
    /// Up to 5: seen side by side.
    Visible,
    /// Up to 10: seen at a glance.
    Clear,
    /// Over 10: another colour.
    Other,
}

impl Difference {
    /// The words for a CIEDE2000 difference of `delta`.
    pub fn of(delta: f64) -> Difference {
        match delta {
            d if d <= 0.8 => Difference::Unseen,
            d if d <= 1.8 => Difference::Slight,
            d if d <= 5.0 => Difference::Visible,
            d if d <= 10.0 => Difference::Clear,
            _ => Difference::Other,
        }
    }

    /// What to say about it.
    pub const fn words(self) -> &'static str {
        match self {
            Difference::Unseen => "no difference to the eye",
            Difference::Slight => "slightly off, seen side by side",
            Difference::Visible => "off, but close",
            Difference::Clear => "clearly off",
            Difference::Other => "another colour",
        }
    }
}

/// Relative luminance as WCAG 2 defines it, 0 to 1.
fn luminance(color: Color) -> f64 {
    let linear = |channel: u8| {
        let value = f64::from(channel) / 255.0;
        if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * linear(color.red) + 0.7152 * linear(color.green) + 0.0722 * linear(color.blue)
}

/// The contrast ratio of WCAG 2, 1 to 21, whichever colour is the lighter.
pub fn contrast_ratio(one: Color, other: Color) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

/// How a thread stands out from what lies beside or beneath it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contrast {
    /// Contrast ratio, 1 to 21.
    pub ratio: f64,
    /// CIEDE2000.
    pub difference: f64,
    /// Both in a word.
    pub visibility: Visibility,
}

/// How well a shape can be told from its ground.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Visibility {
    /// Neither lighter nor of another colour: the shape sinks into its ground.
    Lost,
    /// Of another colour but much the same lightness: seen near by.
    Soft,
    /// Lighter or darker by a ratio of 3 or more: seen across the room.
    Clear,
}

impl Visibility {
    /// What to say about it.
    pub const fn words(self) -> &'static str {
        match self {
            Visibility::Lost => "sinks into its ground",
            Visibility::Soft => "soft, seen near by",
            Visibility::Clear => "stands out",
        }
    }
}

impl Contrast {
    /// The contrast of a thread with a fabric, or with the thread beside it. A
    /// ratio of 3 is what WCAG 2 asks of shapes that carry meaning (success
    /// criterion 1.4.11); below it a difference over 10 still tells two colours apart.
    pub fn between(thread: Color, ground: Color) -> Contrast {
        let (ratio, difference) = (contrast_ratio(thread, ground), difference(thread, ground));
        let visibility = if ratio >= 3.0 {
            Visibility::Clear
        } else if Difference::of(difference) == Difference::Other {
            Visibility::Soft
        } else {
            Visibility::Lost
        };
        Contrast { ratio, difference, visibility }
    }
}

/// How one thread of a design stands out.
#[derive(Clone, Debug, PartialEq)]
pub struct ThreadContrasts {
    /// From the fabric.
    pub fabric: Contrast,
    /// From each thread that is sewn beside it: its index and the contrast, in the order of the indices.
    pub neighbours: Vec<(usize, Contrast)>,
}

/// The contrast of every thread with the fabric and with its neighbours.
/// `neighbours` are pairs of indices of threads that are sewn side by side, in
/// any order; pairs of one thread with itself or with no thread are passed over.
pub fn contrasts(threads: &[Color], fabric: Color, neighbours: &[(usize, usize)]) -> Vec<ThreadContrasts> {
    let mut beside: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); threads.len()];
    for &(a, b) in neighbours.iter().filter(|(a, b)| a != b && *a.max(b) < threads.len()) {
        for (one, other) in [(a, b), (b, a)] {
            if let Some(beside) = beside.get_mut(one) {
                beside.insert(other);
            }
        }
    }
    let with = |thread: Color, beside: BTreeSet<usize>| {
        beside.into_iter().filter_map(|i| Some((i, Contrast::between(thread, *threads.get(i)?)))).collect()
    };
    let each = threads.iter().zip(beside);
    each.map(|(&thread, beside)| ThreadContrasts {
        fabric: Contrast::between(thread, fabric),
        neighbours: with(thread, beside),
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn rows(text: &str) -> Vec<Vec<&str>> {
        text.lines().skip(1).map(|line| line.split(',').collect()).collect()
    }

    fn color(text: &str) -> Color {
        text.parse().unwrap()
    }

    #[test]
    fn differences_are_those_of_sharma_wu_and_dalal() {
        let rows = rows(include_str!("../../../fixtures/reference/ciede2000_sharma2005.csv"));
        assert_eq!(rows.len(), 34);
        for row in rows {
            let n: Vec<f64> = row[1..8].iter().map(|field| field.parse().unwrap()).collect();
            let (one, other) = (Lab { l: n[0], a: n[1], b: n[2] }, Lab { l: n[3], a: n[4], b: n[5] });
            for found in [lab_difference(one, other), lab_difference(other, one)] {
                assert!((found - n[6]).abs() <= 1e-4, "pair {}: {found} is not {}", row[0], n[6]);
            }
        }
    }

    #[test]
    fn lab_values_are_those_of_the_table() {
        let rows = rows(include_str!("../../../fixtures/reference/srgb_check.csv"));
        assert!(rows.len() > 10);
        for row in rows {
            let n: Vec<f64> = row[7..10].iter().map(|field| field.parse().unwrap()).collect();
            let lab = Lab::from(color(row[0]));
            // The table uses the standard's matrix of four digits, which moves values by up to 0.03.
            for (found, wanted) in [lab.l, lab.a, lab.b].into_iter().zip(n) {
                assert!((found - wanted).abs() < 0.03, "{}: {lab:?}, not {wanted}", row[0]);
            }
        }
    }

    #[test]
    fn contrast_ratios_are_the_published_ones() {
        let rows = rows(include_str!("../../../fixtures/reference/wcag_contrast.csv"));
        assert_eq!(rows.len(), 12);
        for row in rows {
            let wanted: f64 = row[2].parse().unwrap();
            let found = contrast_ratio(color(row[0]), color(row[1]));
            assert!((found - wanted).abs() < 1e-6, "{row:?}: {found}");
        }
    }

    #[test]
    fn words_follow_the_limits() {
        let words = [0.0, 0.81, 1.81, 5.1, 10.1].map(Difference::of);
        use Difference::{Clear, Other, Slight, Unseen, Visible};
        assert_eq!(words, [Unseen, Slight, Visible, Clear, Other]);
    }

    #[test]
    fn a_thread_stands_out_or_sinks_in() {
        let seen = |thread, ground| Contrast::between(color(thread), color(ground)).visibility;
        assert_eq!(seen("#000000", "#ffffff"), Visibility::Clear);
        assert_eq!(seen("#c03030", "#308030"), Visibility::Soft);
        assert_eq!(seen("#fafafa", "#ffffff"), Visibility::Lost);
    }

    #[test]
    fn threads_are_held_against_fabric_and_neighbours() {
        let threads = ["#000000", "#0a0a0a", "#f0f0f0"].map(color);
        let found = contrasts(&threads, color("#ffffff"), &[(1, 0), (0, 1), (2, 1), (2, 2), (0, 7)]);
        let seen = |i: usize| found[i].fabric.visibility;
        assert_eq!([seen(0), seen(1), seen(2)], [Visibility::Clear, Visibility::Clear, Visibility::Lost]);
        let beside = |i: usize| found[i].neighbours.iter().map(|(j, c)| (*j, c.visibility)).collect::<Vec<_>>();
        assert_eq!(beside(0), [(1, Visibility::Lost)]);
        assert_eq!(beside(1), [(0, Visibility::Lost), (2, Visibility::Clear)]);
        assert_eq!(beside(2), [(1, Visibility::Clear)]);
    }

    proptest! {
        #[test]
        fn difference_and_contrast_are_symmetric(one: [u8; 3], other: [u8; 3]) {
            let [one, other] = [one, other].map(|[r, g, b]| Color::new(r, g, b));
            prop_assert!((difference(one, other) - difference(other, one)).abs() < 1e-9);
            prop_assert!((contrast_ratio(one, other) - contrast_ratio(other, one)).abs() < 1e-12);
            prop_assert!(difference(one, one) < 1e-9);
            prop_assert!((1.0..=21.0 + 1e-9).contains(&contrast_ratio(one, other)));
        }
    }
}
