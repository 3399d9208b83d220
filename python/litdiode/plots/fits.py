"""A fit: the curve through the points, the parameters beside it, the residuals below."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from .._core import Fit
from ..arguments import require, require_count
from ..quote import between, plus_minus, prefixed
from .shared import CURRENT, MODEL, exponent, mark_outliers, name_axes, quote, split, write_below

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from .._core import Estimate


def plot_fit(fit: Fit, ax: Axes | None = None, *, points: int = 300, level: float | None = 0.95) -> tuple[Axes, Axes]:
    """The fitted curve of a `fit` through the measured points, the parameters beside it, and the residuals below.

    Draws into `ax` (a new figure if None), which is split in two; the curve has `points` points. The shaded band holds
    the true curve with probability `level` at each voltage (`None` leaves it out; a fit without uncertainties has
    none). Parameters whose interval is not symmetric show it in place of ±. The residuals are the fit's own: of
    current or voltage in a prefixed unit, of `nearest` in standard uncertainties. The dashed lines are at ± their
    root mean square. Returns the axes of curve and residuals.

    ```python
    >>> import litdiode as ld
    >>> from litdiode import plots
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
    >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
    >>> curve, residuals = plots.plot_fit(ld.fit_single_diode(sweep), level=None)
    >>> curve.get_ylabel(), residuals.get_ylabel()
    ('current / mA', 'residual / µV')
    ```
    """
    require("fit", fit, Fit, "a litdiode.Fit")
    require_count("points", points)
    top, bottom = split(ax, "45%")
    v, i = np.asarray(fit.sweep.voltage_v), np.asarray(fit.sweep.current_a)
    amp = exponent(i, "A")
    fine = np.linspace(v.min(), v.max(), points)
    if level is not None:
        _band(top, fit, fine, 10.0**amp, level)
    top.plot(fine, np.asarray(fit.model.current(fine)) / 10.0**amp, **MODEL)
    top.plot(v, i / 10.0**amp, **(CURRENT | {"linestyle": "none"}))
    mark_outliers(top, fit.sweep, i / 10.0**amp)
    write_below(top, i, _parameters(fit), "small")
    top.set_title("points: measured, line: model", fontsize="small", loc="right")
    name = _residuals(bottom, fit, v)
    name_axes(top, bottom, f"current / {prefixed('A', amp)}", name)
    if fit.sweep.label:
        top.set_title(fit.sweep.label, fontsize="medium", loc="left")
    return top, bottom


def _band(ax: Axes, fit: Fit, voltage_v: Any, scale: float, level: float) -> None:
    # A band by profile costs a hundred fits a point: it is smooth, and few points show it.
    knots = voltage_v[:: max(1, len(voltage_v) // 40)] if fit.needs_profile else voltage_v
    low, high = fit.band(knots, level)
    ax.fill_between(knots, low / scale, high / scale, color=MODEL["color"], alpha=0.2, linewidth=0)


def _parameters(fit: Fit) -> str:
    symbols = {"iph": "Iph", "i0": "I0", "i01": "I01", "i02": "I02", "rs": "Rs", "rsh": "Rsh"}
    lines = [f"{symbols.get(name, name)}  {_shown(fit, name, found)}" for name, found in fit.parameters.items()]
    return "\n".join(lines if fit.status == "converged" else [*lines, fit.status.replace("_", " ")])


def _shown(fit: Fit, name: str, found: Estimate) -> str:
    if not (fit.needs_profile and name in fit.names):
        return quote(found)
    interval = fit.interval(name)
    return between(found.value, interval.low, interval.high, found.unit)


def _residuals(ax: Axes, fit: Fit, voltage_v: Any) -> str:
    """Draw the residuals and return the name of their axis."""
    values = np.asarray(fit.residuals, dtype=float)
    unit = {"voltage": "V", "nearest": "1"}.get(fit.residual, "A")
    power = exponent(values, unit)
    scaled = values / 10.0**power
    ax.vlines(voltage_v, 0.0, scaled, color=MODEL["color"], linewidth=0.9)
    ax.plot(voltage_v, scaled, **(CURRENT | {"linestyle": "none"}))
    spread = float(np.sqrt(np.mean(scaled**2))) if scaled.size else 0.0
    for side in (-spread, spread):
        ax.axhline(side, color="black", linewidth=0.7, linestyle=(0, (5, 4)))
    rms = plus_minus(spread, None)
    ax.text(0.99, 0.97, f"rms {rms} {prefixed(unit, power)}".strip(), transform=ax.transAxes, ha="right", va="top")
    ax.texts[-1].set_fontsize("small")
    ax.margins(y=0.25)
    return "residual / u" if unit == "1" else f"residual / {prefixed(unit, power)}"
