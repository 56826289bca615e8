//! Fills against the formatting of their own output, and rows against clipping libraries.
//!
//! Ratios within one run are what counts: fill over format, clip over rows. `taskset -c 0` before the command shows
//! what fills take on one core.

use criterion::{Criterion, criterion_group, criterion_main};
use geo_clipper::ClipperOpen;
use i_overlay::core::fill_rule::FillRule;
use i_overlay::float::clip::FloatClip;
use i_overlay::string::clip::ClipRule;
use laidwork_benches::{formatted, many_holes, many_shapes, one_shape, points};
use laidwork_fill::{Ends, FillSettings, FillUnderlay, RowAngle, fill};
use laidwork_geometry::{Polygon, RowLines, Rows};
use laidwork_plan::{Angle, Pass};
use rayon::prelude::*;
use std::hint::black_box;
use std::time::Duration;

const STITCHES: f64 = 1_000_000.0;
const SPACING: f64 = 0.22;

/// Shapes side by side, as the engine sews them; one alone on the thread that formats it.
fn sewn(polygons: &[Polygon], underlay: Option<FillUnderlay>) -> Vec<Vec<Pass>> {
    let settings = FillSettings { angle: RowAngle::At(0.0), underlay, ..FillSettings::default() };
    let sew = |polygon| fill("bench", polygon, None, &settings, Ends::default()).value;
    match polygons {
        [polygon] => vec![sew(polygon)],
        _ => polygons.par_iter().map(sew).collect(),
    }
}

/// Total length of the rows over `polygons`, mm.
fn rows(polygons: &[Polygon]) -> f64 {
    let lines = RowLines::new(Angle::ZERO, SPACING, 0.0).expect("a spacing above zero");
    let mut rows = Rows::new();
    let mut total = 0.0;
    for polygon in polygons {
        rows.for_each_row(polygon.rings(), &lines, |_, spans| {
            total += spans.iter().map(|span| span.length()).sum::<f64>();
        })
        .expect("fewer rows than the limit");
    }
    total
}

/// The same rows as lines that reach over each polygon, for the clipping libraries.
fn lines(polygon: &Polygon) -> Vec<[[f64; 2]; 2]> {
    let bounds = polygon.bounds().expect("polygons have points");
    let first = (bounds.y0 / SPACING).ceil() as i64;
    let last = (bounds.y1 / SPACING).floor() as i64;
    (first..=last)
        .map(|row| {
            let y = row as f64 * SPACING;
            [[bounds.x0 - 1.0, y], [bounds.x1 + 1.0, y]]
        })
        .collect()
}

fn clipped_by_i_overlay(polygons: &[Polygon]) -> f64 {
    let mut total = 0.0;
    for polygon in polygons {
        let shape: Vec<Vec<[f64; 2]>> =
            polygon.rings().map(|ring| ring.points.iter().map(|p| [p.x, p.y]).collect()).collect();
        let lines: Vec<Vec<[f64; 2]>> = lines(polygon).into_iter().map(|line| line.to_vec()).collect();
        let rule = ClipRule { invert: false, boundary_included: false };
        let parts = lines.clip_by(&shape, FillRule::NonZero, rule);
        total += parts.iter().filter_map(|p| Some((p.last()?[0] - p.first()?[0]).abs())).sum::<f64>();
    }
    total
}

fn clipped_by_clipper(polygons: &[Polygon]) -> f64 {
    let ring = |ring: &laidwork_geometry::Ring| {
        geo_types::LineString::from(ring.points.iter().map(|p| (p.x, p.y)).collect::<Vec<_>>())
    };
    let mut total = 0.0;
    for polygon in polygons {
        let shape = geo_types::Polygon::new(ring(&polygon.outer), polygon.holes.iter().map(ring).collect());
        let lines: Vec<geo_types::LineString<f64>> =
            lines(polygon).iter().map(|line| line.iter().map(|p| (p[0], p[1])).collect()).collect();
        let clipped = geo_types::MultiLineString(lines).intersection(&shape, 1e6);
        total += clipped.0.iter().filter_map(|l| Some((l.0.last()?.x - l.0.first()?.x).abs())).sum::<f64>();
    }
    total
}

fn cases(c: &mut Criterion) {
    for (name, polygons) in [("a", one_shape(STITCHES)), ("b", many_holes(STITCHES)), ("c", many_shapes(STITCHES))] {
        let mut group = c.benchmark_group(name);
        group.sample_size(10).warm_up_time(Duration::from_secs(1)).measurement_time(Duration::from_secs(2));
        let laid = points(&sewn(&polygons, Some(FillUnderlay::default())));
        eprintln!("case {name}: {} needle points, {:.0} mm of rows", laid.len(), rows(&polygons));
        group.bench_function("fill", |b| b.iter(|| black_box(sewn(&polygons, Some(FillUnderlay::default()))).len()));
        group.bench_function("fill without underlay", |b| b.iter(|| black_box(sewn(&polygons, None)).len()));
        group.bench_function("format its output", |b| b.iter(|| black_box(formatted(&laid)).len()));
        group.bench_function("rows alone", |b| b.iter(|| black_box(rows(&polygons))));
        group.bench_function("rows by i_overlay", |b| b.iter(|| black_box(clipped_by_i_overlay(&polygons))));
        group.bench_function("rows by clipper", |b| b.iter(|| black_box(clipped_by_clipper(&polygons))));
        group.finish();
    }
}

criterion_group!(benches, cases);
criterion_main!(benches);
