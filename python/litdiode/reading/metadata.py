"""What a file says about its cell beside the table: `area_cm2: 0.25`, `temperature (°C) = 25`, `cells: 36`.

Only a value with a unit is used, since 100 may be W/m² or mW/cm². A temperature without one is taken as °C
where it can be nothing else.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from .lines import Line, refuse
from .numbers import looks_grouped, number
from .units import plain

Option = float | int | str

_KEYS = {
    "area_cm2": {"area", "active area", "cell area", "aperture area", "aperture", "illuminated area"},
    "irradiance_w_m2": {"irradiance", "light intensity", "illumination"},
    "temperature_c": {"temperature", "temp", "cell temperature", "device temperature"},
    "cells": {"cells", "cells in series", "number of cells"},
    "label": {"label", "sample", "device", "cell", "name", "cell name", "sample name"},
    "sign": {"sign", "sign convention"},
    "leads": {"leads"},
    "swept": {"swept"},
}
_WORDS = {
    "sign": {"generator", "load"},
    "leads": {"as_given", "swapped"},
    "swept": {"voltage", "current"},
}
_FACTORS = {
    "area_cm2": {"cm2": 1.0, "mm2": 1e-2, "m2": 1e4},
    "irradiance_w_m2": {"w/m2": 1.0, "wm-2": 1.0, "mw/cm2": 10.0, "mwcm-2": 10.0, "kw/m2": 1e3},
}
_FACTORS["irradiance_w_m2"] |= {"sun": 1e3, "suns": 1e3}
_SUFFIX = {"cm2": "cm2", "mm2": "mm2", "w m2": "w/m2", "mw cm2": "mw/cm2", "c": "c", "k": "k"}
_QUANTITY = re.compile(r"(?P<number>[+-]?[\d.,]+(?:[eE][+-]?\d+)?)\s*(?P<unit>.*)")
_BRACKET = re.compile(r"(?P<name>.*?)\s*[(\[](?P<unit>[^)\]]*)[)\]]")
ZERO_CELSIUS_K = 273.15


@dataclass
class Metadata:
    """Entries as written, the options for a sweep they amount to, and what is to be said about them."""

    entries: dict[str, str] = field(default_factory=dict)
    options: dict[str, Option] = field(default_factory=dict)
    said: dict[str, str] = field(default_factory=dict)
    doubts: dict[str, str] = field(default_factory=dict)


def read_metadata(entries: Sequence[tuple[Line, str, str]], name: str) -> Metadata:
    """The options that (line, key, value) entries set; two that contradict each other are an error."""
    found = Metadata()
    for line, key, value in entries:
        found.entries.setdefault(key, value)
        option, key_unit = option_of(key)
        if option is None:
            continue
        setting, remark = _value(option, value, key_unit)
        where = f"{key}: {value} (line {line.number})"
        if setting is None:
            found.doubts[option] = f"{where} was not used: {remark}"
            continue
        earlier = found.options.get(option, setting)
        if option == "label":
            setting = earlier
        elif earlier != setting:
            refuse(name, line, f"{option} was {earlier} further up", "keep one of the two")
        found.options[option] = setting
        found.said[option] = f"{option} = {setting} from the file's {where}{remark}"
    for option in set(found.options) & set(found.doubts):
        del found.doubts[option]
    return found


def option_of(key: str) -> tuple[str | None, str]:
    """The option a metadata key sets (None: not one that is known) and the unit written in the key."""
    text = plain(key).lower()
    bracket = _BRACKET.fullmatch(text)
    if bracket is not None:
        return _known(bracket.group("name")), re.sub(r"[\s^]", "", bracket.group("unit"))
    words = re.sub(r"[\s_]+", " ", text).strip()
    for suffix, unit in _SUFFIX.items():
        if words.endswith(" " + suffix) and _known(words.removesuffix(" " + suffix)):
            return _known(words.removesuffix(" " + suffix)), unit
    return _known(words), ""


def _known(words: str) -> str | None:
    name = re.sub(r"[\s_]+", " ", words).strip()
    return next((option for option, names in _KEYS.items() if name in names), None)


def _value(option: str, value: str, key_unit: str) -> tuple[Option | None, str]:
    """The option's value with a remark to add, or None with the reason why the text gives none."""
    if option == "label":
        return value, ""
    if option in _WORDS:
        word = value.strip().lower().replace(" ", "_")
        choices = " or ".join(sorted(_WORDS[option]))
        return (word, "") if word in _WORDS[option] else (None, f"it should say {choices}")
    parts = _QUANTITY.fullmatch(plain(value))
    written = _plain_number(parts.group("number")) if parts else None
    if parts is None or written is None:
        return None, f"it is not one plain number; pass {option}="
    unit = re.sub(r"[\s^]", "", parts.group("unit").lower()).replace("·", "") or key_unit
    return _READERS[option](written, unit)


def _plain_number(text: str) -> float | None:
    return None if looks_grouped(text) else number(text, "," if "," in text else ".")


def _cells(written: float, unit: str) -> tuple[Option | None, str]:
    if unit in ("", "cells") and written == int(written) and written >= 1:
        return int(written), ""
    return None, "it is not a whole number from 1 up; pass cells="


def _temperature(written: float, unit: str) -> tuple[Option | None, str]:
    bare = unit.replace("°", "").replace("deg", "")
    if bare == "k":
        return round(written - ZERO_CELSIUS_K, 9), ""
    if bare in ("c", "celsius") or (bare == "" and unit):
        return written, ""
    if unit == "" and -50 <= written <= 150:
        return written, ", taken as °C since no unit stands there"
    return None, "its unit is not °C or K; pass temperature_c="


def _scaled(option: str) -> Callable[[float, str], tuple[Option | None, str]]:
    def reader(written: float, unit: str) -> tuple[Option | None, str]:
        factor = _FACTORS[option].get(unit)
        if factor is None:
            reason = f"the unit {unit!r} is not known" if unit else "no unit stands there"
            return None, f"{reason}; pass {option}="
        return written * factor, ""

    return reader


_READERS: dict[str, Callable[[float, str], tuple[Option | None, str]]] = {
    "cells": _cells,
    "temperature_c": _temperature,
    "area_cm2": _scaled("area_cm2"),
    "irradiance_w_m2": _scaled("irradiance_w_m2"),
}
