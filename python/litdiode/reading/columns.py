"""Which column is the voltage and which the current: by the caller's word, by the headings, or not at all.

What two columns could both be is an error that lists them; position decides only in a table of two columns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .._core import InputError
from .header import Heading

Choice = str | int | None


@dataclass(frozen=True)
class Columns:
    """The two columns by number, and what was assumed about them."""

    voltage: int
    current: int
    assumed: list[str]
    by_position: bool = False


def choose(
    heads: Sequence[Heading] | None, filled: Sequence[int], name: str, voltage: Choice, current: Choice
) -> Columns:
    """The columns of voltage and current; `filled` are the numbers of those that hold anything at all."""
    assumed: list[str] = []
    picked = {
        "voltage": _given("voltage", voltage, heads, filled, name),
        "current": _given("current", current, heads, filled, name),
    }
    if heads is None:
        return _by_position(picked, filled, name)
    for quantity, column in picked.items():
        if column is None:
            other = picked["current" if quantity == "voltage" else "voltage"]
            picked[quantity] = _by_heading(quantity, heads, other, name, assumed)
    return _pair(picked, assumed, name)


def _pair(picked: dict[str, int | None], assumed: list[str], name: str, by_position: bool = False) -> Columns:
    v, i = picked["voltage"], picked["current"]
    assert v is not None and i is not None
    if v == i:
        raise InputError(f"{name}: voltage= and current= name the same column, {v}: name two different ones")
    return Columns(v, i, assumed, by_position)


def _given(what: str, choice: Choice, heads: Sequence[Heading] | None, filled: Sequence[int], name: str) -> int | None:
    if choice is None:
        return None
    if isinstance(choice, (int, np.integer)) and not isinstance(choice, bool):
        if int(choice) in filled:
            return int(choice)
        raise InputError(f"{name}: {what}={choice}: no such column: pass one of {list(filled)}, counted from 0")
    if not isinstance(choice, str):
        raise InputError(f"{what}={choice!r}: pass a heading or a column number, counted from 0")
    if heads is None:
        raise InputError(f"{name}: {what}={choice!r}: there are no headings: pass a number from {list(filled)}")
    wanted = choice.strip().casefold()
    for spelled in ([head.text for head in heads], [head.name for head in heads]):
        found = [n for n, text in enumerate(spelled) if text.casefold() == wanted]
        if len(found) == 1:
            return found[0]
        if len(found) > 1:
            raise InputError(f"{name}: {what}={choice!r} fits columns {found}: pass one of these numbers")
    raise InputError(f"{name}: {what}={choice!r}: no such heading: pass one of {_list(heads)} or a number")


def _list(heads: Sequence[Heading]) -> str:
    return ", ".join(repr(head.text) for head in heads if head.text)


def _by_heading(what: str, heads: Sequence[Heading], taken: int | None, name: str, assumed: list[str]) -> int:
    def of(*quantities: str) -> list[int]:
        return [n for n, head in enumerate(heads) if head.quantity in quantities and n != taken]

    found = of(what)
    if what == "current" and not found:
        found = of("density")
    elif what == "current" and of("density"):
        beside = ", ".join(repr(heads[n].text) for n in of("density"))
        assumed.append(f"current from {heads[found[0]].text!r}, not from the density {beside}")
    if len(found) > 1:
        read = [n for n in found if heads[n].measured and not heads[n].programmed]
        if len(read) == 1 and all(heads[n].programmed for n in found if n != read[0]):
            assumed.append(f"{what} from the measured column {heads[read[0]].text!r}, not the programmed one")
            return read[0]
        names = ", ".join(repr(heads[n].text) for n in found)
        raise InputError(f"{name}: {what} may be any of {names}: pass {what}= with a heading or a number from 0")
    if not found:
        cure = f"pass {what}= with a heading or a number from 0"
        raise InputError(f"{name}: no heading among {_list(heads)} says {what}: {cure}")
    return found[0]


def _by_position(picked: dict[str, int | None], filled: Sequence[int], name: str) -> Columns:
    """No headings: of two columns the first is the voltage; of more, the caller has to say."""
    if picked["voltage"] is not None and picked["current"] is not None:
        return _pair(picked, [], name)
    if len(filled) != 2:
        raise InputError(
            f"{name}: {len(filled)} columns and no headings: pass voltage= and current= as column numbers, "
            "counted from 0"
        )
    whole = list(filled)
    v, i = picked["voltage"], picked["current"]
    rest = [n for n in whole if n not in (v, i)]
    both = v is None and i is None
    full = {"voltage": whole[0] if both else v, "current": whole[1] if both else i}
    full = {key: rest[0] if value is None else value for key, value in full.items()}
    assumed = ["no headings: first column taken as voltage, second as current"] if both else []
    return _pair(full, assumed, name, by_position=both)


def refuse_swapped(name: str, voltage: NDArray[np.float64], current: NDArray[np.float64]) -> None:
    """Columns taken by position: refuse when the second is stepped evenly and the first is not.

    An evenly stepped column is what the instrument set, in most sweeps the voltage.
    """
    if len(voltage) >= 5 and _uneven(current) < 0.02 < 0.2 < _uneven(voltage):
        raise InputError(
            f"{name}: no headings, and the second column is stepped evenly as a set voltage is, the first is "
            "not: pass voltage=1, current=0, or voltage=0, current=1 if the current was stepped"
        )


def _uneven(values: NDArray[np.float64]) -> float:
    steps = np.diff(values)
    middle = float(np.median(steps))
    return float(np.max(np.abs(steps - middle))) / abs(middle) if middle else float("inf")
