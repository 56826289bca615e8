//! One shape, one thread: the parts of a shape sewn in one unbroken chain.
//!
//! The needle goes out over a part, its underlay doubling as the way, visits
//! whatever hangs on it, and comes back laying the top. A column that is entered
//! at its middle is sewn in two halves that meet there, thread beside thread.
//! Ways between parts stay inside the shape ([`Ways`]) and run where thread
//! will still be laid.

use crate::chain::Chain;
use crate::hide::{Under, Unseen, far_enough};
use crate::needle::needle_points;
use crate::network::{Child, Network, Part, Tree};
use crate::threads::{REACH, Threads, lay};
use crate::ways::Ways;
use crate::{Column, ColumnEnd, SatinSettings};
use kurbo::Point;
use laidwork_geometry::{Crossing, Polygon};
use laidwork_plan::{Pass, PassKind, Warned, Warning};
use laidwork_run::{Ends, RunSettings};
use laidwork_underlay::{Leg, leg};

/// Underlay stays this far from the open ends of a column, mm.
const END_MARGIN: f64 = 0.6;

/// It stays this far from the first thread where push compensation moves that in, mm.
const UNDER_FIRST: f64 = 0.35;

/// And this far from points, mm.
const POINT_MARGIN: f64 = 0.3;

/// The outer lines of a thin part lie this far inside its sides, mm: half a sewn thread, less a little.
const LINE_INSET: f64 = 0.13;

/// Two lines cover this width, mm.
const TWO_LINES: f64 = 0.6;

/// ... but for this share of their length they may be narrower than where they need four.
const WIDE_SHARE: f64 = 0.92;

/// Inner lines of a thin part end so far before the outer ones under a column, mm.
const INNER_BEFORE: f64 = 0.8;

/// What begins farther away than this is walked to inside the shape, mm.
const FAR: f64 = 2.0;

/// Ways shorter than this go straight, mm.
const SHORT_HOP: f64 = 0.8;

/// A column entered nearer to its end than this share of its width is entered at the end.
const AT_END: f64 = 0.75;

/// The beginning of a ring is thinned out for this share of what its end will lie over.
const THINNED: f64 = 0.7;

/// A side is the nearer one to where the needle goes on by this share of the width: from the other it would go
/// over the thread just laid.
const NEARER: f64 = 0.05;

/// Sews the parts of `network`, which lie on `ground`, as one chain.
pub(crate) fn walk(
    name: &str,
    mut network: Network,
    ground: &Polygon,
    settings: &SatinSettings,
    ends: Ends,
) -> Warned<Vec<Pass>> {
    if network.parts.is_empty() {
        let warning =
            Warning::at(name, "it is too small for a column, so it is not sewn", "make it larger or leave it out");
        return Warned { value: Vec::new(), warnings: vec![warning] };
    }
    network.connect(ground);
    let tree = network.tree(ends);
    let mut sewer = Sewer {
        name,
        settings,
        ends,
        run: RunSettings {
            stitch_length: settings.travel_length,
            curve_stitch_length: settings.curve_length,
            shortest_stitch: 0.5,
            ..RunSettings::default()
        },
        ways: Ways::new(ground),
        chain: Chain::default(),
        tasks: Vec::new(),
        laid: (0..network.parts.len()).map(|_| None).collect(),
        again: vec![0.0; network.parts.len()],
        begun: vec![false; network.parts.len()],
        warnings: Vec::new(),
        network,
        tree,
    };
    sewer.sew_all();
    let value = sewer.chain.into_passes();
    if value.is_empty() {
        sewer.warnings.push(Warning::at(
            name,
            "it is too small for a stitch, so it is not sewn",
            "make it larger or leave it out",
        ));
    }
    Warned { value, warnings: sewer.warnings }
}

/// What is still to do, the next thing last.
#[derive(Clone, Debug)]
enum Task {
    /// Sew a part and all that hangs on it, entered at a place; whether it is the root.
    Visit(usize, f64, bool),
    /// Walk to a point inside the shape.
    Go(Point),
    /// Needle points along a part.
    Leg(usize, Stretch),
    /// Threads of a column from place to place.
    Top(usize, f64, f64),
    /// A fill that ends at a point.
    Fill(usize, Option<Point>),
}

/// A way along a part from place to place.
#[derive(Clone, Copy, Debug)]
struct Stretch {
    way: Leg,
    kind: PassKind,
    from: f64,
    to: f64,
}

struct Sewer<'a> {
    name: &'a str,
    settings: &'a SatinSettings,
    ends: Ends,
    run: RunSettings,
    ways: Ways<'a>,
    chain: Chain,
    tasks: Vec<Task>,
    laid: Vec<Option<Threads>>,
    /// How many places of a part its own end will lie over.
    again: Vec<f64>,
    /// Of which parts top threads lie already, or will never lie.
    begun: Vec<bool>,
    warnings: Vec<Warning>,
    network: Network,
    tree: Tree,
}

impl Sewer<'_> {
    fn sew_all(&mut self) {
        if let Some(start) = self.ends.start.filter(|p| p.is_finite()) {
            self.chain.push(PassKind::Travel, self.ways.snap(start));
        }
        self.tasks.push(Task::Visit(self.tree.root, 0.0, true));
        while let Some(task) = self.tasks.pop() {
            match task {
                Task::Visit(part, at, is_root) => self.visit(part, at, is_root),
                Task::Go(point) => self.go(point),
                Task::Leg(part, stretch) => self.leg(part, stretch),
                Task::Top(part, from, to) => self.top(part, from, to),
                Task::Fill(part, end) => self.fill(part, end),
            }
        }
    }

    fn visit(&mut self, part: usize, at: f64, is_root: bool) {
        let children = self.tree.children.get_mut(part).map(std::mem::take).unwrap_or_default();
        let todo = match self.network.parts.get(part) {
            Some(Part::Column(column)) if column.closed => self.closed_column(part, at, is_root, children),
            Some(Part::Column(_)) => self.open_column(part, at, is_root, children),
            Some(Part::Run(_)) => self.line(part, at, is_root, children),
            Some(Part::Fill(_)) => self.area(part, is_root, children),
            None => return,
        };
        if todo.is_empty()
            && let Some(begun) = self.begun.get_mut(part)
        {
            // Nothing of it will be laid, so that it hides nothing.
            *begun = true;
        }
        self.tasks.extend(todo.into_iter().rev());
    }

    /// Opens a ring where it is entered, and sews it as an open column that ends where it begins.
    fn closed_column(&mut self, part: usize, at: f64, is_root: bool, mut children: Vec<Child>) -> Vec<Task> {
        let Some(Part::Column(column)) = self.network.parts.get(part) else { return Vec::new() };
        let at = match (is_root, self.ends.end.or(self.ends.start).or(self.chain.here())) {
            (true, Some(point)) => column.nearest_place(point),
            _ => at.round(),
        };
        let count = column.crossings.len() as f64;
        let mut open = column.opened_at(at);
        let over = places_within(&open.crossings, self.settings.closing_overlap);
        let again: Vec<Crossing> = open.crossings.iter().skip(1).take(over).copied().collect();
        if let Some(again) = self.again.get_mut(part) {
            *again = over as f64;
        }
        open.crossings.extend(again);
        for child in &mut children {
            child.from.at = (child.from.at - at).rem_euclid(count.max(1.0));
        }
        self.network.open_under(part, at, count);
        let whole = open.crossings.len() as f64 - 1.0;
        let legs = self.legs(&open, false, children.is_empty() && is_root);
        if let Some(slot) = self.network.parts.get_mut(part) {
            *slot = Part::Column(open);
        }
        let mut todo = Vec::new();
        for (i, (way, kind)) in legs.into_iter().enumerate() {
            let kids = if i == 0 { std::mem::take(&mut children) } else { Vec::new() };
            self.detours(part, Stretch { way, kind, from: 0.0, to: count }, kids, &mut todo);
        }
        todo.push(Task::Top(part, 0.0, whole));
        todo
    }

    fn open_column(&mut self, part: usize, at: f64, is_root: bool, children: Vec<Child>) -> Vec<Task> {
        let Some(Part::Column(column)) = self.network.parts.get(part) else { return Vec::new() };
        let last = column.last_place();
        let unseen = self.covered(part, column, 0.0, last);
        let is_left_out = unseen.stretches.iter().any(|[a, b]| *a < 0.0 && *b > last);
        let shows = unseen.shows(column).filter(|_| !is_left_out);
        let (Some([first_shown, last_shown]), margins) =
            (shows.or(is_root.then_some([0.0, last])), margins(column, self.settings.push))
        else {
            let mut todo = Vec::new();
            children.iter().for_each(|child| self.visit_child(child, &mut todo));
            if let Some(begun) = self.begun.get_mut(part) {
                *begun = true;
            }
            return todo;
        };
        // Nothing is laid under what does not show.
        let (low, high) = (first_shown.max(margins[0]), last_shown.min(last - margins[1]));
        let (low, high) = if low < high { (low, high) } else { (margins[0], last - margins[1]) };
        if is_root {
            let legs = self.legs(column, false, children.is_empty());
            let returns = legs.len() % 2 == 1;
            let away = |place: f64, point: Point| column.middle_at(place).distance(point);
            let ends_low = match (self.ends.end, self.ends.start) {
                (Some(end), _) => away(0.0, end) <= away(last, end),
                (None, Some(start)) => (away(0.0, start) <= away(last, start)) == returns,
                (None, None) => returns,
            };
            let (finish, other) = if ends_low { (low, high) } else { (high, low) };
            let start = if returns { finish } else { other };
            let mut todo = self.out_and_back(part, start, if returns { other } else { finish }, &legs, children);
            todo.push(Task::Top(part, if ends_low { last } else { 0.0 }, if ends_low { 0.0 } else { last }));
            return todo;
        }
        let legs = self.legs(column, true, false);
        let near = column.median_width() * AT_END;
        if column.middle_at(at).distance(column.middle_at(0.0)) <= near {
            let mut todo = self.out_and_back(part, low, high, &legs, children);
            todo.push(Task::Top(part, last, 0.0));
            return todo;
        }
        if column.middle_at(at).distance(column.middle_at(last)) <= near {
            let mut todo = self.out_and_back(part, high, low, &legs, children);
            todo.push(Task::Top(part, 0.0, last));
            return todo;
        }
        let (below, above): (Vec<Child>, Vec<Child>) = children.into_iter().partition(|c| c.from.at <= at);
        let mut todo = self.out_and_back(part, at, low, &legs, below);
        todo.push(Task::Top(part, 0.0, at));
        todo.extend(self.out_and_back(part, at, high, &legs, above));
        todo.push(Task::Top(part, last, at));
        todo
    }

    /// Every leg in turn, there and back, with detours to the children on the first.
    fn out_and_back(
        &self,
        part: usize,
        from: f64,
        to: f64,
        legs: &[(Leg, PassKind)],
        children: Vec<Child>,
    ) -> Vec<Task> {
        let mut todo = Vec::new();
        let mut children = Some(children);
        for (i, &(way, kind)) in legs.iter().enumerate() {
            let (from, to) = if i % 2 == 0 { (from, to) } else { (to, from) };
            self.detours(part, Stretch { way, kind, from, to }, children.take().unwrap_or_default(), &mut todo);
        }
        todo
    }

    /// A leg, left at every child's place and taken up again there.
    fn detours(&self, part: usize, stretch: Stretch, mut children: Vec<Child>, todo: &mut Vec<Task>) {
        let Stretch { from, to, .. } = stretch;
        let forward = to >= from;
        children.sort_by(|a, b| {
            let order = a.from.at.total_cmp(&b.from.at);
            (if forward { order } else { order.reverse() }).then(a.to.part.cmp(&b.to.part))
        });
        let mut here = from;
        for child in children {
            let stop = child.from.at.clamp(from.min(to), from.max(to));
            if (stop - here).abs() > 1e-9 {
                todo.push(Task::Leg(part, Stretch { from: here, to: stop, ..stretch }));
            }
            here = stop;
            self.visit_child(&child, todo);
        }
        if (to - here).abs() > 1e-9 {
            todo.push(Task::Leg(part, Stretch { from: here, ..stretch }));
        }
    }

    fn visit_child(&self, child: &Child, todo: &mut Vec<Task>) {
        let to = child.to;
        let entry = match self.network.parts.get(to.part) {
            Some(Part::Column(column) | Part::Run(column)) => column.middle_at(to.at),
            _ => to.point,
        };
        todo.push(Task::Go(entry));
        todo.push(Task::Visit(to.part, to.at, false));
    }

    /// The legs under a column; an odd number of them when the needle must come back with the top.
    fn legs(&self, column: &Column, odd: bool, none_is_fine: bool) -> Vec<(Leg, PassKind)> {
        let underlay = self.settings.underlay.legs(column.median_width());
        let mut legs: Vec<(Leg, PassKind)> = underlay.into_iter().map(|leg| (leg, PassKind::Underlay)).collect();
        if (odd && legs.len().is_multiple_of(2)) || (legs.is_empty() && !none_is_fine) {
            let kind = if legs.is_empty() { PassKind::Travel } else { PassKind::Underlay };
            legs.insert(0, (Leg::Centre { stitch_length: self.settings.travel_length }, kind));
        }
        legs
    }

    /// A thin part: lines along it, out and back, as many as cover its width.
    fn line(&mut self, part: usize, at: f64, is_root: bool, mut children: Vec<Child>) -> Vec<Task> {
        let Some(Part::Run(column)) = self.network.parts.get(part) else { return Vec::new() };
        let wanted = self.ends.end.or(self.ends.start).filter(|_| is_root);
        let mut at = wanted.map_or(at, |point| column.nearest_place(point));
        if column.closed {
            let (open, count) = (column.opened_at(at), column.crossings.len().max(1) as f64);
            for child in &mut children {
                child.from.at = (child.from.at - at).rem_euclid(count);
            }
            if let Some(slot) = self.network.parts.get_mut(part) {
                *slot = Part::Run(open);
            }
            at = 0.0;
        }
        let Some(Part::Run(column)) = self.network.parts.get(part) else { return Vec::new() };
        let (last, legs) = (column.last_place(), self.lines(column.width_at_share(WIDE_SHARE)));
        let (outer, inner) = legs.split_at(legs.len().min(2));
        let reach = places_within(&column.crossings, INNER_BEFORE) as f64;
        // Inner lines end before the outer ones where a column lies over them all.
        let within = |place: f64| {
            let margin = |end: usize| if column.ends[end] == ColumnEnd::Joined { reach } else { 0.0 };
            let (low, high) = (margin(0), last - margin(1));
            if low < high { place.clamp(low, high) } else { place }
        };
        let (below, above): (Vec<Child>, Vec<Child>) = children.into_iter().partition(|c| c.from.at < at);
        let mut todo = Vec::new();
        for (to, kids) in [(0.0, below), (last, above)] {
            if (to - at).abs() > 0.5 {
                todo.extend(self.out_and_back(part, at, to, outer, kids));
                todo.extend(self.out_and_back(part, within(at), within(to), inner, Vec::new()));
            } else {
                kids.iter().for_each(|child| self.visit_child(child, &mut todo));
            }
        }
        todo
    }

    /// The lines that cover a thin part: an even number, so that they end where they begin.
    fn lines(&self, width: f64) -> Vec<(Leg, PassKind)> {
        let stitch_length = self.settings.travel_length;
        let pair = |inset| [Leg::Left { inset, stitch_length }, Leg::Right { inset, stitch_length }];
        let inner = (width > TWO_LINES).then(|| pair(width)).into_iter().flatten();
        pair(LINE_INSET).into_iter().chain(inner).map(|leg| (leg, PassKind::Top)).collect()
    }

    /// An area to be filled: its children first, on ways across it.
    fn area(&self, part: usize, is_root: bool, children: Vec<Child>) -> Vec<Task> {
        let entry = self.chain.here();
        let mut todo = Vec::new();
        for child in &children {
            todo.push(Task::Go(child.from.point));
            self.visit_child(child, &mut todo);
        }
        todo.push(Task::Fill(part, if is_root { self.ends.end } else { entry }));
        todo
    }

    fn go(&mut self, to: Point) {
        match self.chain.here() {
            None => self.chain.push(PassKind::Travel, to),
            Some(here) if here.distance(to) < SHORT_HOP => self.chain.push(PassKind::Travel, to),
            Some(here) => {
                let path = self.ways.path(here, to);
                let points = laidwork_run::points(&path, false, &self.run);
                self.chain.extend(PassKind::Travel, points.into_iter().skip(1));
            }
        }
    }

    /// Walks inside the shape to where the next stitches begin, when that is far.
    fn approach(&mut self, first: Point) {
        if self.chain.here().is_some_and(|here| here.distance(first) > FAR) {
            self.go(first);
        }
    }

    fn leg(&mut self, part: usize, Stretch { way, kind, from, to }: Stretch) {
        let Some(Part::Column(column) | Part::Run(column)) = self.network.parts.get(part) else { return };
        let points = leg(&column.crossings, way, from, to, &self.run);
        if let Some(first) = points.first() {
            if self.chain.here().is_none() {
                self.chain.push(kind, *first);
            } else {
                self.go(*first);
            }
        }
        self.chain.extend(kind, points);
    }

    fn top(&mut self, part: usize, from: f64, to: f64) {
        let Some(Part::Column(column)) = self.network.parts.get(part) else { return };
        let covered = self.covered(part, column, from, to);
        if let Some(begun) = self.begun.get_mut(part) {
            *begun = true;
        }
        if self.laid.get(part).is_some_and(Option::is_none) {
            self.laid[part] = Some(lay(column, self.settings));
        }
        let Some(Some(threads)) = self.laid.get(part) else { return };
        let last = column.last_place();
        let forward = to >= from;
        let (low, high) = (from.min(to), from.max(to));
        // Compensation may lay threads beyond the ends; the place a half ends at
        // belongs to the half that comes from the beginning.
        let after = |place: f64| low < 1e-9 || place > low + if forward { -1e-9 } else { 1e-9 };
        let mine = |place: f64| after(place) && (high > last - 1e-9 || place <= high + 1e-9);
        let shown = |place: f64| !covered.stretches.iter().any(|[a, b]| place > *a && place < *b);
        // Where a ring goes on over its beginning, every second thread below will do.
        let again = self.again.get(part).copied().unwrap_or(0.0);
        let thinned = |n: usize, place: f64| n % 2 == 1 && place > 0.0 && place < again * THINNED;
        let mut stretches: Vec<Vec<Crossing>> = vec![Vec::new()];
        for (n, (crossing, place)) in threads.crossings.iter().zip(&threads.places).enumerate() {
            if mine(*place) && thinned(n, *place) {
                continue;
            }
            if mine(*place) && shown(*place) {
                if let Some(stretch) = stretches.last_mut() {
                    stretch.extend(covered.cut(*crossing, *place, n));
                }
            } else if mine(*place) && stretches.last().is_some_and(|s| !s.is_empty()) {
                stretches.push(Vec::new());
            }
        }
        let mut tips = threads.tips.clone();
        if low > 1e-9 {
            tips[0].clear();
        }
        if high < last - 1e-9 {
            tips[1].clear();
        }
        if !forward {
            stretches.reverse();
            stretches.iter_mut().for_each(|s| s.reverse());
            tips.reverse();
        }
        self.threads(stretches, tips);
    }

    /// What others will lie over of a column, or it will itself, when it is laid from place to place.
    fn covered(&self, part: usize, column: &Column, from: f64, to: f64) -> Unseen {
        let is_on_top = |by: &usize| *by == part || !self.begun.get(*by).copied().unwrap_or(true);
        let own = self.network.under_of(part).iter().filter(|under| under.by.iter().all(is_on_top));
        let (low, high, last) = (from.min(to), from.max(to), column.last_place());
        let far = far_enough(column);
        let stretch = |under: &Under| {
            let [first, end] = under.stretch;
            let here = (first.max(0.0) + end.min(last)) / 2.0;
            let Some(there) = under.by.contains(&part).then(|| column.comes_back(here, far)).flatten() else {
                return Some(under.stretch);
            };
            // It crosses itself: what is laid first is left out.
            let (sews_here, sews_there) = (here >= low && here <= high, there >= low && there <= high);
            let here_is_first = match (sews_here, sews_there) {
                (true, true) => (here < there) == (to >= from),
                (true, false) => low < 1e-9,
                (false, _) => low > 1e-9,
            };
            let twin = [there - (end - first) / 2.0, there + (end - first) / 2.0];
            if here_is_first { sews_here.then_some(under.stretch) } else { sews_there.then_some(twin) }
        };
        let comes_later = |other: usize| !self.begun.get(other).copied().unwrap_or(true);
        let covers = self.network.covers.as_ref();
        let mut unseen = covers.map(|c| c.unseen(part, column, self.settings.overlap, comes_later)).unwrap_or_default();
        unseen.stretches.extend(own.filter_map(stretch));
        unseen
    }

    fn threads(&mut self, stretches: Vec<Vec<Crossing>>, [first_tip, last_tip]: [Vec<Point>; 2]) {
        let back: Vec<Point> = first_tip.into_iter().rev().collect();
        if let Some(first) = back.first().copied().or(stretches.iter().find_map(|s| s.first()).map(|c| c.middle())) {
            self.approach(first);
        }
        self.chain.extend(PassKind::Top, laidwork_run::points(&back, false, &self.run));
        let mut fresh = true;
        for stretch in stretches.iter().filter(|s| !s.is_empty()) {
            let Some(&first) = stretch.first() else { continue };
            if !fresh {
                // Under the column that hides this one.
                let here = self.chain.here().unwrap_or(first.middle());
                let path = if here.distance(first.middle()) > FAR {
                    self.ways.path(here, first.middle())
                } else {
                    vec![here, first.middle()]
                };
                self.chain.extend(PassKind::Underlay, laidwork_run::points(&path, false, &self.run));
            }
            fresh = false;
            let begin_left = self.begin_left(stretch);
            self.chain.extend(PassKind::Top, needle_points(stretch, begin_left, self.settings));
        }
        if !last_tip.is_empty() {
            let out = laidwork_run::points(&last_tip, false, &self.run);
            let back: Vec<Point> = out.iter().rev().skip(1).copied().collect();
            self.chain.extend(PassKind::Top, out);
            self.chain.extend(PassKind::Top, back);
        }
    }

    /// On which side threads begin: so that they end on the side where the needle
    /// goes on, or else on the side where it is.
    fn begin_left(&self, stretch: &[Crossing]) -> bool {
        let (Some(first), Some(last)) = (stretch.first(), stretch.last()) else { return true };
        if let Some(next) = self.next_point() {
            let (left, right) = (last.left.distance(next), last.right.distance(next));
            if (left - right).abs() > NEARER * last.width() {
                // An odd number of threads ends on the side where it began.
                return (left < right) == (stretch.len() % 2 == 1);
            }
        }
        self.chain.here().is_none_or(|here| here.distance(first.left) <= here.distance(first.right))
    }

    /// Where the needle goes on after the present task, if it goes on.
    fn next_point(&self) -> Option<Point> {
        let at = |part: usize, place: f64| match self.network.parts.get(part)? {
            Part::Column(column) | Part::Run(column) => Some(column.middle_at(place)),
            Part::Fill(_) => None,
        };
        match self.tasks.last()? {
            Task::Go(point) => Some(*point),
            Task::Leg(part, stretch) => at(*part, stretch.from),
            Task::Top(part, from, _) => at(*part, *from),
            Task::Visit(..) | Task::Fill(..) => None,
        }
    }

    fn fill(&mut self, part: usize, end: Option<Point>) {
        let Some(Part::Fill(polygon)) = self.network.parts.get(part) else { return };
        let ends = Ends { start: self.chain.here(), end };
        let passes = laidwork_fill::fill(self.name, polygon, None, &self.settings.fill, ends).take(&mut self.warnings);
        if let Some(&first) = passes.iter().find_map(|pass| pass.points.first()) {
            self.approach(first);
        }
        self.chain.append(&passes);
        if let Some(end) = end
            && self.chain.here().is_some_and(|here| here.distance(end) > self.settings.travel_length)
        {
            self.go(end);
        }
    }
}

/// How many places from each end underlay stays away, also where threads begin farther in by `push` mm.
fn margins(column: &Column, push: f64) -> [f64; 2] {
    let count = |end: usize| {
        if column.ends[end] == ColumnEnd::Joined {
            return 0.0;
        }
        let margin = match column.ends[end] {
            ColumnEnd::Point => POINT_MARGIN,
            _ => END_MARGIN.max(push - REACH + UNDER_FIRST),
        };
        let distance = margin.min(column.length() / 4.0);
        let places = match end {
            0 => places_within(&column.crossings, distance),
            _ => places_within(&column.reversed().crossings, distance),
        };
        places.min(column.crossings.len() / 3) as f64
    };
    [count(0), count(1)]
}

/// How many crossings lie within `distance` mm of the first one, along the middle.
fn places_within(band: &[Crossing], distance: f64) -> usize {
    let mut walked = 0.0;
    let steps = band.windows(2).take_while(|pair| {
        if let &[a, b] = *pair {
            walked += a.middle().distance(b.middle());
        }
        walked <= distance
    });
    steps.count()
}
