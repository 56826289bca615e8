//! The records of a list, one a line, and the plan told in them.

use crate::{
    Digits, Error,
    number::{Milli, is_in_reach},
};
use laidwork_plan::{Color, Method, PassKind, Piece, Plan, Point, Rect};

/// One record: what one line of a list, or one row of its CSV twin, says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Record<'a> {
    /// `stitch-list 1`.
    Version,
    /// `title TEXT`.
    Title(&'a str),
    /// `unit mm`.
    Unit,
    /// `drawing LEFT TOP WIDTH HEIGHT`.
    Drawing([Milli; 4]),
    /// `hoop WIDTH HEIGHT`.
    Hoop([Milli; 2]),
    /// `thread N #rrggbb [NAME]`.
    Thread { number: u64, color: Color, name: Option<&'a str> },
    /// `piece N thread T method METHOD name TEXT`.
    Piece { number: u64, thread: u64, method: Method, name: &'a str },
    /// `pass KIND`.
    Pass(PassKind),
    /// `jump X Y`.
    Jump([Milli; 2]),
    /// `X Y`.
    Stitch([Milli; 2]),
    /// `trim`.
    Trim,
    /// `stop`.
    Stop,
    /// `end COUNT`.
    End(u64),
}

/// True for text a list can carry: something, and all of it on one line.
pub(crate) fn is_text(text: &str) -> bool {
    !text.is_empty() && !text.chars().any(|c| c.is_control() || matches!(c, '\u{2028}' | '\u{2029}'))
}

/// Tells the whole plan as records, coordinates rounded to `digits`.
/// Refuses a plan that no list can carry before the first record is told.
pub(crate) fn tell(
    plan: &Plan,
    digits: Digits,
    mut each: impl FnMut(Record<'_>) -> Result<(), Error>,
) -> Result<(), Error> {
    check(plan)?;
    tell_header(plan, &mut each)?;
    for (i, piece) in plan.pieces.iter().enumerate() {
        let record = Record::Piece {
            number: i as u64 + 1,
            thread: piece.thread as u64 + 1,
            method: piece.method,
            name: &piece.name,
        };
        each(record)?;
        let place = |value| Error::Number { place: piece_place(i, piece), value };
        let pair = |point: Point| -> Result<[Milli; 2], Error> {
            Ok([round(point.x, digits, place)?, round(point.y, digits, place)?])
        };
        for pass in &piece.passes {
            each(Record::Pass(pass.kind))?;
            for &point in &pass.jumps {
                each(Record::Jump(pair(point)?))?;
            }
            for &point in &pass.points {
                each(Record::Stitch(pair(point)?))?;
            }
            if pass.trim {
                each(Record::Trim)?;
            }
            if pass.stop {
                each(Record::Stop)?;
            }
        }
    }
    each(Record::End(plan.stitches() as u64))
}

fn tell_header(plan: &Plan, each: &mut impl FnMut(Record<'_>) -> Result<(), Error>) -> Result<(), Error> {
    each(Record::Version)?;
    if let Some(title) = &plan.title {
        each(Record::Title(title))?;
    }
    each(Record::Unit)?;
    if let Some(drawing) = plan.drawing {
        each(Record::Drawing(drawing_edges(drawing)?))?;
    }
    if let Some(hoop) = plan.hoop {
        each(Record::Hoop([header_size(hoop.width, "the hoop")?, header_size(hoop.height, "the hoop")?]))?;
    }
    for (i, thread) in plan.threads.iter().enumerate() {
        each(Record::Thread { number: i as u64 + 1, color: thread.color, name: thread.name.as_deref() })?;
    }
    Ok(())
}

/// Left, top, width and height, so that left + width is the right edge as rounded.
pub(crate) fn drawing_edges(drawing: Rect) -> Result<[Milli; 4], Error> {
    let place = |value| Error::Number { place: "the drawing".into(), value };
    let [left, top] = [round(drawing.x0, Digits::Three, place)?, round(drawing.y0, Digits::Three, place)?];
    let [right, bottom] = [round(drawing.x1, Digits::Three, place)?, round(drawing.y1, Digits::Three, place)?];
    let (width, height) = (right.minus(left), bottom.minus(top));
    for (size, given) in [(width, drawing.width()), (height, drawing.height())] {
        // A size farther out than the farthest coordinate could not be read back.
        if size.is_negative() || Milli::exact(size.get()).is_none() {
            return Err(place(given));
        }
    }
    Ok([left, top, width, height])
}

/// A width or height of the header, which is not negative.
pub(crate) fn header_size(value: f64, what: &str) -> Result<Milli, Error> {
    let place = |value| Error::Number { place: what.into(), value };
    let milli = round(value, Digits::Three, place)?;
    if milli.is_negative() { Err(place(value)) } else { Ok(milli) }
}

/// `value` as a number of the list, or the error `refuse` makes of it.
pub(crate) fn round(value: f64, digits: Digits, refuse: impl Fn(f64) -> Error) -> Result<Milli, Error> {
    Milli::round(value, digits).ok_or_else(|| refuse(value))
}

/// Refuses what no list can carry: text of several lines, numbers out of
/// reach, threads that are not there.
pub(crate) fn check(plan: &Plan) -> Result<(), Error> {
    let text = |name: &str, place: &dyn Fn() -> String| {
        if is_text(name) { Ok(()) } else { Err(Error::Name { place: place(), name: name.into() }) }
    };
    if let Some(title) = &plan.title {
        text(title, &|| "the title".into())?;
    }
    if let Some(drawing) = plan.drawing {
        drawing_edges(drawing)?;
    }
    if let Some(hoop) = plan.hoop {
        header_size(hoop.width, "the hoop")?;
        header_size(hoop.height, "the hoop")?;
    }
    for (i, thread) in plan.threads.iter().enumerate() {
        if let Some(name) = &thread.name {
            text(name, &|| format!("thread {}", i + 1))?;
        }
    }
    for (i, piece) in plan.pieces.iter().enumerate() {
        let place = || piece_place(i, piece);
        text(&piece.name, &place)?;
        if piece.thread >= plan.threads.len() {
            return Err(Error::Thread {
                place: place(),
                thread: piece.thread.saturating_add(1),
                threads: plan.threads.len(),
            });
        }
        for pass in &piece.passes {
            for point in pass.jumps.iter().chain(&pass.points) {
                for value in [point.x, point.y] {
                    if !is_in_reach(value) {
                        return Err(Error::Number { place: place(), value });
                    }
                }
            }
        }
    }
    Ok(())
}

/// How errors name a piece: `piece 3 (stem)`.
pub(crate) fn piece_place(index: usize, piece: &Piece) -> String {
    format!("piece {} ({})", index + 1, crate::error::quoted(&piece.name).trim_matches('`'))
}
