"""Sweeps with where they come from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from .._core import Sweep


@dataclass(frozen=True)
class Origin:
    """Where a sweep comes from.

    - `file`: the path as it was given, or "source", "the frame".
    - `sha256`: of the bytes of the file, in hexadecimal digits.
    - `group`, `batch`: the recipe and the batch it belongs to, by the name of the file or a table of conditions; or
      None.
    """

    file: str
    sha256: str
    group: str | None = None
    batch: str | None = None


class Sweeps(list[Sweep]):
    """The sweeps that `read_sweeps` gives: a list, with where each comes from.

    - `sweeps`: a list of `Sweep`s.
    - `origins`: an `Origin` each.
    - `unreadable`: the reason for each file that could not be read, by its path.
    """

    def __init__(
        self, sweeps: Iterable[Sweep] = (), origins: Iterable[Origin] = (), unreadable: dict[str, str] | None = None
    ) -> None:
        super().__init__(sweeps)
        self.origins = list(origins)
        self.unreadable = dict(unreadable or {})
