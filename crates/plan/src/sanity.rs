//! The promises a plan keeps, and the list of those it breaks.

use crate::{Method, PassKind, Plan};
use std::fmt;

/// No stitch is longer than this, mm: loops longer than it catch and machines
/// refuse them. Common practice, no source.
pub const LONGEST_STITCH: f64 = 12.0;

/// Thread moved less than this does not count as a stitch, mm.
const ZERO: f64 = 1e-6;

/// The most thread that may be dragged over the surface untrimmed, mm.
const LONGEST_FLOAT: f64 = 3.0;

/// What a plan promises.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Promise {
    /// Every coordinate is finite.
    Finite,
    /// No two needle points that follow each other are the same.
    NoZeroLength,
    /// No stitch is longer than [`LONGEST_STITCH`].
    NotTooLong,
    /// Every pass has needle points.
    NoEmptyPass,
    /// Every piece has passes.
    NoEmptyPiece,
    /// Every piece uses a thread of the plan.
    KnownThread,
    /// Thread is tied where it begins: at the start and after every trim.
    TiedIn,
    /// Thread is tied before it is cut: at every trim, and at the end.
    TiedOff,
    /// Thread is cut before it is changed.
    TrimmedAtChange,
    /// No untrimmed jump drags more than 3 mm of thread.
    NoLongFloat,
    /// Names and titles are one line of text and not empty.
    CleanNames,
}

/// A promise that a plan breaks, and where.
#[derive(Clone, Debug, PartialEq)]
pub struct Broken {
    /// Which promise.
    pub promise: Promise,
    /// Index of the piece concerned, if there is one.
    pub piece: Option<usize>,
    /// What was found.
    pub what: String,
}

impl fmt::Display for Broken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.piece {
            Some(piece) => write!(f, "piece {}: {}", piece + 1, self.what),
            None => f.write_str(&self.what),
        }
    }
}

/// One line of printable text with something in it.
fn is_clean(name: &str) -> bool {
    !name.trim().is_empty() && name.trim() == name && !name.chars().any(char::is_control)
}

impl Plan {
    /// Every promise this plan breaks, in sewing order; empty for a sound plan.
    /// Takes time in proportion to the number of needle points.
    pub fn sanity_check(&self) -> Vec<Broken> {
        let mut found = Vec::new();
        self.check_names(&mut found);
        self.check_pieces(&mut found);
        self.check_stitches(&mut found);
        self.check_thread_ends(&mut found);
        found
    }

    fn check_names(&self, found: &mut Vec<Broken>) {
        let mut check = |what: &str, name: &str, piece| {
            if !is_clean(name) {
                found.push(Broken {
                    promise: Promise::CleanNames,
                    piece,
                    what: format!("{what} is not one clean line of text: {name:?}"),
                });
            }
        };
        if let Some(title) = &self.title {
            check("the title", title, None);
        }
        for thread in &self.threads {
            if let Some(name) = &thread.name {
                check("a thread's name", name, None);
            }
        }
        for (i, piece) in self.pieces.iter().enumerate() {
            check("its name", &piece.name, Some(i));
        }
    }

    fn check_pieces(&self, found: &mut Vec<Broken>) {
        for (i, piece) in self.pieces.iter().enumerate() {
            let mut say = |promise, what: String| found.push(Broken { promise, piece: Some(i), what });
            if piece.thread >= self.threads.len() {
                say(Promise::KnownThread, format!("thread {} is not in the plan", piece.thread.saturating_add(1)));
            }
            if piece.passes.is_empty() {
                say(Promise::NoEmptyPiece, "it has no passes".into());
            }
            for pass in &piece.passes {
                if pass.points.is_empty() {
                    say(Promise::NoEmptyPass, format!("a pass of kind {} has no needle points", pass.kind.word()));
                }
                if pass.points.iter().chain(&pass.jumps).any(|p| !p.is_finite()) {
                    say(Promise::Finite, format!("a pass of kind {} has a point that is no number", pass.kind.word()));
                }
            }
        }
    }

    fn check_stitches(&self, found: &mut Vec<Broken>) {
        self.for_each_segment(|segment| {
            let length = segment.length();
            let mut say = |promise, what| found.push(Broken { promise, piece: Some(segment.piece), what });
            let place = || format!("at {:.2} {:.2}", segment.to.x, segment.to.y);
            if segment.float {
                if length > LONGEST_FLOAT + ZERO {
                    say(
                        Promise::NoLongFloat,
                        format!("{length:.2} mm of thread is dragged over the surface {}", place()),
                    );
                }
            } else if length < ZERO {
                say(Promise::NoZeroLength, format!("a stitch has no length {}", place()));
            } else if length > LONGEST_STITCH + ZERO {
                say(Promise::NotTooLong, format!("a stitch is {length:.2} mm long {}", place()));
            }
        });
    }

    fn check_thread_ends(&self, found: &mut Vec<Broken>) {
        let mut fresh = true; // the thread has not been sewn in since it was cut
        let mut before: Option<(usize, usize, PassKind)> = None; // piece, thread, kind of the last pass sewn
        for (i, piece) in self.pieces.iter().enumerate() {
            if piece.method == Method::Manual {
                // Whoever placed these stitches has tied them as they saw fit.
                fresh = true;
                before = None;
                continue;
            }
            for pass in piece.passes.iter().filter(|pass| !pass.points.is_empty()) {
                let mut say =
                    |promise, piece, what: &str| found.push(Broken { promise, piece: Some(piece), what: what.into() });
                if let Some((last, thread, kind)) = before
                    && !fresh
                    && thread != piece.thread
                {
                    say(Promise::TrimmedAtChange, i, "the thread before it was not cut");
                    if kind != PassKind::Tie {
                        say(Promise::TiedOff, last, "its thread is not tied off");
                    }
                    fresh = true;
                }
                if fresh && pass.kind != PassKind::Tie {
                    say(Promise::TiedIn, i, "its thread is not tied in");
                }
                if pass.trim && pass.kind != PassKind::Tie {
                    say(Promise::TiedOff, i, "its thread is cut untied");
                }
                fresh = pass.trim;
                before = Some((i, piece.thread, pass.kind));
            }
        }
        if let Some((last, _, kind)) = before
            && !fresh
            && kind != PassKind::Tie
        {
            let what = "the last thread is not tied off".into();
            found.push(Broken { promise: Promise::TiedOff, piece: Some(last), what });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Color, Pass, Piece, Thread};
    use kurbo::Point;

    fn pass(kind: PassKind, xs: &[f64]) -> Pass {
        Pass::new(kind, xs.iter().map(|&x| Point::new(x, 0.0)).collect())
    }

    /// A sound plan of one piece in one of two threads.
    fn sound() -> Plan {
        let mut first = pass(PassKind::Tie, &[0.0, 0.8, 0.0]);
        first.jumps.push(Point::ZERO);
        let mut last = pass(PassKind::Tie, &[9.2, 10.0]);
        last.trim = true;
        let thread = |red| Thread { color: Color::new(red, 0, 0), name: Some("Leaf".into()) };
        Plan {
            title: Some("Patch".into()),
            threads: vec![thread(0), thread(9)],
            pieces: vec![Piece {
                name: "leaf".into(),
                method: Method::Run,
                thread: 0,
                passes: vec![first, pass(PassKind::Top, &[2.0, 5.0, 8.0, 10.0]), last],
            }],
            ..Plan::default()
        }
    }

    fn broken(change: impl FnOnce(&mut Plan)) -> Vec<Promise> {
        let mut plan = sound();
        change(&mut plan);
        plan.sanity_check().into_iter().map(|b| b.promise).collect()
    }

    #[test]
    fn a_sound_plan_breaks_nothing() {
        assert_eq!(broken(|_| {}), []);
        assert_eq!(Plan::default().sanity_check(), []);
    }

    #[test]
    fn points_are_finite_and_apart() {
        assert_eq!(broken(|p| p.pieces[0].passes[1].points[1].y = f64::NAN), [Promise::Finite]);
        assert_eq!(broken(|p| p.pieces[0].passes[1].points[1].x = 2.0), [Promise::NoZeroLength]);
    }

    #[test]
    fn a_stitch_is_at_most_12_mm() {
        let far = |p: &mut Plan| p.pieces[0].passes[1].points[0].x = -12.1;
        assert_eq!(broken(far), [Promise::NotTooLong, Promise::NotTooLong]);
    }

    #[test]
    fn nothing_is_empty() {
        assert_eq!(broken(|p| p.pieces[0].passes[1].points.clear()), [Promise::NoEmptyPass]);
        assert_eq!(broken(|p| p.pieces[0].passes.clear()), [Promise::NoEmptyPiece]);
    }

    #[test]
    fn a_thread_is_known() {
        assert_eq!(broken(|p| p.pieces[0].thread = 2), [Promise::KnownThread]);
    }

    #[test]
    fn threads_are_tied_in_and_off() {
        assert_eq!(broken(|p| p.pieces[0].passes[0].kind = PassKind::Top), [Promise::TiedIn]);
        assert_eq!(broken(|p| p.pieces[0].passes[2].kind = PassKind::Top), [Promise::TiedOff]);
        let untied = |p: &mut Plan| {
            p.pieces[0].passes.pop();
        };
        assert_eq!(broken(untied), [Promise::TiedOff]);
    }

    #[test]
    fn a_change_of_thread_wants_a_trim() {
        let second = |p: &mut Plan| {
            let mut piece = p.pieces[0].clone();
            piece.thread = 1;
            p.pieces[0].passes[2].trim = false;
            p.pieces.push(piece);
        };
        assert_eq!(broken(second), [Promise::NoLongFloat, Promise::TrimmedAtChange]);
    }

    #[test]
    fn names_are_one_clean_line() {
        assert_eq!(broken(|p| p.title = Some("a\nb".into())), [Promise::CleanNames]);
        assert_eq!(broken(|p| p.pieces[0].name = " ".into()), [Promise::CleanNames]);
        assert_eq!(broken(|p| p.threads[0].name = Some(String::new())), [Promise::CleanNames]);
    }
}
