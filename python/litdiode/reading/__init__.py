"""Files to sweeps: `read_sweep` and `read_sweeps`.

    path, bytes, open file, frame ──sources──▶ bytes ──core──▶ sweeps with what the file says of them

What was assumed is recorded in `sweep.changes`; what cannot be decided is an `InputError` that says what to pass.
"""

from __future__ import annotations

import sys
import warnings
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from .._core import InputError, LitdiodeWarning, Sweep, sweeps_of
from .sources import Named, Source, named, several

__all__ = ["read_sweep", "read_sweeps"]

_SWEEP = (
    "swept",
    "sign",
    "leads",
    "noise",
    "area_cm2",
    "irradiance_w_m2",
    "temperature_c",
    "cells",
    "time_s",
    "label",
    "corrections",
    "outliers",
)
_COLUMNS = ("voltage", "current", "time")
Column = str | int | None


def read_sweep(
    source: Source,
    *,
    which: int | str | None = None,
    voltage: Column = None,
    current: Column = None,
    columns: Mapping[str, Column] | None = None,
    voltage_unit: str | None = None,
    current_unit: str | None = None,
    decimal: str | None = None,
    thousands: str | None = None,
    delimiter: str | None = None,
    encoding: str | None = None,
    skip_rows: int = 0,
    header_row: int | None = None,
    comment: str | None = None,
    overflow: str = "exclude",
    **options: Any,
) -> Sweep:
    """Read one `Sweep` from a file. What is not given is found from the file.

    - `source`: a path, the bytes or the open file of a table, or a DataFrame.
    - `which`: of several sweeps in the file the one of this label, or of this number from 0.
    - `voltage`, `current`, or `columns={"voltage": ..., "current": ..., "time": ...}`: the columns, by heading as
      written in the file or by number from 0.
    - `voltage_unit`, `current_unit`: such as `"mV"`, `"uA"`, or `"mA/cm2"` for a density, which needs an area.
    - `decimal`, `thousands`: the decimal mark, `"."` or `","`; the mark between groups of three digits.
    - `delimiter`: one character, `" "` for any run of blanks.
    - `encoding`: of the text, such as `"utf-8"`.
    - `skip_rows`, `header_row`, `comment`: lines to leave out at the top; the line of the headings, from 1; what begins
      a comment.
    - `overflow`: "exclude" leaves rows out that hold the mark of an overflow or no value, and records them; "error"
      refuses them.
    - `options`: those, and those of `Sweep` but for its readings and `changes`. They win over what the file says of
      itself: area, irradiance, temperature, cells, label, sign, leads, swept.

    Readings are turned into V and A. The label is the file's own, or its name without the ending. What was assumed or
    left out is recorded in `Sweep.changes`. A missing unit is taken as V or A with a `LitdiodeWarning`. Raises
    `InputError` naming file, line, text and the option that decides, and for all that `Sweep` refuses.

    ```python
    >>> import litdiode as ld
    >>> text = "U (mV);I (mA)\\n-100;30,31\\n200;30,2\\n400;28,0\\n500;17,1\\n600;-41,0\\n"  # invented
    >>> ld.read_sweep(text.encode(), label="invented")
    Sweep("invented", 5 points, −0.1000 to 0.6000 V, −41.00 to 30.31 mA)
    ```
    """
    reader = _reader_options(
        columns,
        voltage=voltage,
        current=current,
        voltage_unit=voltage_unit,
        current_unit=current_unit,
        decimal=decimal,
        thousands=thousands,
        delimiter=delimiter,
        encoding=encoding,
        skip_rows=skip_rows,
        header_row=header_row,
        comment=comment,
        overflow=overflow,
    )
    sweep = _sweep_options(options)
    one = named(source)
    (found,) = _read(one, reader, sweep, True, which)
    return found


def read_sweeps(
    source: Source | Sequence[Source],
    *,
    progress: bool | Callable[[int], Any] = False,
    voltage: Column = None,
    current: Column = None,
    columns: Mapping[str, Column] | None = None,
    voltage_unit: str | None = None,
    current_unit: str | None = None,
    decimal: str | None = None,
    thousands: str | None = None,
    delimiter: str | None = None,
    encoding: str | None = None,
    skip_rows: int = 0,
    header_row: int | None = None,
    comment: str | None = None,
    overflow: str = "exclude",
    **options: Any,
) -> list[Sweep]:
    """Read all sweeps of a file, of several files, of a folder, or of a pattern such as `"day1/*.csv"`.

    - `source`: what `read_sweep` takes, a folder, a pattern, or a list of all these.
    - `progress`: True shows a bar over the files (by tqdm where it is installed); a function is told the number done.
    - `voltage`, `current`, `columns`, `voltage_unit`, `current_unit`, `decimal`, `thousands`, `delimiter`, `encoding`,
      `skip_rows`, `header_row`, `comment`, `overflow`, `options`: those of `read_sweep`, for all files.

    A file holds several sweeps where its rows are parted by blank lines, headings, comments or titles, where a column
    names device or direction, where pairs of columns stand side by side, or several currents beside one voltage. Their
    labels come from there. Of a folder every file is read that looks like text.

    Raises what `read_sweep` raises.

    ```python
    >>> import litdiode as ld
    >>> rows = ["-0.1,30,29", "0.2,30,29", "0.4,28,27", "0.5,17,16", "0.6,-41,-42"]  # invented
    >>> text = "\\n".join(["V (V),left (mA),right (mA)", *rows])
    >>> [sweep.label for sweep in ld.read_sweeps(text.encode())]
    ['left (mA)', 'right (mA)']
    ```
    """
    reader = _reader_options(
        columns,
        voltage=voltage,
        current=current,
        voltage_unit=voltage_unit,
        current_unit=current_unit,
        decimal=decimal,
        thousands=thousands,
        delimiter=delimiter,
        encoding=encoding,
        skip_rows=skip_rows,
        header_row=header_row,
        comment=comment,
        overflow=overflow,
    )
    sweep = _sweep_options(options)
    sources = several(source)
    report = _progress(progress, len(sources))
    found: list[Sweep] = []
    for done, one in enumerate(sources, start=1):
        found += _read(one, reader, sweep, False, None)
        report(done)
    return found


def _read(
    one: Named, reader: Mapping[str, Any], sweep: Mapping[str, Any], single: bool, which: int | str | None
) -> list[Sweep]:
    found, warned = sweeps_of(one.data, one.name, one.label, {**one.reader, **reader}, dict(sweep), single, which)
    for text in warned:
        warnings.warn(text, LitdiodeWarning, stacklevel=3)
    return found


def _reader_options(columns: Mapping[str, Column] | None, **reader: Any) -> dict[str, Any]:
    """The options of the reader, with the columns that `columns` names."""
    if columns is not None:
        if not isinstance(columns, Mapping) or not set(columns) <= set(_COLUMNS):
            raise InputError(
                f'columns={columns!r}: pass a dict such as {{"voltage": "U (V)", "current": 2}}, '
                f"with keys among {', '.join(_COLUMNS)}"
            )
        reader |= columns
    return reader


def _sweep_options(options: dict[str, Any]) -> dict[str, Any]:
    unknown = next((key for key in options if key not in _SWEEP), None)
    if unknown is not None:
        raise InputError(f"{unknown}= is no option of a reader or of a sweep: pass one of {', '.join(_SWEEP)}")
    return options


def _progress(asked: bool | Callable[[int], Any] | None, count: int) -> Callable[[int], Any]:
    """What is told the number of files done: nothing, a bar, or the caller's function."""
    if asked is None or asked is False:
        return lambda done: None
    if asked is not True:
        if not callable(asked):
            raise InputError(f"progress={asked!r}: pass True, False or a function of the number of files done")
        return asked
    try:
        from tqdm.auto import tqdm
    except ImportError:
        return lambda done: print(f"\r{done} of {count} files", end="" if done < count else "\n", file=sys.stderr)
    bar = tqdm(total=count)
    return lambda done: bar.update(done - bar.n)
