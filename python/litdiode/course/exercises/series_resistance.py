"""Rs of a lit sweep by two ways.

```text
fit of one diode        slope at Voc: −dV/dI = Rs + n·(kT/q)/Isc   (shunt large)
```
"""

from __future__ import annotations

from ..._core import Estimate, Instrument, fit_single_diode
from ...analysis import Resistances, resistances
from ..devices import beyond, lit_device, measured, rounded
from ..draw import Draw
from ..exercise import Case, Drawn, Exercise, Quantity, Readings, Slip

_SLOPE = Slip(
    "slope_alone",
    (
        "this is the slope at Voc itself: the diode has a resistance of its own there, and it is not taken off.",
        "At Voc −dV/dI = Rs + n·(kT/q)/Isc: the second term is often larger than the first.",
        "Subtract n·(kT/q)/Isc with the n that is given, and let the ± of n into the result.",
    ),
)
_TWICE = Slip(
    "one_way_twice",
    (
        "rs_slope is the figure of the fit once more: the second way must not use the first.",
        "Two ways tell something where each can be wrong by itself.",
        "Find −dV/dI at I = 0 from the readings about Voc, and subtract n·(kT/q)/Isc.",
    ),
)
_U_N = 0.02


class SeriesResistance(Exercise):
    """Series resistance by a fit and by the slope at Voc."""

    name = "series_resistance"
    title = "Series resistance by two ways"
    question = (
        "Find the series resistance of the cell from the sweep `lit`, by a fit of one diode and by the slope at Voc. "
        "The ideality factor `n` is known from other measurements; use it for the slope alone."
    )
    quantities = (
        Quantity("rs_fit", "Ω", "series resistance by a fit of one diode with all parameters free"),
        Quantity("rs_slope", "Ω", "series resistance by the slope at Voc less n·(kT/q)/Isc"),
    )
    hints = (
        "Does the sweep go far enough beyond Voc, and is every reading used with its weight?",
        "The slope changes fast about Voc: a straight line through many readings gives that of another place.",
        "Let a polynomial of V(I) through the readings about I = 0 give dV/dI there, then subtract n·(kT/q)/Isc.",
    )

    def draw(self, draw: Draw) -> Drawn:
        """A cell with a small shunt, 80 readings with a scatter of a tenth of a per cent."""
        device, voc_v = lit_device(draw, (0.04, 0.10), (0.002, 0.01))
        tracer = Instrument(
            start=-0.1, stop=beyond(voc_v + 0.04), points=80, noise_current_a=rounded(0.0025 * device.iph_a)
        )
        n = Estimate(round(draw.normal(device.n, _U_N), 3), _U_N, name="n of the course")
        readings = Readings(self.name, sweeps={"lit": measured(device, tracer, draw)}, estimates={"n": n})
        return Drawn(readings, {"rs_fit": device.rs_ohm, "rs_slope": device.rs_ohm})

    def reference(self, readings: Readings) -> dict[str, Estimate | float | str]:
        """The rows "diode fit, lit" and "slope at Voc" of the table of resistances."""
        lit = readings.sweeps["lit"]
        row = self._by_slope(readings).get("series", "slope at Voc")
        return {"rs_fit": fit_single_diode(lit).rs, "rs_slope": Estimate(0.0) if row is None else row.resistance}

    def slip(self, case: Case, quantity: Quantity, value_failed: bool, u_failed: bool) -> Slip | None:
        """The slope itself; the fit given twice."""
        slope = self._by_slope(case.readings).slope_at_voc
        # n·(kT/q)/Isc.
        own = 0.0 if slope is None else slope.value - case.right("rs_slope")
        if own and case.is_value(quantity.name, case.right(quantity.name) + own, value_failed):
            return _SLOPE
        by_fit = case.answer.get("rs_fit")
        twice = quantity.name == "rs_slope" and by_fit is not None and by_fit.value == case.value("rs_slope")
        # Rounded ones may well agree.
        return _TWICE if twice and case.is_precise("rs_slope") else None

    def _by_slope(self, readings: Readings) -> Resistances:
        return resistances(readings.sweeps["lit"], n=readings.estimates["n"])
