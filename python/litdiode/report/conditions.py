"""Under what the sweeps were taken, by which instrument, and from which files."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from .._core import Estimate, Noise, Sweep
from ..quote import quoted
from ..study.study import Study

#: More different values are shown as a range.
_MOST = 5
_PARTS = {
    "current_a": ("scatter of the current", "A"),
    "current_rel": ("scatter of the current, share of the reading", ""),
    "current_step_a": ("step of the current's converter", "A"),
    "current_gain_u": ("gain of the current, standard uncertainty", ""),
    "current_offset_u": ("offset of the current, standard uncertainty", "A"),
    "voltage_v": ("scatter of the voltage", "V"),
    "voltage_rel": ("scatter of the voltage, share of the reading", ""),
    "voltage_step_v": ("step of the voltage's converter", "V"),
    "voltage_gain_u": ("gain of the voltage, standard uncertainty", ""),
    "voltage_offset_u": ("offset of the voltage, standard uncertainty", "V"),
}


def conditions(study: Study) -> list[dict[str, str]]:
    """A row a condition, its values, and for how many sweeps each holds."""
    asked: list[tuple[str, Callable[[Sweep], str]]] = [
        ("Area", lambda sweep: _estimate(sweep.area_cm2)),
        ("Irradiance", lambda sweep: _estimate(sweep.irradiance_w_m2)),
        ("Temperature", lambda sweep: quoted(sweep.temperature_c, None, "°C")),
        ("Cells in series", lambda sweep: str(sweep.cells)),
        ("Stepped", lambda sweep: sweep.swept),
        ("Readings", lambda sweep: str(len(sweep.voltage_v))),
        ("Instrument", lambda sweep: noise(sweep.noise)),
        ("Corrections", lambda sweep: "; ".join(map(_correction, sweep.corrections)) or "none"),
    ]
    return [{"what": what, "value": _values([value(sweep) for sweep in study.sweeps])} for what, value in asked]


def _estimate(found: Estimate | None) -> str:
    if found is None:
        return "not stated"
    return str(found) if found.u else f"{quoted(found.value, None, found.unit)} without a stated ±"


def _correction(found: Any) -> str:
    return repr(found).removeprefix("Correction(").removesuffix(")")


def noise(found: Noise | None) -> str:
    """What an instrument states of itself, in words."""
    if found is None:
        return "no noise stated: the scatter is found from each sweep"
    sizes = {name: getattr(found, name) for name in _PARTS}
    parts = [f"{text} {_size(sizes[name], unit)}" for name, (text, unit) in _PARTS.items() if sizes[name]]
    return "; ".join(parts)


def _size(size: float, unit: str) -> str:
    return quoted(size, None, unit) if unit else f"{100 * size:.3g} %"


def _values(values: Sequence[str]) -> str:
    counts: dict[str, int] = {}
    for value in values:
        counts[value] = counts.get(value, 0) + 1
    if len(counts) == 1:
        return values[0]
    shown = [f"{value} ({count} sweep{'s' if count > 1 else ''})" for value, count in list(counts.items())[:_MOST]]
    return "; ".join(shown) + (f"; and {len(counts) - _MOST} other values" if len(counts) > _MOST else "")


def inputs(study: Study) -> list[dict[str, str]]:
    """Every file with its SHA-256."""
    return [{"file": file, "sha256": digest} for file, digest in study.inputs().items()]
