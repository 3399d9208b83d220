"""Many sweeps at once: a status a row, and one bad row spoils no other."""

from __future__ import annotations

import json
from abc import abstractmethod
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Generic, TypeVar, overload

import numpy as np

from ._core import Fit, FitList, InputError, KeyPointList, KeyPoints, Sweep, SweepRows, fit_rows, key_point_rows
from .arguments import require
from .storage import parsed
from .tidy import Row, labelled, of_fit, of_key_points, rms_unit
from .tidy import frame as tidy_frame

if TYPE_CHECKING:
    import pandas as pd
    from typing_extensions import Self


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
    most_evaluations: int | None = None,
    deadline_s: float | None = None,
    threads: int | None = None,
    progress: bool | Callable[[int], Any] = False,
    **options: Any,
) -> Fits:
    """Fits every sweep of a list of `Sweep`s, or every row of voltages (first argument) and currents (second).

    - `sweeps`: a list of `Sweep`s, or with `current_a` the voltages in V: one row a sweep, or one row for all.
    - `current_a`: currents in A, one row a sweep. Rows may be a two-dimensional array, which is fastest, a frame of
      pandas, whose index `frame()` carries on, or a list of lists of different lengths; a row may be filled up with
      NaN, or with masked readings, at its end.
    - `diodes`: 1 or 2; 1 unless given.
    - `residual`, `fix`, `bounds`, `start`, `noise_scale`: for all rows, as in `fit_single_diode`.
    - `most_evaluations`: of the residuals of each row, as in `fit_single_diode`.
    - `deadline_s`: the time in s that each row may take, as there.
    - `threads`: how many work on it; None takes all there are.
    - `progress`: True shows a bar (by tqdm where it is installed, else a line on stderr); a function is told the number
      of rows done.
    - `options`: those of `Sweep`, for all rows; with `Sweep`s they are not allowed, since each carries its own.

    Returns `Fits`: a row that cannot be fitted holds the reason and spoils no other. A change that was made to rows
    without being asked for is a `LitdiodeWarning` once, by the first row that it was made to. Ctrl-C stops the
    work. A row with more voltages than currents, or fewer, holds that as its reason. Raises `InputError` for what
    concerns all rows: an unknown word, a row count that does not match, arrays whose rows differ in length, complex
    numbers, no list of `Sweep`s.

    ```python
    >>> import litdiode as ld
    >>> cells = ld.SingleDiode(iph_a=[[0.030], [0.031]], i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> voltage_v = [0.03 * k for k in range(-2, 20)]
    >>> ld.fit_many(voltage_v, cells.current(voltage_v))
    Fits(2: 2 converged)
    ```
    """
    rows, index = _sweeps(sweeps, current_a, options)
    found = fit_rows(
        rows,
        diodes=diodes,
        residual=residual,
        fix=fix,
        bounds=bounds,
        start=start,
        noise_scale=noise_scale,
        most_evaluations=most_evaluations,
        deadline_s=deadline_s,
        threads=threads,
        progress=progress,
    )
    return Fits(found, index=index)


def key_points_many(
    sweeps: Any,
    current_a: Any = None,
    *,
    threads: int | None = None,
    progress: bool | Callable[[int], Any] = False,
    **options: Any,
) -> KeyPointRows:
    """The key points of every sweep, without a model of the device, each with its uncertainty: `KeyPointRows`.

    - `sweeps`, `current_a`: a list of `Sweep`s, or rows of voltages in V and of currents in A, as in `fit_many`.
    - `threads`, `progress`, `options`: as in `fit_many`.

    What each row holds is said in `Sweep.key_points`; a row that makes no sweep holds the reason instead. Warnings and
    errors as in `fit_many`.

    ```python
    >>> import litdiode as ld
    >>> cells = ld.SingleDiode(iph_a=[[0.030], [0.031]], i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> voltage_v = [0.03 * k for k in range(-2, 21)]
    >>> ld.key_points_many(voltage_v, cells.current(voltage_v)).columns()["ff"].round(3).tolist()
    [0.751, 0.751]
    ```
    """
    rows, index = _sweeps(sweeps, current_a, options)
    return KeyPointRows(key_point_rows(rows, threads=threads, progress=progress), index=index)


def _sweeps(sweeps: Any, current_a: Any, options: Mapping[str, Any]) -> tuple[SweepRows, Any]:
    """The sweeps, and the labels of the rows where a frame gives them."""
    if current_a is None:
        made = _given(sweeps, options)
        return SweepRows.of_sweeps(made), _labels(made)
    index = getattr(current_a, "index", None) if _is_frame(current_a) else None
    return _made(_table("voltage_v", sweeps), _table("current_a", current_a), options), index


def _labels(sweeps: list[Sweep]) -> list[str] | None:
    """The labels of the sweeps, where every one has a label."""
    labels = [sweep.label for sweep in sweeps if sweep.label]
    return labels if labels and len(labels) == len(sweeps) else None


def _is_frame(table: Any) -> bool:
    return hasattr(table, "to_numpy") and getattr(table, "ndim", 0) == 2


def _table(name: str, rows: Any) -> Any:
    """Rows as they are, a frame or a series as the array of its values; complex numbers are refused."""
    rows = rows.to_numpy() if hasattr(rows, "to_numpy") else rows
    if not hasattr(rows, "__len__") or isinstance(rows, str | bytes | Mapping):
        raise InputError(f"{name} = {rows!r} is no list of rows; pass one row of numbers a sweep")
    for k, row in enumerate([rows] if hasattr(rows, "dtype") else rows):
        if getattr(getattr(row, "dtype", None), "kind", "") == "c":
            place = name if row is rows else f"{name}[{k}]"
            raise InputError(f"{place} is complex; pass real numbers, such as its .real")
    return rows


def _given(sweeps: Any, options: Mapping[str, Any]) -> list[Sweep]:
    if options:
        raise InputError(f"{next(iter(options))}= goes with arrays; a Sweep carries its own, set it there")
    if isinstance(sweeps, Sweep):
        raise InputError("sweeps is a single Sweep; pass a list of them")
    require("sweeps", sweeps, Iterable, "a list of Sweeps, or rows of voltages and currents")
    made = list(sweeps)
    for k, sweep in enumerate(made):
        if not isinstance(sweep, Sweep):
            raise InputError(
                f"sweeps[{k}] is a {type(sweep).__name__}, not a Sweep; pass Sweeps, or rows of voltages and currents"
            )
    return made


def _made(voltage_v: Any, current_a: Any, options: Mapping[str, Any]) -> SweepRows:
    if len(current_a) and not np.ndim(current_a[0]):
        raise InputError("current_a is a single row; pass a list of rows, or a single Sweep for one")
    if not len(current_a):
        return SweepRows.of_sweeps([])
    if not np.ndim(voltage_v[0]):
        voltage_v = [voltage_v]
    elif len(voltage_v) != len(current_a):
        raise InputError(
            f"voltage_v has {len(voltage_v)} rows and current_a {len(current_a)}; pass one row of voltages for each "
            "row of currents, or a single one for all"
        )
    return SweepRows.of_arrays(voltage_v, current_a, **options)


_Row = TypeVar("_Row")


class _Rows(Sequence["_Row | str"], Generic[_Row]):
    """Results in the order of their sweeps; a row without one holds the reason instead.

    A row becomes an object when it is asked for; until then it lives in the compiled core.
    """

    _list: type[Any]
    _one: type[Any]

    def __init__(self, rows: Any, *, index: Any = None) -> None:
        if not isinstance(rows, self._list):
            require("rows", rows, Iterable, "a list of results, a text for each that is missing")
            rows = self._list(list(rows))
        self._rows: Any = rows
        self._index = index

    @overload
    def __getitem__(self, k: int) -> _Row | str: ...
    @overload
    def __getitem__(self, k: slice) -> Self: ...
    def __getitem__(self, k: int | slice) -> _Row | str | Self:
        if isinstance(k, slice):
            chosen = range(len(self))[k]
            index = None if self._index is None else self._index[k]
            return type(self)(self._rows.taken(chosen.start, chosen.step, len(chosen)), index=index)
        row: _Row | str = self._rows[k]
        return row

    def __len__(self) -> int:
        return len(self._rows)

    def __iter__(self) -> Iterator[_Row | str]:
        return (self._rows[k] for k in range(len(self)))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, type(self)) and bool(self._rows == other._rows)

    __hash__ = None  # type: ignore[assignment]

    @property
    def errors(self) -> dict[int, str]:
        """Why a row has no result, by its number from 0; empty where all have one."""
        errors: dict[int, str] = self._rows.errors()
        return errors

    @abstractmethod
    def columns(self) -> dict[str, Any]:
        """One array a column, one entry a row."""

    def frame(self, *, remarks: bool = True) -> pd.DataFrame:
        """The columns as a frame of pandas, one row a sweep, with the remarks on each row as a text.

        Where every sweep has a label, these are the index.

        - `remarks`: whether to have that last column. Remarks take some fits, a few milliseconds a row, on all threads;
          leave them out for many thousands of sweeps.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> sweeps = [ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=k) for k in range(2)]
        >>> print(ld.fit_many(sweeps).frame(remarks=False)[["status", "dof", "rms_unit"]])
              status  dof rms_unit
        0  converged   20        A
        1  converged   20        A
        ```
        """
        import pandas as pd

        columns = self.columns()
        if remarks:
            columns["remarks"] = np.array(self._rows.remarks(), dtype=object)
        return pd.DataFrame(columns, index=self._index)

    def tidy(self) -> pd.DataFrame:
        """One row a figure, as a frame of pandas with the columns label, figure, value, u, unit, remark.

        A figure that a row lacks has the value NaN, and the reason as its remark.
        """
        labels = range(len(self)) if self._index is None else self._index
        return tidy_frame([one for label, row in zip(labels, self, strict=True) for one in self._tidied(label, row)])

    @abstractmethod
    def _tidied(self, label: object, row: _Row | str) -> list[Row]:
        """The figures of one row."""

    def to_json(self) -> str:
        """All rows as JSON, each as its own `to_json` writes it, or as the reason that it holds; with their labels."""
        rows = [{"error": row} if isinstance(row, str) else json.loads(row.to_json()) for row in self]  # type: ignore[attr-defined]
        index = None if self._index is None else [str(label) for label in self._index]
        return json.dumps({"class": type(self).__name__, "index": index, "rows": rows}, ensure_ascii=False)

    @classmethod
    def from_json(cls, text: str) -> Self:
        """The rows that `to_json` wrote; labels come back as texts.

        - `text`: what it wrote.

        Raises `InputError` for any other text.

        ```python
        >>> import litdiode as ld
        >>> cells = ld.SingleDiode(iph_a=[[0.030], [0.031]], i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> voltage_v = [0.03 * k for k in range(-2, 20)]
        >>> fits = ld.fit_many(voltage_v, cells.current(voltage_v))
        >>> ld.Fits.from_json(fits.to_json())
        Fits(2: 2 converged)
        ```
        """
        found = parsed(text, cls.__name__)
        found = found if isinstance(found, dict) and found.get("class") == cls.__name__ else {}
        rows, index = found.get("rows"), found.get("index")
        if not isinstance(rows, list) or not (index is None or (isinstance(index, list) and len(index) == len(rows))):
            raise InputError(f"text is no {cls.__name__} in JSON; pass what to_json wrote")
        return cls([cls._read(row) for row in rows], index=index)

    @classmethod
    def _read(cls, row: Any) -> _Row | str:
        reason = row.get("error") if isinstance(row, dict) and len(row) == 1 else None
        made: _Row | str = reason if isinstance(reason, str) else cls._one.from_json(json.dumps(row))
        return made

    def _repr_html_(self) -> str:
        first = self[:20]
        try:
            frame = first.frame()
        except ImportError:
            return f"<b>{self!r}</b>"
        if not any(frame["remarks"]):
            frame = frame.drop(columns="remarks")
        return f"<b>{self!r}</b>" + str(frame.to_html(float_format=lambda x: f"{x:.4g}"))

    def _reasons(self) -> Any:
        reasons = np.full(len(self), "", dtype=object)
        for k, why in self.errors.items():
            reasons[k] = why
        return reasons


class Fits(_Rows[Fit]):
    """Fits in the order of their sweeps, from `fit_many`; a row without a fit holds the reason instead.

    - `rows`: a list of `Fit`s and reasons (texts), to make one by hand.
    - `index`: labels of the rows for `frame`, or None.

    A sequence: `fits[k]` is a `Fit` or a text, a slice is `Fits`.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> sweeps = [ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=k) for k in range(3)]
    >>> fits = ld.fit_many(sweeps)
    >>> fits.status, fits[0].residual, fits.errors
    (['converged', 'converged', 'converged'], 'current', {})
    >>> fits.columns()["n"].round(2).tolist()
    [1.3, 1.3, 1.3]
    ```
    """

    _list = FitList
    _one = Fit

    @property
    def status(self) -> list[str]:
        """The status of each fit, as in `Fit.status`; "error" where there is none."""
        status: list[str] = self._rows.status()
        return status

    def columns(self) -> dict[str, Any]:
        """One array a column: status, error, rms, rms_unit, chi2, dof, then every parameter and key point with its u.

        SI units; the u of `iph` is `iph_u`. `rms_unit` is that of the residual: "A", "V", or "1" for standard
        uncertainties. NaN (an empty text in `error` and in `rms_unit`) where a row has no such figure.
        """
        figures: dict[str, Any] = self._rows.columns()
        units = np.array(["" if isinstance(fit, str) else rms_unit(fit) for fit in self], dtype=object)
        status = {"status": np.array(self.status, dtype=object), "error": self._reasons()}
        return status | {"rms": figures.pop("rms"), "rms_unit": units} | figures

    def _tidied(self, label: object, row: Fit | str) -> list[Row]:
        names = next((list(fit.parameters) for fit in self if not isinstance(fit, str)), [])
        return labelled(of_fit(row, names), label)

    def __repr__(self) -> str:
        status = self.status
        counts = {one: status.count(one) for one in dict.fromkeys(status)}
        return f"Fits({len(self)}: {', '.join(f'{n} {status}' for status, n in counts.items())})"


class KeyPointRows(_Rows[KeyPoints]):
    """Key points in the order of their sweeps, from `key_points_many`; a row without any holds the reason instead.

    - `rows`: a list of `KeyPoints` and reasons (texts), to make one by hand.
    - `index`: labels of the rows for `frame`, or None.

    A sequence: `rows[k]` is a `KeyPoints` or a text, a slice is `KeyPointRows`. Remarks are made when a row is asked
    for them (`rows[k].findings`), and for `frame`; a pickled batch keeps the figures alone.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> sweeps = [ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=k) for k in range(3)]
    >>> rows = ld.key_points_many(sweeps)
    >>> len(rows), rows.errors, rows.columns()["voc"].round(3).tolist()
    (3, {}, [0.574, 0.574, 0.574])
    ```
    """

    _list = KeyPointList
    _one = KeyPoints

    def columns(self) -> dict[str, Any]:
        """One array a column: error, then every key point with its u; NaN where a row has no such figure.

        SI units; the u of `isc` is `isc_u`.
        """
        figures: dict[str, Any] = self._rows.columns()
        return {"error": self._reasons()} | figures

    def _tidied(self, label: object, row: KeyPoints | str) -> list[Row]:
        return labelled(of_key_points(row), label)

    def __repr__(self) -> str:
        return f"KeyPointRows({len(self) - len(self.errors)} of {len(self)} sweeps)"
