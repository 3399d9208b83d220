"""How many cells a recipe a question takes."""

from __future__ import annotations

import math

from .._core import InputError
from ..arguments import require_number

_MOST = 1_000_000


def power_of(cells: int, effect: float, alpha: float) -> float:
    """Chance that a two-sided t test of two groups of `cells` sees a difference of `effect` standard deviations."""
    from scipy import stats

    dof = 2 * (cells - 1)
    critical = float(stats.t.ppf(1 - alpha / 2, dof))
    shift = effect * math.sqrt(cells / 2)
    return float(stats.nct.sf(critical, dof, shift) + stats.nct.cdf(-critical, dof, shift))


def cells_needed(effect: float, *, power: float = 0.80, alpha: float = 0.05) -> int:
    """Cells a recipe with which a two-sided t test of two recipes sees a difference.

    ```text
    P(|T| > t₁₋α/₂(2n − 2)) ≥ power, T non-central t with δ = effect·√(n/2)
    ```

    - `effect`: the difference in standard deviations of the cells of one recipe, above 0.
    - `power`: the chance of seeing it; `alpha`: the chance of seeing one where there is none; both between 0 and 1.

    Returns the smallest n. J. Cohen, Statistical Power Analysis for the Behavioral Sciences (1988), chapter 2 (from
    memory). Raises
    `InputError` for numbers outside their range, and for an effect that a million cells do not show.

    ```python
    >>> import litdiode as ld
    >>> ld.cells_needed(1.0)
    17
    ```
    """
    effect, power, alpha = (
        require_number(name, x) for name, x in (("effect", effect), ("power", power), ("alpha", alpha))
    )
    if not (0 < effect < math.inf):
        raise InputError(f"effect = {effect} must be above 0: the difference in standard deviations")
    for name, x in (("power", power), ("alpha", alpha)):
        if not 0 < x < 1:
            raise InputError(f"{name} = {x} must be between 0 and 1")
    high = 2
    while power_of(high, effect, alpha) < power:
        high *= 2
        if high > _MOST:
            raise InputError(f"effect = {effect}: a million cells a recipe do not show it; look for a larger one")
    low = high // 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if middle >= 2 and power_of(middle, effect, alpha) >= power else (middle, high)
    return high
