//! Cells sewn one after the other so that no move between them shows.
//!
//! Cells that touch make a graph; in a spanning tree of it, rooted at the cell
//! where the chain is to end, each cell is laid after all its children. So the
//! way from one cell to the next leads through cells that are laid later: up
//! to the common parent and down the next branch. Within a cell the walk over
//! its rows does the same (`walk_rows`), and is asked to end where the cell
//! touches its parent.

use crate::angle;
use crate::chain::Chain;
use crate::pattern::Pattern;
use crate::row_map::{Bent, carried};
use crate::rows::Rows;
use crate::travel::CLEAR;
use crate::zones::Cell;
use kurbo::Point;
use laidwork_geometry::{Frame, Locator, Polygon, Walker, touching};
use laidwork_run::Ends;

/// Cells farther apart than this do not touch, mm.
const TOUCHING: f64 = 0.03;

/// A step so short goes without travel, mm.
const STEP: f64 = 1.0;

/// Rows are too short where more than so many of their ends lie on a mm²,
const CROWDED: f64 = 4.0;
/// and straight ones stand in for them where they are at most this share as many.
const WORTH: f64 = 0.75;

const NONE: usize = usize::MAX;

/// What all cells of a shape have in common.
pub(crate) struct Ground<'a> {
    pub(crate) polygon: &'a Polygon,
    pub(crate) shape: Locator,
    pub(crate) keep_out: Option<Locator>,
    /// How far every row reaches under what is sewn over the shape's edge, mm, where every second one reaches farther.
    pub(crate) sure: Option<f64>,
    /// How far rows go beyond the outline, mm; exactly to it when `None`.
    pub(crate) compensation: Option<f64>,
    pub(crate) pattern: Pattern,
    /// Distance of the rows, mm.
    pub(crate) spacing: f64,
}

/// A spanning tree over cells that touch, children before parents.
struct Tree {
    parent: Vec<usize>,
    /// Where each cell touches its parent.
    contact: Vec<Point>,
    order: Vec<usize>,
}

impl Tree {
    fn new(cells: &[Cell], end: Option<Point>) -> Tree {
        let polygons: Vec<Polygon> = cells.iter().map(|cell| cell.polygon.clone()).collect();
        let mut beside: Vec<Vec<(usize, Point)>> = vec![Vec::new(); cells.len()];
        for touch in touching(&polygons, TOUCHING) {
            beside[touch.a].push((touch.b, touch.at));
            beside[touch.b].push((touch.a, touch.at));
        }
        let away = |cell: &Cell| match end {
            Some(end) => Locator::from_rings(cell.polygon.rings()).nearest(end).map_or(f64::INFINITY, |n| n.distance),
            None => -cell.polygon.area(),
        };
        let keys: Vec<f64> = cells.iter().map(away).collect();
        let mut roots: Vec<usize> = (0..cells.len()).collect();
        roots.sort_by(|&a, &b| keys[a].total_cmp(&keys[b]).then(a.cmp(&b)));
        let mut tree =
            Tree { parent: vec![NONE; cells.len()], contact: vec![Point::ZERO; cells.len()], order: Vec::new() };
        let mut seen = vec![false; cells.len()];
        let mut children: Vec<Vec<usize>> = vec![Vec::new(); cells.len()];
        let mut orders: Vec<Vec<usize>> = Vec::new();
        for root in roots {
            if std::mem::replace(&mut seen[root], true) {
                continue;
            }
            let mut found = vec![root];
            let mut at = 0;
            while let Some(&cell) = found.get(at) {
                at += 1;
                for &(next, place) in &beside[cell] {
                    if !std::mem::replace(&mut seen[next], true) {
                        (tree.parent[next], tree.contact[next]) = (cell, place);
                        children[cell].push(next);
                        found.push(next);
                    }
                }
            }
            let mut order = Vec::new();
            let mut stack = vec![(root, 0)];
            while let Some((cell, next)) = stack.pop() {
                if let Some(&child) = children[cell].get(next) {
                    stack.extend([(cell, next + 1), (child, 0)]);
                } else {
                    order.push(cell);
                }
            }
            orders.push(order);
        }
        // The part with the end comes last.
        tree.order = orders.into_iter().rev().flatten().collect();
        tree
    }

    /// The cells to go through from a cell just laid to the next, both left
    /// out, and the places where one goes over to the other.
    fn way(&self, from: usize, to: usize) -> Vec<(usize, Point)> {
        let (common, mut at) = (self.parent[from], to);
        let mut way = Vec::new();
        while at != common && at != NONE && self.parent[at] != NONE {
            way.push((self.parent[at], self.contact[at]));
            at = self.parent[at];
        }
        way.reverse();
        way
    }
}

/// The rows of a cell; straight ones, with the cell they fill, where its own would be so short that their ends crowd.
fn rows_of(cell: &Cell, spacing: f64) -> Option<(Rows<Bent>, Option<Cell>)> {
    let cut = |cell: &Cell| Rows::new(&cell.flat, Frame::turned(0.0), cell.map.clone(), [cell.spacing.max(1e-3); 2]);
    let rows = cut(cell)?;
    let sewn = rows.sewn();
    if 2.0 * sewn as f64 <= CROWDED * cell.polygon.area() {
        return Some((rows, None));
    }
    let degrees = angle::best_angle(&cell.polygon, spacing);
    let frame = Frame::turned(degrees);
    let flat = carried(&cell.polygon, |_| f64::INFINITY, |point| frame.to_frame(point));
    let straight = Cell { flat, polygon: cell.polygon.clone(), map: Bent::Straight(frame), spacing };
    match cut(&straight) {
        Some(other) if (other.sewn() as f64) < WORTH * sewn as f64 => Some((other, Some(straight))),
        _ => Some((rows, None)),
    }
}

/// Lays all cells, ending as near to `ends.end` as can be.
pub(crate) fn sew(cells: &[Cell], ground: &Ground, ends: Ends, chain: &mut Chain) {
    let tree = Tree::new(cells, ends.end.filter(|p| p.is_finite()));
    let mut ways = Ways { cells, walkers: vec![None; cells.len()], polygon: ground.polygon, shape: None };
    let mut before: Option<usize> = None;
    for &index in &tree.order {
        let Some((mut rows, straight)) = rows_of(&cells[index], ground.spacing) else { continue };
        if ground.compensation.is_none() {
            rows.trim(&straight.as_ref().unwrap_or(&cells[index]).flat);
        }
        if let (Some(over), Some(sure)) = (&ground.keep_out, ground.sure) {
            rows.thin_out_part(over, sure);
        }
        rows.compensate_part(ground.compensation.unwrap_or(0.0), &ground.shape, ground.keep_out.as_ref());
        let parent = tree.parent[index];
        let end = if parent == NONE { ends.end } else { Some(tree.contact[index]) };
        let walk = rows.walk(Ends { start: None, end });
        let Some(first) = rows.start_of(&walk) else { continue };
        match before {
            Some(last) if tree.parent[last] != NONE => {
                for (through, place) in tree.way(last, index) {
                    ways.go_through(through, chain, place);
                }
                ways.go_through(index, chain, first);
            }
            _ => chain.go_under(ground.polygon, None, ends.start, first),
        }
        rows.sew(&walk, ground.polygon, &ground.pattern, chain);
        before = Some(index);
    }
}

/// Ways through single cells, and through the whole shape where these do not serve.
struct Ways<'a> {
    cells: &'a [Cell],
    walkers: Vec<Option<Walker>>,
    polygon: &'a Polygon,
    shape: Option<Walker>,
}

impl Ways<'_> {
    fn go_through(&mut self, cell: usize, chain: &mut Chain, to: Point) {
        let Some(at) = chain.last().filter(|at| at.distance(to) > STEP) else { return };
        let within = &self.cells[cell].polygon;
        let walker = self.walkers[cell].get_or_insert_with(|| Walker::with_clearance(within, CLEAR));
        let is_near = [at, to].into_iter().all(|end| walker.snap(end).distance(end) < STEP);
        if is_near && walker.try_path(at, to).is_some() {
            chain.go_by(walker, None, to);
        } else {
            let polygon = self.polygon;
            chain.go_by(self.shape.get_or_insert_with(|| Walker::with_clearance(polygon, CLEAR)), None, to);
        }
    }
}
