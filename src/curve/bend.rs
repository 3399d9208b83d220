//! How sharply the curve bends: a smooth stand-in that tells which windows are too wide.
//!
//! ```text
//! I(V) ≈ Isc − g·V − B(V)       V = c + a·ln B + r·B
//! ```
//!
//! B is the bend below the flat part. Any curve of a device that rectifies has such a scale a, with r
//! where a resistance stretches it, and a polynomial over a window much wider than a is off. A linear
//! estimator applied to B instead of to the readings gives the size of its truncation error, whatever
//! the spacing of the points. A curve that bends more than once (an S-shape) lies off it on one side over many readings;
//! there a stiff smoothing spline is the bend curve, curve and bend in one. Only windows, coordinates and uncertainties come
//! from it; no figure does.

use super::scaled_readings::Readings;
use crate::interpolant::{Piecewise, stiff};
use crate::numerics::local_polynomial::scalar::{Jet, Local};

/// The bend is read between this part of Isc and the end of the sweep.
const LEAST_BEND: f64 = 0.02;

/// Beyond this part of Isc the readings of the bend count alike.
const FULL_WEIGHT: f64 = 0.3;

/// The bend of a curve, in the units of its [`Readings`].
#[derive(Clone, Debug)]
pub struct BendCurve {
    /// Current of the flat part at V = 0.
    pub short: f64,
    /// Its fall with V, not negative.
    pub leak: f64,
    knee: Knee,
    /// −B at each reading.
    bend: Vec<f64>,
    /// dI/dV at each reading.
    slope: Vec<f64>,
    /// The whole curve, where one bend does not make it.
    smooth: Option<Piecewise>,
}

/// V = c + a·ln B + r·B.
#[derive(Clone, Copy, Debug)]
struct Knee {
    c: f64,
    a: f64,
    r: f64,
}

impl BendCurve {
    /// Reads one bend off the readings.
    pub fn of(readings: &Readings) -> Self {
        let top = readings.voltage[top(readings)];
        let (short, leak) = flat_part(readings, top);
        let (low, high) = readings.range();
        let widest = top.abs().max(0.1 * (high - low));
        let knee = Knee::of(readings, short, leak, widest);
        let mut bend_curve = Self { short, leak, knee, bend: Vec::new(), slope: Vec::new(), smooth: None };
        bend_curve.draw(&readings.voltage);
        bend_curve
    }

    /// A bend curve that bends as often as the readings do: their stiff smooth. Its flat part stays that of `self`.
    pub fn bending(mut self, readings: &Readings) -> Self {
        if let Ok(smooth) = stiff(&readings.voltage, &readings.current) {
            self.smooth = Some(smooth);
            self.draw(&readings.voltage);
        }
        self
    }

    fn draw(&mut self, voltage: &[f64]) {
        let jets = voltage.iter().map(|&v| self.bend_at(v));
        (self.bend, self.slope) = jets.map(|jet| (jet.value, jet.slope - self.leak)).unzip();
    }

    /// How much successive readings lie on the same side of the bend curve: in standard deviations of what readings with
    /// the given deviations do by chance, and as a part of Isc.
    ///
    /// ```text
    /// Σ rₖ·rₖ₊₁/(sₖ·sₖ₊₁) / √(N − 1)       √(Σ rₖ·rₖ₊₁/(N − 1)) / Isc       rₖ = Iₖ − bend curve
    /// ```
    pub fn misfit(&self, readings: &Readings, sigma: &[f64]) -> (f64, f64) {
        let rest = |k: usize| readings.current[k] - self.flat(readings.voltage[k]) - self.bend[k];
        let (mut beyond_chance, mut size) = (0.0, 0.0);
        for k in 1..sigma.len() {
            let product = rest(k - 1) * rest(k);
            size += product;
            beyond_chance += product / (sigma[k - 1] * sigma[k]);
        }
        let pairs = sigma.len() as f64 - 1.0;
        (beyond_chance / pairs.sqrt(), (size.max(0.0) / pairs).sqrt() / self.short.abs())
    }

    /// The flat part at `v`.
    pub fn flat(&self, v: f64) -> f64 {
        self.short - self.leak * v
    }

    /// −B at each reading.
    pub fn bend(&self) -> &[f64] {
        &self.bend
    }

    /// r·B where ln(1 − I/S) is `x`: what a resistance adds to V that is not straight in x.
    pub fn stretch(&self, x: f64) -> f64 {
        self.knee.r * self.short * x.exp()
    }

    /// dI/dV at each reading.
    pub fn slope(&self) -> &[f64] {
        &self.slope
    }

    /// −B at `v`.
    pub fn bend_at(&self, v: f64) -> Jet {
        let whole = self.at(v);
        Jet { value: whole.value - self.flat(v), slope: whole.slope + self.leak, ..whole }
    }

    /// Value, slope and curvature of the bend curve at `v`.
    pub fn at(&self, v: f64) -> Jet {
        if let Some(smooth) = &self.smooth {
            let [value, slope, curvature] = smooth.jet(v);
            return Jet { value, slope, curvature };
        }
        let Knee { a, r, .. } = self.knee;
        let b = self.knee.bend(v);
        // dV/dB = a/B + r, so dB/dV = B/(a + rB) and d²B/dV² = a·B/(a + rB)³.
        let rest = a + r * b;
        Jet { value: self.flat(v) - b, slope: -self.leak - b / rest, curvature: -a * b / rest.powi(3) }
    }
}

impl Knee {
    fn of(readings: &Readings, short: f64, leak: f64, widest: f64) -> Self {
        let full = short.abs().max(1e-3);
        let points: Vec<(f64, f64)> = (0..readings.len())
            .map(|k| (readings.voltage[k], short - leak * readings.voltage[k] - readings.current[k]))
            .filter(|(v, b)| *v > 0.0 && *b > LEAST_BEND * full)
            .collect();
        // A device that does not bend within the sweep: nothing is known but that it might, at the end.
        let blind = || {
            let a = 0.1 * widest;
            Self { c: readings.range().1 - a * (0.05 * full).ln(), a, r: 0.0 }
        };
        let (smallest, largest) = (widest / 60.0, widest / 3.0);
        let weight = |b: f64| b.min(FULL_WEIGHT * full).powi(2);
        let stretched = stretched_line(&points, weight).filter(|k| k.r > 0.0 && k.a > smallest);
        let Some(mut knee) = stretched.or_else(|| straight_line(&points, weight)) else { return blind() };
        // The bounds keep a noisy slope within what devices show; the centre of the knee stays where it was.
        let a = knee.a.clamp(smallest, largest);
        knee.c += (knee.a - a) * (0.1 * full).ln();
        knee.a = a;
        knee
    }

    /// B(v) by Newton in y = ln B: c + a·y + r·eʸ is convex and rises, so that steps from above fall to the root.
    fn bend(&self, v: f64) -> f64 {
        let free = (v - self.c) / self.a;
        // Far beyond the sweep the number must stay one.
        if self.r <= 0.0 {
            return free.min(50.0).exp();
        }
        let mut y = if v > self.c + self.r { free.min(((v - self.c) / self.r).ln()) } else { free };
        for _ in 0..20 {
            let e = self.r * y.exp();
            let step = (self.c + self.a * y + e - v) / (self.a + e);
            y -= step;
            if step.abs() < 1e-9 {
                break;
            }
        }
        y.exp()
    }
}

/// V on ln B alone.
fn straight_line(points: &[(f64, f64)], weight: impl Fn(f64) -> f64) -> Option<Knee> {
    let (x, y, w) = columns(points, &weight);
    let line = Local::fit(&x, &y, &w, 1).filter(|line| line.degree() == 1)?;
    let jet = line.at(0.0, 1);
    (jet.slope > 0.0).then_some(Knee { c: jet.value, a: jet.slope, r: 0.0 })
}

/// V on ln B and B, by taking the part of V and B along ln B away first.
fn stretched_line(points: &[(f64, f64)], weight: impl Fn(f64) -> f64) -> Option<Knee> {
    if points.len() < 4 {
        return None;
    }
    let (x, y, w) = columns(points, &weight);
    let b: Vec<f64> = points.iter().map(|p| p.1).collect();
    let of_v = Local::fit(&x, &y, &w, 1).filter(|line| line.degree() == 1)?;
    let of_b = Local::fit(&x, &b, &w, 1)?;
    let (mut top, mut below) = (0.0, 0.0);
    for k in 0..x.len() {
        let rest = b[k] - of_b.at(x[k], 1).value;
        top += w[k] * rest * (y[k] - of_v.at(x[k], 1).value);
        below += w[k] * rest * rest;
    }
    let r = top / below;
    let (v0, b0) = (of_v.at(0.0, 1), of_b.at(0.0, 1));
    let knee = Knee { c: v0.value - r * b0.value, a: v0.slope - r * b0.slope, r };
    (r.is_finite() && knee.a.is_finite()).then_some(knee)
}

fn columns(points: &[(f64, f64)], weight: impl Fn(f64) -> f64) -> (Vec<f64>, Vec<f64>, Vec<f64>) {
    let column = |f: &dyn Fn(&(f64, f64)) -> f64| points.iter().map(f).collect::<Vec<f64>>();
    (column(&|p| p.1.ln()), column(&|p| p.0), column(&|p| weight(p.1)))
}

/// The point of highest smoothed power in the first quadrant; the last point where there is none.
fn top(readings: &Readings) -> usize {
    let power = |k: usize| readings.voltage[k] * readings.smooth()[k];
    (0..readings.len())
        .filter(|&k| readings.voltage[k] > 0.0 && readings.smooth()[k] > 0.0)
        .max_by(|&a, &b| power(a).total_cmp(&power(b)))
        .unwrap_or(readings.len() - 1)
}

/// Isc and g of a line through the points up to half the way to `v`.
fn flat_part(readings: &Readings, v: f64) -> (f64, f64) {
    let reach = 0.5 * v.abs();
    let chosen: Vec<usize> = (0..readings.len()).filter(|&k| readings.voltage[k].abs() <= reach).collect();
    let of = |from: &[f64]| chosen.iter().map(|&k| from[k]).collect::<Vec<f64>>();
    let line = Local::fit(&of(&readings.voltage), &of(&readings.current), &vec![1.0; chosen.len()], 1);
    match line.filter(|line| line.count() > 2 && line.degree() == 1).map(|line| line.at(0.0, 1)) {
        Some(jet) => (jet.value, (-jet.slope).max(0.0)),
        None => (readings.smooth().iter().copied().fold(f64::NEG_INFINITY, f64::max), 0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Points on V = c + a·ln B + r·B give these three back; on a line in ln B alone two of them.
    #[test]
    fn the_knee_of_exact_points_is_that_they_were_made_with() {
        let weight = |b: f64| b.min(0.3).powi(2);
        let points = |c: f64, a: f64, r: f64| -> Vec<(f64, f64)> {
            let b = (0..12).map(|k| 0.01 * 1.5f64.powi(k));
            b.map(|b| (c + a * b.ln() + r * b, b)).collect()
        };
        for (c, a, r) in [(0.6, 0.04, 0.1), (1.2, 0.11, 0.02), (0.5, 0.03, 0.3)] {
            let knee = stretched_line(&points(c, a, r), weight).unwrap();
            for (found, made) in [(knee.c, c), (knee.a, a), (knee.r, r)] {
                assert!((found - made).abs() < 1e-9, "{found} {made}");
            }
            let knee = straight_line(&points(c, a, 0.0), weight).unwrap();
            assert!((knee.c - c).abs() < 1e-9 && (knee.a - a).abs() < 1e-9 && knee.r == 0.0);
        }
    }

    /// B solves V = c + a·ln B + r·B from far below the knee to far beyond it.
    #[test]
    fn the_bend_solves_its_equation() {
        for knee in [
            Knee { c: 0.6, a: 0.04, r: 0.1 },
            Knee { c: 0.3, a: 0.1, r: 2.0 },
            Knee { c: 0.5, a: 0.03, r: 0.0 },
        ] {
            for k in 0..60 {
                let v = -0.2 + 0.02 * f64::from(k);
                let b = knee.bend(v);
                assert!((knee.c + knee.a * b.ln() + knee.r * b - v).abs() < 1e-8, "{} V: {b}", v);
            }
        }
    }

    /// Σ rₖ·rₖ₊₁/(sₖ·sₖ₊₁) / √(N − 1) and √(Σ rₖ·rₖ₊₁/(N − 1))/Isc of readings off their curve, of uneven uncertainties.
    #[test]
    fn the_misfit_is_that_of_neighbours() {
        let v: Vec<f64> = (0..24).map(|k| 0.03 * f64::from(k)).collect();
        let i: Vec<f64> = v.iter().map(|v| 1.0 - 0.1 * v - ((v - 0.6) / 0.05).exp()).collect();
        let readings = Readings::new(&v, &i, 1.0).unwrap();
        let curve = BendCurve::of(&readings);
        let sigma: Vec<f64> = (0..24).map(|k| 0.01 * (1.0 + f64::from(k % 3))).collect();
        let rest = |k: usize| readings.current[k] - curve.at(readings.voltage[k]).value;
        let pairs = |f: &dyn Fn(usize) -> f64| (0..23).map(f).sum::<f64>();
        let chance = pairs(&|k| rest(k) * rest(k + 1) / (sigma[k] * sigma[k + 1])) / 23f64.sqrt();
        let size = (pairs(&|k| rest(k) * rest(k + 1)) / 23.0).max(0.0).sqrt() / curve.flat(0.0).abs();
        let found = curve.misfit(&readings, &sigma);
        assert!((found.0 - chance).abs() <= 1e-9 * chance.abs(), "{found:?} {chance}");
        assert!((found.1 - size).abs() <= 1e-9, "{found:?} {size}");
    }
}
