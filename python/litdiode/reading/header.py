"""A heading to a quantity and a unit: `Voltage (mV)`, `I/µA`, `V [V]`, `Current, mA`, `I_mA`, `j (mA/cm2)`.

The name decides what a column is; where it says nothing, a unit of volts or amperes does.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from .delimiter import BLANKS, cut
from .units import Unit, plain, unit

_VOLTAGE = {"v", "u", "voltage", "volt", "volts", "bias", "potential"}
_VOLTAGE |= {"spannung", "tension", "tensione", "voltaje"}
_CURRENT = {"i", "current", "strom", "courant", "corrente", "corriente", "amps"}
_DENSITY = {"j", "stromdichte", "density"}
_OTHER = {"time", "index", "power", "resistance", "temperature", "irradiance", "leistung", "zeit", "p", "t"}
_OTHER |= {"std", "sd", "error", "err", "uncertainty", "sigma", "limit", "compliance", "range", "noise"}
_READ = {"measured", "meas", "read", "sensed", "sense", "actual"}
_SET = {"set", "source", "sourced", "programmed", "nominal", "target", "applied"}
_BRACKET = re.compile(r"(?P<name>.*?)\s*[(\[{<]\s*(?P<unit>.*?)\s*[)\]}>]\s*")
_LOOSE = re.compile(r"(?P<name>.+?)(?:\s*,\s*|\s+|_)(?P<unit>[^\s,_]+(?:\s?[A-Za-z]m\^?-2)?)")


@dataclass(frozen=True)
class Heading:
    """A heading as written, its bare name, its quantity, and its unit (or the text that should be one)."""

    text: str
    name: str
    quantity: str | None
    unit: Unit | None
    unknown_unit: str | None = None
    measured: bool = False
    programmed: bool = False


def heading(text: str) -> Heading:
    """Take one heading apart; `quantity` is `voltage`, `current`, `density`, `other`, or None: not said."""
    name, found, unknown = _split_unit(plain(text).strip("\"'"))
    words = {re.sub(r"\d+$", "", word) for word in re.findall(r"[^\W_]+", name.lower())}
    quantity = _quantity(words, found)
    if quantity in (None, "other"):
        unknown = None
    return Heading(text.strip(), name, quantity, found, unknown, bool(words & _READ), bool(words & _SET))


def _quantity(words: set[str], found: Unit | None) -> str | None:
    if words & _OTHER:
        return "other"
    kind = None if found is None else found.kind
    if words & _VOLTAGE:
        # `V, A` heads a pair of columns by their units alone; `V (A)` contradicts itself.
        return "voltage" if kind in (None, "voltage") else None
    if words & (_CURRENT | _DENSITY):
        said = "density" if words & _DENSITY else "current"
        return None if kind == "voltage" else (kind or said)
    return kind


def _split_unit(text: str) -> tuple[str, Unit | None, str | None]:
    """Name, unit, and the text that stands where a unit should but is none."""
    whole = unit(text)
    if whole is not None and len(text) > 1:
        return "", whole, None
    bracket = _BRACKET.fullmatch(text)
    if bracket is not None:
        found = unit(bracket.group("unit"))
        return bracket.group("name"), found, bracket.group("unit") if found is None else None
    name, slash, rest = text.partition("/")
    if slash and name.strip():
        # `I/A` is a name over a unit, `mA/cm2` was a unit by itself.
        found = unit(rest)
        return name.strip(), found, rest.strip() if found is None else None
    loose = _LOOSE.fullmatch(text)
    found = unit(loose.group("unit")) if loose else None
    if loose is not None and found is not None:
        return loose.group("name").strip(), found, None
    if text in ("V", "A"):
        return text, unit(text), None
    return text, None, None


def headings(text: str, delimiter: str, columns: int) -> list[Heading] | None:
    """The headings in a line, one a column, or None if the line does not name `columns` columns."""
    cells = header_cells(text, delimiter, columns)
    return None if cells is None else [heading(cell) for cell in cells]


def header_cells(text: str, delimiter: str, columns: int) -> list[str] | None:
    """The cells of a heading line, joined again where a delimiter stood inside a heading."""
    cells = cut(text, delimiter)
    while len(cells) > columns and not cells[-1]:
        cells.pop()
    if len(cells) == columns:
        return cells
    if delimiter == BLANKS:
        for attempt in (_bound(text).split(), re.split(r"\t+|\s{2,}", text.strip())):
            if len(attempt) == columns:
                return attempt
    if len(cells) == 2 * columns and any(unit(cell) for cell in cells[1::2]):
        # `Voltage, mV, Current, mA`: the units stand in cells of their own.
        pairs = zip(cells[0::2], cells[1::2], strict=True)
        return [f"{name} ({written.strip('()[]')})" for name, written in pairs]
    # A nameless last column is common, but one heading of two may be the whole line, cut by the wrong sign.
    if len(cells) == columns - 1 > 1 and delimiter != BLANKS:
        return [*cells, ""]
    return None


def _bound(text: str) -> str:
    """A blank-parted heading line with each unit tied to its name: `U / V  I / mA` becomes `U/V I/mA`."""
    tied = re.sub(r"\s*/\s*", "/", text.strip())
    inside = re.sub(r"[(\[][^)\]]*[)\]]", lambda found: re.sub(r"\s+", "", found.group()), tied)
    return re.sub(r",\s+", ",", re.sub(r"\s+(?=[(\[])", "", inside))


def units_only(cells: Sequence[str]) -> bool:
    """Whether a line holds units alone, as the second line of a two-line heading does."""
    filled = [cell.strip("()[] ") for cell in cells if cell.strip("()[] ")]
    known = [unit(cell) is not None for cell in filled]
    return sum(known) >= 2 or (any(known) and all(len(cell) <= 4 for cell in filled) and len(filled) > 1)
