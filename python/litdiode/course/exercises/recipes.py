"""Two recipes against each other.

```text
Δ = x̄_a − x̄_b        u²(Δ) = s_a²/n_a + s_b²/n_b        (B. L. Welch, Biometrika 34 (1947) 28, from memory)
```
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from statistics import stdev

from ..._core import Estimate
from ...study import Comparison, Group, compare
from ..draw import Draw
from ..exercise import Case, Drawn, Exercise, Quantity, Readings, Slip
from ..judging import FORMULA_RATIOS

_CELLS = 6
_MARGIN = 0.05
#: Relative difference of the recipes and spread from cell to cell, by what they should show.
_KINDS = {"different": (0.12, 0.03), "equivalent": (0.0, 0.012), "undecided": (0.02, 0.07)}
#: p values between which another sound test could say otherwise; cells like these are drawn anew.
_BORDER = (0.02, 0.12)
_ABSENCE = Slip(
    "absence_of_evidence",
    (
        "a difference that is not seen is no proof that there is none.",
        "Equivalence has to be shown: the whole interval of the difference must lie within the margin.",
        "Where the interval holds 0 and also reaches beyond the margin, the cells do not decide.",
    ),
)
_SPREAD = Slip(
    "spread_for_mean",
    (
        "the ± of the difference is that of single cells; asked is the difference of two means.",
        "A mean of n cells scatters by s/√n.",
        "u² = s_a²/n_a + s_b²/n_b.",
    ),
    "u",
)
_ONE = Slip(
    "one_group",
    (
        "the ± of the difference counts one of the two recipes; both scatter.",
        "Variances of independent means add.",
        "u² = s_a²/n_a + s_b²/n_b.",
    ),
    "u",
)


_ORDER = Slip(
    "order_of_difference",
    (
        "the difference has the other sign.",
        "Which recipe is taken from which decides the sign.",
        "Asked is the mean of recipe a less that of recipe b.",
    ),
)
_ZERO = Slip(
    "difference_of_zero",
    (
        "a difference of exactly 0 is what one may believe of the recipes, not what these cells show.",
        "The means of two groups of cells are never the same in all digits.",
        "Give the mean of recipe a less that of recipe b, with its ±.",
    ),
)


class Recipes(Exercise):
    """A verdict on two recipes."""

    name = "two_recipes"
    title = "Two recipes"
    question = (
        "`recipe_a` and `recipe_b` are the efficiencies of six cells each. Is one recipe better, are both equivalent "
        "within 5 % of their mean, or do these cells not decide? Judge with 95 % confidence, without taking the "
        "spreads as equal."
    )
    quantities = (
        Quantity("difference", "", "mean efficiency of recipe a less that of recipe b", by_formula=True),
        Quantity("verdict", "", "what the cells say", choices=("different", "equivalent", "undecided")),
    )
    hints = (
        "Is it the difference a less b of the means, and is the verdict that of its interval?",
        "Different: the 95 % interval leaves 0 out. Equivalent: both one-sided tests at 5 % place it within the "
        "margin. Else the cells do not decide.",
        "`compare` of two groups with margin=0.05 shows interval, p values and the test for equivalence.",
    )

    def draw(self, draw: Draw) -> Drawn:
        """Recipes that differ, that do not, and that are between."""
        gap, spread = _KINDS[draw.choice(tuple(_KINDS))]
        mean, sign = draw.uniform(0.06, 0.2), 1.0 if draw.choice(("a", "b")) == "a" else -1.0
        means = (mean * (1 + 0.5 * sign * gap), mean * (1 - 0.5 * sign * gap))
        made = [tuple(round(draw.normal(m, spread * mean), 6) for _ in range(_CELLS)) for m in means]
        numbers = {"recipe_a": made[0], "recipe_b": made[1]}
        return Drawn(
            Readings(self.name, numbers=numbers, units=dict.fromkeys(numbers, "")), {"difference": means[0] - means[1]}
        )

    def reference(self, readings: Readings) -> dict[str, Estimate | float | str]:
        """The library's comparison of these cells."""
        found = self._compared(readings)
        return {"difference": found.difference, "verdict": found.verdict}

    def clear(self, readings: Readings, reference: Mapping[str, Estimate | float | str]) -> bool:
        """Whether no p value lies at the border."""
        found = self._compared(readings)
        ps = (found.p_welch, found.p_exact, found.p_equivalence or 0.0)
        return not any(_BORDER[0] < p < _BORDER[1] for p in ps)

    def slip(self, case: Case, quantity: Quantity, value_failed: bool, u_failed: bool) -> Slip | None:
        """No difference seen taken for none; the other order; the spread of cells for that of means."""
        if quantity.name == "verdict":
            absent = (case.answer["verdict"].word, case.reference["verdict"]) == ("equivalent", "undecided")
            return _ABSENCE if value_failed and absent else None
        if value_failed and case.value("difference") == 0.0:
            return _ZERO
        if case.is_value("difference", -case.right("difference"), value_failed):
            return _ORDER
        spreads = [stdev(values) for values in case.readings.numbers.values()]
        both, least = math.hypot(*spreads), FORMULA_RATIOS[1] * case.right_u("difference")
        singles = (both, both / math.sqrt(2.0), *spreads)
        if any(case.is_u("difference", u, 0.02) for u in singles if u > least):
            return _SPREAD
        if not u_failed:
            return None
        one = any(case.is_u("difference", s / math.sqrt(_CELLS), 0.02) for s in spreads)
        return _ONE if one else None

    def _compared(self, readings: Readings) -> Comparison:
        a, b = (Group(name, [Estimate(x) for x in readings.numbers[name]]) for name in ("recipe_a", "recipe_b"))
        return compare(a, b, margin=_MARGIN)
