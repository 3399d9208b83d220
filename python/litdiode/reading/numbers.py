"""One cell to one number, with a decimal point or a decimal comma.

Digit grouping ("1,234.5", "1 234") is not read: a wrong guess is wrong by a factor of a thousand.
"""

from __future__ import annotations

import re

_EXPONENT = r"(?:[eEdD][+-]?\d{1,4})?"
_NUMBER = {
    ".": re.compile(rf"[+-]?(?:\d+(?:\.\d*)?|\.\d+){_EXPONENT}"),
    # A comma with nothing behind it is a delimiter, not a decimal mark.
    ",": re.compile(rf"[+-]?(?:\d+(?:,\d+)?|,\d+){_EXPONENT}"),
}
# What instruments and spreadsheets write in place of a number.
_NO_NUMBER = re.compile(
    r"[+-]?(?:nan|inf(?:inity)?|n/?a|null|none|-{1,3}|ol|ovld|ovfl|overflow|over|#\S+)", re.IGNORECASE
)
_GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}(?:,\d{3})+")
_MINUS = str.maketrans({"\u2212": "-", "\u2013": "-", "\ufe63": "-", "\uff0d": "-"})


def tidy(cell: str) -> str:
    """The cell without surrounding blanks, with every kind of minus sign as the plain one."""
    return cell.translate(_MINUS).strip().strip("\u00a0")


def number(cell: str, decimal: str) -> float | None:
    """The number a cell holds, or None if it holds none under this decimal mark."""
    text = tidy(cell)
    if not _NUMBER[decimal].fullmatch(text):
        return None
    return float(text.replace(",", ".").replace("d", "e").replace("D", "e"))


def is_number(cell: str, marks: str = ".,") -> bool:
    """Whether a cell holds a number under any of the decimal marks."""
    return any(number(cell, mark) is not None for mark in marks)


def is_no_number(cell: str) -> bool:
    """Whether a cell stands where a number should, such as `NaN`, `---` or `overflow`."""
    return _NO_NUMBER.fullmatch(tidy(cell)) is not None


def has_mark(cell: str, mark: str) -> bool:
    """Whether a cell is a number that uses this decimal mark."""
    return mark in cell and number(cell, mark) is not None


def looks_grouped(cell: str) -> bool:
    """Whether a comma may as well be a thousands mark: `1,234`, but neither `0,123` nor `1,23`."""
    return _GROUPED.fullmatch(tidy(cell)) is not None
