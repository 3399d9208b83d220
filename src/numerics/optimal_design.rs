//! Exact designs of an experiment: where to take n observations, so that one combination of the coordinates is known best.
//!
//! ```text
//! Φ = mean over s of [ln(c_sᵀ·C_s·c_s) − κ·ln det(M_s)/m]        M_s = B_s + Σᵢ g_s(xᵢ)·g_s(xᵢ)ᵀ,  C_s = M_s⁻¹
//! ```
//!
//! The first term alone is c-optimality, averaged over scenes s (models, or values of the parameters that the experiment
//! may meet); its optimum may rest on fewer different x than there are coordinates, which leaves the others open. The
//! second term, with a small κ, keeps all m of them determined (compound criteria: A. C. Atkinson, A. N. Donev, R. D.
//! Tobias, Optimum Experimental Designs, with SAS, 2007, chapter 21, from memory). B_s is a vague start that keeps M regular.
//!
//! Exchange: each x in turn is taken out and put where it makes Φ least (V. V. Fedorov, Theory of Optimal Experiments,
//! 1972, from memory), first among the candidates of a grid, then by a search between its neighbours.

use super::cancel;
use super::linear_algebra::information::{Covariance, Information, dot};

/// Passes over all observations after which an exchange ends in any case.
const MOST_PASSES: usize = 40;
/// Fall of Φ below which nothing is gained.
const GAIN: f64 = 1e-7;
/// Steps of a golden-section search; each narrows the bracket to 0.618 of it.
const SECTIONS: usize = 14;

/// A model, or values of the parameters, that the experiment may meet.
#[derive(Clone, Debug)]
pub struct Scene<const N: usize> {
    /// B, which keeps M regular.
    pub base: Information<N>,
    /// The combination that should be known.
    pub c: [f64; N],
}

/// What a design is made for.
#[derive(Clone, Debug)]
pub struct Task<const N: usize> {
    /// The scenes; at least one.
    pub scenes: Vec<Scene<N>>,
    /// κ/m.
    pub determined: f64,
}

/// One observation: its row of every scene.
pub type Rows<const N: usize> = Vec<[f64; N]>;

impl<const N: usize> Task<N> {
    /// Φ of a design; `None` where a scene leaves M singular.
    pub fn criterion(&self, design: &[Rows<N>]) -> Option<f64> {
        let mut sum = 0.0;
        for (information, scene) in self.informations(design).iter().zip(&self.scenes) {
            let variance = information.inverse()?.variance(&scene.c);
            sum += variance.ln() - self.determined * information.ln_determinant()?;
        }
        sum.is_finite().then_some(sum / self.scenes.len() as f64)
    }

    fn informations(&self, design: &[Rows<N>]) -> Vec<Information<N>> {
        let mut all: Vec<Information<N>> = self.scenes.iter().map(|s| s.base).collect();
        design.iter().for_each(|rows| all.iter_mut().zip(rows).for_each(|(m, g)| m.add(g, 1.0)));
        all
    }

    /// C of every scene; `None` where M is singular.
    fn covariances(&self, informations: &[Information<N>]) -> Option<Vec<Covariance<N>>> {
        informations.iter().map(Information::inverse).collect()
    }

    /// What Φ falls by when an observation is added, as a function of its rows.
    fn gain_of(&self, covariances: &[Covariance<N>]) -> impl Fn(&Rows<N>) -> f64 {
        let part = |(covariance, scene): (&Covariance<N>, &Scene<N>)| {
            let times = covariance.times(&scene.c);
            (*covariance, scene.c, times, dot(&scene.c, &times))
        };
        let parts: Vec<_> = covariances.iter().zip(&self.scenes).map(part).collect();
        let (determined, scenes) = (self.determined, parts.len() as f64);
        move |rows: &Rows<N>| {
            let mut sum = 0.0;
            for ((covariance, c, times, variance), g) in parts.iter().zip(rows) {
                let growth = 1.0 + covariance.variance(g);
                let left = covariance.variance_with(c, times, g) / variance;
                sum += determined * growth.ln() - left.max(f64::MIN_POSITIVE).ln();
            }
            sum / scenes
        }
    }

    /// One candidate after the other, each the best beside those before.
    pub fn greedy(&self, candidates: &[Rows<N>], count: usize) -> Vec<usize> {
        let Some(mut covariances) = self.covariances(&self.informations(&[])) else { return Vec::new() };
        let mut chosen = Vec::with_capacity(count);
        for _ in 0..count {
            let Some((best, _)) = best_of(candidates, self.gain_of(&covariances)) else { break };
            covariances.iter_mut().zip(&candidates[best]).for_each(|(c, g)| c.observe(g));
            chosen.push(best);
            if cancel::requested() {
                break;
            }
        }
        chosen
    }

    /// Exchanges the entries of a design, numbers of candidates, until none gains; Φ, or `None` where M is singular.
    pub fn exchange(&self, candidates: &[Rows<N>], chosen: &mut [usize]) -> Option<f64> {
        let mut design: Vec<Rows<N>> = chosen.iter().map(|&k| candidates[k].clone()).collect();
        for _ in 0..MOST_PASSES {
            let mut gained = 0.0;
            let mut informations = self.informations(&design);
            for place in 0..chosen.len() {
                if cancel::requested() {
                    return None;
                }
                take_out(&mut informations, &design[place]);
                if let Some(covariances) = self.covariances(&informations) {
                    let gain = self.gain_of(&covariances);
                    let now = gain(&design[place]);
                    if let Some((best, most)) = best_of(candidates, &gain)
                        && most - now > GAIN
                    {
                        gained += most - now;
                        chosen[place] = best;
                        design[place].clone_from(&candidates[best]);
                    }
                }
                put_in(&mut informations, &design[place]);
            }
            if gained == 0.0 {
                break;
            }
        }
        self.criterion(&design)
    }

    /// Moves every x of a design by a golden-section search between `reach(x)`, until none gains; `rows` are those of an
    /// x, `None` where it is not allowed. Φ, or `None` where M is singular.
    pub fn polish(
        &self,
        x: &mut [f64],
        rows: impl Fn(f64) -> Option<Rows<N>>,
        reach: impl Fn(f64) -> (f64, f64),
    ) -> Option<f64> {
        let mut design: Vec<Rows<N>> = x.iter().map(|x| rows(*x)).collect::<Option<_>>()?;
        for _ in 0..MOST_PASSES {
            let mut gained = 0.0;
            let mut informations = self.informations(&design);
            for place in 0..x.len() {
                if cancel::requested() {
                    return None;
                }
                take_out(&mut informations, &design[place]);
                if let Some(covariances) = self.covariances(&informations) {
                    let gain = self.gain_of(&covariances);
                    let value = |x: f64| rows(x).map_or(f64::NEG_INFINITY, |rows| gain(&rows));
                    let now = gain(&design[place]);
                    let (best, most) = highest(value, reach(x[place]));
                    if most - now > GAIN {
                        gained += most - now;
                        x[place] = best;
                        design[place] = rows(best)?;
                    }
                }
                put_in(&mut informations, &design[place]);
            }
            if gained < 10.0 * GAIN {
                break;
            }
        }
        self.criterion(&design)
    }
}

fn take_out<const N: usize>(informations: &mut [Information<N>], rows: &Rows<N>) {
    informations.iter_mut().zip(rows).for_each(|(m, g)| m.add(g, -1.0));
}

fn put_in<const N: usize>(informations: &mut [Information<N>], rows: &Rows<N>) {
    informations.iter_mut().zip(rows).for_each(|(m, g)| m.add(g, 1.0));
}

/// Number of the candidate that gains most, and its gain.
fn best_of<const N: usize>(candidates: &[Rows<N>], gain: impl Fn(&Rows<N>) -> f64) -> Option<(usize, f64)> {
    let mut best = None;
    for (k, rows) in candidates.iter().enumerate() {
        let g = gain(rows);
        if best.is_none_or(|(_, most)| g > most) {
            best = Some((k, g));
        }
    }
    best
}

/// The highest value of `f` between two ends by golden section, or at one of them.
fn highest(f: impl Fn(f64) -> f64, (low, high): (f64, f64)) -> (f64, f64) {
    let share = 0.5 * (5f64.sqrt() - 1.0);
    let (mut a, mut b) = (low, high);
    let (mut left, mut right) = (b - share * (b - a), a + share * (b - a));
    let (mut at_left, mut at_right) = (f(left), f(right));
    for _ in 0..SECTIONS {
        if at_left > at_right {
            (b, right, at_right) = (right, left, at_left);
            left = b - share * (b - a);
            at_left = f(left);
        } else {
            (a, left, at_left) = (left, right, at_right);
            right = a + share * (b - a);
            at_right = f(right);
        }
    }
    let tried = [(left, at_left), (right, at_right), (low, f(low)), (high, f(high))];
    tried.into_iter().fold((low, f64::NEG_INFINITY), |best, one| if one.1 > best.1 { one } else { best })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn base<const N: usize>(size: f64) -> Information<N> {
        let mut base = Information::none();
        (0..N).for_each(|k| base.add_to(k, size));
        base
    }

    fn task<const N: usize>(c: [f64; N]) -> Task<N> {
        Task { scenes: vec![Scene { base: base(1e-7), c }], determined: 0.0 }
    }

    fn best_design<const N: usize>(
        task: &Task<N>,
        row: impl Fn(f64) -> [f64; N],
        ends: (f64, f64),
        n: usize,
    ) -> Vec<f64> {
        let grid: Vec<f64> = (0..=200).map(|k| ends.0 + (ends.1 - ends.0) * f64::from(k) / 200.0).collect();
        let candidates: Vec<Rows<N>> = grid.iter().map(|x| vec![row(*x)]).collect();
        let even: Vec<usize> = (0..n).map(|k| k * 200 / (n - 1)).collect();
        let starts = [task.greedy(&candidates, n), even];
        let found = starts.into_iter().filter_map(|mut start| {
            let value = task.exchange(&candidates, &mut start)?;
            Some((value, start))
        });
        let (_, chosen) = found.min_by(|a, b| a.0.total_cmp(&b.0)).unwrap();
        let mut x: Vec<f64> = chosen.iter().map(|k| grid[*k]).collect();
        let step = (ends.1 - ends.0) / 200.0;
        task.polish(&mut x, |x| Some(vec![row(x)]), |x| ((x - step).max(ends.0), (x + step).min(ends.1)))
            .unwrap();
        x.sort_by(f64::total_cmp);
        x
    }

    /// A straight line on [−1, 1] carried on to x = 2: Elfving's theorem puts the shares (2 + 1)/(2·2) = 3/4 at 1 and 1/4 at −1,
    /// with the variance 2²/n (G. Elfving, Ann. Math. Stat. 23 (1952) 255; P. G. Hoel, A. Levine, ibid. 35 (1964) 1553).
    #[test]
    fn a_line_carried_on_is_measured_at_its_ends() {
        let task = task([1.0, 2.0]);
        let x = best_design(&task, |x| [1.0, x], (-1.0, 1.0), 12);
        assert_eq!(x.iter().filter(|x| **x > 0.999_999).count(), 9, "{x:?}");
        assert_eq!(x.iter().filter(|x| **x < -0.999_999).count(), 3, "{x:?}");
        let rows: Vec<Rows<2>> = x.iter().map(|x| vec![[1.0, *x]]).collect();
        assert_relative_eq!(task.criterion(&rows).unwrap().exp(), 4.0 / 12.0, max_relative = 1e-5);
    }

    /// A parabola on [−1, 1] carried on to x = 2: the points of Chebyshev's polynomial −1, 0, 1 with the shares of Lagrange's
    /// coefficients |1|, |−3|, |3| out of 7, and the variance 7²/n (P. G. Hoel, A. Levine 1964).
    #[test]
    fn a_parabola_carried_on_is_measured_at_the_points_of_chebyshev() {
        let task = task([1.0, 2.0, 4.0]);
        let x = best_design(&task, |x| [1.0, x, x * x], (-1.0, 1.0), 14);
        let count = |at: f64| x.iter().filter(|x| (**x - at).abs() < 2e-3).count();
        assert_eq!([count(-1.0), count(0.0), count(1.0)], [2, 6, 6], "{x:?}");
        let rows: Vec<Rows<3>> = x.iter().map(|x| vec![[1.0, *x, x * x]]).collect();
        assert_relative_eq!(task.criterion(&rows).unwrap().exp(), 49.0 / 14.0, max_relative = 1e-4);
    }

    /// v = V·s/(K + s) on [0, 5·K] for K: the points and shares at which Elfving's set is touched, found here from its
    /// definition on a grid of 200,000.
    #[test]
    fn the_half_saturation_of_a_hyperbola_is_measured_where_elfvings_set_is_touched() {
        let (v, k, top) = (1.0, 1.0, 5.0);
        let row = |s: f64| [s / (k + s), -v * s / ((k + s) * (k + s))];
        // c = (0, 1) = ρ·Σ ± w·row: with two points s < top, w(s)·row(s)₀ = w(top)·row(top)₀, and ρ least.
        let last = row(top);
        let rho = |s: f64| {
            let g = row(s);
            (g[0] + last[0]) / (g[1] * last[0] - last[1] * g[0]).abs()
        };
        let (s, least) =
            (1..=200_000).map(|k| 5.0 * f64::from(k) / 200_001.0).fold((0.0, f64::INFINITY), |best, s| {
                let r = rho(s);
                if r < best.1 { (s, r) } else { best }
            });
        let share = last[0] / (last[0] + row(s)[0]);
        let n = 200;
        let x = best_design(&task([0.0, 1.0]), row, (0.0, top), n);
        let low: Vec<f64> = x.iter().copied().filter(|x| *x < 3.0).collect();
        assert_relative_eq!(low.iter().sum::<f64>() / low.len() as f64, s, max_relative = 5e-3);
        assert!((low.len() as f64 / n as f64 - share).abs() < 0.006, "{} {share}", low.len());
        let rows: Vec<Rows<2>> = x.iter().map(|x| vec![row(*x)]).collect();
        let variance = task([0.0, 1.0]).criterion(&rows).unwrap().exp();
        assert_relative_eq!(variance * n as f64, least * least, max_relative = 1e-3);
    }

    /// With the second term all coordinates are determined, at a small cost of the first.
    #[test]
    fn the_second_term_determines_the_other_coordinates() {
        // A parabola at x = 0 is measured there alone.
        let row = |x: f64| [1.0, x, x * x];
        let alone = best_design(&task([1.0, 0.0, 0.0]), row, (-1.0, 1.0), 20);
        assert!(alone.iter().filter(|x| x.abs() < 0.01).count() >= 18, "{alone:?}");
        let mut compound = task([1.0, 0.0, 0.0]);
        compound.determined = 0.2 / 3.0;
        let x = best_design(&compound, row, (-1.0, 1.0), 20);
        assert!(x[0] < -0.999 && x[19] > 0.999, "{x:?}");
        let rows: Vec<Rows<3>> = x.iter().map(|x| vec![row(*x)]).collect();
        let variance = task([1.0, 0.0, 0.0]).criterion(&rows).unwrap().exp();
        assert!(variance < 1.2 / 20.0, "{variance}");
    }
}
