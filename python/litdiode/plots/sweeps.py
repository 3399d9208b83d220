"""One sweep with its key points, and many sweeps in one figure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from .._core import InputError, Sweep
from ..arguments import require, require_count
from ..quote import prefixed, quoted
from .shared import (
    CURRENT,
    FIGURE,
    POWER,
    Style,
    beside,
    exponent,
    line,
    mark_outliers,
    name_axes,
    open_frame,
    quote,
    reach,
    require_figure,
    split,
    write_below,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from .._core import KeyPoints

#: More panels are too small to read, and take seconds to draw.
_MOST_PANELS = 24


def plot_sweep(sweep: Sweep, ax: Axes | None = None, *, level: float = 0.95) -> tuple[Axes, Axes]:
    """Current, and below it power, of a `sweep` against voltage, with the key points.

    Bars are intervals at `level`; a reading that `sweep.findings` calls an outlier has a ring. Draws into `ax` (a new
    figure if None), which is split in two. Returns the axes of current and of power.

    ```python
    >>> import litdiode as ld
    >>> from litdiode import plots
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
    >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
    >>> current, power = plots.plot_sweep(sweep)
    >>> current.get_ylabel(), power.get_ylabel()
    ('current / mA', 'power / mW')
    ```
    """
    require("sweep", sweep, Sweep, "a litdiode.Sweep")
    top, bottom = split(ax, "65%")
    points = sweep.key_points()
    v, i = np.asarray(sweep.voltage_v), np.asarray(sweep.current_a)
    amp, watt = exponent(i, "A"), exponent(v * i, "W")
    top.plot(v, i / 10.0**amp, **CURRENT)
    bottom.plot(v, v * i / 10.0**watt, **POWER)
    mark_outliers(top, sweep, i / 10.0**amp)
    _current_figures(top, points, 10.0**amp, level)
    _power_figures(bottom, points, 10.0**watt, level)
    name_axes(top, bottom, f"current / {prefixed('A', amp)}", f"power / {prefixed('W', watt)}")
    _keep_peak(bottom, points, 10.0**watt)
    if sweep.label:
        top.set_title(sweep.label, fontsize="medium", loc="left")
    return top, bottom


def plot_sweeps(
    sweeps: Sequence[Sweep],
    figure: Figure | None = None,
    *,
    columns: int | None = None,
    labels: Sequence[str] | None = None,
) -> list[Axes]:
    """All `sweeps` in one figure: up to 24 with a small panel each and Isc, Voc and FF written below the curve;
    more as thin curves over each other, the point of maximum power of each marked.

    Draws into `figure` (a new one if None), in `columns` columns (about as many as rows, 5 at most, if None). Panels
    share the voltage axis, and each has its own current axis; its title is the label of the sweep, or that of `labels`,
    a list of one text each. Returns the axes of the panels, or of the one plot.

    ```python
    >>> import litdiode as ld
    >>> from litdiode import plots
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> sweeps = [ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=k) for k in range(3)]
    >>> panels = plots.plot_sweeps(sweeps, columns=3, labels=["one", "two", "three"])
    >>> [panel.get_title(loc="left") for panel in panels]
    ['one', 'two', 'three']
    ```
    """
    require_figure(figure)
    require("sweeps", sweeps, Iterable, "a list of litdiode.Sweep")
    for k, sweep in enumerate(sweeps := list(sweeps)):
        require(f"sweeps[{k}]", sweep, Sweep, "a list of litdiode.Sweep")
    if columns is not None:
        require_count("columns", columns)
    titles = [sweep.label or "" for sweep in sweeps] if labels is None else _titles(labels, len(sweeps))
    if len(sweeps) > _MOST_PANELS:
        return [_over_each_other(sweeps, figure)]
    drawn = sweeps
    across = columns or max(1, min(5, math.ceil(math.sqrt(len(drawn)))))
    down = max(1, math.ceil(len(drawn) / across))
    if figure is None:
        from matplotlib.figure import Figure as NewFigure

        figure = NewFigure(layout="constrained")
    figure.set_size_inches(2.7 * across + 0.4, 2.1 * down + 0.4)
    grid = figure.subplots(down, across, sharex=True, squeeze=False)
    panels = list(grid.flat)
    for panel, sweep, title in zip(panels, drawn, titles, strict=False):
        _panel(panel, sweep, title)
    for spare in panels[len(drawn) :]:
        spare.set_visible(False)
    # A panel with nothing below it carries the voltage axis of its column.
    for column in range(across):
        lowest = max(row for row in range(down) if row * across + column < max(len(drawn), 1) or row == 0)
        grid[lowest, column].set_xlabel("voltage / V", fontsize="small")
        grid[lowest, column].tick_params(labelbottom=True)
    return panels[: len(drawn)]


def _over_each_other(sweeps: list[Sweep], figure: Figure | None) -> Axes:
    from matplotlib.collections import LineCollection

    if figure is None:
        from matplotlib.figure import Figure as NewFigure

        figure = NewFigure(layout="constrained")
    figure.set_size_inches(6.4, 4.8)
    ax = figure.subplots()
    curves = [(np.asarray(sweep.voltage_v), np.asarray(sweep.current_a)) for sweep in sweeps]
    amp = exponent(np.concatenate([i for _, i in curves]), "A")
    lines = [np.column_stack((v, i / 10.0**amp)) for v, i in curves]
    style: Style = {"colors": CURRENT["color"], "linewidths": 0.6, "alpha": max(0.15, min(0.6, 30 / len(lines)))}
    ax.add_collection(LineCollection(lines, **style))
    found = [sweep.key_points() for sweep in sweeps]
    peaks = [
        (p.v_pmax.value, p.i_pmax.value / 10.0**amp) for p in found if p.v_pmax is not None and p.i_pmax is not None
    ]
    if peaks:
        ax.plot(*zip(*peaks, strict=True), **(FIGURE | {"markersize": 3.0, "markeredgewidth": 0.6}))
    ax.autoscale_view()
    # A reverse branch far below zero would squeeze the part that matters.
    high = max(float(np.max(line[:, 1])) for line in lines)
    low = ax.get_ylim()[0]
    ax.set_ylim(*((max(low, -0.4 * high), 1.08 * high) if high > 0 else (low, None)))
    ax.axhline(0.0, color="black", linewidth=0.6)
    ax.set_title(f"{len(sweeps)} sweeps and their points of maximum power", fontsize="medium", loc="left")
    ax.set_xlabel("voltage / V")
    ax.set_ylabel(f"current / {prefixed('A', amp)}")
    open_frame(ax)
    return ax


def _titles(labels: Sequence[str], count: int) -> list[str]:
    require("labels", labels, (list, tuple), "a list of texts, one a sweep")
    for k, label in enumerate(labels):
        require(f"labels[{k}]", label, str, "a list of texts, one a sweep")
    if len(labels) != count:
        raise InputError(f"labels has {len(labels)} texts for {count} sweeps; pass one each")
    return list(labels)


def _panel(ax: Axes, sweep: Sweep, title: str) -> None:
    v, i = np.asarray(sweep.voltage_v), np.asarray(sweep.current_a)
    amp = exponent(i, "A")
    points = sweep.key_points()
    ax.plot(v, i / 10.0**amp, **(CURRENT | {"markersize": 2.2, "linewidth": 0.6}))
    mark_outliers(ax, sweep, i / 10.0**amp, 6.0)
    if points.i_pmax is not None and points.v_pmax is not None:
        peak = points.i_pmax.value / 10.0**amp
        ax.plot(points.v_pmax.value, peak, **(FIGURE | {"markersize": 4.5}))
    lines = [line("Isc", points.isc), line("Voc", points.voc), line("FF", points.ff)]
    ax.axhline(0.0, color="black", linewidth=0.6)
    _leave_room(ax, i / 10.0**amp)
    write_below(ax, i, "\n".join(lines), "x-small")
    ax.set_title(title, fontsize="small", loc="left", pad=3)
    ax.set_ylabel(f"current / {prefixed('A', amp)}", fontsize="small")
    ax.tick_params(labelsize="x-small")
    open_frame(ax)


def _leave_room(ax: Axes, current: Any) -> None:
    """Three lines of text fit below a lit curve; a dark one leaves its lower left free."""
    high, low = float(np.max(current)), float(np.min(current))
    span = (high - low) or 1.0
    # A reverse branch far below zero would squeeze the part that matters into the top of a small panel.
    bottom = max(min(low, 0.0), -0.4 * high) if high > 0.2 * span else low
    ax.set_ylim(bottom - 0.06 * span, high + 0.12 * span)


def _current_figures(ax: Axes, points: KeyPoints, scale: float, level: float) -> None:
    isc, voc, v_pmax, i_pmax = points.isc, points.voc, points.v_pmax, points.i_pmax
    bars: Style = {"capsize": 3.0, "elinewidth": 1.1, "zorder": 3}
    if isc is not None:
        ax.errorbar(0.0, isc.value / scale, yerr=reach(isc, scale, level), **FIGURE, **bars)
        beside(ax, (0.0, isc.value / scale), (8, -14), f"Isc  {quote(isc)}", "left", "top")
    if voc is not None:
        ax.errorbar(voc.value, 0.0, xerr=reach(voc, 1.0, level), **FIGURE, **bars)
        beside(ax, (voc.value, 0.0), (-5, -8), f"Voc  {quote(voc)}", "right", "top")
        # The label hangs below the zero line, where a lit curve never passes to the left of Voc.
        low, high = ax.get_ylim()
        ax.set_ylim(min(low, -0.2 * high), high)
    if v_pmax is not None and i_pmax is not None:
        both: Style = {"xerr": reach(v_pmax, 1.0, level), "yerr": reach(i_pmax, scale, level)}
        ax.errorbar(v_pmax.value, i_pmax.value / scale, **both, **FIGURE, **bars)
        text = f"{quote(v_pmax)}\n{quote(i_pmax)}"
        beside(ax, (v_pmax.value, i_pmax.value / scale), (-10, -12), text, "right", "top")


def _power_figures(ax: Axes, points: KeyPoints, scale: float, level: float) -> None:
    pmax, v_pmax = points.pmax, points.v_pmax
    if pmax is None or v_pmax is None:
        return
    peak = (v_pmax.value, pmax.value / scale)
    ax.errorbar(*peak, yerr=reach(pmax, scale, level), **FIGURE, capsize=3.0, elinewidth=1.1, zorder=3)
    lines = [f"Pmax  {quote(pmax)}", line("FF ", points.ff)]
    if points.efficiency is not None:
        share = points.efficiency
        percent = 1.0 if share.unit == "%" else 100.0
        lines.append(f"η  {quoted(percent * share.value, None if share.u is None else percent * share.u, '%')}")
    ax.annotate("\n".join(lines), (peak[0], 0.0), (0, 5), textcoords="offset points", ha="right", fontsize="small")


def _keep_peak(ax: Axes, points: KeyPoints, scale: float) -> None:
    """Room for three lines below the peak: a deep negative branch past Voc is cut off."""
    if points.pmax is not None and points.pmax.value > 0:
        peak = points.pmax.value / scale
        low, high = ax.get_ylim()
        ax.set_ylim(max(low, -0.25 * peak), high)
