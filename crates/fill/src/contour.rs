//! Rows that follow the outline: rings, one spacing inside the other, joined to spirals.
//!
//! **Rings.** The shape is shrunk by half a spacing, then by one more for each
//! level. Every ring of a level lies one spacing from a ring of the level
//! before; where the shape is used up, rings of one level meet. These
//! neighbourhoods, with the places where they are found, make a graph of all rings.
//!
//! **Order.** In a spanning tree of that graph, rooted at an outermost ring,
//! rings are laid children first (postorder). A move to the next leaf goes
//! along rings of the tree that are still to be laid, so it is covered; it is
//! the nested order that "Connected Fermat spirals" (Zhao et al., ACM Trans.
//! Graph. 35(4), 2016) uses for branches, without their interleaving.
//!
//! **No seam.** A ring that is followed by its parent is left a little before
//! it closes (an innermost one a little after), aslant to the parent's first point. All rings of a branch shift by
//! one spacing over the same stretch, so the spacing holds: a spiral. Where the
//! parent does not lie beside that stretch, the ring is first travelled along to a place where it does.
//!
//! **Bare spots.** In sharp corners and where a part is used up some of it
//! lies too far from any ring. What the finished stitches leave bare is looked
//! for dot by dot. Along narrow spots goes a line, wider ones are filled with short straight rows; both are laid
//! before the rings, so that every move between them is covered too.
//!
//! Time: that of an offset for each level, O(levels x corners log corners).

mod ring;
mod spiral;
mod tree;

use laidwork_geometry::{Join, Locator, Polygon, Region, Ring};
use ring::Loop;

/// Shorter rings are left out, mm.
const LEAST_RING: f64 = 1.2;

const ROUND: Join = Join::Round { tolerance: 0.01 };

/// Corners are left out of rings as long as they stay within this, mm.
const FLAT: f64 = 0.004;

/// Where a level is thinner than this, in spacings, it has no ring: both sides of it would lie on each other, where
/// one line along the middle covers what is bare.
const THIN: f64 = 0.45;

/// Most levels.
const MOST_LEVELS: usize = 4000;

/// Places of a ring that are asked for the ring beside them: about so many mm apart, at least and at most so many.
const ASKED: (f64, usize, usize) = (0.7, 8, 240);

/// Rings of one level that meet lie no farther apart than this, in spacings.
const MEET: f64 = 2.1;

const NONE: usize = usize::MAX;

/// A region without what is thinner than `thin` mm; corners stay as they are.
fn without_thin(region: Region, thin: f64) -> Region {
    let deep = region.offset(-thin / 2.0, ROUND);
    let opened = deep.offset(thin / 2.0, Join::Mitre { limit: 4.0 }).simplify(FLAT);
    let parts_of = |region: &Region| region.rings().count();
    // Where nothing is thin it stays as it is.
    let lost = region.area() - opened.area();
    if parts_of(&opened) == parts_of(&region) && lost < thin * thin { region } else { opened }
}

/// A ring beside another.
struct Beside {
    ring: usize,
    /// Where along the other it lies beside it.
    places: Vec<f64>,
}

/// All rings of a shape and which lie beside which.
pub(crate) struct Contour {
    loops: Vec<Loop>,
    beside: Vec<Vec<Beside>>,
    spacing: f64,
}

impl Contour {
    pub(crate) fn new(polygon: &Polygon, spacing: f64) -> Contour {
        let mut contour = Contour { loops: Vec::new(), beside: Vec::new(), spacing };
        // Each level is made from the one before: short steps cost little, and the distance
        // between two levels is exact but for the corners left out.
        let mut shrunk = Region::from(polygon.clone()).simplify(FLAT);
        let mut before: Vec<Vec<usize>> = Vec::new();
        for level in 0..MOST_LEVELS {
            let step = if level == 0 { spacing / 2.0 } else { spacing };
            shrunk = without_thin(shrunk.offset(-step, ROUND).simplify(FLAT), THIN * spacing);
            shrunk.polygons.retain(|part| part.outer.length() >= LEAST_RING);
            let parts: Vec<Vec<usize>> = shrunk.polygons.iter().map(|part| contour.add(part, level)).collect();
            contour.join_neighbours(&before, &parts);
            before = parts;
            if before.is_empty() {
                break;
            }
        }
        contour
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.loops.is_empty()
    }

    fn add(&mut self, part: &Polygon, level: usize) -> Vec<usize> {
        let mut added = Vec::new();
        for ring in part.rings().filter(|ring| ring.length() >= LEAST_RING) {
            added.push(self.loops.len());
            self.loops.push(Loop::new(ring, level));
            self.beside.push(Vec::new());
        }
        added
    }

    /// Notes that two rings lie beside each other at a place of each.
    fn join(&mut self, a: (usize, f64), b: (usize, f64)) {
        for (ring, place, other) in [(a.0, a.1, b.0), (b.0, b.1, a.0)] {
            match self.beside[ring].iter_mut().find(|beside| beside.ring == other) {
                Some(beside) => beside.places.push(place),
                None => self.beside[ring].push(Beside { ring: other, places: vec![place] }),
            }
        }
    }

    /// Joins the rings of a level to those of the level before, and these to each other where they meet.
    fn join_neighbours(&mut self, before: &[Vec<usize>], parts: &[Vec<usize>]) {
        let outer: Vec<usize> = before.iter().flatten().copied().collect();
        let rings: Vec<Ring> = outer.iter().map(|&i| Ring::new(self.loops[i].points.clone())).collect();
        let locator = Locator::from_rings(rings.iter());
        let mut first_edges = vec![0];
        for ring in &rings {
            first_edges.push(first_edges[first_edges.len() - 1] + ring.points.len());
        }
        // The ring of the level before that is nearest to a point, and where along it.
        let nearest = |loops: &[Loop], point| {
            let nearest = locator.nearest(point)?;
            let i = first_edges.partition_point(|&first| first <= nearest.edge).checked_sub(1)?;
            let &ring = outer.get(i)?;
            let edge = nearest.edge - first_edges[i];
            let place = loops[ring].along[edge] + loops[ring].points[edge].distance(nearest.point);
            Some((ring, place, nearest.point))
        };
        let (step, least, most) = ASKED;
        let mut joined = vec![false; self.loops.len()];
        for &inner in parts.iter().flatten() {
            for place in self.loops[inner].places(step, least, most) {
                let Some((ring, there, _)) = nearest(&self.loops, self.loops[inner].at(place)) else { continue };
                joined[ring] = true;
                self.join((inner, place), (ring, there));
            }
        }
        for &ring in &outer {
            for place in self.loops[ring].places(step, least, most) {
                let here = self.loops[ring].at(place);
                let across = self.loops[ring].aside(place, self.spacing);
                let Some((other, there, point)) = nearest(&self.loops, across) else { continue };
                if other != ring && here.distance(point) <= MEET * self.spacing {
                    (joined[ring], joined[other]) = (true, true);
                    self.join((ring, place), (other, there));
                }
            }
        }
        // Nothing is left alone.
        for part in before {
            let Some((&first, holes)) = part.split_first() else { continue };
            for &hole in holes.iter().filter(|&&hole| !joined[hole]) {
                let place = self.loops[first].nearest(self.loops[hole].at(0.0));
                let there = self.loops[hole].nearest(self.loops[first].at(place));
                self.join((first, place), (hole, there));
            }
        }
    }
}
