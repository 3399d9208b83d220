"""A study as it stands in a file: `study.toml` to files, options, corrections, groups and what is asked."""

from __future__ import annotations

import hashlib
import os
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from .._core import (
    Calibration,
    Correction,
    DarkSweep,
    Estimate,
    Gain,
    InputError,
    LeadResistance,
    Leakage,
    Noise,
    Offset,
    SenseResistor,
)
from ..reading import read_sweep
from ..reading.conditions import NOISE
from ..reading.quantities import quantity
from ..reading.sources import paths

READER = (
    "voltage",
    "current",
    "voltage_unit",
    "current_unit",
    "decimal",
    "thousands",
    "delimiter",
    "encoding",
    "skip_rows",
    "header_row",
    "comment",
    "overflow",
)
_TOP = (
    "title",
    "files",
    "pattern",
    "conditions",
    "area_cm2",
    "irradiance_w_m2",
    "temperature_c",
    "cells",
    "swept",
    "sign",
    "leads",
    "outliers",
    "figures",
    "reference",
    "level",
    "margins",
    "diodes",
    "resistances",
)
_TABLES = ("reading", "noise", "corrections", "groups")
_PLAIN = ("cells", "swept", "sign", "leads", "outliers")
_ASKED = ("title", "figures", "reference", "level", "margins", "diodes", "resistances", "groups")
_OF_NOISE = (*NOISE, "scatter_dof", "instrument")
#: Keys of each kind of correction, with the unit of their numbers.
CORRECTIONS: dict[str, dict[str, str]] = {
    "Offset": {"voltage_v": "V", "current_a": "A"},
    "SenseResistor": {"ohm": "Ω"},
    "Gain": {"voltage": "", "current": ""},
    "Calibration": {"voltage": "", "current": "", "u": ""},
    "LeadResistance": {"ohm": "Ω"},
    "Leakage": {"ohm": "Ω"},
    "DarkSweep": {"file": "", "sign": "", "leads": ""},
}
_KINDS: dict[str, Any] = {
    "Offset": Offset,
    "SenseResistor": SenseResistor,
    "Gain": Gain,
    "Calibration": Calibration,
    "LeadResistance": LeadResistance,
    "Leakage": Leakage,
}


@dataclass(frozen=True)
class StudyFile:
    """What a `study.toml` says: `files`, how to read them (`reading`), and what is `asked` of them.

    `inputs` has the SHA-256 of this file, and of the table and the dark sweeps that it names. `stated` are lines for
    the reader of a report: what the file says and no figure carries.
    """

    path: Path
    files: list[str]
    reading: dict[str, Any]
    asked: dict[str, Any]
    inputs: dict[str, str] = field(default_factory=dict)
    stated: tuple[str, ...] = field(default=())


def read_study_file(path: str | Path) -> StudyFile:
    """Read and check a `study.toml`; paths in it are taken from its folder."""
    path = Path(path)
    text = _text(path)
    said = _parsed(path, text)
    _check(path, text, said, (*_TOP, *_TABLES), "")
    for table, keys in (("reading", READER), ("noise", _OF_NOISE)):
        _table(path, said, table)
        _check(path, text, said.get(table, {}), keys, table)
    files = said.get("files", ["."])
    files = [files] if isinstance(files, str) else files
    if not isinstance(files, list) or not files or not all(isinstance(one, str) for one in files):
        raise InputError(
            f'{path}: files = {files!r} must be a list of files, folders or patterns, such as ["day1/*.csv"]'
        )
    reading, stated = _reading(path, text, said)
    asked = {key: said[key] for key in _ASKED if key in said}
    inputs = {str(one): hashlib.sha256(_bytes(one)).hexdigest() for one in _own_files(path, said)}
    return StudyFile(path, _expanded([str(path.parent / one) for one in files], inputs), reading, asked, inputs, stated)


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except (OSError, ValueError) as problem:
        raise _unread(path, problem) from None


def _unread(path: Path, problem: Exception) -> InputError:
    why = getattr(problem, "strerror", None) or problem
    return InputError(f"{path}: cannot be read ({why}): check path and permissions")


def _own_files(path: Path, said: Mapping[str, Any]) -> list[Path]:
    """The study file, its table of conditions, and its dark sweeps: inputs, and no cells."""
    dark = [one["file"] for one in said.get("corrections", []) if "file" in one]
    named = [said["conditions"]] if "conditions" in said else []
    return [path, *(path.parent / one for one in (*named, *dark))]


def _expanded(files: list[str], own: Mapping[str, str]) -> list[str]:
    """Every file of cells once, however many patterns name it; a pattern that none fits stays for its reader to say."""
    found: dict[str, str] = {}
    for one in files:
        try:
            inside = [os.fspath(path) for path in paths(one)]
        except InputError:
            inside = [one]
        found |= {os.path.abspath(path): str(path) for path in inside}
    other = {os.path.abspath(one) for one in own}
    return [path for place, path in found.items() if place not in other]


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except (OSError, ValueError) as problem:
        raise _unread(path, problem) from None


def _parsed(path: Path, text: str) -> dict[str, Any]:
    if sys.version_info >= (3, 11):
        import tomllib
    else:
        try:
            import tomli as tomllib
        except ImportError:
            raise InputError(f"{path}: pip install 'litdiode[study]' brings what reads it on Python 3.10") from None
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise InputError(f"{path}: {problem}: check the line; texts stand in quotes") from None


def _check(path: Path, text: str, said: Mapping[str, Any], known: Sequence[str], section: str) -> None:
    """An error for the first key that is not known: its line, its section, the nearest known one."""
    for key in said:
        if key not in known:
            near = get_close_matches(key, known, 1, 0.5)
            cure = f"did you mean {near[0]}?" if near else f"use {', '.join(known)}"
            where = f" in [{section}]" if section else ""
            raise InputError(f"{path}{_line(text, key, section)}: {key!r}{where} is no key of a study: {cure}")


def _line(text: str, key: str, section: str) -> str:
    """`, line 7`: where the key stands; nothing where it is not found as a line of its own."""
    inside = ""
    for number, line in enumerate(text.splitlines(), start=1):
        bare = line.strip()
        if bare.startswith("["):
            inside = bare.strip("[] ").split("#")[0].strip("[] ")
            if inside == key and not section:
                return f", line {number}"
        elif inside == section and bare.split("=")[0].strip().strip("\"'") == key:
            return f", line {number}"
    return ""


def _table(path: Path, said: Mapping[str, Any], name: str) -> None:
    if not isinstance(said.get(name, {}), dict):
        raise InputError(f"{path}: {name} = {said[name]!r} must be a table: write [{name}] and a line a key")


def _reading(path: Path, text: str, said: dict[str, Any]) -> tuple[dict[str, Any], tuple[str, ...]]:
    """The options of `read_sweeps`: one object for what is common to all sweeps."""
    options: dict[str, Any] = {**said.get("reading", {}), **{key: said[key] for key in _PLAIN if key in said}}
    if "pattern" in said:
        options["pattern"] = said["pattern"]
    if "conditions" in said:
        options["conditions"] = path.parent / _as_text(path, "conditions", said["conditions"])
    for key, unit in (("area_cm2", "cm²"), ("irradiance_w_m2", "W/m²")):
        if key in said:
            options[key] = _quantity(path, key, said[key], unit)
    stated: tuple[str, ...] = ()
    if "temperature_c" in said:
        found = _quantity(path, "temperature_c", said["temperature_c"], "")
        options["temperature_c"] = found.value if isinstance(found, Estimate) else found
        if isinstance(found, Estimate):
            stated = (f"temperature ({found}) °C: figures are those at this temperature, and hold no part of its ±",)
    if said.get("noise"):
        options["noise"] = Noise(**said["noise"])
    corrections = _corrections(path, text, said.get("corrections", []))
    return options | ({"corrections": corrections} if corrections else {}), stated


def _as_text(path: Path, key: str, value: object) -> str:
    if not isinstance(value, str):
        raise InputError(f"{path}: {key} = {value!r} must be a text in quotes")
    return value


def _quantity(path: Path, key: str, value: Any, unit: str) -> float | Estimate:
    """`0.2`, `"0.2 ± 0.01"`, `"0.2 ± 0.01 (mask 1)"` or `{ value = 0.2, u = 0.01, name = "mask 1" }`."""
    what = f"{path}: {key}"
    if isinstance(value, dict):
        if not {"value"} <= set(value) <= {"value", "u", "name"}:
            raise InputError(f"{what} = {value!r} must have value, and may have u and name")
        plain, u = float(quantity(value["value"], what=what)), value.get("u")
        return plain if u is None else Estimate(plain, u, unit=unit, name=value.get("name"))
    return quantity(value, unit, what=what)


def _corrections(path: Path, text: str, said: Any) -> list[Correction]:
    if not isinstance(said, list) or not all(isinstance(one, dict) for one in said):
        raise InputError(f'{path}: corrections must be tables: write [[corrections]] and kind = "Offset" below it')
    return [_correction(path, text, k, one) for k, one in enumerate(said, start=1)]


def _correction(path: Path, text: str, k: int, said: dict[str, Any]) -> Correction:
    kind = said.get("kind")
    if kind not in CORRECTIONS:
        near = get_close_matches(str(kind), CORRECTIONS, 1)
        cure = f"did you mean {near[0]}?" if near else f"use {', '.join(CORRECTIONS)}"
        raise InputError(f"{path}: correction {k}: kind = {kind!r} is none: {cure}")
    units = CORRECTIONS[kind]
    _check(path, text, said, ("kind", *units), "corrections")
    if kind == "DarkSweep":
        file = path.parent / _as_text(path, f"correction {k}: file", said.get("file"))
        # A dark curve shows no sign of its own.
        own = {"sign": "generator", "leads": "as_given", **{key: said[key] for key in ("sign", "leads") if key in said}}
        return DarkSweep(read_sweep(file, **own))
    given = {key: value for key, value in said.items() if key != "kind"}
    what = f"correction {k}: {kind}"
    if kind == "Calibration":
        given = {key: tuple(value) if isinstance(value, list) else value for key, value in given.items()}
        return Calibration(**given)
    numbers = {key: _quantity(path, f"{what}: {key}", value, units[key]) for key, value in given.items()}
    try:
        made: Correction = _KINDS[kind](**numbers)
    except (TypeError, InputError) as problem:
        raise InputError(f"{path}: {what}: {problem}; give {' or '.join(units)}") from None
    return made
