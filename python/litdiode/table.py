"""The table of key points for a terminal: a row a sweep, value ± u in one unit a column, notes below."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .quote import plus_minus, prefix_exponent, prefixed, quoted
from .symbols import SYMBOLS

if TYPE_CHECKING:
    from ._core import Estimate, Finding, KeyPoints, Sweep

WIDTH = 100
# Labels and note numbers get no fewer columns than these.
_SHORTEST_LABEL, _SHORTEST_MARKS = 8, 5
_FIGURES = ("isc", "voc", "pmax", "ff", "efficiency")
# A column over more decades than this gets a unit in each cell.
_WIDEST = 1e3
# Standard uncertainties above which a figure stands clear of zero.
_CLEAR = 5.0
# A note on no more sweeps than this gets a number and names them.
_FEW = 3


@dataclass(frozen=True)
class Row:
    """One sweep of the table: its label, its figures, and all that is to be said about it."""

    label: str
    figures: dict[str, Estimate | None]
    notes: list[str]


def row(sweep: Sweep, label: str, findings: Sequence[Finding]) -> Row:
    """The row of a sweep: figures, changes, findings, and why a figure is absent."""
    points = sweep.key_points()
    figures = {name: getattr(points, name) for name in _FIGURES}
    notes = [f"{change.what}: {change.why}" if change.why else str(change.what) for change in sweep.changes]
    notes += [finding.text for finding in findings]
    notes += _absences(points)
    for name, found in figures.items():
        if found is not None and found.u is None and found.note:
            notes.append(f"{SYMBOLS[name]} has no ±: {found.note}")
    return Row(label, figures, notes)


def _absences(points: KeyPoints) -> list[str]:
    """Why figures are absent; figures that share a reason share a line."""
    symbols: dict[str, list[str]] = {}
    for name, reason in points.absent.items():
        if name in _FIGURES:
            symbols.setdefault(reason, []).append(SYMBOLS[name])
    return [f"no {', '.join(names)}: {reason}" for reason, names in symbols.items()]


def table(rows: Sequence[Row], figures: Sequence[str] = _FIGURES, *, width: int = WIDTH) -> str:
    """The rows as text at most `width` columns wide, with the notes numbered below it.

    Figures that do not fit beside the labels stand in a second table below the first.
    """
    notes = _numbered(rows)
    special = [text for text, labels in notes.items() if len(labels) <= _FEW]
    blocks = _blocks([_column(rows, name, SYMBOLS[name]) for name in figures], width)
    lines = [
        line for k, columns in enumerate(blocks) for line in _block(rows, columns, special if k == 0 else None, width)
    ]
    return "\n".join([*lines, *_foot(notes, rows, width)])


def _blocks(columns: list[list[str]], width: int) -> list[list[list[str]]]:
    """The columns in as many tables as the width takes."""
    blocks: list[list[list[str]]] = [[]]
    left = room = width - _SHORTEST_LABEL - 2 - _SHORTEST_MARKS
    for column in columns:
        taken = max(map(len, column)) + 2
        if taken > left and blocks[-1]:
            blocks.append([])
            left = room
        blocks[-1].append(column)
        left -= taken
    return blocks


def _block(rows: Sequence[Row], columns: list[list[str]], special: Sequence[str] | None, width: int) -> list[str]:
    """One table with a rule below head and foot; the numbers of the notes where `special` has them."""
    figures = [list(cells) for cells in zip(*columns, strict=True)]
    wide = [max(map(len, cells)) for cells in columns]
    taken = sum(each + 2 for each in wide)
    longest = max(len(one.label) for one in rows)
    label_width = max(_SHORTEST_LABEL, min(longest, width - taken - 2 - _SHORTEST_MARKS))
    room = max(1, width - taken - label_width - 2)
    labels = ["", *(_short(one.label, label_width) for one in rows)]
    marks = [""] * len(labels) if special is None else ["see", *(_marks(one, special, room) for one in rows)]
    lines = []
    for label, cells, mark in zip(labels, figures, marks, strict=True):
        middle = [cell.center(each) for cell, each in zip(cells, wide, strict=True)]
        lines.append("  ".join([label.ljust(label_width), *middle, mark]).rstrip())
    rule = "─" * min(width, max(map(len, lines)))
    return [lines[0], rule, *lines[1:], rule]


def _short(label: str, width: int) -> str:
    return label if len(label) <= width else label[: width - 1] + "…"


def _numbered(rows: Sequence[Row]) -> dict[str, list[str]]:
    """Each note with the labels it holds for, those that hold for the fewest first."""
    found: dict[str, list[str]] = {}
    for one in rows:
        for text in dict.fromkeys(one.notes):
            found.setdefault(text, []).append(one.label)
    return dict(sorted(found.items(), key=lambda item: len(item[1])))


def _marks(one: Row, special: Sequence[str], room: int) -> str:
    """The numbers of a row's notes, as many as fit."""
    numbers = [str(number) for number, text in enumerate(special, start=1) if text in one.notes]
    whole = ",".join(numbers)
    while numbers and len(whole) > room:
        numbers.pop()
        whole = ",".join([*numbers, "…"])
    return whole


def _column(rows: Sequence[Row], name: str, symbol: str) -> list[str]:
    """Heading and cells of one figure, under one prefix if the sizes allow it."""
    found = [_shares(one.figures.get(name), name) for one in rows]
    known = [one for one in found if one is not None]
    # A figure lost in its uncertainty, such as the Isc of a dark curve, does not choose the prefix.
    sizes = [abs(value) for value, u, _ in known if value and abs(value) > _CLEAR * (u or 0.0)]
    unit = known[0][2] if known else ""
    if sizes and max(sizes) > _WIDEST * min(sizes) and unit not in ("1", "%"):
        return [symbol, *("—" if one is None else quoted(*one) for one in found)]
    lost = [max(abs(value), u or 0.0) for value, u, _ in known]
    power = prefix_exponent(max(sizes or lost, default=0.0), unit)
    scale = 10.0**power
    cells = ["—" if one is None else _scaled(one[0], one[1], scale) for one in found]
    named = prefixed(unit, power)
    return [f"{symbol} / {named}" if named else symbol, *cells]


def _scaled(value: float, u: float | None, scale: float) -> str:
    # No blanks about the sign: five figures and a label share a line.
    return plus_minus(value / scale, None if u is None else u / scale).replace(" ± ", "±")


def _shares(estimate: Estimate | None, name: str) -> tuple[float, float | None, str] | None:
    """Value, u and unit; the efficiency in percent."""
    if estimate is None:
        return None
    if name == "efficiency" and estimate.unit != "%":
        return 100.0 * estimate.value, estimate.u and 100.0 * estimate.u, "%"
    return estimate.value, estimate.u, estimate.unit


def _foot(notes: dict[str, list[str]], rows: Sequence[Row], width: int) -> list[str]:
    """Notes for a few sweeps under their numbers, with labels; notes for many with whom they leave out."""
    lines = ["± is one standard uncertainty."]
    for number, (text, labels) in enumerate(notes.items(), start=1):
        if len(labels) <= _FEW:
            lines += _wrapped(f"{number:>3}  {', '.join(labels)}: {text}", width)
            continue
        others = [one.label for one in rows if text not in one.notes]
        whom = f"{len(labels)} of {len(rows)} sweeps" if len(others) > _FEW else "all"
        but = f" but {', '.join(others)}" if 0 < len(others) <= _FEW else ""
        lines += _wrapped(f"  •  {whom}{but}: {text}", width)
    return lines


def _wrapped(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, subsequent_indent="     ", break_long_words=True)
