//! The voltage at which a measured sweep carries a given current.
//!
//! ```text
//! between neighbours: the cubic with their values and slopes (three-point parabolas, kept monotone), solved for V
//! ```
//!
//! The slopes are limited to three times the smaller neighbouring chord, which keeps the cubic monotone
//! (F. N. Fritsch, R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238).

use crate::sweep::Sweep;

/// The readings by rising voltage, joined by monotone cubics.
pub(super) struct Curve {
    v: Vec<f64>,
    i: Vec<f64>,
    slope: Vec<f64>,
}

impl Curve {
    pub fn of(sweep: &Sweep) -> Self {
        let (mut v, mut i, mut same) = (Vec::<f64>::new(), Vec::<f64>::new(), 1.0);
        for k in sweep.by_voltage() {
            let (at, current) = (sweep.voltage_v()[k], sweep.current_a()[k]);
            match (v.last(), i.last_mut()) {
                (Some(last), Some(mean)) if *last == at => {
                    // Readings at one voltage count as their mean.
                    same += 1.0;
                    *mean += (current - *mean) / same;
                }
                _ => {
                    same = 1.0;
                    v.push(at);
                    i.push(current);
                }
            }
        }
        let slope = slopes(&v, &i);
        Self { v, i, slope }
    }

    /// The voltage nearest to `near_v` at which the current is `current_a`; where the sweep does not carry it,
    /// the nearest reading that is off by no more than `slack_a`.
    pub fn voltage_at(&self, current_a: f64, near_v: f64, slack_a: f64) -> Option<f64> {
        let crossings = (1..self.v.len())
            .filter(|&k| (self.i[k - 1] - current_a) * (self.i[k] - current_a) <= 0.0)
            .map(|k| self.cross(k, current_a));
        let closest = |a: &f64, b: &f64| (a - near_v).abs().total_cmp(&(b - near_v).abs());
        crossings.min_by(closest).or_else(|| {
            let close = (0..self.v.len()).filter(|&k| (self.i[k] - current_a).abs() <= slack_a);
            close.map(|k| self.v[k]).min_by(closest)
        })
    }

    /// The crossing within the interval that ends at reading `k`, by bisection.
    fn cross(&self, k: usize, current_a: f64) -> f64 {
        let (h, y0, y1) = (self.v[k] - self.v[k - 1], self.i[k - 1], self.i[k]);
        let (d0, d1) = (h * self.slope[k - 1], h * self.slope[k]);
        let cubic = |t: f64| {
            let s = 1.0 - t;
            s * s * ((1.0 + 2.0 * t) * y0 + t * d0) + t * t * ((1.0 + 2.0 * s) * y1 - s * d1)
        };
        let falls = y0 > y1;
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if (cubic(middle) > current_a) == falls { low = middle } else { high = middle }
        }
        self.v[k - 1] + 0.5 * (low + high) * h
    }
}

fn slopes(v: &[f64], i: &[f64]) -> Vec<f64> {
    let chord = |k: usize| (i[k + 1] - i[k]) / (v[k + 1] - v[k]);
    let last = v.len() - 1;
    (0..v.len())
        .map(|k| {
            if last < 2 || k == 0 || k == last {
                return chord(k.min(last - 1));
            }
            let (before, after) = (chord(k - 1), chord(k));
            if before * after <= 0.0 {
                return 0.0;
            }
            let (h0, h1) = (v[k] - v[k - 1], v[k + 1] - v[k]);
            let parabola = (h1 * before + h0 * after) / (h0 + h1);
            parabola.signum() * parabola.abs().min(3.0 * before.abs().min(after.abs()))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sweep::{Leads, Sign, SweepOptions};
    use approx::assert_relative_eq;

    fn curve(v: &[f64], i: &[f64]) -> Curve {
        let options =
            SweepOptions { sign: Sign::Generator, leads: Leads::AsGiven, ..SweepOptions::default() };
        Curve::of(&Sweep::new(v, i, options).unwrap())
    }

    /// On the straight line I = 1 − V/2 the voltage is 2·(1 − I); beyond its ends only within the slack.
    #[test]
    fn a_straight_line_is_met_exactly() {
        let c = curve(&[0.0, 0.3, 0.5, 1.0], &[1.0, 0.85, 0.75, 0.5]);
        for current in [1.0, 0.9, 0.8, 0.77, 0.6, 0.5] {
            assert_relative_eq!(
                c.voltage_at(current, 0.0, 0.0).unwrap(),
                2.0 * (1.0 - current),
                epsilon = 1e-14
            );
        }
        assert_eq!(c.voltage_at(1.01, 0.0, 0.0), None);
        assert_eq!(c.voltage_at(1.01, 0.9, 0.02), Some(0.0));
    }

    /// Of several crossings the one nearest to the given voltage: by hand at 0.5 and 1.5 and 2.5.
    #[test]
    fn the_nearest_of_several_crossings() {
        let c = curve(&[0.0, 1.0, 2.0, 3.0], &[1.0, 0.9, 1.0, 0.9]);
        for near in [0.5, 1.5, 2.5] {
            assert_relative_eq!(c.voltage_at(0.95, near, 0.0).unwrap(), near, epsilon = 0.1);
        }
    }
}
