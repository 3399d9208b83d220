//! The point of maximum power in one lane.
//!
//! ```text
//! h(u) = J + J′·w = 0,   w = u − 2Rs·J          P = J·(u − Rs·J)
//! start: e^x·(1 + w/a) = 1,  x = (u − Voc)/a,  J ≈ Iph in w:   u = Voc − a·ln ω(1 + (Voc − 2Rs·Iph)/a)
//! ```
//!
//! with a = Σ(E/a)/Σ(E/a²) at Voc, E = I0·e^(u/a). Halley's method on h, whose root between short and open circuit is
//! unique: a short last step to a point where J > 0, V > 0 and h falls has found it. Where the series drop rules
//! (−Rs·J′ > 1) the careful way in the current answers.

use super::direction::Parts;
use super::equation::LARGEST;
use super::omega::{HALF, MIDDLE, log_large, small};
use crate::numerics::special::exp_ln::{exp_coarse, exp_pair, exp_rough};

/// A last step of this many thermal voltages leaves an error of its third power, below rounding.
const LAST: f64 = 2e-6;
/// Steps of a lane that has not settled with the first ones.
const MOST_STEPS: usize = 12;

/// Junction voltage, voltage and current of the maximum; whether they can be believed.
#[derive(Clone, Copy, Debug)]
pub struct LaneMaximum {
    pub u: f64,
    pub v: f64,
    pub i: f64,
    pub good: bool,
}

/// How exponentials are had.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Digits {
    Coarse,
    Rough,
    All,
}

/// A circuit made ready for its maximum.
#[derive(Clone, Copy)]
pub struct Hill<const K: usize> {
    parts: Parts<K>,
    by_a: [f64; K],
    least_a: f64,
}

impl<const K: usize> Hill<K> {
    #[inline(always)]
    pub fn new(parts: Parts<K>) -> Self {
        let (mut by_a, mut least_a) = ([0.0; K], parts.a[0]);
        for d in 0..K {
            by_a[d] = 1.0 / parts.a[d];
            least_a = if parts.a[d] < least_a { parts.a[d] } else { least_a };
        }
        Self { parts, by_a, least_a }
    }

    /// The maximum of a device whose open-circuit voltage is `voc`.
    #[inline(always)]
    pub fn maximum(&self, voc: f64) -> LaneMaximum {
        let u = self.start(voc);
        let u = u + self.step(u, Digits::Coarse).0;
        let u = u + self.step(u, Digits::Rough).0;
        self.last(u)
    }

    /// [`Self::maximum`] with more steps where the first have not settled.
    #[inline(always)]
    pub fn settled(&self, voc: f64) -> LaneMaximum {
        let mut found = self.maximum(voc);
        for _ in 0..MOST_STEPS {
            if found.good || !found.u.is_finite() {
                break;
            }
            found = self.last(found.u);
        }
        found
    }

    #[inline(always)]
    fn start(&self, voc: f64) -> f64 {
        let mut a = self.parts.a[0];
        if K > 1 {
            let (mut first, mut second) = (0.0, 0.0);
            for d in 0..K {
                let x = voc * self.by_a[d];
                let e = self.parts.i0[d] * exp_coarse(if x < LARGEST { x } else { LARGEST }) * self.by_a[d];
                first += e;
                second += e * self.by_a[d];
            }
            a = first / second;
        }
        let y = 1.0 + (-2.0 * self.parts.rs).mul_add(self.parts.iph, voc) / a;
        let low = y - small(y - MIDDLE);
        let high = log_large(y);
        (-a).mul_add(if y - MIDDLE > HALF { high } else { low }, voc)
    }

    /// Halley's step, and J, −J′, e^x − 1 and e^x.
    #[inline(always)]
    fn step(&self, u: f64, digits: Digits) -> (f64, f64, f64, [f64; K], [f64; K]) {
        let p = &self.parts;
        let (mut j, mut s1, mut s2, mut s3) = (p.g.mul_add(-u, p.iph), p.g, 0.0, 0.0);
        let (mut minus_one, mut whole) = ([0.0; K], [0.0; K]);
        for d in 0..K {
            let x = u * self.by_a[d];
            let x = if x > -LARGEST { x } else { -LARGEST };
            (minus_one[d], whole[d]) = match digits {
                Digits::Coarse => (0.0, exp_coarse(x)),
                Digits::Rough => (0.0, exp_rough(x)),
                Digits::All => exp_pair(x),
            };
            if digits != Digits::All {
                minus_one[d] = whole[d] - 1.0;
            }
            j = p.i0[d].mul_add(-minus_one[d], j);
            let by_u = p.i0[d] * whole[d] * self.by_a[d];
            s1 += by_u;
            let by_u = by_u * self.by_a[d];
            s2 += by_u;
            s3 = by_u.mul_add(self.by_a[d], s3);
        }
        let twice = 2.0 * p.rs;
        let (w, w1, w2) = (twice.mul_add(-j, u), twice.mul_add(s1, 1.0), twice * s2);
        let h = s1.mul_add(-w, j);
        let h1 = -(s1 + s2.mul_add(w, s1 * w1));
        let h2 = -(s2 + s3.mul_add(w, 2.0 * s2 * w1) + s1 * w2);
        let step = -2.0 * h * h1 / (2.0 * h1).mul_add(h1, -(h * h2));
        (step, j, s1, minus_one, whole)
    }

    #[inline(always)]
    fn last(&self, u: f64) -> LaneMaximum {
        let p = &self.parts;
        let (step, _, slope, minus_one, whole) = self.step(u, Digits::All);
        let end = u + step;
        let mut i = p.iph;
        for d in 0..K {
            let x = step * self.by_a[d];
            i = p.i0[d].mul_add(-whole[d].mul_add(x.mul_add(0.5 * x, x), minus_one[d]), i);
        }
        let i = p.g.mul_add(-end, i);
        let v = p.rs.mul_add(-i, end);
        // The root of P′ between short and open circuit: both figures positive. Next to it P″ < 0.
        let good = (step.abs() <= LAST * self.least_a)
            & (step.abs() <= 1e-3 * end.abs())
            & (end < LARGEST * self.least_a)
            & (i > 0.0)
            & (v > 0.0)
            & (p.rs * slope <= 1.0);
        LaneMaximum { u: end, v, i, good }
    }
}
