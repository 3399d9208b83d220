"""Detection limits from few blanks (L. A. Currie, Anal. Chem. 40 (1968) 586, from memory).

```text
critical = t₀.₉₅(n − 1)·s·√(1 + 1/n)        quantification = 10·s·√(1 + 1/n)
detection: from the non-central t distribution
```
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from statistics import NormalDist, fmean, pstdev

from ..._core import DetectionLimits, Estimate, detection_limits
from ..draw import Draw
from ..exercise import Case, Drawn, Exercise, Quantity, Readings, Slip

_BLANKS = 10
#: A reading nearer to the critical level than this share is drawn anew: it would hang on a rounding.
_BORDER = 0.15
#: What rounding to three digits makes, and other tables of the same distributions.
_TOLERANCE = 0.01
#: Of a wrong method's value, rounded; two of them lie 0.5 % apart.
_ALIKE = 0.005
_NORMAL = Slip(
    "normal_quantile",
    (
        "this takes the normal distribution, as if the scatter were known; ten blanks know it badly.",
        "With s from n blanks the factor is Student's t with n − 1 degrees of freedom, which is larger.",
        "critical = t₀.₉₅(n − 1)·s·√(1 + 1/n); the detection limit has the non-central t distribution.",
    ),
)
_BLANK = Slip(
    "blank_scatter",
    (
        "this leaves out that the mean of the blanks scatters as well.",
        "A net signal is a difference: of one reading, and of the mean of n.",
        "Its scatter is s·√(1 + 1/n).",
    ),
)
_THREE = Slip(
    "three_s",
    (
        "three times s is a rule of thumb; asked is the limit at 5 % for both errors, from these few blanks.",
        "The rule knows neither the number of blanks nor the chance of missing what is there.",
        "Use the non-central t distribution with n − 1 degrees of freedom, and s·√(1 + 1/n).",
    ),
)
_POPULATION = Slip(
    "divided_by_n",
    (
        "this scatter divides the sum of squares by n; the mean was found from the same blanks.",
        "One degree of freedom went into the mean.",
        "s² = Σ(x − x̄)²/(n − 1).",
    ),
)


class Detection(Exercise):
    """What a rig can detect, from readings of nothing."""

    name = "detection_limit"
    title = "Detection limit from blanks"
    question = (
        "`blank` are readings of the current with the cell replaced by an open circuit, `reading` is one reading "
        "with a cell in weak light. Chances of 5 % for finding what is not there and for missing what is. The limits "
        "are those of the net signal, a reading less the mean of the blanks."
    )
    quantities = (
        Quantity("scatter", "A", "standard deviation of one reading", "log", by_formula=True),
        Quantity("critical", "A", "critical level", tolerance=_TOLERANCE),
        Quantity("detection", "A", "detection limit", tolerance=_TOLERANCE),
        Quantity(
            "quantification", "A", "quantification limit, ten times the scatter of a net signal", tolerance=_TOLERANCE
        ),
        Quantity("detected", "", "whether the reading shows a current", choices=("yes", "no")),
    )
    hints = (
        "Are the limits those of a net signal, from few blanks?",
        "The scatter of a net signal is s·√(1 + 1/n); what is seen is judged by the critical level, not by the "
        "detection limit.",
        "`detection_limits` lists the three; the net signal is the reading less the mean of the blanks.",
    )

    def draw(self, draw: Draw) -> Drawn:
        """Ten blanks about an offset, and a reading with a signal in every second case."""
        sigma = draw.log_uniform(1e-8, 1e-6)
        offset = draw.uniform(-3.0, 3.0) * sigma
        blank = tuple(draw.normal(offset, sigma) for _ in range(_BLANKS))
        signal = draw.uniform(6.0, 12.0) * sigma if draw.choice(("yes", "no")) == "yes" else 0.0
        numbers = {"blank": blank, "reading": (draw.normal(offset + signal, sigma),)}
        return Drawn(Readings(self.name, numbers=numbers, units=dict.fromkeys(numbers, "A")), {"scatter": sigma})

    def reference(self, readings: Readings) -> dict[str, Estimate | float | str]:
        """The limits of these blanks."""
        found = self._limits(readings)
        return {
            "scatter": found.scatter,
            "critical": found.critical.value,
            "detection": found.detection.value,
            "quantification": found.quantification.value,
            "detected": "yes" if _net(readings, found) > found.critical.value else "no",
        }

    def clear(self, readings: Readings, reference: Mapping[str, Estimate | float | str]) -> bool:
        """Whether the reading is clear of the critical level."""
        found = self._limits(readings)
        return abs(_net(readings, found) / found.critical.value - 1) > _BORDER

    def slip(self, case: Case, quantity: Quantity, value_failed: bool, u_failed: bool) -> Slip | None:
        """The usual short cuts: that whose value is nearest, within what rounding makes."""
        blank = case.readings.numbers["blank"]
        if quantity.name == "scatter":
            return _POPULATION if case.is_value("scatter", pstdev(blank), value_failed) else None
        if not value_failed or quantity.choices:
            return None
        s, root, z = case.right("scatter"), math.sqrt(1 + 1 / len(blank)), NormalDist().inv_cdf(0.95)
        right = case.right(quantity.name)
        found = [
            (_NORMAL, {"critical": z * s * root, "detection": 2 * z * s * root}),
            (_NORMAL, {"critical": z * s, "detection": 2 * z * s}),
            (_THREE, {"detection": 3 * s, "critical": 3 * s}),
            (_THREE, {"detection": 3 * s + fmean(blank)}),
            (_POPULATION, {"quantification": 10 * pstdev(blank) * root}),
            (_BLANK, dict.fromkeys(("critical", "detection", "quantification"), right / root)),
        ]
        x = case.value(quantity.name)
        # Three s above the mean of the blanks may be 0.
        near = [(abs(x / y - 1), slip) for slip, wrong in found if (y := wrong.get(quantity.name))]
        apart, slip = min(near, key=lambda one: one[0], default=(math.inf, _NORMAL))
        return slip if apart <= _ALIKE else None

    def _limits(self, readings: Readings) -> DetectionLimits:
        return detection_limits(list(readings.numbers["blank"]), unit="A")


def _net(readings: Readings, found: DetectionLimits) -> float:
    """The reading less the mean of the blanks."""
    return readings.numbers["reading"][0] - found.blank.value
