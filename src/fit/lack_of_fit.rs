//! Whether the residuals look like noise: of the stated size, and without a pattern.
//!
//! ```text
//! P(at most r runs | n₊ positive, n₋ negative)      runs of equal sign along the voltage, exact
//! ```
//!
//! A. Wald, J. Wolfowitz, Ann. Math. Stat. 11 (1940) 147, equations for the exact distribution. The parameters of
//! the fit take up slow waves, so that true noise shows a few runs more than independent signs: the test is on the
//! safe side.

use super::note::Note;
use statrs::distribution::{ChiSquared, ContinuousCDF};
use statrs::function::factorial::ln_binomial;

/// Probability below which a pattern or a size is not put down to chance.
const DOUBT: f64 = 1e-3;

/// Signs of residuals in the order given.
struct Signs {
    up: usize,
    down: usize,
    runs: usize,
}

impl Signs {
    /// `None` without two signs.
    fn of(residuals: &[f64]) -> Option<Self> {
        let (mut up, mut down, mut runs, mut last) = (0, 0, 0, None);
        for sign in residuals.iter().filter(|r| **r != 0.0).map(|r| *r > 0.0) {
            *(if sign { &mut up } else { &mut down }) += 1;
            runs += usize::from(last != Some(sign));
            last = Some(sign);
        }
        (up > 0 && down > 0).then_some(Self { up, down, runs })
    }

    /// Runs of independent signs, on average.
    fn expected(&self) -> f64 {
        1.0 + 2.0 * (self.up * self.down) as f64 / (self.up + self.down) as f64
    }

    /// Probability of at most as many runs, were the signs independent.
    fn probability(&self) -> f64 {
        let of = |runs| runs_exactly(runs as u64, self.up as u64, self.down as u64);
        (2..=self.runs).map(of).sum::<f64>().min(1.0)
    }
}

/// P(r runs): 2·C(n₊−1, k−1)·C(n₋−1, k−1)/C(N, n₊) for r = 2k; the two mixed terms for r = 2k + 1.
fn runs_exactly(r: u64, up: u64, down: u64) -> f64 {
    let term = |a: u64, b: u64| {
        if a >= up || b >= down {
            return 0.0;
        }
        (ln_binomial(up - 1, a) + ln_binomial(down - 1, b) - ln_binomial(up + down, up)).exp()
    };
    let k = r / 2;
    if r.is_multiple_of(2) { 2.0 * term(k - 1, k - 1) } else { term(k, k - 1) + term(k - 1, k) }
}

/// What the residuals say against the fit. `residuals` by rising voltage; `chi2` where the noise is stated.
pub(super) fn notes(residuals: &[f64], chi2: Option<f64>, dof: usize) -> Vec<Note> {
    let mut notes = Vec::new();
    let few = Signs::of(residuals).filter(|s| (s.runs as f64) < s.expected());
    if let Some((p, signs)) = few.map(|s| (s.probability(), s)).filter(|(p, _)| *p < DOUBT) {
        notes.push(Note::FewRuns { runs: signs.runs, expected: signs.expected(), p });
    }
    let Some((chi2, distribution)) = chi2.zip(ChiSquared::new(dof as f64).ok()).filter(|_| dof > 0) else {
        return notes;
    };
    let ratio = (chi2 / dof as f64).sqrt();
    if distribution.sf(chi2) < DOUBT {
        notes.push(Note::ScatterAboveStated { ratio });
    } else if distribution.cdf(chi2) < DOUBT {
        notes.push(Note::ScatterBelowStated { ratio });
    }
    notes
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// All C(8, 3) = 56 orders of three and five signs, counted one by one.
    #[test]
    fn distribution_of_runs_agrees_with_counting() {
        let mut counts = [0.0; 9];
        for set in 0u32..256 {
            if set.count_ones() == 3 {
                let r: Vec<f64> = (0..8).map(|k| if set >> k & 1 == 1 { 1.0 } else { -1.0 }).collect();
                counts[Signs::of(&r).unwrap().runs] += 1.0 / 56.0;
            }
        }
        for (r, share) in counts.iter().enumerate().skip(2).take(6) {
            assert_relative_eq!(runs_exactly(r as u64, 3, 5), *share, epsilon = 1e-14);
        }
    }

    #[test]
    fn a_wave_is_seen_and_noise_is_not() {
        let wave: Vec<f64> = (0..24).map(|k| (f64::from(k) * 0.26).sin() + 0.01).collect();
        assert!(matches!(notes(&wave, None, 19)[..], [Note::FewRuns { runs: 2, .. }]));
        let alternating: Vec<f64> = (0..24).map(|k| if k % 3 == 0 { 1.0 } else { -0.5 }).collect();
        assert!(notes(&alternating, Some(20.0), 19).is_empty());
        let found = notes(&alternating, Some(200.0), 19);
        assert!(found[0].to_string().contains("3.2 times as much as stated"), "{found:?}");
    }
}
