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

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> ax = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1).budget("ff").plot()
        >>> [text.get_text() for text in ax.get_yticklabels()]
        ['scatter of the readings', 'shape of the curve between the readings']
        ```
        """,
    ),
    (
        Sweep,
        "plot_sweep",
        """Draws current and power with the key points into `ax` (a new figure if None); returns the axes of both.

        `options` are those of `litdiode.plots.plot_sweep`: `level=0.95`, of the intervals.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
        >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
        >>> current, power = sweep.plot()
        >>> power.get_ylabel()
        'power / mW'
        ```
        """,
    ),
    (
        Fit,
        "plot_fit",
        """Draws the fitted curve through the points into `ax` (a new figure if None), the residuals below; returns
        both axes.

        `options` are those of `litdiode.plots.plot_fit`: `points=300` of the curve, `level=0.95` of the band (None for
        no band).

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
        >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
        >>> curve, residuals = ld.fit_single_diode(sweep).plot(level=None)
        >>> residuals.get_ylabel()
        'residual / µV'
        ```
        """,
    ),
    (
        Interpolant,
        "plot_interpolant",
        """Draws the curve over the points into `ax` (a new figure if None), with its band where it has one; returns
        both axes.

        `options` are those of `litdiode.plots.plot_interpolant`: `points=400`, `level=0.95`, `with_bias=True`.

        ```python
        >>> import litdiode as ld
        >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041])  # invented
        >>> curve, below = sweep.interpolate("monotone_cubic").plot()
        >>> below.get_ylabel()
        'power / mW'
        ```
        """,
    ),
    (
        LiveSweep,
        "plot_live_sweep",
        """Draws the readings so far, the running curve and the next set point into `ax` (a new figure if None), which
        it clears; returns it.

        `options` are those of `litdiode.plots.plot_live_sweep`: `points=200` of the curve.

        ```python
        >>> import litdiode as ld
        >>> live = ld.LiveSweep(limits_v=(-0.1, 0.8), limits_a=(-0.05, 0.05), noise=ld.Noise(current_a=2e-5))
        >>> for voltage_v, current_a in [(0.0, 0.0300), (0.3, 0.0296), (0.45, 0.0280), (0.6, -0.0200)]:  # invented
        ...     live.push(voltage_v, current_a)
        >>> live.plot().get_ylabel()
        'current / mA'
        ```
        """,
    ),
    (
        Translated,
        "plot_translated",
        """Draws the translated points beside the measured ones into `ax` (a new figure if None), their powers below;
        returns both axes.

        `litdiode.plots.plot_translated` takes no `options`.

        ```python
        >>> import litdiode as ld
        >>> rules = ld.Procedure1(alpha_a_per_k=1.5e-5, beta_v_per_k=-0.0021, rs_ohm=0.4, kappa_ohm_per_k=0.002)
        >>> voltage_v, current_a = [-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041]  # invented
        >>> sweep = ld.Sweep(voltage_v, current_a, irradiance_w_m2=900)
        >>> current, power = sweep.translate(rules, irradiance_w_m2=1000).plot()
        >>> power.get_xlabel()
        'voltage / V'
        ```
        """,
    ),
    (
        Plan,
        "plot_plan",
        """Draws the set points on the curve of the expected device into `ax` (a new figure if None), u against the
        number of points below; returns both axes.

        `options` are those of `litdiode.plots.plot_plan`: `points=None`, the numbers of points at which u is drawn.

        ```python
        >>> import litdiode as ld
        >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
        >>> curve, u = ld.plan_sweep(dye, noise=ld.Noise(current_a=6e-6)).plot(points=[15, 25])
        >>> u.get_ylabel()
        'u(FF) / %'
        ```
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
