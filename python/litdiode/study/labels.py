"""Labels of a study: each sweep has one of its own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import PurePath

from .._core import Sweep
from ..reading.origins import Origin


def distinct(sweeps: Sequence[Sweep], origins: Sequence[Origin | None]) -> list[str]:
    """The labels of the sweeps; those that several share get what tells them apart: group, file, folder, a number."""
    pairs = enumerate(zip(sweeps, origins, strict=True))
    labels = [sweep.label or _stem(origin) or f"sweep {k}" for k, (sweep, origin) in pairs]
    for name in (_group, _stem, _folder):
        labels = _told_apart(labels, [name(origin) for origin in origins])
    return _numbered(labels)


def _group(origin: Origin | None) -> str:
    return "" if origin is None else " ".join(part for part in (origin.batch, origin.group) if part)


def _stem(origin: Origin | None) -> str:
    return "" if origin is None else PurePath(origin.file).stem


def _folder(origin: Origin | None) -> str:
    return "" if origin is None else PurePath(origin.file).parent.name


def _told_apart(labels: list[str], names: list[str]) -> list[str]:
    """Shared labels with the names before them, where these differ."""
    found: dict[str, set[str]] = {}
    for label, name in zip(labels, names, strict=True):
        found.setdefault(label, set()).add(name)
    differ = {label for label, several in found.items() if len(several) > 1}
    return [
        f"{name} {label}" if label in differ and name and name != label else label
        for label, name in zip(labels, names, strict=True)
    ]


def _numbered(labels: list[str]) -> list[str]:
    total, seen, taken = Counter(labels), Counter[str](), set(labels)
    found = []
    for label in labels:
        if total[label] == 1:
            found.append(label)
            continue
        seen[label] += 1
        while (numbered := f"{label} ({seen[label]})") in taken:
            seen[label] += 1
        taken.add(numbered)
        found.append(numbered)
    return found
