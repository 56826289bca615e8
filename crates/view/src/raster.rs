//! Pictures of pixels.

use crate::diagram::{Diagram, diagram};
use crate::frame::Frame;
use crate::sewn::Sewing;
use crate::{Error, Finish, Look, marks};
use laidwork_plan::Plan;
use tiny_skia::{Color, Pixmap};

/// The most pixels a picture may have: 400 by 400 mm at 20 pixels per mm.
pub const MOST_PIXELS: usize = 64_000_000;

/// A picture of `plan` as a PNG file.
///
/// # Errors
/// [`Error::TooLarge`] over [`MOST_PIXELS`], [`Error::Look`] for a look out of range.
pub fn png(plan: &Plan, look: &Look) -> Result<Vec<u8>, Error> {
    look.check()?;
    if let Some(diagram) = diagram(plan, look) {
        return diagram_png(&diagram, look.finish);
    }
    let frame = Frame::around(plan, look);
    let (width, height) = frame.pixels(MOST_PIXELS)?;
    let mut sewing = Sewing::new(plan, frame, (width, height), look);
    plan.for_each_segment(|segment| sewing.lay(&segment));
    pack(width, height, &sewing.finish(), look.finish)
}

/// A diagram as a PNG file.
pub(crate) fn diagram_png(diagram: &Diagram, finish: Finish) -> Result<Vec<u8>, Error> {
    let (width, height) = diagram.frame.pixels(MOST_PIXELS)?;
    let too_large = Error::TooLarge { width: width.into(), height: height.into(), limit: MOST_PIXELS };
    let mut picture = Pixmap::new(width, height).ok_or(too_large)?;
    picture.fill(Color::WHITE);
    marks::paint(&mut picture, &diagram.marks, diagram.frame);
    let pixels: Vec<u8> = picture.pixels().iter().flat_map(|p| [p.red(), p.green(), p.blue()]).collect();
    pack(width, height, &pixels, finish)
}

/// Pixels, three bytes each, row by row, as a PNG file.
///
/// # Errors
/// [`Error::Pack`] when they are not `width` times `height`, or none.
pub fn pixels_png(width: u32, height: u32, pixels: &[u8], finish: Finish) -> Result<Vec<u8>, Error> {
    if pixels.len() as u64 != 3 * u64::from(width) * u64::from(height) || pixels.is_empty() {
        return Err(Error::Pack("there are not as many pixels as its sides say".into()));
    }
    pack(width, height, pixels, finish)
}

/// Pixels, three bytes each, as a PNG file.
pub(crate) fn pack(width: u32, height: u32, pixels: &[u8], finish: Finish) -> Result<Vec<u8>, Error> {
    let fault = |error: png::EncodingError| Error::Pack(error.to_string());
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_source_srgb(png::SrgbRenderingIntent::Perceptual);
    encoder.set_compression(finish.compression());
    let mut writer = encoder.write_header().map_err(fault)?;
    writer.write_image_data(pixels).map_err(fault)?;
    writer.finish().map_err(fault)?;
    Ok(file)
}

#[cfg(test)]
#[path = "raster_tests.rs"]
mod tests;
