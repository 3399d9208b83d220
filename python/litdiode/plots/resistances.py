"""The table of resistances beside the curve: tangents at Isc and Voc, and every method's figure with its interval."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from ..analysis import Resistances
from ..arguments import require
from ..quote import prefixed
from .forest import Entry, forest
from .shared import CURRENT, FIGURE, Style, exponent, open_frame, panels, quote

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from .._core import Sweep

_SERIES: Style = {"color": "#c9782a", "linestyle": "--", "linewidth": 1.6}
_SHUNT: Style = {"color": "#3f8f6b", "linestyle": "-.", "linewidth": 1.6}
_SHAPES = {"series": "Rs", "shunt": "Rsh"}


def plot_resistances(found: Resistances, ax: Axes | None = None, *, level: float = 0.95) -> list[Axes]:
    """The curve with its tangents above, the figures of all methods with intervals at `level` below, Rs and Rsh.

    `found` is a `Resistances`. Draws into `ax` (a new figure if None), which is divided in three. The tangent at
    Isc has the slope −1/Rsh of "slope at Isc", that at Voc the measured −dV/dI, from which "slope at Voc" takes
    n·VT/Isc off where n is known. A dark sweep without a lit one is drawn as |I| on a logarithmic axis with its
    ohmic region. Filled markers: the assumptions of the method hold; hollow ones: they do not, see the table; a
    diamond: the figure to quote; an arrow: the interval is open above. Returns the axes of curve, Rs and Rsh.

    ```python
    >>> import litdiode as ld
    >>> from litdiode import plots
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> found = ld.resistances(ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1))
    >>> curve, series, shunt = plots.plot_resistances(found)
    >>> series.get_xlabel(), shunt.get_xlabel()
    ('Rs / mΩ', 'Rsh / Ω')
    ```
    """
    require("found", found, Resistances, "what litdiode.resistances gives")
    series, shunt = (_entries(found, quantity) for quantity in _SHAPES)
    rows = max(len(series), len(shunt), 1)
    curve, left, right = panels(ax, (7.6, 4.0 + 0.36 * rows), (1.0, 0.2 + 0.13 * rows), 2)
    if found.lit is not None:
        _lit(curve, found, found.lit)
    elif found.dark is not None:
        _dark(curve, found, found.dark)
    else:
        curve.text(0.5, 0.5, "no sweep was given", transform=curve.transAxes, ha="center")
        curve.set_axis_off()
    forest(left, series, "Rs", level)
    forest(right, shunt, "Rsh", level)
    return [curve, left, right]


def _entries(found: Resistances, quantity: str) -> list[Entry]:
    quoted = found.quote[quantity]
    own = (r for r in found.rows if r.quantity == quantity)
    return [Entry(r.method, r.resistance, holds=not r.doubt, quoted=r == quoted) for r in own]


def _lit(ax: Axes, found: Resistances, sweep: Sweep) -> None:
    v, i = np.asarray(sweep.voltage_v), np.asarray(sweep.current_a)
    amp = exponent(i, "A")
    scale = 10.0**amp
    points = sweep.key_points()
    ax.plot(v, i / scale, **(CURRENT | {"linestyle": "none"}))
    high = 1.15 * float(np.max(i)) / scale
    low = -0.3 * high
    at_isc = found.get("shunt", "slope at Isc")
    if at_isc is not None and points.isc is not None and points.voc is not None:
        ends = np.array([min(float(v.min()), 0.0), points.voc.value])
        label = f"tangent at Isc: Rsh {quote(at_isc.resistance)}"
        ax.plot(ends, (points.isc.value - ends / at_isc.resistance.value) / scale, **_SHUNT, label=label)
    if found.slope_at_voc is not None and points.voc is not None:
        ohm = found.slope_at_voc.value
        reached = np.array([0.95 * high, 0.95 * low])
        label = f"tangent at Voc: −dV/dI {quote(found.slope_at_voc)}"
        ax.plot(points.voc.value - ohm * reached * scale, reached, **_SERIES, label=label)
    if points.isc is not None:
        ax.plot(0.0, points.isc.value / scale, **FIGURE)
    if points.voc is not None:
        ax.plot(points.voc.value, 0.0, **FIGURE)
    _frame(ax, f"current / {prefixed('A', amp)}", sweep, "center left")
    ax.axhline(0.0, color="black", linewidth=0.6)
    ax.set_ylim(low, high)
    margin = 0.04 * float(np.ptp(v))
    ax.set_xlim(float(v.min()) - margin, float(v.max()) + margin)


def _dark(ax: Axes, found: Resistances, sweep: Sweep) -> None:
    v, i = np.asarray(sweep.voltage_v), np.asarray(sweep.current_a)
    ohmic = found.get("shunt", "dark ohmic region")
    ax.semilogy(v, np.abs(i), **(CURRENT | {"linestyle": "none"}))
    if ohmic is not None:
        limits = ax.get_ylim()
        line = np.linspace(v.min(), v.max(), 400)
        line = line[np.abs(line) > 1e-3 * np.ptp(v)]
        label = f"|V|/Rsh, Rsh {quote(ohmic.resistance)}"
        ax.plot(line, np.abs(line) / ohmic.resistance.value, **_SHUNT, label=label)
        ax.set_ylim(limits)
    _frame(ax, "|current| / A", sweep, "upper center")


def _frame(ax: Axes, name: str, sweep: Sweep, place: Literal["center left", "upper center"]) -> None:
    ax.set_xlabel("voltage / V", fontsize="small")
    ax.set_ylabel(name, fontsize="small")
    ax.tick_params(labelsize="small")
    if ax.get_legend_handles_labels()[1]:
        ax.legend(fontsize="small", frameon=False, loc=place)
    if sweep.label:
        ax.set_title(sweep.label, fontsize="medium", loc="left")
    open_frame(ax)
