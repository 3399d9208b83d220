"""Pictures of sweeps and fits: `plot_sweep`, `plot_fit`, `plot_sweeps`.

Measured points are drawn as they are; figures stand at their points with their intervals, their values beside
them in the empty area below the curve. Colours differ in lightness; each series has its own marker and line.
matplotlib is imported only when something is drawn, and nothing is ever shown: the axes come back.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from .quote import between, plus_minus, prefix_exponent, prefixed, quoted

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from ._core import Estimate, Fit, KeyPoints, Sweep

Style = dict[str, Any]
_CURRENT: Style = {"color": "#17355e", "marker": "o", "markersize": 3.6, "linestyle": "-", "linewidth": 0.8}
_POWER: Style = {"color": "#c9782a", "marker": "s", "markersize": 3.2, "linestyle": "--", "linewidth": 0.8}
_FIGURE: Style = {
    "color": "black",
    "marker": "D",
    "markerfacecolor": "white",
    "markersize": 6.0,
    "linestyle": "none",
}
_MODEL: Style = {"color": "#8a8f98", "linestyle": "-", "linewidth": 1.8}
_GRID: Style = {"color": "#dcdcdc", "linewidth": 0.6}
_MOST_PANELS = 100


def plot_sweep(sweep: Sweep, ax: Axes | None = None, *, level: float = 0.95) -> tuple[Axes, Axes]:
    """Current, and below it power, against voltage, with the key points and their intervals at `level`.

    Draws into `ax` (a new figure if None), which is split in two. Returns the axes of current and of power.
    """
    top, bottom = _split(ax, "65%")
    points = sweep.key_points()
    v, i = np.asarray(sweep.voltage_v), np.asarray(sweep.current_a)
    amp, watt = _exponent(i, "A"), _exponent(v * i, "W")
    top.plot(v, i / 10.0**amp, **_CURRENT)
    bottom.plot(v, v * i / 10.0**watt, **_POWER)
    _current_figures(top, points, 10.0**amp, level)
    _power_figures(bottom, points, 10.0**watt, level)
    _name_axes(top, bottom, f"current / {prefixed('A', amp)}", f"power / {prefixed('W', watt)}")
    _keep_peak(bottom, points, 10.0**watt)
    if sweep.label:
        top.set_title(sweep.label, fontsize="medium", loc="left")
    return top, bottom


def plot_fit(fit: Fit, ax: Axes | None = None, *, points: int = 300, level: float | None = 0.95) -> tuple[Axes, Axes]:
    """The fitted curve through the measured points, the parameters beside it, and the residuals below.

    The shaded band holds the true curve with probability `level` at each voltage (`None` leaves it out; a fit without
    uncertainties has none). Parameters whose interval is not symmetric show it in place of ±.
    The residuals are the fit's own: of current or voltage in a prefixed unit, of `nearest` in standard
    uncertainties. The dashed lines are at ± their root mean square. Returns the axes of curve and residuals.
    """
    top, bottom = _split(ax, "45%")
    v, i = np.asarray(fit.sweep.voltage_v), np.asarray(fit.sweep.current_a)
    amp = _exponent(i, "A")
    fine = np.linspace(v.min(), v.max(), points)
    if level is not None:
        _band(top, fit, fine, 10.0**amp, level)
    top.plot(fine, np.asarray(fit.model.current(fine)) / 10.0**amp, **_MODEL)
    top.plot(v, i / 10.0**amp, **(_CURRENT | {"linestyle": "none"}))
    _write_below(top, i, _parameters(fit), "small")
    top.set_title("points: measured, line: model", fontsize="small", loc="right")
    name = _residuals(bottom, fit, v)
    _name_axes(top, bottom, f"current / {prefixed('A', amp)}", name)
    if fit.sweep.label:
        top.set_title(fit.sweep.label, fontsize="medium", loc="left")
    return top, bottom


def plot_sweeps(sweeps: Sequence[Sweep], figure: Figure | None = None, *, columns: int | None = None) -> list[Axes]:
    """All sweeps in one figure, a small panel each, with Isc, Voc and FF written below the curve.

    Panels share the voltage axis, and each has its own current axis. Past the first 100 sweeps the figure's
    title says how many are not drawn.
    """
    drawn = list(sweeps)[:_MOST_PANELS]
    across = columns or max(1, min(5, math.ceil(math.sqrt(len(drawn)))))
    down = max(1, math.ceil(len(drawn) / across))
    if figure is None:
        from matplotlib.figure import Figure as NewFigure

        figure = NewFigure(layout="constrained")
    figure.set_size_inches(2.7 * across + 0.4, 2.1 * down + 0.4)
    grid = figure.subplots(down, across, sharex=True, squeeze=False)
    panels = list(grid.flat)
    for panel, sweep in zip(panels, drawn, strict=False):
        _panel(panel, sweep)
    for spare in panels[len(drawn) :]:
        spare.set_visible(False)
    # A panel with nothing below it carries the voltage axis of its column.
    for column in range(across):
        lowest = max(row for row in range(down) if row * across + column < max(len(drawn), 1) or row == 0)
        grid[lowest, column].set_xlabel("voltage / V", fontsize="small")
        grid[lowest, column].tick_params(labelbottom=True)
    if len(sweeps) > len(drawn):
        figure.suptitle(f"first {len(drawn)} of {len(sweeps)} sweeps", fontsize="medium")
    return panels[: len(drawn)]


def _panel(ax: Axes, sweep: Sweep) -> None:
    v, i = np.asarray(sweep.voltage_v), np.asarray(sweep.current_a)
    amp = _exponent(i, "A")
    points = sweep.key_points()
    ax.plot(v, i / 10.0**amp, **(_CURRENT | {"markersize": 2.2, "linewidth": 0.6}))
    if points.i_pmax is not None and points.v_pmax is not None:
        peak = points.i_pmax.value / 10.0**amp
        ax.plot(points.v_pmax.value, peak, **(_FIGURE | {"markersize": 4.5}))
    lines = [_line("Isc", points.isc), _line("Voc", points.voc), _line("FF", points.ff)]
    ax.axhline(0.0, color="black", linewidth=0.6)
    _leave_room(ax, i / 10.0**amp)
    _write_below(ax, i, "\n".join(lines), "x-small")
    ax.set_title(sweep.label or "", fontsize="small", loc="left", pad=3)
    ax.set_ylabel(f"current / {prefixed('A', amp)}", fontsize="small")
    ax.tick_params(labelsize="x-small")
    _open_frame(ax)


def _leave_room(ax: Axes, current: Any) -> None:
    """Three lines of text fit below a lit curve; a dark one leaves its lower left free."""
    high, low = float(np.max(current)), float(np.min(current))
    span = (high - low) or 1.0
    # A reverse branch far below zero would squeeze the part that matters into the top of a small panel.
    bottom = max(min(low, 0.0), -0.4 * high) if high > 0.2 * span else low
    ax.set_ylim(bottom - 0.06 * span, high + 0.12 * span)


def _write_below(ax: Axes, current: Any, text: str, size: str) -> None:
    """Text in the empty area below a curve: on the zero line if lit, in the lower left corner if dark."""
    high, low = float(np.max(current)), float(np.min(current))
    lit = high > 0.2 * (high - low)
    where = ax.get_yaxis_transform() if lit else ax.transAxes
    ax.annotate(text, (0.05, 0.0), (0, 5), xycoords=where, textcoords="offset points", fontsize=size)


def _line(symbol: str, estimate: Estimate | None) -> str:
    return f"{symbol} {'not determined' if estimate is None else _quote(estimate)}"


def _quote(estimate: Estimate) -> str:
    return quoted(estimate.value, estimate.u, estimate.unit)


def _split(ax: Axes | None, lower: str) -> tuple[Axes, Axes]:
    """An axes and a second one cut from its foot, over one voltage axis."""
    from mpl_toolkits.axes_grid1 import make_axes_locatable  # type: ignore[import-untyped]

    if ax is None:
        from matplotlib import pyplot

        _, ax = pyplot.subplots(figsize=(5.6, 5.4), layout="tight")
    below = make_axes_locatable(ax).append_axes("bottom", size=lower, pad=0.12, sharex=ax)
    return ax, below


def _exponent(values: Any, unit: str) -> int:
    return prefix_exponent(float(np.max(np.abs(values), initial=0.0)), unit)


def _name_axes(top: Axes, bottom: Axes, upper_name: str, lower_name: str) -> None:
    top.set_ylabel(upper_name)
    bottom.set_ylabel(lower_name)
    bottom.set_xlabel("voltage / V")
    top.tick_params(labelbottom=False)
    for ax in (top, bottom):
        ax.axhline(0.0, color="black", linewidth=0.6)
        _open_frame(ax)


def _open_frame(ax: Axes) -> None:
    ax.grid(**_GRID)
    ax.set_axisbelow(True)
    ax.spines[["top", "right"]].set_visible(False)


def _reach(estimate: Estimate, scale: float, level: float) -> list[list[float]]:
    """The two lengths of an interval's bar about the value; an open side has none."""
    interval = estimate.interval(level)
    ends = (None, None) if interval is None else (interval.low, interval.high)
    low, high = (estimate.value if end is None or not math.isfinite(end) else end for end in ends)
    return [[max(0.0, estimate.value - low) / scale], [max(0.0, high - estimate.value) / scale]]


def _current_figures(ax: Axes, points: KeyPoints, scale: float, level: float) -> None:
    isc, voc, v_pmax, i_pmax = points.isc, points.voc, points.v_pmax, points.i_pmax
    bars: Style = {"capsize": 3.0, "elinewidth": 1.1, "zorder": 3}
    if isc is not None:
        ax.errorbar(0.0, isc.value / scale, yerr=_reach(isc, scale, level), **_FIGURE, **bars)
        _beside(ax, (0.0, isc.value / scale), (8, -14), f"Isc  {_quote(isc)}", "left", "top")
    if voc is not None:
        ax.errorbar(voc.value, 0.0, xerr=_reach(voc, 1.0, level), **_FIGURE, **bars)
        _beside(ax, (voc.value, 0.0), (-5, -8), f"Voc  {_quote(voc)}", "right", "top")
        # The label hangs below the zero line, where a lit curve never passes to the left of Voc.
        low, high = ax.get_ylim()
        ax.set_ylim(min(low, -0.2 * high), high)
    if v_pmax is not None and i_pmax is not None:
        both: Style = {"xerr": _reach(v_pmax, 1.0, level), "yerr": _reach(i_pmax, scale, level)}
        ax.errorbar(v_pmax.value, i_pmax.value / scale, **both, **_FIGURE, **bars)
        text = f"{_quote(v_pmax)}\n{_quote(i_pmax)}"
        _beside(ax, (v_pmax.value, i_pmax.value / scale), (-10, -12), text, "right", "top")


def _power_figures(ax: Axes, points: KeyPoints, scale: float, level: float) -> None:
    pmax, v_pmax = points.pmax, points.v_pmax
    if pmax is None or v_pmax is None:
        return
    peak = (v_pmax.value, pmax.value / scale)
    ax.errorbar(*peak, yerr=_reach(pmax, scale, level), **_FIGURE, capsize=3.0, elinewidth=1.1, zorder=3)
    lines = [f"Pmax  {_quote(pmax)}", _line("FF ", points.ff)]
    if points.efficiency is not None:
        share = points.efficiency
        percent = 1.0 if share.unit == "%" else 100.0
        lines.append(f"η  {quoted(percent * share.value, None if share.u is None else percent * share.u, '%')}")
    ax.annotate("\n".join(lines), (peak[0], 0.0), (0, 5), textcoords="offset points", ha="right", fontsize="small")


def _beside(ax: Axes, point: tuple[float, float], offset: tuple[int, int], text: str, across: str, up: str) -> None:
    ax.annotate(text, point, offset, textcoords="offset points", ha=across, va=up, fontsize="small")


def _keep_peak(ax: Axes, points: KeyPoints, scale: float) -> None:
    """Room for three lines below the peak: a deep negative branch past Voc is cut off."""
    if points.pmax is not None and points.pmax.value > 0:
        peak = points.pmax.value / scale
        low, high = ax.get_ylim()
        ax.set_ylim(max(low, -0.25 * peak), high)


def _band(ax: Axes, fit: Fit, voltage_v: Any, scale: float, level: float) -> None:
    # A band by profile costs a hundred fits a point: it is smooth, and few points show it.
    knots = voltage_v[:: max(1, len(voltage_v) // 40)] if fit.needs_profile else voltage_v
    low, high = fit.band(knots, level)
    ax.fill_between(knots, low / scale, high / scale, color=_MODEL["color"], alpha=0.2, linewidth=0)


def _parameters(fit: Fit) -> str:
    symbols = {"iph": "Iph", "i0": "I0", "i01": "I01", "i02": "I02", "rs": "Rs", "rsh": "Rsh"}
    lines = [f"{symbols.get(name, name)}  {_shown(fit, name, found)}" for name, found in fit.parameters.items()]
    return "\n".join(lines if fit.status == "converged" else [*lines, fit.status.replace("_", " ")])


def _shown(fit: Fit, name: str, found: Estimate) -> str:
    if not (fit.needs_profile and name in fit.names):
        return _quote(found)
    interval = fit.interval(name)
    return between(found.value, interval.low, interval.high, found.unit)


def _residuals(ax: Axes, fit: Fit, voltage_v: Any) -> str:
    """Draw the residuals and return the name of their axis."""
    values = np.asarray(fit.residuals, dtype=float)
    unit = {"voltage": "V", "nearest": "1"}.get(fit.residual, "A")
    power = _exponent(values, unit)
    scaled = values / 10.0**power
    ax.vlines(voltage_v, 0.0, scaled, color=_MODEL["color"], linewidth=0.9)
    ax.plot(voltage_v, scaled, **(_CURRENT | {"linestyle": "none"}))
    spread = float(np.sqrt(np.mean(scaled**2))) if scaled.size else 0.0
    for side in (-spread, spread):
        ax.axhline(side, color="black", linewidth=0.7, linestyle=(0, (5, 4)))
    rms = plus_minus(spread, None)
    ax.text(0.99, 0.97, f"rms {rms} {prefixed(unit, power)}".strip(), transform=ax.transAxes, ha="right", va="top")
    ax.texts[-1].set_fontsize("small")
    ax.margins(y=0.25)
    return "residual / u" if unit == "1" else f"residual / {prefixed(unit, power)}"
