//! The colour of the thread of a piece.

use laidwork_plan::{Color, Plan};

/// What a thread whose number the plan does not know looks like.
pub(crate) const UNKNOWN: Color = Color::new(0x80, 0x80, 0x80);

/// The colour of the thread a piece is sewn with.
pub(crate) fn thread_color(plan: &Plan, piece: usize) -> Color {
    let thread = plan.pieces.get(piece).and_then(|piece| plan.threads.get(piece.thread));
    thread.map_or(UNKNOWN, |thread| thread.color)
}
