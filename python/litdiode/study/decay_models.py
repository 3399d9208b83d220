"""How a figure falls with time: the models, written by the rate at which it comes to a given share of its start.

    constant      f = 1
    linear        f = 1 − r·t
    quadratic     f = 1 − r₀·t − (r₁ − r₀)·t²/2, t in spans: r₀ is lost per time at the first reading, r₁ at the last
    exponential   f = exp(−k·t)
    order m       f = (1 − (1 − m)·k·t)^(1/(1 − m)), of df/dt = −k·f^m: linear for m = 0, exponential for m = 1
    stretched     f = exp(−(k·t)^β)
    two-phase     f = A·exp(−k₁·t) + (1 − A)·exp(−k₂·t)        k₁ > k₂ ≥ 0, −0.3 ≤ A ≤ 1

Each has f(0) = 1, and f(1/s) = share defines the rate s; what else shapes it is q. Time is in parts of the whole span.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

Array = Any
#: Parts of the loss at 1/s that the square makes: from a rate that comes to 0 there to a rise at the start.
_SQUARE = (-0.9, 4.0)
#: Values of 1 − m.
_ORDER = (-5.0, 3.0)
#: Exponents of the stretched exponential.
_BETA = (0.3, 5.0)
#: Highest rate to the share, and highest rate of a phase, times the first step: a faster one is that step alone.
_FASTEST, _PHASE = 3.0, 2.0
#: The least share of a fast phase: below 0, the figure rises by as much.
_RISE = -0.3
#: Within this of an end of its box a q stands at the end.
_EDGE = 1e-6
#: Numbers of the starts: of the rate, and of each q.
_RATES, _OTHERS = 24, 14


@dataclass(frozen=True)
class Parameter:
    """A parameter as it is quoted: its name and whether it is a rate in 1/h; else it is a pure number."""

    name: str
    is_rate: bool


class Model:
    """A decay without anything to fit: the constant, and what the others have in common."""

    name = "constant"
    parameters: tuple[Parameter, ...] = ()
    #: Whether the figure may rise: s below 0.
    rises = False

    def shape(self, s: Array, q: Array, t: Array, share: float) -> Array:
        """f at the times `t` (last axis), for arrays `s` and `q` (last axis of q: its entries)."""
        return np.ones(np.shape(s) + np.shape(t))

    def box(self, s: float, first: float, share: float) -> tuple[list[float], list[float]]:
        """Lower and upper limits of q at the rate `s`; `first` is the shortest step of time."""
        return [], []

    def natural(self, s: float, q: Array, share: float) -> list[float]:
        """The parameters as they are quoted."""
        return []

    def fixed(self, s: float, q: Array, first: float, share: float) -> list[bool]:
        """Which of the quoted parameters stand at an end of what is allowed."""
        return [False] * len(self.parameters)

    def slopes(self, p: list[float], t: Array) -> Array:
        """f and its derivatives to the quoted parameters, a row each; rates and times in parts of the span."""
        return np.ones((1, len(t)))


class Linear(Model):
    name, rises = "linear", True
    parameters = (Parameter("rate", True),)

    def shape(self, s: Array, q: Array, t: Array, share: float) -> Array:
        return 1 - (1 - share) * np.asarray(s)[..., None] * t

    def natural(self, s: float, q: Array, share: float) -> list[float]:
        return [(1 - share) * s]

    def slopes(self, p: list[float], t: Array) -> Array:
        return np.array([1 - p[0] * t, -t])


class Quadratic(Model):
    """q: the part of the loss at 1/s that the square makes."""

    name = "quadratic"
    parameters = (Parameter("first_rate", True), Parameter("last_rate", True))

    def shape(self, s: Array, q: Array, t: Array, share: float) -> Array:
        x, square = np.asarray(s)[..., None] * t, q[..., 0][..., None]
        return 1 - (1 - share) * ((1 - square) * x + square * x * x)

    def box(self, s: float, first: float, share: float) -> tuple[list[float], list[float]]:
        return [_SQUARE[0]], [_SQUARE[1]]

    def natural(self, s: float, q: Array, share: float) -> list[float]:
        rate = (1 - share) * (1 - float(q[0])) * s
        return [rate, rate + 2 * (1 - share) * float(q[0]) * s * s]

    def fixed(self, s: float, q: Array, first: float, share: float) -> list[bool]:
        return [False, not _SQUARE[0] + _EDGE < q[0] < _SQUARE[1] - _EDGE]

    def slopes(self, p: list[float], t: Array) -> Array:
        half = t * t / 2
        return np.array([1 - p[0] * t - (p[1] - p[0]) * half, half - t, -half])


class Exponential(Model):
    name, rises = "exponential", True
    parameters = (Parameter("rate", True),)

    def shape(self, s: Array, q: Array, t: Array, share: float) -> Array:
        return np.exp(math.log(share) * np.asarray(s)[..., None] * t)

    def natural(self, s: float, q: Array, share: float) -> list[float]:
        return [-math.log(share) * s]

    def slopes(self, p: list[float], t: Array) -> Array:
        f = np.exp(-p[0] * t)
        return np.array([f, -t * f])


class Order(Model):
    """q: p = 1 − m."""

    name = "order m"
    parameters = (Parameter("rate", True), Parameter("order", False))

    def shape(self, s: Array, q: Array, t: Array, share: float) -> Array:
        p = _nonzero(q[..., 0])[..., None]
        gone = -np.expm1(p * math.log(share)) * np.asarray(s)[..., None] * t
        # With m < 1 the figure comes to nothing, and stays there.
        return np.exp(np.log1p(-np.minimum(gone, 1 - 1e-12)) / p)

    def box(self, s: float, first: float, share: float) -> tuple[list[float], list[float]]:
        return [_ORDER[0]], [_ORDER[1]]

    def natural(self, s: float, q: Array, share: float) -> list[float]:
        p = float(_nonzero(q[0]))
        return [-math.expm1(p * math.log(share)) / p * s, 1 - p]

    def fixed(self, s: float, q: Array, first: float, share: float) -> list[bool]:
        return [False, not _ORDER[0] + _EDGE < q[0] < _ORDER[1] - _EDGE]

    def slopes(self, p: list[float], t: Array) -> Array:
        k, order = p
        power, x = float(_nonzero(1 - order)), k * t
        left = np.maximum(1 - power * x, 1e-12)
        f = left ** (1 / power)
        # d ln f/dp, by its series where it cancels.
        near = np.abs(power * x) < 1e-3
        exact = -np.log(left) / power**2 - x / (power * left)
        return np.array([f, -t * f / left, -f * np.where(near, -(x**2) / 2 - 2 * power * x**3 / 3, exact)])


def _nonzero(p: Array) -> Array:
    """p, and a number without meaning where the limit of the exponential cannot be written."""
    return np.where(np.abs(p) < 1e-6, 1e-6, p)


class Stretched(Model):
    """q: ln β."""

    name = "stretched"
    parameters = (Parameter("rate", True), Parameter("exponent", False))

    def shape(self, s: Array, q: Array, t: Array, share: float) -> Array:
        beta = np.exp(q[..., 0])[..., None]
        return np.exp(math.log(share) * (np.asarray(s)[..., None] * t) ** beta)

    def box(self, s: float, first: float, share: float) -> tuple[list[float], list[float]]:
        return [math.log(_BETA[0])], [math.log(_BETA[1])]

    def natural(self, s: float, q: Array, share: float) -> list[float]:
        beta = math.exp(q[0])
        return [(-math.log(share)) ** (1 / beta) * s, beta]

    def fixed(self, s: float, q: Array, first: float, share: float) -> list[bool]:
        return [False, not math.log(_BETA[0]) + _EDGE < q[0] < math.log(_BETA[1]) - _EDGE]

    def slopes(self, p: list[float], t: Array) -> Array:
        k, beta = p
        x = k * t
        with np.errstate(divide="ignore", invalid="ignore"):
            powered = x**beta
            to_beta = np.where(x > 0, powered * np.log(x), 0.0)
        f = np.exp(-powered)
        to_k = -beta * powered / k * f if k > 0 else 0 * t
        return np.array([f, to_k, -to_beta * f])


class TwoPhase(Model):
    """q: ln k₁, and where A lies between _RISE and the most with k₂ ≥ 0, (1 − share)/(1 − e₁).

    e₁ = exp(−k₁/s), e₂ = exp(−k₂/s) = (share − A·e₁)/(1 − A): what the phases have left at 1/s. With A below 0 the
    figure rises before it falls; at s = 0 the slow phase is a plateau.
    """

    name = "two-phase"
    parameters = (Parameter("fast_share", False), Parameter("fast_rate", True), Parameter("slow_rate", True))

    def shape(self, s: Array, q: Array, t: Array, share: float) -> Array:
        part, slow = self._parts(s, q, share)
        fast = np.exp(q[..., 0])[..., None] * t
        return part[..., None] * np.exp(-fast) + (1 - part)[..., None] * np.exp(-slow[..., None] * t)

    def _parts(self, s: Array, q: Array, share: float) -> tuple[Array, Array]:
        """A and k₂."""
        gone = np.exp(-np.exp(q[..., 0]) / np.maximum(s, 1e-300))
        part = _RISE + q[..., 1] * ((1 - share) / (1 - gone) - _RISE)
        left = np.clip((share - part * gone) / np.maximum(1 - part, 1e-12), 1e-12, 1.0)
        return part, np.abs(np.log(left)) * s

    def box(self, s: float, first: float, share: float) -> tuple[list[float], list[float]]:
        slowest = math.log(max(-math.log(share) * s * (1 + 1e-6), 1e-2))
        return [slowest, 0.0], [max(math.log(_PHASE / first), slowest + 1e-9), 1.0]

    def natural(self, s: float, q: Array, share: float) -> list[float]:
        part, slow = self._parts(np.array(s), q, share)
        return [float(part), math.exp(q[0]), float(slow)]

    def fixed(self, s: float, q: Array, first: float, share: float) -> list[bool]:
        low, high = self.box(s, first, share)
        return [float(q[1]) < _EDGE, not low[0] + _EDGE < q[0] < high[0] - _EDGE, float(q[1]) > 1 - _EDGE]

    def slopes(self, p: list[float], t: Array) -> Array:
        a, fast, slow = p
        one, two = np.exp(-fast * t), np.exp(-slow * t)
        return np.array([a * one + (1 - a) * two, one - two, -a * t * one, -(1 - a) * t * two])


MODELS: tuple[Model, ...] = (Model(), Linear(), Quadratic(), Exponential(), Order(), Stretched(), TwoPhase())


@dataclass(frozen=True)
class Points:
    """What is fitted: times in parts of the span, figures, and one over their standard deviations."""

    t: Array
    y: Array
    weight: Array

    @cached_property
    def first(self) -> float:
        """The shortest step of time from the start."""
        return float(np.min(self.t[self.t > 0]))

    def project(self, f: Array) -> tuple[Array, Array, Array]:
        """The best initial value for the shapes `f`, the weighted residuals, and the sum of their squares."""
        g, z = self.weight * f, self.weight * self.y
        initial = (g @ z) / np.maximum((g * g).sum(-1), 1e-300)
        rest = z - initial[..., None] * g
        return initial, rest, (rest * rest).sum(-1)


def starts(model: Model, points: Points, share: float, s: float | None) -> tuple[Array, Array]:
    """Rates and q to begin with, over all that is allowed; the rate is `s` where it is given."""
    highest = _FASTEST / points.first
    up = np.geomspace(1e-3, highest, _RATES)
    rates = np.array([s]) if s is not None else np.concatenate([-up[::-1][_RATES // 4 :], up]) if model.rises else up
    found_s, found_q = [], []
    for rate in rates:
        low, high = model.box(float(rate), points.first, share)
        axes = [np.linspace(a, b, _OTHERS) for a, b in zip(low, high, strict=True)]
        grid = np.stack(np.meshgrid(*axes, indexing="ij"), -1).reshape(-1, len(low)) if low else np.zeros((1, 0))
        found_s.append(np.full(len(grid), rate))
        found_q.append(grid)
    return np.concatenate(found_s), np.concatenate(found_q)
