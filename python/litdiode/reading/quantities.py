"""Numbers with a standard uncertainty as people write them: `100`, `100 ± 0.5`, `100 +- 0.5 (mask 1)`."""

from __future__ import annotations

import math
import re

from .._core import Estimate, InputError

_TEXT = re.compile(r"\s*(?P<value>[^±()]+?)\s*(?:±\s*(?P<u>[^±()]+?)\s*)?(?:\((?P<name>[^()]+)\)\s*)?")


def quantity(text: object, unit: str = "", *, what: str = "number") -> float | Estimate:
    """The number, or the `Estimate` in `unit` where a standard uncertainty is written behind it.

    A name in brackets makes it the same source wherever it stands. Raises `InputError` that begins with `what`.
    """
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        return _number(text, text, what)
    found = _TEXT.fullmatch(str(text).replace("+-", "±").replace("+/-", "±").replace("−", "-"))
    if found is None:
        raise InputError(f"{what} = {text!r} is no number; pass 100 or 100 ± 0.5")
    value, u, name = found.groups()
    if u is None and name is None:
        return _number(value, text, what)
    if u is None:
        raise InputError(f"{what} = {text!r} has a name and no ±; pass 100 ± 0.5 (name)")
    return Estimate(_number(value, text, what), _number(u, text, what), unit=unit, name=name and name.strip())


def _number(part: str | float, text: object, what: str) -> float:
    try:
        number = float(part)
    except (ValueError, OverflowError):
        number = math.nan
    if not math.isfinite(number):
        raise InputError(f"{what} = {text!r} is no number; pass 100 or 100 ± 0.5, with a point as decimal mark")
    return number
