//! What every fill promises, on outlines of every kind, and closed forms.

use crate::{Ends, FillSettings, Flow, RowAngle, Shifts, SpacingTo, fill};
use kurbo::Point;
use laidwork_geometry::testing::{self, Kind};
use laidwork_geometry::{FillRule, Locator, Polygon, Region, Ring};
use laidwork_plan::{Pass, PassKind};
use proptest::prelude::*;

/// Points as a list writes them.
fn rounded(passes: &[Pass]) -> Vec<(PassKind, Point)> {
    let round = |v: f64| (v * 100.0).round() / 100.0;
    let points = |pass: &Pass| -> Vec<(PassKind, Point)> {
        pass.points.iter().map(|p| (pass.kind, Point::new(round(p.x), round(p.y)))).collect()
    };
    passes.iter().flat_map(points).collect()
}

fn is_one_chain(passes: &[Pass]) -> Result<(), String> {
    if passes.iter().any(|pass| !pass.jumps.is_empty() || pass.trim || pass.stop || pass.points.is_empty()) {
        return Err("a break in the chain".into());
    }
    let points = rounded(passes);
    for pair in points.windows(2) {
        let length = pair[0].1.distance(pair[1].1);
        if !(0.3 - 1e-9..=12.0).contains(&length) {
            return Err(format!("a stitch of {length} from {:?} to {:?}", pair[0], pair[1]));
        }
    }
    Ok(())
}

/// Threads drawn 0.3 mm wide, the last one on top, with ten dots to the mm.
struct Picture {
    origin: Point,
    width: usize,
    height: usize,
    /// The kind on top of each dot, and whether a top thread lies there at all.
    dots: Vec<(Option<PassKind>, bool)>,
}

const DOTS: f64 = 10.0;

impl Picture {
    fn new(polygon: &Polygon, passes: &[Pass]) -> Picture {
        let bounds = polygon.bounds().unwrap().inflate(2.0, 2.0);
        let (width, height) = ((bounds.width() * DOTS) as usize + 1, (bounds.height() * DOTS) as usize + 1);
        let mut picture = Picture { origin: bounds.origin(), width, height, dots: vec![(None, false); width * height] };
        for pair in rounded(passes).windows(2) {
            picture.draw(pair[0].1, pair[1].1, pair[1].0);
        }
        picture
    }

    fn place(&self, x: usize, y: usize) -> Point {
        Point::new(self.origin.x + x as f64 / DOTS, self.origin.y + y as f64 / DOTS)
    }

    fn draw(&mut self, from: Point, to: Point, kind: PassKind) {
        let half = 0.15;
        let low = |a: f64, b: f64, o: f64| ((a.min(b) - half - o) * DOTS).ceil().max(0.0) as usize;
        let high = |a: f64, b: f64, o: f64| ((a.max(b) + half - o) * DOTS).floor().max(0.0) as usize;
        let along = (to - from).normalize();
        for y in low(from.y, to.y, self.origin.y)..=high(from.y, to.y, self.origin.y).min(self.height - 1) {
            for x in low(from.x, to.x, self.origin.x)..=high(from.x, to.x, self.origin.x).min(self.width - 1) {
                let d = self.place(x, y) - from;
                let (u, v) = (along.dot(d), along.cross(d));
                if v.abs() <= half + 1e-3 && u >= -1e-3 && u <= from.distance(to) + 1e-3 {
                    let dot = &mut self.dots[y * self.width + x];
                    *dot = (Some(kind), dot.1 || kind == PassKind::Top);
                }
            }
        }
    }

    /// Dots inside the polygon: all, bare ones, and those deep inside with something but top threads on top.
    fn count(&self, polygon: &Polygon) -> (usize, usize, usize) {
        let locator = Locator::new(&Region::from(polygon.clone()));
        let (mut all, mut bare, mut showing) = (0, 0, 0);
        for y in 0..self.height {
            for x in 0..self.width {
                let place = self.place(x, y);
                if !locator.contains(place) {
                    continue;
                }
                let (kind, top) = self.dots[y * self.width + x];
                all += 1;
                bare += usize::from(!top);
                let hidden = matches!(kind, None | Some(PassKind::Top));
                showing += usize::from(!hidden && locator.depth(place) > 0.3);
            }
        }
        (all, bare, showing)
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]

    #[test]
    fn a_fill_is_one_chain_of_fit_stitches(
        kind in 0..Kind::ALL.len(), size in 3usize..80, seed: u64, angle in proptest::option::of(-200.0..200.0),
        spacing in 0.15..0.6, choices: (bool, bool, bool, bool), to in 0.2..1.0,
    ) {
        let (trim, irregular, plain, gradient) = choices;
        let mut settings = FillSettings {
            angle: angle.map_or(RowAngle::Auto, RowAngle::At),
            spacing,
            trim_to_outline: trim,
            spacing_to: gradient.then_some(SpacingTo { spacing: to, angle: 30.0 }),
            ..FillSettings::default()
        };
        if irregular {
            settings.shifts = Shifts::Irregular { seed };
        }
        if plain {
            settings.underlay = None;
        }
        for polygon in &testing::region(Kind::ALL[kind], size, seed).polygons {
            let bounds = polygon.bounds().unwrap();
            let ends = Ends { start: Some(bounds.origin()), end: Some(bounds.center()) };
            let passes = fill("shape", polygon, None, &settings, ends).value;
            let found = is_one_chain(&passes);
            prop_assert!(found.is_ok(), "{:?}", found);
            prop_assert_eq!(&passes, &fill("shape", polygon, None, &settings, ends).value);
        }
    }
}

/// Exact rows of a slanting needle do not overlap, so turns between them are long.
#[test]
fn long_turns_are_sewn_in_several_stitches() {
    let settings = FillSettings {
        spacing: 0.15,
        trim_to_outline: true,
        spacing_to: Some(SpacingTo { spacing: 0.8245034527923008, angle: 30.0 }),
        ..FillSettings::default()
    };
    for polygon in &testing::region(Kind::Needle, 3, 9_702_441_439_398_548_261).polygons {
        is_one_chain(&fill("needle", polygon, None, &settings, Ends::default()).value).unwrap();
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn a_fill_covers_and_hides_what_lies_under_it(
        kind in 0..Kind::ALL.len(), size in 3usize..60, seed: u64, plain: bool,
    ) {
        let mut settings = FillSettings::default();
        if plain {
            settings.underlay = None;
        }
        let (mut all, mut bare, mut showing) = (0, 0, 0);
        for polygon in testing::region(Kind::ALL[kind], size, seed).polygons.iter().take(40) {
            let passes = fill("shape", polygon, None, &settings, Ends::default()).value;
            let found = Picture::new(polygon, &passes).count(polygon);
            (all, bare, showing) = (all + found.0, bare + found.1, showing + found.2);
        }
        prop_assert!(bare as f64 <= 0.002 * all as f64 + 8.0, "{bare} of {all} dots are bare");
        prop_assert!(showing as f64 <= 0.005 * all as f64 + 8.0, "{showing} of {all} dots show what lies under");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn rings_are_one_chain_that_covers_and_hides(
        kind in 0..Kind::ALL.len(), size in 3usize..40, seed: u64, plain: bool,
    ) {
        let mut settings = FillSettings { flow: Flow::Contour, ..FillSettings::default() };
        if plain {
            settings.underlay = None;
        }
        let (mut all, mut bare, mut showing) = (0, 0, 0);
        for polygon in testing::region(Kind::ALL[kind], size, seed).polygons.iter().take(10) {
            let ends = Ends { start: None, end: polygon.outer.points.first().copied() };
            let passes = fill("shape", polygon, None, &settings, ends).value;
            let fit = is_one_chain(&passes);
            prop_assert!(fit.is_ok(), "{:?}", fit);
            let found = Picture::new(polygon, &passes).count(polygon);
            (all, bare, showing) = (all + found.0, bare + found.1, showing + found.2);
        }
        // Corners of small squares lie on dots, and those of the outermost ring a little inside.
        prop_assert!(bare as f64 <= 0.004 * all as f64 + 30.0, "{bare} of {all} dots are bare");
        prop_assert!(showing as f64 <= 0.012 * all as f64 + 20.0, "{showing} of {all} dots show what lies under");
    }
}

/// Guides of any kind over a shape of about 60 mm: lines, arcs, waves, and some that cross.
fn guides(kind: usize, seed: u64) -> Vec<Vec<Point>> {
    let mut random = testing::Random(seed);
    let mut line = |count: usize| -> Vec<Point> {
        (0..count).map(|_| Point::new(random.between(-30.0, 30.0), random.between(-30.0, 30.0))).collect()
    };
    match kind {
        0 => vec![line(2)],
        1 => vec![line(2), line(2)],
        2 => vec![line(3), line(2), line(4)],
        3 => vec![circle(12.0)],
        _ => vec![
            (0..60).map(|i| f64::from(i) - 30.0).map(|x| Point::new(x, 6.0 * (x * 0.15).sin())).collect(),
            vec![Point::new(-30.0, 20.0), Point::new(30.0, 28.0)],
        ],
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn bent_rows_are_one_chain_that_covers_and_hides(
        kind in 0..Kind::ALL.len(), size in 3usize..40, seed: u64, plain: bool, rays: bool, lines in 0usize..5,
        centre: bool, trim: bool,
    ) {
        let flow = if rays {
            Flow::Radial { centre: centre.then_some(Point::new(5.0, -3.0)) }
        } else {
            Flow::Guided { lines: guides(lines, seed) }
        };
        let mut settings = FillSettings { flow, trim_to_outline: trim, ..FillSettings::default() };
        if plain {
            settings.underlay = None;
        }
        let (mut all, mut bare, mut showing) = (0, 0, 0);
        for polygon in testing::region(Kind::ALL[kind], size, seed).polygons.iter().take(10) {
            let ends = Ends { start: None, end: polygon.outer.points.first().copied() };
            let passes = fill("shape", polygon, None, &settings, ends).value;
            let fit = is_one_chain(&passes);
            prop_assert!(fit.is_ok(), "{:?}", fit);
            let found = Picture::new(polygon, &passes).count(polygon);
            (all, bare, showing) = (all + found.0, bare + found.1, showing + found.2);
        }
        prop_assert!(trim || bare as f64 <= 0.002 * all as f64 + 10.0, "{bare} of {all} dots are bare");
        prop_assert!(trim || showing as f64 <= 0.008 * all as f64 + 10.0, "{showing} of {all} dots show what lies under");
    }
}

/// Cells on both sides of the ray that the plane of rays is cut open along: a walk that is to end beside the other
/// cell does, and nothing goes astray over rows laid before.
#[test]
fn rays_hide_moves_over_the_ray_to_the_right() {
    let frame = |half: f64, x: f64| rectangle((-half + x, -half), (half + x, half));
    for (wide, x) in [(5.0, 0.0), (3.0, 2.0), (6.0, -4.0)] {
        let hole = frame(20.0 - wide, x * 0.3).into_iter().rev().collect();
        let shape = polygon(frame(20.0, 0.0), vec![hole]);
        let settings = FillSettings { flow: Flow::Radial { centre: None }, ..FillSettings::default() };
        let passes = fill("frame", &shape, None, &settings, Ends::default()).value;
        let (all, bare, showing) = Picture::new(&shape, &passes).count(&shape);
        assert!(bare * 500 <= all && showing * 400 <= all, "{wide}: {bare} bare, {showing} showing of {all}");
    }
}

/// Rings of a plain shape do not crowd their needle points, in corners either.
#[test]
fn rings_keep_their_needle_points_apart() {
    for (name, outline) in [("disc", circle(12.0)), ("square", rectangle((0.0, 0.0), (20.0, 20.0)))] {
        let settings = FillSettings { flow: Flow::Contour, ..FillSettings::default() };
        let shape = polygon(outline, vec![]);
        let passes = fill(name, &shape, None, &settings, Ends::default()).value;
        let (all, bare, _) = Picture::new(&shape, &passes).count(&shape);
        assert!(bare * 500 <= all, "{name}: {bare} of {all} dots are bare");
        let points: Vec<Point> = passes.iter().flat_map(|pass| pass.points.iter().copied()).collect();
        let per_mm2 = points.len() as f64 / shape.area();
        assert!(per_mm2 < 4.0, "{name}: {per_mm2} points on a mm²");
        let crowd = points.iter().map(|p| points.iter().filter(|q| q.distance(*p) <= 0.5).count()).max();
        assert!(crowd <= Some(14), "{name}: {crowd:?} points within 0.5 mm");
    }
}

/// On plain shapes, and round holes, bent rows leave next to nothing bare.
#[test]
fn bent_rows_cover_a_disc_with_a_hole() {
    let mut hole: Vec<Point> = circle(4.0).iter().map(|p| *p + kurbo::Vec2::new(5.0, 2.0)).collect();
    hole.reverse();
    let shape = polygon(circle(15.0), vec![hole]);
    let arc = circle(25.0).iter().take(1500).map(|p| *p + kurbo::Vec2::new(0.0, -25.0)).collect();
    let fan = vec![
        vec![Point::new(-14.0, -9.0), Point::new(14.0, -4.0)],
        vec![Point::new(-14.0, 9.0), Point::new(14.0, 3.0)],
    ];
    for flow in [
        Flow::Radial { centre: None },
        Flow::Radial { centre: Some(Point::new(-20.0, 3.0)) },
        Flow::Guided { lines: vec![arc] },
        Flow::Guided { lines: fan },
    ] {
        let settings = FillSettings { flow, ..FillSettings::default() };
        let passes = fill("disc", &shape, None, &settings, Ends::default()).value;
        is_one_chain(&passes).unwrap();
        let (all, bare, showing) = Picture::new(&shape, &passes).count(&shape);
        assert!(bare as f64 <= 0.0013 * all as f64, "{:?}: {bare} of {all} dots are bare", settings.flow);
        assert!(showing as f64 <= 0.007 * all as f64, "{:?}: {showing} of {all} dots show", settings.flow);
    }
}

#[test]
fn rings_of_a_disc_are_as_long_as_a_spiral() {
    let shape = polygon(circle(10.0), vec![]);
    let settings = FillSettings { flow: Flow::Contour, ..plain(0.4) };
    let points = rounded(&fill("disc", &shape, None, &settings, Ends::default()).value);
    let length: f64 = points.windows(2).map(|pair| pair[0].1.distance(pair[1].1)).sum();
    // Area over pitch (`archimedean_spiral_area_over_pitch`), and what is doubled in the middle.
    let exact = std::f64::consts::PI * 100.0 / 0.4;
    assert!((length / exact - 1.0).abs() < 0.02, "{length} {exact}");
}

fn plain(spacing: f64) -> FillSettings {
    FillSettings {
        angle: RowAngle::At(0.0),
        spacing,
        pull_compensation: 0.0,
        underlay: None,
        ..FillSettings::default()
    }
}

fn polygon(outer: Vec<Point>, holes: Vec<Vec<Point>>) -> Polygon {
    Polygon { outer: Ring::new(outer), holes: holes.into_iter().map(Ring::new).collect() }
}

fn rectangle(from: (f64, f64), to: (f64, f64)) -> Vec<Point> {
    [(from.0, from.1), (to.0, from.1), (to.0, to.1), (from.0, to.1)].map(Point::from).to_vec()
}

fn circle(radius: f64) -> Vec<Point> {
    (0..4000)
        .map(|i| (kurbo::Vec2::from_angle(std::f64::consts::TAU * f64::from(i) / 4000.0) * radius).to_point())
        .collect()
}

/// Rows at angle 0 of a fill: how many, and how long together.
fn rows(passes: &[Pass]) -> (usize, f64) {
    let (mut heights, mut length) = (Vec::new(), 0.0);
    let points: Vec<(PassKind, Point)> =
        passes.iter().flat_map(|pass| pass.points.iter().map(|p| (pass.kind, *p))).collect();
    for pair in points.windows(2) {
        if pair[1].0 == PassKind::Top && (pair[0].1.y - pair[1].1.y).abs() < 1e-9 {
            heights.push((pair[1].1.y * 1e6).round() as i64);
            length += pair[0].1.distance(pair[1].1);
        }
    }
    heights.sort_unstable();
    heights.dedup();
    (heights.len(), length)
}

/// Row values of `fixtures/reference/geometry/checks.csv`: 25 rows of 40 mm.
#[test]
fn a_rectangle_is_covered_by_w_h_over_s_of_rows() {
    let shape = polygon(rectangle((0.0, 0.0), (40.0, 10.0)), vec![]);
    let (count, length) = rows(&fill("bar", &shape, None, &plain(0.4), Ends::default()).value);
    assert_eq!(count, 25);
    assert!((length - 1000.0).abs() < 1e-6, "{length}");
}

/// The same file: 50 rows of 2 sqrt(R² - y²), 786.085 mm together. Bands reach
/// beyond row lines, so rows are longer by what the outline recedes within half a spacing.
#[test]
fn a_circle_has_the_rows_of_the_closed_form() {
    let shape = polygon(circle(10.0), vec![]);
    let trimmed = FillSettings { trim_to_outline: true, ..plain(0.4) };
    let (count, length) = rows(&fill("disc", &shape, None, &trimmed, Ends::default()).value);
    assert_eq!(count, 50);
    assert!((length - 786.085177824).abs() < 0.01, "{length}");
    let (_, banded) = rows(&fill("disc", &shape, None, &plain(0.4), Ends::default()).value);
    let exact: f64 = (0..50)
        .map(|k| {
            let y = (f64::from(k) - 24.5) * 0.4;
            2.0 * (100.0 - (y.abs() - 0.2).powi(2)).sqrt()
        })
        .sum();
    assert!((banded - exact).abs() < 0.01, "{banded} {exact}");
}

#[test]
fn a_ring_is_one_chain_with_rows_of_both_circles() {
    let mut hole = circle(4.0);
    hole.reverse();
    let shape = polygon(circle(10.0), vec![hole]);
    let trimmed = FillSettings { trim_to_outline: true, ..plain(0.4) };
    let made = fill("ring", &shape, None, &trimmed, Ends::default());
    is_one_chain(&made.value).unwrap();
    let chord = |radius: f64, y: f64| 2.0 * (radius * radius - y * y).max(0.0).sqrt();
    // A hole parts a row where it takes up the whole band.
    let hole = |y: f64| if y.abs() + 0.2 < 4.0 { chord(4.0, y) } else { 0.0 };
    let exact: f64 = (0..50).map(|k| (f64::from(k) - 24.5) * 0.4).map(|y| chord(10.0, y) - hole(y)).sum();
    let (count, length) = rows(&made.value);
    assert_eq!(count, 50);
    assert!((length - exact).abs() < 0.3, "{length} {exact}");
}

#[test]
fn compensation_lengthens_rows_and_never_closes_a_gap() {
    let gap = rectangle((9.8, 3.0), (10.2, 7.0)).into_iter().rev().collect();
    let shape = polygon(rectangle((0.0, 0.0), (20.0, 10.0)), vec![gap]);
    let settings = FillSettings { pull_compensation: 0.3, ..plain(0.4) };
    let passes = fill("slot", &shape, None, &settings, Ends::default()).value;
    let (_, bare) = rows(&fill("slot", &shape, None, &plain(0.4), Ends::default()).value);
    assert!(rows(&passes).1 > bare + 20.0 * 0.5);
    let top = passes.iter().filter(|pass| pass.kind == PassKind::Top).flat_map(|pass| pass.points.windows(2));
    for pair in top {
        let crosses = (pair[0].x - 10.0) * (pair[1].x - 10.0) < 0.0;
        let beside = pair[0].y > 3.3 && pair[0].y < 6.7 && pair[1].y > 3.3 && pair[1].y < 6.7;
        assert!(!(crosses && beside), "{pair:?}");
    }
}

#[test]
fn compensation_keeps_out_of_neighbours() {
    let shape = polygon(rectangle((0.0, 0.0), (10.0, 10.0)), vec![]);
    let other = Region::from_rings(&[Ring::new(rectangle((10.0, -5.0), (20.0, 5.0)))], FillRule::NonZero);
    let settings = FillSettings { pull_compensation: 0.4, ..plain(0.4) };
    let passes = fill("left", &shape, Some(&other), &settings, Ends::default()).value;
    let reach = |low: f64, high: f64| {
        let points = passes.iter().flat_map(|pass| &pass.points).filter(|p| p.y > low && p.y < high);
        points.map(|p| p.x).fold(0.0, f64::max)
    };
    assert!(reach(0.0, 4.9) <= 10.0 + 1e-9 && reach(5.5, 10.0) > 10.3);
}

#[test]
fn a_chain_starts_and_ends_where_it_is_asked_to() {
    let shape = polygon(circle(10.0), vec![]);
    for (from, to) in [((-10.0, 0.0), (10.0, 0.0)), ((0.0, -10.0), (7.07, 7.07)), ((0.0, 10.0), (0.0, 10.0))] {
        let ends = Ends { start: Some(from.into()), end: Some(to.into()) };
        let passes = fill("disc", &shape, None, &FillSettings::default(), ends).value;
        let points = rounded(&passes);
        assert!(points[0].1.distance(from.into()) < 0.5, "{:?} {from:?}", points[0]);
        assert!(points[points.len() - 1].1.distance(to.into()) < 2.5, "{:?} {to:?}", points[points.len() - 1]);
    }
}

#[test]
fn spacing_goes_from_one_side_to_the_other() {
    let shape = polygon(rectangle((0.0, 0.0), (20.0, 30.0)), vec![]);
    let settings = FillSettings { spacing_to: Some(SpacingTo { spacing: 0.8, angle: 90.0 }), ..plain(0.2) };
    let passes = fill("fade", &shape, None, &settings, Ends::default()).value;
    let between = |low: f64, high: f64| {
        let mut rows: Vec<i64> = passes
            .iter()
            .flat_map(|p| &p.points)
            .filter(|p| p.y > low && p.y < high)
            .map(|p| (p.y * 1e4) as i64)
            .collect();
        rows.sort_unstable();
        rows.dedup();
        rows.len()
    };
    assert!(between(0.0, 3.0) >= 12 && between(27.0, 30.0) <= 5, "{} {}", between(0.0, 3.0), between(27.0, 30.0));
}

#[test]
fn tiny_and_thin_shapes_come_out_as_something() {
    for (width, height) in [(1.0, 1.0), (20.0, 0.05), (0.05, 20.0), (0.5, 0.4), (60.0, 0.3)] {
        let passes = fill(
            "bit",
            &polygon(rectangle((0.0, 0.0), (width, height)), vec![]),
            None,
            &FillSettings::default(),
            Ends::default(),
        );
        let points: usize = passes.value.iter().map(|pass| pass.points.len()).sum();
        is_one_chain(&passes.value).unwrap();
        assert!(points >= 3 && passes.warnings.is_empty(), "{width} x {height}: {points}");
    }
    let made = fill("speck", &Polygon::default(), None, &FillSettings::default(), Ends::default());
    assert!(made.value.is_empty() && made.warnings[0].to_string().contains("speck"));
}

#[test]
fn needle_points_of_rings_do_not_line_up() {
    let corner = |i: i32| {
        let (sin, cos) = (f64::from(i) * std::f64::consts::TAU / 90.0).sin_cos();
        Point::new(20.0 * cos, 12.0 * sin)
    };
    let ellipse = Polygon { outer: Ring::new((0..90).map(corner).collect()), holes: Vec::new() };
    let settings = FillSettings { flow: Flow::Contour, underlay: None, ..FillSettings::default() };
    let passes = fill("rings", &ellipse, None, &settings, Ends::default()).value;
    let points: Vec<Point> = rounded(&passes).into_iter().map(|(_, point)| point).collect();
    let is_near = |(i, point): (usize, &Point)| {
        let others = points.iter().enumerate().filter(|(j, _)| j.abs_diff(i) > 1);
        others.map(|(_, other)| other.distance(*point)).fold(f64::INFINITY, f64::min) < 0.3
    };
    let near = points.iter().enumerate().filter(|&one| is_near(one)).count();
    // More than half of them would lie beside one of the next ring if that were not looked at.
    assert!(near * 5 < points.len(), "{near} of {}", points.len());
}

/// The most needle points in any of the squares of 2 mm that the fabric is cut into, on a mm².
fn most_on_a_square(passes: &[Pass]) -> f64 {
    let mut squares = std::collections::BTreeMap::new();
    for (_, point) in rounded(passes) {
        *squares.entry(((point.x / 2.0).floor() as i64, (point.y / 2.0).floor() as i64)).or_insert(0) += 1;
    }
    f64::from(squares.into_values().max().unwrap_or(0)) / 4.0
}

#[test]
fn rays_do_not_end_close_together() {
    let settings = FillSettings { flow: Flow::Radial { centre: None }, ..FillSettings::default() };
    for radius in [6.0, 12.0, 25.0] {
        let disc = polygon(circle(radius), vec![]);
        let most = most_on_a_square(&fill("disc", &disc, None, &settings, Ends::default()).value);
        assert!(most <= 8.0, "{radius}: {most} needle points on a mm²");
    }
}

#[test]
fn rays_thin_out_under_what_is_sewn_over_their_ends() {
    let settings = FillSettings { flow: Flow::Radial { centre: None }, ..FillSettings::default() };
    let disc = polygon(circle(18.0), vec![]);
    let hole = circle(17.0).into_iter().rev().collect();
    let over = Region::from(polygon(circle(30.0), vec![hole]));
    let under = |overlap: f64| {
        let beside = crate::Beside { keep_out: Some(&over), overlap, ..crate::Beside::default() };
        let passes = fill("disc", &disc, beside, &settings, Ends::default()).value;
        rounded(&passes).iter().filter(|(kind, p)| *kind == PassKind::Top && p.to_vec2().hypot() > 17.6).count()
    };
    let (all, thin) = (under(0.0), under(1.0));
    assert!(thin * 5 < all * 4, "{thin} of {all} needle points");
}
