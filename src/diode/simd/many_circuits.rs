//! Many circuits, each at a voltage or current of its own, in blocks; and their key points.

use super::direction::{Current, Direction, Parts, Voltage};
use super::maximum_power::Hill;
use super::one_circuit::BLOCK;
use multiversion::multiversion;

/// Parameters of a block of circuits, one list a parameter.
pub struct Cells<const K: usize> {
    pub iph: [f64; BLOCK],
    pub i0: [[f64; BLOCK]; K],
    pub a: [[f64; BLOCK]; K],
    pub rs: [f64; BLOCK],
    pub g: [f64; BLOCK],
}

impl<const K: usize> Default for Cells<K> {
    fn default() -> Self {
        let ones = [1.0; BLOCK];
        Self { iph: ones, i0: [ones; K], a: [ones; K], rs: ones, g: ones }
    }
}

impl<const K: usize> Cells<K> {
    /// The circuit in lane `k`.
    #[inline(always)]
    pub fn parts(&self, k: usize) -> Parts<K> {
        let (mut i0, mut a) = ([0.0; K], [0.0; K]);
        for d in 0..K {
            (i0[d], a[d]) = (self.i0[d][k], self.a[d][k]);
        }
        Parts { iph: self.iph[k], i0, a, rs: self.rs[k], g: self.g[k] }
    }
}

/// Figures of a block of circuits; NaN where the careful solver must answer.
pub struct Figures {
    pub isc: [f64; BLOCK],
    pub voc: [f64; BLOCK],
    pub u: [f64; BLOCK],
    pub v_pmax: [f64; BLOCK],
    pub i_pmax: [f64; BLOCK],
}

impl Default for Figures {
    fn default() -> Self {
        let zeros = [0.0; BLOCK];
        Self { isc: zeros, voc: zeros, u: zeros, v_pmax: zeros, i_pmax: zeros }
    }
}

/// The answer of each circuit at its `x`, NaN where the careful solver must answer.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
pub fn answers<const K: usize, D: Direction<K>>(
    cells: &Cells<K>,
    x: &[f64; BLOCK],
    out: &mut [f64; BLOCK],
    lanes: usize,
) {
    answers_body::<K, D>(cells, x, out, lanes);
}

#[inline(always)]
pub fn answers_body<const K: usize, D: Direction<K>>(
    cells: &Cells<K>,
    x: &[f64; BLOCK],
    out: &mut [f64; BLOCK],
    lanes: usize,
) {
    let lanes = lanes.min(BLOCK);
    let mut open = 0u64;
    if !D::OFTEN_LARGE {
        for k in 0..lanes {
            out[k] = D::new(cells.parts(k)).lane::<false>(x[k]);
            open |= u64::from(out[k].is_nan());
        }
    }
    if D::OFTEN_LARGE || open != 0 {
        open = 0;
        for k in 0..lanes {
            out[k] = D::new(cells.parts(k)).lane::<true>(x[k]);
            open |= u64::from(out[k].is_nan());
        }
    }
    if open == 0 {
        return;
    }
    for k in 0..lanes {
        if out[k].is_nan() {
            out[k] = D::new(cells.parts(k)).settled(x[k]);
        }
    }
}

/// Isc, Voc and the maximum of each circuit under light.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
pub fn figures<const K: usize>(cells: &Cells<K>, found: &mut Figures, lanes: usize) {
    figures_body(cells, found, lanes);
}

#[inline(always)]
pub fn figures_body<const K: usize>(cells: &Cells<K>, found: &mut Figures, lanes: usize) {
    let lanes = lanes.min(BLOCK);
    let zeros = [0.0; BLOCK];
    answers_body::<K, Current<K>>(cells, &zeros, &mut found.isc, lanes);
    answers_body::<K, Voltage<K>>(cells, &zeros, &mut found.voc, lanes);
    maxima_body(cells, found, lanes);
}

/// The maximum of each circuit from its Voc.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
pub fn maxima<const K: usize>(cells: &Cells<K>, found: &mut Figures, lanes: usize) {
    maxima_body(cells, found, lanes.min(BLOCK));
}

#[inline(always)]
fn maxima_body<const K: usize>(cells: &Cells<K>, found: &mut Figures, lanes: usize) {
    let mut open = 0u64;
    for k in 0..lanes {
        let best = Hill::new(cells.parts(k)).maximum(found.voc[k]);
        found.u[k] = if best.good { best.u } else { f64::NAN };
        found.v_pmax[k] = if best.good { best.v } else { f64::NAN };
        found.i_pmax[k] = if best.good { best.i } else { f64::NAN };
        open |= u64::from(!best.good);
    }
    if open == 0 {
        return;
    }
    for k in 0..lanes {
        if found.u[k].is_nan() {
            let best = Hill::new(cells.parts(k)).settled(found.voc[k]);
            if best.good {
                (found.u[k], found.v_pmax[k], found.i_pmax[k]) = (best.u, best.v, best.i);
            }
        }
    }
}
