//! The CSV twin of a stitch list (RFC 4180), one row for every record.
//!
//! Every row has the ten columns of [`COLUMNS`]. Rows of points repeat their
//! piece, thread and kind of pass, so that a spreadsheet can filter and chart
//! them without looking at the rows above; the reader checks that they agree.
//! The twin is complete and as strict as the list itself. Rows are written with
//! CRLF; a bare LF is read too, because scripts write it and it hides nothing.

use crate::{
    Digits, Error, ReadError, ReadLimits, WriteOptions,
    build::{Builder, method, pass_kind},
    number::{Milli, append_count, parse_count},
    record::{Record, tell},
    rfc4180::{Rows, append_field},
};
use laidwork_plan::Plan;
use std::io;

/// The columns, in their order.
const COLUMNS: [&str; 10] = ["record", "piece", "thread", "pass", "x", "y", "width", "height", "value", "text"];

/// Bytes gathered before they are handed on.
const CHUNK: usize = 64 * 1024;

/// One row, its empty fields empty.
type Row = [Vec<u8>; 10];

/// Writes `plan` as CSV, one row for every record of its stitch list.
///
/// # Errors
///
/// As [`write()`](crate::write()).
pub fn to_csv(plan: &Plan, to: &mut impl io::Write, options: WriteOptions) -> Result<(), Error> {
    let mut buffer = Vec::with_capacity(CHUNK + 1024);
    append_row(COLUMNS.iter().map(|name| name.as_bytes()), &mut buffer);
    let mut row = Row::default();
    tell(plan, options.digits, |record| {
        fill_row(record, options.digits, &mut row);
        append_row(row.iter().map(Vec::as_slice), &mut buffer);
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

fn append_row<'a>(fields: impl Iterator<Item = &'a [u8]>, to: &mut Vec<u8>) {
    for (i, field) in fields.enumerate() {
        if i > 0 {
            to.push(b',');
        }
        append_field(field, to);
    }
    to.extend_from_slice(b"\r\n");
}

/// Writes `record` into `row`. Piece, thread and pass stay from the rows above
/// while a piece lasts.
fn fill_row(record: Record<'_>, digits: Digits, row: &mut Row) {
    let [word, piece, thread, pass, x, y, width, height, value, text] = row;
    for field in [&mut *x, y, width, height, value, text] {
        field.clear();
    }
    let mut name = |name: &str| {
        word.clear();
        word.extend_from_slice(name.as_bytes());
    };
    match record {
        Record::Stitch(point) | Record::Jump(point) => {
            name(if matches!(record, Record::Stitch(_)) { "stitch" } else { "jump" });
            point[0].append(digits, x);
            point[1].append(digits, y);
        }
        Record::Trim => name("trim"),
        Record::Stop => name("stop"),
        Record::Pass(kind) => {
            name("pass");
            pass.clear();
            pass.extend_from_slice(kind.word().as_bytes());
        }
        Record::Piece { number, thread: of, method, name: called } => {
            name("piece");
            for field in [&mut *piece, thread, pass] {
                field.clear();
            }
            append_count(number, piece);
            append_count(of, thread);
            value.extend_from_slice(method.word().as_bytes());
            text.extend_from_slice(called.as_bytes());
        }
        Record::Thread { number, color, name: called } => {
            name("thread");
            thread.clear();
            append_count(number, thread);
            value.extend_from_slice(color.to_string().as_bytes());
            text.extend_from_slice(called.unwrap_or_default().as_bytes());
        }
        Record::Version => {
            name("stitch-list");
            value.push(b'1');
        }
        Record::Title(title) => {
            name("title");
            text.extend_from_slice(title.as_bytes());
        }
        Record::Unit => {
            name("unit");
            value.extend_from_slice(b"mm");
        }
        Record::Drawing(edges) => {
            name("drawing");
            for (number, field) in edges.iter().zip([x, y, width, height]) {
                number.append(Digits::Three, field);
            }
        }
        Record::Hoop(size) => {
            name("hoop");
            for (number, field) in size.iter().zip([width, height]) {
                number.append(Digits::Three, field);
            }
        }
        Record::End(count) => {
            name("end");
            for field in [piece, thread, pass] {
                field.clear();
            }
            append_count(count, value);
        }
    }
}

/// Reads the CSV twin of a stitch list.
///
/// # Errors
///
/// As [`read()`](crate::read()): everything that is not a whole and sound twin.
pub fn from_csv(from: impl io::BufRead) -> Result<Plan, ReadError> {
    let limits = ReadLimits::default();
    let mut rows = Rows::new(from, limits.line_bytes);
    let mut builder = Builder::new();
    let mut above = Above::default();
    let mut first = true;
    while let Some(row) = rows.next_row()? {
        let refused = |wanted: String| ReadError::damaged(row.line, &row.shown(), wanted);
        if row.line > limits.lines {
            return Err(refused(format!("a table of at most {} lines", limits.lines)));
        }
        let fields = row.fields().map_err(&refused)?;
        let fields: &[_; 10] = fields.as_slice().try_into().map_err(|_| refused("ten columns".into()))?;
        let fields = fields.each_ref().map(|field| field.as_ref());
        if first {
            first = false;
            if fields != COLUMNS {
                return Err(refused(format!("the columns `{}`", COLUMNS.join(","))));
            }
            continue;
        }
        let record = record(&fields, &mut above).map_err(&refused)?;
        builder.take(record).map_err(refused)?;
    }
    let found = || "the end of the file".into();
    let wanted = "a last row `end` with the count";
    builder.finish().ok_or_else(|| ReadError::Damaged { line: rows.line(), found: found(), wanted: wanted.into() })
}

/// Piece, thread and pass of the rows above, which rows of points repeat.
#[derive(Default)]
struct Above {
    piece: String,
    thread: String,
    pass: String,
}

/// The record of a row, or what was wanted.
fn record<'a>(fields: &[&'a str; 10], above: &mut Above) -> Result<Record<'a>, String> {
    let [word, piece, thread, pass, x, y, width, height, value, text] = *fields;
    let mut used = [false; 10];
    let mut uses = |columns: &[usize]| columns.iter().for_each(|&column| used[column] = true);
    let record = match word {
        "stitch" | "jump" => {
            uses(&[1, 2, 3, 4, 5]);
            let point = [number(x, "x")?, number(y, "y")?];
            if word == "stitch" { Record::Stitch(point) } else { Record::Jump(point) }
        }
        "trim" | "stop" => {
            uses(&[1, 2, 3]);
            if word == "trim" { Record::Trim } else { Record::Stop }
        }
        "pass" => {
            uses(&[1, 2, 3]);
            above.pass = pass.into();
            Record::Pass(pass_kind(pass).ok_or("underlay, top, travel or tie as `pass`")?)
        }
        "piece" => {
            uses(&[1, 2, 8, 9]);
            *above = Above { piece: piece.into(), thread: thread.into(), pass: String::new() };
            let method = method(value).ok_or("run, satin, fill or manual as `value`")?;
            Record::Piece { number: count(piece, "piece")?, thread: count(thread, "thread")?, method, name: text }
        }
        "thread" => {
            uses(&[2, 8, 9]);
            let color = value.parse().map_err(|_| "#rrggbb as `value`")?;
            Record::Thread { number: count(thread, "thread")?, color, name: Some(text).filter(|name| !name.is_empty()) }
        }
        "stitch-list" if value == "1" => {
            uses(&[8]);
            Record::Version
        }
        "stitch-list" => return Err("1 as `value`: this reader knows no other version".into()),
        "title" => {
            uses(&[9]);
            Record::Title(text)
        }
        "unit" if value == "mm" => {
            uses(&[8]);
            Record::Unit
        }
        "unit" => return Err("mm as `value`".into()),
        "drawing" => {
            uses(&[4, 5, 6, 7]);
            Record::Drawing([number(x, "x")?, number(y, "y")?, number(width, "width")?, number(height, "height")?])
        }
        "hoop" => {
            uses(&[6, 7]);
            Record::Hoop([number(width, "width")?, number(height, "height")?])
        }
        "end" => {
            uses(&[8]);
            Record::End(count(value, "value")?)
        }
        _ => return Err("a record of the stitch list, such as `stitch`, `jump`, `pass` or `trim`".into()),
    };
    for ((field, name), used) in fields.iter().zip(COLUMNS).zip(used).skip(1) {
        if !used && !field.is_empty() {
            return Err(format!("nothing under `{name}` in a row `{word}`"));
        }
    }
    if matches!(word, "stitch" | "jump" | "trim" | "stop" | "pass")
        && (piece, thread, pass) != (&above.piece, &above.thread, &above.pass)
    {
        return Err("the piece, thread and pass of the rows above".into());
    }
    Ok(record)
}

fn number(text: &str, column: &str) -> Result<Milli, String> {
    Milli::parse(text.as_bytes())
        .ok_or_else(|| format!("a decimal of at most three digits after the point under `{column}`"))
}

fn count(text: &str, column: &str) -> Result<u64, String> {
    parse_count(text).ok_or_else(|| format!("a whole number under `{column}`"))
}
