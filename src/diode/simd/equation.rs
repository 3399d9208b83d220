//! One equation for both directions, its start and its step, without a branch.
//!
//! ```text
//! f(t) = α·a₁·t + ρ·Σ I0k·(e^(tk) − 1) − s = 0,   tk = u/ak,  t = t₁
//! δ = p − θ₂/2·p² + (θ₂²/2 − θ₃/6)·p³ − (5/8·θ₂³ − 5/12·θ₂θ₃ + θ₄/24)·p⁴,   p = −f/f′,  θn = f⁽ⁿ⁾/f′
//! ```
//!
//! δ is the series of the inverse function (Lagrange): after it an error e has become 0.2·θ·e⁵. All numbers of the
//! equation come from plain arithmetic too, so that each lane may have a circuit of its own.

use super::omega::{HALF, MIDDLE, log_large, small};
use super::series;
use crate::numerics::special::exp_ln::{exp_coarse, exp_pair, ln_short};

/// Exponents between which `exp_pair` holds with room to spare.
pub const LARGEST: f64 = 700.0;
/// A start bends at least this share of ρ·I0 per thermal voltage: without a shunt the line has no slope at all.
const LEAST_LINE: f64 = 1e-8;
/// Steps with coarse exponentials before the one with all digits, where the start is that of one diode among several.
const COARSE_STEPS: usize = 2;
/// What a step may leave, as a share of t: a quarter of the last bit.
const LEFT: f64 = 5.5e-17;
/// The exponentials follow a step by five terms of their series; up to here the sixth is below the last bit.
const LONGEST: f64 = 5e-3;
/// Steps of a lane that has not settled with the first.
pub const MOST_STEPS: usize = 12;

/// α·u + ρ·Σ I0·(e^(u/a) − 1) = s, with everything that does not depend on s.
#[derive(Clone, Copy, Debug)]
pub struct Equation<const K: usize> {
    alpha: f64,
    /// α·a₁.
    alpha_a: f64,
    /// ρ·ΣI0.
    all: f64,
    rho_i0: [f64; K],
    a: [f64; K],
    by_a: [f64; K],
    /// a₁/ak.
    ratio: [f64; K],
    /// 1/(α·a).
    by_line: [f64; K],
    /// ln(ρ·I0/(α·a)) from the middle of the start's polynomial.
    k: [f64; K],
    /// Largest p, and 1/θ₂p⁵ of the largest error that a step may leave.
    longest: f64,
    bound: f64,
    pub usable: bool,
}

/// A root, the exponentials of each diode just before the last step, and whether it can be believed.
#[derive(Clone, Copy, Debug)]
pub struct LaneRoot<const K: usize> {
    pub u: f64,
    /// The root in thermal voltages of the first diode.
    pub t: f64,
    /// f′ just before the last step, in V per thermal voltage.
    pub slope: f64,
    minus_one: [f64; K],
    whole: [f64; K],
    /// e^(step) − 1 of each diode.
    growth: [f64; K],
    pub good: bool,
}

impl<const K: usize> LaneRoot<K> {
    /// e^(u/a) − 1 of diode `d`.
    #[inline(always)]
    pub fn minus_one(&self, d: usize) -> f64 {
        self.whole[d].mul_add(self.growth[d], self.minus_one[d])
    }

    /// e^(u/a) of diode `d`.
    #[inline(always)]
    pub fn whole(&self, d: usize) -> f64 {
        self.whole[d].mul_add(self.growth[d], self.whole[d])
    }
}

impl<const K: usize> Equation<K> {
    #[inline(always)]
    pub fn new(alpha: f64, rho: f64, i0: &[f64; K], a: &[f64; K]) -> Self {
        let ordinary = |x: f64| (x > 1e-290) & (x < 1e290);
        let (mut usable, mut all, mut sharpest) = (true, 0.0, 1.0);
        let (mut rho_i0, mut by_line, mut k) = ([0.0; K], [0.0; K], [0.0; K]);
        let (mut by_a, mut ratio) = ([0.0; K], [1.0; K]);
        for d in 0..K {
            rho_i0[d] = rho * i0[d];
            all += rho_i0[d];
            let (line, least) = (alpha * a[d], LEAST_LINE * rho_i0[d]);
            by_line[d] = 1.0 / if line > least { line } else { least };
            let exponential = rho_i0[d] * by_line[d];
            k[d] = ln_short(exponential) - MIDDLE;
            usable &= ordinary(by_line[d]) & ((rho == 0.0) | ordinary(exponential) & ordinary(rho_i0[d]));
            by_a[d] = 1.0 / a[d];
            if d > 0 {
                ratio[d] = a[0] * by_a[d];
                sharpest = if ratio[d] > sharpest { ratio[d] } else { sharpest };
            }
        }
        let bound = if K == 1 { 0.2 / LEFT } else { 0.2 / LEFT * (sharpest * sharpest * sharpest) };
        let longest = if K == 1 { LONGEST } else { LONGEST / sharpest };
        let alpha_a = alpha * a[0];
        Self { alpha, alpha_a, all, rho_i0, a: *a, by_a, ratio, by_line, k, longest, bound, usable }
    }

    /// The largest y of a diode alone, from the middle of the start's polynomial.
    #[inline(always)]
    pub fn position(&self, s: f64) -> f64 {
        let c = s + self.all;
        let mut most = c.mul_add(self.by_line[0], self.k[0]);
        for d in 1..K {
            let z = c.mul_add(self.by_line[d], self.k[d]);
            most = if z > most { z } else { most };
        }
        most
    }

    /// The smallest root of a diode alone, in thermal voltages of the first; `LARGE` where y may exceed the polynomial.
    #[inline(always)]
    fn start<const LARGE: bool>(&self, s: f64) -> f64 {
        let c = s + self.all;
        let mut least = 0.0;
        for d in 0..K {
            let z = c.mul_add(self.by_line[d], self.k[d]);
            let line = c * self.by_line[d];
            let mut t = line - small(z);
            if LARGE {
                let y = z + MIDDLE;
                let log = log_large(y) - (self.k[d] + MIDDLE);
                t = if z > HALF { log } else { t };
            }
            let own = if d == 0 { t } else { (self.a[d] * t) * self.by_a[0] };
            least = if d == 0 || own < least { own } else { least };
        }
        least
    }

    /// One step with coarse exponentials.
    #[inline(always)]
    fn coarse(&self, t: f64, s: f64) -> f64 {
        let mut whole = [0.0; K];
        for d in 0..K {
            let x = t * self.ratio[d];
            whole[d] = exp_coarse(if x > -LARGEST { x } else { -LARGEST });
        }
        let value = self.alpha_a.mul_add(t, -s);
        let value = (0..K).fold(value, |value, d| self.rho_i0[d].mul_add(whole[d] - 1.0, value));
        t + self.correction(value, &whole).1
    }

    /// f′, δ, p and θ₂ from f and the exponentials.
    #[inline(always)]
    fn correction(&self, value: f64, whole: &[f64; K]) -> (f64, f64, f64, f64) {
        let mut slope = self.alpha_a;
        let mut bends = [0.0; 3];
        for d in 0..K {
            if d == 0 {
                let first = self.rho_i0[0] * whole[0];
                slope += first;
                bends = [first; 3];
            } else {
                let mut part = self.rho_i0[d] * whole[d] * self.ratio[d];
                slope += part;
                for bend in &mut bends {
                    part *= self.ratio[d];
                    *bend += part;
                }
            }
        }
        let q = 1.0 / slope;
        let p = -value * q;
        let theta = [bends[0] * q, bends[1] * q, bends[2] * q];
        (slope, series(p, theta), p, theta[0])
    }

    /// The step with all digits.
    #[inline(always)]
    pub fn step(&self, t: f64, s: f64) -> LaneRoot<K> {
        let u = self.a[0] * t;
        let mut value = self.alpha.mul_add(u, -s);
        let (mut minus_one, mut whole, mut good) = ([0.0; K], [0.0; K], true);
        for d in 0..K {
            let x = if d == 0 { t } else { u * self.by_a[d] };
            good &= x < LARGEST;
            (minus_one[d], whole[d]) = exp_pair(if x > -LARGEST { x } else { -LARGEST });
            value = self.rho_i0[d].mul_add(minus_one[d], value);
        }
        let (slope, delta, p, theta) = self.correction(value, &whole);
        let mut growth = [0.0; K];
        for d in 0..K {
            let x = if d == 0 { delta } else { delta * self.ratio[d] };
            let tail = x.mul_add(x.mul_add(x.mul_add(1.0 / 120.0, 1.0 / 24.0), 1.0 / 6.0), 0.5);
            growth[d] = (x * x).mul_add(tail, x);
        }
        let end = t + delta;
        let (size, far) = (p.abs(), end.abs());
        let left = (size * size) * (size * size) * (size * theta) * self.bound;
        good &= (left <= far) & (size < self.longest) & (size <= far);
        LaneRoot { u: self.a[0].mul_add(delta, u), t: end, slope, minus_one, whole, growth, good }
    }

    /// The root; `good` says whether it has settled, from a start that holds.
    #[inline(always)]
    pub fn root<const LARGE: bool>(&self, s: f64) -> LaneRoot<K> {
        let mut t = self.start::<LARGE>(s);
        if K > 1 {
            for _ in 0..COARSE_STEPS {
                t = self.coarse(t, s);
            }
        }
        let root = self.step(t, s);
        let in_range = LARGE | (self.position(s) <= HALF);
        LaneRoot { good: root.good & self.usable & in_range, ..root }
    }

    /// [`Self::root`] with more steps where the first has not settled.
    #[inline(always)]
    pub fn settled(&self, s: f64) -> LaneRoot<K> {
        let mut root = self.root::<true>(s);
        for _ in 0..MOST_STEPS {
            if root.good || !self.usable || !root.t.is_finite() {
                break;
            }
            root = self.step(root.t, s);
        }
        root
    }
}
