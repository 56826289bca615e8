//! A pass: one unbroken run of needle points.

use kurbo::Point;

/// What the thread of a pass is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PassKind {
    /// Carries the top stitching.
    Underlay,
    /// What the eye sees.
    Top,
    /// Moves through a shape before it is covered.
    Travel,
    /// Locks a thread at its start or end.
    Tie,
}

impl PassKind {
    /// Every kind, in the order of the list's grammar.
    pub const ALL: [PassKind; 4] = [PassKind::Underlay, PassKind::Top, PassKind::Travel, PassKind::Tie];

    /// The word for it in lists and reports.
    pub const fn word(self) -> &'static str {
        match self {
            PassKind::Underlay => "underlay",
            PassKind::Top => "top",
            PassKind::Travel => "travel",
            PassKind::Tie => "tie",
        }
    }
}

/// One unbroken run of needle points.
///
/// Thread also lies between the last point of a pass and the first point of
/// the next one, unless a jump or a trim stands between them; that segment
/// belongs to the later pass. So a pass that goes on from the one before does
/// *not* repeat its last point.
#[derive(Clone, Debug, PartialEq)]
pub struct Pass {
    /// What the thread is for.
    pub kind: PassKind,
    /// Moves of the frame with the needle up, before the first point. The
    /// thread is dragged along unless it was trimmed.
    pub jumps: Vec<Point>,
    /// Needle penetrations, mm.
    pub points: Vec<Point>,
    /// The thread is cut after the last point.
    pub trim: bool,
    /// The machine halts for the operator after the last point (and the trim).
    pub stop: bool,
}

impl Pass {
    /// A pass that goes on from where the thread is.
    pub fn new(kind: PassKind, points: Vec<Point>) -> Pass {
        Pass { kind, jumps: Vec::new(), points, trim: false, stop: false }
    }

    /// A pass that begins with a jump to its own first point.
    pub fn after_jump(kind: PassKind, points: Vec<Point>) -> Pass {
        Pass { kind, jumps: points.first().copied().into_iter().collect(), points, trim: false, stop: false }
    }
}

/// Thread laid between two needle points that follow each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    /// Index of the piece in the plan.
    pub piece: usize,
    /// Kind of the pass its end belongs to.
    pub kind: PassKind,
    /// Where the thread comes up.
    pub from: Point,
    /// Where it goes down.
    pub to: Point,
    /// Laid by an untrimmed jump: the thread lies loose on the surface.
    pub float: bool,
}

impl Segment {
    /// Its length, mm.
    pub fn length(&self) -> f64 {
        self.from.distance(self.to)
    }
}
