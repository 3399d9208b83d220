"""`plot` of the classes of the compiled core, which draws with the function of `litdiode.plots` for that class."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from ._core import Budget, Fit, Interpolant, LiveSweep, Plan, Sweep, Translated

# Class, function of `litdiode.plots`, docstring.
_METHODS: tuple[tuple[type, str, str], ...] = (
    (
        Budget,
        "plot_budget",
        """Draws the contributions as bars into `ax` (a new figure if None), and returns it.

        `litdiode.plots.plot_budget` takes no `options`.
        """,
    ),
    (
        Sweep,
        "plot_sweep",
        """Draws current and power with the key points into `ax` (a new figure if None); returns the axes of both.

        `options` are those of `litdiode.plots.plot_sweep`: `level=0.95`, of the intervals.
        """,
    ),
    (
        Fit,
        "plot_fit",
        """Draws the fitted curve through the points into `ax` (a new figure if None), the residuals below; returns
        both axes.

        `options` are those of `litdiode.plots.plot_fit`: `points=300` of the curve, `level=0.95` of the band (None for
        no band).
        """,
    ),
    (
        Interpolant,
        "plot_interpolant",
        """Draws the curve over the points into `ax` (a new figure if None), with its band where it has one; returns
        both axes.

        `options` are those of `litdiode.plots.plot_interpolant`: `points=400`, `level=0.95`, `with_bias=True`.
        """,
    ),
    (
        LiveSweep,
        "plot_live_sweep",
        """Draws the readings so far, the running curve and the next set point into `ax` (a new figure if None), which
        it clears; returns it.

        `options` are those of `litdiode.plots.plot_live_sweep`: `points=200` of the curve.
        """,
    ),
    (
        Translated,
        "plot_translated",
        """Draws the translated points beside the measured ones into `ax` (a new figure if None), their powers below;
        returns both axes.

        `litdiode.plots.plot_translated` takes no `options`.
        """,
    ),
    (
        Plan,
        "plot_plan",
        """Draws the set points on the curve of the expected device into `ax` (a new figure if None), u against the
        number of points below; returns both axes.

        `options` are those of `litdiode.plots.plot_plan`: `points=None`, the numbers of points at which u is drawn.
        """,
    ),
)


def _attach(kind: type, function: str, text: str) -> None:
    def plot(self: Any, ax: Any = None, **options: Any) -> Any:
        # The pictures are imported only when one is drawn.
        return getattr(import_module(".plots", __package__), function)(self, ax, **options)

    plot.__doc__ = text
    plot.__qualname__ = f"{kind.__name__}.plot"
    plot.__module__ = kind.__module__
    kind.plot = plot  # type: ignore[attr-defined]


def attach() -> None:
    """Gives the classes of the compiled core their `plot`."""
    for kind, function, text in _METHODS:
        _attach(kind, function, text)
