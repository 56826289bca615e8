//! Which colour each thread of a plan gets.

use crate::Show;
use laidwork_plan::{Color, PassKind, Plan, Segment};

/// What a thread whose number the plan does not know looks like.
const UNKNOWN: Color = Color::new(0x80, 0x80, 0x80);

/// The colour of `segment`, the `index`-th of `count`.
pub(crate) fn color(plan: &Plan, show: Show, segment: &Segment, index: usize, count: usize) -> Color {
    match show {
        Show::Kinds => kind_color(segment),
        Show::Order => {
            let shade = (index as f64 / count.max(2) as f64 * 200.0) as u8;
            Color::new(shade, shade, shade)
        }
        Show::Threads | Show::Density | Show::Penetrations => thread_color(plan, segment.piece),
    }
}

/// The colour of the thread a piece is sewn with.
pub(crate) fn thread_color(plan: &Plan, piece: usize) -> Color {
    let thread = plan.pieces.get(piece).and_then(|piece| plan.threads.get(piece.thread));
    thread.map_or(UNKNOWN, |thread| thread.color)
}

fn kind_color(segment: &Segment) -> Color {
    if segment.float {
        return Color::new(0xd5, 0x2b, 0x1e);
    }
    match segment.kind {
        PassKind::Top => Color::new(0x2b, 0x6c, 0xb0),
        PassKind::Underlay => Color::new(0xe0, 0xa0, 0x20),
        PassKind::Travel => Color::new(0x20, 0x20, 0x20),
        PassKind::Tie => Color::new(0xa0, 0x50, 0xa0),
    }
}
