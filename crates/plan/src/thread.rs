//! A thread of the plan: a colour and a name.

use std::{fmt, str::FromStr};

/// An sRGB colour, eight bits a channel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Color {
    /// Red, 0 to 255.
    pub red: u8,
    /// Green, 0 to 255.
    pub green: u8,
    /// Blue, 0 to 255.
    pub blue: u8,
}

impl Color {
    /// A colour from its three channels.
    pub const fn new(red: u8, green: u8, blue: u8) -> Color {
        Color { red, green, blue }
    }
}

impl fmt::Display for Color {
    /// `#rrggbb`, lower case.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{:02x}{:02x}{:02x}", self.red, self.green, self.blue)
    }
}

/// A text that is not `#rrggbb`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ParseColorError;

impl fmt::Display for ParseColorError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a colour is written #rrggbb, with six hexadecimal digits")
    }
}

impl std::error::Error for ParseColorError {}

impl FromStr for Color {
    type Err = ParseColorError;

    fn from_str(text: &str) -> Result<Color, ParseColorError> {
        let hex = text.strip_prefix('#').ok_or(ParseColorError)?;
        if hex.len() != 6 || !hex.bytes().all(|b| b.is_ascii_hexdigit()) {
            return Err(ParseColorError);
        }
        let value = u32::from_str_radix(hex, 16).map_err(|_| ParseColorError)?;
        let [_, red, green, blue] = value.to_be_bytes();
        Ok(Color { red, green, blue })
    }
}

/// A thread on the machine. Threads of a plan count from 1 in lists and
/// reports, from 0 in [`Plan::threads`](crate::Plan::threads).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Thread {
    /// What it looks like.
    pub color: Color,
    /// What its owner calls it; one line, not empty.
    pub name: Option<String>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_colour_reads_as_it_is_written() {
        let marigold: Color = "#e0a21b".parse().unwrap();
        assert_eq!(marigold, Color::new(0xe0, 0xa2, 0x1b));
        assert_eq!(marigold.to_string(), "#e0a21b");
    }

    #[test]
    fn other_texts_are_refused() {
        for text in ["e0a21b", "#e0a21", "#e0a21b0", "#+0a21b", "#é0a21", ""] {
            assert_eq!(text.parse::<Color>(), Err(ParseColorError), "{text}");
        }
    }
}
