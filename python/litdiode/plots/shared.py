"""What all pictures share: styles, the split axes, quoted figures, the reach of an interval."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from ..arguments import require
from ..quote import prefix_exponent, quoted

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from .._core import Estimate, Sweep

Style = dict[str, Any]
CURRENT: Style = {"color": "#17355e", "marker": "o", "markersize": 3.6, "linestyle": "-", "linewidth": 0.8}
POWER: Style = {"color": "#c9782a", "marker": "s", "markersize": 3.2, "linestyle": "--", "linewidth": 0.8}
FIGURE: Style = {
    "color": "black",
    "marker": "D",
    "markerfacecolor": "white",
    "markersize": 6.0,
    "linestyle": "none",
}
MODEL: Style = {"color": "#8a8f98", "linestyle": "-", "linewidth": 1.8}
OUTLIER: Style = {
    "color": "#b3261e",
    "marker": "o",
    "markerfacecolor": "none",
    "markersize": 9.0,
    "linestyle": "none",
}
GRID: Style = {"color": "#dcdcdc", "linewidth": 0.6}


# Colours and markers of curves that lie in one axes, in turn.
_SERIES: tuple[Style, ...] = (
    {"color": "#17355e", "marker": "o"},
    {"color": "#c9782a", "marker": "s"},
    {"color": "#3f8f6b", "marker": "^"},
    {"color": "#8a5a9e", "marker": "v"},
    {"color": "#b3261e", "marker": "P"},
)
_LINES = ("-", "--", ":", "-.")


def axes(ax: Axes | None, size: tuple[float, float] = (5.6, 4.2), layout: str = "constrained") -> Axes:
    """The axes that are given, or those of a new figure of `size` in inches."""
    from matplotlib.axes import Axes

    if ax is None:
        from matplotlib import pyplot

        _, ax = pyplot.subplots(figsize=size, layout=layout)
    require("ax", ax, Axes, "axes of matplotlib, or None for a new figure")
    return ax


def look(k: int) -> Style:
    """The look of the k-th of curves that lie in one axes."""
    return _SERIES[k % len(_SERIES)] | {"linestyle": _LINES[k % len(_LINES)]}


def series(ax: Axes) -> Style:
    """The look of the next of the labelled curves in `ax`."""
    return look(len(ax.get_legend_handles_labels()[0]))


def head_legend(ax: Axes) -> None:
    """A legend above the axes, where nothing is drawn."""
    ax.legend(loc="lower left", bbox_to_anchor=(0.0, 1.01), fontsize="small", frameon=False, borderaxespad=0.0)


def require_figure(figure: Figure | None) -> None:
    """A figure of matplotlib, or a part of one, or None."""
    if figure is not None:
        from matplotlib.figure import FigureBase

        require("figure", figure, FigureBase, "a figure of matplotlib, or None for a new one")


def write_below(ax: Axes, current: Any, text: str, size: str) -> None:
    """Text in the empty area below a curve: on the zero line if lit, in the lower left corner if dark."""
    high, low = float(np.max(current)), float(np.min(current))
    lit = high > 0.2 * (high - low)
    where = ax.get_yaxis_transform() if lit else ax.transAxes
    ax.annotate(text, (0.05, 0.0), (0, 5), xycoords=where, textcoords="offset points", fontsize=size)


def line(symbol: str, estimate: Estimate | None) -> str:
    return f"{symbol} {'not determined' if estimate is None else quote(estimate)}"


def quote(estimate: Estimate) -> str:
    return quoted(estimate.value, estimate.u, estimate.unit)


def cleared(ax: Axes | None, size: tuple[float, float]) -> Axes:
    """The axes without what was drawn there before, or those of a new figure of `size` in inches."""
    ax = axes(ax, size)
    ax.clear()
    return ax


def split(ax: Axes | None, lower: str) -> tuple[Axes, Axes]:
    """An axes and a second one cut from its foot, over one voltage axis; both cleared where they were split before."""
    from mpl_toolkits.axes_grid1 import make_axes_locatable  # type: ignore[import-untyped]

    ax = axes(ax, (5.6, 5.4), "tight")
    below = getattr(ax, "_litdiode_below", None)
    if below is not None and below.figure is not None:
        ax.clear()
        below.clear()
        return ax, below
    below = make_axes_locatable(ax).append_axes("bottom", size=lower, pad=0.12, sharex=ax)
    # The next call finds it.
    ax._litdiode_below = below  # type: ignore[attr-defined]
    return ax, below


def panels(ax: Axes | None, size: tuple[float, float], heights: tuple[float, float], below: int) -> list[Axes]:
    """The upper part of an axes and `below` axes side by side beneath it, heights in the ratio `heights`.

    The axes that is given becomes the upper one; without one all are of a new figure of `size` in inches. What was
    divided before is cleared and used again.
    """
    ax = axes(ax, size)
    known = getattr(ax, "_litdiode_panels", None)
    if known is not None and all(panel.figure is not None for panel in known):
        for panel in known:
            panel.clear()
        return list(known)
    ax.clear()
    found = [ax, *_beneath(ax, heights, below)]
    # The next call finds them.
    ax._litdiode_panels = found  # type: ignore[attr-defined]
    return found


def _beneath(ax: Axes, heights: tuple[float, float], count: int) -> list[Axes]:
    """New axes in the lower part of the place of `ax`, which keeps the upper part."""
    figure, place = ax.figure, ax.get_subplotspec()
    if place is not None:
        grid = place.subgridspec(2, count, height_ratios=heights)
        ax.set_subplotspec(grid[0, :])
        return [figure.add_subplot(grid[1, k]) for k in range(count)]
    # An axes that stands anywhere in its figure: a sixth of its size is left between the parts for labels.
    box = ax.get_position()
    free = box.height / 6
    low = (box.height - free) * heights[1] / sum(heights)
    width = box.width / (count + (count - 1) / 6)
    ax.set_position((box.x0, box.y0 + low + free, box.width, box.height - free - low))
    return [figure.add_axes((box.x0 + k * 7 / 6 * width, box.y0, width, low)) for k in range(count)]


def exponent(values: Any, unit: str) -> int:
    return prefix_exponent(float(np.max(np.abs(values), initial=0.0)), unit)


def name_axes(top: Axes, bottom: Axes, upper_name: str, lower_name: str) -> None:
    top.set_ylabel(upper_name)
    bottom.set_ylabel(lower_name)
    bottom.set_xlabel("voltage / V")
    top.tick_params(labelbottom=False)
    for ax in (top, bottom):
        ax.axhline(0.0, color="black", linewidth=0.6)
        open_frame(ax)


def mark_outliers(ax: Axes, sweep: Sweep, readings: Any, size: float = 9.0) -> None:
    """Rings about the readings that `sweep.findings` calls outliers, with one label."""
    far = [k for finding in sweep.findings if finding.kind == "outlier" for k in finding.points]
    if not far:
        return
    v = np.asarray(sweep.voltage_v)[far]
    ax.plot(v, np.asarray(readings)[far], **(OUTLIER | {"markersize": size}))
    text = "outlier" if len(far) == 1 else "outliers"
    ax.annotate(text, (v[0], np.asarray(readings)[far][0]), (8, 4), textcoords="offset points", fontsize="x-small")
    ax.texts[-1].set_color(str(OUTLIER["color"]))


def open_frame(ax: Axes) -> None:
    ax.grid(**GRID)
    ax.set_axisbelow(True)
    ax.spines[["top", "right"]].set_visible(False)


def reach(estimate: Estimate, scale: float, level: float) -> list[list[float]]:
    """The two lengths of an interval's bar about the value; an open side has none."""
    interval = estimate.interval(level)
    ends = (None, None) if interval is None else (interval.low, interval.high)
    low, high = (estimate.value if end is None or not math.isfinite(end) else end for end in ends)
    return [[max(0.0, estimate.value - low) / scale], [max(0.0, high - estimate.value) / scale]]


def beside(ax: Axes, point: tuple[float, float], offset: tuple[int, int], text: str, across: str, up: str) -> None:
    ax.annotate(text, point, offset, textcoords="offset points", ha=across, va=up, fontsize="small")
