"""Whether an answer is right.

```text
off = (T(x) − T(target))/u_T(reference)        z = (T(x) − T(target))/u_T(answer)
ratio = u_T(answer)/u_T(reference)
```

The reference is what the library makes of the same readings. The target is the truth where it is known (an instructor's
marks), else the reference (a student's check). A value is right where |off| is within what the data allow; a ± is right
where the ratio lies between `NARROWEST` and `WIDEST` and |z| is within what chance allows.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from numbers import Real
from typing import Any

from .._core import Estimate, InputError, LitdiodeError
from ..arguments import require
from .exercise import Case, Exercise, Handed, Quantity, Slip

#: Ratios of the ± handed in to that of the library between which it passes: another sound method has up to twice the ±.
NARROWEST, WIDEST = 0.5, 2.5
#: Probability of the interval of the answer's own ± that must hold the truth: 3.9 standard uncertainties.
LEVEL = 0.9999
#: What rounding, and the correction of a scatter for few readings, makes of a figure by a formula, in its ±; and ratios
#: of the ± between which it is that of the formula: that of single cells in place of means is √3 times as large.
FORMULA, FORMULA_RATIOS = 0.15, (0.7, 1.45)
#: A sound method other than the library's scatters more about the truth by this factor.
OTHER_METHOD = 1.5
#: A value from the same readings by another sound method lies within so many standard uncertainties of the library's.
CLOSE = 3.0
#: Powers of ten that a prefix, a percentage or a squared centimetre makes.
_POWERS = (-12, -9, -6, -4, -3, -2, 2, 3, 4, 6, 9, 12)
_DECADE = math.log(10.0)
#: A variance of a ± that would pass is that of the reference within this factor.
_VARIANCE = WIDEST**2
#: Half of a 95 % interval is that of the reference within this factor.
_SAME = 1.1
_INTERVAL = Slip(
    "interval_for_u",
    (
        "every ± looks like half of a 95 % interval; asked is one standard uncertainty.",
        "The half of a 95 % interval is about twice the standard uncertainty, more with few degrees of freedom.",
        "Divide by 1.96, or by Student's t for 97.5 % with your degrees of freedom.",
    ),
    "u",
)


class CheckFailed(LitdiodeError):
    """An answer that does not pass; its text is the hint.

    `exercise`, `quantity`: what it is about; `code`: the mistake in one word, such as "variance" or "unit"; `hint`:
    the level of the hint that its text gives, 1 to 3.

    ```python
    >>> import litdiode as ld
    >>> handout = ld.course.Instructor("an invented salt, not for a course").handout("0042", ["key_points"])
    >>> points = handout.readings("key_points").sweeps["lit"].key_points()
    >>> answer = {"isc": (5.8, 0.01), "voc": points.voc, "pmax": points.pmax, "ff": points.ff}  # Isc in mA
    >>> try:
    ...     ld.course.check(handout, "key_points", answer)
    ... except ld.course.CheckFailed as error:
    ...     print(error.exercise, error.quantity, error.code, error.hint)
    key_points isc unit 1
    ```
    """

    def __init__(self, text: str, exercise: str = "", quantity: str = "", code: str = "", hint: int = 1) -> None:
        super().__init__(text, exercise, quantity, code, hint)
        self.exercise, self.quantity, self.code, self.hint = exercise, quantity, code, hint

    def __str__(self) -> str:
        return str(self.args[0])


@dataclass(frozen=True)
class Judged:
    """The answer to one quantity, judged; `z` and `ratio` are None where there is no ±."""

    quantity: Quantity
    handed: Handed
    z: float | None
    ratio: float | None
    value_right: bool
    u_right: bool
    slip: Slip | None

    @property
    def passed(self) -> bool:
        """Whether nothing is wrong."""
        return self.value_right and self.u_right

    @property
    def points(self) -> int:
        """Points: one for the value, one for a ± on a right value."""
        return int(self.value_right) * (self.quantity.points - (self.quantity.with_u and not self.u_right))


def handed_of(quantity: Quantity, given: Any, where: str) -> Handed:
    """What was handed in for a quantity: an `Estimate`, (value, u), a number or a word."""
    if quantity.choices:
        require(where, given, str, f"one of the words {', '.join(quantity.choices)}")
        return Handed(None, None, given.strip().lower(), given.strip())
    if isinstance(given, Estimate):
        # One without a unit counts as a plain number.
        other = given.unit if given.unit != quantity.unit else ""
        written = f"{given.value!r}" if given.u is None else f"{given.value!r} ± {given.u!r}"
        return Handed(_finite(where, given.value), given.u, other, f"{written} {other}".strip())
    value, u = given if isinstance(given, list | tuple) and len(given) == 2 else (given, None)
    number, plus_minus = _finite(where, value), None if u is None else _finite(f"the ± of {where}", u)
    if plus_minus is not None and plus_minus < 0:
        raise InputError(f"the ± of {where} is {plus_minus}; pass a standard uncertainty above 0")
    return Handed(number, plus_minus, "", f"{number!r}" if u is None else f"{number!r} ± {plus_minus!r}")


def _finite(where: str, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, Real):
        raise TypeError(
            f"{where} = {value!r:.60} is of type {type(value).__name__}; pass an Estimate, (value, u) or a number"
        )
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise InputError(f"{where} = {number} is not finite; pass an Estimate, (value, u) or a number")
    return number


def all_handed(exercise: Exercise, answer: Mapping[str, Any]) -> dict[str, Handed]:
    """The whole answer by quantity; errors name what is missing or unknown."""
    require(
        "answer", answer, Mapping, "a dictionary of the name of a quantity to (value, u), such as {'isc': (0.03, 1e-4)}"
    )
    names = [q.name for q in exercise.quantities]
    unknown = [name for name in answer if name not in names]
    if unknown:
        raise InputError(
            f"answer has {unknown[0]!r:.60}, which {exercise.name} does not ask for; give {', '.join(names)}"
        )
    missing = [name for name in names if name not in answer]
    if missing:
        raise InputError(f"answer lacks {missing[0]!r}; {exercise.name} asks for {', '.join(names)}: give all of them")
    return {q.name: handed_of(q, answer[q.name], f"answer[{q.name!r}]") for q in exercise.quantities}


def judge(exercise: Exercise, case: Case, truth: Mapping[str, float | str] | None) -> list[Judged]:
    """Each quantity that was handed in, against the truth, or against the reference where there is none."""
    answer = case.answer
    asked = [q for q in exercise.quantities if q.name in answer]
    return [_judged(exercise, case, q, None if truth is None else truth.get(q.name), truth is None) for q in asked]


def _judged(exercise: Exercise, case: Case, q: Quantity, truth: float | str | None, by_data: bool) -> Judged:
    handed = case.answer[q.name]
    if q.choices:
        right = str(case.reference[q.name]) if truth is None else str(truth)
        found = handed.word == right
        slip = None if found else exercise.slip(case, q, True, False) or _general(exercise, "value", q)
        return Judged(q, handed, None, None, found, True, slip)
    target = case.right(q.name) if truth is None else float(truth)
    if not q.with_u:
        found = abs(case.value(q.name) - target) <= reach(case, q, target)
        slip = _slip(exercise, case, q, target, not found, False)
        return Judged(q, handed, None, None, found and slip is None, True, slip)
    z, apart, ratio = _distances(case, q, target)
    if q.by_formula:
        # What the formula makes of the readings, however far that is from the truth.
        target = case.right(q.name)
        apart, (low, high), most = _distances(case, q, target)[1], FORMULA_RATIOS, math.inf
    else:
        (low, high), most = (NARROWEST, WIDEST), half_interval(case.reference[q.name], LEVEL)
    allowed = CLOSE * _reference_width(case, q) if by_data and not q.by_formula else reach(case, q, target)
    close = abs(apart) <= allowed and not handed.word
    right_u = ratio is not None and low <= ratio <= high and (by_data or (z is not None and abs(z) <= most))
    slip = _slip(exercise, case, q, target, not close, not right_u)
    # A wrong method costs the value also where chance has made it a good one.
    about = None if slip is None else slip.about
    return Judged(q, handed, z, ratio, close and about != "value", right_u and about != "u", slip)


def half_interval(found: Estimate | float | str, level: float) -> float:
    """Standard uncertainties in half of an interval of a figure: Student's t with its degrees of freedom."""
    dof = found.dof if isinstance(found, Estimate) else math.inf
    return Estimate(0.0, 1.0, dof=dof).interval(level).high or math.inf


def reach(case: Case, q: Quantity, target: float) -> float:
    """How far from the truth, on the scale of the quantity, a value passes whose ± does."""
    if not q.with_u:
        return (q.tolerance or 0.0) * abs(target)
    if q.by_formula:
        return FORMULA * _reference_width(case, q)
    return OTHER_METHOD * half_interval(case.reference[q.name], LEVEL) * _reference_width(case, q)


def _reference_width(case: Case, q: Quantity) -> float:
    """u_T of the reference."""
    return q.width(case.right(q.name), case.right_u(q.name))


def _distances(case: Case, q: Quantity, target: float) -> tuple[float | None, float, float | None]:
    """z, T(x) − T(target), and the ratio of the ±; infinite where the value has no place on the scale."""
    handed, x = case.answer[q.name], case.value(q.name)
    apart = q.placed(x) - q.placed(target)
    if math.isnan(apart):
        return None, math.inf, None
    if not handed.u:
        return None, apart, None
    u = q.width(x, handed.u)
    # So small a ± that it vanishes on the scale is as good as none.
    return apart / u if u > 0 and math.isfinite(u) else None, apart, u / _reference_width(case, q)


def _slip(
    exercise: Exercise, case: Case, q: Quantity, target: float, value_failed: bool, u_failed: bool
) -> Slip | None:
    """What is wrong, the most particular first."""
    handed = case.answer[q.name]
    if handed.word or (value_failed and _is_unit(case, q, target)):
        return _unit(q)
    if q.with_u and handed.u is None:
        return _general(exercise, "no_u", q)
    found = exercise.slip(case, q, value_failed, u_failed)
    if found is not None:
        return found
    if _is_interval(case):
        return _INTERVAL
    if u_failed and handed.u and _is_variance(case, q.name):
        return _variance(q)
    if value_failed:
        return _general(exercise, "value", q)
    if not u_failed:
        return None
    ratio = _distances(case, q, target)[2]
    return _general(exercise, "too_wide" if ratio is not None and ratio > WIDEST else "too_small", q)


def _is_unit(case: Case, q: Quantity, target: float) -> bool:
    """Whether the value would be right but for a power of ten."""
    x, place, allowed = case.value(q.name), q.placed(target), reach(case, q, target)
    # Where the reach holds 0 as well, or a whole decade, some power of ten leads there from anywhere.
    if allowed > (_DECADE if q.scale == "log" else 0.5 * abs(place)):
        return False
    return any(abs(q.placed(x / 10.0**k) - place) <= allowed for k in _POWERS)


def _is_variance(case: Case, name: str) -> bool:
    """Whether a ± is the square of the reference's, within the factor that a ± may be off; where the two are that near
    to each other, only if all that were handed in are."""
    squares = {q: case.right_u(q) ** 2 for q in case.answer if case.right_u(q) > 0}
    apart = abs(math.log(case.right_u(name))) > 2 * math.log(_VARIANCE)
    return case.all_u({name: squares[name]} if apart else squares, _VARIANCE)


def _is_interval(case: Case) -> bool:
    """Whether two or more ± were handed in, and all are half of a 95 % interval; one alone may be another method's."""
    given = {
        name: found for name, found in case.reference.items() if name in case.answer and isinstance(found, Estimate)
    }
    halves = {name: (found.u or 0.0) * half_interval(found, 0.95) for name, found in given.items()}
    return len(halves) > 1 and case.all_u(halves, _SAME)


def _unit(q: Quantity) -> Slip:
    unit = q.unit or "a pure number, not per cent"
    return Slip(
        "unit",
        (
            f"{q.name} has another unit than was asked for: it is wanted in {unit}, and yours looks like another "
            f"prefix or quantity.",
            "A file says in its heading whether a column is in A or mA; a resistance from V and mA comes out in kΩ.",
            "Convert the readings to V and A before anything else, and write the unit beside every figure.",
        ),
    )


def _variance(q: Quantity) -> Slip:
    return Slip(
        "variance",
        (
            f"the ± of {q.name} looks like a variance, not like a standard uncertainty: is its unit {q.unit or '1'}, "
            f"or that squared?",
            "The diagonal of a covariance matrix holds variances, the squares of the uncertainties.",
            "u = √(variance): take the square root of the diagonal entry; an Estimate has u itself.",
        ),
        "u",
    )


def _general(exercise: Exercise, code: str, q: Quantity) -> Slip:
    if code == "value":
        first, second, third = exercise.hints
        return Slip(code, (f"{q.name} is not what these readings say. {first}", second, third))
    said = {
        "no_u": f"{q.name} stands without its ±: a figure without one cannot be compared with anything.",
        "too_small": f"the ± of {q.name} is too small for these readings: it claims more than they can tell.",
        "too_wide": f"the ± of {q.name} is too wide: these readings tell more than it admits.",
    }
    why = {
        "no_u": "Hand in (value, u), u being one standard uncertainty in the unit of the value.",
        "too_small": "Count what moves all readings together, what was fitted besides, and few degrees of freedom.",
        "too_wide": "Is every reading used, each with its own weight, and is it one standard uncertainty, not the "
        "width of a 95 % interval?",
    }
    return Slip(
        code,
        (
            said[code],
            why[code],
            "Carry the noise of the readings through the whole calculation with all covariances, or repeat the "
            "calculation on many simulated sweeps and take the standard deviation of the results.",
        ),
        "u",
    )


def told(judged: Judged, exercise: Exercise, level: int) -> str:
    """The hint up to a level."""
    if judged.slip is None:
        return ""
    return f"{exercise.name}, {judged.quantity.name}: {' '.join(judged.slip.hints[:level])}"


def first_wrong(found: list[Judged]) -> Judged | None:
    """The answer to speak of first: one with a cause that is known, else the first that is wrong."""
    wrong = [one for one in found if not one.passed]
    general = ("value", "too_small", "too_wide", "no_u")
    known = [one for one in wrong if one.slip is not None and one.slip.code not in general]
    return next(iter(known + wrong), None)
