"""Delimited text as laboratories write it to a sweep: `read_sweep`.

    path → bytes → text (`decode`) → V, A, metadata, assumptions (`parse`) → `Sweep`

What was assumed is recorded in `sweep.changes`; what cannot be decided is an `InputError` that says what to
pass.
"""

from __future__ import annotations

import os
import warnings
from pathlib import Path
from typing import Any

from .._core import InputError, LitdiodeWarning, Sweep
from ..arguments import require
from .columns import Choice
from .decode import decode
from .parse import ParsedSweep, parse_sweep

__all__ = ["ParsedSweep", "parse_sweep", "read_sweep"]

_OPTIONS = (
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
)


def read_sweep(
    path: str | os.PathLike[str],
    *,
    voltage: Choice = None,
    current: Choice = None,
    voltage_unit: str | None = None,
    current_unit: str | None = None,
    decimal: str | None = None,
    delimiter: str | None = None,
    encoding: str | None = None,
    **options: Any,
) -> Sweep:
    """Read one `Sweep` from a file of delimited text. What is not given is found from the file.

    - `path`: the file.
    - `voltage`, `current`: the columns, by heading or by number from 0.
    - `voltage_unit`, `current_unit`: such as `"mV"`, `"uA"`, or `"mA/cm2"` for a density, which needs an area.
    - `decimal`: the decimal mark, `"."` or `","`.
    - `delimiter`: one character, `" "` for any run of blanks.
    - `encoding`: of the text, such as `"utf-8"`.
    - `options`: those of `Sweep` but for its readings and `changes`. They win over what the file says of itself: area,
      irradiance, temperature, cells, label, sign, leads, swept.

    Readings are turned into V and A. The label is the file's name without its ending unless one is given. What was
    assumed is recorded in `Sweep.changes`. A missing unit is taken as V or A with a `LitdiodeWarning`. Raises
    `InputError` naming file, line, text and the argument that decides, and for all that `Sweep` refuses.

    ```python
    >>> import litdiode as ld, pathlib, tempfile
    >>> path = pathlib.Path(tempfile.mkdtemp(), "invented.csv")
    >>> _ = path.write_text("V (mV); I (mA)\\n-100; 30.0\\n200; 30.0\\n400; 28.0\\n500; 17.0\\n600; -41.0\\n")
    >>> ld.read_sweep(path)
    Sweep("invented", 5 points, −0.1000 to 0.6000 V, −41.00 to 30.00 mA)
    ```
    """
    unknown = next((key for key in options if key not in _OPTIONS), None)
    if unknown is not None:
        raise InputError(f"{unknown}= is no option of a sweep: pass one of {', '.join(_OPTIONS)}")
    require("path", path, (str, os.PathLike), "the path of a file")
    words = {"voltage_unit": voltage_unit, "current_unit": current_unit, "decimal": decimal, "delimiter": delimiter}
    for word, given in (words | {"encoding": encoding}).items():
        require(word, given, (str, type(None)), "a text or None")
    data, name = _bytes(path)
    text, wide = decode(data, name, encoding)
    parsed = parse_sweep(
        text,
        name,
        voltage=voltage,
        current=current,
        voltage_unit=voltage_unit,
        current_unit=current_unit,
        decimal=decimal,
        delimiter=delimiter,
    )
    changes = [wide] if wide else []
    changes += parsed.assumed + parsed.warned
    chosen = _merge(parsed, options, changes)
    current_a = parsed.current_a * _density_area(parsed, chosen, name, changes)
    chosen.setdefault("label", Path(path).stem)
    for text in _warnings(parsed, options):
        warnings.warn(f"{name}: {text}", LitdiodeWarning, stacklevel=2)
    return Sweep(parsed.voltage_v, current_a, changes=changes, **chosen)


def _bytes(path: str | os.PathLike[str]) -> tuple[bytes, str]:
    name = os.fspath(path)
    try:
        return Path(name).read_bytes(), os.path.basename(name) or name
    except FileNotFoundError:
        raise InputError(f"{name}: there is no such file: check the path") from None
    except IsADirectoryError:
        raise InputError(f"{name}: this is a folder: name the files in it") from None
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or problem
        raise InputError(f"{name}: cannot be read ({reason}): check path and permissions") from None


def _merge(parsed: ParsedSweep, options: dict[str, Any], changes: list[str]) -> dict[str, Any]:
    """The file's own options under the caller's, with a record of each that was used."""
    given = {key: value for key, value in options.items() if value is not None}
    for key, value in parsed.options.items():
        if key not in given and key != "label":
            changes.append(parsed.said[key])
        given.setdefault(key, value)
    changes += [text for key, text in parsed.doubts.items() if key not in given]
    return given


def _warnings(parsed: ParsedSweep, options: dict[str, Any]) -> list[str]:
    return parsed.warned + [text for key, text in parsed.doubts.items() if options.get(key) is None]


def _density_area(parsed: ParsedSweep, chosen: dict[str, Any], name: str, changes: list[str]) -> float:
    """The area in cm² that turns a density into a current; 1 if the file holds currents."""
    if not parsed.is_density:
        return 1.0
    if "area_cm2" not in chosen:
        raise InputError(f"{name}: it holds a current density: pass area_cm2= to turn it into a current")
    try:
        area = float(chosen["area_cm2"])
    except (TypeError, ValueError):
        raise InputError(f"area_cm2={chosen['area_cm2']!r}: pass a number of cm² or an Estimate") from None
    changes.append(f"current density turned into a current with area_cm2 = {area:g}")
    return area
