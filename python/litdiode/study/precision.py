"""What more cells, repeats, or points a sweep would each make of the ± of a mean."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from .._core import InputError
from ..arguments import require, require_number
from ..quote import quoted
from .group import Summary
from .storage import Told


@dataclass(frozen=True)
class Precision(Told):
    """u of the mean of a group with more of one thing, the others left as they are; from `precision`.

    ```text
    u²(mean) = (s_cells² + s_measured²/m)/n + u_common²        n: cells, m: repeats
    ```

    - `label`, `figure`, `unit`: of the group and its figure; `times`: how many times as many.
    - `now`: u of the mean as it is, in `unit`.
    - `cells`, `repeats`, `points`: u with `times` as many cells, repeated sweeps a cell, and points a sweep. That the ±
      of a sweep falls as 1/√points is an approximation. The last two are None where cells have no ±.
    - `common`: what all cells share: no number of them comes below it.
    - `sentence`: what is worth most, for people.

    ```python
    >>> import litdiode as ld
    >>> cells = [ld.Estimate(x, 0.001) for x in (0.081, 0.078, 0.083, 0.080, 0.079)]  # invented
    >>> print(ld.precision(ld.Group("recipe A", cells).summary("efficiency"), times=4))
    4 times the cells help most: u(mean) falls by 50 %
    ```
    """

    label: str
    figure: str
    unit: str
    times: float
    now: float
    cells: float
    repeats: float | None
    points: float | None
    common: float
    sentence: str

    def __repr__(self) -> str:
        lines = [f"u of the mean {self.figure} of {self.label}, with {self.times:g} times as many"]
        for name, u in self._named():
            lines.append(f"  {name:<9}{'unknown: the cells have no ±' if u is None else quoted(u, None, self.unit)}")
        return "\n".join([*lines, f"  {self.sentence}"])

    def _named(self) -> list[tuple[str, float | None]]:
        named = [("now", self.now), ("cells", self.cells), ("repeats", self.repeats), ("points", self.points)]
        return [*named, ("common", self.common)]

    def _rows(self) -> Iterable[tuple[str, str, str, str, float | None, float | None]]:
        for name, u in self._named():
            yield self.label, self.figure, f"u(mean), {name}", self.unit, u, None


def precision(summary: Summary, *, times: float = 2.0) -> Precision:
    """What `times` as many cells, repeats, or points a sweep would each make of u of the mean: a `Precision`.

    - `summary`: of a group, from `Group.summary`, not one of batches.
    - `times`: above 1 to 1,000,000; 2 unless given.

    u falls with the parts of the spread that were found, which a few cells tell only roughly. Raises `InputError` for a
    summary of batches, whose mean is helped by more batches alone, and for a number outside its range.

    ```python
    >>> import litdiode as ld
    >>> cells = [ld.Estimate(x, 0.001) for x in (0.081, 0.078, 0.083, 0.080, 0.079)]  # invented
    >>> found = ld.precision(ld.Group("recipe A", cells).summary("efficiency"))
    >>> f"{found.now:.6f} {found.cells:.6f} {found.repeats:.6f}"
    '0.000860 0.000608 0.000800'
    ```
    """
    require("summary", summary, Summary, "a litdiode.Summary, as Group.summary makes it")
    times = require_number("times", times)
    if not 1 < times <= 1e6:
        raise InputError(f"times = {times} must be above 1, up to a million")
    if summary.batches is not None:
        raise InputError(f"summary is of {summary.batches} batches: its mean needs more batches; pass one of cells")
    now = _u(summary, 1.0, 1.0)
    cells = _u(summary, times, 1.0)
    repeats = None if summary.sd_measured is None else _u(summary, 1.0, times)
    said = _sentence(summary, times, now, {"cells": cells, "repeats": repeats})
    return Precision(
        summary.label,
        summary.figure,
        summary.unit,
        times,
        now,
        cells,
        repeats,
        repeats,
        summary.u_common,
        said,
    )


def _u(summary: Summary, cells: float, repeats: float) -> float:
    measured = summary.sd_measured or 0.0
    # Where the measurement explains more than the whole spread, the spread is what counts.
    rest = max(0.0, summary.sd**2 - measured**2) + min(measured, summary.sd) ** 2 / repeats
    return math.sqrt(rest / (cells * summary.n) + summary.u_common**2)


def _sentence(summary: Summary, times: float, now: float, found: dict[str, float | None]) -> str:
    known = {name: u for name, u in found.items() if u is not None}
    name, least = min(known.items(), key=lambda item: item[1])
    if now > 0 and summary.u_common > 0.9 * now:
        shared = quoted(summary.u_common, None, summary.unit)
        return f"u(mean) is that of what all cells share, {shared}: more of the same do not help"
    percent = 0.0 if now == 0 else 100 * (1 - least / now)
    return f"{times:g} times the {name} help most: u(mean) falls by {percent:.0f} %"
