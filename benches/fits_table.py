"""The part of `side_by_side.py` about fits and key points of whole sweeps.

Run from the project's root, with the rest of the table:  python benches/side_by_side.py
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from forward_table import CELL, TRUTH, closed_form, median
from scipy.optimize import curve_fit

import litdiode as ld

ONE = ld.SingleDiode(**CELL)
# A cell whose second diode shows at this noise.
TWO = ld.DoubleDiode(iph_a=0.03, i01_a=2e-13, n1=1.0, i02_a=1e-8, n2=2.0, rs_ohm=0.5, rsh_ohm=3000.0)
POINTS = np.linspace(-0.05, 0.62, 25)
NOISE_A = 3e-5
# Iph, ln I0, a, Rs, g: close to the truth, as a careful user might guess from the plot.
GOOD_START = (0.0301, np.log(3e-9), 0.038, 0.9, 1e-3)


def measured(seed: int, model: ld.SingleDiode | ld.DoubleDiode = ONE, noise_a: float = NOISE_A) -> ld.Sweep:
    """An invented sweep of 25 points."""
    scatter = np.random.default_rng(seed).normal(0.0, noise_a, POINTS.size)
    return ld.Sweep(POINTS, model.current(POINTS) + scatter)


def interleaved(a: Callable[[], object], b: Callable[[], object], repeats: int) -> tuple[float, float, float]:
    """Median times of two jobs that take turns, and the median of b/a: a busy machine hits both of a pair."""
    pairs = np.array([(median(a, 1), median(b, 1)) for _ in range(repeats)])
    ours, theirs = np.median(pairs, axis=0)
    return float(ours), float(theirs), float(np.median(pairs[:, 1] / pairs[:, 0]))


def line(name: str, ours: str, against: str, ratio: str) -> None:
    print(f"{name:<52}{ours:>14}{against:>18}{ratio:>8}")


def single() -> None:
    """One sweep, many sweeps, two diodes, refits."""
    sweeps = [measured(seed) for seed in range(200)]
    one = sweeps[0]
    current_a = one.current_a
    ours, theirs, ratio = interleaved(
        lambda: ld.fit_single_diode(one), lambda: curve_fit(closed_form, POINTS, current_a, p0=GOOD_START), 200
    )
    line(
        "25-point fit with ±, no start / curve_fit from one",
        f"{ours * 1e6:.1f} µs",
        f"{theirs * 1e6:.1f} µs",
        f"{ratio:.1f}",
    )

    def every() -> None:
        for sweep in sweeps[:15]:
            curve_fit(closed_form, POINTS, sweep.current_a, p0=GOOD_START)

    ours, theirs, ratio = interleaved(lambda: ld.fit_many(sweeps, threads=1), every, 100)
    ours, theirs, ratio = ours / 200, theirs / 15, ratio * 200 / 15
    line("fit_many, a fit / curve_fit, a fit", f"{ours * 1e6:.1f} µs", f"{theirs * 1e6:.1f} µs", f"{ratio:.1f}")
    both = [measured(seed, TWO, 3e-7) for seed in range(30)]
    single, two, ratio = interleaved(
        lambda: ld.fit_many(both, threads=1), lambda: ld.fit_many(both, diodes=2, threads=1), 25
    )
    line(
        "two-diode fit / one-diode fit",
        f"{two / 30 * 1e6:.0f} µs",
        f"{single / 30 * 1e6:.1f} µs",
        f"{ratio:.1f}",
    )
    fit = ld.fit_single_diode(one)
    refits = median(lambda: fit.resample(draws=10_000, seed=0, threads=1), 9)
    line("10,000 refits of drawn sweeps", f"{refits:.3f} s", "", "")


def lengths() -> None:
    """Time and memory a point."""
    for points in (25, 250, 2_500, 25_000):
        v = np.linspace(-0.05, 0.62, points)
        sweep = ld.Sweep(v, ONE.current(v) + np.random.default_rng(1).normal(0.0, NOISE_A, points))
        fit = median(lambda sweep=sweep: ld.fit_single_diode(sweep), 5)
        key = median(sweep.key_points, 5)
        line(
            f"{points:,} points: fit, key points, a point",
            f"{fit / points * 1e6:.2f} µs",
            f"{key / points * 1e6:.2f} µs",
            "",
        )


def threads() -> None:
    """Two threads against one, and whether they give the same bits."""
    sweeps = [measured(seed) for seed in range(10_000)]
    for name, job in (("fits", ld.fit_many), ("key points", ld.key_points_many)):
        two, single, ratio = interleaved(
            lambda job=job: job(sweeps, threads=2), lambda job=job: job(sweeps, threads=1), 9
        )
        same = job(sweeps[:2000], threads=2) == job(sweeps[:2000], threads=1)
        note = "same bits" if same else "OTHER BITS"
        line(
            f"{name} of 10,000 sweeps, two threads / one ({note})",
            f"{two:.2f} s",
            f"{single:.2f} s",
            f"{ratio:.2f}",
        )
    many, currents = sweeps * 10, np.tile([sweep.current_a for sweep in sweeps], (10, 1))
    given = median(lambda: ld.key_points_many(many), 2)
    arrays = median(lambda: ld.key_points_many(POINTS, currents), 2)
    line("key points of 100,000 sweeps: Sweeps, arrays", f"{given:.2f} s", f"{arrays:.2f} s", "")


def fits() -> None:
    """All rows."""
    assert np.allclose(ONE.current(POINTS), closed_form(POINTS, *TRUTH), rtol=1e-9)
    line("", "litdiode", "beside it", "ratio")
    single()
    lengths()
    threads()
