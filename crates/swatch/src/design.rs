//! The cells of a swatch and where they lie.
//!
//! One thing at a time is changed from the settings the material asks for: every
//! width of column and size of fill in every direction of the thread, then, at the
//! middle width and size, each other spacing, pull compensation, stitch length,
//! and no underlay. So every effect can be told from the others with few cells.
//!
//! Cells stand in shelves from the top, each with its number below, far enough
//! apart that the cloth between them lies at rest.

use crate::Error;
use crate::digits;
use laidwork_plan::{Method, PassKind, Plan, Point, Rect, Vec2};
use laidwork_recipe::Material;

/// Free of stitches along the hoop's inside, mm.
const MARGIN: f64 = 5.0;

/// Between cells, mm.
const GAP: f64 = 4.0;

/// Height of the sewn digits, mm.
pub(crate) const DIGITS: f64 = 3.0;

/// Between a cell and its number, mm.
const BELOW: f64 = 1.2;

/// Length of a column, mm: its ends are far from its middle, where it is measured.
const COLUMN_LENGTH: f64 = 12.0;

/// The mark that shows the grain: width and height, mm.
pub(crate) const ARROW: (f64, f64) = (3.0, 10.0);

/// What a swatch is to try. Lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Wishes {
    /// Width and height of the rectangle inside the hoop.
    pub hoop: (f64, f64),
    /// Widths of columns.
    pub widths: Vec<f64>,
    /// Sides of fills.
    pub sizes: Vec<f64>,
    /// Angles between thread and grain, degrees: 0 along it, 90 across.
    pub directions: Vec<f64>,
    /// Spacings; `None`: 0.8 and 1.5 times the usual.
    pub spacings: Option<Vec<f64>>,
    /// Pull compensations.
    pub pulls: Vec<f64>,
    /// Stitch lengths of fills.
    pub stitch_lengths: Vec<f64>,
    /// Whether to try cells without underlay.
    pub bare: bool,
}

impl Default for Wishes {
    /// What fits into a hoop of 100 x 100 mm.
    fn default() -> Wishes {
        Wishes {
            hoop: (100.0, 100.0),
            widths: vec![1.5, 3.0, 5.0, 7.0],
            sizes: vec![7.0, 11.0],
            directions: vec![0.0, 90.0],
            spacings: None,
            pulls: vec![0.0, 0.4],
            stitch_lengths: vec![2.5, 5.0],
            bare: true,
        }
    }
}

/// What a cell tries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trial {
    /// Its width, with everything else as usual.
    Width,
    /// Another spacing.
    Spacing,
    /// Another pull compensation.
    Pull,
    /// Another stitch length.
    StitchLength,
    /// No underlay.
    Bare,
}

impl Trial {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Trial::Width => "width and direction",
            Trial::Spacing => "spacing",
            Trial::Pull => "pull compensation",
            Trial::StitchLength => "stitch length",
            Trial::Bare => "no underlay",
        }
    }
}

/// One column or fill of the swatch. Lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// The number sewn below it, from 1.
    pub number: usize,
    /// Column or fill.
    pub method: Method,
    /// What it tries.
    pub trial: Trial,
    /// Angle between thread and grain, degrees.
    pub from_grain: f64,
    /// Its size along the threads, as drawn.
    pub along: f64,
    /// Its size across them.
    pub across: f64,
    /// Between neighbouring threads.
    pub spacing: f64,
    /// Length of a stitch of a fill, of a column the thread's own.
    pub stitch_length: f64,
    /// Lengthening at each end of a thread.
    pub pull: f64,
    /// Shortening at each end of a column.
    pub push: f64,
    /// Whether it has underlay.
    pub underlay: bool,
    /// Where it lies, from the centre of the hoop.
    pub middle: Point,
}

impl Cell {
    /// Name of its shape.
    pub fn name(&self) -> String {
        format!("cell-{}", self.number)
    }

    /// Direction of its threads; the grain runs up and down.
    pub fn threads(&self) -> Vec2 {
        Vec2::from_angle((90.0 + self.from_grain).to_radians())
    }

    /// Its four corners.
    pub fn corners(&self) -> [Point; 4] {
        let along = self.threads() * (self.along / 2.0);
        let across = self.threads().turn_90() * (self.across / 2.0);
        [along + across, along - across, -along - across, across - along].map(|way| self.middle + way)
    }

    /// Width and height of the upright rectangle around it.
    fn bounds(&self) -> (f64, f64) {
        let u = self.threads();
        (u.x.abs() * self.along + u.y.abs() * self.across, u.y.abs() * self.along + u.x.abs() * self.across)
    }

    /// Where the number stands: its top left corner.
    pub(crate) fn label(&self) -> Point {
        let wide = digits::width(self.number, DIGITS);
        self.middle + Vec2::new(-wide / 2.0, self.bounds().1 / 2.0 + BELOW)
    }

    /// From end to end of its threads, and from its first thread to its last, mm.
    pub fn stitched(&self, plan: &Plan) -> Option<(f64, f64)> {
        let piece = plan.pieces.iter().find(|piece| piece.name == self.name())?;
        let tops = piece.passes.iter().filter(|pass| pass.kind == PassKind::Top);
        let points: Vec<Point> = tops.flat_map(|pass| pass.points.iter().copied()).collect();
        let places = |way: Vec2| points.iter().map(|point| (*point - self.middle).dot(way)).collect::<Vec<f64>>();
        let along = places(self.threads());
        let back: Vec<f64> = along.iter().map(|place| -place).collect();
        let mut across = places(self.threads().turn_90());
        across.sort_by(f64::total_cmp);
        Some((mean_end(&along)? + mean_end(&back)?, across.last()? - across.first()?))
    }
}

/// Where threads end: the mean of the places, in sewing order, at which the way turns back in the outer quarter.
fn mean_end(places: &[f64]) -> Option<f64> {
    let most = places.iter().copied().max_by(f64::total_cmp)?;
    let turns = places.windows(3).filter(|three| three[1] >= three[0] && three[1] >= three[2] && three[1] > most / 2.0);
    let ends: Vec<f64> = turns.map(|three| three[1]).collect();
    (!ends.is_empty()).then(|| ends.iter().sum::<f64>() / ends.len() as f64)
}

/// A swatch: its cells in the order of their numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct Swatch {
    /// The cells.
    pub cells: Vec<Cell>,
    /// Name of the material.
    pub material: String,
    /// What the material calls usual.
    pub usual: Usual,
    /// Width and height of the hoop, mm.
    pub hoop: (f64, f64),
    /// Top left corner of the mark that shows the grain.
    pub(crate) arrow: Point,
}

/// What is usual on a material, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Usual {
    /// Spacing of columns.
    pub column_spacing: f64,
    /// Spacing of fills.
    pub fill_spacing: f64,
    /// Stitch length of fills.
    pub stitch_length: f64,
    /// Pull compensation at each end.
    pub pull: f64,
    /// Push compensation at each end.
    pub push: f64,
}

impl Usual {
    fn of(material: &Material) -> Usual {
        Usual {
            column_spacing: material.column_spacing(),
            fill_spacing: material.fill_spacing(),
            stitch_length: material.fill_stitch_length,
            pull: material.pull_compensation,
            push: material.push_compensation,
        }
    }

    /// Spacing of a method.
    pub fn spacing(&self, method: Method) -> f64 {
        if method == Method::Fill { self.fill_spacing } else { self.column_spacing }
    }
}

/// Lays out a swatch for `material`.
///
/// # Errors
/// A wish out of range, or more cells than fit into the hoop.
pub fn design(wishes: &Wishes, material: &Material) -> Result<Swatch, Error> {
    check(wishes)?;
    let usual = Usual::of(material);
    let mut cells = cells(wishes, &usual);
    let arrow = lay_out(&mut cells, wishes.hoop)?;
    Ok(Swatch { cells, material: material.name.clone(), usual, hoop: wishes.hoop, arrow })
}

fn check(wishes: &Wishes) -> Result<(), Error> {
    let lists: [(&'static str, &[f64], f64, f64, &'static str); 6] = [
        ("the width of a column", &wishes.widths, 1.0, 11.0, "mm"),
        ("the size of a fill", &wishes.sizes, 4.0, 60.0, "mm"),
        ("the direction", &wishes.directions, 0.0, 90.0, "degrees from the grain"),
        ("the spacing", wishes.spacings.as_deref().unwrap_or_default(), 0.1, 2.0, "mm"),
        ("the pull compensation", &wishes.pulls, -1.0, 3.0, "mm"),
        ("the stitch length", &wishes.stitch_lengths, 1.0, 12.0, "mm"),
    ];
    for (what, values, least, most, unit) in lists {
        if let Some(&value) = values.iter().find(|value| !(least..=most).contains(*value)) {
            return Err(Error::Range { what, value, least, most, unit });
        }
    }
    if wishes.directions.is_empty() {
        return Err(Error::Nothing("directions"));
    }
    if wishes.widths.is_empty() && wishes.sizes.is_empty() {
        return Err(Error::Nothing("widths of columns and sizes of fills"));
    }
    Ok(())
}

fn cells(wishes: &Wishes, usual: &Usual) -> Vec<Cell> {
    let mut cells = Vec::new();
    for (method, sides) in [(Method::Satin, &wishes.widths), (Method::Fill, &wishes.sizes)] {
        let mut sides = sides.clone();
        sides.sort_by(f64::total_cmp);
        let Some(&middle) = sides.get(sides.len() / 2) else { continue };
        let cell = |along: f64, from_grain: f64| Cell {
            number: 0,
            method,
            trial: Trial::Width,
            from_grain,
            along,
            across: if method == Method::Fill { along } else { COLUMN_LENGTH },
            spacing: usual.spacing(method),
            stitch_length: if method == Method::Fill { usual.stitch_length } else { along },
            pull: usual.pull,
            push: usual.push,
            underlay: true,
            middle: Point::ZERO,
        };
        for &side in &sides {
            cells.extend(wishes.directions.iter().map(|&direction| cell(side, direction)));
        }
        // Directions take turns, so that no effect goes with one of them.
        let mut turn = wishes.directions.iter().copied().cycle();
        let mut varied = |trial: Trial, change: &dyn Fn(&mut Cell)| {
            let mut cell = cell(middle, turn.next().unwrap_or(0.0));
            change(&mut cell);
            let as_usual = Cell { trial: Trial::Width, ..cell.clone() };
            if !cells.contains(&as_usual) {
                cells.push(Cell { trial, ..cell });
            }
        };
        let spacings = match &wishes.spacings {
            Some(list) => list.clone(),
            None => [0.8, 1.5].map(|times| hundredth(usual.spacing(method) * times)).to_vec(),
        };
        for spacing in spacings {
            varied(Trial::Spacing, &|cell| cell.spacing = spacing);
        }
        for &pull in &wishes.pulls {
            varied(Trial::Pull, &|cell| cell.pull = pull);
        }
        if method == Method::Fill {
            for &length in &wishes.stitch_lengths {
                varied(Trial::StitchLength, &|cell| cell.stitch_length = length);
            }
        }
        if wishes.bare {
            varied(Trial::Bare, &|cell| cell.underlay = false);
        }
    }
    cells
}

fn hundredth(mm: f64) -> f64 {
    (mm * 100.0).round() / 100.0
}

/// Places every cell and numbers them; where the mark of the grain goes.
fn lay_out(cells: &mut [Cell], hoop: (f64, f64)) -> Result<Point, Error> {
    let room = Rect::from_center_size((0.0, 0.0), hoop).inset(-MARGIN);
    // Cells of a kind stay together; within it the high ones come first, which wastes least.
    cells.sort_by(|a, b| {
        let high = |cell: &Cell| cell.bounds().1;
        (a.method == Method::Fill).cmp(&(b.method == Method::Fill)).then(high(b).total_cmp(&high(a)))
    });
    let arrow = room.origin();
    let mut at = arrow + Vec2::new(ARROW.0 + GAP, 0.0);
    let mut shelf = ARROW.1;
    let count = cells.len();
    for (index, cell) in cells.iter_mut().enumerate() {
        cell.number = index + 1;
        let (wide, high) = cell.bounds();
        let width = wide.max(digits::width(cell.number, DIGITS));
        let height = high + BELOW + DIGITS;
        if width > room.width() {
            return Err(Error::TooWide { needed: width, room: room.width() });
        }
        if at.x + width > room.x1 + 1e-9 {
            at = Point::new(room.x0, at.y + shelf + GAP);
            shelf = 0.0;
        }
        cell.middle = at + Vec2::new(width / 2.0, high / 2.0);
        at.x += width + GAP;
        shelf = shelf.max(height);
    }
    let needed = at.y + shelf - room.y0;
    if needed > room.height() + 1e-9 {
        return Err(Error::TooMany { cells: count, needed, room: room.height() });
    }
    // In the middle of the hoop, where the cloth lies most evenly.
    let down = Vec2::new(0.0, (room.height() - needed) / 2.0);
    cells.iter_mut().for_each(|cell| cell.middle += down);
    Ok(arrow + down)
}

#[cfg(test)]
mod tests {
    use super::*;
    use laidwork_recipe::Materials;

    fn canvas() -> Material {
        Materials::built_in().get("canvas").unwrap()
    }

    fn extent(cell: &Cell) -> Rect {
        let (wide, high) = cell.bounds();
        let mut rect = Rect::from_center_size(cell.middle, (wide, high));
        rect = rect.union_pt(cell.label());
        rect.union_pt(cell.label() + Vec2::new(digits::width(cell.number, DIGITS), DIGITS))
    }

    #[test]
    fn the_usual_swatch_fits_a_hoop_of_100_mm_and_cells_keep_apart() {
        let swatch = design(&Wishes::default(), &canvas()).unwrap();
        let room = Rect::new(-45.0, -45.0, 45.0, 45.0).inflate(1e-9, 1e-9);
        assert!(swatch.cells.len() > 20);
        for (index, cell) in swatch.cells.iter().enumerate() {
            let here = extent(cell);
            assert!(room.contains_rect(here), "{cell:?}");
            for other in &swatch.cells[..index] {
                let apart = here.inflate(GAP / 2.0 - 1e-9, 0.5).intersect(extent(other).inflate(GAP / 2.0 - 1e-9, 0.5));
                assert!(apart.area() <= 0.0, "{} and {}", cell.number, other.number);
            }
        }
    }

    #[test]
    fn one_thing_at_a_time_differs() {
        let swatch = design(&Wishes::default(), &canvas()).unwrap();
        for cell in &swatch.cells {
            let usual = &swatch.usual;
            let differs = [
                (cell.spacing - usual.spacing(cell.method)).abs() > 1e-9,
                (cell.pull - usual.pull).abs() > 1e-9,
                cell.method == Method::Fill && (cell.stitch_length - usual.stitch_length).abs() > 1e-9,
                !cell.underlay,
            ];
            let wanted = usize::from(cell.trial != Trial::Width);
            assert_eq!(differs.iter().filter(|one| **one).count(), wanted, "{cell:?}");
        }
    }

    #[test]
    fn what_does_not_fit_is_refused_with_the_way_out() {
        let many = Wishes { widths: (0..60).map(|i| 1.0 + f64::from(i) / 6.0).collect(), ..Wishes::default() };
        assert!(design(&many, &canvas()).unwrap_err().to_string().contains("a larger hoop"));
        let wide = Wishes { sizes: vec![50.0], hoop: (50.0, 100.0), ..Wishes::default() };
        assert!(matches!(design(&wide, &canvas()), Err(Error::TooWide { .. })));
        let thin = Wishes { widths: vec![0.2], ..Wishes::default() };
        assert!(design(&thin, &canvas()).unwrap_err().to_string().contains("1 to 11 mm"));
        let none = Wishes { directions: Vec::new(), ..Wishes::default() };
        assert!(design(&none, &canvas()).is_err());
        let nan = Wishes { pulls: vec![f64::NAN], ..Wishes::default() };
        assert!(design(&nan, &canvas()).is_err());
    }
}
