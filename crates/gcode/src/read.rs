//! A program as a plan.
//!
//! Read are straight moves in x and y, units, distance modes, stops and the
//! templates; a program that turns arcs, offsets its origin or jumps is refused,
//! for it would be read wrongly. What says nothing about stitches (feed, spindle,
//! coolant) is passed over, and told.

use crate::{Block, Error, Hoop, Origin, Settings, Template};
use laidwork_plan::{Color, Method, Pass, PassKind, Piece, Plan, Point, Thread, Warned, Warning};
use std::collections::{BTreeMap, BTreeSet};

/// The most threads a program may select.
const MOST_THREADS: usize = 1000;

/// No coordinate lies farther out, mm.
const FARTHEST: f64 = 1e6;

/// Colours of threads whose program names none.
const UNKNOWN: Color = Color::new(0x80, 0x80, 0x80);

/// Reads a program that was written with the templates of `settings`. Its frame is
/// that of the settings; a program about the lower left corner wants its hoop.
///
/// Everything becomes passes of kind `top` of pieces of method `manual`, one for
/// each thread. A warning says so, and names the codes that were passed over.
///
/// # Errors
/// The first line that is none, or whose meaning is not known here; a program that makes no stitch.
pub fn read(program: &str, settings: &Settings) -> Result<Warned<Plan>, Error> {
    let blocks = blocks(program)?;
    let origin = match (settings.origin, settings.hoop) {
        (Origin::Centre, _) => Point::ZERO,
        (Origin::Corner, Some(hoop)) => Point::new(-hoop.size().0 / 2.0, hoop.size().1 / 2.0),
        (Origin::Corner, None) => return Err(Error::NoHoop),
    };
    let mut machine = Machine::new(origin);
    let mut rest = blocks.as_slice();
    while let Some(((line, block), after)) = rest.split_first() {
        if let Some(after) = matched(&settings.needle, rest) {
            machine.stitch();
            rest = after;
        } else if let Some(after) = matched(&settings.trim, rest) {
            machine.mark(|pass| pass.trim = true);
            rest = after;
        } else if let Some(after) = matched(&settings.thread, rest) {
            let letter = settings.thread.thread_letter();
            let taken = rest.get(..rest.len() - after.len()).unwrap_or_default();
            let number = taken.iter().find_map(|(_, block)| block.value(letter?));
            machine.select(*line, number)?;
            rest = after;
        } else {
            machine.run(*line, block)?;
            if block.codes('M').any(|code| matches!(code, 2 | 30)) {
                break;
            }
            rest = after;
        }
    }
    if machine.pieces.is_empty() {
        let codes: Vec<&str> = machine.passed_over.iter().map(String::as_str).collect();
        let passed_over = if codes.is_empty() { String::new() } else { format!(" (passed over: {})", codes.join(" ")) };
        return Err(Error::NoStitch { passed_over });
    }
    Ok(machine.finish(settings))
}

/// Every line that says something, with its number.
fn blocks(program: &str) -> Result<Vec<(usize, Block)>, Error> {
    let mut blocks = Vec::new();
    let mut percents = 0;
    let mut is_over = false;
    for (line, text) in program.lines().enumerate().map(|(i, text)| (i + 1, text.trim())) {
        if text == "%" {
            percents += 1;
            if percents == 2 {
                break;
            }
            if !blocks.is_empty() {
                return Err(Error::Line { line, what: "% stands before the first line and after the last".into() });
            }
            continue;
        }
        let block = Block::parse(text).map_err(|what| Error::Line { line, what })?;
        is_over |= block.codes('M').any(|code| matches!(code, 2 | 30));
        if !block.words.is_empty() || !block.comments.is_empty() {
            blocks.push((line, block));
        }
        if is_over {
            break;
        }
    }
    let line = program.lines().count().max(1);
    if percents == 1 && !is_over {
        return Err(Error::Line { line, what: "the second % is missing; the program is cut short".into() });
    }
    if percents == 0 && !is_over {
        return Err(Error::Line { line, what: "the program does not end with M2 or M30; it is cut short".into() });
    }
    Ok(blocks)
}

/// What follows the lines of `template`, if they stand here.
fn matched<'a>(template: &Template, blocks: &'a [(usize, Block)]) -> Option<&'a [(usize, Block)]> {
    let wanted = &template.blocks;
    let found = blocks.get(..wanted.len()).filter(|found| !found.is_empty())?;
    let any = template.thread_letter();
    let same = found.iter().zip(wanted).all(|((_, found), wanted)| found.says_what(wanted, any));
    same.then(|| blocks.get(wanted.len()..).unwrap_or_default())
}

struct Machine {
    /// From the program's frame to the plan's.
    origin: Point,
    /// mm a unit.
    scale: f64,
    is_absolute: bool,
    /// The modal motion, times ten.
    motion: Option<i64>,
    at: Point,
    /// Rapid moves since the last stitch, and straight ones that no stitch ended.
    moves: Vec<(Point, bool)>,
    thread: usize,
    colors: BTreeMap<usize, Thread>,
    title: Option<String>,
    pieces: Vec<Piece>,
    passed_over: BTreeSet<String>,
}

impl Machine {
    fn new(origin: Point) -> Machine {
        Machine {
            origin,
            scale: 1.0,
            is_absolute: true,
            motion: None,
            at: origin,
            moves: Vec::new(),
            thread: 0,
            colors: BTreeMap::new(),
            title: None,
            pieces: Vec::new(),
            passed_over: BTreeSet::new(),
        }
    }

    /// A needle point where the hoop stands.
    fn stitch(&mut self) {
        // The last straight move brought the thread here; moves before it were without the needle.
        if self.moves.last().is_some_and(|(_, is_rapid)| !is_rapid) {
            self.moves.pop();
        }
        let jumps: Vec<Point> = self.moves.drain(..).map(|(to, _)| to).collect();
        let (at, thread) = (self.at, self.thread);
        if self.pieces.last().is_none_or(|piece| piece.thread != thread) {
            let name = format!("thread {}", thread + 1);
            self.pieces.push(Piece { name, method: Method::Manual, thread, passes: Vec::new() });
        }
        let Some(piece) = self.pieces.last_mut() else { return };
        match piece.passes.last_mut() {
            Some(pass) if jumps.is_empty() && !pass.trim && !pass.stop => pass.points.push(at),
            _ => piece.passes.push(Pass { jumps, ..Pass::new(PassKind::Top, vec![at]) }),
        }
    }

    /// Changes the last pass, if anything was sewn.
    fn mark(&mut self, change: impl FnOnce(&mut Pass)) {
        if let Some(pass) = self.pieces.last_mut().and_then(|piece| piece.passes.last_mut()) {
            change(pass);
        }
    }

    /// Takes the thread of that number; the next one when the template names none.
    fn select(&mut self, line: usize, number: Option<f64>) -> Result<(), Error> {
        let next = match number {
            Some(number) if number >= 1.0 && number <= MOST_THREADS as f64 => number as usize - 1,
            Some(_) => return Err(Error::Line { line, what: format!("threads count from 1 to {MOST_THREADS}") }),
            None => self.thread + 1,
        };
        self.thread = next;
        Ok(())
    }

    /// Any other line, in the order the standard executes its words.
    fn run(&mut self, line: usize, block: &Block) -> Result<(), Error> {
        let wrong = |what: String| Err(Error::Line { line, what });
        block.comments.iter().for_each(|comment| self.hear(comment));
        if let Some(number) = block.value('T').filter(|number| *number >= 1.0) {
            self.select(line, Some(number))?;
        }
        for code in block.codes('G') {
            match code {
                0 | 10 => self.motion = Some(code),
                200 => self.scale = 25.4,
                210 => self.scale = 1.0,
                900 => self.is_absolute = true,
                910 => self.is_absolute = false,
                40 | 170 | 400 | 490 | 800 | 930 | 940 => {}
                _ => {
                    let code = code as f64 / 10.0;
                    return wrong(format!("G{code} is not read; write the program with G0 and G1 alone"));
                }
            }
        }
        let dwells = block.codes('G').any(|code| code == 40);
        self.go(line, block, dwells)?;
        for code in block.codes('M') {
            match code {
                0 | 1 | 60 => self.mark(|pass| pass.stop = true),
                2 | 30 => {}
                _ => {
                    self.passed_over.insert(format!("M{code}"));
                }
            }
        }
        for (letter, _) in &block.words {
            if matches!(letter, 'Z' | 'A' | 'B' | 'C' | 'S') {
                self.passed_over.insert(letter.to_string());
            }
        }
        Ok(())
    }

    /// A move in x and y, if the line has one.
    fn go(&mut self, line: usize, block: &Block, dwells: bool) -> Result<(), Error> {
        let (x, y) = (block.value('X'), block.value('Y'));
        if (x.is_none() && y.is_none()) || dwells {
            return Ok(());
        }
        let Some(motion) = self.motion else {
            return Err(Error::Line { line, what: "the hoop moves before any G0 or G1".into() });
        };
        let (scale, zero) = (self.scale, self.origin);
        let to = |value: Option<f64>, at: f64, zero: f64, sign: f64| match value {
            None => at,
            Some(value) if self.is_absolute => zero + sign * value * scale,
            Some(value) => at + sign * value * scale,
        };
        let to = Point::new(to(x, self.at.x, zero.x, 1.0), to(y, self.at.y, zero.y, -1.0));
        if !(to.x.abs() <= FARTHEST && to.y.abs() <= FARTHEST) {
            return Err(Error::Line { line, what: format!("the hoop moves farther than {FARTHEST} mm") });
        }
        // The grid of programs takes away what turning the frame about did to the last digits.
        let thousandths = |value: f64| (value * 1000.0).round() / 1000.0 + 0.0;
        self.at = Point::new(thousandths(to.x), thousandths(to.y));
        self.moves.push((self.at, motion == 0));
        Ok(())
    }

    /// Threads and the title, as this crate's own comments tell them.
    fn hear(&mut self, comment: &str) {
        if self.title.is_none() && self.pieces.is_empty() && !comment.is_empty() {
            self.title = Some(comment.to_owned());
        }
        let mut words = comment.splitn(4, ' ');
        let (word, number, color) = (words.next(), words.next(), words.next());
        let number = number.and_then(|number| number.parse::<usize>().ok()).filter(|n| (1..=MOST_THREADS).contains(n));
        let color = color.and_then(|color| color.parse().ok());
        if let (Some("thread"), Some(number), Some(color)) = (word, number, color) {
            let name = words.next().map(str::trim).filter(|name| !name.is_empty()).map(str::to_owned);
            self.colors.entry(number - 1).or_insert(Thread { color, name });
        }
    }

    /// The plan, its threads counted in the order of their numbers.
    fn finish(mut self, settings: &Settings) -> Warned<Plan> {
        let used: BTreeSet<usize> = self.pieces.iter().map(|piece| piece.thread).collect();
        let places: BTreeMap<usize, usize> = used.iter().enumerate().map(|(place, &thread)| (thread, place)).collect();
        let colors = &self.colors;
        let unknown = used.iter().filter(|thread| !colors.contains_key(thread)).count();
        let thread = |of: &usize| colors.get(of).cloned().unwrap_or(Thread { color: UNKNOWN, name: None });
        let threads = used.iter().map(thread).collect();
        for piece in &mut self.pieces {
            piece.thread = places.get(&piece.thread).copied().unwrap_or_default();
        }
        let mut warnings = vec![Warning::new(
            "a program does not tell pieces and kinds of passes; there is one piece for each thread, all of it top stitching",
            "convert from the stitch list where there is one",
        )];
        if unknown > 0 {
            let what = format!("the program does not tell the colours of {unknown} threads; they are grey");
            warnings.push(Warning::new(what, "set them in the list"));
        }
        if !self.passed_over.is_empty() {
            let codes: Vec<&str> = self.passed_over.iter().map(String::as_str).collect();
            let what = format!("passed over: {}", codes.join(" "));
            warnings.push(Warning::new(what, "if they work the needle, name them with --needle"));
        }
        let hoop = settings.hoop.map(Hoop::size).map(|(width, height)| laidwork_plan::Hoop { width, height });
        let plan = Plan { title: self.title, drawing: None, hoop, threads, pieces: self.pieces };
        Warned { value: plan, warnings }
    }
}
