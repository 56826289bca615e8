//! The reader: text to records, line by line.
//!
//! Strict: a line is a record exactly as the grammar of `docs/stitch-list.md`
//! spells it, or it is refused with its number, what it says and what was
//! wanted. Linear in the length of the list; memory is bounded by the limits.

use crate::{
    ReadError,
    build::{Builder, method, pass_kind},
    number::{Milli, parse_count},
    record::Record,
};
use laidwork_plan::Plan;
use std::io::{BufRead, Read};

/// What a reader takes before it refuses to go on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReadLimits {
    /// Bytes of a line, its line feed included.
    pub line_bytes: u64,
    /// Lines of a list.
    pub lines: u64,
}

impl Default for ReadLimits {
    /// Lines of 1 MiB, and 50 million of them: about 1 GB of stitches.
    fn default() -> ReadLimits {
        ReadLimits { line_bytes: 1 << 20, lines: 50_000_000 }
    }
}

/// Reads a stitch list within the usual limits.
///
/// # Errors
///
/// Everything that is not a whole and sound list is refused; the error says
/// which line, what was found and what was wanted.
pub fn read(from: impl BufRead) -> Result<Plan, ReadError> {
    read_within(from, ReadLimits::default())
}

/// Reads a stitch list within limits of your own.
///
/// # Errors
///
/// As [`read()`].
pub fn read_within(mut from: impl BufRead, limits: ReadLimits) -> Result<Plan, ReadError> {
    let mut builder = Builder::new();
    let mut buffer = Vec::new();
    let mut ended = false;
    for line in 1.. {
        buffer.clear();
        let mut limited = from.by_ref().take(limits.line_bytes.saturating_add(1));
        limited.read_until(b'\n', &mut buffer).map_err(|source| ReadError::Io { line, source })?;
        let refused = |wanted: &str| {
            let found = buffer.strip_suffix(b"\n").unwrap_or(&buffer);
            ReadError::damaged(line, &String::from_utf8_lossy(found), wanted)
        };
        if buffer.is_empty() {
            let wanted = if line == 1 { "`stitch-list 1`" } else { "`end COUNT` as the last line" };
            let plan = builder.finish();
            return plan.ok_or_else(|| ReadError::Damaged {
                line,
                found: "the end of the file".into(),
                wanted: wanted.into(),
            });
        }
        if ended {
            return Err(refused("nothing after `end`"));
        }
        if line > limits.lines {
            return Err(refused(&format!("a list of at most {} lines", limits.lines)));
        }
        if buffer.len() as u64 > limits.line_bytes {
            return Err(refused(&format!("lines of at most {} bytes", limits.line_bytes)));
        }
        let Some(text) = buffer.strip_suffix(b"\n") else {
            return Err(refused("a line feed at the end of the line: the list is cut short"));
        };
        let record = parse_line(text, line).map_err(|wanted| refused(&wanted))?;
        if let Some(record) = record {
            ended = matches!(record, Record::End(_));
            builder.take(record).map_err(|wanted| refused(&wanted))?;
        }
    }
    // The loop counts up to more lines than any file can have.
    Err(ReadError::damaged(u64::MAX, "", "an end"))
}

/// The record of a line, nothing for an empty line or a remark, or what was wanted.
fn parse_line(line: &[u8], number: u64) -> Result<Option<Record<'_>>, String> {
    if number > 1 && line.first().is_some_and(|&byte| byte == b'-' || byte.is_ascii_digit()) {
        return pair(line).map(|point| Some(Record::Stitch(point)));
    }
    let text = std::str::from_utf8(line).map_err(|_| "text in UTF-8")?;
    if number == 1 {
        return match text {
            "stitch-list 1" => Ok(Some(Record::Version)),
            _ => Err("`stitch-list 1`, and only a line feed after it".into()),
        };
    }
    if text.is_empty() || text.starts_with('#') {
        return Ok(None);
    }
    if text.ends_with('\r') {
        return Err("lines that end in a line feed alone, without the carriage return".into());
    }
    let (word, rest) = match text.split_once(' ') {
        Some((word, rest)) => (word, Some(rest)),
        None => (text, None),
    };
    parse_record(word, rest).map(Some)
}

fn parse_record<'a>(word: &str, rest: Option<&'a str>) -> Result<Record<'a>, String> {
    let record = match (word, rest) {
        ("jump", Some(rest)) => Record::Jump(pair(rest.as_bytes())?),
        ("trim", None) => Record::Trim,
        ("stop", None) => Record::Stop,
        ("pass", Some(rest)) => {
            Record::Pass(pass_kind(rest).ok_or("`pass underlay`, `pass top`, `pass travel` or `pass tie`")?)
        }
        ("piece", Some(rest)) => piece(rest).ok_or("`piece N thread T method run|satin|fill|manual name TEXT`")?,
        ("end", Some(rest)) => Record::End(parse_count(rest).ok_or("`end COUNT`, a whole number")?),
        ("thread", Some(rest)) => thread(rest).ok_or("`thread N #rrggbb [NAME]`, the colour in lower case")?,
        ("title", Some(rest)) => Record::Title(rest),
        ("unit", Some("mm")) => Record::Unit,
        ("unit", _) => return Err("`unit mm`".into()),
        ("drawing", Some(rest)) => Record::Drawing(numbers(rest).ok_or("`drawing LEFT TOP WIDTH HEIGHT` in mm")?),
        ("hoop", Some(rest)) => Record::Hoop(numbers(rest).ok_or("`hoop WIDTH HEIGHT` in mm")?),
        ("stitch-list", _) => return Err("`stitch-list 1` once, on the first line".into()),
        ("trim" | "stop", Some(_)) => return Err(format!("`{word}` alone on its line")),
        ("jump" | "pass" | "piece" | "end" | "thread" | "title" | "drawing" | "hoop", None) => {
            return Err(format!("something after `{word}`"));
        }
        _ => return Err("a record of the stitch list, such as `X Y`, `jump X Y`, `pass KIND` or `trim`".into()),
    };
    Ok(record)
}

/// `X Y`.
fn pair(text: &[u8]) -> Result<[Milli; 2], String> {
    let wanted = || "`X Y`: two decimals of at most three digits after the point, at most 1000000 mm".to_string();
    let space = text.iter().position(|&byte| byte == b' ').ok_or_else(wanted)?;
    let (x, y) = (Milli::parse(&text[..space]), Milli::parse(&text[space + 1..]));
    x.zip(y).map(|(x, y)| [x, y]).ok_or_else(wanted)
}

/// `N` numbers with one space between them.
fn numbers<const N: usize>(text: &str) -> Option<[Milli; N]> {
    let numbers: Vec<Milli> = text.split(' ').map(|word| Milli::parse(word.as_bytes())).collect::<Option<_>>()?;
    numbers.try_into().ok()
}

/// `N #rrggbb [NAME]`.
fn thread(text: &str) -> Option<Record<'_>> {
    let (number, rest) = text.split_once(' ')?;
    let (color, name) = match rest.split_once(' ') {
        Some((color, name)) => (color, Some(name)),
        None => (rest, None),
    };
    if color.bytes().any(|byte| byte.is_ascii_uppercase()) {
        return None;
    }
    Some(Record::Thread { number: parse_count(number)?, color: color.parse().ok()?, name })
}

/// `N thread T method METHOD name TEXT`.
fn piece(text: &str) -> Option<Record<'_>> {
    let (number, rest) = text.split_once(" thread ")?;
    let (thread, rest) = rest.split_once(" method ")?;
    let (word, name) = rest.split_once(" name ")?;
    let (number, thread) = (parse_count(number)?, parse_count(thread)?);
    Some(Record::Piece { number, thread, method: method(word)?, name })
}
