//! Fills with underlay against the formatting of their own output: CASE TIMES.
use laidwork_benches::{formatted, many_holes, many_shapes, one_shape, points};
use laidwork_fill::{Ends, FillSettings, FillUnderlay, RowAngle, fill};
use laidwork_geometry::Polygon;
use laidwork_plan::Pass;
use std::hint::black_box;
use std::time::Instant;
fn sewn(polygons: &[Polygon], underlay: Option<FillUnderlay>) -> Vec<Vec<Pass>> {
    let settings = FillSettings { angle: RowAngle::At(0.0), underlay, ..FillSettings::default() };
    polygons.iter().map(|polygon| fill("bench", polygon, None, &settings, Ends::default()).value).collect()
}
fn best(times: usize, mut f: impl FnMut() -> usize) -> f64 {
    (0..times).map(|_| { let t = Instant::now(); black_box(f()); t.elapsed().as_secs_f64() }).fold(f64::MAX, f64::min)
}
fn main() {
    let args: Vec<String> = std::env::args().collect();
    let times = args[2].parse().unwrap();
    for (name, polygons) in [("a", one_shape as fn(f64) -> Vec<Polygon>), ("b", many_holes), ("c", many_shapes)] {
        if !args[1].contains(name) { continue; }
        let polygons = polygons(1e6);
        if times == 0 { black_box(sewn(&polygons, Some(FillUnderlay::default())).len()); continue; }
        let laid = points(&sewn(&polygons, Some(FillUnderlay::default())));
        let with = best(times, || sewn(&polygons, Some(FillUnderlay::default())).len());
        let without = best(times, || sewn(&polygons, None).len());
        let format = best(times, || formatted(&laid).len());
        println!("{name}: {} points, with {:.1} ms, without {:.1} ms, format {:.1} ms: {:.2} {:.2}", laid.len(), with*1e3, without*1e3, format*1e3, with/format, without/format);
    }
}
