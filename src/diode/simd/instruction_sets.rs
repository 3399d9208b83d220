//! Test: the same bits on every instruction set. The bodies are compiled anew under each set and called on a million
//! random circuits and points.

use super::direction::{Current, Voltage};
use super::many_circuits::{Cells, Figures, answers_body, figures_body};
use super::one_circuit::{self, BLOCK};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardUniform};

/// Everything that a block of circuits answers, and the first of them at all points.
#[inline(always)]
fn everything<const K: usize>(cells: &Cells<K>, x: &[f64; BLOCK], out: &mut Vec<u64>) {
    let mut list = [[0.0; BLOCK]; 4];
    answers_body::<K, Current<K>>(cells, x, &mut list[0], BLOCK);
    answers_body::<K, Voltage<K>>(cells, x, &mut list[1], BLOCK);
    one_circuit::answers_body::<K, Current<K>>(&cells.parts(0), x, &mut list[2]);
    one_circuit::answers_body::<K, Voltage<K>>(&cells.parts(0), x, &mut list[3]);
    let mut found = Figures::default();
    figures_body(cells, &mut found, BLOCK);
    let all = list.iter().chain([&found.isc, &found.voc, &found.u, &found.v_pmax, &found.i_pmax]);
    // One bit pattern for all that is no number.
    out.extend(all.flatten().map(|x| if x.is_nan() { u64::MAX } else { x.to_bits() }));
}

fn plain<const K: usize>(cells: &Cells<K>, x: &[f64; BLOCK], out: &mut Vec<u64>) {
    everything(cells, x, out);
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2,fma")]
fn avx2<const K: usize>(cells: &Cells<K>, x: &[f64; BLOCK], out: &mut Vec<u64>) {
    everything(cells, x, out);
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx512f,avx512dq,avx512vl,avx512bw,fma")]
fn avx512<const K: usize>(cells: &Cells<K>, x: &[f64; BLOCK], out: &mut Vec<u64>) {
    everything(cells, x, out);
}

fn check<const K: usize>(blocks: usize, seed: u64) {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut unit = || -> f64 { StandardUniform.sample(&mut random) };
    for _ in 0..blocks {
        let mut cells = Cells::<K>::default();
        let mut x = [0.0; BLOCK];
        for k in 0..BLOCK {
            let mut decades = |low: f64, high: f64| 10f64.powf(low + (high - low) * unit());
            (cells.iph[k], cells.rs[k], cells.g[k]) =
                (decades(-6.0, 2.0), decades(-4.0, 2.0), decades(-8.0, 0.0));
            for d in 0..K {
                (cells.i0[d][k], cells.a[d][k]) = (decades(-14.0, -4.0), decades(-2.0, 0.5));
            }
            x[k] = cells.a[0][k] * (40.0 * unit() - 10.0);
        }
        let mut wanted = Vec::new();
        plain(&cells, &x, &mut wanted);
        #[cfg(target_arch = "x86_64")]
        {
            if is_x86_feature_detected!("avx2") && is_x86_feature_detected!("fma") {
                let mut got = Vec::new();
                // SAFETY: the machine has the features.
                unsafe { avx2(&cells, &x, &mut got) };
                assert!(got == wanted, "AVX2 parts from plain code");
            }
            let there = is_x86_feature_detected!("avx512f")
                && is_x86_feature_detected!("avx512dq")
                && is_x86_feature_detected!("avx512vl")
                && is_x86_feature_detected!("avx512bw");
            if there {
                let mut got = Vec::new();
                // SAFETY: the machine has the features.
                unsafe { avx512(&cells, &x, &mut got) };
                assert!(got == wanted, "AVX-512 parts from plain code");
            }
        }
    }
}

#[test]
fn every_instruction_set_gives_the_same_bits() {
    check::<1>(1_000_000 / BLOCK, 88_172_645_463_325_252);
    check::<2>(100_000 / BLOCK, 1_234_567_890_123_457);
}
