"""How long the cells of a group last, where some had not failed when the measurement ended.

Ŝ(t) = Π over tᵢ ≤ t of (1 − dᵢ/nᵢ)        dᵢ: cells that fail at tᵢ, nᵢ: cells that had not before
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from .._core import InputError
from ..arguments import require, require_number
from .ageing import Ageing, hours
from .comparison import permutation
from .extra import library
from .storage import Told

if TYPE_CHECKING:
    from matplotlib.axes import Axes

#: What the product of the steps may be off by.
_ROUNDING = 1e-9


@dataclass(frozen=True)
class Survival(Told):
    """The share of a group of cells that lasts longer than a time, from `survival`; `str` is one sentence.

    - `label`: of the group; `level`: of the intervals.
    - `time_h`, `failed`: of each cell, as given: time in h when it failed, or until when it had not.
    - `steps_h`: times in h at which cells fail; `at_risk`, `failures`: cells that had not failed before, and that fail
      then.
    - `share`: of the cells that last longer than each step (Kaplan and Meier); `low`, `high`: its interval (log-log of
      Greenwood's variance), None where there is none: after the last cell has failed.
    - `median_h`, `median_low_h`, `median_high_h`: time in h by which half of the cells have failed, and its interval,
      from 0 or to infinity where too few cells or failures bound it (six cells at the least, at 95 %).
    - `sentence`: the median for people.

    ```python
    >>> import litdiode as ld
    >>> time_h = [90, 100, 120, 150, 160, 200, 200]  # invented
    >>> failed = [True, True, True, True, True, False, False]
    >>> found = ld.survival(time_h, failed, label="recipe A")
    >>> list(zip(found.steps_h, found.at_risk, [round(share, 2) for share in found.share]))
    [(90.0, 7, 0.86), (100.0, 6, 0.71), (120.0, 5, 0.57), (150.0, 4, 0.43), (160.0, 3, 0.29)]
    >>> found.median_h, found.median_low_h, found.median_high_h
    (150.0, 90.0, inf)
    ```
    """

    label: str
    level: float
    time_h: tuple[float, ...]
    failed: tuple[bool, ...]
    steps_h: tuple[float, ...]
    at_risk: tuple[int, ...]
    failures: tuple[int, ...]
    share: tuple[float, ...]
    low: tuple[float | None, ...]
    high: tuple[float | None, ...]
    median_h: float
    median_low_h: float
    median_high_h: float
    sentence: str

    def __repr__(self) -> str:
        lines = [
            f"{self.label}: {len(self.time_h)} cells, {sum(self.failed)} failed",
            "   h      at risk  fail  lasting",
        ]
        rows = zip(self.steps_h, self.at_risk, self.failures, self.share, self.low, self.high, strict=True)
        for t, n, d, s, low, high in rows:
            ends = "" if low is None or high is None else f" ({low:.3f} to {high:.3f})"
            lines.append(f"  {t:<8.6g}{n:>6}{d:>6}   {s:.3f}{ends}")
        return "\n".join([*lines, f"  {self.sentence}"])

    def _consistent(self) -> bool:
        steps = (self.steps_h, self.at_risk, self.failures, self.share, self.low, self.high)
        return 0 < len(self.time_h) == len(self.failed) and len({len(one) for one in steps}) == 1

    def _rows(self) -> Iterable[tuple[str, str, str, str, float | None, float | None]]:
        for name, value in (("median", self.median_h), ("low", self.median_low_h), ("high", self.median_high_h)):
            yield self.label, "lifetime", name, "h", value, None
        for t, s in zip(self.steps_h, self.share, strict=True):
            yield self.label, "lifetime", f"share at {t:g} h", "", s, None

    def plot(self, ax: Axes | None = None) -> Axes:
        """Draws the steps with their band and the cells that had not failed into `ax` (a new figure if None).

        Returns the axes; a further group is drawn into the same by passing them.

        ```python
        >>> import litdiode as ld
        >>> time_h = [90, 100, 120, 150, 160, 200, 200]  # invented
        >>> failed = [True, True, True, True, True, False, False]
        >>> ax = ld.survival(time_h, failed, label="recipe A").plot()
        >>> ax.get_xlabel()
        'time / h'
        ```
        """
        from ..plots import plot_survival

        return plot_survival(self, ax)


@dataclass(frozen=True)
class SurvivalComparison(Told):
    """Two groups' lifetimes against each other, from `compare_survival`; `str` is one sentence.

    - `first`, `second`: labels; `cells`: of each; `level`: 1 less the chance of calling equal groups different.
    - `chi2`, `p_logrank`: of the log-rank test, which needs many cells.
    - `p_exact`: of the permutation test of the same scores, exact for few cells where both groups were watched alike
      (of 100,000 random arrangements where there are more than 200,000).
    - `verdict`: "different" by `p_exact`, or "undecided"; `sentence`: it for people.

    ```python
    >>> import litdiode as ld
    >>> a = ld.survival([90, 120, 150, 200, 200], [True, True, True, False, False], label="A")  # invented
    >>> b = ld.survival([40, 45, 60, 70, 80], [True] * 5, label="B")
    >>> found = ld.compare_survival(a, b)
    >>> found.verdict, round(found.chi2, 2), round(found.p_logrank, 4), round(found.p_exact, 4)
    ('different', 9.7, 0.0018, 0.0079)
    ```
    """

    first: str
    second: str
    cells: tuple[int, int]
    level: float
    chi2: float
    p_logrank: float
    p_exact: float
    verdict: str
    sentence: str

    def __repr__(self) -> str:
        return (
            f"lifetime of {self.first} ({self.cells[0]} cells) and {self.second} ({self.cells[1]} cells): "
            f"{self.verdict}\n"
            f"  p: log-rank {self.p_logrank:.3g} (χ² {self.chi2:.2f}), permutation {self.p_exact:.3g}\n"
            f"  {self.sentence}"
        )

    def _rows(self) -> Iterable[tuple[str, str, str, str, float | None, float | None]]:
        for name in ("chi2", "p_logrank", "p_exact"):
            yield f"{self.first} − {self.second}", "lifetime", name, "", getattr(self, name), None


def survival(
    time_h: Any, failed: Sequence[bool] | None = None, *, label: str = "the group", level: float = 0.95
) -> Survival:
    """How long the cells of a group last: a `Survival` by the estimator of Kaplan and Meier.

    - `time_h`: of each cell in h, above 0: when it failed, or until when it was watched; or a list of `Ageing`s, one a
      cell, which failed if the fitted curve comes to its share before the last measurement.
    - `failed`: True for each cell that failed, False for each that had not; None with a list of `Ageing`s.
    - `label`: of the group.
    - `level`: of the intervals, from 0.5 to 1.

    The ± of a single cell's time is not in it: it is small against what cells differ by, or the intervals are too
    narrow. E. L. Kaplan, P. Meier, J. Am. Stat. Assoc. 53 (1958) 457; R. Brookmeyer, J. Crowley, Biometrics 38 (1982)
    29 (from memory). Raises `InputError` for fewer than two cells, and for times that are no positive numbers.

    ```python
    >>> import litdiode as ld
    >>> time_h, failed = [90, 100, 120, 150, 160, 200, 200], [True, True, True, True, True, False, False]  # invented
    >>> print(ld.survival(time_h, failed, label="recipe A"))
    half of the cells of recipe A last 150 h (90 h to no upper limit, 95 %)
    ```
    """
    require("label", label, str, "a text")
    level = _level(level)
    times, events = _watched(time_h, failed)
    found = library("statsmodels.duration.survfunc").SurvfuncRight(times, np.array(events, dtype=int))
    z = float(library("scipy.stats").norm.ppf(0.5 + 0.5 * level))
    share = [float(s) for s in found.surv_prob]
    bands = [_band(s, float(u), z) for s, u in zip(share, found.surv_prob_se, strict=True)]
    if any(events):
        median, low, high = _median(found, share, 1 - level)
    else:
        median, low, high = math.inf, _without_failures(times, 1 - level), math.inf
    if len(times) < _fewest(1 - level):
        low, high = 0.0, math.inf
    return Survival(
        label,
        level,
        tuple(times),
        tuple(events),
        tuple(float(t) for t in found.surv_times),
        tuple(int(n) for n in found.n_risk),
        tuple(int(d) for d in found.n_events),
        tuple(share),
        tuple(b[0] for b in bands),
        tuple(b[1] for b in bands),
        median,
        low,
        high,
        _sentence(label, len(times), (median, low, high), level),
    )


def _sentence(label: str, cells: int, median_h: tuple[float, float, float], level: float) -> str:
    (median, low, high), percent = median_h, f"{100 * level:g} %"
    if median == math.inf:
        bound = f"half last above {low:.4g} h ({percent})" if low > 0 else f"no bound of the median at {percent}"
        return f"half of the cells of {label} or more did not fail: {bound}"
    ends = f"{low:.4g} h to {'no upper limit' if high == math.inf else f'{high:.4g} h'}, {percent}"
    if cells < _fewest(1 - level):
        ends = f"no interval at {percent}: that takes {_fewest(1 - level)} cells"
    return f"half of the cells of {label} last {median:.4g} h ({ends})"


def _level(level: Any) -> float:
    number = require_number("level", level)
    if not 0.5 <= number < 1:
        raise InputError(f"level = {number} must be from 0.5 to 1, such as 0.95")
    return number


def _watched(time_h: Any, failed: Sequence[bool] | None) -> tuple[list[float], list[bool]]:
    """Time of each cell, and whether it failed then."""
    if isinstance(time_h, list | tuple) and time_h and all(isinstance(one, Ageing) for one in time_h):
        if failed is not None:
            raise InputError("failed goes with times; leave it out with a list of Ageings, which tell it themselves")
        _alike(time_h)
        spans = [one.time_h[-1] - one.time_h[0] for one in time_h]
        events = [one.time_to_share_h <= span for one, span in zip(time_h, spans, strict=True)]
        return [min(one.time_to_share_h, span) for one, span in zip(time_h, spans, strict=True)], events
    times = hours("time_h", time_h)
    if failed is None:
        raise InputError("failed is missing; pass True for each cell that failed, False for each that had not")
    require("failed", failed, Iterable, "a list of True and False, one a cell")
    events = list(failed)
    for k, one in enumerate(events):
        if not isinstance(one, bool | np.bool_):
            raise InputError(f"failed[{k}] = {one!r:.40} is neither True nor False; pass one of them")
    if len(events) != len(times):
        raise InputError(f"failed has {len(events)} entries and time_h {len(times)}; pass one a cell")
    if len(times) < 2:
        raise InputError(f"time_h holds {len(times)} cells; pass two or more")
    for k, t in enumerate(times):
        if t <= 0:
            raise InputError(f"time_h[{k}] = {t} must be above 0 h")
    return times, [bool(one) for one in events]


def _alike(cells: Sequence[Ageing]) -> None:
    """An error where cells were not asked for the same, or one is there twice."""
    for k, one in enumerate(cells[1:], 1):
        for name in ("figure", "share"):
            if getattr(one, name) != getattr(cells[0], name):
                raise InputError(
                    f"time_h[{k}] has {name} {getattr(one, name)!r} and time_h[0] {getattr(cells[0], name)!r}; "
                    "pass cells that were asked for the same"
                )
        same = next((j for j in range(k) if cells[j] == one), None)
        if same is not None:
            raise InputError(f"time_h[{k}] is time_h[{same}] again: leave one out, since one cell says nothing twice")


def _band(share: float, u: float, z: float) -> tuple[float | None, float | None]:
    """Interval of a share with Greenwood's standard error u, on the scale of ln(−ln S); none at 0."""
    if not 0 < share < 1:
        return None, None
    power = math.exp(z * u / (share * -math.log(share)))
    return share**power, share ** (1 / power)


def _median(found: Any, share: Sequence[float], alpha: float) -> tuple[float, float, float]:
    """Median and its interval; an end that too few failures bound is 0 or infinite."""
    median = next((float(t) for t, s in zip(found.surv_times, share, strict=True) if s <= 0.5 + _ROUNDING), math.inf)
    with np.errstate(all="ignore"):
        low, high = (float(end) for end in found.quantile_ci(0.5, alpha, method="cloglog"))
    return median, low if math.isfinite(low) else 0.0, high if math.isfinite(high) else math.inf


def _without_failures(times: Sequence[float], alpha: float) -> float:
    """Until when half of the cells last where none failed: k cells outlast their median with a chance of 0.5ᵏ."""
    k = _fewest(alpha)
    last = sorted(times, reverse=True)
    return 0.0 if k > len(last) else last[k - 1]


def _fewest(alpha: float) -> int:
    """Cells below which no median has an interval: all lie on one side of it with more than alpha/2."""
    return math.ceil(math.log(0.5 * alpha) / math.log(0.5))


def compare_survival(first: Survival, second: Survival, *, level: float = 0.95) -> SurvivalComparison:
    """Whether the cells of one group last longer than those of another: a `SurvivalComparison`.

    ```text
    O₁ − E₁ = Σ over the first group of (δᵢ − Λ̂(tᵢ))        Λ̂: cumulative hazard of both groups together, δ: 1 if
    failed
    ```

    - `first`, `second`: `Survival`s, from `survival`.
    - `level`: 1 less the chance of calling equal groups different, from 0.5 to 1.

    The verdict is that of the exact permutation test. N. Mantel, Cancer Chemother. Rep. 50 (1966) 163; R. Peto, J.
    Peto, J. R. Stat. Soc. A 135 (1972) 185 (from memory). Raises `InputError` where no cell failed.

    ```python
    >>> import litdiode as ld
    >>> a = ld.survival([90, 120, 150, 200, 200], [True, True, True, False, False], label="A")  # invented
    >>> b = ld.survival([40, 45, 60, 70, 80], [True] * 5, label="B")
    >>> print(ld.compare_survival(a, b))
    cells of A last longer than those of B (p 0.0079)
    ```
    """
    require("first", first, Survival, "a litdiode.Survival")
    require("second", second, Survival, "a litdiode.Survival")
    level = _level(level)
    times = np.array(first.time_h + second.time_h)
    events = np.array(first.failed + second.failed, dtype=int)
    if not events.any():
        raise InputError("first and second: no cell failed; watch them longer, lifetimes cannot be compared yet")
    n, m = len(first.time_h), len(second.time_h)
    chi2, p = library("statsmodels.duration.survfunc").survdiff(times, events, np.repeat([0, 1], [n, m]))
    scores = log_rank_scores(times, events)
    exact = permutation(list(scores[:n]), list(scores[n:]))
    verdict = "different" if exact < 1 - level else "undecided"
    longer, other = (first, second) if scores[:n].sum() < 0 else (second, first)
    said = f"cells of {longer.label} last longer than those of {other.label} (p {exact:.2g})"
    if verdict == "undecided":
        said = f"undecided: {first.label} and {second.label} are not told apart by their lifetimes (p {exact:.2g})"
    return SurvivalComparison(first.label, second.label, (n, m), level, float(chi2), float(p), exact, verdict, said)


def log_rank_scores(times: Any, events: Any) -> Any:
    """δᵢ − Λ̂(tᵢ) of each cell, whose sum over a group is its failures less those expected."""
    found = library("statsmodels.duration.survfunc").SurvfuncRight(times, events)
    hazard = np.cumsum(np.asarray(found.n_events) / np.asarray(found.n_risk))
    place = np.searchsorted(found.surv_times, times, side="right")
    return events - np.concatenate([[0.0], hazard])[place]
