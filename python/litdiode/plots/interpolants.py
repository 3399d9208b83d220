"""An interpolant over the points it was drawn through, with its band where it has one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from .._core import Interpolant
from ..arguments import require, require_count
from ..quote import prefixed, quoted
from .shared import CURRENT, FIGURE, MODEL, POWER, exponent, name_axes, split, write_below

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from .._core import Maximum

_POINTS = CURRENT | {"linestyle": "none"}
_PENALTY = {
    "cross_validation": "by cross-validation",
    "stated_noise": "by the stated noise",
    "given": "as given",
}


def plot_interpolant(
    interpolant: Interpolant, ax: Axes | None = None, *, points: int = 400, level: float = 0.95, with_bias: bool = True
) -> tuple[Axes, Axes]:
    """The curve of an `interpolant` over the readings with its maximum power, and below it what the curve leaves.

    Below stand, for a curve that passes beside the readings (smoothing, shape-constrained), the readings less the
    curve, with the band of a smoothing at `level` about 0 (`with_bias` as in `Interpolant.band`); for one that
    passes through them, the power. Draws into `ax` (a new figure if None), which is split in two, the curve with
    `points` points; returns both axes.

    ```python
    >>> import litdiode as ld
    >>> from litdiode import plots
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> sweep = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
    >>> curve, below = plots.plot_interpolant(sweep.interpolate("smoothing"))
    >>> below.get_xlabel(), below.get_ylabel()
    ('voltage / V', 'left over / µA')
    ```
    """
    require("interpolant", interpolant, Interpolant, "a litdiode.Interpolant")
    require_count("points", points)
    top, bottom = split(ax, "45%")
    v, i = np.asarray(interpolant.sweep.voltage_v), np.asarray(interpolant.sweep.current_a)
    fine = np.linspace(*interpolant.range_v, points)
    amp = exponent(i, "A")
    top.plot(fine, np.asarray(interpolant.current(fine)) / 10.0**amp, **MODEL)
    top.plot(v, i / 10.0**amp, **_POINTS)
    # A dark curve has its highest power somewhere in its noise.
    peak = interpolant.maximum_power() if interpolant.sweep.key_points().pmax is not None else None
    if peak is not None and not peak.at_end:
        top.plot(peak.v_pmax_v, peak.i_pmax_a / 10.0**amp, **FIGURE)
    write_below(top, i, _described(interpolant, peak), "small")
    if interpolant.chi2 is None:
        name = _power(bottom, interpolant, fine, peak)
    else:
        name = _left_over(bottom, interpolant, fine, level, with_bias)
    name_axes(top, bottom, f"current / {prefixed('A', amp)}", name)
    top.set_title("points: measured, line: interpolant", fontsize="small", loc="right")
    if interpolant.sweep.label:
        top.set_title(interpolant.sweep.label, fontsize="medium", loc="left")
    return top, bottom


def _described(interpolant: Interpolant, peak: Maximum | None) -> str:
    lines = [interpolant.kind.replace("_", " ").replace("shape constrained", "falling, concave")]
    if interpolant.chi2 is not None:
        lines.append(f"{interpolant.effective_dof:.1f} effective degrees of freedom")
    if interpolant.penalty_chosen_by is not None:
        lines.append(f"penalty {_PENALTY[interpolant.penalty_chosen_by]}")
    if peak is not None:
        end = ", at an end" if peak.at_end else ""
        lines.append(f"Pmax  {quoted(peak.pmax_w, None, 'W')} at {quoted(peak.v_pmax_v, None, 'V')}{end}")
    return "\n".join(lines)


def _power(ax: Axes, interpolant: Interpolant, fine: Any, peak: Maximum | None) -> str:
    v, i = np.asarray(interpolant.sweep.voltage_v), np.asarray(interpolant.sweep.current_a)
    watt = exponent(v * i if peak is None else peak.pmax_w, "W")
    ax.plot(fine, np.asarray(interpolant.power(fine)) / 10.0**watt, **MODEL)
    ax.plot(v, v * i / 10.0**watt, **(POWER | {"linestyle": "none"}))
    if peak is not None:
        top = peak.pmax_w / 10.0**watt
        if not peak.at_end:
            ax.plot(peak.v_pmax_v, top, **FIGURE)
        # A deep negative branch past Voc is cut off: it would flatten the hump.
        ax.set_ylim(max(ax.get_ylim()[0], -0.25 * top), 1.15 * top)
    return f"power / {prefixed('W', watt)}"


def _left_over(ax: Axes, interpolant: Interpolant, fine: Any, level: float, with_bias: bool) -> str:
    v, i = np.asarray(interpolant.sweep.voltage_v), np.asarray(interpolant.sweep.current_a)
    left = i - np.asarray(interpolant.current(v))
    power = exponent(left, "A")
    if interpolant.scatter is not None or (interpolant.penalty is not None and interpolant.noise_stated):
        low, high = interpolant.band(fine, level, with_bias=with_bias)
        curve = np.asarray(interpolant.current(fine))
        shade = {"color": MODEL["color"], "alpha": 0.3, "linewidth": 0}
        ax.fill_between(fine, (low - curve) / 10.0**power, (high - curve) / 10.0**power, **shade)
        kind = "band with bias" if with_bias else "band"
        ax.text(0.99, 0.97, f"shaded: {100 * level:g} % {kind}", transform=ax.transAxes, ha="right", va="top")
        ax.texts[-1].set_fontsize("small")
    ax.plot(v, left / 10.0**power, **_POINTS)
    ax.margins(y=0.25)
    return f"left over / {prefixed('A', power)}"
