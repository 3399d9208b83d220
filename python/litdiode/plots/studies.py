"""A study: all curves over each other, and every cell beside the mean of its group."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..arguments import require
from ..quote import prefixed
from ..study.group import Summary
from ..study.study import Study
from ..symbols import heading, shown_unit
from .shared import OUTLIER, Style, cleared, exponent, open_frame, reach

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from .._core import Estimate

# M. Okabe and K. Ito, Color Universal Design (2008), in an order in which neighbours differ in lightness as well.
_COLOURS = ("#0072B2", "#E69F00", "#009E73", "#56B4E9", "#D55E00", "#000000", "#CC79A7")
_MARKERS = ("o", "s", "^", "D", "v", "P", "X", "<")
_LINES = ("-", "--", "-.", ":")
#: More curves are drawn without markers.
_MARKED = 40
#: More groups have their legend below the picture.
_INSIDE = 6
#: On narrower axes a legend would lie on the curves.
_WIDE_INCHES = 3.5


def group_style(k: int) -> Style:
    """Colour, marker and line of the group number `k`: told apart in grey and by the colour-blind."""
    return {"color": _COLOURS[k % 7], "marker": _MARKERS[k % 8], "linestyle": _LINES[k % 4]}


def plot_study(study: Study, ax: Axes | None = None) -> Axes:
    """All curves of a `study` over each other, a colour, marker and line a group, with a legend.

    Current densities J where the areas of all drawn sweeps are known, else currents. Where there are groups, sweeps of
    none are left out, and the title says how many. Draws into `ax` (a new figure if None), which is cleared; returns
    it.

    ```python
    >>> import litdiode as ld
    >>> from litdiode import plots
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> sweeps = [ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=k) for k in range(4)]
    >>> ax = plots.plot_study(ld.Study(sweeps, groups=["A", "A", "B", "B"]))
    >>> [text.get_text() for text in ax.get_legend().get_texts()]
    ['A (2)', 'B (2)']
    ```
    """
    require("study", study, Study, "a litdiode.Study")
    ax = cleared(ax, (6.4, 4.6))
    places = study.places or {"": list(range(len(study.sweeps)))}
    drawn = [k for inside in places.values() for k in inside]
    by_area = all(study.sweeps[k].area_cm2 is not None for k in drawn)
    curves = {k: _curve(study, k, by_area) for k in drawn}
    unit = "A/cm²" if by_area else "A"
    high = max(float(np.max(i)) for _, i in curves.values())
    power = exponent(high if high > 0 else np.concatenate([i for _, i in curves.values()]), unit)
    for n, (name, inside) in enumerate(places.items()):
        label = f"{name} ({len(inside)})" if name else None
        _draw(ax, [(v, i / 10.0**power) for v, i in (curves[k] for k in inside)], group_style(n), len(drawn), label)
    _limits(ax, list(curves.values()), high / 10.0**power, 10.0**power)
    ax.axhline(0.0, color="black", linewidth=0.6)
    ax.set_xlabel("voltage / V")
    shown = prefixed(unit, power)
    ax.set_ylabel(f"J / ({shown})" if by_area else f"current / {shown}")
    _titles(ax, study, len(study.sweeps) - len(drawn))
    _legend(ax, len(study.groups))
    open_frame(ax)
    return ax


def _curve(study: Study, k: int, by_area: bool) -> tuple[Any, Any]:
    sweep = study.sweeps[k]
    area = sweep.area_cm2.value if by_area and sweep.area_cm2 is not None else 1.0
    return np.asarray(sweep.voltage_v), np.asarray(sweep.current_a) / area


def _draw(ax: Axes, curves: list[tuple[Any, Any]], style: Style, total: int, label: str | None) -> None:
    if total <= _MARKED:
        look: Style = style | {"linewidth": 0.9, "markersize": 3.2, "markerfacecolor": "white", "markeredgewidth": 0.8}
        for n, (v, i) in enumerate(curves):
            ax.plot(v, i, **look, label=label if n == 0 else None)
        return
    from matplotlib.collections import LineCollection

    lines = [np.column_stack(curve) for curve in curves]
    alpha = max(0.2, min(0.8, 100 / total))
    look = {"colors": style["color"], "linestyles": style["linestyle"], "linewidths": 0.6, "alpha": alpha}
    ax.add_collection(LineCollection(lines, **look))
    # The legend shows the colour as it is, not faded.
    ax.plot([], [], color=style["color"], linestyle=style["linestyle"], label=label)
    ax.autoscale_view()


def _limits(ax: Axes, curves: list[tuple[Any, Any]], high: float, scale: float) -> None:
    """A deep branch past Voc, or below V = 0, would squeeze the part that matters."""
    if high <= 0:
        return
    low = max(min(ax.get_ylim()[0], -0.02 * high), -0.3 * high)
    ax.set_ylim(low, 1.08 * high)
    seen = np.concatenate([v[i / scale > low] for v, i in curves])
    if seen.size and np.ptp(seen) > 0:
        margin = 0.03 * float(np.ptp(seen))
        ax.set_xlim(float(seen.min()) - margin, float(seen.max()) + margin)


def _titles(ax: Axes, study: Study, left_out: int) -> None:
    text = f"not drawn: {left_out} sweep{'s' if left_out > 1 else ''} of no group" if left_out else ""
    ax.set_title(f"{study.title}\n{text}".strip(), fontsize="small", loc="left", wrap=True)


def _legend(ax: Axes, groups: int) -> None:
    """Inside, below the curves, where these leave room for it; else below the axes."""
    figure = ax.get_figure()
    if not groups or figure is None:
        return
    width = ax.get_window_extent().width / figure.dpi
    if groups <= _INSIDE and width > _WIDE_INCHES:
        ax.legend(loc="lower left", fontsize="small", frameon=True, framealpha=0.9, edgecolor="none")
        return
    from matplotlib.transforms import ScaledTranslation

    below = ax.transAxes + ScaledTranslation(0.0, -0.5, figure.dpi_scale_trans)
    place: Style = {"loc": "upper center", "bbox_to_anchor": (0.5, 0.0), "bbox_transform": below, "frameon": False}
    ax.legend(**place, ncols=max(1, min(groups, round(width / 1.6))), fontsize="x-small")


def plot_cells(study: Study, figure: str | None = None, ax: Axes | None = None) -> Axes:
    """Every cell of a `study` as a point with its standard uncertainty, the mean of its group with its interval below.

    A row a group. `figure` is a key point, or a parameter of the fits; None takes the first that the study compares.
    The interval is at the study's `level`; a cell that `Summary.outliers` names has a ring. Draws into `ax` (a new
    figure if None), which is cleared; returns it.

    ```python
    >>> import litdiode as ld
    >>> from litdiode import plots
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> sweeps = [ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=k) for k in range(4)]
    >>> study = ld.Study(sweeps, groups=["A", "A", "B", "B"], figures=["ff"])
    >>> ax = plots.plot_cells(study, "ff")
    >>> ax.get_xlabel(), len(ax.get_yticklabels())
    ('FF', 2)
    ```
    """
    require("study", study, Study, "a litdiode.Study")
    figure = study.figures[0] if figure is None else figure
    require("figure", figure, str, "the name of a figure")
    cells = {name: study.group_for(name, figure).figures(figure) for name in study.groups}
    ax = cleared(ax, (6.4, 1.4 + 0.85 * max(1, len(cells))))
    found = [one for estimates, _, _ in cells.values() for one in estimates]
    if not found:
        ax.text(0.5, 0.5, f"no group has {figure}", transform=ax.transAxes, ha="center")
        ax.set_axis_off()
        return ax
    scale, unit = shown_unit(figure, found[0].unit, max(abs(one.value) for one in found))
    summaries = study.summaries(figure)
    for row, (name, (estimates, places, _)) in enumerate(cells.items()):
        style = group_style(row)
        _points(ax, row, estimates, scale, style)
        summary = summaries[name]
        if isinstance(summary, Summary):
            _mean(ax, row, summary, scale, study.level, style)
            _rings(ax, row, summary, places, study, name, scale)
    ax.set_yticks(range(len(cells)), [f"{name}\n{len(one[0])} of {_count(one)} cells" for name, one in cells.items()])
    ax.tick_params(axis="y", length=0, labelsize="small")
    ax.set_ylim(len(cells) - 0.45, -0.5)
    ax.set_xlabel(heading(figure, unit), loc="right")
    ax.margins(x=0.08)
    ax.set_title(f"cells ± u; diamond: mean, {100 * study.level:g} % interval", fontsize="small", loc="left", wrap=True)
    open_frame(ax)
    return ax


def _count(cells: tuple[list[Any], list[int], list[Any]]) -> int:
    return len(cells[0]) + len(cells[2])


def _heights(row: int, count: int) -> Any:
    """Cells stand above the middle of their row, one below the other."""
    return row + (np.linspace(-0.36, 0.06, count) if count > 1 else np.array([-0.15]))


def _points(ax: Axes, row: int, found: list[Estimate], scale: float, style: Style) -> None:
    if not found:
        return
    values = np.array([one.value for one in found]) / scale
    spread = np.array([one.u or 0.0 for one in found]) / scale
    look: Style = {"color": style["color"], "marker": style["marker"], "linestyle": "none", "markerfacecolor": "white"}
    small = len(found) > _MARKED
    size: Style = {"markersize": 2.0 if small else 4.5, "elinewidth": 0.5 if small else 1.0}
    ax.errorbar(values, _heights(row, len(found)), xerr=spread, **look, **size, capsize=0)


def _mean(ax: Axes, row: int, summary: Summary, scale: float, level: float, style: Style) -> None:
    bar: Style = {"xerr": reach(summary.mean, scale, level), "capsize": 4, "elinewidth": 2.0, "zorder": 4}
    ax.errorbar(summary.mean.value / scale, row + 0.26, **bar, color=style["color"], marker="D", markersize=6.5)


def _rings(ax: Axes, row: int, summary: Summary, places: list[int], study: Study, name: str, scale: float) -> None:
    heights = _heights(row, len(places))
    for place, value, _ in summary.outliers:
        at = (value / scale, float(heights[places.index(place)]))
        ax.plot(*at, **(OUTLIER | {"markersize": 10.0}))
        label = study.labels[study.places[name][place]]
        ax.annotate(label, at, (0, 7), textcoords="offset points", ha="center", fontsize="x-small", color="#b3261e")
