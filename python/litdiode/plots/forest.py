"""Figures of several methods as a chart: a row a method, its interval as a bar, its value beside its name."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..quote import prefix_exponent, prefixed
from .shared import MODEL, Style, open_frame, quote, reach

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from .._core import Estimate

# Values over more than this factor get a logarithmic axis.
_DECADES = 20.0
_HELD, _DOUBTED, _QUOTED = "#17355e", MODEL["color"], "#c9782a"


@dataclass(frozen=True)
class Entry:
    """One row: the method, its figure, whether its assumptions hold, and whether it is the one to quote."""

    method: str
    found: Estimate
    holds: bool = True
    quoted: bool = False


def forest(ax: Axes, entries: Sequence[Entry], name: str, level: float) -> None:
    """Draws the rows from above; filled markers hold, hollow ones do not, the quoted one is a diamond.

    An interval that is open above ends in an arrow.
    """
    if not entries:
        ax.text(0.5, 0.5, f"no method gives {name}", transform=ax.transAxes, ha="center", fontsize="small")
        ax.set_axis_off()
        return
    unit = entries[0].found.unit
    sizes = sorted(abs(e.found.value) for e in entries if math.isfinite(e.found.value))
    power = prefix_exponent(sizes[len(sizes) // 2] if sizes else 0.0, unit)
    scale = 10.0**power
    clear = all(e.found.value > 2 * (e.found.u or 0.0) for e in entries)
    if clear and sizes and sizes[-1] > _DECADES * sizes[0]:
        ax.set_xscale("log")
    for row, entry in enumerate(entries):
        _row(ax, row, entry, scale, level)
    edge = ax.get_xlim()[1]
    for row, entry in enumerate(entries):
        if entry.found.interval(level).high == math.inf:
            _open(ax, row, entry, scale, edge)
    ax.set_yticks(range(len(entries)), [f"{e.method}\n{quote(e.found)}" for e in entries], fontsize="x-small")
    ax.set_ylim(len(entries) - 0.5, -0.5)
    ax.set_xlabel(f"{name} / {prefixed(unit, power)}", fontsize="small")
    ax.tick_params(axis="x", labelsize="x-small")
    ax.tick_params(axis="y", length=0)
    open_frame(ax)


def _open(ax: Axes, row: int, entry: Entry, scale: float, edge: float) -> None:
    """An interval without an upper end: an arrow to the edge."""
    color = _colour(entry)
    ax.plot([entry.found.value / scale, edge], [row, row], color=color, linewidth=1.1)
    ax.plot(edge, row, color=color, marker=">", markersize=5.0, clip_on=False)
    ax.set_xlim(right=edge)


def _colour(entry: Entry) -> str:
    return _QUOTED if entry.quoted else _HELD if entry.holds else _DOUBTED


def _row(ax: Axes, row: int, entry: Entry, scale: float, level: float) -> None:
    color = _colour(entry)
    marker: Style = {"marker": "D" if entry.quoted else "o", "markersize": 5.0, "color": color}
    fill = color if entry.holds else "white"
    bar = reach(entry.found, scale, level) if entry.found.u is not None else None
    value = entry.found.value / scale
    ax.errorbar(value, row, xerr=bar, **marker, markerfacecolor=fill, capsize=2.5, elinewidth=1.1, linestyle="none")
