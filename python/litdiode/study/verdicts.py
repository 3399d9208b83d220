"""A comparison in one sentence, in the symbol and the unit in which its figure is shown."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ..symbols import SYMBOLS, shown_unit
from .comparison import Comparison, worded


def sentence(one: Comparison, left_out: Sequence[str] = ()) -> str:
    """The verdict for people: `Comparison.sentence` with symbols, prefixes, and efficiencies in percentage points.

    - `left_out`: labels of cells of both groups that lack the figure.
    """
    symbol = SYMBOLS.get(one.figure, one.figure)
    without = f"; without {', '.join(left_out)}, which have no {symbol}" if left_out else ""
    return _verdict(one, symbol) + without


def _verdict(one: Comparison, symbol: str) -> str:
    scale, unit = shown_unit(one.figure, one.difference.unit, max(abs(one.low), abs(one.high)))
    # "By 0.4 %" could be a part of the efficiency.
    unit = "percentage points" if unit == "%" else unit

    def shown(low: float, high: float) -> str:
        return f"{between(low, high, scale)} {unit}".strip()

    margin = "" if one.margin is None else f"± {one.margin / scale:.3g} {unit}".strip()
    return worded(one, symbol, shown, margin)


def between(low: float, high: float, scale: float) -> str:
    """`1.2 to 3.4`, to the digits of a hundredth of the width."""
    width = abs(high - low) / scale
    digits = 3 if not width else min(8, max(0, 2 - math.floor(math.log10(width))))
    return " to ".join(f"{x / scale:.{digits}f}".replace("-", "−") for x in (low, high))
