"""Files to sweeps: `read_sweep` and `read_sweeps`.

    path, bytes, open file, frame ──sources──▶ bytes ──core──▶ sweeps with what the file says of them

What was assumed is recorded in `sweep.changes`; what cannot be decided is an `InputError` that says what to pass.
"""

from __future__ import annotations

import os
import sys
import warnings
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from .._core import InputError, LitdiodeError, LitdiodeWarning, Sweep
from .conditions import Conditions
from .names import NamePattern
from .origins import Origin, Sweeps
from .plan import Plan, read_named
from .sources import Source, named, several, shown

__all__ = [
    "Conditions",
    "NamePattern",
    "Origin",
    "Plan",
    "Sweeps",
    "make_plan",
    "progress_of",
    "read_sweep",
    "read_sweeps",
]

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
    (found,) = read_named(named(source), reader, sweep, True, which)
    return found


def read_sweeps(
    source: Source | Sequence[Source],
    *,
    pattern: str | None = None,
    conditions: Any = None,
    unreadable: str = "error",
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
) -> Sweeps:
    """Read all sweeps of a file, of several files, of a folder, or of a pattern such as `"day1/*.csv"`.

    - `source`: what `read_sweep` takes, a folder, a pattern, or a list of all these.
    - `pattern`: what the names of the files say: `"{group}_{label}.csv"`, `"{batch}/{group}_{label:d}.csv"`. A field
      stands for one character or more, `:d` for digits, `{_}` for what is not needed; a name that does not fit, or
      fits in two ways, is an error.
    - `conditions`: what is known of each file: the path of a CSV file, a frame of pandas or a list of dicts with the
      columns `file` or `label`, and any of `group`, `batch`, `area_cm2`, `irradiance_w_m2`, `temperature_c`, `cells`,
      `swept`, `sign`, `leads`, and the parts of the noise as `noise_current_a` and so on. `100 ± 0.5` is a number with
      its standard uncertainty, and `100 ± 0.5 (mask 1)` the same source wherever its name stands; rows of equal
      noise are one instrument. The file of the table itself is no sweep, also where it lies in the folder.
    - `unreadable`: "error" raises at the first file that cannot be read; "warn" leaves it to the others, warns, and
      keeps the reason in `unreadable` of the result.
    - `progress`: True shows a bar over the files (by tqdm where it is installed); a function is told the number done.
    - `voltage`, `current`, `columns`, `voltage_unit`, `current_unit`, `decimal`, `thousands`, `delimiter`, `encoding`,
      `skip_rows`, `header_row`, `comment`, `overflow`, `options`: those of `read_sweep`, for all files.

    A file holds several sweeps where its rows are parted by blank lines, headings, comments or titles, where a column
    names device or direction, where pairs of columns stand side by side, or several currents beside one voltage. Their
    labels come from there. Of a folder every file is read that looks like text.

    Returns a list of `Sweep`s whose `origins` say for each its file, SHA-256, group and batch. Raises what `read_sweep`
    raises, and `InputError` for a row of `conditions` that no file fits.

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
    if unreadable not in ("error", "warn"):
        raise InputError(f'unreadable={unreadable!r}: pass "error" or "warn"')
    plan = make_plan(reader, options, pattern, conditions, unreadable == "error")
    return _read_all(source, plan, progress)


def make_plan(
    reader: dict[str, Any], options: dict[str, Any], pattern: str | None, conditions: Any, strict: bool
) -> Plan:
    """The plan by which all files of one call are read."""
    names = None if pattern is None else NamePattern(pattern)
    table = None if conditions is None else Conditions(conditions)
    return Plan(reader, _sweep_options(options), names, table, strict)


def _read_all(source: Source | Sequence[Source], plan: Plan, progress: bool | Callable[[int], Any]) -> Sweeps:
    found = Sweeps()
    each = list(source) if isinstance(source, (list, tuple)) else [source]
    sources = [one for part in each for one in _tried(part, lambda part=part: several(part), plan, found)]  # type: ignore[misc]
    sources = [one for one in sources if plan.is_about(one)]
    report = progress_of(progress, len(sources))
    for done, one in enumerate(sources, start=1):
        for sweep, origin in _tried(one, lambda one=one: plan.read(named(one)), plan, found):  # type: ignore[misc]
            found.append(sweep)
            found.origins.append(origin)
        report(done)
    _say_unused(plan)
    return found


def _tried(source: Source, read: Callable[[], list[Any]], plan: Plan, found: Sweeps) -> list[Any]:
    """What `read` gives; where it fails and others are to go on, nothing, a warning, and the reason in `found`."""
    try:
        return read()
    except LitdiodeError as problem:
        if plan.strict:
            raise
        name = shown(source) if isinstance(source, (str, os.PathLike)) else f"source {type(source).__name__}"
        found.unreadable[name] = str(problem)
        warnings.warn(f"{name}: left out, since it cannot be read: {problem}", LitdiodeWarning, stacklevel=4)
        return []


def _say_unused(plan: Plan) -> None:
    unused = plan.conditions.unused() if plan.conditions else []
    if unused:
        text = f"conditions: no file fits {', '.join(unused[:5])}{', …' if len(unused) > 5 else ''}: check the names"
        if plan.strict:
            raise InputError(text)
        warnings.warn(text, LitdiodeWarning, stacklevel=4)


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


def progress_of(asked: bool | Callable[[int], Any] | None, count: int) -> Callable[[int], Any]:
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
