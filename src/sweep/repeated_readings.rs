//! Readings repeated at the same set points: their means, and the noise that their spread shows.
//!
//! ```text
//! min Σ ν/2·[ln σᵢ² + sᵢ²/σᵢ²],   σᵢ² = floor² + (rel·x̄ᵢ)²        sᵢ² on ν = m − 1 degrees of freedom
//! ```
//!
//! The variance of a few readings is itself uncertain by √(2/ν), so that 1/sᵢ² would be a poor weight; the two
//! numbers of the noise model are found from all points together, by maximum likelihood. A mean of m readings
//! scatters by 1/√m of that.

use super::error::SweepError;
use super::noise::Noise;

/// By what a parameter more must lower −ln L (Akaike, IEEE Trans. Autom. Control 19 (1974) 716; from memory).
const AKAIKE: f64 = 1.0;

/// Rounds of reweighting.
const ROUNDS: usize = 100;

/// Means of `voltage_v` and `current_a` over their rows (one row a repetition, one column a set point), and the
/// noise of those means; an axis that never varies is not stated.
///
/// # Errors
/// [`SweepError`] for fewer than two rows, rows of unequal length, and readings that are no finite numbers.
///
/// # Examples
/// ```
/// use litdiode::sweep::means_of_repeats;
/// // Three times the same steps of the current, invented; the voltages scatter.
/// let v = [vec![0.571, 0.560, 0.530, 0.101], vec![0.573, 0.558, 0.532, 0.097], vec![0.572, 0.559, 0.530, 0.099]];
/// let i = [0, 1, 2].map(|_| vec![0.0, 0.01, 0.02, 0.03]);
/// let (voltage_v, current_a, noise) = means_of_repeats(&v, &i)?;
/// assert!((voltage_v[0] - 0.572).abs() < 1e-12 && current_a == [0.0, 0.01, 0.02, 0.03]);
/// assert!((noise.voltage_v - 7.8e-4).abs() < 1e-5 && !noise.states_current()); // 1.35 mV/√3
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn means_of_repeats(
    voltage_v: &[Vec<f64>],
    current_a: &[Vec<f64>],
) -> Result<(Vec<f64>, Vec<f64>, Noise), SweepError> {
    let (voltage, current) = (voltage_v.len(), current_a.len());
    if voltage != current || voltage < 2 {
        return Err(SweepError::Repeats { voltage, current });
    }
    let (mean_v, floor_v, rel_v) = axis("voltage_v", voltage_v, voltage_v)?;
    let (mean_a, floor_a, rel_a) = axis("current_a", current_a, voltage_v)?;
    let spread = ((voltage_v.len() - 1) * mean_v.len()) as f64;
    // A proportional part divides what is known between readings of different size.
    let shared = if rel_v > 0.0 || rel_a > 0.0 { 0.5 } else { 1.0 };
    let noise = Noise {
        voltage_v: floor_v,
        voltage_rel: rel_v,
        current_a: floor_a,
        current_rel: rel_a,
        scatter_dof: shared * spread,
        ..Noise::default()
    };
    Ok((mean_v, mean_a, noise))
}

/// Means, floor and proportional part of one axis.
fn axis(
    name: &'static str,
    rows: &[Vec<f64>],
    beside: &[Vec<f64>],
) -> Result<(Vec<f64>, f64, f64), SweepError> {
    let points = beside[0].len();
    for (k, row) in rows.iter().enumerate() {
        if row.len() != points {
            return Err(SweepError::RepeatLength { name, row: k, given: row.len(), wanted: points });
        }
        super::validate::readings(name, row)?;
    }
    let m = rows.len() as f64;
    let column = |k: usize| rows.iter().map(move |row| row[k]);
    let mean: Vec<f64> = (0..points).map(|k| column(k).sum::<f64>() / m).collect();
    let spread = |k: usize| {
        let steady = column(k).all(|x| x == rows[0][k]);
        if steady { 0.0 } else { column(k).map(|x| (x - mean[k]).powi(2)).sum::<f64>() / (m - 1.0) }
    };
    let variance: Vec<f64> = (0..points).map(spread).collect();
    let (floor, rel) = noise_model(&mean, &variance, m - 1.0);
    Ok((mean, floor / m.sqrt(), rel / m.sqrt()))
}

/// (floor, rel) of the largest likelihood, both 0 or more, by reweighted least squares of s² on 1 and x̄²; no proportional
/// part where it does not lower Akaike's criterion, since a needless one takes its share from the floor.
fn noise_model(mean: &[f64], variance: &[f64], nu: f64) -> (f64, f64) {
    let average = variance.iter().sum::<f64>() / variance.len().max(1) as f64;
    if average <= 0.0 {
        return (0.0, 0.0);
    }
    let (mut floor2, mut rel2) = (average, 0.0);
    for _ in 0..ROUNDS {
        let weight = |x: f64| (floor2 + rel2 * x * x).powi(-2);
        let sum = |f: &dyn Fn(f64, f64) -> f64| -> f64 {
            mean.iter().zip(variance).map(|(&x, &s2)| weight(x) * f(x * x, s2)).sum()
        };
        let (s0, s1, s2) = (sum(&|_, _| 1.0), sum(&|q, _| q), sum(&|q, _| q * q));
        let (t0, t1) = (sum(&|_, v| v), sum(&|q, v| q * v));
        let determinant = s0 * s2 - s1 * s1;
        let (a, b) = ((t0 * s2 - t1 * s1) / determinant, (t1 * s0 - t0 * s1) / determinant);
        // A floor of a thousandth of the average keeps readings at 0 from ruling all others.
        let least = 1e-6 * average;
        let next = match (a >= least, b >= 0.0) {
            (true, true) => (a, b),
            (true, false) => (t0 / s0, 0.0),
            _ => (least, ((t1 - least * s1) / s2).max(0.0)),
        };
        let moved = (next.0 - floor2).abs() + (next.1 - rel2).abs() * s1 / s0;
        (floor2, rel2) = if next.0.is_finite() && next.1.is_finite() { next } else { (average, 0.0) };
        if moved <= 1e-10 * average {
            break;
        }
    }
    let cost = |floor2: f64, rel2: f64| -> f64 {
        let one = |(x, s2): (&f64, &f64)| {
            let sigma2 = floor2 + rel2 * x * x;
            0.5 * nu * (sigma2.ln() + s2 / sigma2)
        };
        mean.iter().zip(variance).map(one).sum()
    };
    if cost(average, 0.0) - cost(floor2, rel2) <= AKAIKE {
        return (average.sqrt(), 0.0);
    }
    (floor2.sqrt(), rel2.sqrt())
}
