"""Check random rows of diode_truth.csv at far more than 100 digits, by other means than made them.

- A value must bracket the root: F (for P: a difference of P) changes sign within 2^-100 of value + value_lo;
  where the value is infinite, F has no root within binary64.
- A slope must be the central difference of circuits solved anew, a scale must follow from such differences
  and the mixed ones: no implicit differentiation, no tangent.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from pathlib import Path

from mpmath import mp, mpf

from diode_truth_rows import DEVICE, PARTIALS, nearest
from diode_truth_solve import Circuit, Device, current, digits, exact, imbalance, maximum, names, voltage

EXTRA_DIGITS = 150
GAP = mpf(2) ** -100
STEP = mpf(2) ** -200  # of a relative difference; far below I0/I, where V(I) turns within I0 of Iph
SOLVED_DIGITS, LOST_DIGITS = 350, 170  # most digits of a solved value; digits that twofold differences cost
Row = dict[str, str]
Function = Callable[[Circuit, mpf], mpf]


def check(table: Path, rows: int, seed: int = 1) -> str:
    """Check that many rows; raise ValueError at the first wrong number, else say what was checked."""
    lines = [x for x in table.read_text(encoding="utf-8").splitlines() if not x.startswith("#")]
    header = lines[0].split(",")
    everything = [dict(zip(header, line.split(","), strict=True)) for line in lines[1:]]
    chosen = random.Random(seed).sample(everything, min(rows, len(everything)))
    for r in chosen:
        _check_row(r)
    return f"{len(everything)} rows, {len(chosen)} checked at more than {EXTRA_DIGITS} digits: all right"


def device(r: Row) -> Device:
    """The row's circuit."""
    given = {name: float(r[name]) for name in DEVICE if r[name]}
    return Device(**({"i02_a": None, "n2": None} | given | {"cells": int(r["cells"])}))  # type: ignore[arg-type]


def _check_row(r: Row) -> None:
    d, x = device(r), float(r["x"] or 0.0)
    with mp.workdps(digits(d, x) + EXTRA_DIGITS):
        c = exact(d)
        if not r["value_lo"]:
            _check_infinite(r, c, mpf(x))
            return
        y = mpf(float(r["value"])) + mpf(float(r["value_lo"]))
        _check_value(r, c, mpf(x), y)
        if r["kind"] == "current" or c["iph"] != 0 or r["x"]:
            _check_slopes(r, c, mpf(x), bool(r["x"]))


def _check_infinite(r: Row, c: Circuit, x: mpf) -> None:
    """F says at the end of binary64 that the root, if there is one, lies beyond it."""
    sign = math.copysign(1.0, float(r["value"]))
    end = sign * mpf(2) ** 1024
    f = imbalance(c, x, end) if r["kind"] == "current" else imbalance(c, end, x)
    if sign * f < 0:
        raise ValueError(f"value is not infinite: {r}")


def _check_value(r: Row, c: Circuit, x: mpf, y: mpf) -> None:
    """The sign change around a value that is a root; i_pmax and pmax are solved anew."""
    kind, gap = r["kind"], abs(y) * GAP
    if y == 0 or abs(y) < mpf(2) ** -960:
        ends = (abs(SOLVED[kind](c, x)) <= abs(y) + mpf(2) ** -960, True)
    elif kind in ("current", "isc"):
        ends = (imbalance(c, x, y - gap) > 0, imbalance(c, x, y + gap) < 0)
    elif kind in ("voltage", "voc"):
        ends = (imbalance(c, y - gap, x) > 0, imbalance(c, y + gap, x) < 0)
    elif kind == "v_pmax":
        ends = (_rise(c, y - gap) > 0, _rise(c, y + gap) < 0)
    else:
        ends = (abs(SOLVED[kind](c, x) - y) < gap, True)
    if not all(ends):
        raise ValueError(f"value is wrong: {r}")


def _rise(c: Circuit, v: mpf) -> mpf:
    """P(V + h) − P(V − h)."""
    up, down = (v * (1 + s * STEP) for s in (1, -1))
    return up * current(c, up) - down * current(c, down)


SOLVED: dict[str, Function] = {
    "current": current,
    "voltage": voltage,
    "isc": lambda c, _: current(c, mpf(0)),
    "voc": lambda c, _: voltage(c, mpf(0)),
    "v_pmax": lambda c, _: maximum(c)[0],
    "i_pmax": lambda c, _: maximum(c)[1],
    "pmax": lambda c, _: mp.fprod(maximum(c)),
}


def _slope(f: Function, c: Circuit, x: mpf, q: str) -> mpf:
    """∂f/∂q by a central difference, at q = 0 by a forward one."""
    at = x if q == "x" else c[q]
    up, down = (at * (1 + STEP), at * (1 - STEP)) if at != 0 else (STEP * _unit(c, x, q), mpf(0))
    high, low = (f(c, y) if q == "x" else f(c | {q: y}, x) for y in (up, down))
    return (high - low) / (up - down)


def _unit(c: Circuit, x: mpf, q: str) -> mpf:
    """What moves I(V) by a fair part where q = 0: the voltage a, the current I01, their quotient at I."""
    a = c["vt"] * c["n1"]
    return {"x": a, "iph": c["i01"], "rs": a / (abs(current(c, x)) + c["i01"])}[q]


def _check_slopes(r: Row, c: Circuit, x: mpf, with_x: bool) -> None:
    f = SOLVED[r["kind"]]
    at = dict(c) | ({"x": x} if with_x else {})
    live = [q for q in [*names(c), *(["x"] if with_x else [])] if at[q] != 0 and not mp.isinf(at[q])]
    blur = abs(f(c, x)) * mpf(10) ** -(min(mp.dps, SOLVED_DIGITS) - LOST_DIGITS)
    _compare(r, "scale", abs(f(c, x)) + sum(abs(at[q] * _slope(f, c, x, q)) for q in live), blur)
    if r["kind"] != "current":
        return
    for p, column in PARTIALS.items():
        q = "x" if p == "v" else p
        if q in at and not mp.isinf(at[q]):
            size = abs(at[q]) or _unit(c, x, q)
            _check_slope(r, column, c, x, q, [(s, at[s]) for s in live], blur / size)


def _check_slope(r: Row, column: str, c: Circuit, x: mpf, q: str, live: list[tuple[str, mpf]], blur: mpf) -> None:
    """One derivative D of I(V), and its scale |D| + Σ|s·∂D/∂s|."""

    def slope(moved: Circuit, v: mpf) -> mpf:
        return _slope(current, moved, v, q)

    d = slope(c, x)
    _compare(r, column, d, blur)
    _compare(r, column + "_scale", abs(d) + sum(abs(size * _slope(slope, c, x, s)) for s, size in live), blur)


def _compare(r: Row, column: str, want: mpf, blur: mpf) -> None:
    """The printed number is the wanted one to a unit in the last place, or to the blur of the differences."""
    got, bound = float(r[column]), nearest(want)
    if got != bound and abs(mpf(got) - want) > max(blur, math.ulp(bound)):
        raise ValueError(f"{column} is {got!r}, wanted {bound!r}: {r}")
