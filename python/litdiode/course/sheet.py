"""Answers and marks as CSV, with cells that no spreadsheet takes for a formula."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from .._core import Estimate, InputError
from ..arguments import require
from .draw import checked_student

#: What spreadsheets begin a formula with, also in their wide forms; a tab or a line end hides one.
_FORMULA = tuple("=+-@＝＋－＠\t\r\n|")
#: Columns of a file of answers.
ANSWER = ("student", "exercise", "quantity", "value", "u")


def safe(text: str) -> str:
    """The text of a cell, with an apostrophe before what a spreadsheet would take for a formula.

    A text that has apostrophes before such a thing gets one more, so that `plain` gives it back.
    """
    bare = text.lstrip("'")
    return f"'{text}" if bare.lstrip().startswith(_FORMULA) or bare.startswith(_FORMULA) else text


def plain(cell: str) -> str:
    """The text that `safe` made a cell of."""
    return cell[1:] if cell.startswith("'") and safe(cell[1:]) == cell else cell


def number(x: float | None, digits: int = 17) -> str:
    """A number in a cell; empty for none. A minus before digits is a number to every spreadsheet."""
    return "" if x is None or math.isnan(x) else f"{x:.{digits}g}"


def written(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A heading and a line a row."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return text.getvalue()


def write_answers(student: str, answers: Mapping[str, Mapping[str, Any]]) -> str:
    """The answers of a student as CSV to be handed in: student, exercise, quantity, value, u.

    - `student`: the number.
    - `answers`: a dictionary of the name of an exercise to its answer, as `check` takes it.

    Texts that a spreadsheet would take for a formula get an apostrophe before them. `read_answers` reads it.

    ```python
    >>> import litdiode as ld
    >>> print(ld.course.write_answers("0042", {"key_points": {"isc": (0.0301, 2e-5)}}), end="")
    student,exercise,quantity,value,u
    0042,key_points,isc,0.0301,2e-05
    ```
    """
    name = safe(checked_student(student))
    require("answers", answers, Mapping, "a dictionary of exercises, such as {'key_points': {'isc': (0.03, 1e-4)}}")
    rows = []
    for exercise, answer in answers.items():
        require(f"answers[{exercise!r}]", answer, Mapping, "a dictionary of the name of a quantity to its answer")
        for quantity, given in answer.items():
            where = f"answers[{exercise!r}][{quantity!r}]"
            rows.append([name, safe(str(exercise)), safe(str(quantity)), *_cells(given, where)])
    return written(ANSWER, rows)


def _cells(given: Any, where: str) -> tuple[str, str]:
    if isinstance(given, str):
        return safe(given), ""
    if isinstance(given, Estimate):
        return number(given.value), number(given.u)
    value, u = given if isinstance(given, list | tuple) and len(given) == 2 else (given, None)
    try:
        return f"{float(value)!r}", "" if u is None else f"{float(u)!r}"
    except (TypeError, ValueError, OverflowError):
        raise TypeError(
            f"{where} = {given!r:.60} is no answer; pass an Estimate, (value, u), a number or a word"
        ) from None


def read_answers(text: str | Iterable[str]) -> dict[str, dict[str, dict[str, Any]]]:
    """Answers from CSV, of one student or of a class: by student, exercise and quantity.

    - `text`: what `write_answers` wrote, or a table with its columns (others are left alone), with commas, semicolons
      or tabs between cells; or a list of such texts, as of all files of a class. A number may have a decimal comma
      where that does not part cells. Rows without a value are left out.

    A number comes as (value, u), or as a number where `u` is empty, a word as text; a value that is no number stays
    text, and costs its own points alone. Raises `InputError` for a table that lacks a column, for a row with more cells
    than the heading, and for a quantity that is there twice.

    ```python
    >>> import litdiode as ld
    >>> first = "student,exercise,quantity,value,u\\n0042,key_points,isc,0.0301,2e-5\\n"
    >>> second = "student;exercise;quantity;value;u\\n0042;key_points;voc;0,6102;0,0004\\n"
    >>> ld.course.read_answers([first, second])
    {'0042': {'key_points': {'isc': (0.0301, 2e-05), 'voc': (0.6102, 0.0004)}}}
    ```
    """
    # Bytes are a list of numbers.
    texts = [text] if isinstance(text, str | bytes) else text
    require("text", texts, Iterable, "what write_answers wrote, or a list of such texts")
    found: dict[str, dict[str, dict[str, Any]]] = {}
    for n, one in enumerate(texts):
        require(f"text[{n}]", one, str, "what write_answers wrote")
        for k, (student, exercise, quantity, value, u) in enumerate(_rows(one)):
            if not value:
                continue
            into = found.setdefault(student, {}).setdefault(exercise, {})
            if quantity in into:
                which = "" if isinstance(text, str) else f"[{n}]"
                raise InputError(
                    f"text{which}: row {k} gives {quantity!r:.40} of {exercise!r:.40} by {student!r:.40} once more; "
                    "leave one of them"
                )
            into[quantity] = _value(value, u)
    return found


def _rows(text: str) -> list[list[str]]:
    """The cells of the columns `ANSWER`, row by row; the heading may be no CSV as well."""
    text, delimiter = _table(text.lstrip("\ufeff"))
    lines = csv.DictReader(io.StringIO(text), delimiter=delimiter, skipinitialspace=True)
    try:
        lines.fieldnames = [name.strip().lower() for name in lines.fieldnames or ()]
        lacking = [name for name in ANSWER if name not in lines.fieldnames]
        if lacking:
            raise InputError(f"text has no column {lacking[0]}; it must have the columns {', '.join(ANSWER)}")
        rows = []
        for k, line in enumerate(lines):
            if any((cell or "").strip() for cell in line.get(None) or ()):
                raise InputError(
                    f"text: row {k} has more cells than the heading, as of a number with a decimal comma; "
                    "write decimal points, or semicolons between the cells"
                )
            rows.append([plain((line[name] or "").strip()) for name in ANSWER])
    except csv.Error as error:
        raise InputError(f"text is no CSV ({error}); give what write_answers wrote") from None
    # Files that were put behind one another have their headings among the rows.
    return [row for row in rows if tuple(cell.lower().lstrip("\ufeff") for cell in row) != ANSWER]


def _table(text: str) -> tuple[str, str]:
    """The table without a first line `sep=`, and what parts its cells."""
    head, _, rest = text.partition("\n")
    if head.lower().startswith("sep=") and len(head.rstrip()) == 5:
        return rest, head[4]
    return text, next((mark for mark in ";\t" if mark in head), ",")


def _number(cell: str) -> float:
    """A number, also with a decimal comma."""
    return float(cell.replace(",", ".") if cell.count(",") == 1 and "." not in cell else cell)


def _value(value: str, u: str) -> Any:
    """The number, with its ± where there is one, or the text."""
    try:
        x = _number(value)
        return (x, _number(u)) if u else x
    except ValueError:
        return f"{value} ± {u}" if u else value
