"""Isc, Voc, Pmax and FF of a lit sweep.

```text
FF = Pmax/(Isc·Voc)        u² of FF takes the covariances of the three along (JCGM 100:2008, 5.2.2)
```
"""

from __future__ import annotations

from ..._core import Estimate, Instrument
from ..devices import beyond, figures, lit_device, measured, rounded, true_figures
from ..draw import Draw
from ..exercise import Case, Drawn, Exercise, Quantity, Readings, Slip

_HIGHEST = Slip(
    "highest_sample",
    (
        "pmax is the highest sample of V·I: noise lifts the highest of many samples, and the maximum lies between two.",
        "The largest of several scattered values lies above their mean, and it carries the noise of one reading alone.",
        "Lay a smooth curve through the readings about the maximum (or a diode model through all), and take its "
        "maximum.",
    ),
)
_FIRST = Slip(
    "nearest_reading",
    (
        "isc is a single reading: the others near V = 0 know it as well.",
        "One reading has the whole scatter, and its voltage need not be 0.",
        "Fit a straight line through the readings about V = 0 and take it at V = 0, with its ±.",
    ),
)


class KeyPointsOfSweep(Exercise):
    """Key points with their ±."""

    name = "key_points"
    title = "Key points of a sweep under light"
    question = (
        "The sweep `lit` is that of a small cell under steady light; the noise of the tracer is stated with it. Find "
        "its key points, each with one standard uncertainty."
    )
    quantities = (
        Quantity("isc", "A", "short-circuit current"),
        Quantity("voc", "V", "open-circuit voltage"),
        Quantity("pmax", "W", "maximum power"),
        Quantity("ff", "", "fill factor"),
    )
    hints = (
        "Is it read off a curve through several readings?",
        "Isc is I at V = 0, Voc is V at I = 0, Pmax the maximum of V·I between readings, FF = Pmax/(Isc·Voc).",
        "A straight line about V = 0, a polynomial of low degree about the maximum and about I = 0, weighted by the "
        "noise, give each of them; too long a window bends them.",
    )

    def draw(self, draw: Draw) -> Drawn:
        """A cell whose highest sample is no good figure: 30 readings with a scatter of half a per cent."""
        device, voc_v = lit_device(draw, (0.02, 0.05), (0.01, 0.04))
        tracer = Instrument(start=-0.06, stop=beyond(voc_v), points=30, noise_current_a=rounded(0.008 * device.iph_a))
        readings = Readings(self.name, sweeps={"lit": measured(device, tracer, draw)})
        return Drawn(readings, true_figures(device, [q.name for q in self.quantities]))

    def reference(self, readings: Readings) -> dict[str, Estimate | float | str]:
        """The key points of the sweep."""
        return figures(readings.sweeps["lit"].key_points(), [q.name for q in self.quantities])

    def slip(self, case: Case, quantity: Quantity, value_failed: bool, u_failed: bool) -> Slip | None:
        """The highest sample, a single reading."""
        sweep = case.readings.sweeps["lit"]
        if quantity.name == "pmax" and case.is_value(
            "pmax", float((sweep.voltage_v * sweep.current_a).max()), value_failed
        ):
            return _HIGHEST
        nearest = float(sweep.current_a[abs(sweep.voltage_v).argmin()])
        if quantity.name == "isc" and case.is_value("isc", nearest, False):
            return _FIRST
        return None
