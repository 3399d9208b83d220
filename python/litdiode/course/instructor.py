"""What an instructor holds: the salt, and with it the truth behind every handout."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NoReturn

from .._core import Estimate, InputError, LitdiodeError
from ..arguments import require
from ..quote import quoted
from ..storage import Stored
from . import sheet
from .draw import Draw, checked_salt, checked_student
from .exercise import Case, Exercise, Handed, Quantity, Solved
from .exercises import ALL
from .handout import Handout
from .judging import Judged, handed_of, judge, reach

#: Draws after which an exercise is broken: of sound ones fewer than half are drawn anew.
_ATTEMPTS = 100


@dataclass(frozen=True)
class KeyRow(Stored):
    """The right answer to one quantity: a row of a `Key`.

    - `exercise`, `quantity`, `unit`: what it is.
    - `truth`: the number that the readings were drawn from; what the readings give where there is none behind them.
    - `low`, `high`: the values that pass, where the ± does; None for an end at infinity and for words.
    - `u`: the ± that the library finds from the same readings, or None.
    - `word`: the right word; empty for a number.

    ```python
    >>> import litdiode as ld
    >>> row = ld.course.Instructor("an invented salt, not for a course").key("0042", ["key_points"]).rows[0]
    >>> row.exercise, row.quantity, row.unit, row.low < row.truth < row.high
    ('key_points', 'isc', 'A', True)
    ```
    """

    exercise: str
    quantity: str
    unit: str
    truth: float | None
    low: float | None
    high: float | None
    u: float | None
    word: str


@dataclass(frozen=True)
class Key(Stored):
    """The right answers of one student, from `Instructor.key`: `student`, and `rows`, a `KeyRow` a quantity.

    ```python
    >>> import litdiode as ld
    >>> key = ld.course.Instructor("an invented salt, not for a course").key("0042", ["two_recipes"])
    >>> key.student, [(row.quantity, row.word) for row in key.rows]
    ('0042', [('difference', ''), ('verdict', 'equivalent')])
    ```
    """

    student: str
    rows: tuple[KeyRow, ...]

    def __repr__(self) -> str:
        lines = [f"Key of {self.student}"]
        for row in self.rows:
            shown = row.word if row.truth is None else quoted(row.truth, row.u, row.unit)
            lines.append(f"  {row.exercise:<18}{row.quantity:<16}{shown}")
        return "\n".join(lines)


@dataclass(frozen=True)
class Mark(Stored):
    """The mark of one quantity: a row of `Marks`.

    - `exercise`, `quantity`: what it is; `handed`: the answer as it was handed in, empty where there was none.
    - `z`: the distance from the truth in units of the answer's own ±; `ratio`: that ± over the library's; None where
      there is no ±.
    - `points` of `most`; `hint`: what is wrong, in sentences; empty where nothing is.

    ```python
    >>> import litdiode as ld
    >>> teacher = ld.course.Instructor("an invented salt, not for a course")
    >>> isc = teacher.key("0042", ["key_points"]).rows[0]
    >>> marks = teacher.mark("0042", {"key_points": {"isc": (isc.truth, isc.u**2)}}, ["key_points"])
    >>> marks.rows[0].points, marks.rows[0].most, marks.rows[0].hint.split(",")[0]
    (1, 2, 'the ± of isc looks like a variance')
    ```
    """

    exercise: str
    quantity: str
    handed: str
    z: float | None
    ratio: float | None
    points: int
    most: int
    hint: str


@dataclass(frozen=True)
class Marks(Stored):
    """The marks of one student, from `Instructor.mark`: `student`, and `rows`, a `Mark` a quantity.

    ```python
    >>> import litdiode as ld
    >>> teacher = ld.course.Instructor("an invented salt, not for a course")
    >>> marks = teacher.mark("0042", {"two_recipes": {"verdict": "different"}}, ["two_recipes"])
    >>> marks.points, marks.most
    (0, 3)
    >>> [(row.quantity, row.handed, row.points) for row in marks.rows]
    [('difference', '', 0), ('verdict', 'different', 0)]
    ```
    """

    student: str
    rows: tuple[Mark, ...]

    @property
    def points(self) -> int:
        """Points reached."""
        return sum(row.points for row in self.rows)

    @property
    def most(self) -> int:
        """Points that could be reached."""
        return sum(row.most for row in self.rows)

    def __repr__(self) -> str:
        lines = [f"Marks of {self.student}: {self.points} of {self.most} points"]
        for row in self.rows:
            z = "" if row.z is None else f"z = {row.z:.1f}"
            lines.append(
                f"  {row.exercise:<18}{row.quantity:<16}{row.points} of {row.most}  {z:<10}{row.hint}".rstrip()
            )
        return "\n".join(lines)


class Instructor:
    """Draws handouts, and holds the key to them.

    - `salt`: a secret text of 16 characters or more, the same for the whole course; `new_salt()` makes one.

    Everything follows from the salt, the student's number and the exercise, so that nothing need be stored but the
    salt: who has it has all answers, and who has not cannot find one but by measuring. Never pass this object, or the
    salt, to where a student's code runs. It is not pickled, and `repr` does not show the salt. Marks hold for the
    version of litdiode that drew the handouts.

    Raises `InputError` for a salt that could be guessed.

    ```python
    >>> import litdiode as ld
    >>> teacher = ld.course.Instructor("an invented salt, not for a course")
    >>> handout = teacher.handout("0042")
    >>> handout.names()[:3]
    ['key_points', 'diode_parameters', 'dark_curve']
    >>> print(teacher.key("0042", ["two_recipes"]).rows[1].word)
    equivalent
    ```
    """

    __slots__ = ("_salt",)

    def __init__(self, salt: str) -> None:
        self._salt = checked_salt(salt)

    def __repr__(self) -> str:
        return "Instructor(salt not shown)"

    def __reduce__(self) -> NoReturn:
        raise TypeError("an Instructor holds the salt and is not written; make it anew of the salt")

    def handout(self, student: str, exercises: Iterable[str] | None = None) -> Handout:
        """The readings of a student, a `Handout`: the same for the same number and salt.

        - `student`: the number, any text; spaces about it do not count.
        - `exercises`: names of exercises, a list; all unless given.

        ```python
        >>> import litdiode as ld
        >>> teacher = ld.course.Instructor("an invented salt, not for a course")
        >>> handout = teacher.handout(" 0042 ", ["key_points"])
        >>> handout.student, handout == teacher.handout("0042", ["key_points"])
        ('0042', True)
        >>> handout == teacher.handout("0043", ["key_points"])
        False
        ```
        """
        name = checked_student(student)
        return Handout(name, tuple(self._solved(name, one).drawn.readings for one in _asked(exercises)))

    def key(self, student: str, exercises: Iterable[str] | None = None) -> Key:
        """The right answers of a student, a `Key`.

        - `student`, `exercises`: as in `handout`.

        ```python
        >>> import litdiode as ld
        >>> key = ld.course.Instructor("an invented salt, not for a course").key("0042", ["key_points"])
        >>> [(row.quantity, row.unit) for row in key.rows]
        [('isc', 'A'), ('voc', 'V'), ('pmax', 'W'), ('ff', '')]
        >>> row = key.rows[0]
        >>> row.low < row.truth < row.high
        True
        ```
        """
        name = checked_student(student)
        return Key(name, tuple(row for one in _asked(exercises) for row in _key_rows(one, self._solved(name, one))))

    def mark(self, student: str, answers: Mapping[str, Any], exercises: Iterable[str] | None = None) -> Marks:
        """Marks against the truth: a point a value, and another where its ± is right, as `Marks`.

        ```text
        value: |T(x) − T(truth)| ≤ 1.5·t·u_T(reference)        ±: |T(x) − T(truth)| ≤ t·u_T(x), 0.5 ≤ ratio ≤ 2.5
        ```

        t: Student's for 99.99 % (3.9 where the noise is known). A ± gets no point where its value is wrong. A word is
        judged by the fault that was made, or by what the readings say (a verdict, a detection).

        - `student`: the number; `answers`: a dictionary of the name of an exercise to its answer, as `check` takes it
          or `read_answers` gives it. What is missing, unknown or unreadable costs its own points alone, and the hint
          says so.
        - `exercises`: as in `handout`; those that were given out.

        ```python
        >>> import litdiode as ld
        >>> teacher = ld.course.Instructor("an invented salt, not for a course")
        >>> points = teacher.handout("0042", ["key_points"]).readings("key_points").sweeps["lit"].key_points()
        >>> in_mw = (1000 * points.pmax.value, 1000 * points.pmax.u)
        >>> answer = {"isc": points.isc, "voc": points.voc, "pmax": in_mw}  # and no fill factor
        >>> marks = teacher.mark("0042", {"key_points": answer}, ["key_points"])
        >>> [(row.quantity, row.points, row.most) for row in marks.rows]
        [('isc', 2, 2), ('voc', 2, 2), ('pmax', 0, 2), ('ff', 0, 2)]
        ```
        """
        name = checked_student(student)
        require("answers", answers, Mapping, "a dictionary of exercises, such as {'key_points': {'isc': (0.03, 1e-4)}}")
        unknown = _unknown(answers)
        asked = [(one, self._solved(name, one)) for one in _asked(exercises)]
        return Marks(
            name, tuple(row for one, drawn in asked for row in _marks(one, drawn, answers.get(one.name), unknown))
        )

    def marking_sheet(
        self,
        students: Iterable[str],
        answers: Mapping[str, Mapping[str, Any]] | None = None,
        exercises: Iterable[str] | None = None,
    ) -> str:
        """The key of a class as CSV, with marks where there are answers; one row a student and quantity.

        - `students`: the class list, a list of texts.
        - `answers`: a dictionary of students to their answers, as `read_answers` gives it; None leaves the columns
          empty, to be filled by hand and read by `read_answers`.
        - `exercises`: as in `handout`.

        Columns: student, exercise, quantity, unit, truth, low, high, u_library, value, u, z, ratio, points, most, hint.
        Cells that a spreadsheet would take for a formula get an apostrophe. Answers of a student who is not in the
        list stand at the end without points. Raises `InputError` for an empty list and a number that is there twice, in
        the list or in `answers`.

        ```python
        >>> import litdiode as ld
        >>> teacher = ld.course.Instructor("an invented salt, not for a course")
        >>> sheet = teacher.marking_sheet(["0042", "0043"], exercises=["two_recipes"])
        >>> for line in sheet.splitlines()[:3]:
        ...     print(",".join(line.split(",")[:4]))
        student,exercise,quantity,unit
        0042,two_recipes,difference,
        0042,two_recipes,verdict,
        ```
        """
        names = _class_list(students)
        asked = _asked(exercises)
        require("answers", {} if answers is None else answers, Mapping, "what read_answers gives, or None")
        given: dict[str, Any] = {}
        for written, answer in (answers or {}).items():
            name = checked_student(written, "a student of answers")
            if name in given:
                raise InputError(f"answers has {name!r:.60} twice, written in two ways; leave one of them")
            given[name] = answer
        _find_lost_zeros(given, names)
        rows = [
            row
            for name in names
            for row in self._sheet_rows(name, asked, None if answers is None else given.get(name, {}))
        ]
        strangers = [name for name in given if name not in names]
        rows += [[sheet.safe(name), *[""] * (len(_COLUMNS) - 2), "not in the class list"] for name in strangers]
        return sheet.written(_COLUMNS, rows)

    def _sheet_rows(self, name: str, asked: Sequence[Exercise], answers: Any) -> list[list[str]]:
        rows = []
        for one in asked:
            solved = self._solved(name, one)
            given = answers.get(one.name) if isinstance(answers, Mapping) else None
            marks = _marks(one, solved, given, _unknown(answers))
            for row, mark in zip(_key_rows(one, solved), marks, strict=True):
                truth = [sheet.number(x, 8) for x in (row.truth, row.low, row.high, row.u)]
                known = [row.word, "", "", ""] if row.truth is None else truth
                told = _told(mark, answers is not None)
                rows.append([sheet.safe(name), one.name, row.quantity, row.unit, *known, *told])
        return rows

    def _solved(self, student: str, exercise: Exercise) -> Solved:
        """The first draw whose readings answer the question; the truth has no say in that."""
        for attempt in range(_ATTEMPTS):
            drawn = exercise.draw(Draw(self._salt, student, exercise.name, attempt))
            reference = exercise.reference(drawn.readings)
            if exercise.clear(drawn.readings, reference):
                return Solved(drawn, reference)
        raise LitdiodeError(f"{exercise.name}: no draw of {_ATTEMPTS} answers its question")


#: Columns of a marking sheet; those of answers are among them.
_COLUMNS = (
    *("student", "exercise", "quantity", "unit", "truth", "low", "high", "u_library"),
    *("value", "u", "z", "ratio", "points", "most", "hint"),
)


def _told(mark: Mark, answered: bool) -> list[str]:
    """The columns from `value` on; without answers `most` alone."""
    most = str(mark.most)
    if not answered:
        return [*[""] * 5, most, ""]
    value, _, u = mark.handed.partition(" ± ")
    figures = [sheet.number(x, 4) for x in (mark.z, mark.ratio)]
    return [_cell(value), _cell(u), *figures, str(mark.points), most, sheet.safe(mark.hint)]


def _cell(text: str) -> str:
    """A number as it is, another text safe."""
    try:
        float(text)
    except ValueError:
        return sheet.safe(text)
    return text


def _asked(names: Iterable[str] | None) -> list[Exercise]:
    if names is None:
        return list(ALL.values())
    require("exercises", names, Iterable, "a list of names of exercises")
    given = [names] if isinstance(names, str) else list(names)
    for k, name in enumerate(given):
        if not isinstance(name, str) or name not in ALL:
            raise InputError(f"exercises[{k}] = {name!r:.60} is none; give names of {', '.join(ALL)}")
    if len(set(given)) < len(given) or not given:
        raise InputError("exercises is empty or names one twice; give each once")
    return [ALL[name] for name in given]


def _class_list(students: Iterable[str]) -> list[str]:
    require("students", students, Iterable, "a list of texts")
    if isinstance(students, str):
        raise TypeError(f"students = {students!r:.60} is one text; pass a list of texts")
    names = [checked_student(one, f"students[{k}]") for k, one in enumerate(students)]
    if not names:
        raise InputError("students is empty; pass the numbers of the class, a list of texts")
    for k, name in enumerate(names):
        if name in names[:k]:
            raise InputError(f"students[{k}] = {name!r:.60} is there twice; leave one of them")
    return names


def _key_rows(exercise: Exercise, solved: Solved) -> list[KeyRow]:
    case = Case(solved.drawn.readings, solved.reference, {})
    right = {**solved.reference, **solved.drawn.truth}
    return [_key_row(exercise.name, q, right[q.name], case) for q in exercise.quantities]


def _key_row(exercise: str, q: Quantity, right: Estimate | float | str, case: Case) -> KeyRow:
    if isinstance(right, str):
        return KeyRow(exercise, q.name, q.unit, None, None, None, None, right)
    truth = float(right)
    place, allowed = q.placed(case.right(q.name) if q.by_formula else truth), reach(case, q, truth)
    low, high = q.back(place - allowed), q.back(place + allowed)
    return KeyRow(exercise, q.name, q.unit, truth, low, high, case.right_u(q.name) if q.with_u else None, "")


def _find_lost_zeros(given: dict[str, Any], names: Sequence[str]) -> None:
    """Answers under a number whose leading zeros a spreadsheet took go to the only student whose they can be."""
    for written in [name for name in given if name.isdigit() and name not in names]:
        own = [name for name in names if name.isdigit() and int(name) == int(written) and name not in given]
        if len(own) == 1:
            given[own[0]] = given.pop(written)


def _unknown(answers: Any) -> str:
    """What to say of answers to exercises that there are none of."""
    names = [name for name in answers if name not in ALL] if isinstance(answers, Mapping) else []
    return f"; there is an answer to {names[0]!r:.40}, which is no exercise" if names else ""


def _marks(exercise: Exercise, solved: Solved, given: Any, unknown: str) -> list[Mark]:
    """A mark for each quantity; what cannot be read costs its own points alone."""
    answers = given if isinstance(given, Mapping) else {}
    handed: dict[str, Handed] = {}
    unread: dict[str, str] = {}
    for q in exercise.quantities:
        if q.name not in answers:
            unread[q.name] = f"not handed in{unknown}"
            continue
        try:
            handed[q.name] = handed_of(q, answers[q.name], q.name)
        except (InputError, TypeError) as error:
            unread[q.name] = f"cannot be read: {error}"
    case = Case(solved.drawn.readings, solved.reference, handed)
    judged = {one.quantity.name: one for one in judge(exercise, case, solved.drawn.truth)}
    rows = []
    for q in exercise.quantities:
        if q.name in judged:
            rows.append(_mark(exercise, judged[q.name]))
        else:
            written = answers[q.name] if isinstance(answers.get(q.name), str) else ""
            rows.append(Mark(exercise.name, q.name, written[:100], None, None, 0, q.points, unread[q.name]))
    return rows


def _mark(exercise: Exercise, one: Judged) -> Mark:
    hint = "" if one.passed or one.slip is None else " ".join(one.slip.hints)
    z, ratio = one.z, one.ratio
    return Mark(exercise.name, one.quantity.name, one.handed.written, z, ratio, one.points, one.quantity.points, hint)
