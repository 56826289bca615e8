//! Swatches sewn on simulated cloth of known draw-in.
//!
//! The cloth draws every end in by a known law, each cell scatters about it and so does each reading; readings
//! are rounded to 0.1 mm as a caliper's. What is fitted has to recover the law, and its intervals have to be honest.

mod common;

use common::{Noise, SEWN, sewn};
use laidwork_plan::{Method, Piece, Plan};
use laidwork_recipe::Materials;
use laidwork_swatch::{COLUMNS, Error, Findings, Measured, Swatch, Term, Wishes, design, fit, read};

/// A cloth: what each end is drawn in, mm.
#[derive(Clone, Copy)]
struct Cloth {
    base: f64,
    growth: f64,
    fill: f64,
    grain: f64,
    density: f64,
    stitch: f64,
    bare: f64,
    push: f64,
    cell_scatter: f64,
    reading_scatter: f64,
    /// Decimals of a reading.
    decimals: usize,
}

const CLOTH: Cloth = Cloth {
    base: 0.14,
    growth: 0.03,
    fill: 0.05,
    grain: 0.06,
    density: 0.08,
    stitch: 0.03,
    bare: 0.07,
    push: 0.55,
    cell_scatter: 0.06,
    reading_scatter: 0.12,
    decimals: 1,
};

impl Cloth {
    /// The table of a swatch that was sewn on it and measured.
    fn measured(&self, seed: u64) -> String {
        self.measured_as(&SEWN.0, &SEWN.1, seed)
    }

    fn measured_as(&self, swatch: &Swatch, plan: &Plan, seed: u64) -> String {
        let mut noise = Noise(seed);
        let mut table = String::new();
        for (line, cell) in swatch.to_csv(plan).lines().enumerate() {
            let mut fields: Vec<String> = cell.split(',').map(str::to_owned).collect();
            if line > 0 {
                self.fill_in(&mut fields, &mut noise);
            }
            table += &(fields.join(",") + "\n");
        }
        table
    }

    fn fill_in(&self, fields: &mut [String], noise: &mut Noise) {
        let at = |name: &str| COLUMNS.iter().position(|column| *column == name).unwrap();
        let number = |name: &str| fields[at(name)].parse::<f64>().unwrap();
        let fill = f64::from(u8::from(fields[at("method")] == "fill"));
        let along = (2.0 * number("from_grain_deg")).to_radians().cos();
        let stitched = number("stitched_along_mm");
        let each = self.base
            + self.growth * stitched / 2.0
            + self.fill * fill
            + self.grain * along
            + self.density * (number("usual_spacing_mm") / number("spacing_mm") - 1.0)
            + self.stitch * fill * (number("usual_stitch_length_mm") / number("stitch_length_mm") - 1.0)
            + self.bare * f64::from(u8::from(fields[at("underlay")] == "no"))
            + noise.normal(self.cell_scatter);
        let ends = number("drawn_across_mm") + 2.0 * (self.push - number("push_mm") + noise.normal(self.cell_scatter));
        for (name, size) in [
            ("along_1_mm", stitched - 2.0 * each),
            ("along_2_mm", stitched - 2.0 * each),
            ("along_3_mm", stitched - 2.0 * each),
            ("across_1_mm", ends),
            ("across_2_mm", ends),
        ] {
            if fields[at(name)].is_empty() {
                fields[at(name)] = format!("{:.*}", self.decimals, size + noise.normal(self.reading_scatter));
            }
        }
    }

    /// What it asks for at a width, at each end.
    fn pull_at(&self, width: f64, along: f64, fill: f64) -> f64 {
        (self.base + self.grain * along + self.fill * fill + self.growth * width / 2.0) / (1.0 - self.growth)
    }
}

fn found(table: &str) -> Findings {
    fit(&read(table.as_bytes()).unwrap()).unwrap()
}

#[test]
fn every_cell_is_sewn_as_long_as_it_says() {
    let (swatch, plan) = &*SEWN;
    for cell in &swatch.cells {
        let (along, across) = cell.stitched(plan).unwrap();
        // Rows of a fill end by turns farther in and out; threads of a column do not.
        let tolerance = if cell.method == Method::Fill { 0.25 } else { 0.011 };
        assert!((along - cell.along - 2.0 * cell.pull).abs() < tolerance, "{cell:?}: {along}");
        assert!((across - cell.across).abs() < 0.6, "{cell:?}: {across}");
        let label = plan.pieces.iter().find(|piece| piece.name == format!("number-{}", cell.number)).unwrap();
        assert_eq!(label.method, Method::Run);
    }
    assert_eq!(swatch.to_csv(plan).lines().count(), swatch.cells.len() + 1);
}

#[test]
fn cloth_without_noise_is_recovered() {
    let exact = Cloth { cell_scatter: 0.0, reading_scatter: 0.0, decimals: 4, ..CLOTH };
    let found = found(&exact.measured(1));
    for (term, value) in [
        (Term::Growth, exact.growth),
        (Term::Fill, exact.fill),
        (Term::Grain, exact.grain),
        (Term::Density, exact.density),
        (Term::Stitch, exact.stitch),
        (Term::Bare, exact.bare),
    ] {
        let estimate = found.pull.coefficient(term).unwrap();
        assert!((estimate.value - value).abs() < 0.001, "{term:?}: {estimate:?} for {value}");
    }
    assert!((found.push_at(None, None).unwrap().value - exact.push).abs() < 0.001);
}

/// The share of seeds whose interval holds the truth.
fn coverage(seeds: u64, holds: impl Fn(&Findings) -> bool) -> f64 {
    (0..seeds).filter(|seed| holds(&found(&CLOTH.measured(1000 + seed)))).count() as f64 / seeds as f64
}

#[test]
fn intervals_of_95_percent_hold_the_truth_as_often_as_they_say() {
    let seeds = 400;
    for (width, from_grain, along) in [(1.5, 0.0, 1.0), (3.0, 90.0, -1.0), (7.0, 45.0, 0.0)] {
        let truth = CLOTH.pull_at(width, along, 0.0);
        let share = coverage(seeds, |found| {
            let estimate = found.pull_at(width, from_grain, Method::Satin);
            (estimate.value - truth).abs() <= estimate.margin
        });
        assert!((0.92..=0.98).contains(&share), "column of {width} mm: {share}");
    }
    let fill = CLOTH.pull_at(9.0, 0.0, 1.0);
    let share = coverage(seeds, |found| {
        let estimate = found.mean_pull_at(9.0, Method::Fill);
        (estimate.value - fill).abs() <= estimate.margin
    });
    assert!((0.92..=0.98).contains(&share), "fill: {share}");
    let share = coverage(seeds, |found| {
        let estimate = found.push_at(None, None).unwrap();
        (estimate.value - CLOTH.push).abs() <= estimate.margin
    });
    assert!((0.92..=0.98).contains(&share), "push: {share}");
    for (term, truth) in [(Term::Grain, CLOTH.grain), (Term::Density, CLOTH.density), (Term::Stitch, CLOTH.stitch)] {
        let share = coverage(seeds, |found| {
            let estimate = found.pull.coefficient(term).unwrap();
            (estimate.value - truth).abs() <= estimate.margin
        });
        assert!((0.92..=0.98).contains(&share), "{term:?}: {share}");
    }
}

#[test]
fn half_the_readings_still_give_honest_intervals() {
    let truth = CLOTH.pull_at(3.0, 0.0, 0.0);
    let seeds = 400;
    let held = (0..seeds).filter(|seed| {
        let mut noise = Noise(77 + seed);
        let table = CLOTH.measured(5000 + seed);
        // Every other reading is lost, but for the first of a cell.
        let lines = table.lines().map(|line| {
            let mut fields: Vec<&str> = line.split(',').collect();
            for place in [16, 17] {
                if !line.starts_with("cell") && noise.uniform() < 0.5 {
                    fields[place] = "";
                }
            }
            fields.join(",") + "\n"
        });
        let found = found(&lines.collect::<String>());
        let estimate = found.mean_pull_at(3.0, Method::Satin);
        (estimate.value - truth).abs() <= estimate.margin
    });
    let share = held.count() as f64 / seeds as f64;
    assert!((0.92..=0.98).contains(&share), "{share}");
}

#[test]
fn the_row_is_one_a_recipe_takes() {
    let found = found(&CLOTH.measured(3));
    let rows = found.to_rows("apron", "measured.csv");
    let materials =
        Materials::built_in().with_overrides(&rows, "row.toml").unwrap_or_else(|wrong| panic!("{wrong}\n{rows}"));
    let row = materials.get("apron").unwrap();
    let near = |value: f64, truth: f64| (value - truth).abs() < 0.1;
    assert!(
        near(row.pull_compensation, CLOTH.pull_at(0.0, 0.0, 0.0)) && near(row.push_compensation, CLOTH.push),
        "{rows}"
    );
    assert!(row.pull_percent > 0.0 && near(row.pull_grain, CLOTH.grain));
    assert_eq!(row.needle, Materials::built_in().get("canvas").unwrap().needle);
    let fill = materials.get("apron-fill").unwrap();
    assert!(fill.pull_compensation > row.pull_compensation, "{rows}");
    let (along, across) = (materials.get("apron-along").unwrap(), materials.get("apron-across").unwrap());
    assert!(along.pull_compensation > across.pull_compensation, "{rows}");
    assert!(materials.get("apron-fill-across").is_some());
    let odd = found.to_rows("my \"apron\"", "a\nb");
    assert!(Materials::built_in().with_overrides(&odd, "row.toml").unwrap().get("my \"apron\"").is_some(), "{odd}");
}

#[test]
fn a_swatch_sewn_with_the_row_comes_out_as_drawn() {
    let quiet = Cloth { grain: 0.0, reading_scatter: 0.03, cell_scatter: 0.02, ..CLOTH };
    let rows = found(&quiet.measured(9)).to_rows("apron", "measured.csv");
    let materials = Materials::built_in().with_overrides(&rows, "row.toml").unwrap();
    let row = materials.get("apron").unwrap();
    for width in [1.5f64, 4.0, 7.0] {
        let stitched = width * (1.0 + row.pull_percent / 100.0) + 2.0 * row.pull_compensation;
        let sewn = stitched - 2.0 * (quiet.base + quiet.growth * stitched / 2.0);
        assert!((sewn - width).abs() < 0.06, "{width}: {sewn}");
    }
}

#[test]
fn an_odd_cell_is_told() {
    let quiet = Cloth { reading_scatter: 0.02, cell_scatter: 0.02, ..CLOTH };
    let table = quiet.measured(4);
    let lines = table.lines().map(|line| {
        let mut fields: Vec<String> = line.split(',').map(str::to_owned).collect();
        if fields[0] == "5" {
            for field in &mut fields[15..18] {
                *field = format!("{:.1}", field.parse::<f64>().unwrap() - 1.2);
            }
        }
        fields.join(",") + "\n"
    });
    let found = found(&lines.collect::<String>());
    let told: Vec<String> = found.warnings.iter().map(ToString::to_string).collect();
    assert!(told.len() == 1 && told[0].contains("cell 5"), "{told:?}");
}

#[test]
fn too_few_cells_are_refused_with_the_reason() {
    let table = CLOTH.measured(2);
    let few: String = table.lines().take(8).map(|line| line.to_owned() + "\n").collect();
    let Err(Error::TooFew { measured: 7, .. }) = fit(&read(few.as_bytes()).unwrap()) else { panic!() };
    let none = Measured { material: "canvas".into(), cells: Vec::new() };
    assert!(fit(&none).unwrap_err().to_string().contains("no cell has a reading"));
}

#[test]
fn a_cell_that_stands_twice_is_told() {
    let table = CLOTH.measured(2);
    let row = table.lines().nth(3).unwrap();
    let found = found(&format!("{table}{row}\n"));
    let told: Vec<String> = found.warnings.iter().map(ToString::to_string).collect();
    assert!(told.iter().any(|told| told.starts_with("cell 3: is in the table more than once")), "{told:?}");
}

/// A gap between the digits of a number has no thread over it.
#[test]
fn digits_stand_alone() {
    let (_, plan) = &*SEWN;
    let number =
        |piece: &Piece| piece.name.split('.').next().filter(|name| name.starts_with("number-")).map(str::to_owned);
    let mut pairs = 0;
    for two in plan.pieces.windows(2).filter(|two| number(&two[0]).is_some() && number(&two[0]) == number(&two[1])) {
        assert!(two[0].passes.last().unwrap().trim, "{} and {}", two[0].name, two[1].name);
        pairs += 1;
    }
    assert!(pairs >= 10, "{pairs}");
}

#[test]
fn readings_in_another_unit_are_refused() {
    let table = CLOTH.measured(2);
    let inches = table.lines().map(|line| {
        let mut fields: Vec<String> = line.split(',').map(str::to_owned).collect();
        for field in &mut fields[15..18] {
            *field = field.parse::<f64>().map_or(field.clone(), |mm| format!("{:.3}", mm / 25.4));
        }
        fields.join(",") + "\n"
    });
    let told = read(inches.collect::<String>().as_bytes()).unwrap_err().to_string();
    assert!(told.contains("measure it again, in mm") && told.contains("more"), "{told}");
}

#[test]
fn a_swatch_in_three_directions_and_a_small_hoop_is_sewn() {
    let wishes = Wishes {
        hoop: (80.0, 80.0),
        widths: vec![2.0, 5.0],
        sizes: Vec::new(),
        directions: vec![0.0, 45.0, 90.0],
        ..Wishes::default()
    };
    let swatch = design(&wishes, &Materials::built_in().get("jersey").unwrap()).unwrap();
    let plan = sewn(&swatch);
    let found = fit(&read(CLOTH.measured_as(&swatch, &plan, 8).as_bytes()).unwrap()).unwrap();
    assert!(found.pull.coefficient(Term::Fill).is_none());
    let rows = found.to_rows("knit", "measured.csv");
    assert!(!rows.contains("-fill") && rows.contains("based_on = \"jersey\""), "{rows}");
}
