"""The lines of a file, each with its number, and what kind of line each is before any delimiter is known."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import NoReturn

from .._core import InputError
from .numbers import is_number

_COMMENT = re.compile(r"\s*(#+|;+|%+|//+|!+)\s?")
_ENTRY = re.compile(r'\s*"?(?P<key>[^\W\d_][^:=;\t"]{0,60}?)"?\s*[:=]\s*(?P<value>\S.*?)\s*')
_NUMBER_START = re.compile(r"\s*[+\-\u2212]?[.,]?\d")


@dataclass(frozen=True)
class Line:
    """One line: its 1-based number in the file and its text without the line end."""

    number: int
    text: str

    @property
    def blank(self) -> bool:
        """Whether nothing but blanks and empty cells stands here."""
        return not self.text.strip(" \t;,\x1a\f\u00a0")

    @property
    def comment(self) -> str | None:
        """The text behind a comment mark, or None. A row that lacks its first cell (`;0,5`) is no comment."""
        mark = _COMMENT.match(self.text)
        if mark is None:
            return None
        rest = self.text[mark.end() :]
        if mark.group(1) == ";" and _NUMBER_START.match(rest):
            return None
        return rest

    @property
    def entry(self) -> tuple[str, str] | None:
        """`key: value` or `key = value`, in a comment or not."""
        found = _ENTRY.fullmatch(self.text if self.comment is None else self.comment)
        if found is None:
            return None
        key, value = found.group("key").strip(), found.group("value").strip().strip('"').rstrip(";,\t ")
        # A colon inside brackets, as in a heading `Time (hh:mm:ss)`, does not end a key.
        return None if key.count("(") != key.count(")") else (key, value)


def split_lines(text: str) -> list[Line]:
    """Every line of a text, whatever ends it (LF, CRLF, CR, or the CR CR LF of a twice-converted file)."""
    whole = re.sub(r"\r+\n", "\n", text).replace("\r", "\n")
    return [Line(number, line) for number, line in enumerate(whole.split("\n"), start=1)]


def starts_with_number(cells: list[str]) -> bool:
    """Whether the first cell that is not empty holds a number."""
    filled = [cell for cell in cells if cell.strip()]
    return bool(filled) and is_number(filled[0])


def refuse(name: str, line: Line, problem: str, cure: str) -> NoReturn:
    """Raise `InputError` with file, line number, the text that stands there, what is wrong and the cure."""
    text = line.text.strip()
    shown = text if len(text) <= 60 else text[:57] + "..."
    raise InputError(f"{name}, line {line.number} ({shown!r}): {problem}: {cure}")
