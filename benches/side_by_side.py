"""litdiode beside SciPy in one run: ratios of medians, one thread.

Run from the project's root:  python benches/side_by_side.py
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from forward_table import forward
from numpy.typing import NDArray
from scipy.constants import Boltzmann, elementary_charge
from scipy.optimize import curve_fit
from scipy.special import wrightomega

import litdiode as ld

REPEATS = 15
IPH, I0, N, RS, RSH = 0.03, 2e-9, 1.45, 1.0, 800.0
VT = Boltzmann * 298.15 / elementary_charge
Array = NDArray[np.float64]


def closed_form(v: Array, iph: float, ln_i0: float, a: float, rs: float, g: float) -> Array:
    """I(V) of one diode by the Wright omega function."""
    i0, s = np.exp(ln_i0), 1.0 + rs * g
    c = (v + rs * (iph + i0)) / s
    w = wrightomega(c / a + ln_i0 + np.log(rs / (s * a)))
    return (c - a * np.real(w) - v) / rs


def median(job: Callable[[], object]) -> float:
    """Median time of a job in s."""
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return float(np.median(times))


def row(name: str, ours: float, theirs: float) -> None:
    print(f"{name:<44}{ours * 1e6:>12.1f} µs{theirs * 1e6:>12.1f} µs{theirs / ours:>8.2f}")


def main() -> None:
    forward()
    print(f"{'':<44}{'litdiode':>15}{'SciPy':>15}{'ratio':>8}")
    cell = ld.SingleDiode(iph_a=IPH, i0_a=I0, n=N, rs_ohm=RS, rsh_ohm=RSH)
    points = np.linspace(-0.05, 0.62, 25)
    measured = cell.current(points) + np.random.default_rng(1).normal(0.0, 3e-5, 25)
    sweep = ld.Sweep(points, measured)
    start = (0.0301, np.log(3e-9), 0.038, 0.9, 1e-3)
    theirs = median(lambda: curve_fit(closed_form, points, measured, p0=start))
    row("25-point fit, ours without a start / curve_fit", median(lambda: ld.fit_single_diode(sweep)), theirs)


if __name__ == "__main__":
    main()
