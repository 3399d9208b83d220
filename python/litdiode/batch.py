"""Many sweeps at once: a status a row, and one bad row spoils no other."""

from __future__ import annotations

import sys
from abc import abstractmethod
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Generic, TypeVar, overload

import numpy as np

from ._core import Estimate, Fit, InputError, KeyPoints, Sweep, fit_rows, key_point_rows

if TYPE_CHECKING:
    import pandas as pd
    from typing_extensions import Self

_FIGURES = ("isc", "voc", "pmax", "v_pmax", "i_pmax", "ff", "jsc", "efficiency")


def fit_many(
    sweeps: Any,
    current_a: Any = None,
    *,
    diodes: int = 1,
    residual: str = "auto",
    fix: Mapping[str, float] | None = None,
    bounds: Mapping[str, tuple[float, float]] | None = None,
    start: Mapping[str, float] | None = None,
    noise_scale: str = "stated",
    threads: int | None = None,
    progress: bool | Callable[[int], Any] = False,
    **options: Any,
) -> Fits:
    """Fits every sweep of a list of `Sweep`s, or every row of voltages (first argument) and currents (second).

    Rows may be a two-dimensional array or a list of lists of different lengths; a row may be filled up with NaN at its
    end. One row of voltages serves all rows of currents. `options` are those of `Sweep` and hold for all rows; with
    `Sweep`s they are not allowed, since each sweep carries its own.

    `progress=True` shows a bar (by tqdm where it is installed, else a line on stderr); a function is told the number of
    rows done. Ctrl-C stops the work.
    """
    made = _sweeps(sweeps, current_a, options)
    good = [sweep for sweep in made if isinstance(sweep, Sweep)]
    with _Progress(progress, len(good)) as told:
        found = fit_rows(
            good,
            diodes=diodes,
            residual=residual,
            fix=None if fix is None else dict(fix),
            bounds=None if bounds is None else dict(bounds),
            start=None if start is None else dict(start),
            noise_scale=noise_scale,
            threads=threads,
            progress=told,
        )
    rest = iter(found)
    return Fits([made_row if isinstance(made_row, str) else next(rest) for made_row in made])


def key_points_many(
    sweeps: Any,
    current_a: Any = None,
    *,
    threads: int | None = None,
    progress: bool | Callable[[int], Any] = False,
    **options: Any,
) -> KeyPointRows:
    """The key points of every sweep, without a model of the device, each with its uncertainty.

    `sweeps`, `current_a`, `progress` and `options` are those of `fit_many`: a list of `Sweep`s, or rows of voltages and
    currents. A row that makes no sweep holds the reason instead.
    """
    made = _sweeps(sweeps, current_a, options)
    good = [sweep for sweep in made if isinstance(sweep, Sweep)]
    with _Progress(progress, len(good)) as told:
        rest = iter(key_point_rows(good, threads=threads, progress=told))
    return KeyPointRows([made_row if isinstance(made_row, str) else next(rest) for made_row in made])


def _sweeps(sweeps: Any, current_a: Any, options: Mapping[str, Any]) -> list[Sweep | str]:
    return _given(sweeps, options) if current_a is None else _made(sweeps, current_a, options)


def _given(sweeps: Any, options: Mapping[str, Any]) -> list[Sweep | str]:
    if options:
        raise InputError(f"{next(iter(options))}= goes with arrays; a Sweep carries its own, set it there")
    if isinstance(sweeps, Sweep):
        raise InputError("sweeps is a single Sweep; pass a list of them")
    made = list(sweeps)
    for k, sweep in enumerate(made):
        if not isinstance(sweep, Sweep):
            raise InputError(
                f"sweeps[{k}] is a {type(sweep).__name__}, not a Sweep; pass Sweeps, or rows of voltages and currents"
            )
    return made


def _made(voltage_v: Any, current_a: Any, options: Mapping[str, Any]) -> list[Sweep | str]:
    if len(current_a) and not np.ndim(current_a[0]):
        raise InputError("current_a is a single row; pass a list of rows, or a single Sweep for one")
    if not len(current_a):
        return []
    currents = list(current_a)
    voltages = list(voltage_v) if np.ndim(voltage_v[0]) else None
    if voltages is not None and len(voltages) != len(currents):
        raise InputError(
            f"voltage_v has {len(voltages)} rows and current_a {len(currents)}; pass one row of voltages for each row "
            "of currents, or a single one for all"
        )
    made: list[Sweep | str] = []
    for k, current in enumerate(currents):
        voltage = voltage_v if voltages is None else voltages[k]
        try:
            made.append(Sweep(*_without_padding(voltage, current), **options))
        except InputError as error:
            made.append(str(error))
    return made


def _without_padding(voltage: Any, current: Any) -> tuple[Any, Any]:
    """Both without the NaN that fill a ragged row up at its end."""
    try:
        voltage, current = np.asarray(voltage, dtype=float), np.asarray(current, dtype=float)
    except (TypeError, ValueError):
        return voltage, current  # Sweep says what is wrong with it.
    if voltage.shape != current.shape or voltage.ndim != 1:
        return voltage, current
    there = np.flatnonzero(~np.isnan(current))
    end = there[-1] + 1 if there.size else 0
    return voltage[:end], current[:end]


class _Progress:
    """A bar, a line on stderr, or a caller's function; nothing unless it is asked for."""

    def __init__(self, progress: bool | Callable[[int], Any], total: int) -> None:
        self._total = total
        self._told = progress if callable(progress) else None
        self._bar: Any = None
        self._line = False
        if progress is True:
            try:
                from tqdm.auto import tqdm
            except ImportError:
                self._line = True
            else:
                self._bar = tqdm(total=total, unit="sweep")

    def __enter__(self) -> Callable[[int], Any] | None:
        if self._bar is not None:
            return lambda done: self._bar.update(done - self._bar.n)
        return self._write if self._line else self._told

    def _write(self, done: int) -> None:
        sys.stderr.write(f"\r{done} of {self._total} sweeps")
        sys.stderr.flush()

    def __exit__(self, *_: object) -> None:
        if self._bar is not None:
            self._bar.close()
        if self._line:
            sys.stderr.write("\n")


_Row = TypeVar("_Row")


class _Rows(Sequence["_Row | str"], Generic[_Row]):
    """Results in the order of their sweeps; a row without one holds the reason instead."""

    def __init__(self, rows: Sequence[_Row | str]) -> None:
        self._rows = list(rows)

    @overload
    def __getitem__(self, k: int) -> _Row | str: ...
    @overload
    def __getitem__(self, k: slice) -> Self: ...
    def __getitem__(self, k: int | slice) -> _Row | str | Self:
        return type(self)(self._rows[k]) if isinstance(k, slice) else self._rows[k]

    def __len__(self) -> int:
        return len(self._rows)

    def __iter__(self) -> Iterator[_Row | str]:
        return iter(self._rows)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, type(self)) and self._rows == other._rows

    __hash__ = None  # type: ignore[assignment]

    @property
    def errors(self) -> dict[int, str]:
        """Why a row has no result, by its number."""
        return {k: row for k, row in enumerate(self._rows) if isinstance(row, str)}

    @abstractmethod
    def columns(self) -> dict[str, Any]:
        """One array a column."""

    def frame(self) -> pd.DataFrame:
        """The columns as a frame of pandas."""
        import pandas as pd

        return pd.DataFrame(self.columns())

    def _repr_html_(self) -> str:
        try:
            return f"<b>{self!r}</b>" + str(self[:20].frame().to_html(float_format=lambda x: f"{x:.4g}"))
        except ImportError:
            return f"<b>{self!r}</b>"

    def _reasons(self) -> Any:
        return np.array([row if isinstance(row, str) else "" for row in self._rows], dtype=object)


class Fits(_Rows[Fit]):
    """Fits in the order of their sweeps; a row without a fit holds the reason instead."""

    @property
    def status(self) -> list[str]:
        """The status of each fit; `error` where there is none."""
        return [row.status if isinstance(row, Fit) else "error" for row in self._rows]

    def columns(self) -> dict[str, Any]:
        """One array a column: status, error, rms, chi2, dof, then every parameter and key point with its `u`.

        NaN (an empty text in `error`) where a row has no such figure.
        """
        table: dict[str, Any] = {"status": np.array(self.status, dtype=object), "error": self._reasons()}
        for name in ("rms", "chi2", "dof"):
            table[name] = np.array([getattr(row, name) if isinstance(row, Fit) else np.nan for row in self._rows])
        return table | _pairs([_figures(row) if isinstance(row, Fit) else {} for row in self._rows])

    def __repr__(self) -> str:
        counts = {status: self.status.count(status) for status in dict.fromkeys(self.status)}
        return f"Fits({len(self)}: {', '.join(f'{n} {status}' for status, n in counts.items())})"


class KeyPointRows(_Rows[KeyPoints]):
    """Key points in the order of their sweeps; a row without any holds the reason instead."""

    def columns(self) -> dict[str, Any]:
        """One array a column: error, then every key point with its `u`; NaN where a row has no such figure."""
        figures = [_key_points(row) if isinstance(row, KeyPoints) else {} for row in self._rows]
        return {"error": self._reasons()} | _pairs(figures)

    def __repr__(self) -> str:
        return f"KeyPointRows({len(self) - len(self.errors)} of {len(self)} sweeps)"


def _pairs(figures: list[dict[str, tuple[float, float]]]) -> dict[str, Any]:
    """A column of values and one of uncertainties for each figure that any row has."""
    table: dict[str, Any] = {}
    for name in dict.fromkeys(name for row in figures for name in row):
        pairs = [row.get(name, (np.nan, np.nan)) for row in figures]
        table[name] = np.array([value for value, _ in pairs])
        table[f"{name}_u"] = np.array([u for _, u in pairs])
    return table


def _figures(fit: Fit) -> dict[str, tuple[float, float]]:
    found = {name: _pair(estimate) for name, estimate in fit.parameters.items()}
    return found | _key_points(fit.key_points())


def _key_points(points: KeyPoints) -> dict[str, tuple[float, float]]:
    return {name: _pair(e) for name in _FIGURES if (e := getattr(points, name)) is not None}


def _pair(estimate: Estimate) -> tuple[float, float]:
    return estimate.value, np.nan if estimate.u is None else estimate.u
