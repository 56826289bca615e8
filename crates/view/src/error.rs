//! What can go wrong while a picture is made.

use std::io;

/// Why there is no picture.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// The picture would have more than [`MOST_PIXELS`](crate::MOST_PIXELS) pixels.
    #[error(
        "the picture would be {width:.0} by {height:.0} pixels, over the limit of {limit} pixels in all; \
         ask for fewer pixels per mm"
    )]
    TooLarge {
        /// Pixels across.
        width: f64,
        /// Pixels down.
        height: f64,
        /// The most pixels a picture may have.
        limit: usize,
    },
    /// A figure of the look is out of its range.
    #[error("{what} is {value}; it has to be {range}")]
    Look {
        /// Which figure.
        what: &'static str,
        /// Its value.
        value: f64,
        /// What it may be.
        range: &'static str,
    },
    /// The picture could not be written.
    #[error("the picture could not be written: {0}")]
    Write(#[from] io::Error),
    /// The pixels could not be packed as PNG.
    #[error("the picture could not be packed as PNG: {0}")]
    Pack(String),
}
