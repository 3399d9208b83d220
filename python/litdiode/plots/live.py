"""A live sweep: the readings so far, the running curve, the next set point."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .._core import LiveSweep
from ..arguments import require, require_count
from ..quote import prefixed
from ..symbols import SYMBOLS
from .shared import CURRENT, MODEL, OUTLIER, cleared, exponent, line, open_frame, write_below

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def plot_live_sweep(live: LiveSweep, ax: Axes | None = None, *, points: int = 200) -> Axes:
    """The readings of a `live` sweep so far, with rings about those that are flagged, the running curve at `points`
    places, and a line at the set point that is asked for.

    Draws into `ax` (a new figure if None), which it clears, so that it may be called after every reading. Returns the
    axes.

    ```python
    >>> import litdiode as ld
    >>> from litdiode import plots
    >>> live = ld.LiveSweep(limits_v=(-0.1, 0.8), limits_a=(-0.05, 0.05), noise=ld.Noise(current_a=2e-5))
    >>> for voltage_v, current_a in [(0.0, 0.0300), (0.3, 0.0296), (0.45, 0.0280), (0.6, -0.0200)]:  # invented
    ...     live.push(voltage_v, current_a)
    >>> ax = plots.plot_live_sweep(live)
    >>> ax.get_xlabel(), ax.get_ylabel()
    ('voltage / V', 'current / mA')
    ```
    """
    require("live", live, LiveSweep, "a litdiode.LiveSweep")
    require_count("points", points)
    ax = cleared(ax, (5.6, 4.2))
    v, i = np.asarray(live.voltage_v), np.asarray(live.current_a)
    amp = exponent(i, "A")
    ax.plot(v, i / 10.0**amp, **(CURRENT | {"linestyle": "none"}))
    flagged = [k for k, flag in enumerate(live.flags) if flag is not None]
    if flagged:
        ax.plot(v[flagged], i[flagged] / 10.0**amp, **OUTLIER)
    if len(v) > 1:
        at = np.linspace(float(np.min(v)), float(np.max(v)), points)
        curve = live.curve(at)
        if curve is not None:
            ax.plot(at, curve / 10.0**amp, zorder=1, **MODEL)
    _next(ax, live, amp)
    if len(v):
        known = getattr(live.key_points(), live.target)
        write_below(ax, i, line(SYMBOLS.get(live.target, live.target), known), "small")
    ax.axhline(0.0, color="black", linewidth=0.6)
    ax.set_xlabel("voltage / V")
    ax.set_ylabel(f"current / {prefixed('A', amp)}")
    ax.set_title(live.reason or f"{len(live)} readings", fontsize="small", loc="left", wrap=True)
    open_frame(ax)
    return ax


def _next(ax: Axes, live: LiveSweep, amp: int) -> None:
    """A line at the set point, turned to generator sign as the readings are."""
    point = live.next_set_point()
    if point is None:
        return
    if live.swept == "voltage":
        turn = -1.0 if live.leads == "swapped" else 1.0
        ax.axvline(turn * point.value, color="#3f8f6b", linestyle=":", linewidth=1.0)
    else:
        turn = (-1.0 if live.leads == "swapped" else 1.0) * (-1.0 if live.sign == "load" else 1.0)
        ax.axhline(turn * point.value / 10.0**amp, color="#3f8f6b", linestyle=":", linewidth=1.0)
