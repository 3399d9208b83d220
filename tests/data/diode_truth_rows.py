"""The columns of diode_truth.csv and how a row's numbers follow from the exact solution.

Scales are those of a componentwise backward error: |y| + |x·∂y/∂x| + Σp |p·∂y/∂p| with p = Iph, I0k, nk, Rs,
Rsh; the x term is absent for the key points. A term with p = 0 or p = ∞ counts nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from mpmath import mp, mpf

from diode_truth_solve import (
    Circuit,
    Device,
    Slopes,
    current,
    digits,
    exact,
    maximum,
    names,
    second_slopes,
    slopes,
    voltage,
)

DEVICE = ["iph_a", "i01_a", "n1", "i02_a", "n2", "rs_ohm", "rsh_ohm", "cells", "temperature_c"]
PARTIALS = {p: "did" + p for p in ("v", "iph", "i01", "n1", "i02", "n2", "rs", "rsh")}
COLUMNS = ["kind", "diodes", *DEVICE, "x", "value", "value_lo", "scale"]
COLUMNS += [name for d in PARTIALS.values() for name in (d, d + "_scale")] + ["edge"]
KEY_KINDS = ("isc", "voc", "v_pmax", "i_pmax", "pmax")


@dataclass(frozen=True)
class Case:
    """One row to be computed: kind `current` (x = V), `voltage` (x = I), or one of KEY_KINDS (x absent)."""

    kind: str
    device: Device
    x: float | None
    edge: str


def nearest(y: mpf) -> float:
    """y correctly rounded to binary64, subnormal numbers included; ±inf beyond its range."""
    if y == 0 or mp.isinf(y):
        return float(y)
    mantissa, exponent = (int(part) for part in abs(y).man_exp)
    top = mantissa.bit_length() + exponent
    if abs(top) > 1100:
        size = math.inf if top > 0 else 0.0
    else:
        try:
            size = float(mantissa << exponent) if exponent >= 0 else mantissa / (1 << -exponent)
        except OverflowError:
            size = math.inf
    return -size if y < 0 < size else size


def row(case: Case) -> dict[str, str]:
    """The row as text, column by column."""
    with mp.workdps(digits(case.device, case.x or 0.0)):
        numbers = _numbers(case)
    out = dict.fromkeys(COLUMNS, "")
    out |= {"kind": case.kind, "diodes": str(case.device.diodes), "edge": case.edge}
    out |= {name: _text(getattr(case.device, name)) for name in DEVICE}
    out |= {"x": _text(case.x)} | {name: _text(y) for name, y in numbers.items()}
    return out


def _text(y: float | int | None) -> str:
    return "" if y is None else repr(y)


def _numbers(case: Case) -> dict[str, float]:
    c = exact(case.device)
    if case.kind == "current":
        return _current(c, mpf(case.x))
    if case.kind == "voltage":
        return _voltage(c, mpf(case.x))
    return _value(*key_points(c)[case.kind])


def _value(y: mpf, scale: mpf) -> dict[str, float]:
    value = nearest(y)
    if math.isinf(value):
        return {"value": value}
    return {"value": value, "value_lo": nearest(y - value), "scale": nearest(scale)}


def _current(c: Circuit, v: mpf) -> dict[str, float]:
    i = current(c, v)
    first = slopes(c, v, i)
    out = _value(i, abs(i) + abs(v * first["v"]) + _spread(c, first))
    if "scale" not in out:
        return out
    second = second_slopes(c, v, i, ["v", *names(c)])
    for p, column in PARTIALS.items():
        if p in first:
            scale = abs(first[p]) + sum(abs((v if q == "v" else c[q]) * second[q][p]) for q in second)
            out |= {column: nearest(first[p]), column + "_scale": nearest(scale)}
    return out


def _voltage(c: Circuit, i: mpf) -> dict[str, float]:
    v = voltage(c, i)
    if mp.isinf(v):
        return {"value": float(v)}
    by = _voltage_slopes(c, v, i)
    return _value(v, abs(v) + abs(i * by["i"]) + _spread(c, by))


def _voltage_slopes(c: Circuit, v: mpf, i: mpf) -> Slopes:
    first = slopes(c, v, i)
    return {p: -first[p] / first["v"] for p in names(c)} | {"i": 1 / first["v"]}


def _spread(c: Circuit, by: Slopes) -> mpf:
    """Σp |p·∂y/∂p|."""
    return sum(abs(c[p] * by[p]) for p in names(c) if not mp.isinf(c[p]))


def key_points(c: Circuit) -> dict[str, tuple[mpf, mpf]]:
    """Value and scale of each of KEY_KINDS; all zero for a dark circuit."""
    if c["iph"] == 0:
        return dict.fromkeys(KEY_KINDS, (mpf(0), mpf(0)))
    isc, voc = current(c, mpf(0)), voltage(c, mpf(0))
    v, i = maximum(c)
    first, second = slopes(c, v, i), second_slopes(c, v, i, ["v", *names(c)])
    bend = 2 * first["v"] + v * second["v"]["v"]
    v_by = {p: -(first[p] + v * second[p]["v"]) / bend if p in second else mpf(0) for p in names(c)}
    i_by = {p: first[p] + first["v"] * v_by[p] for p in names(c)}
    p_by = {p: v * first[p] for p in names(c)}
    return {
        "isc": (isc, isc + _spread(c, slopes(c, mpf(0), isc))),
        "voc": (voc, voc + _spread(c, _voltage_slopes(c, voc, mpf(0)))),
        "v_pmax": (v, v + _spread(c, v_by)),
        "i_pmax": (i, i + _spread(c, i_by)),
        "pmax": (v * i, v * i + _spread(c, p_by)),
    }
