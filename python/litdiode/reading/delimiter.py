"""Which character parts the cells, and which one marks the decimals, decided from the rows themselves.

A delimiter wins by the number of rows it cuts into the same number of cells with at least two numbers among
them; ties go to the cut that leaves fewer cells that are no number, then to the rarer character.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from typing import NoReturn

from .._core import InputError
from .lines import Line, refuse
from .numbers import has_mark, is_number, looks_grouped

BLANKS = " "
_ORDER = ("\t", ";", ",", "|", BLANKS)
_NAMES = {"\t": "tab", ";": "semicolon", ",": "comma", BLANKS: "blanks"}


def name_of(delimiter: str) -> str:
    """The delimiter in words."""
    return _NAMES.get(delimiter, repr(delimiter))


def cut(text: str, delimiter: str) -> list[str]:
    """The cells of a line; quotes are honoured. `delimiter=" "` means any run of blanks and tabs."""
    if delimiter == BLANKS:
        return [cell.strip('"') for cell in re.findall(r'"[^"]*"|\S+', text)]
    try:
        row = next(csv.reader([text], delimiter=delimiter, skipinitialspace=delimiter != "\t"), [])
    except csv.Error:
        return []
    return [cell.strip() for cell in row]


def marks_for(delimiter: str) -> str:
    """The decimal marks that are possible beside a delimiter."""
    return "." if delimiter == "," else ".,"


def numeric_cells(cells: list[str], delimiter: str) -> int:
    """How many cells hold a number."""
    return sum(is_number(cell, marks_for(delimiter)) for cell in cells)


def usual_width(rows: Sequence[list[str]], delimiter: str) -> tuple[int, int]:
    """The commonest number of cells among rows with two numbers or more, and how many rows have it.

    Of two equally common widths the one with more cells counts, so that a title cannot outvote the table.
    """
    counts = Counter(len(cells) for cells in rows if numeric_cells(cells, delimiter) >= 2)
    if not counts:
        return 0, 0
    width, count = max(counts.items(), key=lambda item: (item[1], item[0]))
    return width, count


def find_delimiter(lines: Sequence[Line], name: str, given: str | None) -> str:
    """The delimiter of the rows among `lines`; `InputError` if nothing cuts them into two numbers."""
    if given is not None:
        return _checked(given)
    best, best_score = None, (0, 0)
    for delimiter in _ORDER:
        rows = [cut(line.text, delimiter) for line in lines]
        width, count = usual_width(rows, delimiter)
        table = [cells for cells in rows if len(cells) == width]
        strays = sum(bool(cell) and not is_number(cell, marks_for(delimiter)) for cells in table for cell in cells)
        score = (count, -strays)
        if count and score > best_score:
            best, best_score = delimiter, score
    return _no_rows(lines, name) if best is None else best


def _checked(given: str) -> str:
    if given in ("\t", ";", ",", "|", " ", ":"):
        return given
    raise InputError(f"delimiter={given!r}: pass one of ',', ';', '\\t', '|', ':' or ' ' (any run of blanks)")


def _no_rows(lines: Sequence[Line], name: str) -> NoReturn:
    if not lines:
        raise InputError(f"{name}: holds no data: a sweep needs rows with a voltage and a current")
    cure = "a row holds a voltage and a current; pass delimiter= if an unusual character parts them"
    refuse(name, lines[0], "no row with two numbers was found from here on", cure)


def find_decimal(
    rows: Sequence[tuple[Line, list[str]]], delimiter: str, name: str, given: str | None
) -> tuple[str, str | None]:
    """The decimal mark of the rows, and a sentence on the evidence if it is a comma that nobody named."""
    if given is not None:
        return _checked_decimal(given, delimiter), None
    if delimiter == ",":
        return ".", None
    points = [(line, cell) for line, cells in rows for cell in cells if has_mark(cell, ".")]
    commas = [(line, cell) for line, cells in rows for cell in cells if has_mark(cell, ",")]
    if not commas:
        return ".", None
    if points:
        line, cell = min(commas[0], points[0], key=lambda found: -found[0].number)
        other = (points if "," in cell else commas)[0]
        problem = f"decimal marks are mixed: {cell!r} here, {other[1]!r} in line {other[0].number}"
        refuse(name, line, problem, "write all numbers with one decimal mark")
    if all(looks_grouped(cell) for _, cell in commas):
        line, cell = commas[0]
        cure = "pass decimal=',' if the comma marks decimals, else export without thousands marks"
        refuse(name, line, f"{cell!r} may be {cell.replace(',', '.')} or {cell.replace(',', '')}", cure)
    proof = next(cell for _, cell in commas if not looks_grouped(cell))
    return ",", f"decimal comma (as in {proof!r}), cells parted by {name_of(delimiter)}"


def _checked_decimal(given: str, delimiter: str) -> str:
    if given not in (".", ","):
        raise InputError(f"decimal={given!r}: pass '.' or ','")
    if given == delimiter:
        raise InputError(f"decimal={given!r} also parts the cells: pass another delimiter=, such as ';'")
    return given
