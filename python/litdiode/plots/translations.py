"""A translated sweep beside the sweeps it came from."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .._core import Translated
from ..arguments import require
from ..quote import prefixed, quoted
from .shared import CURRENT, MODEL, POWER, Style, exponent, line, name_axes, split

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from .._core import Sweep

_ORIGINS: tuple[Style, ...] = (
    MODEL | {"marker": "o", "markerfacecolor": "white", "markersize": 3.6, "linewidth": 0.9},
    POWER | {"marker": "s", "markerfacecolor": "white", "markersize": 3.4},
)


def plot_translated(translated: Translated, ax: Axes | None = None) -> tuple[Axes, Axes]:
    """The points of a `translated` sweep and the measured ones, and below them their powers.

    Bars are one standard uncertainty of what the translation started from: its parameters, the irradiance, Isc or
    Voc; the scatter of the readings is seen in the points. Draws into `ax` (a new figure if None), which is split in
    two; returns the axes of current and of power.

    ```python
    >>> import litdiode as ld
    >>> from litdiode import plots
    >>> rules = ld.Procedure1(alpha_a_per_k=1.5e-5, beta_v_per_k=-0.0021, rs_ohm=0.4, kappa_ohm_per_k=0.002)
    >>> voltage_v, current_a = [-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041]  # invented
    >>> sweep = ld.Sweep(voltage_v, current_a, irradiance_w_m2=900)
    >>> current, power = plots.plot_translated(sweep.translate(rules, irradiance_w_m2=1000))
    >>> current.get_ylabel(), power.get_xlabel()
    ('current / mA', 'voltage / V')
    ```
    """
    require("translated", translated, Translated, "a litdiode.Translated")
    top, bottom = split(ax, "55%")
    sweep = translated.sweep
    drawn = [*translated.origins, sweep]
    amp = exponent(np.concatenate([s.current_a for s in drawn]), "A")
    peaks = [float(np.max(s.voltage_v * s.current_a)) for s in drawn]
    watt = exponent(max(peaks), "W")
    for origin, style in zip(translated.origins, _ORIGINS, strict=False):
        v, i = _in_order(origin)
        top.plot(v, i / 10.0**amp, **style, label=f"measured: {_condition(origin)}")
        bottom.plot(v, v * i / 10.0**watt, **style)
    v, i = np.asarray(sweep.voltage_v), np.asarray(sweep.current_a)
    order = np.argsort(v, kind="stable")
    bars: Style = {"xerr": translated.u_voltage_v[order], "yerr": translated.u_current_a[order] / 10.0**amp}
    label = f"procedure {translated.procedure}: {_condition(sweep)}"
    top.errorbar(v[order], i[order] / 10.0**amp, **CURRENT, **bars, elinewidth=0.8, label=label)
    bottom.plot(v[order], (v * i)[order] / 10.0**watt, **CURRENT)
    # Room for two lines above the humps; a deep branch past Voc is cut off.
    hump = max(peaks) / 10.0**watt
    bottom.set_ylim(max(bottom.get_ylim()[0], -0.25 * hump), 1.5 * hump)
    _keep_knee(top, max(float(np.max(s.current_a)) for s in drawn) / 10.0**amp)
    _texts(top, bottom, translated)
    name_axes(top, bottom, f"current / {prefixed('A', amp)}", f"power / {prefixed('W', watt)}")
    return top, bottom


def _in_order(sweep: Sweep) -> tuple[np.ndarray, np.ndarray]:
    order = np.argsort(sweep.voltage_v, kind="stable")
    return sweep.voltage_v[order], sweep.current_a[order]


def _condition(sweep: Sweep) -> str:
    light = sweep.irradiance_w_m2
    lit = "" if light is None else f"{quoted(light.value, None, 'W/m²')}, "
    return f"{lit}{quoted(sweep.temperature_c, None, '°C')}"


def _keep_knee(ax: Axes, highest: float) -> None:
    """A deep branch past Voc is cut off, and the legend stands above the curves."""
    low, _ = ax.get_ylim()
    ax.set_ylim(max(low, -0.3 * highest), 1.1 * highest)


def _texts(top: Axes, bottom: Axes, translated: Translated) -> None:
    points = translated.key_points()
    figures = {"Isc ": points.isc, "Voc ": points.voc, "Pmax ": points.pmax, "FF ": points.ff}
    # Above the curves: those of another light may pass anywhere below.
    text = "\n".join(line(symbol, found) for symbol, found in figures.items())
    above: Style = {"xycoords": "axes fraction", "textcoords": "offset points", "ha": "right", "va": "bottom"}
    top.annotate(text, (1.0, 1.0), (0, 4), **above, fontsize="small")
    top.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), fontsize="small", frameon=False, borderaxespad=0.2)
    notes = ["bars: one standard uncertainty of the inputs"] if translated.effects else []
    if translated.warnings:
        count = len(translated.warnings)
        notes.append(f"{count} warning{'s' if count > 1 else ''}: see .warnings")
    if notes:
        text = "\n".join(notes)
        bottom.text(0.01, 0.97, text, transform=bottom.transAxes, ha="left", va="top", fontsize="small")
