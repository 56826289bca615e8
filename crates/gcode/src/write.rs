//! A plan as a program.
//!
//! Stitches are straight moves (`G1`) with the needle's template after each; jumps
//! are rapid moves (`G0`). A change of thread, a cut and a stop are templates and `M0`.
//! Names are told in comments. Nothing is written for a design that does not lie in
//! its hoop.

use crate::{Error, Hoop, Origin, Settings};
use laidwork_plan::{PassKind, Plan, Point, Thread, Warned, Warning};
use std::fmt::Write as _;

/// The most characters of a comment's text: a line has at most 256.
const LONGEST_COMMENT: usize = 120;

/// Writes `plan` as a program. Coordinates have three digits after the point.
///
/// Warnings say what a program cannot carry, and that nothing works the needle.
///
/// # Errors
/// When there is no hoop, a point lies outside it, or a number is none.
pub fn write(plan: &Plan, settings: &Settings) -> Result<Warned<String>, Error> {
    if !(settings.feed.is_finite() && settings.feed > 0.0) {
        return Err(Error::Setting { what: "the feed" });
    }
    let of_plan = plan.hoop.map(|hoop| Hoop::Rectangle { width: hoop.width, height: hoop.height });
    let hoop = settings.hoop.or(of_plan).ok_or(Error::NoHoop)?;
    check(plan, hoop)?;
    let (width, height) = hoop.size();
    let origin = match settings.origin {
        Origin::Centre => Point::ZERO,
        Origin::Corner => Point::new(-width / 2.0, height / 2.0),
    };
    let mut program = Program { text: String::new(), origin, thread: 0 };
    program.head(plan, settings, hoop);
    program.pieces(plan, settings);
    program.text.push_str("M2\n");
    let carried = Warning::new(
        "a program carries points, cuts and stops; names and kinds of passes become comments, the drawing is left out",
        "keep the stitch list too",
    );
    let mut warnings = vec![carried];
    if settings.needle.blocks.is_empty() {
        let what = "the template of the needle is empty, so the program only moves the hoop";
        warnings.push(Warning::new(what, "name what works the needle with --needle"));
    }
    Ok(Warned { value: program.text, warnings })
}

/// Whether every point is a number and lies in the hoop.
fn check(plan: &Plan, hoop: Hoop) -> Result<(), Error> {
    let mut worst: Option<(usize, Point, f64)> = None;
    let mut count = 0;
    for (piece, pass) in plan.passes() {
        for &point in pass.jumps.iter().chain(&pass.points) {
            if !point.is_finite() {
                return Err(Error::NotFinite { piece: piece + 1 });
            }
            let Some(by) = hoop.outside(point) else { continue };
            count += 1;
            if worst.is_none_or(|(_, _, worst)| by > worst) {
                worst = Some((piece, point, by));
            }
        }
    }
    let Some((piece, point, by)) = worst else { return Ok(()) };
    let name = plan.pieces.get(piece).map(|piece| piece.name.clone()).unwrap_or_default();
    Err(Error::OutOfHoop { piece: piece + 1, name, by, x: point.x, y: point.y, more: count - 1 })
}

struct Program {
    text: String,
    origin: Point,
    /// The thread sewn with, an index.
    thread: usize,
}

impl Program {
    fn head(&mut self, plan: &Plan, settings: &Settings, hoop: Hoop) {
        self.comment(plan.title.as_deref().unwrap_or("design"));
        let (width, height) = hoop.size();
        let origin = match settings.origin {
            Origin::Centre => "at its centre",
            Origin::Corner => "at its lower left corner",
        };
        self.comment(&format!("hoop {width:.1} x {height:.1} mm, origin {origin}, y up"));
        for (i, thread) in plan.threads.iter().enumerate() {
            self.comment(&named(i, thread));
        }
        let _ = writeln!(self.text, "G21 G90 G94\nF{}", settings.feed);
        self.thread = plan.pieces.first().map_or(0, |piece| piece.thread);
        self.line(&format!("T{}", self.thread + 1));
    }

    fn pieces(&mut self, plan: &Plan, settings: &Settings) {
        for (i, piece) in plan.pieces.iter().enumerate() {
            if piece.thread != self.thread {
                self.thread = piece.thread;
                if let Some(thread) = plan.threads.get(piece.thread) {
                    self.comment(&format!("MSG, {}", named(piece.thread, thread)));
                }
                self.lines(settings.thread.lines(piece.thread + 1));
            }
            self.comment(&format!("piece {} {}: {}", i + 1, piece.method.word(), piece.name));
            let mut kind: Option<PassKind> = None;
            for pass in &piece.passes {
                if kind != Some(pass.kind) {
                    self.comment(pass.kind.word());
                    kind = Some(pass.kind);
                }
                pass.jumps.iter().for_each(|&jump| self.go("G0", jump));
                for &point in &pass.points {
                    self.go("G1", point);
                    self.lines(settings.needle.lines(self.thread + 1));
                }
                if pass.trim {
                    self.lines(settings.trim.lines(self.thread + 1));
                }
                if pass.stop {
                    self.line("M0");
                }
            }
        }
    }

    /// A move to a point of the plan.
    fn go(&mut self, code: &str, point: Point) {
        // Adding zero takes the sign from a zero.
        let thousandths = |value: f64| (value * 1000.0).round() / 1000.0 + 0.0;
        let (x, y) = (thousandths(point.x - self.origin.x), thousandths(self.origin.y - point.y));
        let _ = writeln!(self.text, "{code} X{x:.3} Y{y:.3}");
    }

    fn line(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    fn lines(&mut self, lines: impl Iterator<Item = String>) {
        lines.for_each(|line| self.line(&line));
    }

    fn comment(&mut self, text: &str) {
        let plain = |c: char| match c {
            '(' => '[',
            ')' => ']',
            ' '..='~' => c,
            _ => '?',
        };
        let text: String = text.chars().map(plain).take(LONGEST_COMMENT).collect();
        let _ = writeln!(self.text, "({text})");
    }
}

/// A thread as comments tell it: `thread 2 #548c41 Pea green`.
fn named(index: usize, thread: &Thread) -> String {
    let name = thread.name.as_deref().map(|name| format!(" {name}")).unwrap_or_default();
    format!("thread {} {}{name}", index + 1, thread.color)
}
