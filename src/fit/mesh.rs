//! Meshes over (Rs, ln a) around a knot, for a start.
//!
//! The linear coefficients are at their best everywhere, so that the bent valley of Rs, a and I0 has no length here.
//! Around the best knot so far stand its neighbours, and the way to the minimum of the parabola through them:
//!
//! ```text
//! p = −H⁻¹·∇,   ∇j = ½·(c₊ − c₋),   Hjj = c₊ − 2c + c₋,   Hjk = ¼·(c₊₊ − c₊₋ − c₋₊ + c₋₋)
//! ```

use super::reduced::{Knot, Reduced, Work};
use super::solver::Bounds;
use crate::qr::solve_upper;

/// Rounds of one refinement.
const MOST_ROUNDS: usize = 40;
/// Shares of the way to the parabola's minimum that are tried; with the neighbours they fill the vector loops.
const SHARES: [f64; 6] = [0.25, 0.5, 0.75, 1.0, 1.5, 2.5];
/// Mesh steps that the way is shortened to.
const FARTHEST: f64 = 8.0;
/// Coordinates at most, and neighbours with the centre.
const MOST: usize = 3;
const STENCIL: usize = 27;

/// A cost and its knot.
pub(super) type Ranked<const K: usize> = (f64, Knot<K>);

/// Refines knots.
pub(super) struct Mesh<'a, const K: usize> {
    reduced: &'a Reduced<'a>,
    pub work: Work<K>,
    bounds: &'a Bounds,
    around: Vec<Knot<K>>,
}

impl<'a, const K: usize> Mesh<'a, K> {
    pub fn new(reduced: &'a Reduced<'a>, work: Work<K>, bounds: &'a Bounds) -> Self {
        Self { reduced, work, bounds, around: Vec::with_capacity(STENCIL + SHARES.len()) }
    }

    /// The lowest point near a knot that halving meshes find, from steps (of Rs, of ln a) down to `finest` of ln a.
    pub fn refine(
        &mut self,
        mut best: Ranked<K>,
        (mut step_rs, mut step_a): (f64, f64),
        finest: f64,
    ) -> Ranked<K> {
        let mut way: Option<(Knot<K>, [f64; MOST])> = None;
        for _ in 0..MOST_ROUNDS {
            let (cost, centre) = best;
            let step = |j: usize| if j == 0 { step_rs } else { step_a };
            self.around.clear();
            for index in 0..3usize.pow(K as u32 + 1) {
                let there = self.moved(&centre, |j| digit(index, j) * step(j));
                self.around.push(there.unwrap_or(centre));
            }
            let stencil = self.around.len();
            if let Some((from, p)) = way {
                let there = |share: &f64| self.moved(&from, |j| share * p[j]);
                let onward: Vec<_> = SHARES.iter().filter_map(there).collect();
                self.around.extend(onward);
            }
            let costs = self.reduced.costs(&self.around, &mut self.work);
            for (cost, knot) in costs.iter().zip(&self.around) {
                if *cost < best.0 {
                    best = (*cost, *knot);
                }
            }
            way = parabola::<K>(&costs[..stencil], cost)
                .map(|p| (centre, std::array::from_fn(|j| p[j] * step(j))));
            if best.1 == centre {
                step_a *= 0.5;
                step_rs *= 0.5;
            }
            if step_a < finest {
                break;
            }
        }
        best
    }

    /// `centre` moved within the bounds; `None` where that is no other knot.
    fn moved(&self, centre: &Knot<K>, by: impl Fn(usize) -> f64) -> Option<Knot<K>> {
        let (low, high) = (&self.bounds.low, &self.bounds.high);
        let within = |p: usize, x: f64| x.clamp(low[p], high[p]);
        let rs = within(2 * K + 1, centre.rs + by(0));
        let ln_a = std::array::from_fn(|k| within(2 + 2 * k, centre.ln_a[k] + by(1 + k)));
        let there = Knot { rs, ln_a };
        (there != *centre && ln_a.windows(2).all(|w| w[0] <= w[1])).then_some(there)
    }
}

/// −1, 0 or 1: the step of coordinate j to neighbour `index`.
fn digit(index: usize, j: usize) -> f64 {
    (index / 3usize.pow(j as u32) % 3) as f64 - 1.0
}

/// The way to the minimum of the parabola through the costs of the neighbours, in mesh steps, shortened to
/// [`FARTHEST`]; `None` where it has no minimum.
fn parabola<const K: usize>(costs: &[f64], at_centre: f64) -> Option<[f64; MOST]> {
    let n = K + 1;
    let middle = costs.len() / 2;
    let of = |j: usize| 3usize.pow(j as u32);
    let mut h = [0.0; MOST * MOST];
    let mut right = [0.0; MOST];
    for j in 0..n {
        let (up, down) = (costs[middle + of(j)], costs[middle - of(j)]);
        right[j] = 0.5 * (down - up);
        h[j * n + j] = up - 2.0 * at_centre + down;
        for k in 0..j {
            let at = |a: f64, b: f64| costs[(middle as f64 + a * of(j) as f64 + b * of(k) as f64) as usize];
            let mixed = 0.25 * (at(1.0, 1.0) - at(1.0, -1.0) - at(-1.0, 1.0) + at(-1.0, -1.0));
            (h[j * n + k], h[k * n + j]) = (mixed, mixed);
        }
    }
    let p = minimum(&mut h[..n * n], &mut right[..n])?;
    let longest = p.iter().fold(0.0f64, |m, x| m.max(x.abs()));
    let factor = (FARTHEST / longest).min(1.0);
    let mut way = [0.0; MOST];
    way.iter_mut().zip(p).for_each(|(w, p)| *w = factor * p);
    way.iter().all(|x| x.is_finite()).then_some(way)
}

/// H⁻¹·b in place of `right` for a positive definite H, whose determinants of all leading parts are positive.
fn minimum<'r>(pivots: &mut [f64], right: &'r mut [f64]) -> Option<&'r [f64]> {
    let n = right.len();
    for j in 0..n {
        if pivots[j * n + j].is_nan() || pivots[j * n + j] <= 0.0 {
            return None;
        }
        for i in j + 1..n {
            let factor = pivots[i * n + j] / pivots[j * n + j];
            (j..n).for_each(|k| pivots[i * n + k] -= factor * pivots[j * n + k]);
            right[i] -= factor * right[j];
        }
    }
    solve_upper(pivots, n, right).then_some(&*right)
}
