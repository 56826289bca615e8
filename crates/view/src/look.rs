//! How a picture looks: fabric, thread, scale, and what it shows.

use crate::Error;
use crate::frame::Frame;
use laidwork_plan::{Color, Plan};
use laidwork_report::Limits;
use std::str::FromStr;

/// The surface under the thread.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Weave {
    /// One even colour.
    Plain,
    /// Warp and weft of a plain-woven cloth.
    #[default]
    Woven,
}

/// How much care a picture of pixels takes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Finish {
    /// To be kept: at least 20 samples per mm, a small file.
    #[default]
    Fine,
    /// To be looked at once: at least 12 samples per mm, a larger file.
    Draft,
}

impl Finish {
    /// Samples per mm worth painting. At 20 a thread is seven samples wide.
    pub(crate) fn samples_per_mm(self) -> f64 {
        match self {
            Finish::Fine => 20.0,
            Finish::Draft => 12.0,
        }
    }

    pub(crate) fn compression(self) -> png::Compression {
        match self {
            Finish::Fine => png::Compression::Balanced,
            Finish::Draft => png::Compression::Fastest,
        }
    }
}

/// What a picture shows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Show {
    /// The thread as sewn.
    #[default]
    Threads,
    /// What each thread is for: underlay, top, travel, tie, float.
    Kinds,
    /// When each thread is sewn, from dark to light.
    Order,
    /// Millimetres of thread per square millimetre.
    Density,
    /// Where the needle goes in.
    Penetrations,
}

impl Show {
    /// Everything a picture can show.
    pub const ALL: [Show; 5] = [Show::Threads, Show::Kinds, Show::Order, Show::Density, Show::Penetrations];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Show::Threads => "threads",
            Show::Kinds => "kinds",
            Show::Order => "order",
            Show::Density => "density",
            Show::Penetrations => "penetrations",
        }
    }
}

impl FromStr for Show {
    type Err = UnknownShow;

    fn from_str(word: &str) -> Result<Show, UnknownShow> {
        Show::ALL.into_iter().find(|show| show.word() == word).ok_or(UnknownShow)
    }
}

/// A word for nothing a picture shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a picture shows threads, kinds, order, density or penetrations")]
pub struct UnknownShow;

/// How a picture looks.
#[derive(Clone, Debug, PartialEq)]
pub struct Look {
    /// Colour of the fabric.
    pub fabric: Color,
    /// Surface of the fabric.
    pub weave: Weave,
    /// Width a sewn thread shows, mm; above 0, up to 5. A No. 40 thread shows 0.3 to 0.4 mm.
    pub thread_width: f64,
    /// Scale; above 0, up to 1000 pixels per mm.
    pub pixels_per_mm: f64,
    /// How much care is taken.
    pub finish: Finish,
    /// Bare fabric around the stitches, mm; 0 to 1000.
    pub margin: f64,
    /// What the picture shows.
    pub show: Show,
    /// The limits a map of density marks.
    pub limits: Limits,
}

impl Default for Look {
    /// Thread 0.35 mm wide on woven off-white, 10 pixels per mm, 4 mm margin.
    fn default() -> Look {
        Look {
            fabric: Color::new(0xec, 0xe6, 0xd8),
            weave: Weave::Woven,
            thread_width: 0.35,
            pixels_per_mm: 10.0,
            finish: Finish::Fine,
            margin: 4.0,
            show: Show::Threads,
            limits: Limits::default(),
        }
    }
}

impl Look {
    /// The same look at the scale that makes a picture of `plan` this many pixels wide.
    pub fn as_wide_as(self, plan: &Plan, pixels: u32) -> Look {
        // A hair less, so that rounding up does not come to one pixel more.
        let scale = f64::from(pixels) * (1.0 - 1e-12) / Frame::around(plan, &self).rect.width();
        Look { pixels_per_mm: scale, ..self }
    }

    /// Whether every figure is in its range.
    ///
    /// # Errors
    /// [`Error::Look`] names the first figure that is not.
    pub fn check(&self) -> Result<(), Error> {
        let in_range = |what, value: f64, ok: bool, range| {
            if ok { Ok(()) } else { Err(Error::Look { what, value, range }) }
        };
        let (width, scale, margin) = (self.thread_width, self.pixels_per_mm, self.margin);
        in_range("the thread's width", width, width > 0.0 && width <= 5.0, "above 0 and at most 5 mm")?;
        in_range("the scale", scale, scale > 0.0 && scale <= 1000.0, "above 0 and at most 1000 pixels per mm")?;
        in_range("the margin", margin, (0.0..=1000.0).contains(&margin), "0 to 1000 mm")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_come_back() {
        assert!(Show::ALL.into_iter().all(|show| show.word().parse() == Ok(show)));
        assert_eq!("thread".parse::<Show>(), Err(UnknownShow));
        assert!(Show::ALL.into_iter().all(|show| UnknownShow.to_string().contains(show.word())));
    }

    #[test]
    fn figures_out_of_range_are_named() {
        assert!(Look::default().check().is_ok());
        let said = |look: Look| look.check().unwrap_err().to_string();
        assert!(said(Look { thread_width: 0.0, ..Look::default() }).contains("thread's width"));
        assert!(said(Look { pixels_per_mm: f64::NAN, ..Look::default() }).contains("scale"));
        assert!(said(Look { margin: -1.0, ..Look::default() }).contains("margin"));
    }
}
