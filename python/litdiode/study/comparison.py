"""Two recipes against each other: difference, p values, effect size, and a verdict."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from .._core import Estimate, InputError
from ..arguments import require, require_number
from ..quote import quoted
from .batches import batch_means
from .extra import library
from .group import Group, common_variance, refuse_repeats
from .planning import cells_needed
from .storage import Told

#: Arrangements up to which all are counted.
_ALL = 200_000
#: Random arrangements beyond, fewer of many cells, and their seed.
_DRAWS, _FEWEST_DRAWS, _SEED = 100_000, 10_000, 0x5EED
#: Numbers drawn for all of them, about, and at a time.
_NUMBERS, _BATCH = 20_000_000, 2_000_000
#: Chance with which a real difference is to be seen.
_POWER = 0.80


@dataclass(frozen=True)
class Comparison(Told):
    """What two groups of cells say of each other, from `compare`; `str` is one sentence.

    - `figure`, `first`, `second`: the figure, and the labels of the groups; `cells`: how many of each have it.
    - `difference`: mean of the first less that of the second, an `Estimate`; what both share (the lamp) is not in
      its ±, what the
      cells of one group share alone is. `ratio`: the means' quotient, or None where the second is not clear of 0.
    - `low`, `high`: interval of the difference at `level`.
    - `p_welch`: of Welch's t test; `p_exact`: of the exact permutation test of the difference of means (of 10,000
      to 100,000 random arrangements where there are more than 200,000); `p_rank`: of the rank test of Mann and
      Whitney, exact up to 60 cells (200,000 arrangements where values are tied), else normal.
    - `hedges_g`, `g_low`, `g_high`: difference in pooled standard deviations, freed of its bias, and its interval.
    - `margin`: within which a difference does not matter, in the unit of the figure, or None; `p_equivalence`: of
      the two one-sided
      tests for it.
    - `verdict`: "different" (the interval leaves 0 out), "equivalent" (it lies within the margin), or "undecided".
    - `cells_needed`: cells a recipe that see a difference of one standard deviation with 80 % power.
    - `sentence`: the verdict for people.
    - `batches`: of each group, or None. Where the cells come in batches, all tests are of the means of the batches, and
      g and `cells_needed` count in these.

    ```python
    >>> import litdiode as ld
    >>> a = ld.Group("A", [ld.Estimate(x) for x in (0.081, 0.078, 0.083, 0.080, 0.079)])  # invented
    >>> b = ld.Group("B", [ld.Estimate(x) for x in (0.074, 0.077, 0.073, 0.076, 0.075)])
    >>> found = ld.compare(a, b)
    >>> print(found)
    efficiency of A is higher than of B, by 0.002615 to 0.007785 (95 % interval)
    >>> print(found.difference, f"Welch {found.p_welch:.4f}, exact {found.p_exact:.4f}", sep="; ")
    0.0052 ± 0.0011; Welch 0.0018, exact 0.0079
    ```
    """

    figure: str
    first: str
    second: str
    cells: tuple[int, int]
    difference: Estimate
    ratio: Estimate | None
    low: float
    high: float
    level: float
    p_welch: float
    p_exact: float
    p_rank: float
    hedges_g: float
    g_low: float
    g_high: float
    margin: float | None
    p_equivalence: float | None
    verdict: str
    cells_needed: int
    sentence: str
    batches: tuple[int, int] | None

    def __repr__(self) -> str:
        unit = self.difference.unit
        one, other = (self._counted(k) for k in (0, 1))
        lines = [
            f"{self.figure} of {self.first} ({one}) less {self.second} ({other}): {self.verdict}",
            f"  {self.sentence}",
            f"  difference {self.difference}, {100 * self.level:.4g} % interval {quoted(self.low, None, unit)} to "
            f"{quoted(self.high, None, unit)}",
            f"  p: Welch {self.p_welch:.3g}, permutation {self.p_exact:.3g}, ranks {self.p_rank:.3g}",
            f"  Hedges' g {self.hedges_g:.2f} ({self.g_low:.2f} to {self.g_high:.2f})",
        ]
        if self.margin is not None and self.p_equivalence is not None:
            lines.append(f"  equivalence within {quoted(self.margin, None, unit)}: p {self.p_equivalence:.3g}")
        return "\n".join(lines)

    def _counted(self, k: int) -> str:
        return f"{self.cells[k]} cells" + ("" if self.batches is None else f" in {self.batches[k]} batches")

    def _rows(self) -> Iterable[tuple[str, str, str, str, float | None, float | None]]:
        label = f"{self.first} − {self.second}"
        yield label, self.figure, "difference", self.difference.unit, self.difference.value, self.difference.u
        if self.ratio is not None:
            yield label, self.figure, "ratio", "", self.ratio.value, self.ratio.u
        for name in ("low", "high"):
            yield label, self.figure, name, self.difference.unit, getattr(self, name), None
        for name in ("p_welch", "p_exact", "p_rank", "hedges_g", "g_low", "g_high", "p_equivalence"):
            yield label, self.figure, name, "", getattr(self, name), None


def compare(
    first: Group,
    second: Group,
    figure: str = "efficiency",
    *,
    margin: float | None = None,
    level: float = 0.95,
) -> Comparison:
    """Whether one recipe is better than another in one figure, from replicate cells of both.

    ```text
    t = (x̄₁ − x̄₂)/√(s₁²/n₁ + s₂²/n₂ + u_c²)        u_c: what the cells of one group share and the other group does not
    g = J(ν)·(x̄₁ − x̄₂)/s_p        J(ν) = Γ(ν/2)/(√(ν/2)·Γ((ν − 1)/2))
    ```

    - `first`, `second`: `Group`s of two cells or more each; of two batches or more where they name batches. The
      means of the batches are then compared, since the cells of one batch are no replicates of the recipe.
    - `figure`: a key point, or a parameter where all members are fits.
    - `margin`: a difference that does not matter, as a share of the mean of both groups (0.05 is 5 %), or None.
    - `level`: of the intervals, and 1 less the chance of calling equal recipes different.

    Returns a `Comparison`. B. L. Welch, Biometrika 34 (1947) 28; R. A. Fisher, The Design of Experiments (1935),
    section 21; L. V. Hedges,
    J. Educ. Stat. 6 (1981) 107; D. J. Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657 (all from memory).
    Raises `InputError` where a
    group has fewer than two cells with the figure, where none of them varies, where a cell is there twice, and for
    numbers outside their range.

    ```python
    >>> import litdiode as ld
    >>> a = ld.Group("recipe A", [ld.Estimate(x) for x in (0.081, 0.078, 0.083, 0.080, 0.079)])  # invented
    >>> b = ld.Group("recipe B", [ld.Estimate(x) for x in (0.074, 0.077, 0.073, 0.076, 0.075)])
    >>> ld.compare(a, b).verdict
    'different'
    ```
    """
    require("first", first, Group, "a litdiode.Group")
    require("second", second, Group, "a litdiode.Group")
    level = require_number("level", level)
    if not 0.5 <= level < 1:
        raise InputError(f"level = {level} must be from 0.5 to 1, such as 0.95")
    own = None if margin is None else require_number("margin", margin)
    if own is not None and not 0 < own < 1:
        raise InputError(f"margin = {own} must be a share between 0 and 1, such as 0.05 for 5 %")
    if (first.batch is None) != (second.batch is None):
        lacking = first if first.batch is None else second
        raise InputError(f"{lacking.label!r} names no batch and the other group does; pass batch= to both, or to none")
    if first.label == second.label:
        raise InputError(f"both groups are called {first.label!r}; give each a label of its own")
    refuse_repeats(
        [(f"members[{k}] of {group.label!r}", one) for group in (first, second) for k, one in enumerate(group.members)]
    )
    (x, n), (y, m) = (_figures(group, figure) for group in (first, second))
    if x[0].unit != y[0].unit:
        raise InputError(
            f"{figure} is in {x[0].unit or 1} in {first.label!r} and in {y[0].unit or 1} in {second.label!r}"
        )
    found = _compared((first.label, second.label), figure, x, y, own, level)
    # Of batches these are what was compared.
    return _said(found if first.batch is None else replace(found, cells=(n, m), batches=found.cells))


def _figures(group: Group, figure: str) -> tuple[list[Estimate], int]:
    """The figures of what was repeated, cells or batches, and the number of cells."""
    found, places, absent = group.figures(figure)
    if len(found) < 2:
        why = "; ".join(f"cell {k}: {reason}" for k, reason in absent) or "pass more cells"
        raise InputError(
            f"{group.label}: {len(found)} cells have {figure}, and a comparison needs two of each group: {why}"
        )
    if group.batch is None:
        return found, len(found)
    means = batch_means(found, [group.batch[k] for k in places])
    if len(means) < 2:
        raise InputError(
            f"{group.label}: all cells with {figure} are of one batch, and a comparison needs two batches of each group"
        )
    return means, len(found)


def _compared(
    labels: tuple[str, str], figure: str, x: list[Estimate], y: list[Estimate], share: float | None, level: float
) -> Comparison:
    stats = library("scipy.stats")
    a, b = [e.value for e in x], [e.value for e in y]
    (n, mean_a, var_a), (m, mean_b, var_b) = _moments(a), _moments(b)
    if var_a == 0 and var_b == 0:
        raise InputError(f"{figure}: no cell differs from the others of its group; a difference cannot be judged")
    shared = common_variance(x + y, [1 / n] * n + [-1 / m] * m)
    se, dof = _welch((n, var_a), (m, var_b), shared)
    gap = mean_a - mean_b
    unit = x[0].unit
    half = float(stats.t.ppf(0.5 + 0.5 * level, dof)) * se
    margin = None if share is None else share * abs(0.5 * (mean_a + mean_b))
    p_equal = None if margin is None else _equivalence(gap, se, dof, margin)
    g, g_low, g_high = _hedges(gap, (n, var_a), (m, var_b), level)
    alike = _within_margin(p_equal, level)
    verdict = "different" if abs(gap) > half else "equivalent" if alike else "undecided"
    needed = cells_needed(1.0, power=_POWER, alpha=1 - level)
    difference = Estimate(gap, se, dof=dof, unit=unit)
    return Comparison(
        figure,
        *labels,
        (n, m),
        difference,
        _ratio(mean_a, mean_b, (var_a / n, var_b / m), dof),
        gap - half,
        gap + half,
        level,
        2 * float(stats.t.sf(abs(gap) / se, dof)),
        permutation(a, b),
        _ranks(a, b),
        g,
        g_low,
        g_high,
        margin,
        p_equal,
        verdict,
        needed,
        "",
        None,
    )


def _moments(values: Sequence[float]) -> tuple[int, float, float]:
    n = len(values)
    mean = math.fsum(values) / n
    return n, mean, math.fsum((v - mean) ** 2 for v in values) / (n - 1)


def _welch(a: tuple[int, float], b: tuple[int, float], shared: float = 0.0) -> tuple[float, float]:
    """Standard error of the difference of two means, and its degrees of freedom; `shared` is a known variance."""
    parts = [(variance / n, n - 1) for n, variance in (a, b)]
    total = sum(v for v, _ in parts) + shared
    return math.sqrt(total), total**2 / sum(v * v / dof for v, dof in parts)


def permutation(a: list[float], b: list[float]) -> float:
    """Share of the arrangements of all cells in two groups whose means differ at least as much."""
    import numpy as np

    values = np.array(a + b)
    n, count = len(a), math.comb(len(values), len(a))
    total = values.sum()

    # The mean of the second group follows from the sum of the first.
    def gap(sums: Any) -> Any:
        return np.abs(sums / n - (total - sums) / (len(values) - n))

    seen = gap(values[:n].sum())
    close = 1e-12 * np.abs(values).max()
    if count <= _ALL:
        chosen = np.array(list(itertools.combinations(range(len(values)), n)))
        return float(np.mean(gap(values[chosen].sum(axis=1)) >= seen - close))
    random = np.random.default_rng(_SEED)
    draws = min(_DRAWS, max(_FEWEST_DRAWS, _NUMBERS // len(values)))
    beyond, left = 0, draws
    while left:
        rows = min(left, max(1, _BATCH // len(values)))
        order = np.argpartition(random.random((rows, len(values))), n - 1, axis=1)[:, :n]
        beyond += int(np.sum(gap(values[order].sum(axis=1)) >= seen - close))
        left -= rows
    return (1 + beyond) / (1 + draws)


def _ranks(a: list[float], b: list[float]) -> float:
    stats = library("scipy.stats")
    ties = len(set(a + b)) < len(a) + len(b)
    if ties and math.comb(len(a) + len(b), len(a)) <= _ALL:
        # Of the middle ranks of what is tied.
        ranks = [float(rank) for rank in stats.rankdata(a + b)]
        return permutation(ranks[: len(a)], ranks[len(a) :])
    method = "asymptotic" if ties or len(a) + len(b) > 60 else "exact"
    return float(stats.mannwhitneyu(a, b, alternative="two-sided", method=method).pvalue)


def _hedges(gap: float, a: tuple[int, float], b: tuple[int, float], level: float) -> tuple[float, float, float]:
    """g with the exact correction, and the interval of the non-centrality."""
    optimize = library("scipy.optimize")
    (n, var_a), (m, var_b) = a, b
    dof = n + m - 2
    pooled = math.sqrt(((n - 1) * var_a + (m - 1) * var_b) / dof)
    correction = correction_of(dof)
    scale = math.sqrt(n * m / (n + m))
    t = gap / pooled * scale

    def end(p: float) -> float:
        # P(T ≤ t) falls with δ.
        reach = 20 + 6 * abs(t)
        root = optimize.brentq(lambda delta: _below(t, dof, delta) - p, -reach, reach, xtol=1e-10)
        return correction * float(root) / scale

    return correction * gap / pooled, end(0.5 + 0.5 * level), end(0.5 - 0.5 * level)


def _below(t: float, dof: int, delta: float) -> float:
    """P(T ≤ t) of the non-central t distribution; far out, where SciPy gives no number, 0 or 1."""
    import numpy as np

    stats = library("scipy.stats")
    # Older versions warn where they give no number.
    with np.errstate(invalid="ignore"):
        p = float(stats.nct.cdf(t, dof, delta))
    return p if math.isfinite(p) else float(delta < t)


def correction_of(dof: int) -> float:
    """J(ν) = Γ(ν/2)/(√(ν/2)·Γ((ν − 1)/2)), which frees a standardised difference of its bias."""
    return math.exp(math.lgamma(dof / 2) - math.lgamma((dof - 1) / 2)) / math.sqrt(dof / 2)


def _equivalence(gap: float, se: float, dof: float, margin: float) -> float:
    """The larger p of the two one-sided tests."""
    stats = library("scipy.stats")
    return max(float(stats.t.sf((gap + margin) / se, dof)), float(stats.t.cdf((gap - margin) / se, dof)))


def _within_margin(p_equivalence: float | None, level: float) -> bool:
    """Whether the two one-sided tests place the difference within the margin."""
    return p_equivalence is not None and p_equivalence < 1 - level


def _ratio(a: float, b: float, variances: tuple[float, float], dof: float) -> Estimate | None:
    if abs(b) <= 3 * math.sqrt(variances[1]):
        return None
    u = math.sqrt(variances[0] + (a / b) ** 2 * variances[1]) / abs(b)
    return Estimate(a / b, u, dof=dof)


def worded(one: Comparison, name: str, between: Callable[[float, float], str], margin: str) -> str:
    """The verdict for people: `name` of the figure, `between` writes the ends of an interval, `margin` the margin."""
    percent = f"{100 * one.level:.4g} %"
    if one.verdict == "different":
        higher, lower = (one.first, one.second) if one.difference.value > 0 else (one.second, one.first)
        ends = between(*sorted((abs(one.low), abs(one.high))))
        small = f"; that is within the margin of {margin}" if _within_margin(one.p_equivalence, one.level) else ""
        return f"{name} of {higher} is higher than of {lower}, by {ends} ({percent} interval){small}"
    if one.verdict == "equivalent":
        return f"{name} of {one.first} and {one.second} is the same within {margin} ({percent})"
    what = "cells" if one.batches is None else "batches"
    return (
        f"undecided: the difference in {name} between {one.first} and {one.second} lies from "
        f"{between(one.low, one.high)} ({percent} interval); about {one.cells_needed} {what} a recipe would be needed "
        f"to see a difference of one standard deviation with {100 * _POWER:g} % power"
    )


def _said(found: Comparison) -> Comparison:
    """The same with its sentence."""

    def shown(x: float) -> str:
        return quoted(x, None, found.difference.unit)

    margin = "" if found.margin is None else shown(found.margin)
    text = worded(found, found.figure, lambda low, high: f"{shown(low)} to {shown(high)}", margin)
    return replace(found, sentence=text)
