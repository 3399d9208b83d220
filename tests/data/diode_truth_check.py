"""Check random rows of diode_truth.csv at 100 digits and more, by other means than made them.

- A value must bracket the root: F (for P: a difference of P) changes sign within 2^-100 of value + value_lo.
- A slope must be the central difference of circuits solved anew, a scale must follow from such differences and the
  mixed ones: no implicit differentiation, no tangent.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from pathlib import Path

from mpmath import mp, mpf

from diode_truth_rows import DEVICE, PARTIALS, nearest
from diode_truth_solve import Circuit, Device, current, digits, exact, imbalance, maximum, names, voltage

EXTRA_DIGITS = 100
GAP = mpf(2) ** -100
STEP = mpf(2) ** -200  # of a relative difference; far below I0/I, where V(I) turns within I0 of Iph
BLUR = mpf(10) ** -50  # what twofold differences leave of a value solved to a relative 1e-170
Row = dict[str, str]
Function = Callable[[Circuit, mpf], mpf]


def check(table: Path, rows: int, seed: int = 1) -> str:
    """Check that many rows; raise ValueError at the first wrong number, else say what was checked."""
    lines = [x for x in table.read_text(encoding="utf-8").splitlines() if not x.startswith("#")]
    header = lines[0].split(",")
    everything = [dict(zip(header, line.split(","), strict=True)) for line in lines[1:]]
    finite = [r for r in everything if r["value_lo"]]
    chosen = random.Random(seed).sample(finite, min(rows, len(finite)))
    for r in chosen:
        _check_row(r)
    return f"{len(everything)} rows, {len(chosen)} checked at {EXTRA_DIGITS} digits and more: all right"


def device(r: Row) -> Device:
    cells = [float(r[name]) if r[name] else None for name in DEVICE]
    return Device(*cells[:7], int(cells[7]), cells[8])


def _check_row(r: Row) -> None:
    d, x = device(r), float(r["x"] or 0.0)
    with mp.workdps(digits(d, x) + EXTRA_DIGITS):
        c, y = exact(d), mpf(float(r["value"])) + mpf(float(r["value_lo"]))
        _check_value(r, c, mpf(x), y)
        if r["kind"] == "current" or c["iph"] != 0 or r["x"]:
            _check_slopes(r, c, mpf(x), bool(r["x"]))


def _check_value(r: Row, c: Circuit, x: mpf, y: mpf) -> None:
    """The sign change around the value, where the kind is a root; the re-solved value for the maximum's current."""
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


def _moved(c: Circuit, x: mpf, q: str, by: mpf) -> tuple[Circuit, mpf]:
    return (c, x * (1 + by)) if q == "x" else (c | {q: c[q] * (1 + by)}, x)


def _slope(f: Function, c: Circuit, x: mpf, q: str) -> mpf:
    """q·∂f/∂q."""
    return (f(*_moved(c, x, q, STEP)) - f(*_moved(c, x, q, -STEP))) / (2 * STEP)


def _check_slopes(r: Row, c: Circuit, x: mpf, with_x: bool) -> None:
    f = SOLVED[r["kind"]]
    live = [q for q in names(c) if c[q] != 0 and not mp.isinf(c[q])] + (["x"] if with_x and x != 0 else [])
    blur = abs(f(c, x)) * BLUR
    _compare(r, "scale", abs(f(c, x)) + sum(abs(_slope(f, c, x, q)) for q in live), blur)
    if r["kind"] != "current":
        return
    for p, column in PARTIALS.items():
        q = "x" if p == "v" else p
        if q in live:
            size = x if q == "x" else c[q]
            d = _slope(f, c, x, q)
            # ∂(∂f/∂q)/∂s·s, from q·∂f/∂q of the moved circuits; for s = q the product's own slope is taken off.
            mixed = [_slope(lambda e, z, q=q: _slope(f, e, z, q), c, x, s) - (d if s == q else 0) for s in live]
            _compare(r, column, d / size, blur / abs(size))
            _compare(r, column + "_scale", (abs(d) + sum(abs(m) for m in mixed)) / abs(size), blur / abs(size))


def _compare(r: Row, column: str, want: mpf, blur: mpf) -> None:
    """The printed number is the wanted one to one unit in the last place, or to the blur of the differences."""
    got, bound = float(r[column]), nearest(want)
    if got != bound and abs(mpf(got) - want) > max(blur, math.ulp(bound)):
        raise ValueError(f"{column} is {got!r}, wanted {bound!r}: {r}")
