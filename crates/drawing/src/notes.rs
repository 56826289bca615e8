//! What the reader has to say, one warning for each kind of thing however often it occurs.

use laidwork_plan::Warning;

/// A kind of thing that is not sewn as drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Mask,
    Filter,
    Image,
    ForeignObject,
    Blend,
    Transparent,
    Gradient,
    Pattern,
    Circular,
    Dangling,
    OutsideFile,
    BadColour,
    BadNumbers,
    NoNumbers,
    Nothing,
    TooSmall,
    TooThin,
    TooManyDashes,
    FarFromOrigin,
    StyleImport,
    NoFonts,
    Clipped,
    CutText,
}

impl Kind {
    /// What happens to one of them, and what to do about it.
    const fn words(self) -> (&'static str, &'static str) {
        match self {
            Kind::Mask => ("is faded by a mask; it is sewn as a whole", "use a clip path, or cut the outline itself"),
            Kind::Filter => ("has a filter, which is left out", "draw what the filter makes as a shape of its own"),
            Kind::Image => ("is an image, which is not sewn", "trace it to outlines"),
            Kind::ForeignObject => ("holds foreign content, which is not sewn", "draw it with SVG's own shapes"),
            Kind::Blend => {
                ("is blended with what lies under it; it is sewn on top as it is", "set its colour outright")
            }
            Kind::Transparent => ("is partly transparent; it is sewn in its full colour", "set its colour outright"),
            Kind::Gradient => ("has a gradient; it is sewn in the average colour", "split it into areas of one colour"),
            Kind::Pattern => {
                ("has a pattern; it is sewn in the average colour", "draw the pattern as shapes of its own")
            }
            Kind::Circular => ("refers to itself; the reference is cut", "mend the reference in the drawing"),
            Kind::Dangling => ("refers to something that is not in the drawing", "mend the reference in the drawing"),
            Kind::OutsideFile => {
                ("refers to another file, which is not opened", "copy what it refers to into the drawing")
            }
            Kind::NoNumbers => {
                ("lies at a place, or has a size, that is no number; it is left out", "mend or redraw it")
            }
            Kind::BadColour => {
                ("has a colour that cannot be read; a fill becomes black, a stroke nothing", "write it as #rrggbb")
            }
            Kind::BadNumbers => {
                ("has path data that cannot be read to its end; the rest is left out", "mend or redraw it")
            }
            Kind::Nothing => ("has no area and is not sewn", "give it a size, or a stroke if it is a line"),
            Kind::TooSmall => {
                ("has parts of less than 0.1 mm², too small to sew; they are left out", "sew the drawing larger")
            }
            Kind::TooThin => ("is a stroke of less than 0.01 mm, which nobody sees; it is left out", "make it wider"),
            Kind::TooManyDashes => ("has more than 100000 dashes; it is sewn without", "use longer dashes"),
            Kind::FarFromOrigin => (
                "lies so far from the drawing's origin that its points are off by over 0.02 mm",
                "move the drawing to its origin",
            ),
            Kind::StyleImport => ("imports styles or fonts, which are not opened", "copy them into the drawing"),
            Kind::NoFonts => (
                "is text, and there are no fonts: it is left out",
                "name a font file with --font, or turn it to outlines",
            ),
            Kind::CutText => (
                "is text that reaches beyond the drawing's viewport, where it is cut off",
                "shorten it, give it a smaller font-size, or enlarge the viewBox",
            ),
            Kind::Clipped => {
                ("lies outside the drawing's viewport and is not sewn", "move it in, or enlarge the viewBox")
            }
        }
    }
}

/// Warnings so far, in the order their kinds were first met.
#[derive(Debug, Default)]
pub(crate) struct Notes {
    notes: Vec<Note>,
}

#[derive(Debug)]
enum Note {
    Tally { kind: Kind, first: String, more: usize },
    Whole(Warning),
}

impl Notes {
    /// Counts one of `kind`; the place is asked for only if it is the first.
    pub fn add(&mut self, kind: Kind, place: impl FnOnce() -> String) {
        for note in &mut self.notes {
            if let Note::Tally { kind: known, more, .. } = note
                && *known == kind
            {
                *more += 1;
                return;
            }
        }
        self.notes.push(Note::Tally { kind, first: place(), more: 0 });
    }

    /// Adds a warning as it is.
    pub fn push(&mut self, warning: Warning) {
        self.notes.push(Note::Whole(warning));
    }

    /// Every warning.
    pub fn into_warnings(self) -> Vec<Warning> {
        let warning = |note| match note {
            Note::Whole(warning) => warning,
            Note::Tally { kind, first, more } => {
                let (what, advice) = kind.words();
                let what = match more {
                    0 => what.to_string(),
                    1 => format!("{what} (and so is one more)"),
                    _ => format!("{what} (and so are {more} more)"),
                };
                Warning { incomplete: kind == Kind::NoFonts, ..Warning::at(first, what, advice) }
            }
        };
        self.notes.into_iter().map(warning).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kind_is_said_once_and_counted() {
        let mut notes = Notes::default();
        for i in 0..15_000 {
            notes.add(Kind::TooSmall, || format!("speck-{i}"));
        }
        notes.add(Kind::Image, || "photo".into());
        let warnings = notes.into_warnings();
        assert_eq!(warnings.len(), 2);
        assert_eq!(warnings[0].place.as_deref(), Some("speck-0"));
        assert!(warnings[0].what.contains("14999 more"));
    }
}
