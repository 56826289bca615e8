//! From the measurements of a swatch to what its cloth asks for.
//!
//! Half of what a cell came out shorter than it was stitched is what each end of
//! its threads was drawn in. That is taken as a sum, mm:
//!
//! ```text
//! drawn in = base + growth · length / 2 + fill + grain · cos 2θ
//!            + (grain growth · cos 2θ + fill growth) · (length - mean length) / 2
//!            + density · (usual spacing / spacing - 1)
//!            + stitch · (usual stitch length / stitch length - 1) + bare
//! ```
//!
//! with the length from needle point to needle point, θ the angle between thread
//! and grain, `fill` and `stitch` for fills alone, `bare` for cells without
//! underlay. `grain growth` lets the direction matter more for long threads, as it does on cloth that gives way in
//! proportion to its length; `fill growth`, for fills alone, lets their rows grow otherwise than threads of columns.
//! Without the two, intervals are too narrow for narrow and wide columns (`tests/spring_cloth.rs`). Only terms that
//! the measured cells vary are fitted; those two only where there are cells enough. A thread of drawn length w has to
//! be lengthened at each end by what a thread of that length is drawn in / (1 - growth), all that grows with the length
//! counted as growth, for what it is lengthened by is drawn in too.
//!
//! Weighted least squares ([`crate::least_squares`]). The weight of a cell is one
//! over the variance of its mean: what is left between cells, plus the scatter of
//! readings within cells (pooled) over their number. Both are estimated: the
//! scatter from the readings, the rest from a first fit of equal weights (method
//! of moments). Uncertainties of what is computed from the coefficients follow by
//! linear propagation (JCGM 100:2008, the GUM, section 5.2); intervals are of
//! 95 %, with Student's t.

use crate::Error;
use crate::least_squares::{Dependent, Solution, solve, t95};
use crate::measured::{Measured, MeasuredCell};
use laidwork_plan::{Method, Warning};
use std::collections::BTreeSet;

/// Cells beyond the number of unknowns that are needed.
const SPARE: usize = 4;

/// A cell that lies more standard deviations off what the others say is told: of two dozen good cells, with fifteen
/// degrees of freedom, one does so about once in forty swatches (Student's t).
const ODD: f64 = 4.0;

/// No cell is told that lies within this of what the others say, in standard deviations of it, mm.
const EXACT: f64 = 0.005;

/// What the draw-in may depend on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Term {
    /// A constant.
    Base,
    /// The length of the thread.
    Growth,
    /// Fills against columns.
    Fill,
    /// The direction of the cloth.
    Grain,
    /// What the direction makes of the length.
    GrainGrowth,
    /// The length of the rows of fills, beyond what it makes of columns.
    FillGrowth,
    /// How close threads lie.
    Density,
    /// How short stitches are.
    Stitch,
    /// No underlay.
    Bare,
}

impl Term {
    const ALL: [Term; 9] = [
        Term::Base,
        Term::Growth,
        Term::Fill,
        Term::Grain,
        Term::Density,
        Term::Stitch,
        Term::Bare,
        Term::GrainGrowth,
        Term::FillGrowth,
    ];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Term::Base => "the base",
            Term::Growth => "width",
            Term::Fill => "fills",
            Term::Grain => "direction",
            Term::GrainGrowth => "width by direction",
            Term::FillGrowth => "size of fills",
            Term::Density => "spacing",
            Term::Stitch => "stitch length",
            Term::Bare => "missing underlay",
        }
    }

    /// Whether it is left out where the cells cannot tell it.
    fn is_refinement(self) -> bool {
        matches!(self, Term::GrainGrowth | Term::FillGrowth)
    }

    fn of(self, cell: &MeasuredCell, centres: &Centres) -> f64 {
        let fill = f64::from(u8::from(cell.method == Method::Fill));
        match self {
            Term::Base => 1.0,
            Term::Growth => (cell.stitched_along - centres.growth) / 2.0,
            Term::Fill => fill,
            Term::Grain => along_grain(cell.from_grain),
            Term::GrainGrowth => along_grain(cell.from_grain) * (cell.stitched_along - centres.all) / 2.0,
            Term::FillGrowth => fill * (cell.stitched_along - centres.fills) / 2.0,
            Term::Density => cell.density - 1.0,
            Term::Stitch => (cell.shortness - 1.0) * fill,
            Term::Bare => f64::from(u8::from(!cell.underlay)),
        }
    }

    /// The least range of its values over the cells that tells anything.
    fn least_range(self) -> f64 {
        match self {
            Term::Base => 0.0,
            Term::Growth | Term::Grain => 0.5,
            Term::Fill | Term::Bare => 1.0,
            Term::Density | Term::Stitch => 0.1,
            Term::GrainGrowth | Term::FillGrowth => 0.5,
        }
    }
}

/// The lengths of thread that what grows with the length is counted from, mm: so that the other terms say what holds
/// for what was measured, not for a thread of no length.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Centres {
    /// Of [`Term::Growth`].
    growth: f64,
    /// The mean of all cells.
    all: f64,
    /// The mean of the fills.
    fills: f64,
}

impl Centres {
    fn of(cells: &[Observed<'_>], growth: f64) -> Centres {
        let mean_of = |wanted: fn(&MeasuredCell) -> bool| {
            let lengths: Vec<f64> =
                cells.iter().filter(|seen| wanted(seen.cell)).map(|seen| seen.cell.stitched_along).collect();
            if lengths.is_empty() { 0.0 } else { mean(&lengths) }
        };
        Centres { growth, all: mean_of(|_| true), fills: mean_of(|cell| cell.method == Method::Fill) }
    }
}

/// What push may depend on.
const PUSH: [Term; 5] = [Term::Base, Term::Growth, Term::Grain, Term::Density, Term::Bare];

/// 1 along the grain, -1 across it, 0 at 45°.
fn along_grain(from_grain: f64) -> f64 {
    (2.0 * from_grain).to_radians().cos()
}

/// A value and half the width of its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// It lies within this of it, 19 times in 20.
    pub margin: f64,
}

impl Estimate {
    /// Whether nothing at all is outside its interval.
    pub fn differs_from_nothing(&self) -> bool {
        self.value.abs() > self.margin
    }
}

/// A fitted sum of terms.
#[derive(Clone, Debug, PartialEq)]
pub struct Law {
    terms: Vec<Term>,
    solution: Solution,
    centres: Centres,
    /// For each cell how far it lies off what the others say, mm, and in standard deviations of that.
    off: Vec<(f64, f64)>,
}

impl Law {
    fn fit(candidates: &[Term], cells: &[Observed<'_>], from_length: f64) -> Result<Law, Error> {
        let centres = Centres::of(cells, from_length);
        let mut candidates = candidates.to_vec();
        loop {
            match Law::fit_all(&candidates, cells, centres) {
                // A refinement is no reason to ask for more cells.
                Err(_) if candidates.last().is_some_and(|term| term.is_refinement()) => candidates.pop(),
                found => return found,
            };
        }
    }

    fn fit_all(candidates: &[Term], cells: &[Observed<'_>], centres: Centres) -> Result<Law, Error> {
        let varies = |term: &Term| {
            let values = cells.iter().map(|seen| term.of(seen.cell, &centres));
            let (least, most) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, m), v| (l.min(v), m.max(v)));
            *term == Term::Base || most - least >= term.least_range() - 1e-9
        };
        let terms: Vec<Term> = candidates.iter().copied().filter(varies).collect();
        if cells.len() < terms.len() + SPARE {
            let names: Vec<&str> = terms.iter().map(|term| term.words()).collect();
            return Err(Error::TooFew { measured: cells.len(), names: names.join(", "), needed: terms.len() + SPARE });
        }
        let design: Vec<Vec<f64>> =
            cells.iter().map(|seen| terms.iter().map(|term| term.of(seen.cell, &centres)).collect()).collect();
        let values: Vec<f64> = cells.iter().map(|seen| seen.value).collect();
        let told = |Dependent(column)| Error::Confounded(terms.get(column).map_or("one thing", |term| term.words()));
        let first = solve(&design, &values, &vec![1.0; cells.len()]).map_err(told)?;
        let weights = weights(cells, first.deviation);
        let solution = solve(&design, &values, &weights).map_err(told)?;
        let off = off(&design, &solution, &weights);
        Ok(Law { terms, solution, centres, off })
    }

    /// The coefficient of a term; nothing when it was not fitted.
    pub fn coefficient(&self, term: Term) -> Option<Estimate> {
        let place = self.terms.iter().position(|one| *one == term)?;
        let times: Vec<f64> = (0..self.terms.len()).map(|column| f64::from(u8::from(column == place))).collect();
        Some(self.combine(&times))
    }

    fn value(&self, term: Term) -> f64 {
        self.coefficient(term).map_or(0.0, |found| found.value)
    }

    fn combine(&self, times: &[f64]) -> Estimate {
        let (value, error) = self.solution.combine(times);
        Estimate { value, margin: error * t95(self.solution.freedom) }
    }

    /// The sum at usual spacing, stitch length and underlay; `along` is 1 along the grain, -1 across, 0 for the mean.
    fn times(&self, length: f64, along: f64, method: Method) -> Vec<f64> {
        let fill = f64::from(u8::from(method == Method::Fill));
        let of = |term: &Term| match term {
            Term::Base => 1.0,
            Term::Growth => (length - self.centres.growth) / 2.0,
            Term::Fill => fill,
            Term::Grain => along,
            Term::GrainGrowth => along * (length - self.centres.all) / 2.0,
            Term::FillGrowth => fill * (length - self.centres.fills) / 2.0,
            Term::Density | Term::Stitch | Term::Bare => 0.0,
        };
        self.terms.iter().map(of).collect()
    }

    /// How the sum changes with half the length: what each term has in it.
    fn slopes(&self, along: f64, method: Method) -> Vec<f64> {
        let of = |term: &Term| match term {
            Term::Growth => 1.0,
            Term::GrainGrowth => along,
            Term::FillGrowth => f64::from(u8::from(method == Method::Fill)),
            _ => 0.0,
        };
        self.terms.iter().map(of).collect()
    }

    /// Standard deviation of a cell about the law, mm at each end.
    pub fn scatter(&self) -> f64 {
        self.solution.deviation
    }

    /// Degrees of freedom of the fit.
    pub fn freedom(&self) -> usize {
        self.solution.freedom
    }
}

/// The mean of a cell's readings, made into what is fitted.
struct Observed<'a> {
    cell: &'a MeasuredCell,
    value: f64,
    readings: &'a [f64],
}

/// For each cell how far it lies off what all the others say, mm, and in standard deviations of that: the externally
/// studentized residual (R. Cook, S. Weisberg, *Residuals and Influence in Regression*, Chapman and Hall 1982, chapter
/// 2), which a wrong cell cannot hide from by drawing the law towards itself.
fn off(design: &[Vec<f64>], solution: &Solution, weights: &[f64]) -> Vec<(f64, f64)> {
    let freedom = solution.freedom as f64;
    let each = design.iter().zip(weights).zip(&solution.residuals).map(|((row, weight), residual)| {
        let variance = solution.deviation.powi(2) / weight;
        let (_, error) = solution.combine(row);
        // What is left of the variance once the cell itself has drawn the law towards it.
        let own = (1.0 - error.powi(2) / variance).clamp(1e-6, 1.0);
        let inner = residual / (variance.max(EXACT * EXACT) * own).sqrt();
        let outer = inner * ((freedom - 1.0) / (freedom - inner * inner).max(1e-6)).sqrt();
        (residual / own, outer)
    });
    // Without any scatter nothing is off.
    if solution.deviation > 0.0 { each.collect() } else { vec![(0.0, 0.0); design.len()] }
}

/// Weights of mean 1 from the variance of every cell's mean; `deviation` is that of a fit of equal weights.
fn weights(cells: &[Observed<'_>], deviation: f64) -> Vec<f64> {
    let count = |seen: &Observed<'_>| seen.readings.len() as f64;
    let (squares, freedom) = cells.iter().fold((0.0, 0.0), |(squares, freedom), seen| {
        let mean = mean(seen.readings);
        // A reading counts twice in the size and once at each end.
        let sum: f64 = seen.readings.iter().map(|reading| (reading - mean).powi(2) / 4.0).sum();
        (squares + sum, freedom + count(seen) - 1.0)
    });
    let within = if freedom > 0.0 { squares / freedom } else { 0.0 };
    let shares: f64 = cells.iter().map(|seen| 1.0 / count(seen)).sum::<f64>() / cells.len() as f64;
    let between = (deviation * deviation - within * shares).max(0.0);
    let variances: Vec<f64> = cells.iter().map(|seen| between + within / count(seen)).collect();
    if variances.iter().any(|variance| *variance <= 0.0) {
        return vec![1.0; cells.len()];
    }
    let total: f64 = variances.iter().map(|variance| 1.0 / variance).sum();
    variances.iter().map(|variance| cells.len() as f64 / (variance * total)).collect()
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// What a measured swatch says about its cloth.
#[derive(Clone, Debug, PartialEq)]
pub struct Findings {
    /// The material the swatch was made for.
    pub material: String,
    /// What each end of a thread is drawn in.
    pub pull: Law,
    /// What each open end of a column has to be shortened by; nothing when too little was measured across.
    pub push: Option<Law>,
    /// Cells with a reading.
    pub cells: usize,
    /// Readings in all.
    pub readings: usize,
    /// Mean size of the fills, mm.
    pub(crate) fill_size: Option<f64>,
    /// Mean width of the columns, mm.
    pub(crate) column_width: Option<f64>,
    /// What to look at again.
    pub warnings: Vec<Warning>,
}

/// Fits the laws of pull and push.
///
/// # Errors
/// Too few cells, cells that cannot tell effects apart, or a result no recipe can hold.
pub fn fit(measured: &Measured) -> Result<Findings, Error> {
    let along: Vec<Observed<'_>> = measured
        .cells
        .iter()
        .filter(|cell| !cell.along.is_empty())
        .map(|cell| Observed { cell, value: (cell.stitched_along - mean(&cell.along)) / 2.0, readings: &cell.along })
        .collect();
    if along.is_empty() {
        return Err(Error::Unmeasured);
    }
    let mut warnings = repeated(measured);
    let pull = Law::fit(&Term::ALL, &along, 0.0)?;
    if pull.value(Term::Growth) < 0.0 {
        let what = "wider columns were drawn in no more than narrow ones";
        warnings.push(Warning::new(what, "nothing to do; the row has no `pull_percent`"));
    }
    odd(&pull, &along, "along", &mut warnings);
    let across: Vec<Observed<'_>> = measured
        .cells
        .iter()
        .filter(|cell| cell.method == Method::Satin && !cell.across.is_empty())
        .map(|cell| {
            let value = (mean(&cell.across) - cell.drawn_across) / 2.0 + cell.push;
            Observed { cell, value, readings: &cell.across }
        })
        .collect();
    let push = if across.is_empty() { None } else { fit_push(&across, &mut warnings) };
    let mean_of = |method: Method| {
        let lengths = along.iter().filter(|seen| seen.cell.method == method).map(|seen| seen.cell.stitched_along);
        let lengths: Vec<f64> = lengths.collect();
        (!lengths.is_empty()).then(|| mean(&lengths))
    };
    let findings = Findings {
        material: measured.material.clone(),
        pull,
        push,
        cells: measured.cells.len(),
        readings: measured.cells.iter().map(|cell| cell.along.len() + cell.across.len()).sum(),
        fill_size: mean_of(Method::Fill),
        column_width: mean_of(Method::Satin),
        warnings,
    };
    findings.check()?;
    Ok(findings)
}

/// Tells of cells that are in the table more than once: sewn twice they count twice, written twice they must not.
fn repeated(measured: &Measured) -> Vec<Warning> {
    let mut seen = BTreeSet::new();
    let more: BTreeSet<usize> =
        measured.cells.iter().map(|cell| cell.number).filter(|number| !seen.insert(*number)).collect();
    let told = |number: &usize| {
        let what = "is in the table more than once, and every row counts as a cell of its own";
        Warning::at(format!("cell {number}"), what, "take the row out, unless it was sewn again and measured anew")
    };
    more.iter().map(told).collect()
}

fn fit_push(across: &[Observed<'_>], warnings: &mut Vec<Warning>) -> Option<Law> {
    let lengths: Vec<f64> = across.iter().map(|seen| seen.cell.stitched_along).collect();
    match Law::fit(&PUSH, across, mean(&lengths)) {
        Ok(push) => {
            odd(&push, across, "across", warnings);
            Some(push)
        }
        Err(error) => {
            let what = format!("push compensation cannot be told: {error}");
            warnings.push(Warning::new(what, "measure the columns across their threads too"));
            None
        }
    }
}

/// Tells of cells that lie far off the law.
fn odd(law: &Law, cells: &[Observed<'_>], way: &str, warnings: &mut Vec<Warning>) {
    for (seen, (mm, deviations)) in cells.iter().zip(&law.off) {
        if deviations.abs() > ODD {
            let more = if *mm > 0.0 { "more" } else { "less" };
            let what = format!("{way} the threads each end lies {:.2} mm {more} than the other cells say", mm.abs());
            warnings.push(Warning::at(format!("cell {}", seen.cell.number), what, "measure it again"));
        }
    }
}

impl Findings {
    /// Pull compensation at each end that a thread of `width` mm as drawn needs, `from_grain` degrees off the grain, mm.
    pub fn pull_at(&self, width: f64, from_grain: f64, method: Method) -> Estimate {
        self.pull_needed(width, along_grain(from_grain), method)
    }

    /// As [`pull_at`](Findings::pull_at) for the mean of all directions.
    pub fn mean_pull_at(&self, width: f64, method: Method) -> Estimate {
        self.pull_needed(width, 0.0, method)
    }

    fn pull_needed(&self, width: f64, along: f64, method: Method) -> Estimate {
        let grows = self.pull.slopes(along, method);
        let (growth, _) = self.pull.solution.combine(&grows);
        let rest = 1.0 / (1.0 - growth);
        let times = self.pull.times(width, along, method);
        let (sum, _) = self.pull.solution.combine(&times);
        // By linear propagation: the derivatives of sum / (1 - growth).
        let derivatives = times.iter().zip(&grows).map(|(times, grows)| times * rest + grows * sum * rest * rest);
        let margin = self.pull.combine(&derivatives.collect::<Vec<_>>()).margin;
        Estimate { value: sum * rest, margin }
    }

    /// Lengthening by the thread's length, percent of it as drawn; nothing where longer threads were drawn in no more.
    pub fn pull_percent(&self) -> Option<Estimate> {
        self.percent(0.0)
    }

    /// As [`pull_percent`](Findings::pull_percent) for threads `from_grain` degrees off the grain.
    pub fn pull_percent_at(&self, from_grain: f64) -> Option<Estimate> {
        self.percent(along_grain(from_grain))
    }

    fn percent(&self, along: f64) -> Option<Estimate> {
        let growth = self.pull.combine(&self.pull.slopes(along, Method::Satin));
        if growth.value <= 0.0 {
            return None;
        }
        let rest = 1.0 - growth.value;
        Some(Estimate { value: 100.0 * growth.value / rest, margin: 100.0 * growth.margin / (rest * rest) })
    }

    /// Push compensation at each open end of a column of mean width, mm; `from_grain` degrees between threads and grain.
    pub fn push_at(&self, width: Option<f64>, from_grain: Option<f64>) -> Option<Estimate> {
        let push = self.push.as_ref()?;
        let along = from_grain.map_or(0.0, along_grain);
        Some(push.combine(&push.times(width.unwrap_or(push.centres.growth), along, Method::Satin)))
    }

    fn check(&self) -> Result<(), Error> {
        let method = if self.column_width.is_some() { Method::Satin } else { Method::Fill };
        let pull = self.mean_pull_at(5.0, method).value;
        let growth = self.pull.value(Term::Growth);
        if !(-1.0..=3.0).contains(&pull) || growth > 0.3 {
            return Err(Error::Absurd { what: "the pull compensation", value: pull });
        }
        match self.push_at(None, None) {
            Some(push) if !(-2.0..=5.0).contains(&push.value) => {
                Err(Error::Absurd { what: "the push compensation", value: push.value })
            }
            _ => Ok(()),
        }
    }
}
