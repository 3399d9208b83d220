"""Symbols and numbers of the page: subscripts, columns of value and ± in one unit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import median
from typing import Any

from .._core import Estimate
from ..quote import plus_minus, quoted
from ..symbols import SYMBOLS, shown_unit

#: Symbols with their subscripts, as HTML.
HTML = {
    "isc": "<i>I</i><sub>sc</sub>",
    "voc": "<i>V</i><sub>oc</sub>",
    "pmax": "<i>P</i><sub>max</sub>",
    "v_pmax": "<i>V</i><sub>Pmax</sub>",
    "i_pmax": "<i>I</i><sub>Pmax</sub>",
    "ff": "FF",
    "jsc": "<i>J</i><sub>sc</sub>",
    "efficiency": "<i>η</i>",
    "iph": "<i>I</i><sub>ph</sub>",
    "i0": "<i>I</i><sub>0</sub>",
    "i01": "<i>I</i><sub>01</sub>",
    "i02": "<i>I</i><sub>02</sub>",
    "n": "<i>n</i>",
    "n1": "<i>n</i><sub>1</sub>",
    "n2": "<i>n</i><sub>2</sub>",
    "rs": "<i>R</i><sub>s</sub>",
    "rsh": "<i>R</i><sub>sh</sub>",
    "rms": "rms",
}
# A column over more decades than this has a unit in each cell.
_WIDEST = 1e3
# Standard uncertainties above which a figure stands clear of zero.
_CLEAR = 5.0


def symbol(figure: str) -> str:
    """The symbol as HTML."""
    return HTML.get(figure, SYMBOLS.get(figure, figure))


def column(figure: str, found: Sequence[Estimate | None]) -> dict[str, Any]:
    """Heading and cells of one figure: symbol, unit, and for each sweep value and ± as texts."""
    known = [one for one in found if one is not None]
    unit = known[0].unit if known else ""
    finite = [one for one in known if math.isfinite(one.value) and one.value]
    # A figure lost in its uncertainty does not choose the prefix.
    sizes = [abs(one.value) for one in finite if abs(one.value) > _CLEAR * (one.u or 0.0)]
    if sizes and max(sizes) > _WIDEST * min(sizes) and unit:
        cells = [_missing(one) or _split(quoted(one.value, one.u, one.unit)) for one in found]  # type: ignore[union-attr]
        return {"symbol": symbol(figure), "unit": "", "cells": cells}
    # The prefix suits the middle cell: a single large one in no group does not choose it.
    scale, shown = shown_unit(figure, unit, median(sizes or [abs(one.value) for one in finite] or [1.0]))
    return {"symbol": symbol(figure), "unit": shown, "cells": [_missing(one) or pair(one, scale) for one in found]}


def _missing(one: Estimate | None) -> tuple[str, str] | None:
    return ("—", "") if one is None else None


def pair(one: Estimate | None, scale: float) -> tuple[str, str]:
    """Value and `± u` in units of `scale`."""
    if one is None:
        return "—", ""
    if not math.isfinite(one.value):
        return "∞", ""
    return _split(plus_minus(one.value / scale, None if one.u is None else one.u / scale))


def _split(text: str) -> tuple[str, str]:
    value, _, u = text.partition(" ± ")
    return value, f"± {u}" if u else ""


def two_digits(x: float | None, scale: float) -> str:
    """A spread to two significant digits."""
    if not x:
        return "unknown" if x is None else "0"
    return f"{x / scale:#.2g}".rstrip(".")


def probability(p: float) -> str:
    """A p value as it is printed: three digits, and a bound where it is too small to mean more."""
    return "< 0.0001" if p < 1e-4 else f"{p:.2g}"
