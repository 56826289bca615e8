//! Why a drawing cannot be read: where the fault is, and the way out.

use std::fmt;

/// The longest piece of the user's own text that a message quotes, in characters.
const LONGEST_QUOTE: usize = 60;

/// A place in the drawing's text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Line, counted from 1.
    pub line: u32,
    /// Column in characters, counted from 1.
    pub column: u32,
    /// The id of the element, shortened; empty if it has none.
    pub id: String,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, column {}", self.line, self.column)?;
        if self.id.is_empty() { Ok(()) } else { write!(f, " ({})", self.id) }
    }
}

/// A drawing that cannot be read. Every message is one line of at most about
/// 300 characters, whatever the drawing holds.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    /// There is nothing in it.
    #[error("the drawing is empty; save it again as SVG")]
    Empty,
    /// Its bytes are no text that can be decoded.
    #[error("{what}; save the drawing again as plain SVG in UTF-8")]
    Encoding {
        /// What was found.
        what: String,
    },
    /// A compressed drawing that does not decompress.
    #[error("the compressed drawing is damaged: {what}; save it again as .svgz or as plain .svg")]
    Compression {
        /// What was found.
        what: String,
    },
    /// It is no well-formed XML.
    #[error("{place}: {what}; the file is cut short or damaged, save the drawing again")]
    Xml {
        /// Where.
        place: Place,
        /// What was found.
        what: String,
    },
    /// The XML holds something other than an SVG drawing.
    #[error("{place}: this is no SVG drawing, its root element is <{root}>; export the drawing as SVG")]
    NotSvg {
        /// Where the root element begins.
        place: Place,
        /// Its name.
        root: String,
    },
    /// The drawing's size cannot be told.
    #[error("{place}: {what}; {advice}")]
    Size {
        /// Where.
        place: Place,
        /// What was found.
        what: String,
        /// The way out.
        advice: String,
    },
    /// It is larger than a limit; the limits keep a broken drawing from taking all time and memory.
    #[error("{place}{what}; {advice}")]
    TooLarge {
        /// Where, with a colon and a space after it; empty when it is the whole.
        place: String,
        /// Which limit, and by how much.
        what: String,
        /// The way out.
        advice: String,
    },
    /// A font that was asked for cannot be used.
    #[error("{path}: {what}; name a TrueType or OpenType font file, or a folder that holds some")]
    Font {
        /// The path as given.
        path: String,
        /// What was found.
        what: String,
    },
    /// A text that was to be replaced cannot be.
    #[error("the text {id:?} cannot be replaced: {what}; {advice}")]
    Text {
        /// The id that was named.
        id: String,
        /// What was found.
        what: String,
        /// The way out.
        advice: String,
    },
    /// The reader itself gave up.
    #[error("the drawing cannot be resolved: {what}; simplify it in the program that drew it and try again")]
    Unreadable {
        /// What was found.
        what: String,
    },
}

/// One clean line of at most about [`LONGEST_QUOTE`] characters out of `text`.
pub(crate) fn quote(text: &str) -> String {
    quote_to(text, LONGEST_QUOTE)
}

/// As [`quote`], with a length of its own.
pub(crate) fn quote_to(text: &str, longest: usize) -> String {
    let mut clean = String::new();
    for (count, c) in text.trim().chars().enumerate() {
        if count == longest {
            clean.push('…');
            break;
        }
        clean.push(if c.is_control() || c.is_whitespace() { ' ' } else { c });
    }
    clean
}
