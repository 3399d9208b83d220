"""Invented devices, and the steps of the tracers that measure them.

What is set is known to the student exactly, so that it must not follow the truth closely: stated noise and set points
are rounded to steps that are coarser than what the readings tell.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterable
from typing import Any

from .._core import Estimate, Instrument, KeyPoints, LitdiodeWarning, SingleDiode, Sweep, simulate_sweep
from .draw import Draw

#: kT/q at 25 °C in V, for drawing alone; the models have the exact one.
_THERMAL_V = 0.025693


def rounded(size: float) -> float:
    """The nearest below of 1, 2, 5, 10 …"""
    decade = 10.0 ** math.floor(math.log10(size))
    return float(f"{next(step for step in (5, 2, 1) if step * decade <= size * (1 + 1e-12)) * decade:.0e}")


def beyond(voltage_v: float, step_v: float = 0.02) -> float:
    """The first set point of a coarse scale that lies half a step or more above a voltage."""
    return round(step_v * math.ceil(voltage_v / step_v + 0.5), 6)


def lit_device(
    draw: Draw, series: tuple[float, float], shunt: tuple[float, float], most_a: float = 0.05
) -> tuple[SingleDiode, float]:
    """A device and about its Voc. `series`, `shunt`: ranges of Rs·Iph/Voc and of Voc/(Rsh·Iph); `most_a`: largest
    Iph."""
    iph_a, n = draw.log_uniform(5e-3, most_a), draw.uniform(1.1, 1.8)
    voc_v = draw.uniform(0.52, 0.72)
    rs_ohm = draw.uniform(*series) * voc_v / iph_a
    rsh_ohm = voc_v / (iph_a * draw.uniform(*shunt))
    i0_a = (iph_a - voc_v / rsh_ohm) / math.expm1(voc_v / (n * _THERMAL_V))
    return SingleDiode(iph_a=iph_a, i0_a=i0_a, n=n, rs_ohm=rs_ohm, rsh_ohm=rsh_ohm), voc_v


def measured(model: SingleDiode, tracer: Instrument, draw: Draw, **options: Any) -> Sweep:
    """The sweep of a simulated tracer, made anew of its readings and of what the student may know."""
    taken = simulate_sweep(model, tracer, seed=draw.seed())
    return anew(taken, noise=tracer.noise(), temperature_c=model.temperature_c, **options)


def anew(sweep: Sweep, **options: Any) -> Sweep:
    """A sweep of the same readings (of `voltage_v`, `current_a` where they are among `options`) in generator sign, with
    nothing beside them but `options`, and without a warning of what it says of itself."""
    given: dict[str, Any] = {"voltage_v": sweep.voltage_v, "current_a": sweep.current_a}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", LitdiodeWarning)
        return Sweep(**given | options, sign="generator", leads="as_given")


def without_noise(sweep: Sweep) -> Sweep:
    """The same readings, all of one weight."""
    return anew(sweep, temperature_c=sweep.temperature_c)


def true_figures(device: SingleDiode, names: Iterable[str]) -> dict[str, float | str]:
    """Key points of a device by name: the truth behind its readings."""
    found = device.key_points()
    return {name: float(getattr(found, name)) for name in names}


def figures(found: KeyPoints, names: Iterable[str]) -> dict[str, Estimate | float | str]:
    """Key points of a sweep by name; one without ± where the readings do not give it."""
    return {name: getattr(found, name) or Estimate(0.0) for name in names}
