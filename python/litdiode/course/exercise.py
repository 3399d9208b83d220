"""What an exercise is: what it draws, what it asks for, and what its readings say.

A number with ± is judged on the scale T on which its likelihood is nearly normal:

```text
T(x) = x        T(x) = ln x  (I0, n)        T(x) = −1/x  (Rsh)        u_T = u·T′(x)
```
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import ClassVar, Literal

from .._core import Estimate, Sweep
from ..storage import Stored
from .draw import Draw

#: T, T′ and the inverse of T, by the name of the scale.
_SCALES: dict[str, tuple[Callable[[float], float], Callable[[float], float], Callable[[float], float]]] = {
    "linear": (lambda x: x, lambda x: 1.0, lambda t: t),
    "log": (math.log, lambda x: 1 / x, math.exp),
    "inverse": (lambda x: -1 / x, lambda x: 1 / x / x, lambda t: -1 / t),
}


@dataclass(frozen=True)
class Quantity:
    """One figure that an exercise asks for.

    - `name`, `unit`, `about`: its name, its SI unit (empty for a pure number), and what it is.
    - `scale`: "linear", "log" or "inverse": that on which its ± is symmetric.
    - `tolerance`: None for a figure with ±; of one without, the relative deviation that rounding may make.
    - `choices`: the words of which one is the answer; empty for a number.
    - `by_formula`: whether value and ± follow from the readings by one formula, so that no other sound method scatters
      about them.
    """

    name: str
    unit: str
    about: str
    scale: Literal["linear", "log", "inverse"] = "linear"
    tolerance: float | None = None
    choices: tuple[str, ...] = ()
    by_formula: bool = False

    @property
    def with_u(self) -> bool:
        """Whether it is handed in with its ±."""
        return self.tolerance is None and not self.choices

    @property
    def points(self) -> int:
        """Points that it is worth: one for the value, one for the ± where there is one."""
        return 2 if self.with_u else 1

    def placed(self, x: float) -> float:
        """T(x); NaN where x has no place on the scale."""
        return _SCALES[self.scale][0](x) if self.scale == "linear" or x > 0 else math.nan

    def width(self, x: float, u: float) -> float:
        """u·T′(x); NaN as above."""
        return u * _SCALES[self.scale][1](x) if self.scale == "linear" or x > 0 else math.nan

    def back(self, t: float) -> float | None:
        """The x of a place; None where there is none, as for an end at an infinite resistance."""
        return None if self.scale == "inverse" and t >= 0 else _SCALES[self.scale][2](t)


@dataclass(frozen=True)
class Slip:
    """A mistake that an answer shows.

    - `code`: a word for programs.
    - `hints`: three sentences: what is wrong, why, and how it is done right. None holds a figure of the solution.
    - `about`: what is wrong with it, the "value" or its "u".
    """

    code: str
    hints: tuple[str, str, str]
    about: Literal["value", "u"] = "value"


@dataclass(frozen=True)
class Readings(Stored):
    """What a student is given for one exercise; nothing of it holds the truth that it was drawn from.

    - `exercise`: its name.
    - `sweeps`: measured `Sweep`s by name, with the noise that the maker of the tracer states.
    - `numbers`: lists of readings by name; `units`: their units.
    - `estimates`: what is known from elsewhere, an `Estimate` a name.

    ```python
    >>> import litdiode as ld
    >>> teacher = ld.course.Instructor("an invented salt, not for a course")
    >>> given = teacher.handout("0042", ["detection_limit"]).readings("detection_limit")
    >>> list(given.sweeps), list(given.numbers), given.units, list(given.estimates)
    ([], ['blank', 'reading'], {'blank': 'A', 'reading': 'A'}, [])
    ```
    """

    exercise: str
    sweeps: dict[str, Sweep] = field(default_factory=dict)
    numbers: dict[str, tuple[float, ...]] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    estimates: dict[str, Estimate] = field(default_factory=dict)


@dataclass(frozen=True)
class Drawn:
    """Readings, and the truth behind them by the name of a quantity; one that is not there is what the readings say."""

    readings: Readings
    truth: dict[str, float | str]


@dataclass(frozen=True)
class Solved:
    """What was drawn, and what the library makes of its readings."""

    drawn: Drawn
    reference: Mapping[str, Estimate | float | str]


@dataclass(frozen=True)
class Handed:
    """An answer to one quantity: a number with or without ±, or a word; `written` as it was handed in."""

    value: float | None
    u: float | None
    word: str
    written: str


@dataclass(frozen=True)
class Case:
    """An answer beside what the readings give."""

    readings: Readings
    reference: Mapping[str, Estimate | float | str]
    answer: Mapping[str, Handed]

    def right(self, name: str) -> float:
        """The number that the readings give."""
        found = self.reference[name]
        return found.value if isinstance(found, Estimate) else float(found)

    def right_u(self, name: str) -> float:
        """Its ±, 0 where there is none."""
        found = self.reference[name]
        return (found.u or 0.0) if isinstance(found, Estimate) else 0.0

    def value(self, name: str) -> float:
        """The number that was handed in."""
        found = self.answer[name].value
        return math.nan if found is None else found

    def is_value(self, name: str, wrong: float, failed: bool) -> bool:
        """Whether the value is that of a wrong method: the same in all digits that are written, and the right one is
        not; or, of a value that `failed`, within a quarter of the way from the wrong one to the right."""
        x, right = self.value(name), self.right(name)
        same = self.agrees(name, wrong) and not self.agrees(name, right)
        return same or (failed and abs(x - wrong) <= 0.25 * abs(wrong - right))

    def agrees(self, name: str, other: float) -> bool:
        """Whether the value is another one in all digits that are written."""
        x = self.value(name)
        return abs(x - other) <= max(_half_last_digit(x), 1e-9 * abs(other))

    def is_precise(self, name: str) -> bool:
        """Whether the value is written so finely, to a thousandth of its ±, that one like it is no chance."""
        return _half_last_digit(self.value(name)) < 1e-3 * self.right_u(name)

    def is_u(self, name: str, wrong: float, share: float = 0.2) -> bool:
        """Whether the ± is that of a wrong method, within a share of it, as far as that differs from the right one."""
        u = self.answer[name].u
        return u is not None and abs(u - wrong) <= share * min(wrong, abs(wrong - self.right_u(name)))

    def all_u(self, wrong: Mapping[str, float], factor: float) -> bool:
        """Whether every ± that was handed in is that of a wrong method, within a factor: one alone may be chance."""
        given = [(self.answer[name].u or 0.0, u) for name, u in wrong.items() if name in self.answer]
        return all(1 / factor <= u / w <= factor for u, w in given if w > 0)


def _half_last_digit(x: float) -> float:
    """Half a unit of the last decimal that `x` is written with."""
    mantissa, _, exponent = f"{x!r}".lower().partition("e")
    decimals = len(mantissa.partition(".")[2]) if not mantissa.endswith(".0") else 0
    return 0.5 * 10.0 ** (int(exponent or 0) - decimals) if math.isfinite(x) else math.nan


class Exercise(ABC):
    """An exercise: a subclass in a file of `course/exercises`, one object of which stands in the list there.

    `name`, `title`, `question` say what it is and what to do; `quantities` what to hand in; `hints` are three
    sentences, from general to particular, for a value that is wrong without a cause that is known.
    """

    name: ClassVar[str]
    title: ClassVar[str]
    question: ClassVar[str]
    quantities: ClassVar[tuple[Quantity, ...]]
    hints: ClassVar[tuple[str, str, str]]

    @abstractmethod
    def draw(self, draw: Draw) -> Drawn:
        """Readings with known truth. What is set (steps, ranges, stated noise) must tell no more of the truth than what
        is read does."""

    @abstractmethod
    def reference(self, readings: Readings) -> dict[str, Estimate | float | str]:
        """What the library makes of the readings, by the name of a quantity."""

    def clear(self, readings: Readings, reference: Mapping[str, Estimate | float | str]) -> bool:
        """Whether the readings answer the question; they are drawn anew where not. Must not look at the truth."""
        numbers = [reference[q.name] for q in self.quantities if q.with_u]
        return all(isinstance(e, Estimate) and bool(e.u) for e in numbers)

    def slip(self, case: Case, quantity: Quantity, value_failed: bool, u_failed: bool) -> Slip | None:
        """The wrong method that the answer to `quantity` shows, or None. `value_failed`, `u_failed`: its value, its ±
        lies outside what is allowed."""
        return None

    def text(self) -> str:
        """The question, and what to hand in."""
        asked = []
        for q in self.quantities:
            kind = f"one of {', '.join(q.choices)}" if q.choices else f"in {q.unit}" if q.unit else "a pure number"
            asked.append(f"- {q.name}: {q.about}; {kind}{', with its ±' if q.with_u else ''}")
        return "\n".join([self.title, "", self.question, "", "Hand in:", *asked])
