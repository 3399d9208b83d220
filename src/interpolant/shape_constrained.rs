//! The falling, concave curve nearest to the readings: the shape of a lit junction without S-shape or breakdown.
//!
//! ```text
//! minimise Σ wₖ(Iₖ − s(Vₖ))²    with s′ ≤ 0, s″ ≤ 0 everywhere, s″ piecewise linear
//! ```
//!
//! No penalty and no choice of smoothness: the shape alone regularises. It bends a curve of another shape in silence,
//! so ask [`Shape::fits_the_shape`] before it is used. M. C. Meyer, Ann. Appl. Stat. 2 (2008) 1013, for splines under
//! constraints of shape (from memory).

use super::checks::size;
use super::concave_basis::Hats;
use super::error::InterpolantError;
use super::piecewise::Piecewise;
use super::points::Points;
use crate::numerics::linear_algebra::non_negative_least_squares::{dot, nnls};
use crate::numerics::linear_algebra::qr::thin_qr;

/// Knots at most; each bends the curve downwards or not at all, so that more of them cost time and gain nothing.
const KNOTS: usize = 40;
/// From so many points for each column on the search works on R instead of the columns.
const MANY: usize = 2;

/// The falling, concave curve nearest to the points.
///
/// # Examples
/// ```
/// use litdiode::interpolant::{Points, shape_constrained};
/// let v = [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6];
/// let i = [0.030, 0.0299, 0.0298, 0.0295, 0.028, 0.018, -0.041]; // invented, of that shape
/// let shape = shape_constrained(&Points::new(&v, &i)?)?;
/// assert!(shape.chi2() < 1e-12 && shape.points().readings() == 7);
/// assert!((shape.curve().current(&[0.4], false)?.values[0] - 0.028).abs() < 1e-6);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Shape {
    pub(super) curve: Piecewise,
    pub(super) points: Points,
    pub(super) fit: ShapeFit,
}

impl PartialEq for Shape {
    fn eq(&self, other: &Self) -> bool {
        self.points() == other.points()
    }
}

/// What a fit of the shape gives, in the units of [`ShapeBasis`].
#[derive(Clone, Debug)]
pub(super) struct ShapeFit {
    start: f64,
    amounts: Vec<f64>,
    /// Values at the points in A.
    pub values: Vec<f64>,
    /// Σ w (I − s)² over the means.
    pub chi2: f64,
}

/// The falling, concave curve nearest to the points, with knots at the voltages (evenly chosen ones beyond 40).
///
/// # Errors
/// [`InterpolantError::NotRepresentable`] where numbers are beyond a double.
///
/// # Examples
/// ```
/// use litdiode::interpolant::{Points, shape_constrained};
/// let v = [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6];
/// let i = [0.030, 0.0302, 0.0298, 0.0295, 0.028, 0.018, -0.041]; // invented; the second reading lies too high
/// let shape = shape_constrained(&Points::new(&v, &i)?)?;
/// let drawn = shape.curve().current(&v, false)?.values;
/// assert!(drawn.windows(2).all(|pair| pair[1] <= pair[0] + 1e-15));
/// assert!((drawn[6] + 0.041).abs() < 1e-6);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn shape_constrained(points: &Points) -> Result<Shape, InterpolantError> {
    let basis = ShapeBasis::new(points)?;
    let fit = basis.fit(points.current_a());
    let curve = basis.curve(&fit)?;
    if !fit.chi2.is_finite() {
        return Err(InterpolantError::NotRepresentable { what: "misfit of the shape", index: 0 });
    }
    Ok(Shape { curve, points: points.clone(), fit })
}

impl Shape {
    /// The curve.
    pub fn curve(&self) -> &Piecewise {
        &self.curve
    }

    /// The points it is nearest to.
    pub fn points(&self) -> &Points {
        &self.points
    }

    /// Σ w (I − s)² over the readings: χ² where the noise is stated, else in A².
    pub fn chi2(&self) -> f64 {
        self.fit.chi2 + self.points.within()
    }

    /// Parameters in use: one for the height, one for each of fall and bends that is not 0.
    pub fn edf(&self) -> f64 {
        1.0 + self.fit.amounts.iter().filter(|m| **m > 0.0).count() as f64
    }
}

/// The least-squares problem on given voltages and weights; V less the lowest in units of the range, I in `unit_a`.
pub(super) struct ShapeBasis {
    hats: Hats,
    breaks_v: Vec<f64>,
    /// Columns less their weighted means, times √w: the height is then free.
    columns: Vec<Vec<f64>>,
    /// Q and the columns of R, columns = Q·R, where there are many points: |columns·m − b| is least where |R·m − Qᵀ·b| is.
    reduced: Option<(Vec<f64>, Vec<Vec<f64>>)>,
    means: Vec<f64>,
    /// The columns themselves at each point.
    plain: Vec<Vec<f64>>,
    weight: Vec<f64>,
    unit_w: f64,
    unit_a: f64,
}

impl ShapeBasis {
    pub fn new(points: &Points) -> Result<Self, InterpolantError> {
        let v = points.voltage_v();
        let last = v.len() - 1;
        let span = v[last] - v[0];
        if !span.is_finite() {
            return Err(InterpolantError::NotRepresentable { what: "range of the voltages", index: 0 });
        }
        let steps = last.min(KNOTS - 1);
        let breaks_v: Vec<f64> = (0..=steps).map(|k| v[k * last / steps]).collect();
        let hats = Hats::new(breaks_v.iter().map(|b| (b - v[0]) / span).collect());
        let plain: Vec<Vec<f64>> = v.iter().map(|x| hats.at((x - v[0]) / span)).collect();
        let (unit_w, unit_a) = (size(points.weight()), size(points.current_a()));
        let weight: Vec<f64> = points.weight().iter().map(|w| w / unit_w).collect();
        let mut basis = Self {
            hats,
            breaks_v,
            columns: Vec::new(),
            reduced: None,
            means: Vec::new(),
            plain,
            weight,
            unit_w,
            unit_a,
        };
        for j in 0..basis.plain[0].len() {
            let column: Vec<f64> = basis.plain.iter().map(|row| row[j]).collect();
            let mean = basis.mean(&column);
            basis.columns.push(basis.centred(&column, mean));
            basis.means.push(mean);
        }
        basis.reduced = (basis.plain.len() > MANY * basis.columns.len()).then(|| reduced(&basis.columns));
        Ok(basis)
    }

    /// The curve of a fit.
    pub fn curve(&self, fit: &ShapeFit) -> Result<Piecewise, InterpolantError> {
        let pieces = self.hats.pieces(fit.start, &fit.amounts);
        let coefficients = pieces.iter().map(|c| c.map(|c| c * self.unit_a)).collect();
        Piecewise::new(self.breaks_v.clone(), coefficients)
    }

    fn mean(&self, y: &[f64]) -> f64 {
        let total: f64 = self.weight.iter().sum();
        y.iter().zip(&self.weight).map(|(y, w)| y * (w / total)).sum()
    }

    fn centred(&self, y: &[f64], mean: f64) -> Vec<f64> {
        y.iter().zip(&self.weight).map(|(y, w)| w.sqrt() * (y - mean)).collect()
    }

    /// The fit to currents in A at the points.
    pub fn fit(&self, current_a: &[f64]) -> ShapeFit {
        let y: Vec<f64> = current_a.iter().map(|i| i / self.unit_a).collect();
        let mean = self.mean(&y);
        let centred = self.centred(&y, mean);
        let amounts = match &self.reduced {
            Some((q, r)) => nnls(r, &q.chunks_exact(y.len()).map(|q| dot(q, &centred)).collect::<Vec<f64>>()),
            None => nnls(&self.columns, &centred),
        };
        let sum = |row: &[f64]| row.iter().zip(&amounts).map(|(c, m)| c * m).sum::<f64>();
        let start = mean - sum(&self.means);
        let values: Vec<f64> = self.plain.iter().map(|row| start + sum(row)).collect();
        let misfit: f64 =
            y.iter().zip(&values).zip(&self.weight).map(|((y, s), w)| w * (y - s) * (y - s)).sum();
        let chi2 = misfit * self.unit_w * self.unit_a * self.unit_a;
        ShapeFit { start, amounts, values: values.iter().map(|s| s * self.unit_a).collect(), chi2 }
    }
}

/// Q, one column after the other, and the columns of R.
fn reduced(columns: &[Vec<f64>]) -> (Vec<f64>, Vec<Vec<f64>>) {
    let n = columns.len();
    let (mut q, mut r) = (columns.concat(), vec![0.0; n * n]);
    thin_qr(&mut q, n, &mut r);
    (q, (0..n).map(|c| (0..n).map(|row| r[row * n + c]).collect()).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Invented: a diode's curve with noise.
    fn points(count: usize) -> Points {
        let v: Vec<f64> = (0..count).map(|k| 0.7 * k as f64 / count as f64).collect();
        let noise = |k: usize| 1e-4 * ((k * 7919 % 101) as f64 / 50.0 - 1.0);
        let current = |(k, v): (usize, &f64)| 0.03 - 1e-9 * (v / 0.04f64).exp_m1() + noise(k);
        let i: Vec<f64> = v.iter().enumerate().map(current).collect();
        Points::new(&v, &i).unwrap()
    }

    /// The least squares in R are those in the columns themselves.
    #[test]
    fn the_reduced_problem_has_the_same_answer() {
        for count in [100, 1500] {
            let points = points(count);
            let mut basis = ShapeBasis::new(&points).unwrap();
            assert!(basis.reduced.is_some());
            let reduced = basis.fit(points.current_a());
            basis.reduced = None;
            let whole = basis.fit(points.current_a());
            assert!((reduced.chi2 / whole.chi2 - 1.0).abs() < 1e-10, "{} {}", reduced.chi2, whole.chi2);
            for (a, b) in reduced.values.iter().zip(&whole.values) {
                assert!((a - b).abs() < 1e-10 * 0.03, "{a} {b}");
            }
        }
    }
}
