"""Units as headings and metadata write them, and their factor to V, A and A/cm².

    value in SI = written value · factor,   a density: value in A/cm² = written value · factor

Prefixes keep their case, since m and M differ by 10⁹; a capital M is never taken for milli or mega by guess.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

_PREFIX = {"": 1.0, "f": 1e-15, "p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "k": 1e3}
_WORDS = {"femto": "f", "pico": "p", "nano": "n", "micro": "u", "milli": "m", "kilo": "k", "": ""}
_PER_AREA = {"cm": 1.0, "mm": 1e2, "m": 1e-4}
_LONG = re.compile(r"(femto|pico|nano|micro|milli|kilo|)\s*(volts?|amperes?|amps?)", re.I)
_SHORT = re.compile(r"([fpnumkM]?)([vVaA])")
_DENSITY = re.compile(r"(.+?)(?:/|per)\(?(cm|mm|m)\^?2\)?|(.+?)[.*·]?(cm|mm|m)\^?-2", re.I)


@dataclass(frozen=True)
class Unit:
    """What a unit measures (`voltage`, `current` or `density`), its factor, and whether its M is in doubt."""

    kind: str
    factor: float
    text: str
    doubtful: bool = False


def plain(text: str) -> str:
    """Text with the look-alikes folded: both micro signs to u, raised digits down, all minus signs to `-`."""
    folded = unicodedata.normalize("NFKC", text.replace("\u00b0", "°"))
    return folded.replace("\u03bc", "u").replace("\u2212", "-").strip()


def unit(text: str) -> Unit | None:
    """The voltage, current or current density unit written in `text`, or None."""
    written = re.sub(r"^[u\u03bc](?=[A-Za-z])", "\u00b5", text.strip())
    bare = re.sub(r"\s+", "", plain(written)).strip("()[]")
    density = _DENSITY.fullmatch(bare)
    if density is None:
        return _simple(bare, written)
    numerator, length = density.group(1) or density.group(3), density.group(2) or density.group(4)
    top = _simple(numerator, written)
    if top is None or top.kind != "current":
        return None
    return Unit("density", top.factor * _PER_AREA[length.lower()], written, top.doubtful)


def _simple(bare: str, written: str) -> Unit | None:
    long = _LONG.fullmatch(bare)
    if long is not None:
        kind = "voltage" if long.group(2).lower().startswith("v") else "current"
        return Unit(kind, _PREFIX[_WORDS[long.group(1).lower()]], written)
    short = _SHORT.fullmatch(bare)
    if short is None:
        return None
    prefix, base = short.groups()
    kind = "voltage" if base in "vV" else "current"
    return Unit(kind, _PREFIX.get(prefix, 1e6), written, doubtful=prefix == "M")
