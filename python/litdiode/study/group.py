"""Replicate cells of one recipe, and what their figures spread by."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from numbers import Real
from statistics import median
from typing import TYPE_CHECKING, Any

from .._core import Estimate, Fit, InputError, KeyPoints, Sweep
from ..arguments import require, require_number
from ..quote import quoted
from .batches import batch_means, components
from .extra import library
from .storage import Stored

if TYPE_CHECKING:
    Member = Sweep | KeyPoints | Fit | Estimate

FIGURES = ("isc", "voc", "pmax", "v_pmax", "i_pmax", "ff", "jsc", "efficiency")
#: Part of a variance that rounding may make.
_ROUNDING = 1e-12
#: Other figures with which one is compared to find what it shares with all: more say no more, and take their square.
_PARTNERS = 16
#: Chance that a cell of normal spread is called an outlier of its group.
_CHANCE = 0.01


@dataclass(frozen=True)
class Summary(Stored):
    """One figure of a group.

    ```text
    s² = s_cells² + s_measured²        u²(mean) = s²/n + u_common²
    with batches: s² = s_batches² + s_cells² + s_measured²        u²(mean) = s²(means of the batches)/b + u_common²
    ```

    - `label`: of the group; `figure`: its name; `unit`: its unit; `n`: cells that have it.
    - `mean`: an `Estimate` of the mean over cells like these: the spread between the cells and what all share are in
      its ±.
    - `median`, `sd`: of the values, in `unit`.
    - `sd_cells`: spread from cell to cell, what the measurement adds taken out; 0 where the measurement explains all
      of it.
    - `sd_measured`: what the ± of the single cells makes of the spread; None where a cell has no ±.
    - `u_common`: standard uncertainty that all cells share, such as that of the lamp: it does not fall with more cells.
    - `outliers`: place in the group, value and reason of each cell that lies far from the others; none is left out.
    - `absent`: place in the group and reason of each cell without the figure.
    - `batches`: how many batches there are, or None without; the mean is then that of their means.
    - `sd_batches`: spread from batch to batch, what the cells add taken out; None without batches, and where none has
      two cells.

    ```python
    >>> import litdiode as ld
    >>> cells = [ld.Estimate(x, 0.001) for x in (0.081, 0.078, 0.083, 0.080, 0.079)]  # invented
    >>> found = ld.Group("recipe A", cells).summary("efficiency")
    >>> print(found)
    efficiency of 5 cells: mean 0.08020 ± 0.00086, median 0.08000
      spread 0.001924: from cell to cell 0.001643, of the measurement 0.001000
      common to all cells 0.000
    >>> print(found.mean, f"cells differ by {found.sd_cells:.4f}, readings by {found.sd_measured:.4f}", sep="; ")
    0.08020 ± 0.00086; cells differ by 0.0016, readings by 0.0010
    ```
    """

    label: str
    figure: str
    unit: str
    n: int
    mean: Estimate
    median: float
    sd: float
    sd_cells: float
    sd_measured: float | None
    u_common: float
    outliers: tuple[tuple[int, float, str], ...]
    absent: tuple[tuple[int, str], ...]
    batches: int | None
    sd_batches: float | None

    def __repr__(self) -> str:
        def one(x: float | None) -> str:
            return "unknown" if x is None else quoted(x, None, self.unit)

        made = "" if self.batches is None else f" in {self.batches} batches"
        apart = "" if self.batches is None else f"from batch to batch {one(self.sd_batches)}, "
        lines = [
            f"{self.figure} of {self.n} cells{made}: mean {self.mean}, median {one(self.median)}",
            f"  spread {one(self.sd)}: {apart}from cell to cell {one(self.sd_cells)}, of the measurement "
            f"{one(self.sd_measured)}",
            f"  common to all cells {one(self.u_common)}",
        ]
        lines += [f"  cell {k}: {quoted(value, None, self.unit)} {why}" for k, value, why in self.outliers]
        lines += [f"  cell {k}: no {self.figure}: {why}" for k, why in self.absent]
        return "\n".join(lines)

    def _rows(self) -> Iterable[tuple[str, str, str, str, float | None, float | None]]:
        named = {"median": self.median, "sd": self.sd, "sd_batches": self.sd_batches, "sd_cells": self.sd_cells}
        named |= {"sd_measured": self.sd_measured, "u_common": self.u_common}
        yield self.label, self.figure, "mean", self.unit, self.mean.value, self.mean.u
        yield from ((self.label, self.figure, name, self.unit, value, None) for name, value in named.items())


class Group:
    """Replicate cells of one recipe.

    - `label`: its name.
    - `members`: a list of `Sweep`s, `KeyPoints`, `Fit`s, `Estimate`s or numbers, one a cell; of the last two each is
      the figure itself.
    - `batch`: a text for each member, the batch (or the maker, or the day) that it comes from, where there are several;
      None if all were made alike. Batches, not cells, then count as what was repeated.

    Raises `InputError` for an empty list and for another number of batches than of members, and `TypeError` for other
    members.

    ```python
    >>> import litdiode as ld
    >>> cells = [ld.Estimate(x, 0.001) for x in (0.081, 0.078, 0.083, 0.080, 0.079)]  # invented
    >>> print(ld.Group("recipe A", cells).summary("efficiency").mean)
    0.08020 ± 0.00086
    ```
    """

    def __init__(self, label: str, members: Sequence[Member], *, batch: Sequence[str] | None = None) -> None:
        require("label", label, str, "a text")
        require("members", members, Iterable, "a list of litdiode.Sweep, KeyPoints, Fit or Estimate")
        self.label = label
        self.members: tuple[Member, ...] = tuple(
            Estimate(require_number(f"members[{k}]", one)) if isinstance(one, Real) else one
            for k, one in enumerate(members)
        )
        for k, member in enumerate(self.members):
            require(
                f"members[{k}]",
                member,
                (Sweep, KeyPoints, Fit, Estimate),
                "a litdiode.Sweep, KeyPoints, Fit, Estimate or a number",
            )
        if not self.members:
            raise InputError(f"members of {label!r} is empty: pass at least one cell")
        self.batch = None if batch is None else _labels(batch, len(self.members))
        self._points: list[Any] = [None] * len(self.members)

    def __len__(self) -> int:
        return len(self.members)

    def __repr__(self) -> str:
        made = "" if self.batch is None else f" in {len(set(self.batch))} batches"
        return f"Group({self.label!r}, {len(self)} cells{made})"

    def figures(self, figure: str) -> tuple[list[Estimate], list[int], list[tuple[int, str]]]:
        """The `figure` of every cell that has it, the places of these, and place and reason of the others.

        - `figure`: a key point (`isc voc pmax v_pmax i_pmax ff jsc efficiency`), or a parameter where all members
          are fits.

        Raises `InputError` for another name.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> sweeps = [ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=k) for k in range(2)]
        >>> short = ld.Sweep([0.1, 0.2, 0.3, 0.4], [0.030, 0.030, 0.0295, 0.028], label="stops short")  # invented
        >>> found, places, absent = ld.Group("A", [*sweeps, short]).figures("ff")
        >>> places, absent
        ([0, 1], [(2, 'FF = Pmax/(Isc·Voc) needs Isc and Voc and Pmax, which this sweep does not give')])
        ```
        """
        require("figure", figure, str, "the name of a figure")
        found, places, absent = [], [], []
        for k in range(len(self)):
            one = self._figure(k, figure)
            if isinstance(one, Estimate):
                found.append(one)
                places.append(k)
            else:
                absent.append((k, one))
        return found, places, absent

    def _figure(self, k: int, figure: str) -> Estimate | str:
        member = self.members[k]
        if isinstance(member, Estimate):
            return member
        if isinstance(member, Fit) and figure in member.parameters:
            return member.parameters[figure]
        if figure not in FIGURES:
            known = ", ".join(FIGURES)
            raise InputError(
                f"figure={figure!r} is not known for members[{k}]; pass one of {known}, or a parameter of fits"
            )
        if self._points[k] is None:
            self._points[k] = member if isinstance(member, KeyPoints) else member.key_points()
        points = self._points[k]
        one: Estimate | None = getattr(points, figure)
        return points.absent[figure] if one is None else one

    def summary(self, figure: str) -> Summary:
        """Mean, spread and what it is made of, of one figure: a `Summary`.

        - `figure`: as in `figures`.

        An outlier is told by Grubbs' test at 1 % (F. E. Grubbs, Ann. Math. Statist. 21 (1950) 27). Raises
        `InputError` where fewer than
        two cells have the figure.

        ```python
        >>> import litdiode as ld
        >>> cells = [ld.Estimate(x, 0.001) for x in (0.081, 0.078, 0.083, 0.080, 0.079)]  # invented
        >>> found = ld.Group("recipe A", cells).summary("efficiency")
        >>> found.n, round(found.sd, 5), round(found.sd_measured, 5), round(found.sd_cells, 5)
        (5, 0.00192, 0.001, 0.00164)
        ```
        """
        refuse_repeats([(f"members[{k}] of {self.label!r}", one) for k, one in enumerate(self.members)])
        found, places, absent = self.figures(figure)
        n = len(found)
        if n < 2:
            why = "; ".join(f"cell {k}: {reason}" for k, reason in absent)
            raise InputError(
                f"{self.label}: {n} cells have {figure}, and a spread needs two: {why or 'pass more cells'}"
            )
        values = [e.value for e in found]
        mean, sd = _mean_and_sd(values)
        measured = None
        if all(e.u is not None for e in found):
            measured = math.sqrt(sum(independent_variances(found)) / n)
        labels = None if self.batch is None else [self.batch[k] for k in places]
        split = None if labels is None else components(values, labels)
        spread = sd * sd if split is None else split[1]
        units = found if labels is None else batch_means(found, labels)
        if len(units) < 2:
            raise InputError(f"{self.label}: all cells with {figure} are of one batch; a spread of batches needs two")
        pooled, common = _mean_of(units)
        return Summary(
            self.label,
            figure,
            pooled.unit,
            n,
            pooled,
            median(values),
            sd,
            math.sqrt(max(0.0, spread - (measured or 0.0) ** 2)),
            measured,
            math.sqrt(common),
            tuple(_outliers(values, places, mean, sd)),
            tuple(absent),
            None if labels is None else len(units),
            None if split is None else math.sqrt(split[0]),
        )


def _labels(batch: Any, count: int) -> tuple[str, ...]:
    require("batch", batch, (list, tuple), "a list of texts, one a member")
    for k, one in enumerate(batch):
        require(f"batch[{k}]", one, str, "the name of a batch")
    if len(batch) != count:
        raise InputError(f"batch has {len(batch)} texts and members {count} cells; pass one a cell")
    return tuple(batch)


def _mean_of(units: Sequence[Estimate]) -> tuple[Estimate, float]:
    """The mean over what was repeated, with its ±, and the variance that all have in common."""
    n = len(units)
    mean, sd = _mean_and_sd([e.value for e in units])
    common = common_variance(units, [1.0 / n] * n)
    u = math.sqrt(sd * sd / n + common)
    dof = (n - 1) * (u * u * n / (sd * sd)) ** 2 if sd > 0 else math.inf
    return Estimate(mean, u, dof=dof, unit=units[0].unit), common


def refuse_repeats(named: Sequence[tuple[str, Member]]) -> None:
    """An error where one cell is there twice: it would count as two.

    - `named`: each member with its name.
    """
    seen: dict[Any, str] = {}
    for name, member in named:
        key: Any = id(member)
        if isinstance(member, Sweep):
            key = (member.voltage_v.tobytes(), member.current_a.tobytes())
        if key in seen:
            raise InputError(f"{name} is {seen[key]} again: leave one out, since one cell says nothing twice")
        seen[key] = name


def _mean_and_sd(values: Sequence[float]) -> tuple[float, float]:
    mean = math.fsum(values) / len(values)
    return mean, math.sqrt(math.fsum((x - mean) ** 2 for x in values) / (len(values) - 1))


def _outliers(values: list[float], places: list[int], mean: float, sd: float) -> Iterable[tuple[int, float, str]]:
    """The furthest cell, where it is further than chance allows."""
    stats = library("scipy.stats")
    n = len(values)
    if n < 3 or sd == 0:
        return
    t = float(stats.t.ppf(1 - _CHANCE / (2 * n), n - 2))
    limit = (n - 1) / math.sqrt(n) * math.sqrt(t * t / (n - 2 + t * t))
    far = max(range(n), key=lambda k: abs(values[k] - mean))
    times = abs(values[far] - mean) / sd
    if times > limit:
        yield (
            places[far],
            values[far],
            f"lies {times:.2f} standard deviations from the mean, and {limit:.2f} is the limit at 1 %",
        )


def covariance(a: Estimate, b: Estimate) -> float:
    """What two figures share: (u²(a + b) − u²(a − b))/4."""
    more, less = (a + b).u, (a - b).u
    return 0.0 if more is None or less is None else 0.25 * (more * more - less * less)


def shared_parts(found: Sequence[Estimate]) -> list[float]:
    """Of the variance of each figure, the part that it shares with others.

    ```text
    cᵢⱼ = sᵢ·sⱼ of one shared source        sᵢ² = cᵢⱼ·cᵢₖ/cⱼₖ
    ```
    """
    return [min(_shared(found, i), (found[i].u or 0.0) ** 2) for i in range(len(found))]


def _shared(found: Sequence[Estimate], i: int) -> float:
    n = len(found)
    # The nearest on either side come from the same batch or day, if any do.
    near = [k for d in range(1, 1 + _PARTNERS // 2) for k in (i - d, i + d) if 0 <= k < n]
    far = range(0, n, max(1, n // _PARTNERS))
    others = [k for k in dict.fromkeys([*near, *far]) if k != i]
    if not others:
        return 0.0
    own = {k: covariance(found[i], found[k]) for k in others}
    j = max(others, key=lambda k: abs(own[k]))
    between = {k: covariance(found[j], found[k]) for k in others if k != j}
    rest = [k for k in between if between[k] != 0]
    if not rest:
        return abs(own[j])
    k = max(rest, key=lambda k: abs(own[k]))
    return abs(own[j] * own[k] / between[k])


def independent_variances(found: Sequence[Estimate]) -> list[float]:
    """Of the variance of each figure, the part that is its own."""
    return [(e.u or 0.0) ** 2 - part for e, part in zip(found, shared_parts(found), strict=True)]


def common_variance(found: Sequence[Estimate], weights: Sequence[float]) -> float:
    """Variance of Σ wₖ·xₖ from what the figures share: u² of the sum less what is each figure's own."""
    known = [(w, e) for w, e in zip(weights, found, strict=True) if e.u is not None]
    if not known:
        return 0.0
    together = sum((w * e for w, e in known[1:]), known[0][0] * known[0][1]).u or 0.0
    own = zip(known, independent_variances([e for _, e in known]), strict=True)
    rest = together**2 - math.fsum(w * w * part for (w, _), part in own)
    # What rounding leaves of the difference is nothing that they share.
    return rest if rest > _ROUNDING * together**2 else 0.0
