"""Several recipes at once: every pair, and the chance of one wrong verdict among all of them."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from .._core import InputError
from ..arguments import require, require_number
from ..quote import quoted
from .comparison import Comparison, compare
from .extra import library
from .group import Group
from .storage import Told


@dataclass(frozen=True)
class Pair(Told):
    """One pair of `Comparisons`.

    - `comparison`: as `compare` makes it, its interval widened so that those of all pairs hold together.
    - `p_adjusted`: p of Welch's test after Holm's correction for the number of pairs.
    - `verdict`: "different" where `p_adjusted` is below 1 less the level, else "undecided".
    - `sentence`: the verdict for people.
    """

    comparison: Comparison
    p_adjusted: float
    verdict: str
    sentence: str

    def _rows(self) -> Iterable[tuple[str, str, str, str, float | None, float | None]]:
        kept = ("difference", "low", "high", "p_welch")
        rows = [row for row in self.comparison._rows() if row[2] in kept]
        yield from rows
        yield rows[0][0], rows[0][1], "p_adjusted", "", self.p_adjusted, None


@dataclass(frozen=True)
class Comparisons(Told):
    """All pairs of several groups, from `compare_all`; `str` is one sentence.

    - `figure`: what is compared; `labels`: of the groups; `level`: 1 less the chance of one wrong "different" among
      all.
    - `pairs`: a row a pair: `comparison`, `p_adjusted`, `verdict`, `sentence`.
    - `sentence`: which pairs differ, for people.

    ```python
    >>> import litdiode as ld
    >>> made = {"A": (8.1, 7.8, 8.3, 8.0), "B": (7.4, 7.7, 7.3, 7.6), "C": (7.5, 7.6, 7.4, 7.7)}  # invented
    >>> groups = [ld.Group(label, [ld.Estimate(x) for x in values]) for label, values in made.items()]
    >>> for pair in ld.compare_all(groups, "efficiency").pairs:
    ...     print(pair.sentence)
    efficiency of A is higher than of B (adjusted p 0.023)
    efficiency of A is higher than of C (adjusted p 0.023)
    undecided: the difference in efficiency between B and C lies from −0.4325 to 0.3325 (adjusted p 0.67)
    ```
    """

    figure: str
    labels: tuple[str, ...]
    level: float
    pairs: tuple[Pair, ...]
    sentence: str

    def __repr__(self) -> str:
        lines = [f"{self.figure} of {len(self.labels)} groups, {len(self.pairs)} pairs (Holm's correction)"]
        for pair in self.pairs:
            one = pair.comparison
            ends = f"{quoted(one.low, None, one.difference.unit)} to {quoted(one.high, None, one.difference.unit)}"
            lines.append(
                f"  {one.first} − {one.second}: {one.difference} ({ends}), adjusted p {pair.p_adjusted:.3g}: "
                f"{pair.verdict}"
            )
        return "\n".join([*lines, f"  {self.sentence}", f"  the intervals hold together at {100 * self.level:g} %"])

    def _rows(self) -> Iterable[tuple[str, str, str, str, float | None, float | None]]:
        for pair in self.pairs:
            yield from pair._rows()


def compare_all(groups: Sequence[Group], figure: str = "efficiency", *, level: float = 0.95) -> Comparisons:
    """Which of several recipes differ in one figure, with the chance of a wrong verdict held for all pairs together.

    ```text
    p₍ₖ₎ of m pairs, in rising order: adjusted p = max over j ≤ k of min(1, (m − j + 1)·p₍ⱼ₎)
    interval of each pair at 1 − (1 − level)/m
    ```

    - `groups`: two `Group`s or more, of different labels, each as in `compare`.
    - `figure`: a key point, or a parameter where all members are fits.
    - `level`: 1 less the chance of one or more wrong "different" among all pairs.

    Returns `Comparisons`. The verdict is that of Welch's p after Holm's correction. The intervals are those of
    Bonferroni, which hold together and are a little wider than that correction asks: a difference can be told although
    its interval touches 0, never the reverse. S. Holm, Scand. J. Statist. 6 (1979) 65 (from memory). Raises
    `InputError` for fewer than two groups, equal labels, and as `compare`.

    ```python
    >>> import litdiode as ld
    >>> made = {"A": (8.1, 7.8, 8.3, 8.0), "B": (7.4, 7.7, 7.3, 7.6), "C": (7.5, 7.6, 7.4, 7.7)}  # invented
    >>> groups = [ld.Group(label, [ld.Estimate(x) for x in values]) for label, values in made.items()]
    >>> print(ld.compare_all(groups))
    efficiency differs in 2 of 3 pairs: A and B, A and C
    ```
    """
    require("groups", groups, (list, tuple), "a list of litdiode.Group")
    for k, group in enumerate(groups):
        require(f"groups[{k}]", group, Group, "a litdiode.Group")
    labels = tuple(group.label for group in groups)
    if len(groups) < 2:
        raise InputError(f"groups holds {len(groups)}; pass two or more")
    twice = next((label for label in labels if labels.count(label) > 1), None)
    if twice is not None:
        raise InputError(f"groups: two of them are called {twice!r}; give each a label of its own")
    level = require_number("level", level)
    if not 0.5 <= level < 1:
        raise InputError(f"level = {level} must be from 0.5 to 1, such as 0.95")
    couples = list(itertools.combinations(groups, 2))
    found = [compare(a, b, figure, level=1 - (1 - level) / len(couples)) for a, b in couples]
    adjusted = holm([one.p_welch for one in found])
    pairs = tuple(_pair(one, p, level) for one, p in zip(found, adjusted, strict=True))
    return Comparisons(figure, labels, level, pairs, _sentence(figure, pairs))


def holm(p: Sequence[float]) -> list[float]:
    """The p values of several tests after Holm's correction, in their order."""
    adjusted = library("statsmodels.stats.multitest").multipletests(p, method="holm")[1]
    return [float(one) for one in adjusted]


def _pair(one: Comparison, p: float, level: float) -> Pair:
    verdict = "different" if p < 1 - level else "undecided"
    labels = (one.first, one.second) if one.difference.value > 0 else (one.second, one.first)
    if verdict == "different":
        return Pair(one, p, verdict, f"{one.figure} of {labels[0]} is higher than of {labels[1]} (adjusted p {p:.2g})")
    ends = f"{quoted(one.low, None, one.difference.unit)} to {quoted(one.high, None, one.difference.unit)}"
    said = f"undecided: the difference in {one.figure} between {one.first} and {one.second} lies from {ends}"
    return Pair(one, p, verdict, f"{said} (adjusted p {p:.2g})")


def _sentence(figure: str, pairs: Sequence[Pair]) -> str:
    apart = [f"{p.comparison.first} and {p.comparison.second}" for p in pairs if p.verdict == "different"]
    if not apart:
        return f"{figure}: none of {len(pairs)} pairs is told apart"
    return f"{figure} differs in {len(apart)} of {len(pairs)} pairs: {', '.join(apart)}"
