//! Several drawings in one hoop: sized, mirrored, turned, aligned and repeated.

use laidwork_drawing::{Drawing, LONGEST_SIDE, Line, Shape, Stroke};
use laidwork_geometry::{Polygon, Region, Ring};
use laidwork_plan::{Point, Rect, Vec2, Warned, Warning};
use laidwork_recipe::{Mirror, Place, Repeat};
use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::TAU;

/// A rotation or reflection about the origin, then a move. Lengths stay.
#[derive(Clone, Copy, Debug)]
struct Motion {
    mirror: Mirror,
    radians: f64,
    to: Vec2,
}

impl Motion {
    fn point(&self, p: Point) -> Point {
        let (x, y) = match self.mirror {
            Mirror::None => (p.x, p.y),
            Mirror::Across => (-p.x, p.y),
            Mirror::Down => (p.x, -p.y),
        };
        let (sin, cos) = self.radians.sin_cos();
        Point::new(x * cos - y * sin + self.to.x, x * sin + y * cos + self.to.y)
    }

    fn points(&self, points: &[Point]) -> Vec<Point> {
        points.iter().map(|&point| self.point(point)).collect()
    }

    fn ring(&self, ring: &Ring) -> Ring {
        let mut points = self.points(&ring.points);
        if self.mirror != Mirror::None {
            points.reverse(); // outer rings keep turning the same way
        }
        Ring::new(points)
    }

    fn region(&self, region: &Region) -> Region {
        let polygon = |polygon: &Polygon| Polygon {
            outer: self.ring(&polygon.outer),
            holes: polygon.holes.iter().map(|hole| self.ring(hole)).collect(),
        };
        Region { polygons: region.polygons.iter().map(polygon).collect() }
    }

    fn stroke(&self, stroke: &Stroke) -> Stroke {
        let line = |line: &Line| Line { points: self.points(&line.points), ..line.clone() };
        Stroke { lines: stroke.lines.iter().map(line).collect(), ..stroke.clone() }
    }

    fn bounds(&self, rect: Rect) -> Rect {
        let corners = [(rect.x0, rect.y0), (rect.x1, rect.y0), (rect.x1, rect.y1), (rect.x0, rect.y1)];
        let [a, b, c, d] = corners.map(|corner| self.point(corner.into()));
        Rect::from_points(a, b).union_pt(c).union_pt(d)
    }
}

/// What is longer than the limit by no more than this is as long as the limit, mm: sums of lengths in mm are not exact.
const ROUNDING: f64 = 1e-6;

/// Most shapes that places may make, and most corners of them all: about as much as is sewn in 10 s.
const MOST: (usize, usize) = (50_000, 5_000_000);

/// Places that make more than is sewn.
#[derive(Clone, Debug, PartialEq)]
pub struct TooMuch {
    /// Line in the recipe of the place that is too much, from 1.
    pub line: usize,
    what: Excess,
}

#[derive(Clone, Debug, PartialEq)]
enum Excess {
    /// All up to there is so wide and so high, mm.
    Far(f64, f64),
    /// There are more shapes, or corners of them, than [`MOST`].
    Many,
}

impl std::error::Error for TooMuch {}

impl std::fmt::Display for TooMuch {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.what {
            Excess::Far(width, height) => {
                write!(
                    f,
                    "with this place the design is {width:.0} x {height:.0} mm, and the limit is {LONGEST_SIDE} mm"
                )
            }
            Excess::Many => {
                write!(f, "with this place the design has more than {} shapes or {} corners", MOST.0, MOST.1)
            }
        }
    }
}

impl TooMuch {
    /// The way out.
    pub fn advice(&self) -> &'static str {
        match self.what {
            Excess::Far(..) => "lay the places closer: a smaller `radius`, `step`, `move` or `width`",
            Excess::Many => "repeat it less often: a smaller `count`, `columns` or `rows`, or sew it in several parts",
        }
    }
}

/// Puts `drawings` (one for each of `places`, read at its size) into one hoop
/// of `hoop` mm, centred on the origin.
///
/// Shapes are called `PLACE/SHAPE`, those of copies `PLACE-2/SHAPE` and so on.
/// Warnings name places that are aligned on something that is not there, `file` being the recipe.
///
/// # Errors
/// When the whole is longer than a drawing may be, or more than is sewn.
pub fn compose(
    drawings: Vec<Drawing>,
    places: &[Place],
    hoop: Option<(f64, f64)>,
    file: &str,
) -> Result<Warned<Drawing>, TooMuch> {
    let mut warnings = Vec::new();
    let frame = hoop.map_or(Rect::ZERO, |(width, height)| Rect::from_center_size(Point::ZERO, (width, height)));
    let mut shapes = Vec::new();
    let mut corners = 0;
    let mut title = None;
    let mut whole: Option<Rect> = None;
    let mut placed: BTreeMap<String, Rect> = BTreeMap::new();
    // Names of places and of their copies, those that are still to come too where they are written.
    let mut taken = BTreeSet::new();
    let written: BTreeSet<&str> = places.iter().filter_map(|place| place.name.as_deref()).collect();
    for (index, (drawing, place)) in drawings.into_iter().zip(places).enumerate() {
        let name = name_of(place, index, &taken);
        let on = match place.on.as_deref() {
            Some(on) => placed.get(on).copied().unwrap_or_else(|| {
                let what = format!("it is placed on {on:?}, which is no earlier place");
                let advice = "name a place above it, or take `on` out; it lies in the middle of the hoop meanwhile";
                warnings.push(Warning::at(format!("{file}:{}", place.line), what, advice));
                frame
            }),
            None => frame,
        };
        let own_corners: usize = drawing.shapes.iter().map(corners_of).sum();
        let mut bounds: Option<Rect> = None;
        for (copy, motion) in motions(place, drawing.rect, on).into_iter().enumerate() {
            let prefix = if copy == 0 {
                name.clone()
            } else {
                free(&name, '-', copy + 1, |name| taken.contains(name) || written.contains(name))
            };
            taken.insert(prefix.clone());
            let reach = motion.bounds(drawing.rect);
            let all = bounds.into_iter().chain(whole).fold(reach, |all, so_far| all.union(so_far));
            if all.width().max(all.height()) > LONGEST_SIDE + ROUNDING {
                return Err(TooMuch { line: place.line, what: Excess::Far(all.width(), all.height()) });
            }
            corners += own_corners;
            if shapes.len() + drawing.shapes.len() > MOST.0 || corners > MOST.1 {
                return Err(TooMuch { line: place.line, what: Excess::Many });
            }
            shapes.extend(drawing.shapes.iter().map(|shape| moved(shape, &motion, &prefix)));
            bounds = Some(bounds.map_or(reach, |so_far| so_far.union(reach)));
        }
        title = title.or(drawing.title);
        if let Some(bounds) = bounds {
            whole = Some(whole.map_or(bounds, |so_far| so_far.union(bounds)));
            placed.insert(name, bounds);
        }
    }
    Ok(Warned { value: Drawing { title, rect: whole.unwrap_or(frame), shapes }, warnings })
}

fn corners_of(shape: &Shape) -> usize {
    shape.region.rings().map(|ring| ring.points.len()).sum()
}

fn moved(shape: &Shape, motion: &Motion, prefix: &str) -> Shape {
    Shape {
        name: format!("{prefix}/{}", shape.name),
        region: motion.region(&shape.region),
        stroke: shape.stroke.as_ref().map(|stroke| motion.stroke(stroke)),
        ..shape.clone()
    }
}

/// The name of a place: as written, or its file's; made unique by a number.
fn name_of(place: &Place, index: usize, taken: &BTreeSet<String>) -> String {
    let file = place.drawing.as_deref().and_then(|file| std::path::Path::new(file).file_stem()?.to_str());
    let name = place.name.as_deref().or(file).map_or_else(|| format!("place-{}", index + 1), str::to_owned);
    if taken.contains(&name) { free(&name, '.', index + 1, |name| taken.contains(name)) } else { name }
}

/// `NAME-2` and so on, or the next that is not taken.
fn free(name: &str, mark: char, number: usize, taken: impl Fn(&str) -> bool) -> String {
    let numbered = (number..).map(|number| format!("{name}{mark}{number}"));
    numbered.into_iter().find(|name| !taken(name)).unwrap_or_else(|| name.to_owned())
}

/// Where each copy of a drawing goes that is aligned in `on`.
fn motions(place: &Place, rect: Rect, on: Rect) -> Vec<Motion> {
    let turn = place.rotate.to_radians();
    let still = Motion { mirror: place.mirror, radians: turn, to: Vec2::ZERO };
    let own = still.bounds(rect);
    let align = |side: i8, low: f64, high: f64, own_low: f64, own_high: f64| match side {
        -1 => low - own_low,
        1 => high - own_high,
        _ => (low + high) / 2.0 - (own_low + own_high) / 2.0,
    };
    // A copy in a ring or grid is aligned as the whole is: its middle takes the place.
    let alone = place.repeat == Repeat::Once;
    let (across, down) = if alone { (place.across, place.down) } else { (0, 0) };
    let to = Vec2::new(
        align(across, on.x0, on.x1, own.x0, own.x1) + place.shift[0],
        align(down, on.y0, on.y1, own.y0, own.y1) + place.shift[1],
    );
    match place.repeat {
        Repeat::Once => vec![Motion { to, ..still }],
        Repeat::Ring { count, radius, from, turn: outwards } => (0..count)
            .map(|copy| {
                let angle = from.to_radians() + TAU * copy as f64 / count as f64;
                let radians = if outwards { turn + angle } else { turn };
                Motion { radians, to: to + Vec2::new(angle.sin(), -angle.cos()) * radius, ..still }
            })
            .collect(),
        Repeat::Grid { columns, rows, step } => (0..rows * columns)
            .map(|copy| {
                let (row, column) = (copy / columns, copy % columns);
                let from_middle = |index: usize, count: usize| index as f64 - (count as f64 - 1.0) / 2.0;
                let offset = Vec2::new(from_middle(column, columns) * step[0], from_middle(row, rows) * step[1]);
                Motion { to: to + offset, ..still }
            })
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WEDGE: &[u8] = br##"<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="20mm" viewBox="0 0 10 20">
        <path id="wedge" d="M0 0H10L5 20Z"/></svg>"##;

    fn composed(toml: &str, hoop: Option<(f64, f64)>) -> Warned<Drawing> {
        let recipe = laidwork_recipe::parse(toml, "test").unwrap().value;
        let drawing = laidwork_drawing::read(WEDGE, &Default::default()).unwrap().value;
        compose(vec![drawing; recipe.places.len()], &recipe.places, hoop, "test").unwrap()
    }

    /// In tenths of a millimetre.
    fn bounds(drawing: &Drawing, shape: usize) -> [i32; 4] {
        let rect = drawing.shapes[shape].region.bounds().unwrap();
        [rect.x0, rect.y0, rect.x1, rect.y1].map(|v| (v * 10.0).round() as i32)
    }

    #[test]
    fn a_drawing_lies_on_a_side_of_the_hoop() {
        let places = "[[place]]\nacross = \"left\"\ndown = \"bottom\"\nmove = [1.0, -2.0]\n";
        let drawing = composed(places, Some((100.0, 80.0))).value;
        assert_eq!(bounds(&drawing, 0), [-490, 180, -390, 380]);
    }

    #[test]
    fn a_drawing_lies_on_the_middle_of_another() {
        let places =
            "[[place]]\nname = \"a\"\nacross = \"right\"\n[[place]]\nname = \"b\"\non = \"a\"\nrotate = 90.0\n";
        let drawing = composed(places, Some((100.0, 80.0))).value;
        assert_eq!(drawing.shapes[1].name, "b/wedge");
        assert_eq!(bounds(&drawing, 1), [350, -50, 550, 50]);
    }

    #[test]
    fn copies_stand_round_a_circle() {
        let places = "[[place]]\nname = \"w\"\nring = { count = 4, radius = 30.0 }\n";
        let drawing = composed(places, None).value;
        let names: Vec<_> = drawing.shapes.iter().map(|shape| shape.name.as_str()).collect();
        assert_eq!(names, ["w/wedge", "w-2/wedge", "w-3/wedge", "w-4/wedge"]);
        assert_eq!(bounds(&drawing, 0), [-50, -400, 50, -200]);
        assert_eq!(bounds(&drawing, 1), [200, -50, 400, 50]);
    }

    #[test]
    fn copies_stand_in_a_grid() {
        let drawing = composed("[[place]]\ngrid = { columns = 3, rows = 2, step = [15.0, 25.0] }\n", None).value;
        assert_eq!(drawing.shapes.len(), 6);
        assert_eq!(bounds(&drawing, 0), [-200, -225, -100, -25]);
        assert_eq!(bounds(&drawing, 5), [100, 25, 200, 225]);
    }

    #[test]
    fn a_mirrored_outline_still_turns_the_same_way() {
        let drawing = composed("[[place]]\nmirror = \"down\"\n", None).value;
        let ring = &drawing.shapes[0].region.polygons[0].outer;
        assert!((ring.signed_area() - 100.0).abs() < 1e-3);
    }

    #[test]
    fn copies_take_no_name_of_a_place() {
        let places = "[[place]]\nname = \"w\"\nring = { count = 3, radius = 30.0 }\n[[place]]\nname = \"w-2\"\n[[place]]\ndrawing = \"w.svg\"\n";
        let drawing = composed(places, None).value;
        let names: Vec<_> = drawing.shapes.iter().map(|shape| shape.name.as_str()).collect();
        assert_eq!(names, ["w/wedge", "w-3/wedge", "w-4/wedge", "w-2/wedge", "w.3/wedge"]);
    }

    #[test]
    fn a_place_on_nothing_is_told() {
        let composed = composed("# where\n[[place]]\non = \"moon\"\n", None);
        assert_eq!(composed.warnings.len(), 1);
        assert_eq!(composed.warnings[0].place.as_deref(), Some("test:2"));
    }

    #[test]
    fn places_too_far_from_each_other_are_refused() {
        let toml = "[[place]]\n[[place]]\nring = { count = 1000, radius = 2000.0 }\n";
        let recipe = laidwork_recipe::parse(toml, "test").unwrap().value;
        let drawing = laidwork_drawing::read(WEDGE, &Default::default()).unwrap().value;
        let refused = compose(vec![drawing; 2], &recipe.places, None, "test").unwrap_err();
        assert_eq!(refused.line, 2);
        assert!(refused.to_string().contains("the limit is 2000 mm"), "{refused}");
    }

    #[test]
    fn more_shapes_than_are_sewn_are_refused_before_they_are_made() {
        let toml = "[[place]]\ngrid = { columns = 1000, rows = 1000, step = [0.5, 0.5] }\n";
        let recipe = laidwork_recipe::parse(toml, "test").unwrap().value;
        let drawing = laidwork_drawing::read(WEDGE, &Default::default()).unwrap().value;
        let refused = compose(vec![drawing], &recipe.places, None, "test").unwrap_err();
        assert_eq!(refused.line, 1);
        assert!(refused.to_string().contains("50000 shapes") && refused.advice().contains("rows"), "{refused}");
    }
}
