//! Diagrams of a plan: kinds, order, density, penetrations.
//!
//! A diagram lays thin marks where the thread runs, so that what a later thread
//! hides can still be seen, with a key below.

use crate::frame::Frame;
use crate::key::Key;
use crate::marks::Mark;
use crate::ramp::{self, BLUE, INK, ORANGE, PURPLE, VERMILION, ramp};
use crate::{Look, Show};
use laidwork_plan::{Color, Pass, PassKind, Plan, Point, Rect, Segment};
use laidwork_report::{DensityGrid, Limits};

/// Side of the cells a map of density shows, mm: the report's limits speak of these.
pub(crate) const CELL: f64 = 2.0;

/// Thread in a diagram is drawn this share of its width.
const THIN: f64 = 0.4;

/// Shades that tell early from late.
const SHADES: usize = 240;

/// Grey for what is only there to find one's way.
const FAINT: Color = Color::new(0xc4, 0xc2, 0xbc);

/// A diagram: its marks, and the frame with room for the key.
pub(crate) struct Diagram {
    pub frame: Frame,
    pub marks: Vec<Mark>,
}

/// The diagram a look asks for; nothing when it asks for thread as sewn.
pub(crate) fn diagram(plan: &Plan, look: &Look) -> Option<Diagram> {
    let frame = Frame::around(plan, look);
    let mut key = Key::new(frame);
    let mut marks = vec![Mark::Cell { rect: frame.rect, color: ramp::PAPER }];
    match look.show {
        Show::Threads => return None,
        Show::Kinds => kinds(plan, look, &mut marks, &mut key),
        Show::Order => order(plan, look, &mut marks, &mut key),
        Show::Density => amounts(plan, &look.limits, &mut marks, &mut key),
        Show::Penetrations => penetrations(plan, look, &mut marks, &mut key),
    }
    let (frame, key) = key.finish();
    marks.extend(key);
    Some(Diagram { frame, marks })
}

/// The colour of a kind of thread.
fn kind_color(kind: PassKind) -> Color {
    match kind {
        PassKind::Top => BLUE,
        PassKind::Underlay => ORANGE,
        PassKind::Travel => INK,
        PassKind::Tie => PURPLE,
    }
}

/// Every kind in its colour, the top coat faint so that the rest shows.
fn kinds(plan: &Plan, look: &Look, marks: &mut Vec<Mark>, key: &mut Key) {
    let mut chains: Vec<(Option<PassKind>, Vec<Point>)> = Vec::new();
    plan.for_each_segment(|segment| {
        let kind = (!segment.float).then_some(segment.kind);
        match chains.last_mut() {
            Some((last, points)) if *last == kind && points.last() == Some(&segment.from) => points.push(segment.to),
            _ => chains.push((kind, vec![segment.from, segment.to])),
        }
    });
    let shown = [Some(PassKind::Top), Some(PassKind::Underlay), Some(PassKind::Travel), Some(PassKind::Tie), None];
    for kind in shown {
        let (color, share, opacity, word) = match kind {
            Some(PassKind::Top) => (BLUE, THIN, 0.35, "top"),
            Some(kind) => (kind_color(kind), THIN, 1.0, kind.word()),
            None => (VERMILION, 2.0 * THIN, 1.0, "float"),
        };
        let width = look.thread_width * share;
        let before = marks.len();
        for (_, points) in chains.iter().filter(|(of, _)| *of == kind) {
            marks.push(Mark::Line { points: points.clone(), width, color, opacity, dash: None });
        }
        if marks.len() > before {
            key.line(color, width.max(key.text() * 0.25), None, word);
        }
    }
    let jumps = jumps(plan);
    if !jumps.is_empty() {
        let width = look.thread_width * THIN * 0.6;
        key.line(INK, width.max(key.text() * 0.12), Some(key.text() * 0.3), "jump, cut");
        marks.extend(jumps.into_iter().map(|points| {
            let dash = Some(look.thread_width * 1.5);
            Mark::Line { points, width, color: INK, opacity: 0.8, dash }
        }));
    }
}

/// The ways of the frame after each cut.
fn jumps(plan: &Plan) -> Vec<Vec<Point>> {
    let mut ways = Vec::new();
    let mut cut_at: Option<Point> = None;
    for (_, pass) in plan.passes() {
        if let (Some(from), Some(to)) = (cut_at, pass.points.first()) {
            ways.push([&[from], pass.jumps.as_slice(), &[*to]].concat());
        }
        cut_at = if pass.trim { pass.points.last().copied() } else { None };
    }
    ways
}

/// Thread from pale to dark in the order it is sewn.
fn order(plan: &Plan, look: &Look, marks: &mut Vec<Mark>, key: &mut Key) {
    let mut segments: Vec<Segment> = Vec::new();
    plan.for_each_segment(|segment| segments.push(segment));
    let count = segments.len();
    let mut last = None;
    for (i, segment) in segments.into_iter().enumerate() {
        let shade = i * SHADES / count;
        match marks.last_mut() {
            Some(Mark::Line { points, .. }) if last == Some((shade, segment.from)) => points.push(segment.to),
            _ => marks.push(Mark::Line {
                points: vec![segment.from, segment.to],
                width: look.thread_width,
                color: ramp(0.06 + 0.94 * shade as f64 / SHADES as f64),
                opacity: 1.0,
                dash: None,
            }),
        }
        last = Some((shade, segment.to));
    }
    key.bar(|t| ramp(0.06 + 0.94 * t), &[(0.0, "first stitch".into()), (1.0, "last stitch".into())], "");
}

/// Thread per mm² as a map of cells, with the limits on its scale.
fn amounts(plan: &Plan, limits: &Limits, marks: &mut Vec<Mark>, key: &mut Key) {
    let full = limits.thread_most * 1.25;
    if let Some(grid) = DensityGrid::of(plan, CELL) {
        for cell in 0..grid.thread_mm.len() {
            let amount = grid.thread_density(cell);
            if amount > 0.0 {
                let rect = Rect::from_center_size(grid.center(cell), (CELL, CELL));
                marks.push(Mark::Cell { rect, color: ramp(amount / full) });
                // What is over a limit says so without its colour too.
                if amount > limits.thread_warn {
                    marks.push(slash(rect, false));
                }
                if amount > limits.thread_most {
                    marks.push(slash(rect, true));
                }
            }
        }
    }
    let ticks = [
        (0.0, "0".to_owned()),
        (limits.thread_warn / full, format!("{:.0} warn", limits.thread_warn)),
        (limits.thread_most / full, format!("{:.0} too much", limits.thread_most)),
    ];
    key.bar(ramp, &ticks, "mm/mm²");
}

/// A slash through the middle of a cell, rising, or falling to make a cross of it.
fn slash(cell: Rect, falling: bool) -> Mark {
    let inner = cell.inset(-0.3 * CELL);
    let (left, right) = if falling { (inner.y0, inner.y1) } else { (inner.y1, inner.y0) };
    let points = vec![Point::new(inner.x0, left), Point::new(inner.x1, right)];
    Mark::Line { points, width: 0.06 * CELL, color: ramp::PAPER, opacity: 1.0, dash: None }
}

/// Every needle point, the short steps between them, and the cuts.
fn penetrations(plan: &Plan, look: &Look, marks: &mut Vec<Mark>, key: &mut Key) {
    plan.for_each_segment(|segment| {
        let points = vec![segment.from, segment.to];
        marks.push(Mark::Line { points, width: look.thread_width * 0.2, color: FAINT, opacity: 0.7, dash: None });
    });
    let radius = look.thread_width * 0.24;
    let dot = |center, color| Mark::Dot { center, radius, color, opacity: 1.0 };
    for (_, pass) in plan.passes() {
        marks.extend(pass.points.iter().map(|&point| dot(point, INK)));
    }
    let mut last: Option<&Pass> = None;
    let mut starts = Vec::new();
    for (_, pass) in plan.passes() {
        if last.is_none_or(|last| last.trim) {
            starts.extend(pass.points.first().copied());
        }
        last = Some(pass);
    }
    let ends = plan.passes().filter(|(_, pass)| pass.trim).filter_map(|(_, pass)| pass.points.last().copied());
    for (points, color) in [(starts, BLUE), (ends.collect(), VERMILION)] {
        marks.extend(points.into_iter().map(|center| Mark::Dot { center, radius: radius * 2.2, color, opacity: 0.85 }));
    }
    key.dot(INK, 0.18, "needle point");
    key.dot(BLUE, 0.3, "thread begins");
    key.dot(VERMILION, 0.3, "thread is cut");
}
