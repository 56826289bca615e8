//! The growing chain of needle points.

use crate::sew_rows::TRAVEL_STITCH;
use crate::thin::thin_out;
use crate::travel::{CLEAR, clear_way};
use kurbo::Point;
use laidwork_geometry::{Polygon, Region, Walker};
use laidwork_plan::{Pass, PassKind};
use laidwork_run::RunSettings;

/// No stitch of a fill is shorter than this, mm: 0.3 and room for rounding to 0.01.
pub(crate) const SHORTEST: f64 = 0.32;

/// No stitch is longer than this, mm: 12 and room for rounding to 0.01.
const LONGEST: f64 = 11.9;

/// The one way under the rows of a shape of more edges may touch its outline: keeping clear of it would take longer
/// than all the rows.
const MANY_EDGES: usize = 10_000;

/// Passes that go on from each other.
#[derive(Debug, Default)]
pub(crate) struct Chain {
    passes: Vec<Pass>,
    /// The last point may give way to one that matters more.
    loose: bool,
    /// How many points the next pass on top is expected to have.
    room: usize,
}

impl Chain {
    /// Starts with passes made elsewhere.
    pub(crate) fn begin_with(&mut self, passes: Vec<Pass>) {
        self.passes = passes;
        self.loose = true;
    }

    /// Says about how many points are going to lie on top, so that they need not be moved about as they become more.
    pub(crate) fn expect(&mut self, points: usize) {
        self.room = points;
    }

    /// Goes from where the needle is (or `start`) to just before `goal` inside a
    /// polygon whose rows are all laid later. `clear` is what lies at least [`CLEAR`] inside it, where that is known.
    pub(crate) fn go_under(&mut self, polygon: &Polygon, clear: Option<Region>, start: Option<Point>, goal: Point) {
        let Some(from) = self.last().or(start) else { return };
        match clear_way(polygon, clear, from, goal) {
            Some(way) => self.run_along(PassKind::Travel, &way, TRAVEL_STITCH),
            None if polygon.rings().map(|ring| ring.points.len()).sum::<usize>() > MANY_EDGES => {
                self.go_by(&mut Walker::new(polygon), start, goal);
            }
            None => self.go_by(&mut Walker::with_clearance(polygon, CLEAR), start, goal),
        }
    }

    /// As [`Chain::go_under`], asking a walker of that polygon.
    pub(crate) fn go_by(&mut self, walker: &mut Walker, start: Option<Point>, goal: Point) {
        let Some(from) = self.last().or(start) else { return };
        let way = walker.path(from, goal);
        self.run_along(PassKind::Travel, &way, TRAVEL_STITCH);
    }

    /// A run along a way.
    pub(crate) fn run_along(&mut self, kind: PassKind, way: &[Point], stitch_length: f64) {
        let settings = RunSettings {
            stitch_length,
            curve_stitch_length: stitch_length.min(1.5),
            shortest_stitch: 0.5,
            ..RunSettings::default()
        };
        for point in laidwork_run::points(way, false, &settings) {
            self.pass_by(kind, point);
        }
    }

    /// A run round every outline, over what is sewn: nearest first, and from
    /// one to the next the shortest way inside.
    pub(crate) fn run_round(&mut self, polygon: &Polygon) {
        let mut walker = None;
        for ring in polygon.rings().filter(|ring| ring.length() > 1.0) {
            let Some(at) = self.last() else { return };
            let way = ring.way_round(Some(at));
            let Some(&first) = way.first() else { continue };
            let walker = walker.get_or_insert_with(|| Walker::new(polygon));
            let there = walker.path(at, first);
            self.run_along(PassKind::Top, &there, 2.5);
            self.run_along(PassKind::Top, &way, 2.5);
        }
    }

    /// Where the needle begins.
    pub(crate) fn first(&self) -> Option<Point> {
        self.passes.first().and_then(|pass| pass.points.first()).copied()
    }

    /// The threads of a kind: unbroken ways that they lie along.
    pub(crate) fn stretches(&self, kind: PassKind) -> impl Iterator<Item = Vec<Point>> {
        let before = std::iter::once(None).chain(self.passes.iter().map(|pass| pass.points.last().copied()));
        let of_kind = self.passes.iter().zip(before).filter(move |(pass, _)| pass.kind == kind);
        of_kind.map(|(pass, before)| before.into_iter().chain(pass.points.iter().copied()).collect())
    }

    /// Goes on with another chain, to whose beginning the needle has come.
    pub(crate) fn go_on_with(&mut self, other: Chain) {
        let Some(first) = other.first() else { return };
        while self.loose && self.is_near(first) {
            self.drop_last();
        }
        for mut pass in other.passes {
            // Beyond the joint points are far enough from each other.
            let near = pass.points.iter().take_while(|point| self.is_near(**point)).count();
            pass.points.drain(..near);
            let Some(&point) = pass.points.first() else { continue };
            self.approach(pass.kind, point);
            match self.passes.last_mut() {
                Some(last) if last.kind == pass.kind => last.points.append(&mut pass.points),
                _ => self.passes.push(pass),
            }
        }
        self.loose = other.loose;
    }

    /// Where the needle is.
    pub(crate) fn last(&self) -> Option<Point> {
        self.passes.last().and_then(|pass| pass.points.last()).copied()
    }

    /// Whether the needle is at the end of a row.
    pub(crate) fn turned(&self) -> bool {
        !self.loose && self.passes.last().is_some_and(|pass| pass.kind == PassKind::Top)
    }

    /// Adds a point that may be left out or give way where stitches would get too short.
    pub(crate) fn pass_by(&mut self, kind: PassKind, point: Point) {
        if !self.is_near(point) {
            self.add(kind, point);
            self.loose = true;
        }
    }

    /// Adds a point that matters: loose ones too near before it give way. It is
    /// left out only when it is too near to another that matters.
    pub(crate) fn put(&mut self, kind: PassKind, point: Point) {
        // Most go on from one that matters, neither near nor far.
        if let Some(pass) = self.passes.last_mut().filter(|pass| pass.kind == kind && !self.loose)
            && let Some(last) = pass.points.last()
        {
            let square = last.distance_squared(point);
            if (SHORTEST * SHORTEST..LONGEST * LONGEST).contains(&square) {
                pass.points.push(point);
                return;
            }
        }
        while self.loose && self.is_near(point) {
            self.drop_last();
        }
        if !self.is_near(point) {
            self.add(kind, point);
            self.loose = false;
        }
    }

    /// Whether the needle is nearer to a point than a stitch may be short.
    fn is_near(&self, point: Point) -> bool {
        self.last().is_some_and(|last| last.distance_squared(point) < SHORTEST * SHORTEST)
    }

    /// Adds points that are known to be far enough from each other and from the last.
    pub(crate) fn pass_mut(&mut self, kind: PassKind) -> &mut Vec<Point> {
        self.loose = false;
        if self.passes.last().is_none_or(|pass| pass.kind != kind) {
            let room = if kind == PassKind::Top { std::mem::take(&mut self.room) } else { 0 };
            self.passes.push(Pass::new(kind, Vec::with_capacity(room)));
        }
        let last = self.passes.len() - 1;
        &mut self.passes[last].points
    }

    /// Adds a point; a way to it that is too long for one stitch is sewn in several.
    fn add(&mut self, kind: PassKind, point: Point) {
        self.approach(kind, point);
        self.pass_mut(kind).push(point);
    }

    /// Adds the points between the last and one that is too far from it for one stitch.
    fn approach(&mut self, kind: PassKind, point: Point) {
        let Some(last) = self.last() else { return };
        let square = last.distance_squared(point);
        if square > LONGEST * LONGEST {
            let parts = (square.sqrt() / LONGEST).ceil();
            self.pass_mut(kind).extend((1..parts as usize).map(|i| last.lerp(point, i as f64 / parts)));
        }
    }

    fn drop_last(&mut self) {
        self.loose = false;
        if let Some(pass) = self.passes.last_mut() {
            pass.points.pop();
            if pass.points.is_empty() {
                self.passes.pop();
            }
        }
    }

    /// Leaves out needle points of each kind where they crowd and the way stays within `chord` of what it was, mm.
    pub(crate) fn thin_out(&mut self, chord: impl Fn(PassKind) -> Option<f64>) {
        thin_out(&mut self.passes, chord);
    }

    /// The finished passes; none when there is not one whole stitch.
    pub(crate) fn finish(mut self) -> Vec<Pass> {
        self.passes.retain(|pass| !pass.points.is_empty());
        for pass in self.passes.iter_mut().filter(|pass| pass.points.capacity() > pass.points.len() * 3 / 2) {
            pass.points.shrink_to_fit();
        }
        let points: usize = self.passes.iter().map(|pass| pass.points.len()).sum();
        if points < 2 { Vec::new() } else { self.passes }
    }
}
