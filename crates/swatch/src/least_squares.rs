//! Weighted linear least squares with the covariance of its result.
//!
//! Minimises the weighted sum of squared residuals by the modified Gram-Schmidt
//! method with the right side carried along (Å. Björck, "Solving linear least
//! squares problems by Gram-Schmidt orthogonalization", BIT 7, 1967). The
//! covariance is s² (XᵀWX)⁻¹ with s² the weighted sum of squared residuals over
//! the degrees of freedom (N. Draper, H. Smith, Applied Regression Analysis, 3rd
//! edition, Wiley 1998, on weighted least squares). Intervals take Student's t.
//!
//! Use it for up to a dozen unknowns: a linear algebra library would bring some
//! twenty crates for one triangular solve. O(rows · unknowns²). A column that
//! others explain to nine digits is an error, not a wild number.

/// A column that keeps less than this share of its length once the others are
/// taken out of it tells nothing of its own.
const DEPENDENT: f64 = 1e-9;

/// A column of the design that the others already explain, counted from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dependent(pub usize);

/// What least squares found.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// One for each column.
    pub coefficients: Vec<f64>,
    /// Their covariance, row by row.
    pub covariance: Vec<Vec<f64>>,
    /// Observation less what is predicted, one for each row.
    pub residuals: Vec<f64>,
    /// Standard deviation of an observation of weight 1.
    pub deviation: f64,
    /// Rows less columns.
    pub freedom: usize,
}

impl Solution {
    /// The sum of `times` each coefficient and its standard error.
    pub fn combine(&self, times: &[f64]) -> (f64, f64) {
        let value = times.iter().zip(&self.coefficients).map(|(times, one)| times * one).sum();
        let variance: f64 = times
            .iter()
            .zip(&self.covariance)
            .map(|(a, row)| a * times.iter().zip(row).map(|(b, covariance)| b * covariance).sum::<f64>())
            .sum();
        (value, variance.max(0.0).sqrt())
    }
}

/// Fits `observed` by the columns of `design`, one row an observation.
///
/// # Errors
/// [`Dependent`], the first column that the ones before it explain. There must
/// be more rows than columns for the covariance to be finite.
pub fn solve(design: &[Vec<f64>], observed: &[f64], weights: &[f64]) -> Result<Solution, Dependent> {
    let columns = design.first().map_or(0, Vec::len);
    let scaled = |values: &mut dyn Iterator<Item = f64>| -> Vec<f64> {
        values.zip(weights).map(|(value, weight)| value * weight.max(0.0).sqrt()).collect()
    };
    let mut basis: Vec<Vec<f64>> =
        (0..columns).map(|column| scaled(&mut design.iter().map(|row| row[column]))).collect();
    let mut rest = scaled(&mut observed.iter().copied());
    let mut triangle = vec![vec![0.0; columns]; columns];
    let mut sides = vec![0.0; columns];
    for column in 0..columns {
        let (done, later) = basis.split_at_mut(column + 1);
        let Some(this) = done.last_mut() else { continue };
        let length = dot(this, this).sqrt();
        let whole = (0..column).map(|row| triangle[row][column] * triangle[row][column]).sum::<f64>() + length * length;
        if length.is_nan() || length <= DEPENDENT * whole.sqrt() {
            return Err(Dependent(column));
        }
        triangle[column][column] = length;
        this.iter_mut().for_each(|value| *value /= length);
        for (number, other) in later.iter_mut().enumerate() {
            triangle[column][column + 1 + number] = take_out(other, this);
        }
        sides[column] = take_out(&mut rest, this);
    }
    let inverse = inverted(&triangle);
    let coefficients: Vec<f64> = inverse.iter().map(|row| dot(row, &sides)).collect();
    let freedom = design.len().saturating_sub(columns);
    let variance = dot(&rest, &rest) / freedom as f64;
    let covariance = inverse.iter().map(|a| inverse.iter().map(|b| variance * dot(a, b)).collect()).collect();
    let residuals = design.iter().zip(observed).map(|(row, value)| value - dot(row, &coefficients)).collect();
    Ok(Solution { coefficients, covariance, residuals, deviation: variance.sqrt(), freedom })
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Takes from `vector` its part along `unit`; the length of that part.
fn take_out(vector: &mut [f64], unit: &[f64]) -> f64 {
    let along = dot(vector, unit);
    vector.iter_mut().zip(unit).for_each(|(value, unit)| *value -= along * unit);
    along
}

/// The inverse of an upper triangle.
fn inverted(triangle: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let size = triangle.len();
    let mut inverse = vec![vec![0.0; size]; size];
    for column in 0..size {
        inverse[column][column] = 1.0 / triangle[column][column];
        for row in (0..column).rev() {
            let sum: f64 = (row + 1..=column).map(|k| triangle[row][k] * inverse[k][column]).sum();
            inverse[row][column] = -sum / triangle[row][row];
        }
    }
    inverse
}

/// Student's t for a two-sided interval of 95 %, by degrees of freedom from 1
/// (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2).
const T95: [f64; 30] = [
    12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160, 2.145, 2.131, 2.120,
    2.110, 2.101, 2.093, 2.086, 2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042,
];

/// Half the width of a 95 % interval in standard errors. Beyond 30 degrees of
/// freedom by the first two terms of the Cornish-Fisher expansion, within 0.001.
pub fn t95(freedom: usize) -> f64 {
    const NORMAL: f64 = 1.959_964;
    match freedom.checked_sub(1) {
        None => f64::INFINITY,
        Some(index) => T95.get(index).copied().unwrap_or_else(|| {
            let n = freedom as f64;
            let cube = NORMAL.powi(3);
            NORMAL
                + (cube + NORMAL) / (4.0 * n)
                + (5.0 * cube * NORMAL * NORMAL + 16.0 * cube + 3.0 * NORMAL) / (96.0 * n * n)
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_through_three_points_is_that_of_the_closed_form() {
        // Points (0, 1), (1, 2), (2, 4): slope 3/2, intercept 5/6, sum of squares 1/6.
        let design: Vec<Vec<f64>> = (0..3).map(|x| vec![1.0, f64::from(x)]).collect();
        let found = solve(&design, &[1.0, 2.0, 4.0], &[1.0; 3]).unwrap();
        assert!((found.coefficients[0] - 5.0 / 6.0).abs() < 1e-12 && (found.coefficients[1] - 1.5).abs() < 1e-12);
        assert!((found.deviation - (1.0f64 / 6.0).sqrt()).abs() < 1e-12);
        // Variance of the slope: s² / Sxx = (1/6) / 2; of the mean of y: s² / 3.
        assert!((found.covariance[1][1] - 1.0 / 12.0).abs() < 1e-12);
        assert!((found.combine(&[1.0, 1.0]).1 - (1.0f64 / 18.0).sqrt()).abs() < 1e-12);
    }

    #[test]
    fn a_weight_of_two_is_an_observation_made_twice() {
        let twice = solve(&[vec![1.0], vec![1.0], vec![1.0]], &[1.0, 4.0, 4.0], &[1.0; 3]).unwrap();
        let weighted = solve(&[vec![1.0], vec![1.0]], &[1.0, 4.0], &[1.0, 2.0]).unwrap();
        assert!((twice.coefficients[0] - 3.0).abs() < 1e-12);
        assert!((weighted.coefficients[0] - 3.0).abs() < 1e-12);
    }

    #[test]
    fn a_column_that_others_explain_is_named() {
        let design: Vec<Vec<f64>> = (0..5).map(|x| vec![1.0, f64::from(x), 3.0 - 2.0 * f64::from(x)]).collect();
        assert_eq!(solve(&design, &[0.0; 5], &[1.0; 5]), Err(Dependent(2)));
    }

    /// The share of Student's distribution within ± t, by Simpson's rule.
    fn within(t: f64, freedom: usize) -> f64 {
        let n = freedom as f64;
        let density = |x: f64| (1.0 + x * x / n).powf(-(n + 1.0) / 2.0);
        let simpson = |to: f64| -> f64 {
            let step = to / 20_000.0;
            let at = |i: u32| {
                let times = if i == 0 || i == 20_000 {
                    1.0
                } else if i % 2 == 1 {
                    4.0
                } else {
                    2.0
                };
                times * density(f64::from(i) * step)
            };
            (0..=20_000).map(at).sum::<f64>() * step / 3.0
        };
        // Far beyond what carries weight at these degrees of freedom.
        simpson(t) / simpson(400.0)
    }

    #[test]
    fn the_table_of_t_holds_95_percent() {
        for freedom in (4..=30).chain([31, 45, 80, 500]) {
            assert!((within(t95(freedom), freedom) - 0.95).abs() < 2e-4, "{freedom}");
        }
        assert!(t95(0).is_infinite());
    }
}
