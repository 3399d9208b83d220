"""How many cells a recipe a question takes."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from .._core import InputError
from ..arguments import require_number
from .extra import library

_MOST = 1_000_000


def power_of(cells: int, effect: float, alpha: float) -> float:
    """Chance that a two-sided t test of two groups of `cells` sees a difference of `effect` standard deviations.

    t² of the test has the non-central F distribution of 1 and 2n − 2 degrees of freedom and δ² = n·effect²/2; the
    non-central t of the library fails far from 0.
    """
    stats = library("scipy.stats")
    dof = 2 * (cells - 1)
    critical = float(stats.t.ppf(1 - alpha / 2, dof))
    found = float(stats.ncf.sf(critical * critical, 1, dof, cells * effect * effect / 2))
    if math.isfinite(found):
        return found
    shift = effect * math.sqrt(cells / 2)
    return float(stats.norm.sf((critical - shift) / math.sqrt(1 + critical * critical / (2 * dof))))


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
    effect, power, alpha = _checked("effect", effect, power, alpha)
    return _smallest("effect", effect, lambda n: power_of(n, effect, alpha) >= power)


def equivalence_power_of(cells: int, margin: float, alpha: float) -> float:
    """Chance that the two one-sided tests of two equal recipes, `cells` each, find them equivalent.

    ```text
    P(|d| < margin − t₁₋α·s·√(2/n)), averaged over s of 2n − 2 degrees of freedom
    ```
    """
    integrate, stats = library("scipy.integrate"), library("scipy.stats")
    dof = 2 * (cells - 1)
    se = math.sqrt(2 / cells)
    critical = float(stats.t.ppf(1 - alpha, dof)) * se
    spread = stats.chi(dof, scale=1 / math.sqrt(dof))

    def weighted(s: float) -> float:
        return float((2 * stats.norm.cdf((margin - critical * s) / se) - 1) * spread.pdf(s))

    # Beyond margin/critical no d is near enough to 0; beyond eight standard deviations of s there is no s.
    high = min(margin / critical, 1 + 8 / math.sqrt(2 * dof) + 8 / dof)
    low = max(0.0, min(1 - 8 / math.sqrt(2 * dof), high))
    return float(integrate.quad(weighted, low, high, limit=200)[0])


def cells_for_equivalence(margin: float, *, power: float = 0.80, alpha: float = 0.05) -> int:
    """Cells a recipe with which two equal recipes are found equivalent.

    ```text
    P(|d| + t₁₋α(2n − 2)·s·√(2/n) < margin) ≥ power        d: difference of the means of two recipes that are equal
    ```

    - `margin`: the difference that does not matter, in standard deviations of the cells of one recipe, above 0.
    - `power`: the chance of finding them equivalent; `alpha`: of each of the two one-sided tests; both between 0 and 1,
      alpha below 0.5.

    Returns the smallest n. Recipes that do differ by a part of the margin take more. D. J. Schuirmann, J.
    Pharmacokinet. Biopharm. 15 (1987) 657 (from memory). Raises `InputError` for numbers outside their range, and for a
    margin that takes more than a million cells.

    ```python
    >>> import litdiode as ld
    >>> ld.cells_for_equivalence(1.0)
    18
    ```
    """
    margin, power, alpha = _checked("margin", margin, power, alpha)
    if alpha >= 0.5:
        raise InputError(f"alpha = {alpha} must be below 0.5: a one-sided test at more decides nothing")
    return _smallest("margin", margin, lambda n: equivalence_power_of(n, margin, alpha) >= power)


def narrow_enough(cells: int, half_width: float, alpha: float) -> float:
    """Chance that the interval of the difference of two recipes reaches no more than `half_width` to each side."""
    stats = library("scipy.stats")
    dof = 2 * (cells - 1)
    critical = float(stats.t.ppf(1 - alpha / 2, dof))
    return float(stats.chi2.cdf(dof * cells / 2 * (half_width / critical) ** 2, dof))


def cells_for_width(half_width: float, *, power: float = 0.80, alpha: float = 0.05) -> int:
    """Cells a recipe with which the interval of a difference is as narrow as wanted.

    ```text
    P(t₁₋α/₂(2n − 2)·s·√(2/n) ≤ half_width) ≥ power
    ```

    - `half_width`: how far the interval may reach to each side, in standard deviations of the cells of one recipe,
      above 0.
    - `power`: the chance that it is that narrow; `alpha`: 1 less the level of the interval; both between 0 and 1.

    Returns the smallest n. L. L. Kupper, K. B. Hafner, Am. Stat. 43 (1989) 101 (from memory). Raises `InputError` for
    numbers outside their range, and for a width that takes more than a million cells.

    ```python
    >>> import litdiode as ld
    >>> ld.cells_for_width(1.0)
    11
    ```
    """
    half_width, power, alpha = _checked("half_width", half_width, power, alpha)
    return _smallest("half_width", half_width, lambda n: narrow_enough(n, half_width, alpha) >= power)


def _checked(name: str, size: Any, power: Any, alpha: Any) -> tuple[float, float, float]:
    size, power, alpha = (require_number(n, x) for n, x in ((name, size), ("power", power), ("alpha", alpha)))
    if not (0 < size < math.inf):
        raise InputError(f"{name} = {size} must be above 0: in standard deviations of the cells of one recipe")
    for n, x in (("power", power), ("alpha", alpha)):
        if not 0 < x < 1:
            raise InputError(f"{n} = {x} must be between 0 and 1")
    return size, power, alpha


def _smallest(name: str, size: float, enough: Callable[[int], bool]) -> int:
    """The fewest cells that are `enough`, from two on."""
    high = 2
    while not enough(high):
        high *= 2
        if high > _MOST:
            raise InputError(f"{name} = {size}: a million cells a recipe are too few for it; give a larger one")
    low = high // 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if middle >= 2 and enough(middle) else (middle, high)
    return high
