"""A plan: its set points on the curve of the expected device, and the uncertainty against the number of points."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from .._core import Plan
from ..arguments import require
from ..quote import prefixed
from ..symbols import SYMBOLS
from .shared import MODEL, Style, exponent, look, open_frame, panels

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_WAYS = ("planned", "equal steps of voltage", "equal steps of current")
#: Shares of the points of the plan at which u is drawn, for a first look.
_SHARES = (0.4, 0.6, 1.0, 1.6, 2.4)


def plot_plan(plan: Plan, ax: Axes | None = None, *, points: Sequence[int] | None = None) -> list[Axes]:
    """The set points of a `plan` on the curve of the expected device, and below it u against the number of points.

    A set point that is read several times has the number beside it. Draws into `ax` (a new figure if None), which is
    divided in two; returns both axes. `points` are the numbers of points at which u is drawn, five about that of the
    plan unless given; each is planned anew.

    ```python
    >>> import litdiode as ld
    >>> from litdiode import plots
    >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
    >>> plan = ld.plan_sweep(dye, noise=ld.Noise(voltage_v=0.002), swept="current")
    >>> curve, u = plots.plot_plan(plan, points=[15, 25])
    >>> u.get_xlabel(), u.get_ylabel()
    ('number of points', 'u(FF) / %')
    ```
    """
    require("plan", plan, Plan, "a litdiode.Plan")
    upper, lower = panels(ax, (6.2, 6.6), (1.2, 1.0), 1)
    _on_the_curve(plan, upper)
    if points is None:
        points = sorted({max(plan.fewest_points, min(1000, round(share * len(plan)))) for share in _SHARES})
    _against_points(plan, lower, points)
    return [upper, lower]


def _on_the_curve(plan: Plan, ax: Axes) -> None:
    voltage, current = plan.curve(300)
    power = exponent(current, "A")
    scale = 10.0**power
    ax.axhline(0.0, color="black", linewidth=0.6)
    ax.plot(voltage, current / scale, **MODEL)
    where, first, counts = np.unique(plan.set_points, return_index=True, return_counts=True)
    v, i = plan.voltage_v[first], plan.current_a[first] / scale
    style: Style = {"color": "#17355e", "markerfacecolor": "white", "markersize": 5.5, "linestyle": "none"}
    ax.plot(v, i, marker="o", **style)
    # Set points too close to be told apart have one number.
    reach = 0.02 * max(float(np.ptp(where)), 1e-300)
    groups: list[list[int]] = []
    for k in range(len(where)):
        if groups and where[k] - where[groups[-1][-1]] < reach:
            groups[-1].append(k)
        else:
            groups.append([k])
    for group in groups:
        total = int(sum(counts[group]))
        if total > 1:
            k = group[len(group) // 2]
            ax.annotate(f"{total}", (v[k], i[k]), (5, 5), textcoords="offset points", fontsize="small")
    ax.set_xlabel("voltage / V")
    ax.set_ylabel(f"current / {prefixed('A', power)}")
    ax.set_title(f"{len(plan)} set points of the {plan.swept}", fontsize="medium", loc="left")
    open_frame(ax)


def _against_points(plan: Plan, ax: Axes, points: Sequence[int]) -> None:
    value = abs(plan.figures[plan.target].value)
    rows = plan.at_points(points)
    for way, name in enumerate(_WAYS):
        known = [(row[0], 100.0 * u / value) for row in rows if (u := row[way + 1]) is not None]
        if known:
            ax.plot(*zip(*known, strict=True), **look(way), markersize=4.5, linewidth=1.1, label=name)
    ax.set_xscale("log")
    ax.set_yscale("log")
    ax.set_xticks([row[0] for row in rows], [str(row[0]) for row in rows])
    ax.minorticks_off()
    low, high = ax.get_ylim()
    ticks = [m * 10.0**e for e in range(-6, 4) for m in (1, 1.5, 2, 3, 4, 5, 7)]
    shown = [t for t in ticks if low <= t <= high]
    ax.set_yticks(shown, [f"{t:g}" for t in shown])
    ax.set_xlabel("number of points")
    ax.set_ylabel(f"u({SYMBOLS.get(plan.target, plan.target)}) / %")
    ax.legend(fontsize="small", frameon=False)
    open_frame(ax)
