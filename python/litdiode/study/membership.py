"""Which sweep of a study is in which group: by a name each, by labels and files, or by where they come from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fnmatch import fnmatchcase
from pathlib import PurePath

from .._core import InputError
from ..arguments import require
from ..reading.origins import Origin

Groups = Mapping[str, Sequence[str]] | Sequence[str | None]


def membership(groups: Groups | None, labels: list[str], origins: Sequence[Origin | None]) -> list[str | None]:
    if groups is None:
        return [origin.group if origin else None for origin in origins]
    if isinstance(groups, Mapping):
        return _matched(groups, labels, origins)
    require("groups", groups, (list, tuple), "a name or None a sweep, or a dict from names to labels")
    for k, name in enumerate(groups):
        require(f"groups[{k}]", name, (str, type(None)), "the name of a group, or None")
    if len(groups) != len(labels):
        raise InputError(f"groups has {len(groups)} names for {len(labels)} sweeps: pass one each, None for no group")
    return list(groups)


def _matched(
    groups: Mapping[str, Sequence[str]], labels: list[str], origins: Sequence[Origin | None]
) -> list[str | None]:
    found: list[str | None] = [None] * len(labels)
    for name, patterns in groups.items():
        for pattern in [patterns] if isinstance(patterns, str) else patterns:
            require(f"groups[{name!r}]", pattern, str, "a list of labels or files")
            hits = [k for k, label in enumerate(labels) if _fits(pattern, label, origins[k])]
            if not hits:
                raise InputError(f"groups[{name!r}]: no sweep fits {pattern!r}: check label, file or pattern")
            for k in hits:
                if found[k] not in (None, name):
                    raise InputError(f"groups: {labels[k]} is in {found[k]!r} and in {name!r}: leave one")
                found[k] = name
    return found


def _fits(pattern: str, label: str, origin: Origin | None) -> bool:
    if fnmatchcase(label, pattern):
        return True
    if origin is None:
        return False
    tail = PurePath(*PurePath(origin.file).parts[-len(PurePath(pattern).parts) :])
    return fnmatchcase(tail.as_posix(), pattern) or fnmatchcase(tail.with_suffix("").as_posix(), pattern)
