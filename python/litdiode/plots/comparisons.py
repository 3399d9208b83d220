"""Comparisons of groups as a chart: a row a pair, the difference with its interval, zero and the margin behind."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from .._core import InputError
from ..arguments import require
from ..quote import plus_minus
from ..study.comparison import Comparison
from ..symbols import SYMBOLS, shown_unit
from .shared import Style, cleared, open_frame

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_LOOK: dict[str, Style] = {
    "different": {"color": "#0072B2", "marker": "D", "markerfacecolor": "#0072B2"},
    "equivalent": {"color": "#009E73", "marker": "s", "markerfacecolor": "#009E73"},
    "undecided": {"color": "#595959", "marker": "o", "markerfacecolor": "white"},
}


def plot_comparisons(comparisons: Sequence[Comparison], ax: Axes | None = None) -> Axes:
    """The differences of `comparisons` of one figure, a row a pair, with their intervals.

    A diamond is different, a square equivalent, a hollow circle undecided; the dashed line is no difference, the shaded
    band the margin of the row. Draws into `ax` (a new figure if None), which is cleared; returns it. Raises
    `InputError` for an empty list and for comparisons of several figures.

    ```python
    >>> import litdiode as ld
    >>> from litdiode import plots
    >>> a = ld.Group("A", [ld.Estimate(x) for x in (0.081, 0.078, 0.083, 0.080, 0.079)])  # invented
    >>> b = ld.Group("B", [ld.Estimate(x) for x in (0.074, 0.077, 0.073, 0.076, 0.075)])
    >>> ax = plots.plot_comparisons([ld.compare(a, b)])
    >>> ax.get_xlabel()
    'difference in η / %'
    ```
    """
    require("comparisons", comparisons, (list, tuple), "a list of what litdiode.compare gives")
    for k, one in enumerate(comparisons):
        require(f"comparisons[{k}]", one, Comparison, "a list of what litdiode.compare gives")
    if not comparisons or len({one.figure for one in comparisons}) > 1:
        raise InputError("comparisons must be of one figure; pass those of one, and one at least")
    ax = cleared(ax, (6.4, 1.1 + 0.5 * len(comparisons)))
    figure, unit = comparisons[0].figure, comparisons[0].difference.unit
    scale, shown = shown_unit(figure, unit, max(max(abs(one.low), abs(one.high)) for one in comparisons))
    for row, one in enumerate(comparisons):
        _row(ax, row, one, scale)
    ax.axvline(0.0, color="black", linewidth=0.9, linestyle=(0, (5, 4)))
    ax.set_yticks(range(len(comparisons)), [_name(one, scale, shown) for one in comparisons], fontsize="small")
    ax.set_ylim(len(comparisons) - 0.5, -0.5)
    ax.set_xlabel(
        f"difference in {SYMBOLS.get(figure, figure)}" + (f" / {shown}" if shown else ""), fontsize="small", loc="right"
    )
    ax.tick_params(axis="x", labelsize="small")
    ax.tick_params(axis="y", length=0)
    ax.margins(x=0.08)
    ax.set_title(f"{100 * comparisons[0].level:.4g} % intervals", fontsize="small", loc="left")
    open_frame(ax)
    return ax


def _name(one: Comparison, scale: float, unit: str) -> str:
    u = one.difference.u
    value = plus_minus(one.difference.value / scale, None if u is None else u / scale)
    shown = f"({value}) {unit}" if unit else value
    return f"{one.first} − {one.second}\n{shown}, {one.verdict}"


def _row(ax: Axes, row: int, one: Comparison, scale: float) -> None:
    if one.margin is not None:
        ax.fill_between([-one.margin / scale, one.margin / scale], row - 0.4, row + 0.4, color="#dddddd", linewidth=0)
    middle = one.difference.value / scale
    bar = [[middle - one.low / scale], [one.high / scale - middle]]
    ax.errorbar(middle, row, xerr=bar, **_LOOK[one.verdict], markersize=6.0, capsize=3.0, elinewidth=1.4)
