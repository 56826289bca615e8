//! Sharp corners of a limb, where one column ends at another's side.
//!
//! About a sharp inner corner the chords turn like the ribs of a fan. Such a
//! fan becomes a node between two limbs when it turns by more than 50° while
//! its inner side hardly advances, and when its outer side is a corner too, with most
//! of its turn in one place. A fan about a round outer side is sewn as it is, unless its
//! inner side is but a point. A fan about a corner of a junction belongs to its zone.

use super::axis::{Axis, Chord, Disc};
use super::graph::{Graph, Limb, Node};
use kurbo::Vec2;

/// What makes a fan a corner.
struct Kind {
    /// It turns by more than this, degrees, ...
    turn: f64,
    /// ... while its inner side advances by less than this share of the width.
    advance: f64,
    /// Its outer side must be a corner as well.
    outer: bool,
}

/// Both sides of it bend sharply.
const BENT: Kind = Kind { turn: 50.0, advance: 0.22, outer: true };

/// Its inner side is a point, about which all threads would meet: the
/// limbs to both sides, prolonged, cover whatever outer side it has.
const FOLDED: Kind = Kind { turn: 62.0, advance: 0.06, outer: false };

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
    let [begin, end] = limb.beyond_zones(axis);
    let mut found: Vec<Fan> = Vec::new();
    for (kind, side) in [(&BENT, 0), (&BENT, 1), (&FOLDED, 0), (&FOLDED, 1)] {
        let mut last = begin;
        for first in begin..(end + 1).min(limb.chords.len()) {
            last = last.max(first);
            let most = kind.advance * profile.width(first);
            while last < end && profile.advance(side, first, last + 1) <= most {
                last += 1;
            }
            let fan = Fan { first, last, turn: profile.turn_over(side, first, last, most) };
            if fan.turn.to_degrees() > kind.turn
                && (!kind.outer || is_corner(axis, &limb.chords, side, &fan))
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

/// The greatest turn of an outline within a stretch of it, radians. What an
/// outline turns at a point counts as turned evenly from the middle of one edge to the
/// middle of the next, so that a finer or coarser outline gives the same.
fn most_turn(edges: &[Vec2], turns: &[f64], stretch: f64) -> f64 {
    let mut ways = Vec::with_capacity(edges.len());
    let mut sums = Vec::with_capacity(edges.len());
    let (mut walked, mut sum) = (0.0, 0.0);
    for (i, edge) in edges.iter().enumerate() {
        let half = edge.hypot() / 2.0;
        if let Some(turn) = i.checked_sub(1).and_then(|before| turns.get(before)) {
            sum += turn;
        }
        walked += half;
        ways.push(walked);
        sums.push(sum);
        walked += half;
    }
    let mut most = 0.0_f64;
    // The greatest difference has one of its ends at the middle of an edge.
    for way in [-1.0, 1.0] {
        for (at, sum) in ways.iter().zip(&sums) {
            most = most.max((value_at(&ways, &sums, at + way * stretch) - sum).abs());
        }
    }
    most
}

/// The value at a place between known ones, straight in between and level beyond.
fn value_at(places: &[f64], values: &[f64], place: f64) -> f64 {
    let after = places.partition_point(|p| *p < place).min(places.len().saturating_sub(1));
    let before = after.saturating_sub(1);
    let at = |list: &[f64], i: usize| list.get(i).copied().unwrap_or(0.0);
    let (from, to) = (at(places, before), at(places, after));
    let share = if to > from { ((place - from) / (to - from)).clamp(0.0, 1.0) } else { 1.0 };
    at(values, before) + (at(values, after) - at(values, before)) * share
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

    /// The turn towards a side from one chord on while that side advances by `most` mm,
    /// of which `last` is the last whole chord, radians.
    fn turn_over(&self, side: usize, first: usize, last: usize, most: f64) -> f64 {
        let turn = self.turn(side, first, last);
        let (done, next) = (self.advance(side, first, last), self.advance(side, first, last + 1));
        if last + 1 >= self.angles.len() || next <= done {
            return turn;
        }
        let share = ((most - done) / (next - done)).clamp(0.0, 1.0);
        turn + share * (self.turn(side, first, last + 1) - turn).max(0.0)
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
