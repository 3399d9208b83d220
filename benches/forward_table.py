"""The forward path beside NumPy and SciPy: one table of medians and their ratios, one thread unless said.

Run from the project's root:  python benches/forward_table.py
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.constants import Boltzmann, elementary_charge
from scipy.special import wrightomega

import litdiode as ld

POINTS = 1_000_000
REPEATS = 15
VT = Boltzmann * 298.15 / elementary_charge
CELL = {"iph_a": 0.03, "i0_a": 2e-9, "n": 1.45, "rs_ohm": 1.0, "rsh_ohm": 800.0}
Array = NDArray[np.float64]


# Iph, ln I0, a, Rs, g of the cell.
TRUTH = (CELL["iph_a"], np.log(CELL["i0_a"]), CELL["n"] * VT, CELL["rs_ohm"], 1 / CELL["rsh_ohm"])


def closed_form(v: Array, iph: float, ln_i0: float, a: float, rs: float, g: float) -> Array:
    """I(V) of one diode by the Wright omega function."""
    s = 1.0 + rs * g
    c = (v + rs * (iph + np.exp(ln_i0))) / s
    w = wrightomega(c / a + ln_i0 + np.log(rs / (s * a)))
    return (c - a * np.real(w) - v) / rs


def median(job: Callable[[], object], repeats: int = REPEATS) -> float:
    """Median time of a job in s, without that of throwing its result away."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        result = job()
        times.append(time.perf_counter() - start)
        del result
    return float(np.median(times))


def each_call(job: Callable[[], object], calls: int = 20_000) -> float:
    """Median time of a short call in s."""

    def many() -> None:
        for _ in range(calls):
            job()

    return median(many) / calls


def instruction_set() -> str:
    """The widest set that the core chooses from on this machine."""
    try:
        flags = Path("/proc/cpuinfo").read_text().split()
    except OSError:
        return "unknown"
    if {"avx512f", "avx512dq", "avx512vl", "avx512bw", "fma"} <= set(flags):
        return "AVX-512"
    return "AVX2" if {"avx2", "fma"} <= set(flags) else "plain"


def forward() -> None:
    """Prints the table."""
    rng = np.random.default_rng(0)
    v = np.linspace(-0.1, 0.65, POINTS)
    one = ld.SingleDiode(**CELL)
    many = ld.SingleDiode(**{name: x * rng.uniform(0.9, 1.1, POINTS) for name, x in CELL.items()})
    two = ld.DoubleDiode(iph_a=0.03, i01_a=1e-10, n1=1.0, i02_a=1e-8, n2=2.0, rs_ohm=1.0, rsh_ohm=800.0)
    i = one.current(v)
    assert np.allclose(i, closed_form(v, *TRUTH), rtol=1e-9, atol=1e-12)
    base = median(lambda: one.current(v))
    print(f"instruction set: {instruction_set()}; medians of {REPEATS}, {POINTS} points")
    print(f"{'':<46}{'litdiode':>12}{'other':>12}{'ratio':>8}")
    row = "{:<46}{:>9.2f} ns{:>9.2f} ns{:>8.2f}".format
    per_point = 1e9 / POINTS
    others = [
        ("I(V) / numpy.exp: times slower", base, median(lambda: np.exp(v)), False),
        ("I(V) / closed form by wrightomega: times faster", base, median(lambda: closed_form(v, *TRUTH)), True),
        ("a million cells / one cell: times slower", median(lambda: many.current(0.5)), base, False),
        ("V(I) / I(V): times slower", median(lambda: one.voltage(i)), base, False),
        ("two diodes / one: times slower", median(lambda: two.current(v)), base, False),
    ]
    for name, ours, other, faster in others:
        print(row(name, ours * per_point, other * per_point, other / ours if faster else ours / other))
    call, empty = each_call(lambda: one.current(0.5)), each_call(lambda: one.cells)
    print(row("a scalar call, and an empty one", call * 1e9, empty * 1e9, call / empty))
    points = median(lambda: many.key_points(), 5)
    print(f"{'key points (Isc, Voc, Pmax, FF) a cell':<46}{points * per_point:>9.2f} ns")
    both = median(lambda: one.current(v, threads=2))
    print(row("I(V) on 1 and on 2 threads", base * per_point, both * per_point, base / both))
    same = np.array_equal(one.current(v, threads=2).view(np.uint64), i.view(np.uint64))
    print(f"equal to the bit on 1 and 2 threads: {same}")


if __name__ == "__main__":
    forward()
