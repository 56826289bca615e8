//! How programs are written and read.

use crate::{Block, Error, Hoop};
use std::str::FromStr;

/// Where the program's origin lies.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Origin {
    /// The middle of the hoop.
    #[default]
    Centre,
    /// Its lower left corner: all coordinates are positive.
    Corner,
}

impl FromStr for Origin {
    type Err = String;

    fn from_str(text: &str) -> Result<Origin, String> {
        match text {
            "centre" => Ok(Origin::Centre),
            "corner" => Ok(Origin::Corner),
            _ => Err("the origin is the hoop's `centre` or its lower left `corner`".into()),
        }
    }
}

/// Lines of a program that stand for one action of the machine, parted by `|`.
///
/// `{thread}` stands for the number of the thread, from 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Template {
    text: String,
    pub(crate) blocks: Vec<Block>,
}

/// What a template writes for the number of the thread while it is checked.
const ANY: &str = "1";

impl FromStr for Template {
    type Err = Error;

    /// # Errors
    /// When a line of it is none of a program, it moves the hoop, changes how numbers are read, or ends the program.
    fn from_str(text: &str) -> Result<Template, Error> {
        let wrong = |what: String| Error::Template { template: text.to_owned(), what };
        let mut blocks = Vec::new();
        for line in text.split('|').map(str::trim).filter(|line| !line.is_empty()) {
            let line = line.replace("{thread}", ANY);
            let block = Block::parse(&line).map_err(|what| {
                wrong(if line.contains('{') { "the one word in braces is {thread}".into() } else { what })
            })?;
            if block.words.iter().any(|(letter, _)| matches!(letter, 'X' | 'Y')) {
                return Err(wrong("X and Y move the hoop; leave them to the stitches".into()));
            }
            if block.codes('G').any(|code| matches!(code, 200 | 210 | 900 | 910)) {
                return Err(wrong("units and distance mode belong to the whole program".into()));
            }
            if block.codes('M').any(|code| matches!(code, 2 | 30)) {
                return Err(wrong("M2 and M30 end the program".into()));
            }
            blocks.push(block);
        }
        Ok(Template { text: text.to_owned(), blocks })
    }
}

impl Template {
    /// Its lines for a thread, counted from 1.
    pub(crate) fn lines(&self, thread: usize) -> impl Iterator<Item = String> {
        let lines = self.text.split('|').map(str::trim).filter(|line| !line.is_empty());
        lines.map(move |line| line.replace("{thread}", &thread.to_string()))
    }

    /// The letter whose number is that of the thread, if there is one.
    pub(crate) fn thread_letter(&self) -> Option<char> {
        let before = self.text.split_once("{thread}")?.0;
        before.trim_end().chars().next_back().map(|letter| letter.to_ascii_uppercase())
    }

    /// A template that is known to be sound.
    fn sound(text: &str) -> Template {
        text.parse().unwrap_or(Template { text: String::new(), blocks: Vec::new() })
    }
}

/// How programs are written and read.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// What makes one stitch where the hoop stands. Usual: an axis Z of its own, down and up.
    pub needle: Template,
    /// What cuts the thread. Usual: the machine stops for somebody with scissors.
    pub trim: Template,
    /// What changes the thread. Usual: its number is selected, and the machine stops.
    pub thread: Template,
    /// Speed of the hoop from stitch to stitch, mm/min.
    pub feed: f64,
    /// The hoop; when there is none, that of the plan.
    pub hoop: Option<Hoop>,
    /// Where the program's origin lies.
    pub origin: Origin,
}

impl Settings {
    /// The usual template of the needle.
    pub const NEEDLE: &str = "G0 Z-5 | G0 Z5";
    /// The usual template of a cut.
    pub const TRIM: &str = "M0 (MSG, cut the thread)";
    /// The usual template of a change of thread.
    pub const THREAD: &str = "T{thread} M0";
    /// The usual speed, mm/min.
    pub const FEED: f64 = 3000.0;
}

impl Default for Settings {
    fn default() -> Settings {
        Settings {
            needle: Template::sound(Settings::NEEDLE),
            trim: Template::sound(Settings::TRIM),
            thread: Template::sound(Settings::THREAD),
            feed: Settings::FEED,
            hoop: None,
            origin: Origin::Centre,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_templates_are_sound() {
        let usual = Settings::default();
        assert_eq!((usual.needle.blocks.len(), usual.trim.blocks.len(), usual.thread.blocks.len()), (2, 1, 1));
        assert_eq!(usual.thread.thread_letter(), Some('T'));
        assert_eq!(usual.thread.lines(3).collect::<Vec<_>>(), ["T3 M0"]);
    }

    #[test]
    fn templates_that_would_move_or_end_are_refused() {
        for text in ["G1 X3", "M2", "G91", "G0", "(open", "M3 | G1 Y2", "hello"] {
            assert!(text.parse::<Template>().is_err(), "{text}");
        }
        assert_eq!("".parse::<Template>().unwrap().blocks, []);
    }
}
