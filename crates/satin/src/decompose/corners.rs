//! Sharp corners of a limb, where one column ends at another's side.
//!
//! About a sharp inner corner the chords turn like the ribs of a fan. Such a
//! fan becomes a node between two limbs when it turns by more than 50° while
//! its inner side hardly advances, and when its outer side is a corner too, with most
//! of its turn in one place: a fan about a round outer side is sewn as it is.

use super::axis::{Axis, Chord, Disc};
use super::graph::{Graph, Limb, Node};
use kurbo::Vec2;

/// A fan turns by more than this, degrees.
const TURN: f64 = 50.0;

/// Its inner side advances by less than this share of the width.
const ADVANCE: f64 = 0.22;

/// Its outer side does this share of the turn ...
const CORNER_TURN: f64 = 0.72;

/// ... within this share of the width.
const CORNER_LENGTH: f64 = 0.5;

/// A rounded corner turns by at least this within that length, degrees.
const LEAST_TURN: f64 = 45.0;

/// A bevelled corner has its edges within this share of the width; each of them turns by ...
const BEVEL_LENGTH: f64 = 1.35;

/// ... at least this at one point, degrees.
const SHARP: f64 = 20.0;

/// So much of the limb is left before a free end, in widths.
const LEFT_OVER: f64 = 0.35;

/// A fan: its first and last chord.
#[derive(Clone, Copy, Debug)]
struct Fan {
    first: usize,
    last: usize,
    turn: f64,
}

/// Splits the limbs of a graph at their sharp corners.
pub(crate) fn split_corners(axis: &Axis, graph: &mut Graph) {
    let limbs = std::mem::take(&mut graph.limbs);
    for mut limb in limbs {
        if limb.closed {
            begin_straight(axis, &mut limb);
        }
        let mut fans = fans(axis, &limb);
        if limb.closed && !fans.is_empty() {
            open_at(&mut limb, &mut fans);
            // The first fan now begins the row and ends it.
        }
        if fans.is_empty() {
            graph.limbs.push(limb);
            continue;
        }
        cut_at(axis, graph, limb, &fans);
    }
}

/// Turns a ring so that it begins where it is straightest, and no fan lies across its beginning.
fn begin_straight(axis: &Axis, limb: &mut Limb) {
    let profile = Profile::new(axis, limb);
    let count = limb.chords.len();
    let reach = (count / 12).max(2);
    if count < 3 * reach {
        return;
    }
    let bend = |i: usize| (between(&profile.angles, i - reach, i + reach) * 1e3).abs().round();
    let straight = (reach..count - reach).min_by(|a, b| bend(*a).total_cmp(&bend(*b)).then(a.cmp(b)));
    rotate(limb, straight.unwrap_or(0));
}

fn rotate(limb: &mut Limb, by: usize) {
    let (chords, triangles) = (limb.chords.len(), limb.triangles.len());
    limb.chords.rotate_left(by.min(chords));
    limb.triangles.rotate_left(by.min(triangles));
}

/// Turns a ring so that it begins with the last chord of its first fan.
fn open_at(limb: &mut Limb, fans: &mut [Fan]) {
    let Some(&Fan { first, last, turn }) = fans.first() else { return };
    let count = limb.chords.len();
    rotate(limb, last);
    for fan in fans.iter_mut() {
        fan.first -= last.min(fan.first);
        fan.last -= last;
    }
    if let Some(fan) = fans.first_mut() {
        *fan = Fan { first: count + first - last, last: count, turn };
    }
    fans.rotate_left(1);
}

/// Pieces of a limb between its fans; every fan becomes a node.
fn cut_at(axis: &Axis, graph: &mut Graph, limb: Limb, fans: &[Fan]) {
    let was_closed = limb.closed;
    let mut start = 0;
    let mut before = limb.nodes[0];
    let mut tip = limb.tips[0];
    let closing = graph.nodes.len() + fans.len() - 1;
    if was_closed {
        before = Some(closing);
    }
    for fan in fans {
        let node = graph.nodes.len();
        graph.nodes.push(corner(axis, &limb, fan));
        graph.limbs.push(piece(&limb, start, fan.first, [before, Some(node)], [tip, None]));
        before = Some(node);
        tip = None;
        start = fan.last;
    }
    if !was_closed {
        let end = limb.chords.len().saturating_sub(1);
        graph.limbs.push(piece(&limb, start, end, [before, limb.nodes[1]], [None, limb.tips[1]]));
    }
}

fn piece(limb: &Limb, from: usize, to: usize, nodes: [Option<usize>; 2], tips: [Option<usize>; 2]) -> Limb {
    let to = to.min(limb.chords.len().saturating_sub(1)).max(from);
    Limb {
        chords: limb.chords.get(from..=to).unwrap_or_default().to_vec(),
        triangles: limb.triangles.get(from..to).unwrap_or_default().to_vec(),
        tips,
        nodes,
        closed: false,
    }
}

fn corner(axis: &Axis, limb: &Limb, fan: &Fan) -> Node {
    let count = limb.chords.len().max(1);
    let ribs: Vec<_> = (fan.first..=fan.last).filter_map(|i| limb.chords.get(i % count)).collect();
    let widths = ribs.iter().map(|c| axis.width(**c));
    let radius = widths.fold(0.0, f64::max) / 2.0;
    let middle = ribs.get(ribs.len() / 2).map(|c| axis.middle(**c)).unwrap_or_default();
    Node { disc: Disc { centre: middle, radius }, corner: true }
}

/// The fans of a limb in order, none overlapping.
fn fans(axis: &Axis, limb: &Limb) -> Vec<Fan> {
    let profile = Profile::new(axis, limb);
    let count = limb.chords.len();
    let mut found: Vec<Fan> = Vec::new();
    for side in [0, 1] {
        let mut last = 0;
        for first in 0..count {
            last = last.max(first);
            while last + 1 < count && profile.advance(side, first, last + 1) <= ADVANCE * profile.width(first) {
                last += 1;
            }
            let fan = Fan { first, last, turn: profile.turn(side, first, last) };
            if fan.turn.to_degrees() > TURN
                && is_corner(axis, &limb.chords, side, &fan)
                && profile.leaves_enough(limb, &fan)
            {
                found.push(fan);
            }
        }
    }
    // The sharpest first; of equal ones the shortest, then the first.
    found.sort_by(|a, b| {
        let key = |f: &Fan| (f.turn * 50.0).round();
        key(b).total_cmp(&key(a)).then((a.last - a.first).cmp(&(b.last - b.first))).then(a.first.cmp(&b.first))
    });
    let mut kept: Vec<Fan> = Vec::new();
    for fan in found {
        if kept.iter().all(|k| fan.last < k.first || fan.first > k.last) {
            kept.push(fan);
        }
        if kept.len() > 200 {
            break;
        }
    }
    kept.sort_by_key(|fan| fan.first);
    kept
}

/// Whether the outer side of a fan, whose inner side is given, is a corner.
fn is_corner(axis: &Axis, chords: &[Chord], inner: usize, fan: &Fan) -> bool {
    let (Some(first), Some(last)) = (chords.get(fan.first), chords.get(fan.last)) else { return false };
    // The outline runs with the shape on the side where angles grow: forwards on the left.
    let most = 8 * (fan.last - fan.first) + 64;
    let outer = match inner {
        1 => axis.outline(first.left, last.left, most),
        _ => axis.outline(last.right, first.right, most),
    };
    let width = axis.width(*first).min(axis.width(*last));
    let edges: Vec<Vec2> = outer.windows(2).map(|p| if let &[a, b] = p { b - a } else { Vec2::ZERO }).collect();
    let turn = |e: &[Vec2]| if let &[u, v] = e { u.cross(v).atan2(u.dot(v)) } else { 0.0 };
    let turns: Vec<f64> = edges.windows(2).map(turn).collect();
    let sharp: Vec<f64> = turns.iter().map(|t| if t.abs().to_degrees() > SHARP { *t } else { 0.0 }).collect();
    let needed = CORNER_TURN * fan.turn;
    most_turn(&edges, &turns, CORNER_LENGTH * width) >= needed.max(LEAST_TURN.to_radians())
        || most_turn(&edges, &sharp, BEVEL_LENGTH * width) >= needed
}

/// The greatest turn of an outline within a stretch of it, radians.
fn most_turn(edges: &[Vec2], turns: &[f64], stretch: f64) -> f64 {
    let (mut sum, mut length, mut from, mut most) = (0.0, 0.0, 0, 0.0_f64);
    for (i, turn) in turns.iter().enumerate() {
        sum += turn;
        length += if i > from { edges.get(i).map_or(0.0, |e| e.hypot()) } else { 0.0 };
        while length > stretch && from < i {
            sum -= turns.get(from).copied().unwrap_or(0.0);
            from += 1;
            length -= edges.get(from).map_or(0.0, |e| e.hypot());
        }
        most = most.max(sum.abs());
    }
    most
}

/// Running sums along a limb.
struct Profile {
    widths: Vec<f64>,
    /// Length of the left and of the right side up to each chord.
    sides: [Vec<f64>; 2],
    /// Direction of each chord without jumps, radians.
    angles: Vec<f64>,
    walked: Vec<f64>,
}

impl Profile {
    fn new(axis: &Axis, limb: &Limb) -> Profile {
        let mut profile = Profile {
            widths: limb.chords.iter().map(|c| axis.width(*c)).collect(),
            sides: [Vec::new(), Vec::new()],
            angles: Vec::new(),
            walked: limb.walked(axis),
        };
        let (mut left, mut right, mut angle) = (0.0, 0.0, 0.0);
        for (i, chord) in limb.chords.iter().enumerate() {
            if let Some(before) = i.checked_sub(1).and_then(|b| limb.chords.get(b)) {
                let ((a, b), (c, d)) = (axis.ends(*before), axis.ends(*chord));
                left += a.distance(c);
                right += b.distance(d);
                let (u, v) = (axis.along(*before), axis.along(*chord));
                angle += u.cross(v).atan2(u.dot(v));
            }
            profile.sides[0].push(left);
            profile.sides[1].push(right);
            profile.angles.push(angle);
        }
        profile
    }

    fn advance(&self, side: usize, from: usize, to: usize) -> f64 {
        between(&self.sides[side], from, to)
    }

    /// The turn towards a side, radians.
    fn turn(&self, side: usize, from: usize, to: usize) -> f64 {
        // Angles grow to the right, about an inner corner on the right side.
        let turn = between(&self.angles, from, to);
        if side == 1 { turn } else { -turn }
    }

    fn width(&self, at: usize) -> f64 {
        self.widths.get(at).copied().unwrap_or(0.0)
    }

    /// Whether something is left of the limb before a free end.
    fn leaves_enough(&self, limb: &Limb, fan: &Fan) -> bool {
        let end = self.walked.len().saturating_sub(1);
        let enough = |from: usize, to: usize, at: usize| between(&self.walked, from, to) >= LEFT_OVER * self.width(at);
        (limb.tips[0].is_none() || enough(0, fan.first, fan.first))
            && (limb.tips[1].is_none() || enough(fan.last, end, fan.last))
    }
}

fn between(sums: &[f64], from: usize, to: usize) -> f64 {
    sums.get(to).copied().unwrap_or(0.0) - sums.get(from).copied().unwrap_or(0.0)
}
