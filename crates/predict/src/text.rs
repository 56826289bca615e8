//! A prediction in words.

use crate::{Gap, LEAST_GAP, PiecePrediction, Prediction};
use std::fmt::Write;

/// No more gaps are told than this.
const MOST_GAPS: usize = 20;

impl Prediction {
    /// For people, lengths in mm.
    pub fn to_text(&self) -> String {
        let mut text = format!("Once sewn ({})\n", self.note);
        if self.pieces.is_empty() {
            text.push_str("  nothing covers an area, so nothing is drawn in\n");
            return text;
        }
        text.push_str("  ends move in by  most  compensated  edge lies      to cancel it         name\n");
        for piece in &self.pieces {
            let PiecePrediction { name, drawn_in, drawn_in_most, compensated, edge_off, advice, .. } = piece;
            let side = if *edge_off < 0.0 { "inside" } else { "outside" };
            let _ = writeln!(
                text,
                "  {drawn_in:>16.2}  {drawn_in_most:.2}  {compensated:>11.2}  {:.2} {side:<8}  pull_compensation {advice:.2}  {name}",
                edge_off.abs()
            );
        }
        if self.gaps.is_empty() {
            let _ = writeln!(text, "\n  no gap of {LEAST_GAP:.1} mm or more opens between neighbours");
            return text;
        }
        text.push_str("\n  gaps that open between neighbours\n");
        for Gap { between: [one, other], width, length, x, y } in self.gaps.iter().take(MOST_GAPS) {
            let _ =
                writeln!(text, "  {width:.2} mm wide over {length:.0} mm, widest at {x:.1} {y:.1}: {one} and {other}");
        }
        if self.gaps.len() > MOST_GAPS {
            let _ = writeln!(text, "  and {} more", self.gaps.len() - MOST_GAPS);
        }
        text.push_str(
            "  compensate the shapes as above, or let the one that is sewn first reach under the other (overlap)\n",
        );
        text
    }
}
