"""Which fault a sweep has, from what it says of itself (`Sweep.findings`)."""

from __future__ import annotations

import math

import numpy as np

from ..._core import Estimate, Instrument, Sweep
from ..devices import anew, beyond, lit_device, measured, rounded
from ..draw import Draw
from ..exercise import Case, Drawn, Exercise, Quantity, Readings, Slip

#: Kinds of finding that are faults here, the one that explains the others first, and where to look for each.
_WHERE = {
    "negative_voltage": "In which quadrant does it deliver power?",
    "bias": "Is the open-circuit voltage one that a junction can have?",
    "clipped": "Look at the flat part: what does noise look like there?",
    "implausible": "Is the current density one that sunlight can give?",
    "short_of_isc": "Which of the two axes does the curve cross?",
    "short_of_voc": "Which of the two axes does the curve cross?",
    "outlier": "Do all readings lie equally near to a smooth curve?",
}
_SMALL = "Does each remark speak of a fault, and is there one at all?"


class Faults(Exercise):
    """The fault of a sweep."""

    name = "fault"
    title = "The fault of a sweep"
    question = (
        "Something may have gone wrong with the sweep `lit` of a cell of 1 cm² in full sun. Which fault is it? Plot "
        "it, and read what it says of itself."
    )
    quantities = (Quantity("fault", "", "the fault, or none", choices=(*sorted(_WHERE), "none")),)
    hints = (
        "Another fault than this makes what the sweep shows.",
        "Plot the readings, and read `findings` of the sweep: each has a kind, the figures that suffer, and the "
        "points.",
        'Remarks of the severity "note" are no faults; of several the one that explains the others counts.',
    )

    def draw(self, draw: Draw) -> Drawn:
        """A cell of 1 cm², one fault of the list or none, 40 readings."""
        fault = draw.choice(self.quantities[0].choices)
        device, voc_v = lit_device(draw, (0.02, 0.05), (0.005, 0.02), most_a=0.025)
        # Each is drawn whether it is used or not.
        share, offset, place = draw.uniform(0.6, 0.8), round(draw.uniform(1.3, 1.6), 2), int(draw.uniform(5, 15))
        tracer = Instrument(
            start=round(0.15 * share + 0.02, 2) if fault == "short_of_isc" else -0.06,
            stop=round(share * voc_v - 0.06, 2) if fault == "short_of_voc" else beyond(voc_v),
            points=40,
            noise_current_a=rounded(0.004 * device.iph_a),
            voltage_offset_v=offset if fault == "bias" else 0.0,
        )
        sweep = measured(device, tracer, draw, irradiance_w_m2=1000.0, area_cm2=1.0)
        return Drawn(Readings(self.name, sweeps={"lit": _spoilt(sweep, fault, place, share)}), {"fault": fault})

    def reference(self, readings: Readings) -> dict[str, Estimate | float | str]:
        """The finding that explains the others."""
        kinds = {one.kind for one in readings.sweeps["lit"].findings if one.severity != "note"}
        return {"fault": next((kind for kind in _WHERE if kind in kinds), "none")}

    def slip(self, case: Case, quantity: Quantity, value_failed: bool, u_failed: bool) -> Slip | None:
        """Another fault than the right one: where to look."""
        where = _WHERE.get(str(case.reference["fault"]), _SMALL)
        return Slip("fault", (self.hints[0], self.hints[1], where)) if value_failed else None


def _spoilt(sweep: Sweep, fault: str, place: int, share: float) -> Sweep:
    """The sweep with a fault of its range, its file or its leads, and without its noise, which would tell a wrong
    unit."""
    voltage_v, current_a = sweep.voltage_v.copy(), sweep.current_a.copy()
    if fault == "negative_voltage":
        voltage_v, current_a = -voltage_v, -current_a
    elif fault == "implausible":
        current_a = 1000.0 * current_a
    elif fault == "clipped":
        # A range of one digit, rounded down: rounded up it might lie above all currents.
        level = share * current_a.max()
        digit = 10.0 ** math.floor(math.log10(level))
        current_a = np.minimum(current_a, math.floor(level / digit) * digit)
    elif fault == "outlier":
        current_a[place] -= 40.0 * (sweep.noise.current_a if sweep.noise else 0.0)
    return anew(sweep, voltage_v=voltage_v, current_a=current_a, area_cm2=1.0, irradiance_w_m2=1000.0)
