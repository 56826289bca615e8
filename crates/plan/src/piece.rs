//! Pieces and the plan that holds them in sewing order.

use crate::{Pass, Segment, Thread};
use kurbo::{Point, Rect};

/// How a piece is sewn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Method {
    /// A line of stitches along a path.
    Run,
    /// Threads laid across between two sides.
    Satin,
    /// Rows laid over an area.
    Fill,
    /// Stitches placed by hand or by another program.
    Manual,
}

impl Method {
    /// Every method, in the order of the list's grammar.
    pub const ALL: [Method; 4] = [Method::Run, Method::Satin, Method::Fill, Method::Manual];

    /// The word for it in lists, recipes and reports.
    pub const fn word(self) -> &'static str {
        match self {
            Method::Run => "run",
            Method::Satin => "satin",
            Method::Fill => "fill",
            Method::Manual => "manual",
        }
    }
}

/// One shape, or part of it, sewn by one method in one thread.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// The id path of the shape it comes from; one line, not empty.
    pub name: String,
    /// How it is sewn.
    pub method: Method,
    /// Index into [`Plan::threads`].
    pub thread: usize,
    /// Its passes in sewing order.
    pub passes: Vec<Pass>,
}

/// The frame's inside, centred on the origin, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hoop {
    /// Along x.
    pub width: f64,
    /// Along y.
    pub height: f64,
}

/// A design in sewing order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plan {
    /// What the design is called; one line, not empty.
    pub title: Option<String>,
    /// The drawing's viewport, so that the artwork can be laid under the stitches.
    pub drawing: Option<Rect>,
    /// The hoop it is meant for.
    pub hoop: Option<Hoop>,
    /// Threads, in the order of first use.
    pub threads: Vec<Thread>,
    /// Pieces, in sewing order.
    pub pieces: Vec<Piece>,
}

impl Plan {
    /// Every pass in sewing order, with the index of its piece.
    pub fn passes(&self) -> impl Iterator<Item = (usize, &Pass)> {
        self.pieces.iter().enumerate().flat_map(|(i, piece)| piece.passes.iter().map(move |pass| (i, pass)))
    }

    /// Number of needle penetrations.
    pub fn stitches(&self) -> usize {
        self.passes().map(|(_, pass)| pass.points.len()).sum()
    }

    /// Number of cuts of the thread.
    pub fn trims(&self) -> usize {
        self.passes().filter(|(_, pass)| pass.trim).count()
    }

    /// Number of changes of thread between pieces.
    pub fn thread_changes(&self) -> usize {
        self.pieces.windows(2).filter(|pair| pair[0].thread != pair[1].thread).count()
    }

    /// The smallest rectangle around all needle points, mm.
    pub fn bounds(&self) -> Option<Rect> {
        let mut points = self.passes().flat_map(|(_, pass)| pass.points.iter().copied());
        let first = points.next()?;
        Some(points.fold(Rect::from_points(first, first), |rect, point| rect.union_pt(point)))
    }

    /// Calls `each` with every length of thread laid, in sewing order. A trim
    /// breaks the thread; a jump without one lays a float. A change of thread
    /// does not by itself cut anything: the pass before it says so.
    pub fn for_each_segment(&self, each: impl FnMut(Segment)) {
        for_each_segment(self.passes(), each);
    }
}

impl Piece {
    /// The same for one piece alone, as if it were the first of a plan.
    pub fn for_each_segment(&self, each: impl FnMut(Segment)) {
        for_each_segment(self.passes.iter().map(|pass| (0, pass)), each);
    }
}

fn for_each_segment<'a>(passes: impl Iterator<Item = (usize, &'a Pass)>, mut each: impl FnMut(Segment)) {
    let mut last: Option<Point> = None;
    for (piece, pass) in passes {
        let mut float = !pass.jumps.is_empty();
        for &to in &pass.points {
            if let Some(from) = last {
                each(Segment { piece, kind: pass.kind, from, to, float });
            }
            float = false;
            last = Some(to);
        }
        if pass.trim {
            last = None;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Color, PassKind};

    fn plan() -> Plan {
        let at = |x: f64| Point::new(x, 0.0);
        let mut first = Pass::after_jump(PassKind::Underlay, vec![at(0.0), at(2.0)]);
        first.trim = true;
        let second = Pass::after_jump(PassKind::Top, vec![at(5.0), at(7.0)]);
        let third = Pass::after_jump(PassKind::Top, vec![at(9.0)]);
        let piece = |thread, passes| Piece { name: "leaf".into(), method: Method::Run, thread, passes };
        let thread = |red| Thread { color: Color::new(red, 0, 0), name: None };
        Plan {
            threads: vec![thread(1), thread(2)],
            pieces: vec![piece(0, vec![first]), piece(1, vec![second, third])],
            ..Plan::default()
        }
    }

    #[test]
    fn counts() {
        let plan = plan();
        assert_eq!((plan.stitches(), plan.trims(), plan.thread_changes()), (5, 1, 1));
        assert_eq!(plan.bounds(), Some(Rect::new(0.0, 0.0, 9.0, 0.0)));
    }

    #[test]
    fn a_trim_breaks_the_thread_and_a_jump_floats_it() {
        let mut seen = Vec::new();
        plan().for_each_segment(|s| seen.push((s.piece, s.from.x, s.to.x, s.float)));
        assert_eq!(seen, [(0, 0.0, 2.0, false), (1, 5.0, 7.0, false), (1, 7.0, 9.0, true)]);
    }
}
