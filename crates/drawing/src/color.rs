//! The one colour of a paint.
//!
//! A gradient is averaged over its offsets from 0 to 1, a pattern over the
//! areas painted in its tile, both in linear light and weighted by opacity: the
//! colour that is seen from far off. sRGB's transfer curve is that of
//! IEC 61966-2-1.

use crate::shape_path::{affine, bez_path};
use kurbo::{Affine, Shape};
use laidwork_plan::Color;

/// A colour and how much of it there is, in linear light.
#[derive(Clone, Copy, Debug, Default)]
struct Light {
    channels: [f64; 3],
    weight: f64,
}

impl Light {
    fn new(color: usvg::Color, weight: f64) -> Light {
        Light { channels: [color.red, color.green, color.blue].map(|channel| linear(channel) * weight), weight }
    }

    fn add(&mut self, other: Light, share: f64) {
        for (sum, channel) in self.channels.iter_mut().zip(other.channels) {
            *sum += channel * share;
        }
        self.weight += other.weight * share;
    }

    fn color(self) -> Option<Color> {
        if self.weight <= 0.0 || !self.weight.is_finite() {
            return None;
        }
        let [red, green, blue] = self.channels.map(|channel| encoded(channel / self.weight));
        Some(Color::new(red, green, blue))
    }
}

fn linear(channel: u8) -> f64 {
    let value = f64::from(channel) / 255.0;
    if value <= 0.040_45 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
}

fn encoded(light: f64) -> u8 {
    let value = if light <= 0.003_130_8 { light * 12.92 } else { 1.055 * light.powf(1.0 / 2.4) - 0.055 };
    (value * 255.0).round().clamp(0.0, 255.0) as u8
}

/// The average colour of `paint`, and its average opacity; `None` if nothing of it shows.
pub(crate) fn average(paint: &usvg::Paint) -> Option<(Color, f64)> {
    let light = light(paint);
    light.color().map(|color| (color, light.weight))
}

/// The light of a paint over a unit of area.
fn light(paint: &usvg::Paint) -> Light {
    match paint {
        usvg::Paint::Color(color) => Light::new(*color, 1.0),
        usvg::Paint::LinearGradient(gradient) => stops(gradient.stops()),
        usvg::Paint::RadialGradient(gradient) => stops(gradient.stops()),
        usvg::Paint::Pattern(pattern) => {
            let mut sum = Light::default();
            tile(pattern.root(), &mut sum);
            if sum.weight > 0.0 {
                let whole = sum.weight;
                sum.channels = sum.channels.map(|channel| channel / whole);
                sum.weight = 1.0;
            }
            sum
        }
    }
}

/// The average over the offsets 0 to 1: colours change evenly from stop to
/// stop, the first and the last reach on to the ends.
fn stops(stops: &[usvg::Stop]) -> Light {
    let stop =
        |stop: &usvg::Stop| (f64::from(stop.offset().get()), Light::new(stop.color(), f64::from(stop.opacity().get())));
    let mut sum = Light::default();
    if let Some((offset, light)) = stops.first().map(stop) {
        sum.add(light, offset);
    }
    for pair in stops.windows(2) {
        let ((from, before), (to, after)) = (stop(&pair[0]), stop(&pair[1]));
        sum.add(before, (to - from).max(0.0) / 2.0);
        sum.add(after, (to - from).max(0.0) / 2.0);
    }
    if let Some((offset, light)) = stops.last().map(stop) {
        sum.add(light, 1.0 - offset);
    }
    sum
}

/// Adds what is painted in a tile, each fill by its area and each stroke by
/// its length times its width.
fn tile(group: &usvg::Group, sum: &mut Light) {
    for node in group.children() {
        match node {
            usvg::Node::Group(group) => tile(group, sum),
            usvg::Node::Text(text) => tile(text.flattened(), sum),
            usvg::Node::Image(_) => {}
            usvg::Node::Path(path) if path.is_visible() => {
                let outline = affine(path.abs_transform()) * bez_path(path.data());
                if let Some(fill) = path.fill() {
                    sum.add(light(fill.paint()), outline.area().abs() * f64::from(fill.opacity().get()));
                }
                if let Some(stroke) = path.stroke() {
                    let extent = outline.control_box();
                    let length = outline.perimeter((extent.width() + extent.height()) * 1e-3 + 1e-9);
                    let width = f64::from(stroke.width().get()) * mean_scale(affine(path.abs_transform()));
                    sum.add(light(stroke.paint()), length * width * f64::from(stroke.opacity().get()));
                }
            }
            usvg::Node::Path(_) => {}
        }
    }
}

/// The side of the square that a unit square has the area of after `affine`.
pub(crate) fn mean_scale(affine: Affine) -> f64 {
    affine.determinant().abs().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn light_and_code_are_inverse() {
        for channel in 0..=255 {
            assert_eq!(encoded(linear(channel)), channel);
        }
    }

    #[test]
    fn half_black_and_half_white_is_the_grey_of_half_the_light() {
        let mut sum = Light::new(usvg::Color::black(), 1.0);
        sum.add(Light::new(usvg::Color::white(), 1.0), 1.0);
        // 1.055 * 0.5^(1 / 2.4) - 0.055 = 0.7354
        assert_eq!(sum.color(), Some(Color::new(188, 188, 188)));
        assert_eq!(Light::default().color(), None);
    }
}
