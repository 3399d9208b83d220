"""Results of a study as texts and as frames of pandas."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from .. import storage
from .extra import library

if TYPE_CHECKING:
    import pandas as pd


class Stored(storage.Stored):
    """A dataclass that can be written as JSON and as a frame."""

    def frame(self) -> pd.DataFrame:
        """The figures as a frame of pandas, a row each: label, figure, quantity, unit, value and u."""
        columns = ["label", "figure", "quantity", "unit", "value", "u"]
        found: pd.DataFrame = library("pandas").DataFrame(list(self._rows()), columns=columns)
        return found

    def _rows(self) -> Iterable[tuple[str, str, str, str, float | None, float | None]]:
        raise NotImplementedError


class Told(Stored):
    """One whose `str` is its sentence."""

    sentence: str

    def __str__(self) -> str:
        return self.sentence
