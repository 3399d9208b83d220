"""The table of maximum powers: every method's point on the measured power, and the figures side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..analysis import MaximumPowers
from ..arguments import require
from ..quote import prefixed
from .forest import Entry, forest
from .shared import POWER, Style, exponent, open_frame, panels

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from ..analysis import PowerRow

# Readings down to this share of the highest power are shown.
_SHOWN = 0.75
# Hollow and of different sizes: several methods often find all but the same place.
_STYLES: dict[str, Style] = {
    "highest sample": {"color": "#55585e", "marker": "s", "markersize": 7.0},
    "guided curve": {"color": "#17355e", "marker": "o", "markersize": 11.0},
    "smooth curve": {"color": "#3f8f6b", "marker": "v", "markersize": 8.0},
    "diode model": {"color": "#7a3b8f", "marker": "+", "markersize": 12.0},
}


def plot_maximum_powers(found: MaximumPowers, ax: Axes | None = None, *, level: float = 0.95) -> list[Axes]:
    """The measured power about its maximum with every method's point, and below it the figures of all methods.

    `found` is a `MaximumPowers`. Draws into `ax` (a new figure if None), which is divided in two. Bars are intervals at
    `level`. The diamond is the one to quote; without one the whole sweep is shown. Returns the axes of the
    power and of the chart.

    ```python
    >>> import litdiode as ld
    >>> from litdiode import plots
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> found = ld.maximum_powers(ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1))
    >>> power, chart = plots.plot_maximum_powers(found)
    >>> power.get_ylabel(), chart.get_xlabel()
    ('power / mW', 'Pmax / mW')
    ```
    """
    require("found", found, MaximumPowers, "what litdiode.maximum_powers gives")
    top, bottom = panels(ax, (6.2, 5.8), (1.0, 0.22 + 0.22 * max(1, len(found.rows))), 1)
    _measured(top, found)
    forest(bottom, [_entry(row, found) for row in found.rows], "Pmax", level)
    return [top, bottom]


def _entry(row: PowerRow, found: MaximumPowers) -> Entry:
    if found.quote is None or found.quote.method != row.method:
        return Entry(row.method, row.pmax)
    # What is quoted may carry a larger uncertainty than the method's own.
    return Entry(f"{row.method} (quoted)", found.quote.pmax, quoted=True)


def _measured(ax: Axes, found: MaximumPowers) -> None:
    v, i = np.asarray(found.sweep.voltage_v), np.asarray(found.sweep.current_a)
    order = np.argsort(v, kind="stable")
    power = (v * i)[order]
    watt = exponent(power if found.quote is None else found.quote.pmax.value, "W")
    scale = 10.0**watt
    ax.plot(v[order], power / scale, **(POWER | {"color": "#c9c2b8"}), label="readings")
    if found.window_v is not None:
        ax.axvspan(*found.window_v, color="#c9c2b8", alpha=0.25, lw=0, label="readings about the maximum")
    for row in found.rows:
        style = _STYLES.get(row.method, {"color": "black", "marker": "x"})
        hollow: Style = {"markerfacecolor": "none", "markeredgewidth": 1.4, "linestyle": "none"}
        ax.plot(row.v_pmax, row.pmax.value / scale, **style, **hollow, label=row.method)
    # Without one to quote there is no hump to look at closely.
    if found.quote is not None:
        _close_up(ax, v[order], power / scale, max(row.pmax.value for row in found.rows) / scale)
    ax.set_xlabel("voltage / V", fontsize="small")
    ax.set_ylabel(f"power / {prefixed('W', watt)}", fontsize="small")
    ax.tick_params(labelsize="x-small")
    ax.legend(fontsize="x-small", frameon=False, loc="lower center" if found.quote is not None else "lower left")
    if found.sweep.label:
        ax.set_title(found.sweep.label, fontsize="medium", loc="left")
    open_frame(ax)


def _close_up(ax: Axes, voltage_v: np.ndarray, power: np.ndarray, peak: float) -> None:
    near = np.flatnonzero(power > _SHOWN * peak)
    if near.size:
        ends = voltage_v[near[[0, -1]]]
        margin = 0.06 * max(float(ends[1] - ends[0]), 1e-3 * abs(float(ends[1])))
        ax.set_xlim(ends[0] - margin, ends[1] + margin)
    # Room for the legend below the hump.
    ax.set_ylim((_SHOWN - 0.02) * peak, 1.03 * max(peak, float(power.max())))
