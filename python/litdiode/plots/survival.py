"""The share of a group of cells that lasts longer than a time, as steps."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from ..arguments import require
from ..study import Survival
from .shared import axes, head_legend, open_frame, series

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def plot_survival(survival: Survival, ax: Axes | None = None) -> Axes:
    """The steps of a `survival` with their band; a tick for each cell that had not failed when it was last seen.

    Draws into `ax` (a new figure if None), and returns it; a further group in the same axes gets another colour and
    line.

    ```python
    >>> import litdiode as ld
    >>> from litdiode import plots
    >>> time_h = [90, 100, 120, 150, 160, 200, 200]  # invented
    >>> failed = [True, True, True, True, True, False, False]
    >>> ax = plots.plot_survival(ld.survival(time_h, failed, label="recipe A"))
    >>> ax.get_xlabel(), ax.get_ylabel()
    ('time / h', 'share of the cells')
    ```
    """
    require("survival", survival, Survival, "a litdiode.Survival")
    ax = axes(ax)
    style = series(ax)
    color, last = style["color"], max(survival.time_h)
    times = np.array([0.0, *survival.steps_h, last])
    share = np.array([1.0, *survival.share])
    label = f"{survival.label}: median {survival.median_h:.4g} h"
    if survival.median_h == math.inf:
        label = f"{survival.label}: median not reached"
    ax.plot(times, [*share, share[-1]], drawstyle="steps-post", color=color, linestyle=style["linestyle"], label=label)
    low, high = ([1.0, *(math.nan if x is None else x for x in ends)] for ends in (survival.low, survival.high))
    ax.fill_between(times, [*low, low[-1]], [*high, high[-1]], step="post", color=color, alpha=0.15, linewidth=0)
    seen = np.array([t for t, failed in zip(survival.time_h, survival.failed, strict=True) if not failed])
    if len(seen):
        heights = share[np.searchsorted(survival.steps_h, seen, side="right")]
        ax.plot(seen, heights, color=color, marker="|", markersize=9, linestyle="none")
    ax.set_ylim(0.0, 1.04)
    ax.set_xlim(left=0.0)
    ax.set_xlabel("time / h")
    ax.set_ylabel("share of the cells")
    head_legend(ax)
    open_frame(ax)
    return ax
