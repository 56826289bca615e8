//! The JSON twin of a stitch list, with its JSON Schema.
//!
//! The same plan as one object: numbers in millimetres with at most three
//! digits after the point, threads counted from 1, and at the end the count of
//! needle penetrations. As strict as the list: unknown keys, missing keys and
//! a wrong count are refused.

use crate::{
    Digits, Error, ReadError, WriteOptions,
    build::Builder,
    number::{FARTHEST, Milli},
    record::{Record, check, drawing_edges, header_size, piece_place, round},
};
use laidwork_plan::{self as plan, Plan};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::{borrow::Cow, io};

/// A design in sewing order: the JSON twin of stitch list version 1.
#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Stitch list")]
struct List {
    /// Version of the stitch list: 1.
    #[schemars(range(min = 1, max = 1))]
    stitch_list: u64,
    /// What the design is called; one line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1))]
    title: Option<String>,
    /// The unit of every length.
    unit: Unit,
    /// The drawing's viewport in the frame of the list.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    drawing: Option<Drawing>,
    /// The hoop, centred on the origin.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    hoop: Option<Hoop>,
    /// Threads; pieces name them by their place, counting from 1.
    threads: Vec<Thread>,
    /// Pieces in sewing order.
    pieces: Vec<Piece>,
    /// The number of needle penetrations of all pieces.
    stitches: u64,
}

#[derive(Serialize, Deserialize, JsonSchema)]
enum Unit {
    #[serde(rename = "mm")]
    Mm,
}

#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Drawing {
    left: Milli,
    top: Milli,
    /// From 0 up.
    width: Milli,
    /// From 0 up.
    height: Milli,
}

#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Hoop {
    /// From 0 up.
    width: Milli,
    /// From 0 up.
    height: Milli,
}

#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Thread {
    /// `#rrggbb` in sRGB.
    #[schemars(regex(pattern = r"^#[0-9a-f]{6}$"))]
    color: String,
    /// What its owner calls it; one line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1))]
    name: Option<String>,
}

#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Piece {
    /// The shape it comes from; one line.
    #[schemars(length(min = 1))]
    name: String,
    method: Method,
    /// Number of its thread, counting from 1.
    #[schemars(range(min = 1))]
    thread: u64,
    passes: Vec<Pass>,
}

/// How a piece is sewn.
#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
enum Method {
    Run,
    Satin,
    Fill,
    Manual,
}

#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Pass {
    kind: Kind,
    /// Moves with the needle up, before the first point.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    jumps: Vec<[Milli; 2]>,
    /// Needle penetrations: x, y.
    points: Vec<[Milli; 2]>,
    /// The thread is cut after the last point.
    #[serde(default, skip_serializing_if = "is_false")]
    trim: bool,
    /// The machine halts after the last point, and after the trim.
    #[serde(default, skip_serializing_if = "is_false")]
    stop: bool,
}

/// What the thread of a pass is for.
#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
enum Kind {
    Underlay,
    Top,
    Travel,
    Tie,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands the field over by reference")]
fn is_false(flag: &bool) -> bool {
    !flag
}

impl Serialize for Milli {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_f64(self.get())
    }
}

impl<'de> Deserialize<'de> for Milli {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Milli, D::Error> {
        let value = f64::deserialize(from)?;
        Milli::exact(value).ok_or_else(|| {
            de::Error::custom(format!(
                "{value} is not a length with at most three digits after the point and at most {FARTHEST} mm"
            ))
        })
    }
}

impl JsonSchema for Milli {
    fn schema_name() -> Cow<'static, str> {
        "Length".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "Millimetres, with at most three digits after the point.",
            "type": "number",
            "minimum": -FARTHEST,
            "maximum": FARTHEST,
        })
    }
}

/// The JSON Schema (draft 2020-12) of what [`to_json`] writes and [`from_json`] reads.
pub fn json_schema() -> Schema {
    schemars::schema_for!(List)
}

/// Writes `plan` as JSON.
///
/// # Errors
///
/// As [`write()`](crate::write()).
pub fn to_json(plan: &Plan, to: &mut impl io::Write, options: WriteOptions) -> Result<(), Error> {
    let list = list(plan, options.digits)?;
    serde_json::to_writer(&mut *to, &list).map_err(io::Error::from)?;
    to.write_all(b"\n")?;
    to.flush()?;
    Ok(())
}

fn list(plan: &Plan, digits: Digits) -> Result<List, Error> {
    check(plan)?;
    let drawing = plan.drawing.map(drawing_edges).transpose()?;
    let hoop = |hoop: plan::Hoop| {
        let (width, height) = (header_size(hoop.width, "the hoop")?, header_size(hoop.height, "the hoop")?);
        Ok::<_, Error>(Hoop { width, height })
    };
    let thread = |thread: &plan::Thread| Thread { color: thread.color.to_string(), name: thread.name.clone() };
    let pieces = plan.pieces.iter().enumerate().map(|(i, piece)| json_piece(i, piece, digits));
    Ok(List {
        stitch_list: 1,
        title: plan.title.clone(),
        unit: Unit::Mm,
        drawing: drawing.map(|[left, top, width, height]| Drawing { left, top, width, height }),
        hoop: plan.hoop.map(hoop).transpose()?,
        threads: plan.threads.iter().map(thread).collect(),
        pieces: pieces.collect::<Result<_, _>>()?,
        stitches: plan.stitches() as u64,
    })
}

fn json_piece(index: usize, piece: &plan::Piece, digits: Digits) -> Result<Piece, Error> {
    let refuse = |value| Error::Number { place: piece_place(index, piece), value };
    let points = |points: &[plan::Point]| -> Result<Vec<[Milli; 2]>, Error> {
        points.iter().map(|p| Ok([round(p.x, digits, refuse)?, round(p.y, digits, refuse)?])).collect()
    };
    let pass = |pass: &plan::Pass| {
        Ok(Pass {
            kind: match pass.kind {
                plan::PassKind::Underlay => Kind::Underlay,
                plan::PassKind::Top => Kind::Top,
                plan::PassKind::Travel => Kind::Travel,
                plan::PassKind::Tie => Kind::Tie,
            },
            jumps: points(&pass.jumps)?,
            points: points(&pass.points)?,
            trim: pass.trim,
            stop: pass.stop,
        })
    };
    Ok(Piece {
        name: piece.name.clone(),
        method: match piece.method {
            plan::Method::Run => Method::Run,
            plan::Method::Satin => Method::Satin,
            plan::Method::Fill => Method::Fill,
            plan::Method::Manual => Method::Manual,
        },
        thread: piece.thread as u64 + 1,
        passes: piece.passes.iter().map(pass).collect::<Result<_, Error>>()?,
    })
}

/// Reads the JSON twin of a stitch list.
///
/// # Errors
///
/// As [`read()`](crate::read()): everything that is not a whole and sound twin.
pub fn from_json(mut from: impl io::Read) -> Result<Plan, ReadError> {
    let mut bytes = Vec::new();
    from.read_to_end(&mut bytes).map_err(|source| ReadError::Io { line: 1, source })?;
    let list: List = serde_json::from_slice(&bytes)?;
    let mut builder = Builder::new();
    let mut take = |place: &dyn Fn() -> String, record: Record<'_>| {
        builder.take(record).map_err(|wanted| ReadError::Wrong { place: place(), wanted })
    };
    let header = |what: &'static str| move || what.to_string();
    if list.stitch_list != 1 {
        let wanted = "1: this reader knows no other version".into();
        return Err(ReadError::Wrong { place: "stitch_list".into(), wanted });
    }
    take(&header("stitch_list"), Record::Version)?;
    let Unit::Mm = list.unit;
    take(&header("unit"), Record::Unit)?;
    if let Some(title) = &list.title {
        take(&header("title"), Record::Title(title))?;
    }
    if let Some(Drawing { left, top, width, height }) = list.drawing {
        take(&header("drawing"), Record::Drawing([left, top, width, height]))?;
    }
    if let Some(Hoop { width, height }) = list.hoop {
        take(&header("hoop"), Record::Hoop([width, height]))?;
    }
    for (number, thread) in (1..).zip(&list.threads) {
        let place = || format!("thread {number}");
        let color = thread.color.parse().ok().filter(|_| !thread.color.bytes().any(|byte| byte.is_ascii_uppercase()));
        let color = color
            .ok_or_else(|| ReadError::Wrong { place: place(), wanted: "a colour `#rrggbb` in lower case".into() })?;
        take(&place, Record::Thread { number, color, name: thread.name.as_deref() })?;
    }
    for (number, piece) in (1..).zip(&list.pieces) {
        take_piece(number, piece, &mut |record| take(&|| format!("piece {number}"), record))?;
    }
    take(&header("stitches"), Record::End(list.stitches))?;
    let cut = || ReadError::Wrong { place: "stitches".into(), wanted: "the count of the needle penetrations".into() };
    builder.finish().ok_or_else(cut)
}

fn take_piece(
    number: u64,
    piece: &Piece,
    take: &mut impl FnMut(Record<'_>) -> Result<(), ReadError>,
) -> Result<(), ReadError> {
    let method = match piece.method {
        Method::Run => plan::Method::Run,
        Method::Satin => plan::Method::Satin,
        Method::Fill => plan::Method::Fill,
        Method::Manual => plan::Method::Manual,
    };
    take(Record::Piece { number, thread: piece.thread, method, name: &piece.name })?;
    for pass in &piece.passes {
        take(Record::Pass(match pass.kind {
            Kind::Underlay => plan::PassKind::Underlay,
            Kind::Top => plan::PassKind::Top,
            Kind::Travel => plan::PassKind::Travel,
            Kind::Tie => plan::PassKind::Tie,
        }))?;
        for &jump in &pass.jumps {
            take(Record::Jump(jump))?;
        }
        for &point in &pass.points {
            take(Record::Stitch(point))?;
        }
        if pass.trim {
            take(Record::Trim)?;
        }
        if pass.stop {
            take(Record::Stop)?;
        }
    }
    Ok(())
}
