"""A decay with its band, and the interval of the time to the share that was asked for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from ..arguments import require
from ..quote import prefix_exponent, prefixed
from ..study import Ageing
from .shared import axes, head_legend, open_frame, series

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_POINTS = 200


def plot_ageing(ageing: Ageing, ax: Axes | None = None) -> Axes:
    """The readings of an `ageing`, the curve with its band, and the interval of the time at the height of the share.

    An interval that is open above ends in an arrow at the last reading. Draws into `ax` (a new figure if None), and
    returns it; a further cell in the same axes gets another colour and marker.

    ```python
    >>> import litdiode as ld
    >>> from litdiode import plots
    >>> time_h = range(0, 90, 10)
    >>> eta = [0.1002, 0.0968, 0.0941, 0.0915, 0.0884, 0.0862, 0.0829, 0.0809, 0.0783]  # invented
    >>> ax = plots.plot_ageing(ld.ageing(time_h, eta, label="cell 3"))
    >>> ax.get_xlabel(), ax.get_ylabel()
    ('time / h', 'efficiency')
    ```
    """
    require("ageing", ageing, Ageing, "a litdiode.Ageing")
    ax = axes(ax)
    style = series(ax)
    power = prefix_exponent(max(map(abs, ageing.values)), ageing.unit)
    scale, start, end = 10.0**power, ageing.time_h[0], ageing.time_h[-1]
    t = np.linspace(start, end, _POINTS)
    low, high = ageing.band(t)
    ax.fill_between(t, low / scale, high / scale, color=style["color"], alpha=0.18, linewidth=0)
    ax.plot(t, ageing.curve(t) / scale, color=style["color"], linewidth=1.2)
    look = style | {"linestyle": "none", "markersize": 4}
    ax.plot(ageing.time_h, np.array(ageing.values) / scale, **look, label=_label(ageing))
    _interval(ax, ageing, scale, style["color"])
    named = prefixed(ageing.unit, power)
    ax.set_xlabel("time / h")
    ax.set_ylabel(f"{ageing.figure} / {named}" if named else ageing.figure)
    head_legend(ax)
    open_frame(ax)
    return ax


def _label(ageing: Ageing) -> str:
    """The cell and its time, as short as they can be."""
    percent = f"{100 * ageing.share:g} %"
    if ageing.time_to_share_h == math.inf:
        return f"{ageing.label}: {percent} not before {ageing.low_h:.4g} h"
    end = "open" if ageing.high_h == math.inf else f"{ageing.high_h:.4g}"
    return f"{ageing.label}: {percent} in {ageing.time_to_share_h:.4g} h ({ageing.low_h:.4g} to {end})"


def _interval(ax: Axes, ageing: Ageing, scale: float, color: str) -> None:
    """The interval of the time as a bar at the height of the share."""
    start, end = ageing.time_h[0], ageing.time_h[-1]
    height = ageing.share * ageing.initial.value / scale
    is_open = ageing.high_h == math.inf
    right = end if is_open else start + ageing.high_h
    ax.plot([start + ageing.low_h, right], [height, height], color=color, linewidth=2.2, solid_capstyle="butt")
    if is_open:
        ax.plot(right, height, color=color, marker=">", markersize=6, clip_on=False)
    if ageing.time_to_share_h < math.inf:
        ax.plot(start + ageing.time_to_share_h, height, color=color, marker="D", markerfacecolor="white", markersize=6)
