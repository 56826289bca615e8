//! The geometry against closed forms and against another clipping library.
//!
//! Values and their sources: `fixtures/reference/geometry/checks.csv`. The other
//! library is Clipper (A. Johnson), through `geo-clipper`.

use geo_clipper::{Clipper, EndType, JoinType};
use geo_types::{Coord, LineString, MultiPolygon};
use kurbo::{Affine, BezPath, Ellipse, Point, Shape, Vec2};
use laidwork_geometry::testing::{self, Kind, Random};
use laidwork_geometry::{FillRule, Join, Region, Ring, RowLines, Rows, Span, flatten, flatten_to_rings};
use laidwork_plan::Angle;
use std::collections::BTreeSet;
use std::f64::consts::{PI, TAU};
use std::path::PathBuf;

struct Case {
    check: String,
    shape: String,
    parameters: String,
    value: f64,
}

fn all_cases() -> Vec<Case> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../fixtures/reference/geometry/checks.csv");
    let mut table = csv::Reader::from_path(&path).expect("the table of checks");
    let case = |row: csv::StringRecord| Case {
        check: row[0].to_owned(),
        shape: row[1].to_owned(),
        parameters: row[2].to_owned(),
        value: row[3].parse().expect("a value"),
    };
    table.records().map(|row| case(row.expect("a row"))).collect()
}

/// The cases of one check; a check without cases fails.
fn cases(check: &str) -> Vec<Case> {
    let cases: Vec<Case> = all_cases().into_iter().filter(|case| case.check == check).collect();
    assert!(!cases.is_empty(), "no cases of {check}");
    cases
}

impl Case {
    /// The number after `name=` in the shape or the parameters.
    fn number(&self, name: &str) -> f64 {
        let text = format!("{},{}", self.shape, self.parameters);
        let cell = text.split([',', ' ']).find_map(|cell| cell.strip_prefix(name)?.strip_prefix('='));
        cell.and_then(|cell| cell.parse().ok()).unwrap_or_else(|| panic!("no {name} in {text}"))
    }

    fn is_near(&self, found: f64, relative: f64) {
        let off = (found - self.value).abs();
        let place = format!("{} of {} {}", self.check, self.shape, self.parameters);
        assert!(off <= relative * self.value.abs().max(1.0), "{place}: {found} instead of {}", self.value);
    }
}

fn region(points: impl IntoIterator<Item = (f64, f64)>) -> Region {
    Region::from_rings(&[Ring::new(points.into_iter().map(Point::from).collect())], FillRule::NonZero)
}

fn ngon(corners: usize, radius: f64) -> Region {
    region((0..corners).map(|i| {
        let angle = TAU * i as f64 / corners as f64;
        (radius * angle.cos(), radius * angle.sin())
    }))
}

/// The polygon a row of the table names.
fn shape(name: &str) -> Region {
    if name.starts_with("triangle 3-4-5") {
        region([(0., 0.), (4., 0.), (0., 3.)])
    } else if name.starts_with("unit square") {
        region([(0., 0.), (1., 0.), (1., 1.), (0., 1.)])
    } else if name.starts_with("regular hexagon side 10") {
        ngon(6, 10.)
    } else if name.starts_with("rectangle 40x10") {
        region([(0., 0.), (40., 0.), (40., 10.), (0., 10.)])
    } else if name.starts_with("L 20x20 minus 10x10") {
        region([(0., 0.), (20., 0.), (20., 10.), (10., 10.), (10., 20.), (0., 20.)])
    } else {
        panic!("no shape called {name}")
    }
}

const FINE: Join = Join::Round { tolerance: 1e-6 };
const SHARP: Join = Join::Mitre { limit: 10.0 };

#[test]
fn round_offsets_follow_the_steiner_formula() {
    for case in cases("offset_round_area") {
        case.is_near(shape(&case.shape).offset(case.number("r"), FINE).area(), 1e-6);
    }
    for case in cases("offset_round_perimeter") {
        case.is_near(shape(&case.shape).offset(case.number("r"), FINE).perimeter(), 1e-6);
    }
}

#[test]
fn mitred_offsets_of_convex_shapes() {
    for case in cases("offset_mitre_area") {
        case.is_near(shape(&case.shape).offset(case.number("r"), SHARP).area(), 1e-6);
    }
    for case in cases("offset_mitre_perimeter") {
        case.is_near(shape(&case.shape).offset(case.number("r"), SHARP).perimeter(), 1e-6);
    }
}

#[test]
fn insets() {
    for case in cases("inset_area") {
        case.is_near(shape(&case.shape).offset(-case.number("d"), SHARP).area(), 1e-6);
    }
    for case in cases("inset_perimeter") {
        case.is_near(shape(&case.shape).offset(-case.number("d"), SHARP).perimeter(), 1e-6);
    }
    for case in cases("inset_area_erosion") {
        case.is_near(shape(&case.shape).offset(-case.number("d"), FINE).area(), 1e-6);
    }
}

#[test]
fn areas_of_regular_polygons() {
    for case in cases("regular_ngon_area") {
        let corners = case.number("n") as usize;
        let radius = case.number("side") / (2.0 * (PI / corners as f64).sin());
        // Corners are rounded to 1e-6.
        case.is_near(ngon(corners, radius).area(), 2e-6);
    }
}

#[test]
fn lengths_of_flattened_curves() {
    for case in cases("ellipse_perimeter_exact") {
        let ellipse = Ellipse::new((0.0, 0.0), (case.number("a"), case.number("b")), 0.0);
        let ring = &flatten_to_rings(&ellipse.to_path(1e-9), 1e-8)[0];
        case.is_near(ring.length(), 1e-7);
    }
    for case in cases("quadratic_bezier_length") {
        let path = BezPath::from_svg("M0 0 Q1 1 2 0").unwrap();
        case.is_near(flatten(&path, 1e-9)[0].length(), 1e-8);
    }
}

/// Number of rows and their total length.
fn rows(region: &Region, degrees: f64, spacing: f64, offset: f64) -> (usize, f64) {
    let lines = RowLines::new(Angle::from_degrees(degrees).unwrap(), spacing, offset).unwrap();
    let (mut count, mut length) = (0, 0.0);
    let add = |_, spans: &[Span]| {
        count += 1;
        length += spans.iter().map(Span::length).sum::<f64>();
    };
    Rows::new().for_each_row(region.rings(), &lines, add).unwrap();
    (count, length)
}

#[test]
fn rows_over_a_circle_and_a_rectangle() {
    let circle = ngon(200_000, 10.0);
    for case in cases("row_rows") {
        case.is_near(rows(&circle, 0.0, 0.4, 0.2).0 as f64, 1e-12);
    }
    for case in cases("row_length") {
        let region = if case.shape.starts_with("circle") { circle.clone() } else { shape(&case.shape) };
        case.is_near(rows(&region, 0.0, 0.4, 0.2).1, 1e-6);
    }
    for case in cases("row_length_x_spacing") {
        case.is_near(0.4 * rows(&circle, 0.0, 0.4, 0.2).1, 1e-6);
    }
}

#[test]
fn rows_of_a_convex_shape_average_its_perimeter_over_pi() {
    for case in cases("row_rows_mean_over_angle") {
        for region in [shape("triangle 3-4-5"), shape("rectangle 40x10"), ngon(7, 9.0)] {
            let spacing = 0.01;
            let count: usize = (0..180).map(|i| rows(&region, f64::from(i), spacing, 0.0037).0).sum();
            let mean = count as f64 / 180.0;
            case.is_near(mean * spacing / region.perimeter(), 0.01);
        }
    }
}

/// Three arcs about the corners of a triangle: as wide in every direction.
fn reuleaux(width: f64) -> Region {
    let corner = |i: usize| Vec2::from_angle(TAU * i as f64 / 3.0) * (width / 3f64.sqrt());
    let steps = 20_000;
    let arc = |i: usize| {
        let from = (corner(i + 1) - corner(i)).angle();
        (0..steps)
            .map(move |k| (corner(i) + Vec2::from_angle(from + PI / 3.0 * k as f64 / steps as f64) * width).to_point())
    };
    Region::from_rings(&[Ring::new((0..3).flat_map(arc).collect())], FillRule::NonZero)
}

#[test]
fn a_shape_of_constant_width_has_as_many_rows_at_every_angle() {
    for case in cases("reuleaux_area") {
        case.is_near(reuleaux(20.0).area(), 1e-6);
    }
    for case in cases("reuleaux_rows") {
        let region = reuleaux(20.0);
        for degrees in 0..180 {
            let count = rows(&region, f64::from(degrees), 0.4, 0.1).0 as f64;
            assert!((count - case.value).abs() <= 1.0, "{count} rows at {degrees}°");
        }
    }
}

#[test]
fn rows_times_spacing_is_the_area_within_the_hard_bound() {
    let mut tried = 0;
    let mut worst: f64 = 0.0;
    for case in cases("row_error_bound") {
        for seed in 0..3000 {
            let mut random = Random(seed);
            let kind = Kind::ALL[random.below(Kind::ALL.len())];
            let region = testing::region(kind, 3 + random.below(50), random.bits());
            let spacing = random.between(0.05, 3.0);
            let (_, length) = rows(&region, random.between(-180.0, 180.0), spacing, random.between(0.0, spacing));
            let ratio = (spacing * length - region.area()).abs() / (spacing * region.perimeter());
            assert!(ratio <= case.value, "seed {seed}: {ratio}");
            worst = worst.max(ratio);
            tried += 1;
        }
    }
    assert!(tried >= 3000 && worst > 0.1, "{tried} polygons, worst {worst}");
}

#[test]
fn the_largest_disc_of_an_ellipse() {
    for case in cases("medial_axis_radius") {
        let ring = flatten_to_rings(&Ellipse::new((0.0, 0.0), (10.0, 5.0), 0.0).to_path(1e-6), 1e-5);
        let region = Region::from_rings(&ring, FillRule::NonZero);
        let disc = region.polygons[0].largest_disc(1e-4).unwrap();
        case.is_near(disc.radius, 3e-5);
    }
}

#[test]
fn every_check_of_the_table_is_made_here() {
    let source = include_str!("geometry.rs");
    let checks: BTreeSet<String> = all_cases().into_iter().map(|case| case.check).collect();
    assert!(checks.len() > 10);
    for check in checks {
        assert!(source.contains(&format!("cases(\"{check}\")")), "nothing checks {check}");
    }
}

/// Steps of Clipper's integers in a millimetre: it cuts off what is smaller.
const SCALE: f64 = 1e8;

fn to_clipper(region: &Region) -> MultiPolygon<f64> {
    let ring = |ring: &Ring| -> LineString<f64> {
        ring.points.iter().chain(ring.points.first()).map(|p| Coord { x: p.x, y: p.y }).collect()
    };
    let polygon = |polygon: &laidwork_geometry::Polygon| {
        geo_types::Polygon::new(ring(&polygon.outer), polygon.holes.iter().map(ring).collect())
    };
    MultiPolygon::new(region.polygons.iter().map(polygon).collect())
}

fn clipper_area(shapes: &MultiPolygon<f64>) -> f64 {
    let ring =
        |line: &LineString<f64>| Ring::new(line.0.iter().map(|c| Point::new(c.x, c.y)).collect()).signed_area().abs();
    let polygon = |p: &geo_types::Polygon<f64>| ring(p.exterior()) - p.interiors().iter().map(ring).sum::<f64>();
    shapes.0.iter().map(polygon).sum()
}

fn random_region(random: &mut Random) -> Region {
    let kind = Kind::ALL[random.below(Kind::ALL.len())];
    testing::region(kind, 3 + random.below(40), random.bits())
}

#[test]
fn booleans_agree_with_clipper() {
    let mut tried = 0;
    for seed in 0..500 {
        let mut random = Random(seed);
        let (a, b) = (random_region(&mut random), random_region(&mut random));
        // Off the grid of the first, so that rounding shows.
        let b = b.transform(Affine::rotate(0.3));
        let (p, q) = (to_clipper(&a), to_clipper(&b));
        let pairs = [
            (a.union(&b), p.union(&q, SCALE)),
            (a.intersection(&b), p.intersection(&q, SCALE)),
            (a.difference(&b), p.difference(&q, SCALE)),
        ];
        // Every corner is rounded to 1e-6 once.
        let slack = 1e-8 * (a.area() + b.area()) + 1e-6 * (a.perimeter() + b.perimeter());
        for (ours, theirs) in pairs {
            let off = (ours.area() - clipper_area(&theirs)).abs();
            assert!(off <= slack, "seed {seed}: {off} mm² apart, {slack} allowed");
            tried += 1;
        }
    }
    assert_eq!(tried, 1500);
}

#[test]
fn round_offsets_agree_with_clipper_within_the_sagitta() {
    let mut tried = 0;
    let tolerance = 0.002;
    for seed in 0..500 {
        let mut random = Random(seed);
        let region = random_region(&mut random);
        let distance = [0.05, 0.3, 1.0, 3.0, -0.05, -0.3, -1.0, -3.0][random.below(8)];
        let ours = region.offset(distance, Join::Round { tolerance });
        let arcs = JoinType::Round(tolerance * SCALE);
        let theirs = to_clipper(&region).offset(distance, arcs, EndType::ClosedPolygon, SCALE);
        let slack = tolerance * ours.perimeter().max(region.perimeter());
        let off = (ours.area() - clipper_area(&theirs)).abs();
        assert!(off <= slack, "seed {seed}: {off} mm² apart, {slack} allowed");
        tried += 1;
    }
    assert_eq!(tried, 500);
}
