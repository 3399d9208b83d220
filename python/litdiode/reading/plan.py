"""How the files of one call are read: reader, options of the sweeps, names, and a table of conditions."""

from __future__ import annotations

import os
import warnings
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from .._core import InputError, LitdiodeWarning, Sweep, sweeps_of
from .conditions import Conditions, Row
from .names import NamePattern
from .origins import Origin
from .sources import Named


@dataclass
class Plan:
    """Options for all files, and what names and a table say of single ones.

    The table wins over the name, both win over the options for all, and these over what a file says of itself. Where
    `strict` is false a name that does not fit the pattern is warned of, and its sweeps have no group.
    """

    reader: Mapping[str, Any] = field(default_factory=dict)
    sweep: Mapping[str, Any] = field(default_factory=dict)
    pattern: NamePattern | None = None
    conditions: Conditions | None = None
    strict: bool = True

    def read(self, one: Named) -> list[tuple[Sweep, Origin]]:
        """Every sweep of a file with its origin."""
        said = self._said(one.path)
        row = self._row(one, said.get("label"))
        options = {**self.sweep, **(row.options if row else {})}
        found = read_named(one, self.reader, options, False, None)
        name = (row.label if row and row.file else "") or said.get("label", "")
        # Several sweeps of one file keep their own names behind the file's.
        labels = [f"{name} {sweep.label or k}" if name and len(found) > 1 else name for k, sweep in enumerate(found)]
        placed = []
        for k, (sweep, label) in enumerate(zip(found, labels, strict=True)):
            own = row or self._own_row(sweep)
            more = {**options, **(own.options if own else {}), **({"label": label} if label else {})}
            # What is known only now is said to the core by reading that sweep again.
            placed.append(
                (sweep if more == options else _again(one, self.reader, more, k), self._origin(one, said, own))
            )
        return placed

    def is_about(self, source: object) -> bool:
        """Whether a file is one of sweeps: the table of conditions may lie in their folder."""
        if self.conditions is None or not isinstance(source, (str, os.PathLike)):
            return True
        return os.path.abspath(source) != self.conditions.path

    def _said(self, file: str) -> dict[str, str]:
        if self.pattern is None:
            return {}
        try:
            return self.pattern.fields(file)
        except InputError as problem:
            if self.strict:
                raise
            warnings.warn(f"{problem}; it has no group", LitdiodeWarning, stacklevel=4)
            return {}

    def _row(self, one: Named, label: str | None) -> Row | None:
        if self.conditions is None:
            return None
        row = self.conditions.of_file(one.path)
        return row or next((r for text in (label, one.label) if text and (r := self.conditions.of_label(text))), None)

    def _own_row(self, sweep: Sweep) -> Row | None:
        if self.conditions is None or not sweep.label:
            return None
        return self.conditions.of_label(sweep.label)

    def _origin(self, one: Named, said: Mapping[str, str], row: Row | None) -> Origin:
        group, batch = said.get("group"), said.get("batch")
        return Origin(one.path, one.sha256, (row and row.group) or group, (row and row.batch) or batch)


def _again(one: Named, reader: Mapping[str, Any], sweep: Mapping[str, Any], k: int) -> Sweep:
    """The sweep number `k` of a file; what is to be warned of has been."""
    ((found,), _) = sweeps_of(one.data, one.name, one.label, {**one.reader, **reader}, dict(sweep), True, k)
    return found


def read_named(
    one: Named, reader: Mapping[str, Any], sweep: Mapping[str, Any], single: bool, which: int | str | None
) -> list[Sweep]:
    """The sweeps of a file, or the one that is asked for; what was assumed without being asked is warned of."""
    found, warned = sweeps_of(one.data, one.name, one.label, {**one.reader, **reader}, dict(sweep), single, which)
    for text in warned:
        warnings.warn(text, LitdiodeWarning, stacklevel=4)
    return found
