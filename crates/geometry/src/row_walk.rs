//! An order to lay the rows of a polygon in, one after the other without a
//! break, so that no move in between lies on a row laid before it.
//!
//! **The graph.** A span with one link up and one link down lies in the middle
//! of a *corridor*; every other span is a *junction* (also one that overhangs
//! its only neighbour by far). So corridors are the edges of a graph, and
//! junctions its vertices: the boustrophedon decomposition (Choset and
//! Pignon 1998) with its cell borders drawn as rows of their own.
//!
//! **The walk.** [`walk_every_edge`] walks every corridor once or twice, which
//! is least travel by the postman's argument. A corridor walked twice is first
//! travelled through and then, the last time, laid back and forth row by row.
//! At each visit of a junction the walk moves along its row, from where it
//! comes to where it goes on. The row is cut into *parts* between the corners
//! of the corridors that meet it; a part is laid the last time the walk moves
//! over it, and slipped along before. A part never moved over is slipped along
//! and laid on the way back, at the last visit that comes to one end of it.
//!
//! **Why nothing shows.** Every move is (a) through a corridor that is laid
//! later, by the postman's rule; (b) along a part that is laid later, by the
//! rule above; or (c) a turn, from the end of a row to the beginning of the
//! next, at the outline. So no move lies on a row laid before it.
//!
//! **Which side first.** A corridor can be laid from its left or its right
//! corner; the number of its rows then fixes the corner it ends at. The sides
//! are chosen for the least moving along junctions by dynamic programming over
//! the walk (two states). Exact for junctions visited once; for others the
//! length moved is what is made least, though a part moved over once is free.
//!
//! Time: O(spans + links) and the postman's.

use crate::RowGraph;
use crate::postman::{PostmanEdge, PostmanStep, PostmanWalk, walk_every_edge};
use crate::row_corridors::{Graph, NONE, Part};
use crate::row_parts::JunctionPlan;

/// Parts of a junction are at least this long, mm, where the row is.
const SHORTEST_PART: f64 = 1.5;

/// The lower or higher end of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Where a span begins.
    From,
    /// Where a span ends.
    To,
}

impl Side {
    /// The other one.
    pub fn other(self) -> Side {
        match self {
            Side::From => Side::To,
            Side::To => Side::From,
        }
    }

    const BOTH: [Side; 2] = [Side::From, Side::To];
}

/// A chain of spans that follow each other, each linked to the next alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corridor {
    /// The first span in walking order.
    pub first: u32,
    /// How many spans; there is at least one.
    pub rows: u32,
    /// Whether rows rise along the walk.
    pub upward: bool,
}

/// One move of a walk over the rows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RowStep {
    /// Lay a part of a row, from one place along it to another.
    Lay {
        /// Index of the span.
        span: u32,
        /// Where to start, mm along the row.
        from: f64,
        /// Where to end.
        to: f64,
    },
    /// Move along a part of a row that is laid later, or come through a place of it (`from` is `to`).
    Slip {
        /// Index of the span.
        span: u32,
        /// Where from, mm along the row.
        from: f64,
        /// Where to.
        to: f64,
        /// On which side rows are laid later too: 1 above, -1 below, 0 on neither.
        toward: i8,
    },
    /// Lay all rows of a corridor back and forth.
    Weave {
        /// Its spans.
        corridor: Corridor,
        /// Where the first row starts.
        side: Side,
    },
    /// Move through a corridor that is laid later.
    Travel {
        /// Its spans.
        corridor: Corridor,
        /// Near where along its first row to start, mm.
        from: f64,
        /// Near where along its last row to end.
        to: f64,
    },
}

/// Where a walk should start and end: indices of spans and places along their rows.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct WalkEnds {
    /// Start at this span, at the end of it that is nearer.
    pub start: Option<(u32, f64)>,
    /// End at this span, at the end of it that is nearer.
    pub end: Option<(u32, f64)>,
}

/// A walk over some rows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RowWalk {
    /// The moves, each going on from where the one before ends. Where rows are
    /// not all connected (the outline only touches itself in points), the
    /// walk breaks off at the indices in `breaks`.
    pub steps: Vec<RowStep>,
    /// Steps before which the walk begins anew elsewhere; rising.
    pub breaks: Vec<usize>,
    /// Length travelled through corridors and slipped along parts, mm, about.
    pub travel: f64,
}

/// Walks over all spans of `rows`, whose lines are about `spacing` mm apart.
pub fn walk_rows(rows: &RowGraph, spacing: f64, ends: WalkEnds) -> RowWalk {
    let graph = Graph::new(rows, spacing, ends);
    let mut walk = RowWalk::default();
    for part in graph.connected_parts(ends) {
        if !walk.steps.is_empty() {
            walk.breaks.push(walk.steps.len());
        }
        PartWalk::new(rows, &graph, &part).walk(&part, &mut walk);
    }
    walk
}

/// The walk over one connected part.
pub(crate) struct PartWalk<'a> {
    graph: &'a Graph,
    part: &'a Part,
    /// Where each junction's row is cut, rising: `cuts[first[j]..first[j + 1]]`, two at least.
    pub(crate) cuts: Vec<f64>,
    pub(crate) first: Vec<u32>,
}

/// A stay at a junction between two edges: from which cut to which.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Visit {
    pub(crate) junction: u32,
    pub(crate) from: u32,
    pub(crate) to: u32,
}

impl<'a> PartWalk<'a> {
    fn new(rows: &'a RowGraph, graph: &'a Graph, part: &'a Part) -> PartWalk<'a> {
        let mut corners: Vec<(u32, f64)> = Vec::with_capacity(part.edges.len() * 4);
        for &(index, ends) in &part.edges {
            let edge = &graph.edges[index as usize];
            corners.extend(edge.corners[0].map(|x| (ends.a, x)));
            corners.extend(edge.corners[1].map(|x| (ends.b, x)));
        }
        corners.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let (mut cuts, mut first) = (Vec::new(), vec![0]);
        let mut corners = corners.into_iter().peekable();
        for (j, &junction) in part.junctions.iter().enumerate() {
            let span = &rows.spans[graph.junctions[junction as usize] as usize];
            cuts.push(span.from);
            let mut last = span.from;
            while let Some((_, x)) = corners.next_if(|c| c.0 == j as u32) {
                if x - last >= SHORTEST_PART && span.to - x >= SHORTEST_PART {
                    cuts.push(x);
                    last = x;
                }
            }
            cuts.push(span.to);
            first.push(cuts.len() as u32);
        }
        PartWalk { graph, part, cuts, first }
    }

    pub(crate) fn cuts(&self, junction: u32) -> &[f64] {
        &self.cuts[self.first[junction as usize] as usize..self.first[junction as usize + 1] as usize]
    }

    /// The cut of a junction nearest to a place along its row.
    fn nearest_cut(&self, junction: u32, x: f64) -> u32 {
        let cuts = self.cuts(junction);
        let above = cuts.partition_point(|&cut| cut < x).min(cuts.len() - 1);
        let below = above.saturating_sub(1);
        if (x - cuts[below]).abs() <= (cuts[above] - x).abs() { below as u32 } else { above as u32 }
    }

    pub(crate) fn span_of(&self, junction: u32) -> u32 {
        self.graph.junctions[self.part.junctions[junction as usize] as usize]
    }

    fn walk(&self, part: &Part, out: &mut RowWalk) {
        let edges: Vec<PostmanEdge> = part.edges.iter().map(|edge| edge.1).collect();
        let (start, end) = (part.start.map(|s| s.0), part.end.map(|e| e.0));
        let walk = walk_every_edge(part.junctions.len(), &edges, start, end);
        let legs: Vec<Leg> = walk.steps.iter().map(|&step| self.leg(step)).collect();
        let sides = self.choose_sides(walk.start, &legs);
        self.follow(&walk, &legs, &sides, out);
    }

    /// The moves of a walk whose legs are left and entered by given corners.
    fn follow(&self, walk: &PostmanWalk, legs: &[Leg], sides: &Sides, out: &mut RowWalk) {
        let visits = self.visits(walk.start, legs, sides);
        let plan = JunctionPlan::new(self, &visits, self.legs_beside(legs, &walk.steps));
        for (i, visit) in visits.iter().enumerate() {
            plan.lay(self, i as u32, *visit, out);
            if let (Some(leg), Some(side)) = (legs.get(i), sides.legs.get(i)) {
                self.go(visit.junction, leg, *side, out);
            }
        }
    }

    /// For each part, the first leg that lays something below it, and above it; 0 where there is nothing.
    fn legs_beside(&self, legs: &[Leg], steps: &[PostmanStep]) -> [Vec<u32>; 2] {
        let mut beside = [vec![NONE; self.cuts.len()], vec![NONE; self.cuts.len()]];
        for (i, (leg, step)) in legs.iter().zip(steps).enumerate().filter(|(_, (leg, _))| leg.laid) {
            let (_, ends) = self.part.edges[step.edge as usize];
            let (below, above) = if step.forward { (leg.leave, leg.arrive) } else { (leg.arrive, leg.leave) };
            let first = if leg.corridor.rows > 0 { i as u32 } else { 0 };
            for (side, junction, cuts) in [(1, ends.a, below), (0, ends.b, above)] {
                let base = self.first[junction as usize];
                for leg in &mut beside[side][(base + cuts[0]) as usize..(base + cuts[1]) as usize] {
                    *leg = first.min(*leg);
                }
            }
        }
        for leg in beside.iter_mut().flatten().filter(|leg| **leg == NONE) {
            *leg = 0;
        }
        beside
    }

    fn leg(&self, step: PostmanStep) -> Leg {
        let (index, ends) = self.part.edges[step.edge as usize];
        let edge = self.graph.edges[index as usize];
        let (near, far) = if step.forward { (0, 1) } else { (1, 0) };
        let junctions = [ends.a, ends.b];
        let cuts = |end: usize| edge.corners[end].map(|x| self.nearest_cut(junctions[end], x));
        Leg {
            to: junctions[far],
            leave: cuts(near),
            arrive: cuts(far),
            corridor: Corridor { first: edge.spans[near], rows: edge.rows, upward: step.forward },
            length: edge.length,
            laid: step.last,
        }
    }

    fn visits(&self, start: u32, legs: &[Leg], sides: &Sides) -> Vec<Visit> {
        let mut visits = Vec::with_capacity(legs.len() + 1);
        let mut at = (start, sides.start);
        for (leg, side) in legs.iter().zip(&sides.legs) {
            visits.push(Visit { junction: at.0, from: at.1, to: leg.leave[side.0 as usize] });
            at = (leg.to, leg.arrive[side.1 as usize]);
        }
        visits.push(Visit { junction: at.0, from: at.1, to: sides.end });
        visits
    }

    fn go(&self, from: u32, leg: &Leg, sides: (Side, Side), out: &mut RowWalk) {
        if leg.corridor.rows == 0 {
            return;
        }
        let corridor = leg.corridor;
        if leg.laid {
            out.steps.push(RowStep::Weave { corridor, side: sides.0 });
        } else {
            out.travel += leg.length;
            let [from, to] = [(from, leg.leave[sides.0 as usize]), (leg.to, leg.arrive[sides.1 as usize])]
                .map(|(junction, cut)| self.cuts(junction)[cut as usize]);
            out.steps.push(RowStep::Travel { corridor, from, to });
        }
    }

    /// Picks the corners by which corridors are left and entered.
    fn choose_sides(&self, start: u32, legs: &[Leg]) -> Sides {
        let mut times = vec![0u32; self.part.junctions.len()];
        for junction in std::iter::once(start).chain(legs.iter().map(|leg| leg.to)) {
            times[junction as usize] += 1;
        }
        let cost = |junction: u32, from: u32, to: u32| {
            let cuts = self.cuts(junction);
            let moved = (cuts[from as usize] - cuts[to as usize]).abs();
            if times[junction as usize] == 1 { cuts[cuts.len() - 1] - cuts[0] - moved } else { moved }
        };
        let ends_of = |junction: u32, wish: Option<f64>| match wish {
            Some(x) => [self.nearest_end(junction, x); 2],
            None => [0, self.cuts(junction).len() as u32 - 1],
        };
        let starts = ends_of(start, self.part.start.map(|s| s.1));
        // For each leg and each side it arrives at: the side it left by and the one arrived at before.
        let mut chosen: Vec<[(Side, Side); 2]> = Vec::with_capacity(legs.len());
        let mut at = (start, starts, [0.0, 0.0]);
        for leg in legs {
            let mut best = [f64::INFINITY; 2];
            let mut how = [(Side::From, Side::From); 2];
            for before in Side::BOTH {
                for leave in Side::BOTH {
                    let total = at.2[before as usize] + cost(at.0, at.1[before as usize], leg.leave[leave as usize]);
                    for arrive in Side::BOTH {
                        let turned = if leg.corridor.rows % 2 == 0 { leave } else { leave.other() };
                        let free = !leg.laid && leg.corridor.rows > 0;
                        let aslant = if free { self.aslant(at.0, leg, leave, arrive) } else { 0.0 };
                        if (free || arrive == turned) && total + aslant < best[arrive as usize] {
                            (best[arrive as usize], how[arrive as usize]) = (total + aslant, (leave, before));
                        }
                    }
                }
            }
            chosen.push(how);
            at = (leg.to, leg.arrive, best);
        }
        let finals = ends_of(at.0, self.part.end.map(|e| e.1));
        let mut best = (f64::INFINITY, Side::From, finals[0]);
        for before in Side::BOTH {
            for end in finals {
                let total = at.2[before as usize] + cost(at.0, at.1[before as usize], end);
                if total < best.0 {
                    best = (total, before, end);
                }
            }
        }
        let mut arrive = best.1;
        let mut sides = Vec::with_capacity(legs.len());
        for how in chosen.iter().rev() {
            let (leave, before) = how[arrive as usize];
            sides.push((leave, arrive));
            arrive = before;
        }
        sides.reverse();
        Sides { start: starts[arrive as usize], legs: sides, end: best.2 }
    }

    /// How much longer a travel is because it changes sides, mm.
    fn aslant(&self, from: u32, leg: &Leg, leave: Side, arrive: Side) -> f64 {
        let start = self.cuts(from)[leg.leave[leave as usize] as usize];
        let end = self.cuts(leg.to)[leg.arrive[arrive as usize] as usize];
        (end - start).hypot(leg.length) - leg.length
    }

    /// The first or last cut of a junction, whichever is nearer to a place.
    fn nearest_end(&self, junction: u32, x: f64) -> u32 {
        let cuts = self.cuts(junction);
        let last = cuts.len() - 1;
        if (x - cuts[0]).abs() <= (cuts[last] - x).abs() { 0 } else { last as u32 }
    }
}

/// A step of the walk between two junctions.
struct Leg {
    to: u32,
    /// The cuts nearest to the corridor's two corners at the near and the far junction.
    leave: [u32; 2],
    arrive: [u32; 2],
    corridor: Corridor,
    length: f64,
    laid: bool,
}

/// By which corner each leg leaves and arrives, and the cuts where the walk starts and ends.
struct Sides {
    start: u32,
    legs: Vec<(Side, Side)>,
    end: u32,
}

#[cfg(test)]
#[path = "row_walk_tests.rs"]
mod tests;
