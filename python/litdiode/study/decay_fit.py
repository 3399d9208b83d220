"""Fits of the decay models, their profiles in the rate, and the interval that all of them give together.

    z_m(s) = ±√((SSE_m(s) − SSE_m)/σ_m²)        H(s) = Σ w_m·T_ν(z_m(s)),  w_m ∝ exp(−AICc_m/2)

T_ν is Student's distribution, the normal where σ is known. H is the model-averaged tail area (D. Turek, D. Fletcher,
Comput. Stat. Data Anal. 56 (2012) 2809; D. Fletcher, D. Turek, J. Agric. Biol. Environ. Stat. 17 (2012) 38; from
memory): its quantiles bound the rate.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .decay_models import _FASTEST, _OTHERS, MODELS, Array, Model, Points, starts
from .extra import library

#: Weight below which a model adds nothing to a limit.
_LEAST = 1e-3
#: Nodes to each side of a grid that shrinks, in steps, and how often it does.
_NODES, _SHRINKS = np.linspace(-1, 1, 5), 9
#: The surest that H is taken to be.
_CERTAIN = 1e-12
#: Relative scatter below which the readings are taken as exact.
_EXACT = 1e-9


@dataclass(frozen=True)
class Fitted:
    """One model at its best: the rate s, q, the initial value, the sum of squares, and its evidence."""

    model: Model
    s: float
    q: Array
    initial: float
    sse: float
    dof: int
    criterion: float

    @property
    def free(self) -> int:
        return 1 + len(self.model.parameters)


def fit_all(points: Points, share: float, known: bool) -> list[Fitted]:
    """Every model that has enough readings; `known`: the weights are one over the true standard deviations."""
    n = len(set(points.t.tolist()))
    return [_fitted(m, points, share, known) for m in MODELS if n - len(m.parameters) - 3 > 0]


def _fitted(model: Model, points: Points, share: float, known: bool) -> Fitted:
    n, free = len(points.t), 1 + len(model.parameters)
    s, q, sse = best(model, points, share, None)
    initial = float(points.project(model.shape(np.array(s), q, points.t, share))[0])
    least = n * (_EXACT * float(np.max(np.abs(points.weight * points.y)))) ** 2
    sse = max(sse, least)
    count = free + 1
    corrected = 2 * count * (count + 1) / (n - count - 1)
    criterion = sse + 2 * free if known else n * math.log(sse / n) + 2 * count + corrected
    return Fitted(model, s, q, initial, sse, n - free, criterion)


def best(model: Model, points: Points, share: float, s: float | None) -> tuple[float, Array, float]:
    """The best rate, q and sum of squares; at the rate `s` where it is given."""
    if not model.parameters:
        return 0.0, np.zeros(0), float(points.project(np.ones((1, len(points.t))))[2][0])
    rates, q = starts(model, points, share, s)
    sums = points.project(model.shape(rates, q, points.t, share))[2]
    k = int(np.argmin(sums))
    if s is not None:
        if q.shape[1] == 0:
            return s, q[k], float(sums[k])
        return s, *_refined(model, points, share, s, q[k])
    return _polish_all(model, points, share, float(rates[k]), q[k])


def _refined(model: Model, points: Points, share: float, s: float, q: Array) -> tuple[Array, float]:
    """The best q at the rate `s` near one of the starts, by grids that shrink about the best node."""
    low, high = (np.array(end) for end in model.box(s, points.first, share))
    step = (high - low) / (_OTHERS - 1)
    nodes = np.stack(np.meshgrid(*[_NODES] * len(q), indexing="ij"), -1).reshape(-1, len(q))
    least = math.inf
    for _ in range(_SHRINKS):
        near = np.clip(q + step * nodes, low, high)
        sums = points.project(model.shape(np.full(len(near), s), near, points.t, share))[2]
        k = int(np.argmin(sums))
        q, least, step = near[k], float(sums[k]), 0.45 * step
    return q, least


def _polish_all(model: Model, points: Points, share: float, s: float, q: Array) -> tuple[float, Array, float]:
    """From the best start to the minimum, in s and in the place of q within its box, which depends on s."""
    optimize = library("scipy.optimize")

    def inside(x: Array) -> tuple[float, Array]:
        low, high = (np.array(end) for end in model.box(float(x[0]), points.first, share))
        return float(x[0]), low + x[1:] * (high - low)

    def rest(x: Array) -> Array:
        rate, shaped = inside(x)
        return points.project(model.shape(np.array(rate), shaped, points.t, share))[1]

    low, high = (np.array(end) for end in model.box(s, points.first, share))
    start = np.concatenate([[s], (q - low) / (high - low)])
    highest = _FASTEST / points.first
    limits = ([-highest if model.rises else 0.0, *[0.0] * len(q)], [highest, *[1.0] * len(q)])
    scale = np.concatenate([[max(abs(s), 0.01)], np.full(len(q), 0.1)])
    # Its step divides by the gradient, which is 0 where nothing is left to gain.
    with np.errstate(all="ignore"):
        found = optimize.least_squares(
            rest, np.clip(start, *limits), bounds=limits, x_scale=scale, xtol=1e-9, ftol=1e-10, gtol=None
        )
    rate, shaped = inside(found.x)
    return rate, shaped, 2 * float(found.cost)


def weights(fits: list[Fitted]) -> list[float]:
    """Akaike's weights."""
    least = min(f.criterion for f in fits)
    raw = [math.exp(-0.5 * (f.criterion - least)) for f in fits]
    return [r / sum(raw) for r in raw]


def inflation(points: Points, fit: Fitted, share: float) -> float:
    """Factor on the variance where neighbouring residuals are alike.

    ```text
    (1 + ρ)/(1 − ρ)        ρ: of residuals with their neighbours, where it is told from 0 at 5 % (one-sided); else 1
    ```
    """
    f = fit.model.shape(np.array(fit.s), fit.q, points.t, share)
    rest = points.project(f)[1].reshape(-1)
    if float(rest @ rest) < 0.5 * fit.sse:  # Nothing but rounding is left.
        return 1.0
    rho = float(rest[1:] @ rest[:-1]) / max(float(rest @ rest), 1e-300)
    return 1.0 if rho < 1.645 / math.sqrt(len(rest)) else (1 + rho) / (1 - rho)


class Averaged:
    """H(s): how sure the models of free shape together are that the rate is at most s.

    What is not known of a decay is its shape: the linear and the exponential, which fix it, would make the interval too
    narrow. `known`: the weights are one over the true standard deviations; `more`: factor on the variance.
    """

    def __init__(self, points: Points, share: float, fits: list[Fitted], known: bool, more: float) -> None:
        self._points, self._share, self._known, self._more = points, share, known, more
        free = [f for f in fits if len(f.model.parameters) > 1]
        kept = [(f, w) for f, w in zip(free, weights(free), strict=True) if w > _LEAST]
        total = sum(w for _, w in kept)
        self._known_at: dict[float, float] = {}
        self._parts = [(f, w / total) for f, w in kept]

    def below(self, s: float) -> float:
        return sum(w * self._one(f, s) for f, w in self._parts)

    def _one(self, fit: Fitted, s: float) -> float:
        special = library("scipy.special")
        sse = best(fit.model, self._points, self._share, s)[2]
        variance = self._more * (1.0 if self._known else fit.sse / fit.dof)
        z = math.copysign(math.sqrt(max(0.0, sse - fit.sse) / variance), s - fit.s)
        return float(special.ndtr(z) if self._known else special.stdtr(fit.dof, z))

    def quantile(self, p: float, near: float) -> float:
        """The time 1/s with H = p, searched from `near` on: infinite beyond the last reading, 0 within a third of the
        first step.
        """
        optimize = library("scipy.optimize")
        ends = (0.0, math.log(_FASTEST / self._points.first))
        start = min(max(-math.log(near), ends[0]), ends[1])
        low = self._beyond(p, start, ends[0], -1)
        high = self._beyond(p, start, ends[1], 1)
        if low is None:
            return math.inf
        if high is None:
            return 0.0
        return math.exp(-float(optimize.brentq(lambda x: self._off(x, p), low, high, xtol=1e-6)))

    def _off(self, x: float, p: float) -> float:
        """H less p at ln s = x, both as normal deviates, which makes it nearly straight."""
        special = library("scipy.special")
        if x not in self._known_at:
            self._known_at[x] = min(max(self.below(math.exp(x)), _CERTAIN), 1 - _CERTAIN)
        return float(special.ndtri(self._known_at[x]) - special.ndtri(p))

    def _beyond(self, p: float, start: float, end: float, sign: int) -> float | None:
        """The nearest ln s, in steps that grow, on one side of `start`, with H beyond p; None where none is.

        `sign`: 1 for the side of higher rates, −1 for that of lower ones.
        """
        step = 0.1
        while True:
            x = max(start - step, end) if sign < 0 else min(start + step, end)
            if sign * self._off(x, p) > 0:
                return x
            if x == end:
                return None
            step *= 2
