"""What an uncertainty is made of, as bars."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .._core import Budget
from ..arguments import require
from ..quote import prefix_exponent, prefixed, quoted
from .shared import CURRENT, open_frame, quote

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def plot_budget(budget: Budget, ax: Axes | None = None) -> Axes:
    """The contributions of a `budget` as bars, the largest on top, each with its share of u².

    Draws into `ax` (a new figure if None), and returns it.

    ```python
    >>> import litdiode as ld
    >>> from litdiode import plots
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> sweep = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
    >>> ax = plots.plot_budget(sweep.correct([ld.Gain(current=ld.Estimate(1.0, 0.01))]).budget("isc"))
    >>> [text.get_text() for text in ax.get_yticklabels()]
    ['current gain', 'scatter of the readings', 'shape of the curve between the readings']
    ```
    """
    require("budget", budget, Budget, "a litdiode.Budget")
    if ax is None:
        from matplotlib import pyplot

        height = 1.0 + 0.34 * max(1, len(budget.contributions))
        _, ax = pyplot.subplots(figsize=(5.6, height), layout="constrained")
    from matplotlib.axes import Axes as Drawn

    require("ax", ax, Drawn, "axes of matplotlib, or None for a new figure")
    unit = budget.estimate.unit
    power = prefix_exponent(max((u for _, u, _ in budget.contributions), default=0.0), unit)
    rows = range(len(budget.contributions))
    ax.barh(rows, [u / 10.0**power for _, u, _ in budget.contributions], height=0.6, color=CURRENT["color"])
    for row, (_, u, share) in enumerate(budget.contributions):
        text = f"{quoted(u, None, unit)}, {100 * share:.1f} %"
        ax.annotate(text, (u / 10.0**power, row), (4, 0), textcoords="offset points", va="center", fontsize="x-small")
    ax.set_yticks(rows, [source for source, _, _ in budget.contributions], fontsize="small")
    ax.set_ylim(len(budget.contributions) - 0.4, -0.6)
    # Room for the text behind the longest bar.
    ax.set_xlim(0.0, 1.45 * max((u / 10.0**power for _, u, _ in budget.contributions), default=1.0))
    ax.set_xlabel(f"standard uncertainty / {prefixed(unit, power)}" if unit else "standard uncertainty")
    ax.set_title(f"{budget.symbol}: {quote(budget.estimate)}", fontsize="medium", loc="left")
    ax.locator_params(axis="x", nbins=5)
    ax.tick_params(axis="x", labelsize="small")
    ax.tick_params(axis="y", length=0)
    open_frame(ax)
    return ax
