"""How a cell ages: the decay of a figure over hours, and the time to 80 % of its initial value.

    y(t) = y₀·f(t)        f(T) = share

The models of f are those of `decay_models`; their evidence weighs them, and the interval of T is that of all together.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from .._core import Estimate, Fit, InputError, KeyPoints, Sweep
from ..arguments import require, require_number
from ..quote import quoted
from .decay_fit import Averaged, Fitted, fit_all, inflation, weights
from .decay_models import MODELS, Array, Points
from .extra import library
from .group import Group, common_variance, independent_variances
from .storage import Stored, Told

if TYPE_CHECKING:
    from matplotlib.axes import Axes

#: Different times that a decay needs.
_FEWEST = 6
#: The fall after which readings are left out of the interval, in those that are asked for, and how many it needs.
_TIMES, _AROUND = 2.0, 8
#: A direction of the parameters with less than this part of the largest singular value is not determined.
_SINGULAR = 1e-7


@dataclass(frozen=True)
class Candidate(Stored):
    """A model of the decay and its evidence: a row of `Ageing.candidates`.

    - `model`: its name; `free`: how many parameters it has, the initial value among them.
    - `scatter`: standard deviation of the readings about it, in the unit of the figure.
    - `criterion`: Akaike's, corrected for few readings, less that of the best; `weight`: exp(−criterion/2), of sum 1.
    - `time_to_share_h`: when it comes to the share, in h; infinite where it does not before the last reading.
    """

    model: str
    free: int
    scatter: float
    criterion: float
    weight: float
    time_to_share_h: float


@dataclass(frozen=True)
class Ageing(Told):
    """The decay of one figure of a cell, from `ageing`; `str` is one sentence.

    - `label`: of the cell; `figure`, `unit`: what was followed; `share`: of the initial value that is asked for;
      `level`: of the interval.
    - `time_h`, `values`: the readings, times in h as given.
    - `model`: the model of best evidence; `candidates`: a row a model.
    - `initial`: y₀, an `Estimate`: the fitted value at the first reading; what all readings share, and what the choice
      of the model leaves open, are in its ±.
    - `parameters`: of the model, `Estimate`s by name; rates in 1/h. One at the end of what is allowed, or that the
      readings do not determine, has no ±.
    - `covariance`: of `initial` and the parameters, in that order, without what all readings share; 0 where there is no
      ±.
    - `scatter`: standard deviation of a reading about the curve, in `unit`; `dof`: its degrees of freedom, infinite
      where the ± of the readings serve.
    - `time_to_share_h`: from the first reading until the curve comes to `share`, in h; infinite where it does not
      before the last reading. The median of the interval's models, where the curve comes to it outside of the interval.
    - `low_h`, `high_h`: its interval in h; `high_h` is infinite where the readings do not bound it, and `reason` says
      why.
    - `remarks`: what must be known with it.
    - `sentence`: the time for people.

    ```python
    >>> import litdiode as ld
    >>> time_h = range(0, 90, 10)
    >>> eta = [0.1002, 0.0968, 0.0941, 0.0915, 0.0884, 0.0862, 0.0829, 0.0809, 0.0783]  # invented
    >>> found = ld.ageing(time_h, eta, label="cell 3")
    >>> print(found)
    efficiency of cell 3 falls to 80 % of its initial value in 72.86 h (70.58 h to 75.2 h, 95 %)
    >>> print(found.initial)
    0.10007 ± 0.00018
    >>> found.model, list(found.parameters)
    ('exponential', ['rate'])
    ```
    """

    label: str
    figure: str
    unit: str
    share: float
    level: float
    time_h: tuple[float, ...]
    values: tuple[float, ...]
    model: str
    candidates: tuple[Candidate, ...]
    initial: Estimate
    parameters: dict[str, Estimate]
    covariance: tuple[tuple[float, ...], ...]
    scatter: float
    dof: float
    time_to_share_h: float
    low_h: float
    high_h: float
    reason: str
    remarks: tuple[str, ...]
    sentence: str

    def __repr__(self) -> str:
        fitted = ", ".join(f"{name} {one}" for name, one in self.parameters.items())
        lines = [
            f"{self.figure} of {self.label}, {len(self.time_h)} readings over "
            f"{self.time_h[-1] - self.time_h[0]:.4g} h: {self.model}",
            f"  initial {self.initial}" + (f", {fitted}" if fitted else ""),
            f"  {self.sentence}",
            f"  model        free  scatter    AICc    weight  to {100 * self.share:g} %",
        ]
        for c in self.candidates:
            t = "not reached" if c.time_to_share_h == math.inf else f"{c.time_to_share_h:.4g} h"
            spread = quoted(c.scatter, None, self.unit)
            lines.append(f"  {c.model:<13}{c.free}     {spread:<10} +{c.criterion:<6.1f} {c.weight:<7.3f} {t}")
        return "\n".join([*lines, *(f"  {r}" for r in self.remarks)])

    def _consistent(self) -> bool:
        named = {m.name: [one.name for one in m.parameters] for m in MODELS}
        size = 1 + len(self.parameters)
        square = len(self.covariance) == size and all(len(row) == size for row in self.covariance)
        right = sorted(named.get(self.model, [""])) == sorted(self.parameters)
        return right and square and 1 < len(self.time_h) == len(self.values) and self.time_h[0] < self.time_h[-1]

    def _rows(self) -> Iterable[tuple[str, str, str, str, float | None, float | None]]:
        for name, one in {"initial": self.initial, **self.parameters}.items():
            yield self.label, self.figure, name, one.unit, one.value, one.u
        named = {"time_to_share": self.time_to_share_h, "low": self.low_h, "high": self.high_h}
        yield from ((self.label, self.figure, name, "h", value, None) for name, value in named.items())
        yield self.label, self.figure, "scatter", self.unit, self.scatter, None

    def curve(self, time_h: Any) -> Any:
        """The fitted figure at times `time_h` in h, counted as the readings' times: an array of the same length.

        ```python
        >>> import litdiode as ld
        >>> time_h = range(0, 90, 10)
        >>> eta = [0.1002, 0.0968, 0.0941, 0.0915, 0.0884, 0.0862, 0.0829, 0.0809, 0.0783]  # invented
        >>> ld.ageing(time_h, eta).curve([0.0, 40.0]).round(4).tolist()
        [0.1001, 0.0885]
        ```
        """
        shape, _ = self._slopes(time_h)
        return self.initial.value * shape

    def band(self, time_h: Any) -> Any:
        """Lower and upper limit at `level` of the fitted curve at times `time_h` in h: two arrays.

        It is that of the best model alone, by the covariance of its parameters.

        ```python
        >>> import litdiode as ld
        >>> time_h = range(0, 90, 10)
        >>> eta = [0.1002, 0.0968, 0.0941, 0.0915, 0.0884, 0.0862, 0.0829, 0.0809, 0.0783]  # invented
        >>> low, high = ld.ageing(time_h, eta).band([0.0, 40.0])
        >>> low.round(4).tolist(), high.round(4).tolist()
        ([0.0997, 0.0883], [0.1004, 0.0887])
        ```
        """
        stats = library("scipy.stats")
        shape, jacobian = self._slopes(time_h)
        c = np.array(self.covariance)
        half = float(stats.t.ppf(0.5 + 0.5 * self.level, self.dof)) * np.sqrt(
            np.maximum(np.einsum("it,ij,jt->t", jacobian, c, jacobian), 0.0)
        )
        return self.initial.value * shape - half, self.initial.value * shape + half

    def _slopes(self, time_h: Any) -> tuple[Array, Array]:
        """f at the times, and the derivatives of the figure to the initial value and the parameters."""
        t = np.array(hours("time_h", time_h)) - self.time_h[0]
        for k, one in enumerate(t):
            if one < 0:
                raise InputError(f"time_h[{k}] lies before the first reading; pass times from {self.time_h[0]} h on")
        model = next(m for m in MODELS if m.name == self.model)
        span = self.time_h[-1] - self.time_h[0]
        scale = [span if one.is_rate else 1.0 for one in model.parameters]
        p = [self.parameters[one.name].value * by for one, by in zip(model.parameters, scale, strict=True)]
        rows = model.slopes(p, t / span) * np.array([1.0, *scale])[:, None]
        return rows[0], np.vstack([rows[:1], self.initial.value * rows[1:]])

    def plot(self, ax: Axes | None = None) -> Axes:
        """Draws the readings, the curve with its band and the interval of the time into `ax` (a new figure if None).

        Returns the axes; a further cell is drawn into the same by passing them.

        ```python
        >>> import litdiode as ld
        >>> time_h = range(0, 90, 10)
        >>> eta = [0.1002, 0.0968, 0.0941, 0.0915, 0.0884, 0.0862, 0.0829, 0.0809, 0.0783]  # invented
        >>> ax = ld.ageing(time_h, eta, label="cell 3").plot()
        >>> ax.get_xlabel()
        'time / h'
        ```
        """
        from ..plots import plot_ageing

        return plot_ageing(self, ax)


def ageing(
    time_h: Any,
    figures: Sequence[float | Estimate | Sweep | KeyPoints | Fit],
    figure: str = "efficiency",
    *,
    share: float = 0.8,
    level: float = 0.95,
    label: str = "the cell",
) -> Ageing:
    """How one figure of a cell falls with time, and the time to 80 % of its initial value: an `Ageing`.

    ```text
    constant 1, linear 1 − k·t, quadratic 1 − r₀·t − (r₁ − r₀)·t²/2, exponential exp(−k·t),
    order m (1 − (1 − m)·k·t)^(1/(1 − m)), stretched exp(−(k·t)^β), two-phase A·exp(−k₁·t) + (1 − A)·exp(−k₂·t)
    ```

    - `time_h`: times of the readings in h, rising; they count from the first of them, whose fitted value is the initial
      one.
    - `figures`: a reading each: numbers, `Estimate`s, or `Sweep`s, `KeyPoints` or `Fit`s that have the figure.
    - `figure`: its name: a key point, or a parameter where all are fits.
    - `share`: of the initial value that is asked for, from 0.05 to 0.99.
    - `level`: of the interval, from 0.5 to 1.
    - `label`: of the cell.

    Needs six readings of different times that have the figure. Where each has a ± of its own, and the readings scatter
    no more than that, it serves; else the scatter is found. What all share (the lamp) is in `initial` alone. Akaike's
    criterion chooses the model that is shown; the interval of the time is averaged by evidence over the models whose
    shape is free, and is open above where the readings do not show that the share was reached before the last of them.

    H. Akaike, IEEE Trans. Autom. Control 19 (1974) 716; C. M. Hurvich, C.-L. Tsai, Biometrika 76 (1989) 297; D.
    Fletcher, D. Turek, J. Agric. Biol. Environ. Stat. 17 (2012) 38 (all from memory). Raises `InputError` for fewer
    readings, times that do not rise, figures of several units, an initial value that is not above 0, and numbers
    outside their range.

    ```python
    >>> import litdiode as ld
    >>> time_h = [0, 10, 20, 30, 40, 50, 60, 70, 80]
    >>> eta = [0.1002, 0.0968, 0.0941, 0.0915, 0.0884, 0.0862, 0.0829, 0.0809, 0.0783]  # invented
    >>> found = ld.ageing(time_h, eta, label="cell 3")
    >>> print(f"{found.model}: 80 % in {found.time_to_share_h:.1f} h ({found.low_h:.0f} h to {found.high_h:.0f} h)")
    exponential: 80 % in 72.9 h (71 h to 75 h)
    ```
    """
    share, level = require_number("share", share), require_number("level", level)
    for name, value, low, high in (("share", share, 0.05, 0.99), ("level", level, 0.5, 0.999)):
        if not low <= value <= high:
            raise InputError(f"{name} = {value} must be from {low} to {high}")
    require("label", label, str, "a text")
    times, found, remarks = _readings(hours("time_h", time_h), figures, figure, label)
    return _aged(_Task(label, figure, share, level), times, found, remarks)


def hours(name: str, values: Any) -> list[float]:
    """Times in h as numbers; else an error that names the entry."""
    require(name, values, (list, tuple, np.ndarray, range), "a list of times in h")
    found = [require_number(f"{name}[{k}]", v) for k, v in enumerate(values)]
    for k, t in enumerate(found):
        if math.isinf(t):
            raise InputError(f"{name}[{k}] = {t} must be finite, in h")
    return found


def _readings(
    times: list[float], figures: Any, figure: str, label: str
) -> tuple[list[float], list[Estimate], list[str]]:
    """Times and figures of the readings that have the figure, and a remark for each that has not."""
    require("figures", figures, (list, tuple, np.ndarray), "a list of numbers, Estimates or Sweeps")
    if len(figures) != len(times):
        raise InputError(f"figures has {len(figures)} entries and time_h {len(times)}; pass one a time")
    for k in range(1, len(times)):
        if times[k] < times[k - 1]:
            raise InputError(f"time_h[{k}] = {times[k]} lies before the one before it; give them in rising order")
    kinds = (Sweep, KeyPoints, Fit, Estimate)
    members = [
        one if isinstance(one, kinds) else Estimate(require_number(f"figures[{k}]", one))
        for k, one in enumerate(figures)
    ]
    if not members:
        raise InputError("figures is empty; pass one a time")
    found, places, absent = Group(label, members).figures(figure)
    if len({times[k] for k in places}) < _FEWEST:
        why = "; ".join(f"reading {k}: {reason}" for k, reason in absent)
        raise InputError(
            f"figures: {len({times[k] for k in places})} different times have {figure}, and a decay needs {_FEWEST}: "
            f"{why or 'pass more readings'}"
        )
    for k, one in zip(places, found, strict=True):
        if one.unit != found[0].unit:
            raise InputError(f"figures[{k}] is in {one.unit or 1} and others in {found[0].unit or 1}; give one unit")
        if not math.isfinite(one.value):
            raise InputError(f"figures[{k}] = {one.value} must be finite; leave that reading out")
    return [times[k] for k in places], found, [f"reading {k}: no {figure}: {reason}" for k, reason in absent]


@dataclass(frozen=True)
class _Task:
    """What is asked."""

    label: str
    figure: str
    share: float
    level: float


@dataclass(frozen=True)
class _Data:
    """What it is asked of; `known`: the weights of the points are one over the true standard deviations."""

    times: list[float]
    found: list[Estimate]
    points: Points
    known: bool

    @property
    def span(self) -> float:
        return self.times[-1] - self.times[0]

    def variance(self, fit: Fitted) -> float:
        """Of a weighted residual."""
        return 1.0 if self.known else fit.sse / fit.dof

    def dof(self, fit: Fitted) -> float:
        return math.inf if self.known else float(fit.dof)


def _aged(task: _Task, times: list[float], found: list[Estimate], remarks: list[str]) -> Ageing:
    points, known, why = _points(times, found, task.share)
    data = _Data(times, found, points, known)
    fits = fit_all(points, task.share, known)
    best = min(fits, key=lambda f: f.criterion)
    if not best.initial > 0:
        raise InputError(f"figures: the fitted initial value is {best.initial:.3g}; pass figures above 0")
    more = inflation(points, best, task.share)
    initial, parameters, covariance, undetermined = _parameters(fits, data, task.share, more)
    low, reached, high = (data.span * t for t in _time_to_share(fits, data, task))
    own = float(np.median(1 / points.weight))
    return Ageing(
        task.label,
        task.figure,
        found[0].unit,
        task.share,
        task.level,
        tuple(times),
        tuple(e.value for e in found),
        best.model.name,
        tuple(_candidate(f, w, best, own, data.span) for f, w in zip(fits, weights(fits), strict=True)),
        initial,
        parameters,
        covariance,
        own * math.sqrt(best.sse / best.dof),
        data.dof(best),
        reached,
        low,
        high,
        _reason(reached, high, data.span, task),
        tuple([*remarks, *why, *_remarks(more), *undetermined]),
        _sentence(task, reached, low, high),
    )


def _time_to_share(fits: list[Fitted], data: _Data, task: _Task) -> tuple[float, float, float]:
    """Lower limit, time and upper limit, in parts of the span.

    Readings far below the share tell the shape there and not the time: they are left out of the interval.
    """
    best = min(fits, key=lambda f: f.criterion)
    near = _until(best, data.points, task.share)
    free = fits if len(near.t) == len(data.points.t) else fit_all(near, task.share, data.known)
    more = inflation(near, min(free, key=lambda f: f.criterion), task.share)
    averaged, tail = Averaged(near, task.share, free, data.known, more), 0.5 * (1 - task.level)
    start = 1 / max(best.s, 1.0)
    low, high = (averaged.quantile(p, start) for p in (1 - tail, tail))
    low, reached = min(low, 1.0), 1 / best.s if best.s >= 1 else math.inf
    return low, reached if low <= reached <= high else averaged.quantile(0.5, start), high


def _until(best: Fitted, points: Points, share: float) -> Points:
    """The readings until the curve has fallen by twice what is asked for, and _AROUND at the least."""
    fallen = best.model.shape(np.array(best.s), best.q, points.t, share) < 1 - _TIMES * (1 - share)
    last = max(int(np.argmax(fallen)) if fallen.any() else len(fallen), min(_AROUND, len(fallen)))
    while len(set(points.t[:last].tolist())) < _FEWEST:
        last += 1
    return Points(points.t[:last], points.y[:last], points.weight[:last])


def _points(times: list[float], found: list[Estimate], share: float) -> tuple[Points, bool, list[str]]:
    """What is fitted, whether its weights are the true ones, and a remark where they are not what was stated."""
    t = (np.array(times) - times[0]) / (times[-1] - times[0])
    y = np.array([e.value for e in found])
    if any(e.u is None for e in found):
        return Points(t, y, np.ones(len(y))), False, []
    own = np.array(independent_variances(found))
    if not np.all(own > 1e-12 * y * y):
        return Points(t, y, np.ones(len(y))), False, []
    points = Points(t, y, 1 / np.sqrt(own))
    best = min(fit_all(points, share, True), key=lambda f: f.criterion)
    times_more = math.sqrt(best.sse / best.dof)
    if times_more <= 1:
        return points, True, []
    remark = f"the readings scatter {times_more:.2f} times as much as their ± say; the scatter is taken"
    return points, False, [remark] if times_more > 1.5 else []


def _remarks(more: float) -> list[str]:
    if more == 1:
        return []
    return [
        "neighbouring residuals are alike: a drift, or a shape that no model has; the ± are "
        f"{math.sqrt(more):.2f} times as wide for it"
    ]


def _candidate(fit: Fitted, weight: float, best: Fitted, own: float, span: float) -> Candidate:
    reached = span / fit.s if fit.s >= 1 else math.inf
    scatter = own * math.sqrt(fit.sse / fit.dof)
    return Candidate(fit.model.name, fit.free, scatter, fit.criterion - best.criterion, weight, reached)


@dataclass(frozen=True)
class _Linear:
    """A fit to first order: the parameters as quoted, which of them have a ±, and what each reading does to them.

    `gain`: a row for the initial value and each parameter; times the residuals' variance, gain·gainᵀ is their
    covariance.
    """

    p: list[float]
    fixed: Array
    free: Array
    singular: bool
    gain: Array


def _linear(fit: Fitted, data: _Data, share: float) -> _Linear:
    points, known = data.points, fit.model.parameters
    scale = np.array([1.0, *(1 / data.span if one.is_rate else 1.0 for one in known)])
    p = fit.model.natural(fit.s, fit.q, share)
    fixed = np.array([False, *fit.model.fixed(fit.s, fit.q, points.first, share)])
    rows = fit.model.slopes(p, points.t)
    jacobian = points.weight * np.vstack([rows[:1], fit.initial * rows[1:]]) / scale[:, None]
    free, singular = _determined(jacobian, fixed)
    gain = np.zeros_like(jacobian)
    gain[free] = np.linalg.pinv(jacobian[free].T)
    return _Linear([a * float(b) for a, b in zip(p, scale[1:], strict=True)], fixed, free, singular, gain)


def _parameters(
    fits: list[Fitted], data: _Data, share: float, more: float
) -> tuple[Estimate, dict[str, Estimate], tuple[tuple[float, ...], ...], list[str]]:
    """Initial value and parameters with their ±, the covariance of all, and remarks where some have none."""
    best = min(fits, key=lambda f: f.criterion)
    one = _linear(best, data, share)
    covariance = more * data.variance(best) * one.gain @ one.gain.T
    named = {}
    for k, parameter in enumerate(best.model.parameters):
        u = math.sqrt(float(covariance[k + 1, k + 1])) if one.free[k + 1] else None
        unit = "1/h" if parameter.is_rate else ""
        named[parameter.name] = Estimate(one.p[k], u, dof=data.dof(best), unit=unit)
    ends = [name for name, at_end in zip(named, one.fixed[1:], strict=True) if at_end]
    said = [f"{name} has no ±: it stands at the end of what is allowed" for name in ends]
    if one.singular:
        said.append("the readings do not tell the parameters of the shape apart: these have no ±")
    initial = _initial(fits, data, share, more)
    return initial, named, tuple(tuple(float(x) for x in row) for row in covariance), said


def _initial(fits: list[Fitted], data: _Data, share: float, more: float) -> Estimate:
    """The initial value of the best model; what the choice of it leaves open and what all readings share are in its ±.

    u² = Σ w_m·(u_m² + (y₀_m − y₀)²) + u_common² (K. P. Burnham, D. R. Anderson, Model Selection and Multimodel
    Inference (2002), section 4.3; from memory).
    """
    best, own, common = min(fits, key=lambda f: f.criterion), 0.0, 0.0
    for fit, weight in zip(fits, weights(fits), strict=True):
        gain = _linear(fit, data, share).gain[0]
        own += weight * (more * data.variance(fit) * float(gain @ gain) + (fit.initial - best.initial) ** 2)
        if fit is best and all(e.u is not None for e in data.found):
            common = common_variance(data.found, list(gain * data.points.weight))
    dof = data.dof(best) * ((own + common) / own) ** 2 if own > 0 else math.inf
    return Estimate(best.initial, math.sqrt(own + common), dof=dof, unit=data.found[0].unit)


def _determined(jacobian: Array, fixed: Array) -> tuple[Array, bool]:
    """Which parameters get a ±, and whether some lack it because the readings do not tell them apart."""
    free = ~fixed
    sizes = np.linalg.norm(jacobian[free], axis=1)
    if np.all(sizes > 0):
        values = np.linalg.svd(jacobian[free] / sizes[:, None], compute_uv=False)
        if values[-1] > _SINGULAR * values[0]:
            return free, False
    return np.arange(len(fixed)) == 0, True


def _reason(reached: float, high: float, span: float, task: _Task) -> str:
    if high < math.inf:
        return ""
    percent = f"{100 * task.share:g} %"
    if reached == math.inf:
        return f"the curve does not come to {percent} before the last reading, {span:.4g} h after the first"
    return (
        f"the readings up to {span:.4g} h do not show at {100 * task.level:g} % that {percent} was reached: "
        "measure for longer"
    )


def _sentence(task: _Task, reached: float, low: float, high: float) -> str:
    what, percent = f"{task.figure} of {task.label}", f"{100 * task.share:g} %"
    if reached == math.inf:
        return f"{what}: {percent} of its initial value is not reached: above {low:.4g} h ({100 * task.level:g} %)"
    end = "no upper limit" if high == math.inf else f"{high:.4g} h"
    return (
        f"{what} falls to {percent} of its initial value in {reached:.4g} h ({low:.4g} h to {end}, "
        f"{100 * task.level:g} %)"
    )
