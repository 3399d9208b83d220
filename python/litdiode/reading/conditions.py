"""What is known of each file, from a table: a row a file or a label, a column a condition."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from fnmatch import fnmatchcase
from pathlib import Path, PurePath
from typing import Any

from .._core import InputError, Noise
from ..arguments import require
from .quantities import quantity

NOISE = (
    "voltage_v",
    "current_a",
    "voltage_rel",
    "current_rel",
    "voltage_step_v",
    "current_step_a",
    "voltage_gain_u",
    "current_gain_u",
    "voltage_offset_u",
    "current_offset_u",
)
_UNITS = {"area_cm2": "cm²", "irradiance_w_m2": "W/m²"}
_WORDS = ("group", "batch", "swept", "sign", "leads")
COLUMNS = ("file", "label", *_WORDS, *_UNITS, "temperature_c", "cells", *(f"noise_{part}" for part in NOISE))


@dataclass
class Row:
    """One row: what it is about, and the options of the sweep."""

    number: int
    file: str
    label: str
    options: dict[str, Any] = field(default_factory=dict)
    group: str | None = None
    batch: str | None = None
    used: bool = False


class Conditions:
    """A table of conditions, from a CSV file, a frame of pandas, or a list of dicts.

    A row is about the files that its `file` names (a name, the end of a path, or a pattern such as `"day1/*.csv"`), or
    about the sweep of its `label`; with both, `label` is what the sweep is to be called. An empty cell says nothing.
    """

    def __init__(self, source: Any) -> None:
        self.path = os.path.abspath(source) if isinstance(source, (str, os.PathLike)) else None
        self._noises: dict[tuple[tuple[str, float], ...], Noise] = {}
        self.rows = [self._row(number, cells) for number, cells in enumerate(_records(source), start=1)]

    def _row(self, number: int, cells: Mapping[Any, Any]) -> Row:
        said = {str(name).strip(): "" if cell is None else str(cell).strip() for name, cell in cells.items()}
        for name in said:
            if name not in COLUMNS:
                near = get_close_matches(name, COLUMNS, 1)
                hint = f"did you mean {near[0]}? " if near else ""
                raise InputError(f"conditions: {name!r} is no column: {hint}pass {', '.join(COLUMNS[:11])} or noise_…")
        # An empty cell of a frame is NaN.
        said = {name: text for name, text in said.items() if text not in ("", "nan", "NaN", "None", "<NA>")}
        row = Row(number, said.pop("file", ""), said.pop("label", ""))
        if not row.file and not row.label:
            raise InputError(f"conditions: row {number} has neither file nor label: give one")
        row.group, row.batch = said.pop("group", None), said.pop("batch", None)
        noise = {name[6:]: _plain(number, name, said.pop(name)) for name in list(said) if name.startswith("noise_")}
        row.options = {name: _option(number, name, text) for name, text in said.items()}
        if noise:
            # The same numbers are the same instrument: what its gain is off by is common to all its sweeps.
            key = tuple(sorted(noise.items()))
            row.options["noise"] = self._noises.setdefault(key, Noise(**noise))  # type: ignore[arg-type]
        return row

    def of_file(self, file: str) -> Row | None:
        """The row that names this file."""
        return self._only([r for r in self.rows if r.file and _names(r.file, file)], file)

    def of_label(self, label: str) -> Row | None:
        """The row without a file that is about this label."""
        return self._only([r for r in self.rows if not r.file and r.label == label], label)

    @property
    def by_label(self) -> bool:
        """Whether any row is about a label."""
        return any(not row.file for row in self.rows)

    def _only(self, found: list[Row], what: str) -> Row | None:
        if len(found) > 1:
            numbers = " and ".join(str(row.number) for row in found[:2])
            raise InputError(f"conditions: rows {numbers} are both about {what}: leave one")
        for row in found:
            row.used = True
        return found[0] if found else None

    def unused(self) -> list[str]:
        """What rows are about that no file was."""
        return [f"row {row.number} ({row.file or row.label})" for row in self.rows if not row.used]


def _names(pattern: str, file: str) -> bool:
    parts, wanted = PurePath(file).parts, PurePath(pattern).parts
    tail = parts[-len(wanted) :]
    return len(tail) == len(wanted) and all(a == b or fnmatchcase(a, b) for a, b in zip(tail, wanted, strict=True))


def _option(number: int, name: str, text: str) -> Any:
    if name in _UNITS:
        return quantity(text, _UNITS[name], what=f"conditions: row {number}: {name}")
    if name in _WORDS:
        return text
    value = _plain(number, name, text)
    if name == "cells":
        if value != int(value):
            raise InputError(f"conditions: row {number}: cells = {text!r} must be a whole number")
        return int(value)
    return value


def _plain(number: int, name: str, text: str) -> float:
    value = quantity(text, what=f"conditions: row {number}: {name}")
    if not isinstance(value, float):
        raise InputError(f"conditions: row {number}: {name} = {text!r} must be a number without ±")
    return value


def _records(source: Any) -> Iterable[Mapping[Any, Any]]:
    if hasattr(source, "to_dict"):
        records: list[Mapping[Any, Any]] = source.to_dict("records")
        return records
    if isinstance(source, (str, os.PathLike)):
        return _of_csv(Path(source))
    require("conditions", source, Iterable, "the path of a CSV file, a frame of pandas, or a list of dicts")
    rows = list(source)
    for k, row in enumerate(rows):
        require(f"conditions[{k}]", row, Mapping, 'a dict such as {"file": "a.csv", "area_cm2": 0.2}')
    return rows


def _of_csv(path: Path) -> list[dict[str, str]]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or problem
        raise InputError(f"conditions: {path}: cannot be read ({why}): check path and permissions") from None
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    if not lines:
        raise InputError(f"conditions: {path}: the table is empty: give a heading and a row a file")
    mark = max(",;\t", key=lines[0].count)
    reader = csv.DictReader(io.StringIO("\n".join(lines)), delimiter=mark, restkey="", restval="")
    rows = list(reader)
    for k, row in enumerate(rows, start=1):
        if "" in row and any(row.pop("")):
            raise InputError(f"conditions: row {k} of {path.name} has more cells than the heading: check its commas")
    return rows
