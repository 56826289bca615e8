//! The writer: records to text, in chunks, with hand-written decimals.

use crate::{
    Digits, Error,
    number::{Milli, append_count, append_point},
    record::{Record, check, tell},
};
use laidwork_plan::{Plan, Point};
use std::io;

/// Bytes gathered before they are handed on.
const CHUNK: usize = 64 * 1024;

/// How a list is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct WriteOptions {
    /// Digits after the point of needle points and jumps. The drawing and the
    /// hoop are always written with three.
    pub digits: Digits,
}

/// Writes `plan` as a stitch list, in chunks of 64 KB.
///
/// Coordinates are rounded to the nearest number of the chosen digits, halves
/// away from zero (see [`rounded`]).
///
/// # Errors
///
/// A plan that no list can carry (a name of several lines, a coordinate that is
/// no number, an unknown thread) is refused before the first byte is written;
/// after that only `to` itself can fail.
pub fn write(plan: &Plan, to: &mut impl io::Write, options: WriteOptions) -> Result<(), Error> {
    let mut buffer = Vec::with_capacity(CHUNK + 1024);
    tell(plan, options.digits, |record| {
        append(record, options.digits, &mut buffer);
        if buffer.len() >= CHUNK {
            to.write_all(&buffer)?;
            buffer.clear();
        }
        Ok(())
    })?;
    to.write_all(&buffer)?;
    to.flush()?;
    Ok(())
}

/// The stitch list of `plan` as text.
///
/// # Errors
///
/// As [`write()`], but for those of the target.
pub fn to_text(plan: &Plan, options: WriteOptions) -> Result<String, Error> {
    let mut bytes = Vec::new();
    write(plan, &mut bytes, options)?;
    String::from_utf8(bytes).map_err(|error| Error::Io(io::Error::other(error)))
}

/// The plan as it will be read back: every coordinate rounded as [`write()`] does.
///
/// # Errors
///
/// As [`write()`], but for those of the target.
pub fn rounded(plan: &Plan, digits: Digits) -> Result<Plan, Error> {
    check(plan)?;
    let round = |value: &mut f64, digits| {
        if let Some(milli) = Milli::round(*value, digits) {
            *value = milli.get();
        }
    };
    let mut plan = plan.clone();
    if let Some(drawing) = &mut plan.drawing {
        for edge in [&mut drawing.x0, &mut drawing.y0, &mut drawing.x1, &mut drawing.y1] {
            round(edge, Digits::Three);
        }
    }
    if let Some(hoop) = &mut plan.hoop {
        round(&mut hoop.width, Digits::Three);
        round(&mut hoop.height, Digits::Three);
    }
    let points = |pass: &mut Vec<Point>| {
        for point in pass {
            round(&mut point.x, digits);
            round(&mut point.y, digits);
        }
    };
    for pass in plan.pieces.iter_mut().flat_map(|piece| &mut piece.passes) {
        points(&mut pass.jumps);
        points(&mut pass.points);
    }
    Ok(plan)
}

/// Appends one line.
fn append(record: Record<'_>, digits: Digits, to: &mut Vec<u8>) {
    match record {
        Record::Stitch(point) => return append_point(point, digits, to),
        Record::Jump(point) => {
            to.extend_from_slice(b"jump ");
            return append_point(point, digits, to);
        }
        Record::Trim => to.extend_from_slice(b"trim"),
        Record::Stop => to.extend_from_slice(b"stop"),
        Record::Pass(kind) => append_words(&["pass ", kind.word()], to),
        Record::Piece { number, thread, method, name } => {
            to.extend_from_slice(b"piece ");
            append_count(number, to);
            to.extend_from_slice(b" thread ");
            append_count(thread, to);
            append_words(&[" method ", method.word(), " name ", name], to);
        }
        Record::Thread { number, color, name } => {
            to.extend_from_slice(b"thread ");
            append_count(number, to);
            append_words(&[" ", &color.to_string()], to);
            if let Some(name) = name {
                append_words(&[" ", name], to);
            }
        }
        Record::Version => to.extend_from_slice(b"stitch-list 1"),
        Record::Title(title) => append_words(&["title ", title], to),
        Record::Unit => to.extend_from_slice(b"unit mm"),
        Record::Drawing(numbers) => {
            to.extend_from_slice(b"drawing ");
            append_numbers(&numbers, to);
        }
        Record::Hoop(numbers) => {
            to.extend_from_slice(b"hoop ");
            append_numbers(&numbers, to);
        }
        Record::End(count) => {
            to.extend_from_slice(b"end ");
            append_count(count, to);
        }
    }
    to.push(b'\n');
}

fn append_words(words: &[&str], to: &mut Vec<u8>) {
    for word in words {
        to.extend_from_slice(word.as_bytes());
    }
}

/// The numbers of the header, which are always written with three digits.
fn append_numbers(numbers: &[Milli], to: &mut Vec<u8>) {
    for (i, number) in numbers.iter().enumerate() {
        if i > 0 {
            to.push(b' ');
        }
        number.append(Digits::Three, to);
    }
}
