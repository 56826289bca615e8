//! The plan built up from records: the one place that knows which may follow which.

use crate::{
    number::Milli,
    record::{Record, is_text},
};
use laidwork_plan::{Hoop, Method, Pass, PassKind, Piece, Plan, Point, Rect, Thread};

/// Where in the list the next record stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stage {
    Start,
    Header,
    Pieces,
    Ended,
}

/// How far the pass being read has got. Its parts come in this order; a record
/// of an earlier part begins another pass of the same kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Part {
    Jumps,
    Points,
    Trim,
    Stop,
}

/// Takes records in the order of the list and makes the plan of them.
/// A refused record is answered with what would have been right.
#[derive(Debug)]
pub(crate) struct Builder {
    plan: Plan,
    stage: Stage,
    unit: bool,
    part: Part,
    /// Jumps of a piece that stand before its first pass.
    ahead: Vec<Point>,
    stitches: u64,
}

type Taken = Result<(), String>;

impl Builder {
    pub fn new() -> Builder {
        Builder {
            plan: Plan::default(),
            stage: Stage::Start,
            unit: false,
            part: Part::Jumps,
            ahead: Vec::new(),
            stitches: 0,
        }
    }

    /// Takes the next record, or says what was wanted instead.
    pub fn take(&mut self, record: Record<'_>) -> Taken {
        match (self.stage, record) {
            (Stage::Start, Record::Version) => {
                self.stage = Stage::Header;
                Ok(())
            }
            (Stage::Start, _) => Err("`stitch-list 1` first".into()),
            (_, Record::Version) => Err("`stitch-list 1` once, on the first line".into()),
            (Stage::Ended, _) => Err("nothing after `end`".into()),
            (_, Record::Piece { number, thread, method, name }) => self.piece(number, thread, method, name),
            (_, Record::End(count)) => self.end(count),
            (Stage::Header, record) => self.header(record),
            (Stage::Pieces, record) => self.sewn(record),
        }
    }

    /// The plan, once `end` has been taken.
    pub fn finish(self) -> Option<Plan> {
        (self.stage == Stage::Ended).then_some(self.plan)
    }

    fn header(&mut self, record: Record<'_>) -> Taken {
        match record {
            Record::Title(title) => {
                let title = text(title)?;
                once(&mut self.plan.title, title, "title")
            }
            Record::Unit if self.unit => Err("one `unit` line, not two".into()),
            Record::Unit => {
                self.unit = true;
                Ok(())
            }
            Record::Drawing([left, top, width, height]) => {
                let far = || "a rectangle within 1000000 mm of the centre".to_string();
                let [width, height] = sizes([width, height])?;
                let right = left.plus(width).ok_or_else(far)?;
                let bottom = top.plus(height).ok_or_else(far)?;
                let drawing = Rect::new(left.get(), top.get(), right.get(), bottom.get());
                once(&mut self.plan.drawing, drawing, "drawing")
            }
            Record::Hoop(size) => {
                let [width, height] = sizes(size)?;
                once(&mut self.plan.hoop, Hoop { width: width.get(), height: height.get() }, "hoop")
            }
            Record::Thread { number, color, name } => {
                let next = self.plan.threads.len() as u64 + 1;
                if number != next {
                    return Err(format!("`thread {next}`: threads count up from 1"));
                }
                let name = name.map(text).transpose()?;
                self.plan.threads.push(Thread { color, name });
                Ok(())
            }
            _ => Err("a `piece` before the first pass, point or command".into()),
        }
    }

    fn sewn(&mut self, record: Record<'_>) -> Taken {
        match record {
            Record::Pass(kind) => {
                let mut pass = Pass::new(kind, Vec::new());
                pass.jumps = std::mem::take(&mut self.ahead);
                self.begin(pass);
                Ok(())
            }
            Record::Jump(point) => {
                match self.reach(Part::Jumps) {
                    Some(pass) => pass.jumps.push(at(point)),
                    None => self.ahead.push(at(point)),
                }
                Ok(())
            }
            Record::Stitch(point) => {
                let pass = self.reach(Part::Points).ok_or("a `pass` before the points of a piece")?;
                pass.points.push(at(point));
                self.stitches += 1;
                Ok(())
            }
            Record::Trim => {
                self.reach(Part::Trim).ok_or("a `pass` before the `trim` of a piece")?.trim = true;
                Ok(())
            }
            Record::Stop => {
                self.reach(Part::Stop).ok_or("a `pass` before the `stop` of a piece")?.stop = true;
                Ok(())
            }
            _ => Err("header lines before the first `piece`".into()),
        }
    }

    /// The pass that takes a record of `part`: the open one when it has not got
    /// past that part, otherwise a fresh one of the same kind. A pass has many
    /// jumps and points but one trim and one stop.
    fn reach(&mut self, part: Part) -> Option<&mut Pass> {
        let kind = self.plan.pieces.last()?.passes.last()?.kind;
        let repeats = matches!(part, Part::Jumps | Part::Points);
        if self.part > part || (self.part == part && !repeats) {
            self.begin(Pass::new(kind, Vec::new()));
        }
        self.part = part;
        self.plan.pieces.last_mut()?.passes.last_mut()
    }

    fn begin(&mut self, pass: Pass) {
        self.part = Part::Jumps;
        if let Some(piece) = self.plan.pieces.last_mut() {
            piece.passes.push(pass);
        }
    }

    fn piece(&mut self, number: u64, thread: u64, method: Method, name: &str) -> Taken {
        self.close()?;
        let next = self.plan.pieces.len() as u64 + 1;
        if number != next {
            return Err(format!("`piece {next}`: pieces count up from 1"));
        }
        let threads = self.plan.threads.len();
        let thread = usize::try_from(thread).ok().filter(|&thread| (1..=threads).contains(&thread));
        let Some(thread) = thread else {
            return Err(format!("one of the {threads} threads of the header"));
        };
        let piece = Piece { name: text(name)?, method, thread: thread - 1, passes: Vec::new() };
        self.plan.pieces.push(piece);
        self.stage = Stage::Pieces;
        Ok(())
    }

    fn end(&mut self, count: u64) -> Taken {
        self.close()?;
        if count != self.stitches {
            return Err(format!("`end {}`, because that many needle penetrations stand above", self.stitches));
        }
        self.stage = Stage::Ended;
        Ok(())
    }

    /// What must hold before a piece begins or the list ends.
    fn close(&self) -> Taken {
        if !self.unit {
            return Err("`unit mm` before the first piece".into());
        }
        if !self.ahead.is_empty() {
            return Err("a `pass` after the jumps of a piece".into());
        }
        Ok(())
    }
}

fn at([x, y]: [Milli; 2]) -> Point {
    Point::new(x.get(), y.get())
}

fn text(text: &str) -> Result<String, String> {
    if is_text(text) { Ok(text.into()) } else { Err("one line of text without control characters".into()) }
}

fn sizes(sizes: [Milli; 2]) -> Result<[Milli; 2], String> {
    if sizes.iter().any(|size| size.is_negative()) { Err("a width and a height from 0 up".into()) } else { Ok(sizes) }
}

fn once<T>(slot: &mut Option<T>, value: T, word: &str) -> Taken {
    if slot.is_some() {
        return Err(format!("one `{word}` line, not two"));
    }
    *slot = Some(value);
    Ok(())
}

/// The kind of pass that `word` names.
pub(crate) fn pass_kind(word: &str) -> Option<PassKind> {
    PassKind::ALL.into_iter().find(|kind| kind.word() == word)
}

/// The method that `word` names.
pub(crate) fn method(word: &str) -> Option<Method> {
    Method::ALL.into_iter().find(|method| method.word() == word)
}
