//! What moves all readings of a sweep together, in the uncertainty of its smooth.
//!
//! ```text
//! u²(s) = u²(readings) + Σ hₛ²        hₛ(V) = Σ ℓₖ(V)·(δyₖ − y′(xₖ)·δxₖ)
//! ```
//!
//! x is what was set and y what was read; (δxₖ, δyₖ) is what one standard uncertainty of source s does to a reading, and ℓ
//! the row of the smoother. To first order a point moved along both axes lies as far from the curve as one whose y moved by
//! δy − y′·δx (JCGM 100:2008, 5.2.2, for sources common to several quantities).

use super::error::InterpolantError;
use super::smooth::{Moved, Row, Smooth};
use crate::quantity::estimate::{Estimate, Interval, student_t};
use crate::quantity::key_points::combined_dof;
use crate::sweep::{Effect, Sweep, common_effects};

impl Smooth {
    /// The smooth with the gains and offsets of the noise of `sweep` and its effects that have one source.
    pub(super) fn carrying(mut self, sweep: &Sweep) -> Self {
        let effects = common_effects((sweep.voltage_v(), sweep.current_a()), sweep.options());
        self.common = effects.iter().map(|e| self.moved_by(e, sweep)).collect();
        self
    }

    fn moved_by(&self, effect: &Effect, sweep: &Sweep) -> Moved {
        let (v, i) = (sweep.voltage_v(), sweep.current_a());
        let of_current = self.points.of_current();
        let (x, along, across) = if of_current {
            (i, &effect.current_a, &effect.voltage_v)
        } else {
            (v, &effect.voltage_v, &effect.current_a)
        };
        let places = self.points.places();
        let (mut sum, mut count) = (vec![0.0; places.len()], vec![0.0; places.len()]);
        for (k, x) in x.iter().enumerate() {
            let at = places.partition_point(|place| place < x).min(places.len() - 1);
            sum[at] += across[k] - self.spline.jet(*x)[1] * along[k];
            count[at] += 1.0;
        }
        let by = sum.iter().zip(&count).map(|(sum, count)| sum / f64::max(*count, 1.0)).collect();
        Moved { by, dof: effect.dof }
    }

    /// Adds the common sources to estimates at voltages; `of` takes the contributions to the figure from a row.
    pub(super) fn with_common(
        &self,
        voltage_v: &[f64],
        mut estimates: Vec<Estimate>,
        of: fn(&Row) -> &[f64],
    ) -> Result<Vec<Estimate>, InterpolantError> {
        if self.common.is_empty() {
            return Ok(estimates);
        }
        for (v, estimate) in voltage_v.iter().zip(&mut estimates) {
            let Some(u) = estimate.u else { continue };
            let changes = self.changes(*v, of)?;
            let variance: f64 = changes.iter().map(|c| c.0).sum();
            let parts: Vec<(f64, f64)> = std::iter::once((u * u, estimate.dof)).chain(changes).collect();
            estimate.u = Some((u * u + variance).sqrt());
            estimate.dof = combined_dof(&parts);
        }
        Ok(estimates)
    }

    /// Widens intervals at voltages, about the `values`, by the common sources.
    pub(super) fn widened(
        &self,
        voltage_v: &[f64],
        values: &[f64],
        mut intervals: Vec<Interval>,
    ) -> Result<Vec<Interval>, InterpolantError> {
        if self.common.is_empty() {
            return Ok(intervals);
        }
        for ((v, value), interval) in voltage_v.iter().zip(values).zip(&mut intervals) {
            let changes = self.changes(*v, |row| &row.current)?;
            let by = student_t(interval.level, combined_dof(&changes))
                * changes.iter().map(|c| c.0).sum::<f64>().sqrt();
            interval.low = interval.low.map(|low| value - (value - low).hypot(by));
            interval.high = interval.high.map(|high| value + (high - value).hypot(by));
        }
        Ok(intervals)
    }

    /// Variance and degrees of freedom that each source gives a figure at `voltage_v`.
    fn changes(&self, voltage_v: f64, of: fn(&Row) -> &[f64]) -> Result<Vec<(f64, f64)>, InterpolantError> {
        let row = self.row(voltage_v)?;
        let change = |m: &Moved| of(&row).iter().zip(&m.by).map(|(l, by)| l * by).sum::<f64>();
        Ok(self.common.iter().map(|m| (change(m).powi(2), m.dof)).collect())
    }
}
