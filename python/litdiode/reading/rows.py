"""The rows of the table among a file's lines: where they begin and end, and what must not stand between them.

A file holds one sweep. Rows parted by blank lines, by a second heading or by text are several, and an error.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from .delimiter import BLANKS, cut, numeric_cells, usual_width
from .lines import Line, refuse, starts_with_number
from .numbers import is_no_number

_SPLIT = "a file holds one sweep: split it, or delete the rest"


@dataclass
class Rows:
    """The rows with their cells, the number of columns, and sentences on what was left out."""

    cells: list[tuple[Line, list[str]]]
    width: int
    left_out: list[str] = field(default_factory=list)


def find_rows(table: Sequence[Line], lines: Sequence[Line], delimiter: str, name: str) -> Rows:
    """The rows among the lines of `table`; `lines` are all lines, with the blanks and comments between."""
    split = [(line, cut(line.text, delimiter)) for line in table]
    width, _ = usual_width([cells for _, cells in split], delimiter)
    if width == 0:
        refuse(name, table[0], "no row with two numbers from here on", "pass another delimiter=, or none")
    start = next(n for n, (_, cells) in enumerate(split) if _is_row(cells, width, delimiter))
    rows: list[tuple[Line, list[str]]] = []
    text: list[Line] = []
    for line, cells in split[start:]:
        if not _is_row(cells, width, delimiter):
            text.append(line)
            continue
        if text:
            refuse(name, text[0], f"text stands between rows (line {line.number} is one again)", _SPLIT)
        # Between blanks a missing cell shifts the ones behind it into the wrong column.
        if any(cells[width:]) or (delimiter == BLANKS and len(cells) < width):
            refuse(name, line, f"{len(cells)} cells, other rows have {width}", "correct or delete the row")
        rows.append((line, cells))
    _refuse_blocks(rows, lines, name)
    return Rows(rows, width, _left_out(rows, text, lines, delimiter))


def _is_row(cells: list[str], width: int, delimiter: str) -> bool:
    """A row begins with a number or what stands in its place, or has the table's width and a number in it.

    A blank-parted line of words must not pass for a row, so there every cell has to look like one of a row.
    """
    filled = [cell for cell in cells if cell]
    if not filled:
        return False
    if delimiter == BLANKS:
        like = numeric_cells(filled, delimiter) + sum(map(is_no_number, filled))
        return like == len(filled) or (len(filled) == width and numeric_cells(filled, delimiter) >= 2)
    if starts_with_number(cells) or is_no_number(filled[0]):
        return True
    return len(cells) == width and numeric_cells(cells, delimiter) >= 1


def _refuse_blocks(rows: Sequence[tuple[Line, list[str]]], lines: Sequence[Line], name: str) -> None:
    """Blank lines between rows part blocks, unless every row stands alone (double spacing)."""
    blocks: list[list[Line]] = [[rows[0][0]]]
    for (before, _), (line, _) in zip(rows, rows[1:], strict=False):
        between = lines[before.number : line.number - 1]
        if any(gap.entry is not None and gap.comment is None for gap in between):
            refuse(name, between[0], "an entry stands between rows", _SPLIT)
        if any(gap.blank for gap in between):
            blocks.append([])
        blocks[-1].append(line)
    if len(blocks) > 1 and any(len(block) > 1 for block in blocks):
        spans = ", ".join(f"{block[0].number}–{block[-1].number}" for block in blocks[:4])
        more = " and more" if len(blocks) > 4 else ""
        problem = f"blank lines part {len(blocks)} blocks of rows (lines {spans}{more})"
        refuse(name, blocks[1][0], problem, _SPLIT)


def _left_out(
    rows: Sequence[tuple[Line, list[str]]], footer: Sequence[Line], lines: Sequence[Line], delimiter: str
) -> list[str]:
    said = []
    if footer:
        first = footer[0]
        said.append(f"text below the table left out, from line {first.number}: {first.text.strip()[:40]!r}")
    inside = lines[rows[0][0].number : rows[-1][0].number]
    muted = [
        line.number for line in inside if line.comment is not None and starts_with_number(cut(line.comment, delimiter))
    ]
    if muted:
        said.append(f"rows behind a comment mark left out: line {', '.join(map(str, muted))}")
    return said
