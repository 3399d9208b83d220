//! A circuit made ready for either direction, and its answer in one lane.
//!
//! ```text
//! I(V): α = 1 + Rs·g, ρ = Rs, s = V + Rs·Iph          V(I): α = g, ρ = 1, s = Iph − I
//! ```

use super::equation::{Equation, LaneRoot};

/// Parameters of one lane.
#[derive(Clone, Copy, Debug)]
pub struct Parts<const K: usize> {
    pub iph: f64,
    pub i0: [f64; K],
    pub a: [f64; K],
    pub rs: f64,
    pub g: f64,
}

/// What one lane computes from its number.
pub trait Direction<const K: usize>: Copy {
    /// Whether most starts need a logarithm.
    const OFTEN_LARGE: bool;

    fn new(parts: Parts<K>) -> Self;

    fn equation(&self) -> &Equation<K>;

    /// The right side at the voltage or current `x`.
    fn right_side(&self, x: f64) -> f64;

    /// The current or voltage at `x` from the root.
    fn answer(&self, x: f64, root: &LaneRoot<K>) -> f64;

    /// The answer, NaN where it cannot be believed.
    #[inline(always)]
    fn lane<const LARGE: bool>(&self, x: f64) -> f64 {
        let root = self.equation().root::<LARGE>(self.right_side(x));
        let answer = self.answer(x, &root);
        if root.good { answer } else { f64::NAN }
    }

    /// The answer with as many steps as it takes, NaN where it cannot be believed.
    #[inline(always)]
    fn settled(&self, x: f64) -> f64 {
        let root = self.equation().settled(self.right_side(x));
        if root.good { self.answer(x, &root) } else { f64::NAN }
    }
}

/// I(V).
#[derive(Clone, Copy, Debug)]
pub struct Current<const K: usize> {
    equation: Equation<K>,
    parts: Parts<K>,
    by_rs: f64,
    /// 2·a₁: a slope above says that Rs rules, and the current is better had from its drop.
    steep: f64,
}

impl<const K: usize> Direction<K> for Current<K> {
    const OFTEN_LARGE: bool = false;

    #[inline(always)]
    fn new(parts: Parts<K>) -> Self {
        let equation = Equation::new(parts.rs.mul_add(parts.g, 1.0), parts.rs, &parts.i0, &parts.a);
        Self { equation, parts, by_rs: 1.0 / parts.rs, steep: 2.0 * parts.a[0] }
    }

    #[inline(always)]
    fn equation(&self) -> &Equation<K> {
        &self.equation
    }

    #[inline(always)]
    fn right_side(&self, v: f64) -> f64 {
        self.parts.rs.mul_add(self.parts.iph, v)
    }

    /// From J(u) or from the series drop, whichever is the better conditioned: −Rs·J′ ≤ 1 or above.
    #[inline(always)]
    fn answer(&self, v: f64, root: &LaneRoot<K>) -> f64 {
        let mut j = self.parts.iph;
        for d in 0..K {
            j = self.parts.i0[d].mul_add(-root.minus_one(d), j);
        }
        let j = self.parts.g.mul_add(-root.u, j);
        let from_drop = (root.u - v) * self.by_rs;
        if root.slope > self.steep { from_drop } else { j }
    }
}

/// V(I).
#[derive(Clone, Copy, Debug)]
pub struct Voltage<const K: usize> {
    equation: Equation<K>,
    iph: f64,
    rs: f64,
}

impl<const K: usize> Direction<K> for Voltage<K> {
    /// y grows as 1/g.
    const OFTEN_LARGE: bool = true;

    #[inline(always)]
    fn new(parts: Parts<K>) -> Self {
        let equation = Equation::new(parts.g, 1.0, &parts.i0, &parts.a);
        Self { equation, iph: parts.iph, rs: parts.rs }
    }

    #[inline(always)]
    fn equation(&self) -> &Equation<K> {
        &self.equation
    }

    #[inline(always)]
    fn right_side(&self, i: f64) -> f64 {
        self.iph - i
    }

    #[inline(always)]
    fn answer(&self, i: f64, root: &LaneRoot<K>) -> f64 {
        self.rs.mul_add(-i, root.u)
    }
}
