"""What a student holds: readings, the questions, and a check that needs no truth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any

from .._core import InputError
from ..arguments import require
from ..storage import Stored
from .exercise import Case, Readings
from .exercises import ALL
from .judging import CheckFailed, all_handed, first_wrong, judge, told
from .sheet import written


@dataclass(frozen=True)
class Handout(Stored):
    """The readings of one student for some exercises, from `Instructor.handout`; `to_json` makes a file of it.

    - `student`: the number that it was drawn for.
    - `exercises`: a `Readings` for each exercise.

    It holds no truth, no salt and no function: what `repr`, `vars` and `pickle` show of it is all there is.

    ```python
    >>> import litdiode as ld
    >>> teacher = ld.course.Instructor("an invented salt, not for a course")
    >>> handout = teacher.handout("0042", ["key_points", "dark_curve"])
    >>> handout.student, [readings.exercise for readings in handout.exercises]
    ('0042', ['key_points', 'dark_curve'])
    ```
    """

    student: str
    exercises: tuple[Readings, ...]

    def _consistent(self) -> bool:
        names = [one.exercise for one in self.exercises]
        return len(set(names)) == len(names) and all(name in ALL for name in names)

    def names(self) -> list[str]:
        """The names of the exercises."""
        return [one.exercise for one in self.exercises]

    def readings(self, exercise: str) -> Readings:
        """The `Readings` of one exercise.

        - `exercise`: its name, one of `names()`.

        Raises `InputError` for another name.

        ```python
        >>> import litdiode as ld
        >>> handout = ld.course.Instructor("an invented salt, not for a course").handout("0042", ["key_points"])
        >>> handout.readings("key_points").sweeps
        {'lit': Sweep(30 points, −0.0600 to 0.6200 V, −3.096 to 5.833 mA)}
        ```
        """
        require("exercise", exercise, str, "the name of an exercise")
        for one in self.exercises:
            if one.exercise == exercise:
                return one
        raise InputError(f"exercise = {exercise!r:.60} is not in this handout; give one of {', '.join(self.names())}")

    def question(self, exercise: str) -> str:
        """The question, what to hand in, and what is known from elsewhere, as text.

        - `exercise`: its name, one of `names()`.

        Raises `InputError` for another name.

        ```python
        >>> import litdiode as ld
        >>> handout = ld.course.Instructor("an invented salt, not for a course").handout("0042", ["key_points"])
        >>> print(handout.question("key_points").splitlines()[0])
        Key points of a sweep under light
        ```
        """
        found = self.readings(exercise)
        lines = [ALL[exercise].text()]
        for name, sweep in found.sweeps.items():
            noise = "" if sweep.noise is None else f", {sweep.noise}"
            light = "" if sweep.irradiance_w_m2 is None else f", {sweep.irradiance_w_m2}"
            lines.append(f"Given: {name}, {len(sweep)} readings at {sweep.temperature_c:g} °C{light}{noise}")
        lines += [f"Given: {name}, {len(values)} readings" for name, values in found.numbers.items()]
        lines += [f"Given: {name} = {estimate}" for name, estimate in found.estimates.items()]
        return "\n".join(lines)

    def csv(self, exercise: str) -> str:
        """The readings of an exercise as CSV, the current in mA as a tracer writes it, numbers in their own unit.

        - `exercise`: its name, one of `names()`.

        Raises `InputError` for another name.

        ```python
        >>> import litdiode as ld
        >>> handout = ld.course.Instructor("an invented salt, not for a course").handout("0042", ["key_points"])
        >>> handout.csv("key_points").splitlines()[:3]
        ['voltage (V),current (mA)', '-0.06,5.75429036', '-0.0365517241,5.77858446']
        ```
        """
        found, tables = self.readings(exercise), []
        for sweep in found.sweeps.values():
            rows = zip(sweep.voltage_v, sweep.current_a, strict=True)
            tables.append(
                written(["voltage (V)", "current (mA)"], ([f"{v:.9g}", f"{1000.0 * i:.9g}"] for v, i in rows))
            )
        if found.numbers:
            heading = [f"{name} ({found.units[name]})" if found.units[name] else name for name in found.numbers]
            columns = [[f"{x!r}" for x in values] for values in found.numbers.values()]
            tables.append(written(heading, zip_longest(*columns, fillvalue="")))
        return "".join(tables)


def check(handout: Handout, exercise: str, answer: Mapping[str, Any], *, hint: int = 1) -> None:
    """Returns where an answer agrees with its readings; raises `CheckFailed`, with a hint, where it does not.

    ```text
    |T(x) − T(r)| ≤ 3·u_T(r)        0.5 ≤ u_T(x)/u_T(r) ≤ 2.5        T(x) = x, ln x (I0, n) or −1/x (Rsh)
    ```

    r is what the library makes of the same readings: neither the truth nor the salt is needed, and an instructor's
    marks, which are against the truth, are another matter.

    - `handout`: the `Handout` with the readings.
    - `exercise`: the name of an exercise in it.
    - `answer`: a dictionary of the name of each quantity to an `Estimate`, (value, u) in its SI unit, a number where
      no ± is asked for, or a word.
    - `hint`: how much the hint says, 1 to 3: what is wrong; why; how it is done right.

    Raises `InputError` for an answer that lacks a quantity or holds another one, a number that is not finite, a
    `hint` outside 1 to 3, and a handout whose readings do not answer the question; `TypeError`, naming the quantity,
    for a value of another kind.

    ```python
    >>> import litdiode as ld
    >>> handout = ld.course.Instructor("an invented salt, not for a course").handout("0042", ["key_points"])
    >>> key_points = handout.readings("key_points").sweeps["lit"].key_points()
    >>> answer = {name: getattr(key_points, name) for name in ("isc", "voc", "pmax", "ff")}
    >>> ld.course.check(handout, "key_points", answer)
    >>> try:
    ...     ld.course.check(handout, "key_points", answer | {"isc": (1000 * answer["isc"].value, 0.1)})
    ... except ld.course.CheckFailed as error:
    ...     print(error.code)
    unit
    ```
    """
    require("handout", handout, Handout, "a course.Handout, such as Handout.from_json gives")
    require("hint", hint, int, "1, 2 or 3")
    if not 1 <= hint <= 3:
        raise InputError(f"hint = {hint} is no level; pass 1, 2 or 3")
    found = handout.readings(exercise)
    task = ALL[exercise]
    handed = all_handed(task, answer)
    try:
        reference = task.reference(found)
        if not task.clear(found, reference):
            raise InputError(f"handout: its readings do not answer {exercise}; use the file as it was given out")
    except KeyError as error:
        raise InputError(f"handout lacks {error} of {exercise}; use the file as it was given out") from None
    wrong = first_wrong(judge(task, Case(found, reference, handed), None))
    if wrong is not None:
        text = told(wrong, task, hint) + ("" if hint == 3 else f" (hint={hint + 1} says more)")
        raise CheckFailed(text, exercise, wrong.quantity.name, wrong.slip.code if wrong.slip else "value", hint)
