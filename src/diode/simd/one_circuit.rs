//! One circuit at many voltages or currents.
//!
//! Points go through in blocks. Where no lane of a block needs the logarithm of its start, none is computed; a lane
//! that has not settled takes more steps: by itself where answers are asked for, with its block, whose settled lanes keep what
//! they have, where states are. Neither changes a bit of any other lane.

use super::direction::{Direction, Parts};
use super::equation::{LaneRoot, MOST_STEPS};
use super::omega::HALF;
use crate::diode::junction_voltages::Roots;
use multiversion::multiversion;

/// Points of a block: a whole number of vectors.
pub const BLOCK: usize = 64;

/// The answers at `x`, NaN where the careful solver must answer.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
pub fn answers<const K: usize, D: Direction<K>>(parts: &Parts<K>, x: &[f64], out: &mut [f64]) {
    answers_body::<K, D>(parts, x, out);
}

#[inline(always)]
pub fn answers_body<const K: usize, D: Direction<K>>(parts: &Parts<K>, x: &[f64], out: &mut [f64]) {
    let cell = D::new(*parts);
    let (whole, rest) = x.as_chunks::<BLOCK>();
    let (out_whole, out_rest) = out.as_chunks_mut::<BLOCK>();
    for (x, out) in whole.iter().zip(out_whole) {
        block(&cell, x, out);
    }
    if rest.is_empty() {
        return;
    }
    let (lanes, last) = (lanes(rest.len()), rest.len() - 1);
    let padded: [f64; BLOCK] = std::array::from_fn(|k| rest[k.min(last)]);
    let mut made = [0.0; BLOCK];
    block(&cell, &padded[..lanes], &mut made[..lanes]);
    out_rest.copy_from_slice(&made[..rest.len()]);
}

/// Lanes for that many points: whole vectors, but for a few points only those.
pub fn lanes(points: usize) -> usize {
    if points <= 2 { points } else { points.next_multiple_of(8).min(BLOCK) }
}

#[inline(always)]
fn block<const K: usize, D: Direction<K>>(cell: &D, x: &[f64], out: &mut [f64]) {
    let mut most = f64::NEG_INFINITY;
    for &x in x {
        let z = cell.equation().position(cell.right_side(x));
        most = if z > most { z } else { most };
    }
    let mut open = 0u64;
    if most > HALF {
        for (out, &x) in out.iter_mut().zip(x) {
            *out = cell.lane::<true>(x);
            open |= u64::from(out.is_nan());
        }
    } else {
        for (out, &x) in out.iter_mut().zip(x) {
            *out = cell.lane::<false>(x);
            open |= u64::from(out.is_nan());
        }
    }
    if open == 0 {
        return;
    }
    for (out, &x) in out.iter_mut().zip(x) {
        if out.is_nan() {
            *out = cell.settled(x);
        }
    }
}

/// The states at `x`; u is NaN where the careful solver must answer.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
pub fn roots<const K: usize, D: Direction<K>>(parts: &Parts<K>, x: &[f64], roots: &mut Roots<K>) {
    let cell = D::new(*parts);
    let lanes = x.len().min(roots.u.len());
    let (mut s, mut t) = ([0.0; BLOCK], [0.0; BLOCK]);
    let mut open = 0usize;
    for k in 0..lanes {
        s[k] = cell.right_side(x[k]);
        let root = cell.equation().root::<true>(s[k]);
        t[k] = root.t;
        open += usize::from(!root.good);
        put(roots, k, parts, &root, true);
    }
    roots.hard += open;
    for _ in 0..MOST_STEPS {
        if open == 0 || !cell.equation().usable {
            return;
        }
        open = 0;
        for k in 0..lanes {
            let root = cell.equation().step(t[k], s[k]);
            let moving = roots.u[k].is_nan();
            t[k] = root.t;
            open += usize::from(moving & !root.good);
            put(roots, k, parts, &root, moving);
        }
    }
}

/// Writes a state where it is asked for; u is NaN where it has not settled.
#[inline(always)]
fn put<const K: usize>(roots: &mut Roots<K>, k: usize, parts: &Parts<K>, root: &LaneRoot<K>, wanted: bool) {
    let u = if root.good { root.u } else { f64::NAN };
    roots.u[k] = if wanted { u } else { roots.u[k] };
    for d in 0..K {
        let (diode_a, whole_a) = (parts.i0[d] * root.minus_one(d), parts.i0[d] * root.whole(d));
        roots.diode_a[d][k] = if wanted { diode_a } else { roots.diode_a[d][k] };
        roots.whole_a[d][k] = if wanted { whole_a } else { roots.whole_a[d][k] };
    }
}
