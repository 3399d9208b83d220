//! The work itself: circuits and points of different shapes, block by block, on threads.
//!
//! Where one circuit serves a run of points it is made ready once; else each lane has its own. The bits are the same
//! either way, and for any number of threads.

use super::super::circuit::Circuit;
use super::super::simd::{self, Cells, Figures, WIDE, Wanted};
use super::broadcasting::Walk;
use crate::numerics::statistics::ranges::range;
use crate::numerics::threads::MOST_THREADS;
use crate::quantity::format::span;
use ndarray::{ArrayD, ArrayViewD, IxDyn};
use std::fmt;
use std::num::NonZeroUsize;

/// Places below which a thread costs more than it saves.
const FEWEST: usize = 8192;

/// Points of one circuit from which on it is made ready for them.
const WORTHWHILE: usize = 16;

/// The parameters of circuits, each with its own shape: Iph, Rs, g, then I0 and a of each diode.
pub(super) struct Columns<'a, const K: usize> {
    pub iph: ArrayViewD<'a, f64>,
    pub rs: ArrayViewD<'a, f64>,
    pub g: ArrayViewD<'a, f64>,
    pub i0: [ArrayViewD<'a, f64>; K],
    pub a: [ArrayViewD<'a, f64>; K],
}

/// Key points of a batch, each figure with one number a device, of the shape of the devices.
#[non_exhaustive]
pub struct BatchKeyPoints {
    /// Short-circuit currents in A.
    pub isc_a: ArrayD<f64>,
    /// Open-circuit voltages in V.
    pub voc_v: ArrayD<f64>,
    /// Maximum powers in W.
    pub pmax_w: ArrayD<f64>,
    /// Voltages of maximum power in V.
    pub v_pmax_v: ArrayD<f64>,
    /// Currents of maximum power in A.
    pub i_pmax_a: ArrayD<f64>,
    /// Fill factors; NaN in the dark, where there is none.
    pub ff: ArrayD<f64>,
}

impl<'a, const K: usize> Columns<'a, K> {
    /// Operands in a fixed order: Iph, Rs, g, I0 of each diode, a of each diode.
    fn operands(&self) -> Vec<ArrayViewD<'a, f64>> {
        let first = [&self.iph, &self.rs, &self.g];
        first.into_iter().chain(&self.i0).chain(&self.a).cloned().collect()
    }

    /// What is wanted at each place of `shape`, to which `x` and the parameters broadcast.
    pub fn fill(
        &self,
        wanted: Wanted,
        x: ArrayViewD<'_, f64>,
        shape: &[usize],
        threads: Option<NonZeroUsize>,
        out: &mut [f64],
    ) {
        let mut operands = self.operands();
        operands.push(x);
        let part = Part::new(shape, &operands);
        shared(threads, out, |from, out| part.fill::<K>(wanted, from, out));
    }

    /// Key points at each place of `shape`, to which the parameters broadcast.
    pub fn key_points(&self, shape: &[usize], threads: Option<NonZeroUsize>) -> BatchKeyPoints {
        let part = Part::new(shape, &self.operands());
        // Six figures a place, block by block: each thread fills a part of one list.
        let mut list = vec![0.0; 6 * part.walk.count.next_multiple_of(WIDE)];
        shared_by(threads, 6 * WIDE, &mut list, |from, out| part.key_points::<K>(from / 6, out));
        let figure = |f: usize| {
            let blocks = list.chunks_exact(6 * WIDE).flat_map(|block| &block[f * WIDE..(f + 1) * WIDE]);
            ArrayD::from_shape_vec(IxDyn(shape), blocks.take(part.walk.count).copied().collect())
                .unwrap_or_default()
        };
        BatchKeyPoints {
            isc_a: figure(0),
            voc_v: figure(1),
            pmax_w: figure(2),
            v_pmax_v: figure(3),
            i_pmax_a: figure(4),
            ff: figure(5),
        }
    }
}

/// `job(from, part)` for parts of `out`, on threads.
pub(super) fn shared(threads: Option<NonZeroUsize>, out: &mut [f64], job: impl Fn(usize, &mut [f64]) + Sync) {
    shared_by(threads, WIDE, out, job);
}

/// [`shared`] with parts that are multiples of `unit`.
fn shared_by(
    threads: Option<NonZeroUsize>,
    unit: usize,
    out: &mut [f64],
    job: impl Fn(usize, &mut [f64]) + Sync,
) {
    let offered = || std::thread::available_parallelism().map_or(1, usize::from);
    let worthwhile = out.len().div_ceil(FEWEST);
    let threads = threads.map_or_else(offered, usize::from).min(worthwhile).clamp(1, MOST_THREADS);
    if threads == 1 {
        return job(0, out);
    }
    let each = out.len().div_ceil(threads).next_multiple_of(unit);
    let job = &job;
    std::thread::scope(|scope| {
        for (k, part) in out.chunks_mut(each).enumerate() {
            scope.spawn(move || job(k * each, part));
        }
    });
}

/// Operands and how to walk through them.
struct Part<'a> {
    walk: Walk,
    values: Vec<&'a [f64]>,
}

impl<'a> Part<'a> {
    /// Operands in C order.
    fn new(shape: &[usize], operands: &[ArrayViewD<'a, f64>]) -> Self {
        let values = operands.iter().map(|o| o.to_slice().unwrap_or_default()).collect();
        Self { walk: Walk::new(shape, operands), values }
    }

    fn fill<const K: usize>(&self, wanted: Wanted, from: usize, out: &mut [f64]) {
        let (run, parameters) = (self.walk.run(), 3 + 2 * K);
        let one_circuit = (0..parameters).all(|o| self.walk.is_constant(o));
        let mut block = Gathered::<K>::default();
        let (mut at, end) = (from, from + out.len());
        while at < end {
            let left = (run - at % run).min(end - at);
            if one_circuit && (left >= WORTHWHILE || run == self.walk.count) {
                let out = &mut out[at - from..][..left];
                simd::along(wanted, &self.circuit::<K>(at / run), &self.points(parameters, at, left), out);
                at += left;
                continue;
            }
            let count = WIDE.min(end - at);
            self.gather(at, count, &mut block, true);
            simd::each(wanted, &block.cells, &block.x, &mut block.out, count);
            out[at - from..][..count].copy_from_slice(&block.out[..count]);
            at += count;
        }
    }

    fn key_points<const K: usize>(&self, from: usize, out: &mut [f64]) {
        let (mut block, mut found) = (Gathered::<K>::default(), Figures::default());
        for (k, out) in out.chunks_exact_mut(6 * WIDE).enumerate() {
            let at = from + k * WIDE;
            let count = WIDE.min(self.walk.count - at);
            self.gather(at, count, &mut block, false);
            simd::figures(&block.cells, &mut found, count);
            for lane in 0..count {
                let (isc, voc) = (found.isc[lane], found.voc[lane]);
                let (v, i) = (found.v_pmax[lane], found.i_pmax[lane]);
                let figures = [isc, voc, v * i, v, i, (v / voc) * (i / isc)];
                (0..6).for_each(|f| out[f * WIDE + lane] = figures[f]);
            }
        }
    }

    /// The circuit of a run.
    fn circuit<const K: usize>(&self, run: usize) -> Circuit<K> {
        let of = |o: usize| self.values[o][self.walk.offset(o, run)];
        let (i0, a) = (std::array::from_fn(|d| of(3 + d)), std::array::from_fn(|d| of(3 + K + d)));
        Circuit::new(of(0), i0, a, of(1), of(2))
    }

    /// `count` points from the place `at` on, all in one run.
    fn points(&self, operand: usize, at: usize, count: usize) -> std::borrow::Cow<'_, [f64]> {
        let (run, values) = (self.walk.run(), self.values[operand]);
        let offset = self.walk.offset(operand, at / run);
        if self.walk.is_constant(operand) {
            vec![values[offset]; count].into()
        } else {
            values[offset + at % run..][..count].into()
        }
    }

    /// Operands of `count` places from `at` on.
    fn gather<const K: usize>(&self, at: usize, count: usize, block: &mut Gathered<K>, with_x: bool) {
        let run = self.walk.run();
        let cells = &mut block.cells;
        let mut targets: [&mut [f64; WIDE]; 3] = [&mut cells.iph, &mut cells.rs, &mut cells.g];
        let rest = cells.i0.iter_mut().chain(&mut cells.a).chain(with_x.then_some(&mut block.x));
        for (operand, target) in targets.iter_mut().map(|t| &mut **t).chain(rest).enumerate() {
            let (values, constant) = (self.values[operand], self.walk.is_constant(operand));
            let mut done = 0;
            while done < count {
                let place = at + done;
                let take = (run - place % run).min(count - done);
                let offset = self.walk.offset(operand, place / run);
                let target = &mut target[done..done + take];
                if constant {
                    target.fill(values[offset]);
                } else {
                    target.copy_from_slice(&values[offset + place % run..][..take]);
                }
                done += take;
            }
        }
    }
}

/// Room for a block of circuits, their points and the answers.
struct Gathered<const K: usize> {
    cells: Cells<K>,
    x: [f64; WIDE],
    out: [f64; WIDE],
}

impl<const K: usize> Default for Gathered<K> {
    fn default() -> Self {
        Self { cells: Cells::default(), x: [0.0; WIDE], out: [0.0; WIDE] }
    }
}

/// The number of devices, and the range of each figure.
impl fmt::Display for BatchKeyPoints {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} devices", self.isc_a.len())?;
        let figures = [
            ("isc", &self.isc_a, "A"),
            ("voc", &self.voc_v, "V"),
            ("pmax", &self.pmax_w, "W"),
            ("v_pmax", &self.v_pmax_v, "V"),
            ("i_pmax", &self.i_pmax_a, "A"),
            ("ff", &self.ff, ""),
        ];
        for (name, figure, unit) in figures {
            let known: Vec<f64> = figure.iter().copied().filter(|x| !x.is_nan()).collect();
            let (low, high) = range(&known);
            if low <= high {
                write!(f, "\n{name:<11}{}", span(low, high, unit))?;
            }
        }
        Ok(())
    }
}
